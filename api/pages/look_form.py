"""The short form of a look: its fields as large buttons, numbers with their unit, and words to choose; and back again,
a posted form as an observation."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args, get_origin

from pydantic import BeforeValidator

from advisor import given, stages, words
from advisor.api.pages import saying
from advisor.api.pages.looks import ANYWHERE, BLOCKS, HABITATS, LOOKS, PARTS, PLACES, RESULT_UNITS, Look, asks
from advisor.ecosystem import Knowledge, Material, Practice, knowledge
from advisor.errors import InputError, Problem
from advisor.observation import KINDS, Part
from advisor.orchard import OrchardFile
from advisor.sentences import in_words

Shown = dict[str, Any]

# What a number is written in, by system of units.
_UNITS = {
    "Length": ("cm", "in"), "Area": ("m2", "ft2"), "Mass": ("kg", "lb"), "Temperature": ("°C", "°F"),
    "Rain": ("mm", "in"), "Speed": ("m/s", "mph"), "Hours": ("h", "h"), "Force": ("N", "lbf"), "Share": ("%", "%"),
    "Percent": ("%", "%"), "Number": ("", ""), "Count": ("", ""),
}  # fmt: skip
_WORDS = {"PestId": "pest", "DiseaseId": "disease", "AllyId": "ally", "PlantId": "plant", "PracticeId": "practice",
          "MaterialId": "material", "WildlifeId": "wildlife"}  # fmt: skip
_NAMES = {
    validator.func: name
    for name in (*_UNITS, *_WORDS, "Flag", "Day")
    for validator in getattr(given, name).__metadata__
    if isinstance(validator, BeforeValidator)
}
GROUP_WORDS = {"floor": "The floor", "planting": "Planting", "soil": "The soil", "trees": "The trees",
               "crop": "The crop", "sprays": "Sprays", "watching": "Looking", "hours": "Hours"}  # fmt: skip
WHOLE = "whole-orchard"  # a place in a form; no block or habitat goes by this name unless its grower wants confusion
STEPS_AHEAD = 4  # stages offered first: the one before the last seen, and this many after it


@dataclass(frozen=True)
class Asked:
    """A look that is asked for: of what, and where. place: a block or habitat id, None where it is to be chosen."""

    look: Look
    about: str | None = None
    place: str | None = None
    why: str = ""
    minutes: int | None = None

    @property
    def title(self) -> str:
        by = "by" if self.look.kind == "pest-damage" else "of"
        about = f" {by} {saying.name_of(self.about)}" if self.about else ""
        named = {"pest-count": "Count", "pest-damage": "Damage", "disease-sign": "Signs"}.get(self.look.kind)
        title = f"{named}{about}" if named and about else f"{self.look.title}{about}"
        return f"{title}, {self.place}" if self.place else title


def about_field(kind: str) -> str | None:
    """The field that says what a look is about."""
    return next((name for name in ("pest", "disease", "ally", "plant", "who", "practice")
                 if name in LOOKS[kind].first[:1]), None)  # fmt: skip


def look_form(
    asked: Asked,
    file: OrchardFile,
    codes: Mapping[str, int | None],
    number: int,
    values: Mapping[str, str] | None = None,
    problems: Mapping[str, Sequence[str]] | None = None,
) -> Shown:
    """What a template needs of a form.

    codes: BBCH code of each block, None where not known. number: tells the forms of a page apart. values, problems: what
    was written before, and what is wrong with it, by field.
    """
    values, problems = values or {}, dict(problems or {})
    build = _Builder(asked, file, codes, values, problems)
    first = [build.field(name) for name in asked.look.first]
    more = [build.field(name) for name in (*asked.look.more, "note")]
    places = _places(asked.look, file)
    fixed = asked.place or (places[0][0] if len(places) == 1 else None)
    shown = {one["name"] for one in (*first, *more)} | {"place"}
    return {
        "number": number,
        "kind": asked.look.kind,
        "title": asked.title,
        "why": asked.why,
        "minutes": asked.minutes,
        "fixed": fixed,
        "places": []
        if fixed
        else [{"value": id, "words": name, "on": values.get("place") == id} for id, name in places],
        "place_problems": problems.get("place", []),
        "first": [one for one in first if one["widget"] != "hidden"],
        "hidden": [one for one in first if one["widget"] == "hidden"],
        "more": more,
        "more_open": any(one["problems"] or one["value"] for one in more),
        "one_of": " ".join(name for name in KINDS[asked.look.kind].one_of),
        "problems": [text for name, texts in problems.items() if name not in shown for text in texts],
        "open": values != {} or problems != {},
    }


class _Builder:
    """Makes the fields of one form."""

    def __init__(self, asked: Asked, file: OrchardFile, codes: Mapping[str, int | None], values: Mapping[str, str],
                 problems: Mapping[str, Sequence[str]]) -> None:  # fmt: skip
        self.asked, self.file, self.codes = asked, file, codes
        self.values, self.problems = values, problems
        self.units = file.orchard.units
        self.known = knowledge()
        block = file.block(asked.place or "")
        self.blocks = (block,) if block else file.blocks

    def field(self, name: str) -> Shown:
        kind = self.asked.look.kind
        found: Shown = {
            "name": name, "asks": asks(kind, name), "value": self.values.get(name, ""), "unit": "", "options": [],
            "rest": [], "problems": list(self.problems.get(name, [])), "required": _needed(kind, name),
        }  # fmt: skip
        if self.asked.about and name == about_field(kind):
            return {**found, "widget": "hidden", "value": self.asked.about}
        if name == "note":
            return {**found, "widget": "text", "required": False}
        if name.startswith("results."):
            unit = RESULT_UNITS.get(f"{kind}.{name}", RESULT_UNITS.get(name, "%"))
            return {**found, "widget": "number", "unit": unit, "required": False}
        if name == "stage":
            return {**found, "widget": "pick", **self._stages(found["value"])}
        type_, options = type_of(kind, name)
        if _several(kind, name):
            return {**found, "widget": "text"}
        if options:
            return {**found, "widget": "pick", "options": [_option(one, found["value"]) for one in options]}
        if type_ == "Flag":
            yes_no = (("yes", "yes"), ("no", "no"))
            return {**found, "widget": "pick", "options": [_option(v, found["value"], w) for v, w in yes_no]}
        if type_ in _UNITS:
            return {**found, "widget": "number", "unit": _UNITS[type_][self.units == "us"]}
        if type_ == "Day":
            return {**found, "widget": "day"}
        if type_ in _WORDS:
            groups = self._words(_WORDS[type_])
            if groups:
                chosen = [(group, [_option(v, found["value"], w) for v, w in those]) for group, those in groups]
                return {**found, "widget": "choose", "options": chosen}
        return {**found, "widget": "text"}

    def _stages(self, value: str) -> Shown:
        """The stages of these trees in their order, those near the last known one first."""
        names: dict[str, int] = {}
        for block in self.blocks:
            for code in range(100):
                name = stages.stage_name(code, block.fruit)
                names.setdefault(name, stages.bbch_of(name, block.fruit) or 0)
        ordered = sorted(names, key=lambda name: names[name])
        known = [found for block in self.blocks if (found := self.codes.get(block.id)) is not None]
        near: list[str] = ordered
        if known:
            low = max((n for n, name in enumerate(ordered) if names[name] <= min(known)), default=0)
            high = max((n for n, name in enumerate(ordered) if names[name] <= max(known)), default=0)
            near = ordered[max(0, low - 1) : high + STEPS_AHEAD + 1]
        if value in ordered and value not in near:
            near = [*near, value]
        rest = [name for name in ordered if name not in near]
        return {"options": [_option(n, value) for n in near], "rest": [_option(n, value) for n in rest]}

    def _words(self, kind: str) -> list[tuple[str, list[tuple[str, str]]]]:
        """The words to choose from, in groups, those of this orchard first."""
        if kind == "wildlife":
            return [("", [(one, in_words(one)) for one in sorted(words.WILDLIFE)])]
        if kind == "practice":
            return practices(self.known)
        if kind == "material" and self.asked.look.kind == "mulch":
            found = [m for m in self.known.of_kind(Material).values() if m.group == "mulch"]
            return [("", _named(m.id for m in found))]
        if kind == "material":
            return []
        nodes = {node.id: node for node in self.known.nodes.values() if node.kind == kind}
        fruits = {block.fruit for block in self.blocks}
        fit = [id for id, node in nodes.items() if not getattr(node, "fruits", ()) or fruits & {*node.fruits}]  # type: ignore[attr-defined]
        here = [id for id in self._here(kind) if id in fit]
        groups = [("Here before", _named(here)), ("Others", _named(id for id in fit if id not in here))]
        return [(group, those) for group, those in groups if those]

    def _here(self, kind: str) -> list[str]:
        """What was told or seen of a kind in this orchard."""
        told: set[str] = set()
        for block in self.blocks:
            told.update(block.history or (), block.understory or ())
        for habitat in self.file.habitats:
            told.update(habitat.plants or ())
        told.update(str(getattr(seen, kind)) for seen in self.file.observations if getattr(seen, kind, None))
        return sorted(told)


def type_of(kind: str, name: str) -> tuple[str, tuple[str, ...]]:
    """The name of a field's type in `advisor.given`, and the words it knows if it is one of a few; else "Text"."""
    info = _field_info(kind, name)
    for part in parts_of(info.annotation):
        if get_origin(part) is Literal:
            return "Literal", tuple(map(str, get_args(part)))
    marks = [
        *info.metadata,
        *(mark for part in parts_of(info.annotation) for mark in getattr(part, "__metadata__", ())),
    ]
    names = [_NAMES[mark.func] for mark in marks if isinstance(mark, BeforeValidator) and mark.func in _NAMES]
    return (names[0] if names else "Number" if name == "starch" else "Text"), ()


