"""What a bound is worth for one orchard: figures picked by its guidance and turned into the unit of the field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Protocol

from advisor.conditions import (
    Bound,
    Bounds,
    Condition,
    Derive,
    Field,
    FigureRef,
    Kind,
    Propose,
    Reserve,
    Rule,
    StageRef,
    Test,
    Var,
)
from advisor.fact import Value, plain


class Figure(Protocol):
    """A threshold or rate of the knowledge."""

    @property
    def unit(self) -> str: ...

    def value(self, region: str | None) -> Any:
        """The row for a region, or the default row: it has `value`, `region`, `source` and `evidence`."""


@dataclass(frozen=True, slots=True)
class FigureUse:
    """A figure as it was used: `value` in the figure's own `unit`, `worth` in the unit of the field it was compared with."""

    id: str
    value: float | str
    unit: str
    region: str
    source: str | None
    evidence: str | None
    worth: float | str


class UnfitFigure(ValueError):
    """A figure that a rule asks for is missing, or its unit does not fit."""


# unit: (what it measures, how many of the base unit, offset)
_UNITS: Mapping[str, tuple[str, float, float]] = {
    "m": ("length", 1.0, 0.0),
    "cm": ("length", 0.01, 0.0),
    "mm": ("length", 0.001, 0.0),
    "km": ("length", 1000.0, 0.0),
    "m2": ("area", 1.0, 0.0),
    "ha": ("area", 10_000.0, 0.0),
    "cm2": ("area", 1e-4, 0.0),
    "m3": ("volume", 1.0, 0.0),
    "kg": ("mass", 1.0, 0.0),
    "g": ("mass", 0.001, 0.0),
    "t": ("mass", 1000.0, 0.0),
    "min": ("time", 1 / 1440, 0.0),
    "minutes": ("time", 1 / 1440, 0.0),
    "h": ("time", 1 / 24, 0.0),
    "day": ("time", 1.0, 0.0),
    "days": ("time", 1.0, 0.0),
    "weeks": ("time", 7.0, 0.0),
    "week": ("time", 7.0, 0.0),
    "share": ("share", 1.0, 0.0),
    "percent": ("share", 0.01, 0.0),
    "%": ("share", 0.01, 0.0),
    "degC": ("temperature", 1.0, 0.0),
    "degF": ("temperature", 5 / 9, -160 / 9),
    "m/s": ("speed", 1.0, 0.0),
    "km/h": ("speed", 1 / 3.6, 0.0),
    "mm/h": ("rate of rain", 1.0, 0.0),
    "ratio": ("ratio", 1.0, 0.0),
    "1": ("ratio", 1.0, 0.0),
    "N": ("force", 1.0, 0.0),
    "lbf": ("force", 4.4482216, 0.0),
    "degree-days C": ("warmth", 1.0, 0.0),
    "degree-days F": ("warmth", 5 / 9, 0.0),
    "year": ("age", 1.0, 0.0),
    "years": ("age", 1.0, 0.0),
    "kg/ha": ("dose", 1.0, 0.0),
    "t/ha": ("dose", 1000.0, 0.0),
}


def unit_fits(unit: str, wanted: str) -> bool:
    """Whether a figure in one unit can be compared with a field in another ("any" and "" take every unit)."""
    if unit == wanted or wanted in ("any", "") or (wanted == "count" and (unit == "1" or unit.startswith("per "))):
        return True
    return unit in _UNITS and wanted in _UNITS and _UNITS[unit][0] == _UNITS[wanted][0]


def converted(value: float, unit: str, wanted: str) -> float:
    """The number in the wanted unit; UnfitFigure if the units measure different things."""
    if not unit_fits(unit, wanted):
        raise UnfitFigure(f"{unit!r} cannot be compared with {wanted!r}")
    if unit == wanted or unit not in _UNITS or wanted not in _UNITS:
        return value
    _, scale, offset = _UNITS[unit]
    _, wanted_scale, wanted_offset = _UNITS[wanted]
    return (value * scale + offset - wanted_offset) / wanted_scale


