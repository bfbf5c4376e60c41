"""Peach leaf curl: does this wetting infect shoots at bud break, or young fruit later?

Shoots: Rossi et al. 2006, Phytopathology 96:155-163. Fruit: Rossi, Bolognesi and Giosue 2007, Phytopathology
97:1625-1633. Dew and fog alone are too short. The same cool wet bud break brings plum pockets, for which no figures of
its own are published.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.tables import Array, as_numbers, truth

RAIN_MM, WET_HOURS, BELOW_C = 3.0, 12.5, 16.0
INCUBATION_BELOW_C = 19.0
FRUIT_RAIN_MM, FRUIT_WET_HOURS, FRUIT_BELOW_C = 12.0, 24.0, 17.0


def infects(rain_mm: object, wet_hours: object, mean_c: object) -> Any:
    """Whether a wetting infects shoots: 3 mm of rain and 12.5 wet hours or more, mean while wet below 16 degrees C.

    For shoots from bud break to petal fall. NaN in any of the three gives None.
    """
    rain, wet, mean = _wetting(rain_mm, wet_hours, mean_c)
    held = (rain >= RAIN_MM) & (wet >= WET_HOURS) & (mean < BELOW_C)
    return truth(held, np.isnan(rain) | np.isnan(wet) | np.isnan(mean))


def infects_fruit(rain_mm: object, wet_hours: object, mean_c: object) -> Any:
    """Whether a wetting infects fruit: 12 mm or more, 24 h or more without a break over 4 h, mean below 17 degrees C.

    For fruit from petal fall until the air stays above 16 degrees C. NaN in any of the three gives None.
    """
    rain, wet, mean = _wetting(rain_mm, wet_hours, mean_c)
    held = (rain >= FRUIT_RAIN_MM) & (wet >= FRUIT_WET_HOURS) & (mean < FRUIT_BELOW_C)
    return truth(held, np.isnan(rain) | np.isnan(wet) | np.isnan(mean))


def incubation_goes_on(mean_c: object) -> Any:
    """Whether an infection of shoots goes on to show: mean after the wetting below 19 degrees C; NaN gives None."""
    mean = as_numbers(mean_c, "The mean temperature")
    return truth(mean < INCUBATION_BELOW_C, np.isnan(mean))


def _wetting(rain_mm: object, wet_hours: object, mean_c: object) -> tuple[Array, Array, Array]:
    rain, wet = as_numbers(rain_mm, "The rain"), as_numbers(wet_hours, "Wet hours")
    if np.any(rain < 0) or np.any(wet < 0):
        raise ValueError("Rain and wet hours cannot be less than 0.")
    return rain, wet, as_numbers(mean_c, "The mean temperature")
