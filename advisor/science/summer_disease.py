"""Sooty blotch and flyspeck, bitter rot, black rot and white rot: what a wet summer does to apples.

Sooty blotch and flyspeck: Brown and Sutton 1995, Plant Disease 79:1165. Black rot: Arauz and Sutton 1989,
Phytopathology 79:440-444. White rot: Parker and Sutton 1993, Plant Disease 77:181-185. Bitter rot: Iowa State
University 2009.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from advisor.science.tables import Array, as_numbers, give, truth

DAYS_BEFORE_THE_COUNT = 10  # after petal fall; the first rain from then on starts the count
BITTER_ROT_HOURS, BITTER_ROT_FROM_C, BITTER_ROT_TO_C = 5.0, 26.7, 30.0

# The published equations hold where their author's data and words agree with them: the black rot fruit equation gives
# 28 h at 8 degrees C where the paper found 38, and that of white rot infects at 2 h and 8 degrees C.
_ROT_FROM_C, _ROT_TO_C = 12.0, 28.0
_WHITE_ROT_FROM_H, _ROT_TO_H = 6.0, 48.0


def wet_hours(spells: Iterable[float] | object, least: float = 4) -> float:
    """Summed hours of the wet spells that last at least `least` hours.

    spells: hours of each spell, in any number. A NaN spell makes the sum NaN. The sum is read against 200 to 250 h
    (south-eastern United States), 250 (Virginia, southern New England), 270 (New York, from memory) or 300 (northern
    New England, which counts spells over 3 h). First signs came at 209 to 310 h, 273 in the mean of eight years.
    """
    hours = as_numbers(spells if isinstance(spells, np.ndarray) else _listed(spells), "Each spell")
    shortest = float(as_numbers(least, "The least length of a spell"))
    if np.any(hours < 0) or shortest < 0:
        raise ValueError("A spell cannot last less than 0 hours.")
    if np.isnan(shortest):
        return float("nan")
    return float(np.sum(np.where(np.isnan(hours) | (hours >= shortest), hours, 0.0)))


def count_starts(rain_mm: object, petal_fall_hour: int, days: float = DAYS_BEFORE_THE_COUNT) -> int | None:
    """The hour of an hourly series at which the count starts: its first rain ten days or more after petal fall.

    petal_fall_hour: place of petal fall in the series. An hour of unknown rain starts the count too, for it may have
    rained. None if no rain has come yet.
    """
    rain = np.atleast_1d(as_numbers(rain_mm, "The rain"))
    first = max(0, round(petal_fall_hour + 24 * days))
    hours = np.flatnonzero((rain[first:] > 0) | np.isnan(rain[first:]))
    return first + int(hours[0]) if hours.size else None


def bitter_rot_infects(temp_c: object, wet_hours: object) -> Any:
    """Whether a wetting can bring bitter rot: 5 h at 26.7 to 30 degrees C; None elsewhere (not published)."""
    temp, wet = np.broadcast_arrays(as_numbers(temp_c, "The temperature"), _not_negative(wet_hours))
    known = (temp >= BITTER_ROT_FROM_C) & (temp <= BITTER_ROT_TO_C) & ~np.isnan(wet)
    return truth(wet >= BITTER_ROT_HOURS, ~known)


def black_rot_hours(temp_c: object, on: str = "fruit", severity: str = "light") -> Any:
    """Wet hours after which black rot infects fruit, or frogeye leaf spot a leaf (`on`: fruit or leaf).

    severity (leaves only): light or severe. None or NaN outside 12 to 28 degrees C, and where the equation leaves the
    48 h that were tried (severe leaf below about 16.5 degrees C).

    W = 14.8 - 265.2/T + 2988.4/T^2 (fruit), 3527.7/T^2 (light, leaf), 116 - 5380.7/T + 70257.5/T^2 (severe, leaf).
    The sign of the last exponent for fruit is restored: with it, 9 h at 20 to 24 degrees C come out as the paper says.
    """
    temp = as_numbers(temp_c, "The temperature")
    inside = (temp >= _ROT_FROM_C) & (temp <= _ROT_TO_C)
    safe = np.where(inside, temp, np.where(np.isnan(temp), np.nan, _ROT_TO_C))
    if on == "fruit" and severity == "light":
        hours = 14.8 - 265.2 / safe + 2988.4 / safe**2
    elif on == "leaf" and severity == "light":
        hours = 3527.7 / safe**2
    elif on == "leaf" and severity == "severe":
        hours = 116 - 5380.7 / safe + 70257.5 / safe**2
    else:
        raise ValueError(
            f"Black rot is published on fruit, and on a leaf as light or severe; not {severity!r} on {on!r}."
        )
    return give(hours, (~inside & ~np.isnan(temp)) | (hours > _ROT_TO_H))


def white_rot_share(temp_c: object, wet_hours: object) -> Any:
    """Share of apples that a wetting infects with white rot; None or NaN outside 12 to 28 degrees C and 6 to 48 h.

    y = -0.1546 + 0.0123T + 0.0329W - 0.00169W^2 + 0.0000225W^3 - 0.00153TW + 0.000111TW^2 - 0.00000151TW^3.
    """
    t, w = np.broadcast_arrays(as_numbers(temp_c, "The temperature"), _not_negative(wet_hours))
    outside = (t < _ROT_FROM_C) | (t > _ROT_TO_C) | (w < _WHITE_ROT_FROM_H) | (w > _ROT_TO_H)
    share = (
        -0.1546 + 0.0123 * t + 0.0329 * w - 0.00169 * w**2 + 0.0000225 * w**3
        - 0.00153 * t * w + 0.000111 * t * w**2 - 0.00000151 * t * w**3
    )
    return give(np.clip(share, 0.0, 1.0), outside)


def _listed(spells: Any) -> Any:
    """Spells as a list, so that a generator counts too; an empty one has no hours."""
    if isinstance(spells, Iterable) and not isinstance(spells, str | bytes):
        return list(spells) or [0.0]
    return spells


def _not_negative(wet_hours: object) -> Array:
    wet = as_numbers(wet_hours, "Wet hours")
    if np.any(wet < 0):
        raise ValueError("Wet hours cannot be less than 0.")
    return wet
