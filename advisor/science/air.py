"""The moisture of the air: vapour pressure, dew point, and the wet bulb turned round.

Formulas of Allen, Pereira, Raes and Smith 1998, FAO Irrigation and Drainage Paper 56, chapter 3 (equation numbers
given). All element by element; temperatures in degrees C, pressures in kPa, humidity in percent, elevation in m.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.tables import Array, as_numbers, give

_PSYCHROMETER = 0.000662  # 1/K, aspirated psychrometer (equation 16)


def saturation_pressure(temp_c: object) -> Any:
    """Vapour pressure of saturated air over water (equation 11)."""
    return give(_saturation(as_numbers(temp_c, "The temperature")))


def pressure(elevation_m: object) -> Any:
    """Atmospheric pressure at an elevation (equation 7)."""
    return give(_pressure(as_numbers(elevation_m, "The elevation")))


def dew_point(temp_c: object, humidity_pct: object) -> Any:
    """Dew point from temperature and humidity (equation 11 turned round); None or NaN at 0 % and above 100 %."""
    humidity = as_numbers(humidity_pct, "The humidity")
    outside = (humidity <= 0) | (humidity > 100)
    vapour = _saturation(as_numbers(temp_c, "The temperature")) * np.where(outside, 100.0, humidity) / 100
    log = np.log(vapour / 0.6108)
    return give(237.3 * log / (17.27 - log), outside)


def humidity(temp_c: object, dew_point_c: object) -> Any:
    """Relative humidity [%] from temperature and dew point; a dew point above the temperature counts as 100 %."""
    ratio = _saturation(as_numbers(dew_point_c, "The dew point")) / _saturation(as_numbers(temp_c, "The temperature"))
    return give(100 * np.minimum(ratio, 1.0))


def temperature_for_wet_bulb(wet_bulb_c: object, dew_point_c: object, elevation_m: object = 0.0) -> Any:
    """The air temperature at which the wet bulb stands at `wet_bulb_c` (equation 15 solved for the dry thermometer)."""
    wet = as_numbers(wet_bulb_c, "The wet bulb")
    dew = as_numbers(dew_point_c, "The dew point")
    return give(wet + np.maximum(_saturation(wet) - _saturation(dew), 0.0) / _cooling(elevation_m))


def _saturation(temp: Array) -> Array:
    return 0.6108 * np.exp(17.27 * temp / (temp + 237.3))


def _pressure(elevation: Array) -> Array:
    return 101.3 * ((293 - 0.0065 * elevation) / 293) ** 5.26


def _cooling(elevation_m: object) -> Array:
    return _PSYCHROMETER * _pressure(as_numbers(elevation_m, "The elevation"))
