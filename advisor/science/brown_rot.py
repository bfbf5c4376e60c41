"""Brown rot of stone fruit: blossoms blighted by a wetting, and fruit near ripeness.

Blossom: Wilcox 1989, Phytopathology 79:530-534 (tart cherry in full bloom, Monilinia fructicola, 5,000 spores a ml),
and for prune Luo, Morgan and Michailides 2001, Phytopathology 91:759-768. Fruit: Biggs and Northover 1988,
Phytopathology 78:1352-1356; hidden infection of peach: Gell et al. 2008, European Journal of Plant Pathology
121:487-498. Monilinia laxa can blight sweet cherry blossom at 5 degrees C, for which no table was read.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.tables import Array, as_numbers, give, read, truth

# Share of blossoms blighted: a row for each length of wetting, a column for each temperature. "Minimal" is 0; at 24 h
# 85 to 97 % are printed for all temperatures, of which the riskier end stands here.
_TEMPERATURES = (8.0, 12.0, 16.0, 20.0)
_WET_HOURS = (0.0, 3.0, 5.0, 10.0, 24.0)
_BLIGHTED = np.array([
    [0.0, 0.0, 0.0, 0.0],
    [0.0, 0.0, 0.0, 0.0],
    [0.05, 0.07, 0.28, 0.72],
    [0.21, 0.78, 0.90, 0.98],
    [0.97, 0.97, 0.97, 0.97],
])

PRUNE_LOW_C, PRUNE_HIGH_C, PRUNE_WET_HOURS = 10.0, 30.0, 4.0
_LATENT = ((8.0, 25.0), (22.0, 5.0))  # degrees C, wet hours: the two published ends

# Ripe fruit: from, to [degrees C] and the wet hours after which over 80 % (cherry) or 70 % (peach) rot. The first row
# that holds counts. Temperatures tested: 15 to 30 degrees C (from memory).
_RIPE = {
    "sweet-cherry": ((20.0, 22.5, 15.0), (15.0, 27.5, 18.0)),
    "peach": ((15.0, 25.0, 12.0),),
}


def blossoms_blighted(temp_c: object, wet_hours: object) -> Any:
    """Share of blossoms blighted by a wetting in full bloom, linear between the cells of the table.

    None or NaN outside 8 to 20 degrees C and above 24 h. Much wet air afterwards raises it and dry air lowers it: after
    8 h wet at 20 degrees C all blossoms at 92 % humidity and 38 % of them at 57 % (Koball, Wilcox and Seem 1997).
    """
    temp, wet = as_numbers(temp_c, "The temperature"), _hours(wet_hours)
    temp, wet = np.broadcast_arrays(temp, wet)
    outside = (temp < _TEMPERATURES[0]) | (temp > _TEMPERATURES[-1]) | (wet > _WET_HOURS[-1])
    columns = np.array([np.interp(wet, _WET_HOURS, column) for column in _BLIGHTED.T])
    place = np.interp(temp, _TEMPERATURES, np.arange(len(_TEMPERATURES)))
    left = np.clip(np.nan_to_num(place).astype(int), 0, len(_TEMPERATURES) - 2)
    lower = np.take_along_axis(columns, left[np.newaxis], axis=0)[0]
    upper = np.take_along_axis(columns, left[np.newaxis] + 1, axis=0)[0]
    return give(lower + (upper - lower) * (place - left), outside)


def prune_blossom_open(temp_c: object, wet_hours: object) -> Any:
    """Whether a wetting can blight prune and plum blossom: 10 to 30 degrees C and at least 4 h wet; NaN gives None."""
    temp, wet = np.broadcast_arrays(as_numbers(temp_c, "The temperature"), _hours(wet_hours))
    held = (temp >= PRUNE_LOW_C) & (temp <= PRUNE_HIGH_C) & (wet >= PRUNE_WET_HOURS)
    return truth(held, np.isnan(temp) | np.isnan(wet))


def ripe_fruit_hours(fruit: str, temp_c: object) -> Any:
    """Wet hours after which most ripe fruit rots: over 80 % of sweet cherries, over 70 % of peaches.

    Sweet cherry 15 h at 20 to 22.5 degrees C and 18 h elsewhere up to 27.5; peach and nectarine 12 h up to 25. None or
    NaN below 15 degrees C and above those ends, where the trial gives no such hour.
    """
    table = _RIPE.get("peach" if fruit == "nectarine" else fruit)
    if table is None:
        raise ValueError(f"Hours for ripe fruit are published for sweet-cherry and peach, not for {fruit!r}.")
    temp = as_numbers(temp_c, "The temperature")
    hours = np.where(np.isnan(temp), np.nan, np.inf)
    for low, high, needed in table:
        hours = np.where((temp >= low) & (temp <= high) & (hours == np.inf), needed, hours)
    return give(hours, hours == np.inf)


def latent_hours(temp_c: object) -> Any:
    """Wet hours after which green peach takes a hidden infection: 22 h at 8 degrees C to 5 h at 25, linear between.

    Only the two ends are published ("over 22 h", 5 h). None or NaN outside; below 8 degrees C there was no infection.
    """
    return read(temp_c, *_LATENT)


def _hours(wet_hours: object) -> Array:
    wet = as_numbers(wet_hours, "Wet hours")
    if np.any(wet < 0):
        raise ValueError("Wet hours cannot be less than 0.")
    return wet
