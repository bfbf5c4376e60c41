"""Conditions and facts in a grower's words, with numbers in the orchard's units.

Teller       says facts, fields and conditions for one orchard
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

from advisor import quantity
from advisor.bounds import FigureUse, Resolver
from advisor.conditions import PLACES, Kind
from advisor.ecosystem import Knowledge
from advisor.evaluate import ConditionState, TestState
from advisor.fact import Fact, Value
from advisor.sentences import in_words
from advisor.stages import stage_name
from advisor.units_in_text import degrees_apart, tells_a_difference

_ASKED = {"at-least": "at least {}", "above": "more than {}", "at-most": "at most {}", "below": "less than {}",
          "is-not": "anything but {}"}  # fmt: skip
_NO_IDS = ("block", "habitat", "id", "cultivar", "severity", "start", "by")
_WITHOUT_UNIT = ("", "any", "count", "ratio", "year", "ph")
# Fields that say what a fact is about without being of any use to a grower.
_SILENT = ("id", "intent", "made_by", "days_ago", "block", "habitat")


UNKNOWN: Literal["unknown"] = "unknown"  # a condition that nobody can say of whether it holds


@dataclass(frozen=True)
class Teller:
    """Says things for one orchard: its knowledge names ids, its units are used."""

    resolver: Resolver
    knowledge: Knowledge
    units: Literal["metric", "us"]

    @staticmethod
    def of(run: Any) -> Teller:
        """For the orchard of a run."""
        return Teller(run.rulebook.resolver(run.now.region), run.now.knowledge, run.now.file.orchard.units)

    @cached_property
    def _kinds(self) -> Mapping[str, Kind]:
        return self.resolver.kinds

    def value(self, value: object, unit: str, field: str = "", fruit: str | None = None) -> str:
        """A value in words: 45 cm, petal fall, hover fly, yes; a stage in the words of the fruit, where that is known."""
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, str):
            node = None if field in _NO_IDS else self.knowledge.said_by(value, field)
            return node.name if node else in_words(value) if field not in _NO_IDS else value
        if isinstance(value, tuple | list):
            return " or ".join(self.value(one, unit, field, fruit) for one in value)
        assert isinstance(value, int | float)
        if unit == "bbch":
            name = stage_name(round(value), fruit)
            return f"{in_words(name)} (BBCH {value:g})" if name else f"BBCH {value:g}"
        if tells_a_difference(unit, field):
            return degrees_apart(float(value), self.units)
        return quantity.show(
            float(value), "" if unit in _WITHOUT_UNIT else "%" if unit == "percent" else unit, self.units
        )

    def written(self, value: object) -> str:
        """A value as it is written in an observation, in the orchard's units: 20 cm is 7.87 in where US units are read."""
        if isinstance(value, bool):
            return "yes" if value else "no"
        number, _, unit = str(value).partition(" ")
        known = {"°C": "degC"}.get(unit, unit)
        return self.value(float(number), known) if known in ("cm", "mm", "m", "m2", "N", "degC", "m/s") else str(value)

    def number(self, value: object, unit: str, field: str = "") -> object:
        """A value as it stands in the answer: a number in the unit of `unit_of`, a word or a flag as it is."""
        if isinstance(value, tuple):
            return [self.number(one, unit, field) for one in value]
        if isinstance(value, bool) or not isinstance(value, int | float):
            return value
        if tells_a_difference(unit, field):
            return self.difference(value, unit)
        _, factor, offset = quantity.shown_unit(unit, self.units)
        return round(value * factor + offset, 4)

    def difference(self, value: float, unit: str) -> float:
        return round(value * quantity.shown_unit(unit, self.units)[1], 4)

    def unit_of(self, unit: str) -> str | None:
        written = quantity.shown_unit(unit, self.units)[0]
        return (
            None if written in _WITHOUT_UNIT else {"degC": "°C", "percent": "%", "bbch": "BBCH"}.get(written, written)
        )

    # --- what a fact or condition is about -------------------------------------------------

    def about(self, kind: str, fields: Mapping[str, object]) -> str:
        """The kind with what it is about and where: pest count of codling moth in upper."""
        place = fields.get("block") or fields.get("habitat")
        keys = [str(self.value(fields[key], "", key)) for key in self._kinds[kind].keys
                if key in fields and key not in _SILENT]  # fmt: skip
        named = f"{in_words(kind)}{': ' if keys else ''}{', '.join(keys)}"
        return f"{named} in {place}" if place else named

    def fact(self, fact: Fact, only: Iterable[str] | None = None) -> str:
        """A fact with its fields: sward in upper: height 45 cm, seed heads emerging."""
        kind = self._kinds[fact.kind]
        names = [name for name in (only if only is not None else fact.fields)
                 if name in fact.fields and name not in kind.keys and name not in _SILENT]  # fmt: skip
        said = ", ".join(self.field(kind, name, fact.fields[name]) for name in names)
        return f"{self.about(fact.kind, fact.fields)}{': ' if said else ''}{said}"

    def field(self, kind: Kind, name: str, value: Value) -> str:
        return f"{words(name)} {self.value(value, kind.fields[name].unit, name)}"

    # --- conditions ------------------------------------------------------------------------

    def conditions(self, state: ConditionState, fields: Mapping[str, object]) -> list[dict[str, Any]]:
        """One entry for each thing that a condition asks, with state, observed, expected, unit and margin.

        fields: what is known of what the condition is about (its keys and the place), for the words.
        """
        kind = self._kinds[state.condition.kind]
        asking = [test for test in state.tests if not self._about_itself(kind, test)]
        here = {**fields, **{test.field: test.expected for test in state.tests
                             if test.field in (*kind.keys, *PLACES) and isinstance(test.expected, str)}}  # fmt: skip
        whole = {"kind": kind.name, "fact": state.fact, "negated": state.negated}
        if state.negated:
            return [{**whole, **self._negated(state, kind, asking, here)}]
        if not asking or state.fact is None:
            return [{**whole, **self._presence(state, kind, asking, here)}]
        return [{**whole, **self._test(kind, test, here)} for test in asking]

    def _about_itself(self, kind: Kind, test: TestState) -> bool:
        """Whether a test only says what the fact is about, or takes a value up for later."""
        return test.op == "bind" or (test.field in (*kind.keys, *PLACES) and test.op == "is")

    def _test(self, kind: Kind, test: TestState, here: Mapping[str, object]) -> dict[str, Any]:
        unit = kind.fields[test.field].unit
        asked = self.asked(test, unit)
        seen = "not known" if test.observed is None else self.value(test.observed, unit, test.field)
        text = f"{self.about(kind.name, here)}: {words(test.field)} {seen}, wanted {asked}"
        return {
            "text": text + self.figures(test.figures),
            "state": said_state(test.state),
            "observed": self.number(test.observed, unit, test.field),
            "expected": self.number(test.expected, unit, test.field),
            "op": test.op,
            "field": test.field,
            "unit": self.unit_of(unit),
            "margin": None if test.margin is None else self.difference(test.margin, unit),
            "figures": [figure_entry(use) for use in test.figures],
        }

    def asked(self, test: TestState, unit: str) -> str:
        """What a test asks, in words: at least 25 cm."""
        if test.op == "known":
            return "to be known"
        if test.op == "between" and isinstance(test.expected, tuple):
            low, high = (self.value(end, unit, test.field) for end in test.expected)
            return f"{low} to {high}"
        return _ASKED.get(test.op, "{}").format(
            self.value(test.expected, unit, test.field) if test.expected is not None else "?"
        )

    def figures(self, uses: Sequence[FigureUse]) -> str:
        """Where the bounds come from: (figure first-mow.sward-height, new-york)."""
        if not uses:
            return ""
        return (
            " (" + "; ".join(f"figure {use.id}{'' if use.region == 'any' else ', ' + use.region}" for use in uses) + ")"
        )

    def _presence(
        self, state: ConditionState, kind: Kind, asking: Sequence[TestState], here: Mapping[str, object]
    ) -> dict[str, Any]:
        """A condition that asks nothing but that there be such a fact, or for which there is none."""
        name = self.about(kind.name, here)
        if state.state:
            text = f"{name}: {'so' if kind.of == 'derived' else 'there'}"
        else:
            text = f"{name}: {'nobody has looked' if kind.of == 'observed' else 'not so' if kind.of == 'derived' else 'none'}"
        said = [f"{words(t.field)} {self.asked(t, kind.fields[t.field].unit)}" for t in asking]
        alone = asking[0] if len(asking) == 1 else None
        unit = kind.fields[alone.field].unit if alone else ""
        figures = [use for test in asking for use in test.figures]
        return {
            "text": f"{text}{'; wanted ' if said else ''}{', '.join(said)}{self.figures(figures)}",
            "state": said_state(state.state),
            "observed": bool(state.state) if state.state is not None and alone is None else None,
            "expected": self.number(alone.expected, unit, alone.field) if alone and alone.op != "known" else True,
            "op": alone.op if alone else "there",
            "field": alone.field if alone else None,
            "unit": self.unit_of(unit) if alone else None,
            "margin": None,
            "figures": [figure_entry(use) for use in figures],
        }

    def _negated(
        self, state: ConditionState, kind: Kind, asking: Sequence[TestState], here: Mapping[str, object]
    ) -> dict[str, Any]:
        name = self.about(kind.name, here)
        said = ", ".join(f"{words(t.field)} {'known' if t.op == 'known' else self.asked(t, kind.fields[t.field].unit)}"
                         for t in asking)  # fmt: skip
        wanted = f"{name}{': ' if said else ''}{said}"
        end = {
            True: "not so, which is as wanted",
            False: "so, which stands in the way",
            None: "not known; wanted not so",
        }
        figures = [use for test in asking for use in test.figures]
        return {
            "text": f"{wanted}: {end[state.state]}{self.figures(figures)}",
            "state": said_state(state.state),
            "observed": None if state.state is None else not state.state,
            "expected": False,
            "op": "not",
            "field": asking[0].field if len(asking) == 1 else None,
            "unit": None,
            "margin": None,
            "figures": [figure_entry(use) for use in figures],
        }


def said_state(state: bool | None) -> bool | Literal["unknown"]:
    """How a condition stands, as it is told: true, false or unknown."""
    return UNKNOWN if state is None else state


def words(field: str) -> str:
    """A field as people say it."""
    return "stage" if field == "bbch" else field.replace("_", " ")


def figure_entry(use: FigureUse) -> dict[str, Any]:
    """A figure as it stands in an explanation."""
    return {"id": use.id, "value": use.value, "unit": use.unit, "region": use.region, "source": use.source}
