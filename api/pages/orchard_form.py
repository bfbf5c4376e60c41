"""The orchard as a form and back: every field as text under its place in an orchard file, such as blocks.0.spacing.

What the form does not ask for (helpers, say) stays as it was written, and so does every value that was not touched.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel

from advisor import words
from advisor.api.pages import saying
from advisor.api.pages.look_form import parts_of
from advisor.blocks import Block, FrostGear, Guards, Habitat, Irrigation, Orchard
from advisor.errors import InputError
from advisor.sentences import in_words

Shown = dict[str, Any]
Flat = dict[str, str]  # place -> what is written there


@dataclass(frozen=True)
class Ask:
    """A field of the form. widget: text, number, choose, list (parted by commas), tools or months. hint: how to write
    it, metric and US."""

    name: str
    asks: str
    widget: str = "text"
    options: tuple[str, ...] = ()
    hint: tuple[str, str] = ("", "")
    first: bool = True
    needed: bool = False


def _words_of(model: type[BaseModel], name: str) -> tuple[str, ...]:
    """The words that a field of few words knows."""
    found = (part for part in parts_of(model.model_fields[name].annotation) if get_origin(part) is Literal)
    return tuple(map(str, get_args(next(found))))


_LENGTH = ("30 cm", "12 in")
ORCHARD = (
    Ask("name", "Name", needed=True),
    Ask("latitude", "Latitude, south negative", "number", hint=("42.4 or -41.2",) * 2, needed=True),
    Ask("longitude", "Longitude, west negative", "number", hint=("-76.5 or 173",) * 2),
    Ask("timezone", "Time zone", hint=("Europe/Paris", "America/New_York")),
    Ask("units", "Units", "choose", _words_of(Orchard, "units")),
    Ask("hours_per_week", "Hours a week for the orchard", "months", hint=("12",) * 2),
    Ask("tools", "Tools", "tools", tuple(sorted(words.TOOLS)), first=False),
    Ask("standard", "Standard kept", "choose", _words_of(Orchard, "standard"), first=False),
    Ask("elevation", "Height above the sea", hint=("250 m", "800 ft"), first=False),
    Ask("usual_snow", "Snow that usually lies", hint=("60 cm", "24 in"), first=False),
    Ask("coldest", "Coldest night of a usual winter", hint=("-26 °C or zone 5b", "-15 °F or zone 5b"), first=False),
    Ask("days_off", "Days off", "list", hint=("sunday, 2026-07-03 to 2026-07-10",) * 2, first=False),
    Ask("guidance", "Whose thresholds to use", "choose", _words_of(Orchard, "guidance"), first=False),
    Ask("note", "Note", first=False),
)
BLOCK = (
    Ask("id", "Short name", hint=("upper",) * 2, needed=True),
    Ask("fruit", "Fruit", "choose", _words_of(Block, "fruit"), needed=True),
    Ask("trees", "Number of trees", "number"),
    Ask("spacing", "Row by tree", hint=("6 m x 5 m", "20 ft x 16 ft")),
    Ask("floor", "What grows below", "choose", _words_of(Block, "floor")),
    Ask("planted", "Year planted", "number"),
    Ask("cultivars", "Cultivars", "list", hint=("Liberty, Northern Spy",) * 2),
    Ask("rootstock", "Rootstock", hint=("MM.111",) * 2),
    Ask("history", "Pests and diseases it has had", "list", hint=("apple scab, codling moth",) * 2),
    Ask("understory", "Plants below the trees", "list", hint=("white clover, chives",) * 2, first=False),
    Ask("mulch.material", "Mulch: of what", hint=("ramial chips",) * 2, first=False),
    Ask("mulch.depth", "Mulch: how deep", hint=("8 cm", "3 in"), first=False),
    Ask("mulch.trunk_gap", "Mulch: gap to the bark", hint=("20 cm", "8 in"), first=False),
    Ask("guards.kind", "Trunk guards", "choose", _words_of(Guards, "kind"), first=False),
    Ask("guards.height", "Trunk guards: height", hint=("60 cm", "24 in"), first=False),
    Ask("site", "Ground", "choose", _words_of(Block, "site"), first=False),
    Ask("lie", "Lie of the land", "choose", _words_of(Block, "lie"), first=False),
    Ask("soil", "Soil", "choose", _words_of(Block, "soil"), first=False),
    Ask("use", "The fruit is for", "choose", _words_of(Block, "use"), first=False),
    Ask("area", "Area", hint=("1200 m2", "0.3 acres"), first=False),
    Ask("rows", "Number of rows", "number", first=False),
    Ask("first_leaf", "Year of the first leaf", "number", first=False),
    Ask("root_depth", "Depth of the roots", hint=("80 cm", "30 in"), first=False),
    Ask("irrigation.kind", "Watering", "choose", _words_of(Irrigation, "kind"), first=False),
    Ask("frost_gear.kind", "Kept from frost with", "choose", _words_of(FrostGear, "kind"), first=False),
    Ask("pollen_partner.cultivar", "Pollen partner", hint=("Liberty",) * 2, first=False),
    Ask("pollen_partner.distance", "Pollen partner: how far", hint=("30 m", "100 ft"), first=False),
    Ask("neglected_trees", "Untended trees: how far", hint=("100 m", "300 ft"), first=False),
    Ask("note", "Note", first=False),
)
HABITAT = (
    Ask("id", "Short name", hint=("north-hedge",) * 2, needed=True),
    Ask("kind", "What it is", "choose", _words_of(Habitat, "kind"), needed=True),
    Ask("plants", "Plants in it", "list", hint=("hazel, elder",) * 2),
    Ask("area", "Area", hint=("300 m2", "0.1 acres")),
    Ask("distance", "To the nearest block", hint=("20 m", "60 ft")),
    Ask("note", "Note", first=False),
)
ROWS = {"blocks": BLOCK, "habitats": HABITAT}
MOST_ROWS = 200


# --- content to text --------------------------------------------------------------------------


def flatten(content: Mapping[str, Any]) -> Flat:
    """An orchard's content as the texts of the form."""
    found = {f"orchard.{name}": text for name, text in _texts(content.get("orchard") or {}, ORCHARD).items()}
    for rows, fields in ROWS.items():
        for number, row in enumerate(content.get(rows) or ()):
            found |= {f"{rows}.{number}.{name}": text for name, text in _texts(row, fields).items()}
            found[f"{rows}.{number}.was"] = str(number)
    return found


