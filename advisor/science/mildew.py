"""Powdery mildew of apple.

Infection days, Virginia Tech (Yoder, April 2019); best and least temperatures, Washington State University
(Amiri 2019) and University of Wisconsin 2022; winter kill of mildewed buds, on which NIAB (-12 degrees C), Country
Folks Grower (-24) and Ohio State University 2016 (-28) disagree.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.tables import as_numbers, truth

INFECTION_DAY_ABOVE_C = 11.7  # 53 degrees F
BEST_FROM_C, BEST_TO_C = 19.0, 22.0
CHECKED_BELOW_C, CHECKED_ABOVE_C = 10.0, 30.0
LIKELY_ABOVE_C, REDUCED_BELOW_C, MOSTLY_KILLED_BELOW_C = -12.0, -24.0, -28.0


def infection_day(rain_mm: object, temp_c: object) -> Any:
    """Whether a day is an infection day on young leaves once spores are out: no rain, and above 11.7 degrees C.

    temp_c: the day's temperature; the source does not say whether its mean or its high, and the high is the more
    careful reading. NaN gives None.
    """
    rain, temp = np.broadcast_arrays(as_numbers(rain_mm, "The rain"), as_numbers(temp_c, "The temperature"))
    if np.any(rain < 0):
        raise ValueError("Rain cannot be less than 0.")
    return truth((rain == 0) & (temp > INFECTION_DAY_ABOVE_C), np.isnan(rain) | np.isnan(temp))


def infection_days(rain_mm: object, temp_c: object) -> float:
    """Number of infection days in a daily series; NaN if a day is not known."""
    rain, temp = as_numbers(rain_mm, "The rain"), as_numbers(temp_c, "The temperature")
    if np.isnan(rain).any() or np.isnan(temp).any():
        return float("nan")
    return float(np.sum(infection_day(rain, temp)))


def warmth(temp_c: float) -> str | None:
    """How a temperature suits apple mildew: best (19 to 22), fair, or checked (below 10 or above 30); None for NaN."""
    temp = float(as_numbers(temp_c, "The temperature"))
    if np.isnan(temp):
        return None
    if BEST_FROM_C <= temp <= BEST_TO_C:
        return "best"
    return "checked" if temp < CHECKED_BELOW_C or temp > CHECKED_ABOVE_C else "fair"


def bud_carry_over(winter_low_c: float) -> str | None:
    """Whether mildewed buds came through the winter, by its lowest temperature; None for NaN.

    likely (-12 or above), disputed (down to -24), reduced (down to -28), much reduced (below). Never none: some live.
    """
    low = float(as_numbers(winter_low_c, "The winter low"))
    if np.isnan(low):
        return None
    if low >= LIKELY_ABOVE_C:
        return "likely"
    if low >= REDUCED_BELOW_C:
        return "disputed"
    return "reduced" if low >= MOSTLY_KILLED_BELOW_C else "much reduced"
