"""Bees and pollen: how much the weather lets bees do, how many are wanted, how fast pollen tubes grow."""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.tables import as_numbers, give

# Honey bees in apple, share of full foraging by temperature: 51, 54, 63 and 65 degrees F (Washington State University,
# Honey bees). Wind: full work below 10 miles an hour, slowed or stopped above 15.
_BEE_TEMPS = (10.6, 12.2, 17.2, 18.3)
_BEE_SHARES = (0.06, 0.21, 0.62, 1.0)
_FULL_WIND, _NO_WIND = 4.5, 6.7

# Hives a hectare, from and to (1-2 and 2-3 an acre), and bees seen on a tree in a minute (Good Fruit Grower,
# Pollination tips).
_HIVES = {"apple": (2.5, 4.9), "sweet-cherry": (4.9, 7.4), "tart-cherry": (4.9, 7.4)}
_BEES_A_MINUTE = {"apple": (20, 25), "sweet-cherry": (30, 35), "tart-cherry": (30, 35), "pear": (10, 15)}
_BEES_ON_SEMIDWARF = (10, 15)
# Female orchard mason bees a hectare of apple (Bosch and Kemp, SARE Handbook 5: 250-300 an acre).
MASON_BEES = (620, 740)

# Cultivars with three sets of chromosomes give no good pollen (Purdue University, which names Jonagold and Winesap;
# the other names are from memory).
TRIPLOIDS = frozenset({
    "jonagold", "winesap",
    "baldwin", "blenheim orange", "bramley's seedling", "gravenstein", "mutsu", "rhode island greening",
    "ribston pippin", "stayman",
})  # fmt: skip

# Days that a flower can still set, by mean temperature: pear, Doyenne du Comice (Tromp and Borsboom), shorter end.
_EFFECTIVE_DAYS = {"pear": ((13.0, 17.0), (4.0, 2.0))}


def bee_activity(temp_c: object, wind_ms: object = 0.0) -> Any:
    """Share of full honey bee foraging [0 to 1], element by element.

    Linear between the published temperatures, full from 18.3, none below 10.6 degrees C; times the share that the wind
    leaves: all up to 4.5, none from 6.7 m/s, linear between. Dull light (below about 60,000 lux) reduces it further.
    """
    temp, wind = as_numbers(temp_c, "The temperature"), as_numbers(wind_ms, "The wind")
    warmth = np.where(temp < _BEE_TEMPS[0], 0.0, np.interp(temp, _BEE_TEMPS, _BEE_SHARES))
    return give(warmth * np.interp(wind, (_FULL_WIND, _NO_WIND), (1.0, 0.0)))


def hives_wanted(fruit: str, area_ha: float) -> tuple[float, float] | None:
    """Hives for an area of blossom, from and to; None for fruits without a figure."""
    rates = _HIVES.get(fruit)
    return None if rates is None else (rates[0] * area_ha, rates[1] * area_ha)


def mason_bees_wanted(area_ha: float) -> tuple[float, float]:
    """Nesting females of orchard mason bees for an area of apple, from and to."""
    return MASON_BEES[0] * area_ha, MASON_BEES[1] * area_ha


def bees_wanted(fruit: str, semidwarf: bool = False) -> tuple[int, int] | None:
    """Bees to be seen on one tree in a minute of good weather, from and to; None for fruits without a figure."""
    if fruit not in _BEES_A_MINUTE:
        return None
    return _BEES_ON_SEMIDWARF if semidwarf else _BEES_A_MINUTE[fruit]


def tube_growth(temp_c: float) -> str | None:
    """How fast pollen tubes grow: hardly (below 10), slow (to 15.6), fast (above); None for NaN.

    Purdue University, field rule. The rise ends at about 24 degrees C (J. Amer. Soc. Hort. Sci. 141:548, 2016). Rates
    by cultivar are published but not given here.
    """
    if np.isnan(temp_c):
        return None
    if temp_c < 10:
        return "hardly"
    return "slow" if temp_c <= 15.6 else "fast"


def effective_days(fruit: str, mean_c: object) -> Any:
    """Days after opening in which a flower can still set fruit, the shorter end, linear between 13 and 17 degrees C.

    Pear only (4-6 days at 13, 2-4 at 17); None or NaN elsewhere.
    """
    mean = as_numbers(mean_c, "The temperature")
    if fruit not in _EFFECTIVE_DAYS:
        return give(mean, True)
    temps, days = _EFFECTIVE_DAYS[fruit]
    return give(np.interp(mean, temps, days), (mean < temps[0]) | (mean > temps[1]))


def gives_pollen(cultivar: str) -> bool | None:
    """False for a cultivar known to be triploid, None (not known here) for any other."""
    return False if cultivar.strip().lower() in TRIPLOIDS else None