def _texts(part: Mapping[str, Any], fields: Sequence[Ask]) -> Flat:
    found: Flat = {}
    for field in fields:
        value = _at(part, field.name)
        if value is None:
            continue
        if field.widget == "tools":
            found |= {f"tools.{tool}": "yes" for tool in _as_list(value)}
        elif field.widget == "months" and isinstance(value, Mapping):
            found |= {f"{field.name}.{_month(name)}": str(hours) for name, hours in value.items()}
        elif field.widget == "list":
            found[field.name] = ", ".join(map(str, _as_list(value)))
        elif field.name == "spacing" and isinstance(value, Mapping):
            found[field.name] = f"{value.get('row')} x {value.get('tree')}"
        else:
            found[field.name] = str(value)
    return found


def _at(part: Mapping[str, Any], name: str) -> Any:
    outer, _, inner = name.partition(".")
    value = part.get(outer)
    if not inner or value is None:
        return value
    return value.get(inner) if isinstance(value, Mapping) else value if inner == "kind" else None


def _as_list(value: Any) -> list[Any]:
    return list(value) if isinstance(value, list | tuple) else [value]


def _month(name: object) -> str:
    word = str(name).strip().lower()
    if word.isdigit() and 1 <= int(word) <= 12:
        return words.MONTHS[int(word) - 1]
    return next((month for month in words.MONTHS if len(word) > 2 and month.startswith(word)), word)


# --- text to content --------------------------------------------------------------------------


def content_of(posted: Flat, before: Mapping[str, Any]) -> Shown:
    """What was posted, laid over the content that the form was filled from."""
    found: Shown = {"orchard": _filled(before.get("orchard") or {}, _inside(posted, "orchard"), ORCHARD)}
    for rows, fields in ROWS.items():
        old = before.get(rows) or []
        made = []
        for number in row_numbers(posted, rows):
            texts = _inside(posted, f"{rows}.{number}")
            was = texts.get("was", "")
            base = old[int(was)] if was.isdigit() and int(was) < len(old) else {}
            made.append(_filled(base, texts, fields))
        if made:
            found[rows] = made
    return found


def row_numbers(posted: Flat, rows: str) -> list[int]:
    """The numbers of the rows that were posted, in order."""
    found = {int(match[1]) for name in posted if (match := re.match(rf"{rows}\.(\d{{1,3}})\.", name))}
    return sorted(number for number in found if number < MOST_ROWS)


def _inside(posted: Flat, place: str) -> Flat:
    return {name.removeprefix(f"{place}."): text for name, text in posted.items() if name.startswith(f"{place}.")}


def _filled(before: Mapping[str, Any], texts: Flat, fields: Sequence[Ask]) -> Shown:
    found = copy.deepcopy(dict(before))
    old = _texts(before, fields)
    for field in fields:
        mine = {n: t for n, t in texts.items() if (n == field.name or n.startswith(f"{field.name}.")) and t}
        held = {n: t for n, t in old.items() if n == field.name or n.startswith(f"{field.name}.")}
        if mine == held:
            continue
        _put(found, field, value_of(field, mine))
    return found


def value_of(field: Ask, mine: Flat) -> Any:
    """What the texts of a field stand for; None for nothing."""
    if field.widget == "tools":
        return [name.removeprefix("tools.") for name in mine] or None
    if field.widget == "months":
        months = {name.rpartition(".")[2]: text for name, text in mine.items() if name != field.name}
        return {name: number_of(text) for name, text in months.items()} or number_of(mine.get(field.name, "")) or None
    text = mine.get(field.name, "")
    if not text:
        return None
    if field.widget == "list":
        return [part.strip() for part in text.split(",") if part.strip()] or None
    return number_of(text) if field.widget == "number" else text


