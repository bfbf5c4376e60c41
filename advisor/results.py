"""Results of leaf and soil tests: each with its unit, as laboratories write them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from pydantic import BeforeValidator

from advisor import words, written_schema
from advisor.quantity import Unreadable

NUTRIENTS = ("N", "P", "K", "Ca", "Mg", "S", "B", "Zn", "Mn", "Cu", "Fe", "Mo", "Na", "Al", "Cl")
_NAMES = {**{name.lower(): name for name in NUTRIENTS}, "ph": "ph", "organic_matter": "organic_matter", "cec": "cec",
          "base_saturation": "base_saturation", "nitrogen": "N", "phosphorus": "P", "potassium": "K", "calcium": "Ca",
          "magnesium": "Mg", "sulphur": "S", "sulfur": "S", "boron": "B", "zinc": "Zn", "manganese": "Mn",
          "copper": "Cu", "iron": "Fe", "molybdenum": "Mo", "sodium": "Na", "buffer_ph": "buffer_ph"}  # fmt: skip
# Unit as written: (unit kept, factor). A milliequivalent in 100 g is a centimole of charge in a kilogram.
_UNITS = {"%": ("%", 1.0), "g/kg": ("%", 0.1), "mg/g": ("%", 0.1), "ppm": ("ppm", 1.0), "mg/kg": ("ppm", 1.0),
          "ug/g": ("ppm", 1.0), "µg/g": ("ppm", 1.0), "kg/ha": ("kg/ha", 1.0), "lb/acre": ("kg/ha", 1.12085),
          "meq/100g": ("meq/100 g", 1.0), "cmol/kg": ("meq/100 g", 1.0), "cmolc/kg": ("meq/100 g", 1.0)}  # fmt: skip
_PLAIN = ("ph", "buffer_ph")


@dataclass(frozen=True)
class Result:
    """One figure of a test; unit is %, ppm, kg/ha, meq/100 g, or "" for pH."""

    value: float
    unit: str

    @property
    def percent(self) -> float | None:
        """In %, where the unit can be read so."""
        return self.value if self.unit == "%" else self.value / 10_000 if self.unit == "ppm" else None

    @property
    def ppm(self) -> float | None:
        """In parts per million, where the unit can be read so."""
        return self.value if self.unit == "ppm" else self.value * 10_000 if self.unit == "%" else None

    def __str__(self) -> str:
        return f"{self.value:g} {self.unit}".strip()


def _results(given: object) -> dict[str, Result]:
    if not isinstance(given, Mapping):
        raise Unreadable("results must name each figure", "Write them as {N: 2.1 %, B: 24 ppm, ph: 6.2}.")
    found = {_name(name): _result(_name(name), value) for name, value in given.items() if value is not None}
    if not found:
        raise Unreadable("results hold no figure", "Write them as {N: 2.1 %, B: 24 ppm, ph: 6.2}.")
    return found


def _name(given: object) -> str:
    word = re.sub(r"[\s-]+", "_", str(given).strip().lower())
    if word not in _NAMES:
        close = words.nearest(word, _NAMES, 1)
        offer = f"Did you mean {_NAMES[close[0]]}?" if close else f"Known: {', '.join(dict.fromkeys(_NAMES.values()))}."
        raise Unreadable(f"{str(given)[:40]!r} is not a figure of a test that is known here", offer)
    return _NAMES[word]


def _result(name: str, given: object) -> Result:
    if isinstance(given, Result):
        return given
    text = str(given).strip().replace("\u2212", "-")
    found = re.fullmatch(r"(\d+\.?\d*|\.\d+)\s*([A-Za-zµ%/ 0-9]*)", text)
    if isinstance(given, bool) or found is None:
        raise Unreadable(f"{name}: {text[:40]!r} is not a figure", "Write a number with its unit, such as 2.1 %.")
    value, unit = float(found.group(1)), found.group(2).replace(" ", "")
    if name in _PLAIN:
        if unit or not 0 < value < 14:
            raise Unreadable(f"{name}: {text[:40]!r} is not a pH", "Write a plain number, such as 6.2.")
        return Result(value, "")
    if not unit:
        raise Unreadable(f"{name}: {text[:40]} what?", f"Write {text[:20]} % or {text[:20]} ppm.")
    if unit not in _UNITS:
        raise Unreadable(f"{name}: {text[:40]!r} has a unit that is not used here", f"Use one of: {', '.join(_UNITS)}.")
    kept, factor = _UNITS[unit]
    if kept == "%" and value * factor > 100:
        raise Unreadable(f"{name}: {text[:40]!r} is more than the whole", "Check the number.")
    return Result(value * factor, kept)


Results = Annotated[
    dict[str, Result],
    BeforeValidator(
        _results, written_schema.results(sorted({*_NAMES.values()} - {*_PLAIN}), ("%", "g/kg", "ppm", "mg/kg"), _PLAIN)
    ),
]
