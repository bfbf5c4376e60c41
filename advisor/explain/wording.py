"""Facts, observations, conditions, figures and sources in a grower's words, in the units of the orchard."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from advisor.bounds import FigureUse, Resolver
from advisor.comparisons import UNBOUND, filled
from advisor.conditions import BIND, Condition, FigureRef, StageRef, Test, Var
from advisor.consequences import BAD_KINDS, Consequence, several
from advisor.ecosystem import Knowledge
from advisor.fact import Fact, Value
from advisor.observation import Observation
from advisor.outcome import Show
from advisor.sentences import in_words
from advisor.units_in_text import in_us_units, tells_a_difference

OPERATIONS = {
    "is": "", "is-not": "not ", "in": "", "at-least": "at least ", "at-most": "at most ", "above": "more than ",
    "below": "less than ", "between": "between ",
}  # fmt: skip
EVIDENCE = {
    "published": "published",
    "common-practice": "common practice, no source",
    "from-memory": "from memory, no source at hand",
}

# Inside units of fields that no kind of fact declares.
_UNITS = {
    "low": "degC", "high": "degC", "dew_point": "degC", "rain": "mm", "snow": "m", "wind": "m/s", "humidity": "%",
    "hours_at_low": "h", "hours": "h", "area": "m2", "open": "share",
}  # fmt: skip
_INSIDE = {"cm": "m"}  # lengths that rules compare in cm are held in m


class Wording:
    """How one answer speaks: `show` writes values, `knowledge` knows names and titles. us: in US units."""

    def __init__(self, resolver: Resolver, knowledge: Knowledge, show: Show, us: bool = False) -> None:
        self.us = us
        self.resolver = resolver
        self.knowledge = knowledge
        self.show = show

    def fact(self, fact: Fact, names: Iterable[str] = ()) -> str:
        """A fact: "sward of upper: height 45 cm, seed heads emerging"; `names` narrows it to some fields."""
        kind = self.resolver.kinds[fact.kind]
        wanted = set(names)
        chosen = [n for n in fact.fields if n not in kind.about and n != "id" and (not wanted or n in wanted)]
        said = ", ".join(self.field(name, fact.fields[name], kind.fields[name].unit) for name in chosen)
        about = [self.value(name, fact.fields[name], "") for name in kind.about if name in fact.fields and name != "id"]
        head = words_of(fact.kind) + (f" of {', '.join(about)}" if about else "")
        return f"{head}: {said}" if said else head

    def field(self, name: str, value: Value, unit: str) -> str:
        if name == "days_ago":
            return self.show(value, unit, name) + " ago"
        if name == "day" and unit == "days":
            return "today" if value == 0 else f"in {self.show(value, unit, name)}"
        if unit == "bbch":
            return f"stage {self.show(value, unit, name)}"
        if isinstance(value, bool):
            return f"{words_of(name)}: {'yes' if value else 'no'}"
        return f"{words_of(name)} {self.value(name, value, unit)}"

    def value(self, name: str, value: Value, unit: str) -> str:
        """A value in words; a material by its own name, also where a practice has the same id."""
        thing = self.knowledge.resolve(value, "material") if name == "material" and isinstance(value, str) else None
        return thing.name if thing else self.show(value, unit, name)

    def working(self, text: str) -> str:
        """How a fact was found, in the units of the orchard."""
        return in_us_units(text) if self.us else text

    def observation(self, seen: Observation) -> str:
        """An observation as it was made: "2026-05-18, sward of upper: height 45 cm, seed heads emerging"."""
        declared = self.resolver.kinds.get(seen.kind)
        said = []
        for name, value in seen.model_dump(mode="python").items():
            if name in ("id", "kind", "date", "moment", "block", "habitat", "note") or value is None:
                continue
            field = declared.fields.get(name) if declared else None
            unit = _INSIDE.get(field.unit, field.unit) if field else _UNITS.get(name, "")
            if isinstance(value, bool | int | float | str):
                said.append(self.field(name, value, unit))
            else:
                said.append(f"{words_of(name)} {_plainly(value)}")
        place = seen.block or seen.habitat or "the whole orchard"
        note = f" (note: {seen.note})" if seen.note else ""
        return f"{seen.date}, {words_of(seen.kind)} of {place}: {', '.join(said) or 'seen'}{note}"

    def condition(self, condition: Condition, bindings: Mapping[str, Value]) -> str:
        """What a condition asks for: "work of upper, first mow: this season"."""
        kind = self.resolver.kinds[condition.kind]
        about = []
        asked = []
        for test in condition.tests:
            words = self.expected(test, condition.kind, bindings)
            if test.field in kind.about and test.op in ("is", "in", BIND):
                about += [words] if words else []
            elif words:
                asked.append(self._asked(test, words))
        head = words_of(condition.kind) + (f" of {', '.join(about)}" if about else "")
        return f"{head}: {', '.join(asked)}" if asked else head

    def _asked(self, test: Test, words: str) -> str:
        if test.op == "known":
            return f"{words_of(test.field)} known"
        colon = ":" if words in ("yes", "no") else ""
        return f"{words_of(test.field)}{colon} {words}"

    def expected(self, test: Test, kind: str, bindings: Mapping[str, Value]) -> str:
        """What a test asks of its field, in words: "at least 30 cm"; empty where a variable is still open."""
        unit = self.resolver.field(kind, test.field).unit
        if test.op == "known":
            return "known"
        bounds = filled(test.bound, bindings)
        if bounds is UNBOUND:
            return ""
        parts = bounds if isinstance(bounds, tuple) else (bounds,)
        shown = []
        for bound in parts:
            if isinstance(bound, FigureRef | StageRef | Var):
                bound = self.resolver.bound(bound, unit)
            if isinstance(bound, bool) and test.op in ("is", BIND):
                return "yes" if bound else "no"
            shown.append(self.value(test.field, bound, unit))
        joined = " and ".join(shown) if test.op == "between" else " or ".join(shown)
        return OPERATIONS.get(test.op, "") + joined

    def figure(self, use: FigureUse) -> str:
        """A figure: what it is, how much, whose."""
        figure = self.knowledge.figures[use.id]
        as_it_is = use.id if tells_a_difference(use.unit, use.id) else ""
        worth = self.show(use.value, "" if use.unit.startswith("per ") else use.unit, as_it_is)
        per = f" {use.unit}" if use.unit.startswith("per ") else ""
        region = "" if use.region == "any" else f", guidance of {words_of(use.region)}"
        return f"{figure.what}: {worth}{per}{region}"

    def sources(self, ids: Iterable[str], evidence: str | None = None) -> str | None:
        """Titles of published sources, parted by " | ", or in words that there is none."""
        titles = [self.source(name) for name in dict.fromkeys(ids)]
        return " | ".join(titles) or (EVIDENCE.get(evidence, evidence) if evidence else None)

    def source(self, name: str) -> str:
        """A source by its title, place and year; one that is cited from memory or second hand says so."""
        source = self.knowledge.sources.get(name)
        if source is None:
            return name
        seen = {"memory": ", from memory", "second-hand": ", second hand"}.get(source.seen, "")
        year = f", {source.year}" if source.year and str(source.year) not in source.title + source.where else ""
        return f"{source.title} ({source.where}{year}{seen})"


def more_or_less(line: Consequence, side: str, knowledge: Knowledge) -> str:
    """What a line of the `gains` or `costs` means for its end, in words: a gain is "fewer voles", "less apple scab"."""
    if (line.kind in BAD_KINDS) == (side == "costs"):
        return f"more {line.name}"
    return f"{'fewer' if several(knowledge.node(line.what)) else 'less'} {line.name}"


def words_of(name: str) -> str:
    """An id or a field's name as words."""
    return in_words(name.replace("_", " ")).strip()


def _plainly(value: object) -> str:
    if isinstance(value, Mapping):
        amount = value.get("value"), value.get("unit")
        if None not in amount:
            return f"{amount[0]:g} {amount[1]}" if isinstance(amount[0], int | float) else f"{amount[0]} {amount[1]}"
        return ", ".join(f"{words_of(str(k))} {_plainly(v)}" for k, v in value.items() if v is not None)
    if isinstance(value, list | tuple):
        return ", ".join(_plainly(item) for item in value)
    return str(value)
