"""Hardiness zones: winters told by the coldest night of a usual year.

The zones are those of the United States Department of Agriculture (Plant Hardiness Zone Map, 2012 and 2023): the mean,
over about thirty years, of each year's lowest temperature, in bands of 10 °F, each halved into a (colder) and b. The
map stops at 13b. A zone says what winters are like, and nothing of summers, snow, wind or wet.

zone_of      the zone of a winter, such as 5b
coldest_of   the lowest temperature of a zone
"""

from __future__ import annotations

_COLDEST_F, _BAND_F = -60.0, 10.0  # where zone 1a begins, and the width of a zone [°F]
_ZONES = 13
_HALVES = {f"{number}{half}": (number, half == "b") for number in range(1, _ZONES + 1) for half in ("", "a", "b")}


def coldest_of(zone: str) -> float:
    """The lowest mean yearly minimum of a zone, such as `5`, `5a` or `5b`. [°C]

    ValueError where there is no such zone.
    """
    if zone not in _HALVES:
        raise ValueError(f"{zone!r} is no hardiness zone; they run from 1a to 13b.")
    number, milder_half = _HALVES[zone]
    low = _COLDEST_F + _BAND_F * (number - 1) + _BAND_F / 2 * milder_half
    return (low - 32.0) / 1.8


def zone_of(coldest_c: float) -> str | None:
    """The half-zone of a winter whose coldest night is usually `coldest_c` [°C]; None outside 1a to 13b."""
    halves = (coldest_c * 1.8 + 32.0 - _COLDEST_F + 1e-9) // (_BAND_F / 2)
    if not 0 <= halves < 2 * _ZONES:
        return None
    return f"{int(halves) // 2 + 1}{'b' if int(halves) % 2 else 'a'}"
