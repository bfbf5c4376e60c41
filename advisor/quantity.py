"""Quantities in and out: "35 cm", "14 in", "1.5 t/ha", "2.1 %" are read into plain floats in one inside unit.

Inside: m, m2, m3, kg, degC, mm of rain, m/s, h, N, kg/ha, L/ha, kg/m3, mm/h, shares 0-1. A unit is never guessed: a
bare number is refused where a unit is needed, except 0, where nothing is nothing in every unit (not for temperatures).

pint knows the units. It takes half a second to load, so it is loaded with the first quantity and not before.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from advisor.sentences import in_words


class Unreadable(ValueError):
    """A value that cannot be read: what is wrong, and how to mend it."""

    def __init__(self, message: str, mend: str) -> None:
        self.message = message
        self.mend = mend
        super().__init__(message)


@dataclass(frozen=True)
class Kind:
    """What a quantity measures: its inside unit, two ways to write one, and the span that can make sense.

    such: one as people write it. usual: a bare number above it was likelier meant in the second unit.
    """

    name: str
    unit: str
    first: str
    second: str
    low: float = 0.0
    high: float = math.inf
    bare: bool = False  # True where the field's own name says the unit, so that a bare number is clear
    such: str = "35 cm"
    usual: float = math.inf


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("length", "m", "cm", "in", high=100_000),
        Kind("distance", "m", "m", "ft", high=100_000, such="60 m"),  # from a block to what lies about it
        Kind("spacing", "m", "m", "ft", high=100_000, such="6 m", usual=12),  # from tree to tree; few stand wider
        Kind("elevation", "m", "m", "ft", low=-430, high=9_000, such="250 m"),
        Kind("area", "m2", "m2", "acres", such="200 m2"),
        Kind("volume", "m3", "L", "gal", such="9 L"),
        Kind("mass", "kg", "kg", "lb", such="300 kg"),
        Kind("temperature", "degC", "°C", "°F", low=-60, high=60, such="-3 °C"),
        Kind("rain", "mm", "mm", "in", high=3_000, such="12 mm"),
        Kind("depth-of-water", "mm", "mm", "in", high=3_000, bare=True, such="25 mm"),  # soil water, always told in mm
        Kind("speed", "m/s", "m/s", "mph", high=120, such="3 m/s"),
        Kind("duration", "h", "h", "minutes", such="2 h"),
        Kind("hours", "h", "h", "minutes", high=100_000, bare=True, such="2 h"),
        Kind("force", "N", "N", "lbf", such="70 N"),
        Kind("dose", "kg/ha", "kg/ha", "lb/acre", such="5 kg/ha"),
        Kind("liquid-dose", "L/ha", "L/ha", "gal/acre", such="200 L/ha"),
        Kind("strength", "kg/m3", "g/L", "lb/100 gal", such="20 g/L"),
        Kind("water-rate", "mm/h", "mm/h", "in/h", high=500, such="3 mm/h"),
        Kind("share", "share", "", "%", high=1, bare=True),
        Kind("percent", "%", "%", "%", high=100, such="2.1 %"),
    )
}

# How people write units, and how pint spells them.
_SPELLINGS = {
    "%": "percent", "brix": "percent", "°bx": "percent", "°brix": "percent",
    "°c": "degC", "degc": "degC", "c": "degC", "celsius": "degC",
    "°f": "degF", "degf": "degF", "f": "degF", "fahrenheit": "degF",
    "fl oz": "fluid_ounce", "floz": "fluid_ounce",
    "sq m": "m^2", "square metres": "m^2", "square meters": "m^2", "sq ft": "ft^2", "square feet": "ft^2",
    "cubic metres": "m^3", "cubic meters": "m^3", "cubic yards": "yard^3", "cubic feet": "ft^3",
    "yd2": "yard^2", "yd3": "yard^3",
}
_PINT_UNITS = {
    "m2": "m^2", "m3": "m^3", "kg/m3": "kg/m^3", "share": "dimensionless", "%": "percent", "": "dimensionless",
}
_AMOUNTS = ("length", "area", "volume", "mass", "temperature", "speed", "duration", "force", "dose", "liquid-dose",
            "strength", "water-rate", "share")

_SIGN = r"[-+\u2212]?"
_NUMBER = re.compile(
    rf"({_SIGN})(?:(\d+)\s+)?(\d+)/(\d+)(?![\d.])|{_SIGN}(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{{1,3}})?"
)
_UNIT = re.compile(r"[A-Za-z°%µ][A-Za-z°%µ²³^/0-9. ]{0,30}|")
_THINGS = {"tree": "trees", "trees": "trees", "fruit": "fruit", "fruits": "fruit", "plant": "plants", "plants": "plants"}
_WRITE = "Write a number and a unit, such as {}."
_SHARES = "Write a number from 0 to 1, or a percentage with %."


@dataclass(frozen=True)
class Amount:
    """A quantity of any kind, in the inside unit of that kind."""

    value: float
    unit: str

    def __str__(self) -> str:
        return show(self.value, self.unit)


def read(given: object, kind: str) -> float:
    """A quantity of the named kind as a float in its inside unit; Unreadable says what is wrong and how to mend it."""
    what = KINDS[kind]
    number, unit = _split(given, _SHARES if kind == "share" else _WRITE.format(what.such))
    if not unit:
        if not what.bare and (number != 0 or kind in ("temperature", "percent")):
            raise Unreadable(f"{_plain(number)} what?", f"Write {_example(number, what)}.")
        value = number
    elif kind == "share" and unit != "percent":
        raise Unreadable(f"{_quoted(given)} is not a share", _SHARES)
    else:
        factor, offset = _factor(unit, what, _quoted(given))
        value = float(f"{number * factor + offset:.12g}")  # so that 35 cm is 0.35, not 0.35000000000000003
    return _within(value, what, given)


def amount(given: object) -> Amount:
    """A quantity of any kind that carries its unit ("300 kg", "2 gal", "40 kg/ha", "25 mm", "50 %", "12 trees")."""
    if isinstance(given, Amount):
        return given
    number, unit = _split(given, _WRITE.format("300 kg"))
    if not unit:
        written = _plain(number)
        raise Unreadable(f"{written} what?", f"Write the unit as well, such as {written} kg or {written} m2.")
    if unit.lower() in _THINGS:
        return Amount(number, _THINGS[unit.lower()])
    for name in _AMOUNTS:
        if name == "share" and unit != "percent":
            continue
        try:
            return Amount(read(given, name), KINDS[name].unit)
        except _OtherKind:
            continue
    raise Unreadable(f"{_quoted(given)} is in a unit that no job of an orchard is measured in",
                     "Use kg, lb, L, gal, m2, acres, kg/ha, lb/acre, mm, cm, % or h.")


class _OtherKind(Unreadable):
    """The unit is a real one, but of another kind."""


def _split(given: object, mend: str) -> tuple[float, str]:
    """The number and the unit (in pint's spelling, "" for none) of a quantity as written; `mend` where it is none."""
    if isinstance(given, bool) or given is None or not isinstance(given, int | float | str):
        raise Unreadable(f"{_quoted(given)} is not a quantity", mend)
    if not isinstance(given, str):
        if not math.isfinite(given):
            raise Unreadable(f"{given} is not a number that can be measured", "Leave out what is not known.")
        return float(given), ""
    text = " ".join(given.split())
    found = _NUMBER.match(text)
    if found is None:
        raise Unreadable(f"{_quoted(given)} does not begin with a number", mend)
    unit = text[found.end():].strip()
    if unit.startswith(","):
        raise Unreadable(f"{_quoted(given)} has a comma in its number",
                         "Write a decimal point, and no mark between thousands.")
    if (unit[:1] in ("-", "\u2013") and unit[1:].strip()[:1].isdigit()) or unit.startswith("to "):
        raise Unreadable(f"{_quoted(given)} is a range",
                         "Write one number: what was measured, or the middle of the range.")
    if not _UNIT.fullmatch(unit):
        raise Unreadable(f"{_quoted(given)} is not a number with a unit", mend)
    if found.group(3):
        if not int(found.group(4)):
            raise Unreadable(f"{_quoted(given)} divides by nothing", "Write a decimal number.")
        value = int(found.group(2) or 0) + int(found.group(3)) / int(found.group(4))
        value = -value if found.group(1) in ("-", "\u2212") else value
    else:
        value = float(found.group().replace("\u2212", "-"))
    if not math.isfinite(value):
        raise Unreadable(f"{_quoted(given)} is not a number that can be measured", "Check it.")
    return value, _spelling(unit)


def _spelling(unit: str) -> str:
    low = unit.lower().rstrip(".")
    if low in _SPELLINGS:
        return _SPELLINGS[low]
    unit = unit.replace("²", "^2").replace("³", "^3").replace(" per ", "/")
    return re.sub(r"(?<=[A-Za-z])([23])\b", r"^\1", unit).strip()


def _factor(unit: str, what: Kind, given: str) -> tuple[float, float]:
    inside = _PINT_UNITS.get(what.unit, what.unit)
    other_kind = False
    for spelling in dict.fromkeys((unit, unit.lower())):  # 35 CM is 35 cm
        try:
            return _conversion(spelling, inside)
        except _NotThatKind:
            other_kind = True
        except _NoUnit:
            pass
    mend = f"Write it in {what.first} or {what.second}."
    if what.first == what.second:
        mend = f"Write it with {what.first}."
    if other_kind:
        raise _OtherKind(f"{given} is not a {in_words(what.name)}", mend)
    raise Unreadable(f"{given} has a unit that nobody here knows", mend)


class _NotThatKind(Exception):
    pass


class _NoUnit(Exception):
    pass


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(cache_folder=None)


@lru_cache(maxsize=512)
def _conversion(unit: str, inside: str) -> tuple[float, float]:
    """(factor, offset) from one unit to another: inside = given x factor + offset."""
    import pint

    registry = _registry()
    scale = 1.0
    hundred = re.search(r"/ ?(\d{1,4}) ?(?=[A-Za-z])", unit)  # "lb/100 gal"
    if hundred and float(hundred.group(1)):
        scale = 1.0 / float(hundred.group(1))
        unit = unit.replace(hundred.group(), "/")
    try:
        source = registry.parse_units(unit)
        zero = float(registry.Quantity(0.0, source).to(inside).magnitude)
        one = float(registry.Quantity(1.0, source).to(inside).magnitude)
    except pint.DimensionalityError:
        raise _NotThatKind from None
    except Exception:  # pint meets text that is no unit with many kinds of error: syntax, tokens, undefined names
        raise _NoUnit from None
    return (one - zero) * scale, zero


def _within(value: float, what: Kind, given: object) -> float:
    if not math.isfinite(value):
        raise Unreadable(f"{_quoted(given)} is not a number that can be measured", "Check it.")
    if what.low <= value <= what.high:
        return value
    if what.name == "share":
        raise Unreadable(f"{_quoted(given)} is not a share: shares go from 0 to 1",
                         "Write the part of the whole as 0 to 1, or as a percentage with %.")
    if value < 0 <= what.low:
        raise Unreadable(f"{_quoted(given)} is below zero", "Check the sign.")
    raise Unreadable(f"{_quoted(given)} is out of all measure for a {in_words(what.name)}",
                     f"It must lie between {what.low:g} and {what.high:g} {what.unit}; check the number and the unit.")


def _example(number: float, what: Kind) -> str:
    """The same number with a unit, and about the same in the other system: "35 cm or 14 in", the likelier first."""
    if what.first == what.second:
        return f"{_plain(number)} {what.first}"
    inside = _PINT_UNITS.get(what.unit, what.unit)  # by way of it: "lb/100 gal" can be read but not aimed at
    factor, offset = _conversion(_spelling(what.first), inside)
    other_factor, other_offset = _conversion(_spelling(what.second), inside)
    if number > what.usual:
        return f"{_plain(number)} {what.second} or {float(f'{number * other_factor / factor:.2g}'):g} {what.first}"
    other = (number * factor + offset - other_offset) / other_factor
    return f"{_plain(number)} {what.first} or {float(f'{other:.2g}'):g} {what.second}"


def _plain(number: float) -> str:
    return f"{number:.10g}"


def _quoted(given: object) -> str:
    """What was given, as it stood: text in quotes, numbers without."""
    return repr(given[:60]) if isinstance(given, str) else str(given)[:60]


# For each unit that is written out: what people read, by system, each with the size from which it is used.
_SHOWN: dict[str, dict[str, tuple[tuple[float, str], ...]]] = {
    "m": {"metric": ((0, "cm"), (1, "m"), (3_000, "km")), "us": ((0, "in"), (1.0, "ft"), (3_000, "miles"))},
    "m2": {"metric": ((0, "m2"), (10_000, "ha")), "us": ((0, "ft2"), (1_000, "acres"))},
    "m3": {"metric": ((0, "L"), (1, "m3")), "us": ((0, "ft3"), (0.7, "yd3"))},
    "L": {"metric": ((0, "L"), (1_000, "m3")), "us": ((0, "gal"),)},  # what is poured; chips are told by the cubic foot
    "kg": {"metric": ((0, "g"), (1, "kg"), (2_000, "t")), "us": ((0, "oz"), (0.4, "lb"), (2_000, "tons"))},
    "degC": {"metric": ((0, "°C"),), "us": ((0, "°F"),)},
    "mm": {"metric": ((0, "mm"),), "us": ((0, "in"),)},
    "m/s": {"metric": ((0, "m/s"),), "us": ((0, "mph"),)},
    "h": {"metric": ((0, "h"),), "us": ((0, "h"),)},
    "N": {"metric": ((0, "N"),), "us": ((0, "lbf"),)},
    "kg/ha": {"metric": ((0, "kg/ha"), (2_000, "t/ha")), "us": ((0, "lb/acre"), (5_000, "tons/acre"))},
    "L/ha": {"metric": ((0, "L/ha"),), "us": ((0, "gal/acre"),)},
    "kg/m3": {"metric": ((0, "g/L"),), "us": ((0, "lb/100 gal"),)},
    "mm/h": {"metric": ((0, "mm/h"),), "us": ((0, "in/h"),)},
    "degC-days": {"metric": ((0, "°C days"),), "us": ((0, "°F days"),)},
    "degC-hours": {"metric": ((0, "°C hours"),), "us": ((0, "°F hours"),)},
}
_SMALLER = {"cm": ("m", 0.01), "ha": ("m2", 10_000.0), "g": ("kg", 0.001), "t": ("kg", 1_000.0),
            "t/ha": ("kg/ha", 1_000.0), "g/L": ("kg/m3", 1.0)}


def show(value: float, unit: str, system: str = "metric") -> str:
    """A value as people read it, in metric or US units, to three figures.

    unit: an inside unit, or cm, ha, g, L, t, %, share, days and so on; a unit with no US twin is written as it is.
    """
    if not math.isfinite(value):
        return "unknown"
    if unit in ("share", "%"):
        return f"{_rounded(value * 100 if unit == 'share' else value)} %"
    if unit in _SMALLER:
        unit, factor = _SMALLER[unit]
        value *= factor
    if unit not in _SHOWN:
        if unit in _COUNTED and abs(value) >= 1:
            value = round(value * 2) / 2  # 3 weeks, not 3.14
        said = _rounded(value)
        return f"{said} {unit[:-1] if said == '1' and unit in _COUNTED else unit}".strip()
    written = [name for least, name in _SHOWN[unit][system] if abs(value) >= least][-1]
    if unit.startswith("degC-"):
        return f"{_rounded(value * (1.8 if system == 'us' else 1.0))} {written}"
    factor, offset = _shown_factor(unit, written)
    number = value * factor + offset
    decimals = 1 if unit == "degC" else 0 if written in _COARSE and abs(number) >= 10 else None
    return f"{_rounded(number, decimals)} {written}"


def spoken(value: float, unit: str, system: str = "metric") -> str:
    """A value for a sentence: as `show`, but whole weeks, whole degrees F above the range of frosts, years for very many
    days, inches and feet to two figures and a hundredth, and US bulk to two figures: nobody sets a mower to 3.15 in or
    weighs out 89.9 lb of straw.
    """
    if unit == "days" and value >= 2 * 365:
        return f"{_rounded(value / 365, 0)} years"
    if unit == "weeks" and value >= 3:
        return f"{_rounded(value, 0)} weeks"
    said = show(value, unit, system)
    number, _, written = said.partition(" ")
    if written == "°F" and float(number) >= _ABOVE_FROST_F:
        return f"{_rounded(float(number), 0)} °F"
    if system == "us" and written in _BULK and abs(float(number)) >= 10:
        return f"{float(f'{float(number):.2g}'):.0f} {written}"
    if system == "us" and written in _COARSE and abs(float(number)) < 10:
        return f"{_rounded(float(number), min(2, _decimals(float(number), 2)))} {written}"
    return said


def neatly(value: float, unit: str, system: str = "metric", *, at_least: bool = False) -> str:
    """A measure of a rule or text for a sentence: as `spoken`, but where it is a round number of metric lengths, areas,
    volumes or wind, US readers get a round number of theirs that is almost the same: 6 in for 15 cm, 100 ft for 30 m.

    What somebody measured is told by `spoken`. at_least: lengths never less than the measure, as for distances kept for
    safety, and what is no length as `spoken`. Winds are limits and never rounded up; temperatures, masses and doses are
    not rounded further.
    """
    said = spoken(value, unit, system)
    written = said.partition(" ")[2]
    if system != "us" or written not in _STEPS or float(f"{value:.2g}") != value:
        return said
    if at_least and written not in _LENGTHS:
        return said
    base, smaller = _SMALLER.get(unit, (unit, 1.0))
    exact = value * smaller * _shown_factor(base, written)[0]
    for step in _STEPS[written]:
        whole = math.floor if written == "mph" else math.ceil if at_least else round
        number = whole(exact / step) * step
        if abs(number - exact) <= _ALMOST * exact:
            return f"{number:.10g} {written}"
    return said


def shown_unit(unit: str, system: str = "metric") -> tuple[str, float, float]:
    """The one unit in which numbers of an inside unit are set side by side for people, with factor and offset to it.

    Metric numbers stay as they are; a unit with no US twin does too. A difference takes the factor alone.
    """
    base, smaller = _SMALLER.get(unit, (unit, 1.0))
    if system != "us" or base not in _SHOWN or base.startswith("degC-"):
        return unit, 1.0, 0.0
    written = min(_SHOWN[base]["us"], key=lambda shown: shown[0])[1] if unit != "m" else "ft"
    factor, offset = _shown_factor(base, written)
    return written, smaller * factor, offset


_COARSE = ("in", "ft")  # turned from round metric numbers: 98 ft, not 98.4
_ABOVE_FROST_F = 40.0  # below it a tenth of a degree is worth reading
_BULK = ("lb", "oz", "tons", "ft3", "yd3", "gal", "ft2")  # likewise: 90 lb, not 89.9
# Steps that people count in, the coarsest first: whole inches, quarters of one where an inch would change too much.
_STEPS: dict[str, tuple[float, ...]] = {
    "in": (6, 1, 0.5, 0.25, 0.1, 0.05, 0.01), "ft": (100, 10, 5, 1, 0.5, 0.1), "miles": (1, 0.5, 0.25, 0.01), "mph": (1,),
    "ft2": (100, 10, 5, 1), "acres": (5, 1, 0.5, 0.25), "yd3": (10, 5, 1, 0.5, 0.1), "gal": (10, 5, 1, 0.5, 0.1),
}  # fmt: skip
_LENGTHS = ("in", "ft", "miles")
_ALMOST = 0.035  # share by which a neat number may part from the exact one
_COUNTED = ("days", "weeks", "months", "years")  # one of them is a day, a week ...


@lru_cache(maxsize=128)
def _shown_factor(unit: str, written: str) -> tuple[float, float]:
    if unit == written or (unit, written) == ("degC", "°C"):
        return 1.0, 0.0  # nothing to convert, so pint need not be loaded
    if "/100 gal" in written:
        factor, offset = _conversion(_spelling(written), _PINT_UNITS.get(unit, unit))
        return 1.0 / factor, offset
    return _conversion(_PINT_UNITS.get(unit, unit), _PINT_UNITS.get(written, _spelling(written)))


def _decimals(number: float, figures: int) -> int:
    return 0 if number == 0 else max(0, figures - 1 - math.floor(math.log10(abs(number))))


def _rounded(number: float, decimals: int | None = None) -> str:
    if decimals is None:
        decimals = _decimals(number, 3)
    return f"{round(number, decimals):.{decimals}f}".rstrip("0").rstrip(".") if decimals else f"{round(number):d}"
