"""Observations that somebody could make: written as a grower would write them, from the fields of the facts they make.

record      one observation that makes a fact with these fields
plausible   what a look of a kind may find, where rules read it only through what is worked out from it
satisfying, failing   values of a field that pass or fail a test
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from advisor.comparisons import UNBOUND
from advisor.conditions import Field, Kind
from advisor.fact import Value
from advisor.facts.observed import FILLED_UP

# The smallest difference that is worth writing down, by unit; 1 for what is not listed.
_STEPS = {"share": 0.01, "percent": 0.1, "ph": 0.1, "m/s": 0.5, "degC": 0.5, "ratio": 1.0, "kg/ha": 1.0}
_WRITTEN = {"cm": "cm", "mm": "mm", "degC": "°C", "m/s": "m/s", "m2": "m2", "m": "m", "N": "N", "percent": "%",
            "kg/ha": "kg/ha", "mm/h": "mm/h"}  # fmt: skip
_UPPER = {"share": 1.0, "percent": 100.0}
# What stands for "there" and for "looked for, and none", where a rule asks no more.
_THERE: Mapping[str, Mapping[str, Value]] = {
    "tree-sign": {"share": 0.1}, "plant-bloom": {"open": 0.5}, "pest-count": {"count": 1}, "pest-damage": {"share": 0.05},
    "ally-count": {"abundance": "common"}, "disease-sign": {"share": 0.05}, "mummies": {"per_tree": 1},
    "bees": {"per_tree_minute": 5}, "snow": {"depth": 10}, "vole-sign": {"runways": "fresh"}, "sward": {"height": 20},
    "soil-water": {"feel": "moist"}, "leaf-fall": {"fallen": 1}, "stems": {"standing": 0.8}, "mulch": {"depth": 8},
    "fruit-set": {"fruit_per_cluster": 2}, "crop-count": {"fruit_per_tree": 100}, "bud-kill": {"dead": 0.1, "sample": 50},
    "shoot-growth": {"length": 30}, "heap": {"feel": "moist"}, "fruit-sample": {"blush": 0.5}, "soil-test": {"ph": 6.5},
}  # fmt: skip
_ABSENT: Mapping[str, Mapping[str, Value]] = {
    "tree-sign": {"share": 0}, "plant-bloom": {"open": 0}, "pest-count": {"count": 0}, "pest-damage": {"share": 0},
    "ally-count": {"abundance": "none"}, "disease-sign": {"share": 0}, "mummies": {"per_tree": 0},
    "bees": {"per_tree_minute": 0}, "snow": {"depth": 0}, "wildlife-sign": {"none": True},
    "vole-sign": {"runways": "none", "gnawing": False, "slices_eaten": 0, "drops_chewed": False},
}  # fmt: skip
# What may be found, for kinds that the rules read through what is worked out from them (rough values, from memory; they
# are only tried, and what is told is what came of it).
_PLAUSIBLE: Mapping[str, Sequence[Mapping[str, Any]]] = {
    "pest-count": (
        {"count": 0, "infested": 0, "sample": 100},
        {"count": 50, "infested": 0.5, "sample": 100},
        {"count": 30, "per": "trap", "trap": "pheromone", "days": 7},
    ),
    "pest-damage": ({"share": 0}, {"share": 0.1, "fresh": True}),
    "disease-sign": ({"share": 0}, {"share": 0.1}),
    "ally-count": ({"abundance": "none"}, {"abundance": "common", "share": 0.5}),
    "leaf-test": ({"results": {"N": "1.6 %"}}, {"results": {"N": "2.2 %"}}, {"results": {"N": "3.2 %"}}),
    "soil-test": ({"results": {"ph": 5.2}}, {"results": {"ph": 6.5}}, {"results": {"ph": 7.8}}),
    "fruit-sample": (
        {"starch": 2, "firmness": "90 N", "ground_colour": "green", "parts_when_lifted": False},
        {"starch": 5, "firmness": "75 N", "soluble_solids": "13 %", "ground_colour": "light-green"},
        {"starch": 8, "firmness": "55 N", "ground_colour": "yellow", "parts_when_lifted": True},
    ),
    "crop-count": (
        {"fruit_per_tree": 40, "girth": "60 cm"},
        {"fruit_per_tree": 900, "girth": "60 cm"},
        {"fruit_per_tree": 900, "girth": "60 cm", "fruit_diameter": "22 mm"},
        {"fruit_diameter": "22 mm"},
    ),
    "bees": ({"per_tree_minute": 0}, {"per_tree_minute": 30}),
    "bud-kill": ({"dead": 0.02, "sample": 100}, {"dead": 0.9, "sample": 100}),
    "soil-water": ({"feel": "wet"}, {"feel": "dry"}, {"depletion": "90 mm"}),
    "heap": ({"smell": "ammonia"}, {"feel": "wet"}, {"feel": "dry"}),
    "shoot-growth": ({"length": "8 cm"}, {"length": "30 cm"}, {"length": "90 cm"}),
    "plant-bloom": ({"open": 0}, {"open": 0.5}),
    "forecast": (
        {"low": "-6 °C", "high": "6 °C", "rain": "0 mm", "wind": "1 m/s", "frost": "calm"},
        {"low": "8 °C", "high": "20 °C", "rain": "0 mm", "wind": "1 m/s"},
        {"low": "10 °C", "high": "20 °C", "rain": "20 mm", "wind": "3 m/s"},
    ),
}
# What is worked out, and the looks that it is worked out from.
BEHIND: Mapping[str, tuple[str, ...]] = {
    "pest-level": ("pest-count", "pest-damage"), "pest-enemies": ("ally-count",), "pest-window": ("pest-count",),
    "disease-here": ("disease-sign",), "leaf-nutrient": ("leaf-test",), "soil-figure": ("soil-test",),
    "lime-need": ("soil-test",), "gypsum-need": ("soil-test",), "maturity": ("fruit-sample",),
    "crop-load": ("crop-count",), "crop-expected": ("crop-count",), "thinning-time": ("crop-count",),
    "bearing-year": ("crop-count",), "bee-count": ("bees",), "bud-count": ("bud-kill",), "lateral-buds": ("bud-kill",),
    "water-balance": ("soil-water",), "sward-feed": ("sward",), "heap-mix": ("heap",), "shoot-vigour": ("shoot-growth",),
    "nitrogen-need": ("leaf-test", "shoot-growth"), "flowering": ("plant-bloom",), "frost-night": ("forecast",),
    "frost-figure": ("forecast",), "outlook": ("forecast",), "spray-day": ("forecast",),
    "infection-outlook": ("forecast",), "blight-outlook": ("forecast",), "spore-season": ("leaf-fall",),
}  # fmt: skip


def plausible(kind: str) -> Sequence[Mapping[str, Any]]:
    """What a look of a kind may find, as a grower would write it."""
    return _PLAUSIBLE.get(kind, ())


def there(kind: str) -> Mapping[str, Value]:
    return _THERE.get(kind, {})


def absent(kind: str) -> Mapping[str, Value]:
    return _ABSENT.get(kind, {})


def record(kind: Kind, fields: Mapping[str, Value], year: int) -> dict[str, Any] | None:
    """An observation, without its date, that makes a fact of an observed kind with these fields; None if none can.

    year: the orchard year, for stems. Fields that an observation has no word for make it None.
    """
    said: dict[str, Any] = {"kind": kind.name}
    results: dict[str, Any] = {}
    for name, value in fields.items():
        if name == "days_ago":
            continue
        if kind.name == "stems" and name in ("never_cut", "stem_winters"):
            if name == "stem_winters":
                said["first_cut"] = year - int(float(value))
            elif value is True:
                said["first_cut"] = "never"
        elif kind.name == "wildlife-sign" and name == "none":
            if value is True:
                said["who"] = "none"
        elif kind.name == "soil-test" and name in ("ph", "organic_matter"):
            results[name] = value if name == "ph" else f"{float(value):g} %"
        else:
            said[name] = written(value, kind.fields[name])
    if results:
        said["results"] = results
    if kind.name == "wildlife-sign" and fields.get("none") is False and said.get("who") == "none":
        return None
    return said


def written(value: Value, field: Field) -> Any:
    """A value of a fact as a grower would write it, with its unit."""
    if isinstance(value, bool | str):
        return value
    plain = int(value) if float(value).is_integer() else round(float(value), 4)
    return f"{plain} {_WRITTEN[field.unit]}" if field.unit in _WRITTEN else plain


def filled_up(kind: str) -> bool:
    """Whether a new look keeps what an earlier one said of other fields."""
    return kind in FILLED_UP


def satisfying(op: str, bound: object, field: Field, now: Value | None) -> Sequence[Value]:
    """Values that pass a test, the nearest to the present one first."""
    step = _STEPS.get(field.unit, 1.0)
    if (bound is UNBOUND or bound is None) and op != "known":
        return []
    if op in ("is", "bind"):
        return [bound] if isinstance(bound, str | int | float) else []
    if op == "in":
        values = bound if isinstance(bound, tuple) else (bound,)
        return [value for value in values if isinstance(value, str | int | float)]
    if op == "is-not":
        return [value for value in field.values if value != bound][:3]
    if op == "known":
        return [now] if now is not None else [*field.values[:2]] or _usual(field)
    if op == "between":
        assert isinstance(bound, tuple)
        low, high = float(bound[0]), float(bound[1])
        if isinstance(now, int | float) and not isinstance(now, bool):
            return [min(max(float(now), low), high)]
        return [low] if low == high else [_inside(low, high)]
    limit = float(bound)  # type: ignore[arg-type]
    return [_possible({"at-least": limit, "at-most": limit, "above": limit + step, "below": limit - step}[op], field)]


def failing(op: str, bound: object, field: Field) -> Sequence[Value]:
    """Values that fail a test, the nearest to its bound first."""
    step = _STEPS.get(field.unit, 1.0)
    if bound is UNBOUND or bound is None or op in ("known", "bind"):
        return []
    if op == "is-not":
        return [bound] if isinstance(bound, str | int | float) else []
    if op in ("is", "in"):
        refused = bound if isinstance(bound, tuple) else (bound,)
        if field.type == "flag":
            return [value for value in (False, True) if value not in refused]
        if field.type == "number":
            return [0.0] if 0 not in refused else []
        return [value for value in ("none", *field.values) if value in field.values and value not in refused][:3]
    if op == "between":
        assert isinstance(bound, tuple)
        return [_possible(float(bound[0]) - step, field), _possible(float(bound[1]) + step, field)]
    limit = float(bound)  # type: ignore[arg-type]
    return [_possible({"at-least": limit - step, "at-most": limit + step, "above": limit, "below": limit}[op], field)]


def _inside(low: float, high: float) -> float:
    middle = (low + high) / 2
    return round(middle) if high - low > 1 else round(middle, 3)


def _usual(field: Field) -> list[Value]:
    if field.type == "flag":
        return [True, False]
    return [0.1 if field.unit == "share" else 10.0] if field.type == "number" else []


def _possible(value: float, field: Field) -> float:
    """Within what can be counted or measured: nothing below zero but temperatures, no share above the whole."""
    low = -60.0 if field.unit in ("degC", "weeks", "days") else 0.0
    return round(min(max(value, low), _UPPER.get(field.unit, 1e9)), 6)