def figure_use(figures: Mapping[str, Any], id: str, region: str | None, wanted: str = "any") -> FigureUse:
    """The row of a figure for a region, with its number in the wanted unit."""
    figure = figures.get(id)
    if figure is None:
        raise UnfitFigure(f"there is no figure {id!r}")
    row = figure.value(region)
    worth = row.value if isinstance(row.value, str) else converted(float(row.value), figure.unit, wanted)
    return FigureUse(
        id, row.value, figure.unit, row.region, getattr(row, "source", None), getattr(row, "evidence", None), worth
    )


class Resolver:
    """Turns the bounds of rules into plain values for one set of kinds and figures and one region."""

    def __init__(self, kinds: Mapping[str, Kind], figures: Mapping[str, Any], region: str | None) -> None:
        self.kinds = kinds
        self.figures = figures
        self.region = region
        self._settled: dict[str, Derive | Propose | Reserve] = {}
        # What the evaluator made of each rule: conditions under `when` and `unless`, and the order to fill them in.
        self.resolved: dict[str, tuple[Rule, tuple[tuple[Condition, ...], tuple[Condition, ...], tuple[int, ...]]]] = {}

    def field(self, kind: str, name: str) -> Field:
        return self.kinds[kind].fields[name]

    def bound(self, bound: Bound, wanted: str) -> Value | Var:
        """A bound as a plain value; a variable stays one."""
        if isinstance(bound, FigureRef):
            worth = figure_use(self.figures, bound.id, self.region, wanted).worth
            return worth if isinstance(worth, str) else plain(worth)
        if isinstance(bound, StageRef):
            return plain(bound.bbch)
        if isinstance(bound, bool | str | Var):
            return bound
        return plain(bound)

    def bounds(self, bounds: Bounds, wanted: str) -> Bounds:
        if isinstance(bounds, tuple):
            return tuple(self.bound(bound, wanted) for bound in bounds)
        return self.bound(bounds, wanted)

    def condition(self, condition: Condition) -> Condition:
        """The condition with every bound a plain value or a variable."""
        tests = tuple(
            Test(test.field, test.op, self.bounds(test.bound, self.field(condition.kind, test.field).unit))
            for test in condition.tests
        )
        return replace(condition, tests=tests)

    def settled(self, rule: Rule) -> Derive | Propose | Reserve:
        """What a rule says, with every figure a plain value."""
        found = self._settled.get(rule.id)
        if found is None:
            found = self._settled[rule.id] = self._settle(rule.output)
        return found

    def _settle(self, said: Derive | Propose | Reserve) -> Derive | Propose | Reserve:
        if isinstance(said, Derive):
            fields = self.kinds[said.kind].fields
            return replace(
                said, fields={name: self.bound(bound, fields[name].unit) for name, bound in said.fields.items()}
            )
        if isinstance(said, Reserve):
            return replace(said, until=None if said.until is None else self.bound(said.until, "days"))
        wanted = {
            "opens": "days",
            "closes": "days",
            "urgency": "any",
            "practice": "any",
            "target": "any",
            "block": "any",
            "habitat": "any",
            "material": "any",
        }
        values = {name: getattr(said, name) for name in wanted}
        changed = {name: self.bound(value, wanted[name]) for name, value in values.items() if value is not None}
        amount = None if said.amount is None else (self.bound(*said.amount), said.amount[1])
        return replace(said, **changed, amount=amount)  # type: ignore[arg-type]

    def uses(self, rule: Rule) -> tuple[FigureUse, ...]:
        """The figures that a rule compares with or speaks of, each with the row used."""
        wanted: dict[str, str] = {}
        for condition in rule.conditions():
            for test in condition.tests:
                for id in test.figures():
                    wanted.setdefault(id, self.field(condition.kind, test.field).unit)
        return tuple(figure_use(self.figures, id, self.region, wanted.get(id, "any")) for id in rule.figures())