def _several(kind: str, name: str) -> bool:
    """Whether a field takes a list; a form has one line for it, parted by commas."""
    return any(get_origin(part) is tuple for part in parts_of(_field_info(kind, name).annotation))


def _field_info(kind: str, name: str) -> Any:
    if name in PARTS:
        return Part.model_fields[name.rpartition(".")[2]]
    fields = KINDS[kind].model_fields
    return next(info for key, info in fields.items() if name in (key, info.alias))


def parts_of(annotation: Any) -> Iterator[Any]:
    """An annotation and everything within it."""
    yield annotation
    for part in get_args(annotation) if get_origin(annotation) is not Literal else ():
        yield from parts_of(part)


def _needed(kind: str, name: str) -> bool:
    return "." not in name and name != "note" and bool(_field_info(kind, name).is_required())


def _option(value: str, chosen: str, say: str | None = None) -> Shown:
    return {"value": value, "words": say or in_words(value), "on": value == chosen}


def _named(ids: Iterable[str]) -> list[tuple[str, str]]:
    return sorted(((id, saying.name_of(id)) for id in ids), key=lambda pair: pair[1].lower())


def practices(known: Knowledge) -> list[tuple[str, list[tuple[str, str]]]]:
    """The practices by group and name."""
    found: dict[str, list[tuple[str, str]]] = {}
    for node in known.of_kind(Practice).values():
        found.setdefault(GROUP_WORDS.get(node.group, "Other"), []).append((node.id, node.name))
    return [
        (g, sorted(found[g], key=lambda pair: pair[1].lower())) for g in (*GROUP_WORDS.values(), "Other") if g in found
    ]


