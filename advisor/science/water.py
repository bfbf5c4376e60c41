"""Water: what the air draws, what the trees use, what the soil holds, what to give.

Allen, Pereira, Raes and Smith 1998, FAO Irrigation and Drainage Paper 56: equations, Table 12 (crop coefficients),
Table 17 (their part without soil evaporation), Table 19 (soils) and chapter 10 (organic mulch). Soil figures for
orchards also from Washington State University (usable water) and the University of California (available water).

Reference evapotranspiration is for a day (or the mean day of a month). Element by element; NaN gives NaN.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.air import pressure, saturation_pressure
from advisor.science.frost import FRUITS
from advisor.science.tables import Array, as_numbers, give

PERIODS = ("initial", "mid", "end")

# Crop coefficients for the three periods, and below them the same without evaporation from the soil (Kcb), by
# (ground cover, killing frost). The end is before leaf fall. For a moist, calm climate (lowest humidity about 45 %,
# wind 2 m/s). Pears stand in both groups of the source; they are read with the apples.
_POME_AND_CHERRY = {
    (False, True): ((0.45, 0.95, 0.70), (0.35, 0.90, 0.65)),
    (False, False): ((0.60, 0.95, 0.75), (0.50, 0.90, 0.70)),
    (True, True): ((0.50, 1.20, 0.95), (0.45, 1.15, 0.90)),
    (True, False): ((0.80, 1.20, 0.85), (0.75, 1.15, 0.80)),
}
_OTHER_STONE = {
    (False, True): ((0.45, 0.90, 0.65), (0.35, 0.85, 0.60)),
    (False, False): ((0.55, 0.90, 0.65), (0.45, 0.85, 0.60)),
    (True, True): ((0.50, 1.15, 0.90), (0.45, 1.10, 0.85)),
    (True, False): ((0.80, 1.15, 0.85), (0.75, 1.10, 0.80)),
}
_COEFFICIENTS = {
    "apple": _POME_AND_CHERRY, "pear": _POME_AND_CHERRY, "sweet-cherry": _POME_AND_CHERRY,
    "tart-cherry": _POME_AND_CHERRY, "apricot": _OTHER_STONE, "peach": _OTHER_STONE, "nectarine": _OTHER_STONE,
    "plum": _OTHER_STONE,
}  # fmt: skip

# Water between field capacity and wilting [mm for each m of soil], from and to: FAO-56 Table 19.
AVAILABLE = {
    "sand": (50, 110), "loamy-sand": (60, 120), "sandy-loam": (110, 150), "loam": (130, 180), "silt-loam": (130, 190),
    "silt": (160, 200), "silty-clay-loam": (130, 180), "silty-clay": (130, 190), "clay": (120, 200),
}  # fmt: skip
# Water that trees can use without stress [inches for each foot]: Washington State University, Soil Water Holding.
_USABLE_IN_FT = {
    "coarse-sand": 0.46, "sand": 0.62, "fine-sand": 0.70, "loamy-sand": 0.72, "sandy-loam": 0.77,
    "fine-sandy-loam": 0.95,
}  # fmt: skip
TEXTURES = tuple(dict.fromkeys([*_USABLE_IN_FT, *AVAILABLE]))
DEPLETION_SHARE = 0.5  # of the available water, before trees suffer (FAO-56 Table 22; Washington State University)

_SOLAR_CONSTANT = 0.0820  # MJ/(m2 min)
_STEFAN_BOLTZMANN = 4.903e-9  # MJ/(K4 m2 day)
_MM_PER_MJ = 0.408  # water evaporated by a MJ on a square metre
_ALBEDO = 0.23


def extraterrestrial_radiation(latitude: object, day_of_year: object) -> Any:
    """Sunshine above the air, Ra [MJ/m2 a day] (equations 21 to 25); latitude in degrees, south negative."""
    phi = np.radians(as_numbers(latitude, "The latitude"))
    distance, tilt, sunset = _sun(phi, as_numbers(day_of_year, "The day of the year"))
    angles = sunset * np.sin(phi) * np.sin(tilt) + np.cos(phi) * np.cos(tilt) * np.sin(sunset)
    return give(24 * 60 / np.pi * _SOLAR_CONSTANT * distance * angles)


def et0(
    low_c: object,
    high_c: object,
    vapour_kpa: object,
    wind_ms: object,
    solar_mj: object,
    latitude: object,
    day_of_year: object,
    elevation_m: object = 0.0,
    soil_heat_mj: object = 0.0,
) -> Any:
    """Reference evapotranspiration of short grass [mm a day] by FAO Penman-Monteith (equation 6).

    low_c, high_c: the day's lowest and highest temperature; vapour_kpa: actual vapour pressure; wind_ms: at 2 m;
    solar_mj: solar radiation [MJ/m2 a day]; soil_heat_mj: into the soil, 0 for a day, 0.14 times the rise of the mean
    since last month for a month (equation 44).
    """
    low, high = as_numbers(low_c, "The low"), as_numbers(high_c, "The high")
    vapour, wind = as_numbers(vapour_kpa, "The vapour pressure"), as_numbers(wind_ms, "The wind")
    mean = (low + high) / 2
    slope = 4098 * saturation_pressure(mean) / (mean + 237.3) ** 2
    psychrometric = 0.000665 * np.asarray(pressure(elevation_m))
    deficit = (np.asarray(saturation_pressure(low)) + saturation_pressure(high)) / 2 - vapour
    sky = np.asarray(extraterrestrial_radiation(latitude, day_of_year))
    clear = (0.75 + 2e-5 * as_numbers(elevation_m, "The elevation")) * sky
    net = _net_radiation(low, high, vapour, as_numbers(solar_mj, "The solar radiation"), clear)
    energy = _MM_PER_MJ * slope * (net - as_numbers(soil_heat_mj, "The soil heat"))
    drying = psychrometric * 900 / (mean + 273) * wind * deficit
    return give((energy + drying) / (slope + psychrometric * (1 + 0.34 * wind)))


def et0_from_temperature(low_c: object, high_c: object, latitude: object, day_of_year: object) -> Any:
    """Reference evapotranspiration [mm a day] from temperature alone (Hargreaves, equation 52)."""
    mean = (as_numbers(low_c, "The low") + as_numbers(high_c, "The high")) / 2
    sky = _MM_PER_MJ * np.asarray(extraterrestrial_radiation(latitude, day_of_year))
    return give(0.0023 * np.maximum(mean + 17.8, 0.0) * np.sqrt(_span(low_c, high_c)) * sky)


def crop_coefficient(fruit: str, period: str, ground_cover: bool, killing_frost: bool) -> float | None:
    """Kc of a grown orchard (FAO-56 Table 12); period initial, mid or end. None for quince, which has no row."""
    rows = _rows(fruit, period, ground_cover, killing_frost)
    return None if rows is None else rows[0]


def coefficient_after_leaf_fall(ground_cover: bool) -> float:
    """Kc once the leaves are down: 0.20 over bare, dry soil, at most 0.80 over growing cover (printed: 0.50-0.80)."""
    return 0.80 if ground_cover else 0.20


def mulched_coefficient(
    fruit: str, period: str, ground_cover: bool, killing_frost: bool, covered: float
) -> float | None:
    """Kc where the share `covered` of the ground lies under organic mulch.

    Each tenth covered takes away a twentieth of the evaporation from the soil, which is all of Kc in the initial
    period, later the difference between Tables 12 and 17 (FAO-56 chapter 10).
    """
    if not 0 <= covered <= 1:
        raise ValueError("The mulched share of the ground lies between 0 and 1.")
    rows = _rows(fruit, period, ground_cover, killing_frost)
    if rows is None:
        return None
    whole, without_soil = rows
    return whole - 0.5 * covered * (whole if period == "initial" else whole - without_soil)


def need(et0_mm: object, kc: object, rain_mm: object = 0.0, efficiency: object = 1.0) -> Any:
    """Water to give [mm, gross]: use less rain, over the efficiency of the irrigation; never below 0."""
    part = as_numbers(efficiency, "The efficiency")
    if np.any((part <= 0) | (part > 1)):
        raise ValueError("The efficiency of irrigation lies above 0 and at most at 1.")
    coefficient, rain = as_numbers(kc, "The crop coefficient"), as_numbers(rain_mm, "The rain")
    if np.any(coefficient < 0) or np.any(rain < 0):
        raise ValueError("A crop coefficient and rain cannot be below 0.")
    return give(np.maximum(as_numbers(et0_mm, "The evapotranspiration") * coefficient - rain, 0.0) / part)


def usable_water(texture: str, root_depth_m: object) -> Any:
    """Water [mm] that trees can take from the root zone without stress.

    Washington State University's figure where it has one, otherwise half of the lower end of FAO-56 Table 19. Soils
    that the table does not hold read a neighbour: clay loam as silty clay loam, the riskier of the two beside it.
    """
    depth = as_numbers(root_depth_m, "The root depth")
    if np.any(depth < 0):
        raise ValueError("The root depth cannot be below 0.")
    texture = {"clay-loam": "silty-clay-loam", "sandy-clay-loam": "sandy-loam", "sandy-clay": "clay"}.get(
        texture, texture
    )
    if texture in _USABLE_IN_FT:
        return give(_USABLE_IN_FT[texture] * 25.4 / 0.3048 * depth)
    if texture not in AVAILABLE:
        raise ValueError(f"No soil is called {texture!r}; there are {', '.join(TEXTURES)}.")
    return give(DEPLETION_SHARE * AVAILABLE[texture][0] * depth)


def days_between(usable_mm: object, daily_mm: object) -> Any:
    """Days from one full watering to the next, at this daily use; None or NaN where nothing is used."""
    used = as_numbers(daily_mm, "The daily use")
    water = as_numbers(usable_mm, "The usable water")
    return give(water / np.where(used > 0, used, 1.0) + 0 * used, used <= 0)


def missing_after(missing_mm: float, use_mm: float, came_mm: float, available_mm: float) -> float:
    """Water missing from the root zone [mm below field capacity] at the end of a day (FAO-56 equations 84 and 85).

    missing_mm: at its beginning; use_mm: crop evapotranspiration; came_mm: rain and net irrigation, infinite where
    they may have filled the soil. available_mm: all water between field capacity and wilting. Past half of it the trees
    use less, in proportion. More than full runs away.
    """
    if not available_mm > 0:
        raise ValueError("The soil must hold some water.")
    stress = min(max((available_mm - missing_mm) / ((1 - DEPLETION_SHARE) * available_mm), 0.0), 1.0)
    return float(min(max(missing_mm + stress * use_mm - came_mm, 0.0), available_mm))


def litres(area_m2: object, depth_mm: object) -> Any:
    """Litres that a depth of water makes on an area: one millimetre on a square metre is a litre."""
    return give(as_numbers(area_m2, "The area") * as_numbers(depth_mm, "The depth"))


def _rows(fruit: str, period: str, ground_cover: bool, killing_frost: bool) -> tuple[float, float] | None:
    if fruit not in FRUITS:
        raise ValueError(f"No fruit is called {fruit!r}; there are {', '.join(FRUITS)}.")
    if period not in PERIODS:
        raise ValueError(f"No period is called {period!r}; there are {', '.join(PERIODS)}.")
    if fruit not in _COEFFICIENTS:
        return None
    whole, without_soil = _COEFFICIENTS[fruit][bool(ground_cover), bool(killing_frost)]
    return whole[PERIODS.index(period)], without_soil[PERIODS.index(period)]


def _span(low_c: object, high_c: object) -> Array:
    low, high = as_numbers(low_c, "The low"), as_numbers(high_c, "The high")
    if np.any(low > high):
        raise ValueError("A day's low cannot be above its high.")
    return high - low


def _sun(phi: Array, day: Array) -> tuple[Array, Array, Array]:
    """Relative distance, tilt and sunset angle of the sun (equations 23 to 25); polar day and night included."""
    year = 2 * np.pi * day / 365
    tilt = 0.409 * np.sin(year - 1.39)
    return 1 + 0.033 * np.cos(year), tilt, np.arccos(np.clip(-np.tan(phi) * np.tan(tilt), -1.0, 1.0))


def _net_radiation(low: Array, high: Array, vapour: Array, solar: Array, clear: Array) -> Array:
    """What the grass keeps of the sun, less what it sends to the sky (equations 38 to 40) [MJ/m2 a day]."""
    black = _STEFAN_BOLTZMANN * ((low + 273.16) ** 4 + (high + 273.16) ** 4) / 2
    cloud = 1.35 * np.clip(solar / np.maximum(clear, 1e-9), 0.3, 1.0) - 0.35  # 0.3 is a sky wholly clouded over
    net: Array = (1 - _ALBEDO) * solar - black * (0.34 - 0.14 * np.sqrt(vapour)) * cloud
    return net
