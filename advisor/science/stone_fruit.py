"""Black knot, bacterial spot, bacterial canker and shot hole of stone fruit.

Black knot: McFadden-Smith, Northover and Sears 2000, Plant Disease 84:45-48, as summarised by EPPO. Bacterial spot:
Penn State Extension 2011; Zehr et al. 1996, Plant Disease 80:339. Shot hole: Grove 2002 on cherry. Bacterial canker:
New England Tree Fruit Management Guide and the Pacific Northwest handbook.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.tables import as_numbers, read, truth

KNOT_RAIN_MM, KNOT_FROM_C, KNOT_BEST_C = 10.0, 11.0, 17.0
SPOT_FROM_C, SPOT_TO_C = 21.0, 29.0
# Wet hours at 15 degrees C, lesions a cm2 of cherry leaf; "under 1 h: none".
_SHOT_HOLE = ((0.0, 1.0, 6.0, 12.0, 18.0, 24.0), (0.0, 0.0, 0.1, 1.9, 6.8, 9.1))


def knot_spores_fly(rain_mm: object, temp_c: object) -> Any:
    """Whether a rain sets many black knot spores free: 10 mm or more at 11 degrees C or more (most at 17).

    It hangs on rain and warmth and not on how long leaves stay wet. NaN gives None.
    """
    rain, temp = np.broadcast_arrays(as_numbers(rain_mm, "The rain"), as_numbers(temp_c, "The temperature"))
    if np.any(rain < 0):
        raise ValueError("Rain cannot be less than 0.")
    return truth((rain >= KNOT_RAIN_MM) & (temp >= KNOT_FROM_C), np.isnan(rain) | np.isnan(temp))


def spot_favoured(temp_c: object, wet: object) -> Any:
    """Whether weather favours bacterial spot: 21 to 29 degrees C with light rain or heavy dew; NaN gives None.

    Wind and blown sand make it worse; how much is not published.
    """
    temp, wetness = np.broadcast_arrays(as_numbers(temp_c, "The temperature"), as_numbers(wet, "Wetness"))
    held = (temp >= SPOT_FROM_C) & (temp <= SPOT_TO_C) & (wetness > 0)
    return truth(held, np.isnan(temp) | np.isnan(wetness))


def canker_favoured(low_c: object, wet: object) -> Any:
    """Whether a night favours bacterial canker and blossom blast: frost on wet tissue; NaN gives None.

    The sources name frost and wet, without figures; frost is read as below 0 degrees C.
    """
    low, wetness = np.broadcast_arrays(as_numbers(low_c, "The low"), as_numbers(wet, "Wetness"))
    return truth((low < 0) & (wetness > 0), np.isnan(low) | np.isnan(wetness))


def shot_hole_lesions(wet_hours: object) -> Any:
    """Lesions a cm2 on cherry leaves after a wetting at 15 degrees C, linear between rows; None or NaN above 24 h.

    Most (10.5) came at 20 degrees C and 24 h. Other temperatures are not published in what was read.
    """
    return read(wet_hours, *_SHOT_HOLE, name="Wet hours")