def _places(look: Look, file: OrchardFile) -> list[tuple[str, str]]:
    blocks = [(one.id, one.id) for one in file.blocks]
    habitats = [(one.id, one.id) for one in file.habitats]
    whole = [(WHOLE, "whole orchard")]
    return {
        BLOCKS: blocks, HABITATS: habitats, PLACES: [*blocks, *habitats], ANYWHERE: [*blocks, *habitats, *whole],
    }.get(look.where, whole)  # fmt: skip


# --- and back -----------------------------------------------------------------------------------


def observation_of(form: Mapping[str, str], file: OrchardFile) -> Shown:
    """A posted form as an observation; InputError for a kind or place that is not there."""
    kind, place = form.get("kind", ""), form.get("place", "")
    if kind not in LOOKS:
        raise InputError(Problem("form", "kind", f"{kind[:40]!r} is no look that is known here", "Choose one anew."))
    found: Shown = {"date": form.get("date", ""), "kind": kind}
    if file.block(place):
        found["block"] = place
    elif file.habitat(place):
        found["habitat"] = place
    elif place != WHOLE:
        said = f"there is no place {place[:40]!r} in this orchard any more" if place else "no place is chosen"
        raise InputError(Problem("form", "place", said, "Choose where."))
    look = LOOKS[kind]
    parts: dict[str, Shown] = {}
    for name in (*look.first, *look.more, "note"):
        value = form.get(name, "")
        if not value:
            continue
        unit = form.get(f"{name}.unit", "")
        if re.fullmatch(r"[-+\u2212]?\d*,\d+", value):
            value = value.replace(",", ".")
        if unit and not re.search(r"[A-Za-z%°]", value):
            value = f"{value} {unit}"
        if name.startswith("results."):
            found.setdefault("results", {})[name.removeprefix("results.")] = value
        elif name in PARTS:
            _, number, field = name.split(".")
            parts.setdefault(number, {})[field] = value
        elif name != "note" and _several(kind, name):
            found[name] = [one.strip() for one in re.split("[,;]", value) if one.strip()]
        else:
            found[name] = value
    return {**found, "parts": list(parts.values())} if parts else found


def problems_by_field(fault: InputError, form: Mapping[str, str] | None = None) -> dict[str, list[str]]:
    """What is wrong, by the field of the form."""
    found: dict[str, list[str]] = {}
    filled = list(dict.fromkeys(name.split(".")[1] for name in PARTS if (form or {}).get(name)))
    for problem in fault.problems:
        name = re.sub(r"^\[\d+\]\.?", "", problem.place)
        part = re.fullmatch(r"parts\[(\d+)\](?:\.(\w+))?", name)
        if part and int(part[1]) < len(filled):
            name = f"parts.{filled[int(part[1])]}.{part[2] or 'material'}"
        name = re.sub(r"\[\d+\]$", "", name)
        name = "place" if name in ("block", "habitat") else name
        text = f"{saying.sentence(problem.message)}. {problem.mend}".strip()
        found.setdefault(name, []).append(text)
    if not found:
        found[""] = [str(fault)]
    return found