def number_of(text: str) -> Any:
    """A plain number as a number; anything else as it was written, for the reader to refuse."""
    if re.fullmatch(r"-?\d{1,9}", text):
        return int(text)
    return float(text.replace(",", ".")) if re.fullmatch(r"-?\d{1,9}[.,]\d{1,9}", text) else text


def _put(found: Shown, field: Ask, value: Any) -> None:
    outer, _, inner = field.name.partition(".")
    if not inner:
        if value is None:
            found.pop(outer, None)
        else:
            found[outer] = value
        return
    held = found.get(outer)
    part = dict(held) if isinstance(held, Mapping) else {} if held is None else {"kind": held}
    if value is None:
        part.pop(inner, None)
    else:
        part[inner] = value
    if part:
        found[outer] = part
    else:
        found.pop(outer, None)


# --- to show ----------------------------------------------------------------------------------


def changed_rows(posted: Flat, do: str) -> Flat:
    """The same form with a row more (`add-blocks`) or less (`drop-blocks-1`); the rest keeps what was written."""
    what, rows, number = [*do.split("-"), "", ""][:3]
    if rows not in ROWS:
        return posted
    numbers = row_numbers(posted, rows)
    kept = [n for n in numbers if not (what == "drop" and str(n) == number)]
    found = {name: text for name, text in posted.items() if not name.startswith(f"{rows}.")}
    for new, old in enumerate(kept):
        found |= {f"{rows}.{new}.{name}": text for name, text in _inside(posted, f"{rows}.{old}").items()}
    if what == "add":
        found[f"{rows}.{len(kept)}.was"] = ""
    return found


def sections(texts: Flat, problems: Mapping[str, Sequence[str]], us: bool) -> Shown:
    """What the template needs: the orchard's own fields, then a part for each row."""

    def part(place: str, asks: Sequence[Ask]) -> Shown:
        shown = [_shown(field, place, texts, problems, us) for field in asks]
        more = [one for one, field in zip(shown, asks, strict=True) if not field.first]
        return {
            "first": [one for one, field in zip(shown, asks, strict=True) if field.first],
            "more": more,
            "more_open": any(one["problems"] for one in more),
        }

    found: Shown = {"orchard": part("orchard", ORCHARD)}
    for rows, fields in ROWS.items():
        found[rows] = [
            {
                **part(f"{rows}.{n}", fields),
                "number": n,
                "id": texts.get(f"{rows}.{n}.id", ""),
                "was": texts.get(f"{rows}.{n}.was", ""),
                "problems": list(problems.get(f"{rows}.{n}", [])),
            }
            for n in row_numbers(texts, rows)
        ]
    return found


def _shown(field: Ask, place: str, texts: Flat, problems: Mapping[str, Sequence[str]], us: bool) -> Shown:
    name = f"{place}.{field.name}"
    found: Shown = {
        "name": name,
        "id": name.replace(".", "-").replace("_", "-"),
        "asks": field.asks,
        "widget": field.widget,
        "value": texts.get(name, ""),
        "hint": field.hint[us],
        "needed": field.needed,
        "problems": list(problems.get(name, [])),
        "options": [(one, in_words(one)) for one in field.options],
    }
    if field.widget == "tools":
        others = {n.removeprefix(f"{name}.") for n in texts if n.startswith(f"{name}.")} - {*field.options}
        options = [*found["options"], *((one, in_words(one)) for one in sorted(others))]
        found["options"] = [(f"{name}.{one}", say, f"{name}.{one}" in texts) for one, say in options]
    if field.widget == "months":
        found["months"] = [(f"{name}.{m}", m.capitalize(), texts.get(f"{name}.{m}", "")) for m in words.MONTHS]
        found["open"] = any(value for _, _, value in found["months"])
    if found["value"] and field.widget == "choose" and found["value"] not in field.options:
        found["options"].append((found["value"], found["value"]))
    return found


def problems_by_place(fault: InputError, texts: Flat) -> dict[str, list[str]]:
    """What is wrong, by the field of the form; under "" what belongs to none."""
    names = {f"orchard.{field.name}" for field in ORCHARD}
    for rows, fields in ROWS.items():
        for number in row_numbers(texts, rows):
            names |= {f"{rows}.{number}", *(f"{rows}.{number}.{field.name}" for field in fields)}
    found: dict[str, list[str]] = {}
    for problem in fault.problems:
        place = re.sub(r"\[(\d+)\]", r".\1", problem.place)
        place = next((one for one in _shorter(place) if one in names), "")
        if not place and problem.place == "version":
            place = "version"
        missing = place and problem.message.endswith(" is missing")
        text = "This is needed." if missing else f"{saying.sentence(problem.message)}. {problem.mend}".strip()
        known = found.setdefault(place, [])
        known += [] if text in known else [text]
    return found


def _shorter(place: str) -> Iterator[str]:
    """A place, then the place around it, and so on; of a part that is short for its kind, its kind."""
    while place:
        yield place
        yield f"{place}.kind"
        place = place.rpartition(".")[0]
