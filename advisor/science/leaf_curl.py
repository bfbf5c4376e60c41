"""Peach leaf curl: does this wetting infect shoots at bud break?

Rossi et al. 2006, Phytopathology 96:155-163. Dew and fog alone are too short. The same cool wet bud break brings plum
pockets, for which no figures of its own are published.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.tables import as_numbers, truth

RAIN_MM, WET_HOURS, BELOW_C = 3.0, 12.5, 16.0


def infects(rain_mm: object, wet_hours: object, mean_c: object) -> Any:
    """Whether a wetting infects shoots: 3 mm of rain and 12.5 wet hours or more, mean while wet below 16 degrees C.

    For shoots from bud break to petal fall. NaN in any of the three gives None.
    """
    rain, wet = as_numbers(rain_mm, "The rain"), as_numbers(wet_hours, "Wet hours")
    if np.any(rain < 0) or np.any(wet < 0):
        raise ValueError("Rain and wet hours cannot be less than 0.")
    mean = as_numbers(mean_c, "The mean temperature")
    held = (rain >= RAIN_MM) & (wet >= WET_HOURS) & (mean < BELOW_C)
    return truth(held, np.isnan(rain) | np.isnan(wet) | np.isnan(mean))
