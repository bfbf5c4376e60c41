"""What water can do about a frost.

Sprinkling saves buds only while enough water keeps freezing on them. Too little water, wind or dry air turn it into a
cooling: a part that evaporates takes away what seven and a half parts give in freezing. So the answers here are the
temperature to start at, at which it is also safe to stop, and the least rate; where no rate is published (wind
above 3.6 m/s, colder than -11.7 degrees C, air drier than half saturated) there is no answer, and the water stays off.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science import air
from advisor.science.tables import as_numbers, give

# Least sprinkling rate [inches an hour] for trees, by the lowest temperature of a dry leaf [degrees F] and by wind
# [up to 1, 4 and 8 miles an hour], at relative humidity above 50 %. Gerber and Harrison 1964, as printed in the freeze
# protection leaflets of North Carolina State and Georgia. From memory: confirm against the leaflet before designing.
_RATE_TEMPS_F = (11.0, 15.0, 18.0, 20.0, 22.0, 24.0, 26.0, 27.0)
_RATES = {
    1.0: (0.34, 0.26, 0.20, 0.16, 0.12, 0.10, 0.10, 0.10),
    4.0: (0.70, 0.50, 0.40, 0.30, 0.24, 0.16, 0.10, 0.10),
    8.0: (None, 0.90, 0.70, 0.60, 0.50, 0.30, 0.14, 0.10),
}
_MS_PER_MPH = 0.44704
_INCH_MM = 25.4
_LEAST_HUMIDITY = 50.0

def start_temperature(critical_c: object, dew_point_c: object, elevation_m: object = 0.0) -> Any:
    """Air temperature [degrees C] at which overhead water must be running at the latest.

    It is where the wet bulb stands at the critical temperature of the buds: the first wetting cools them to the wet
    bulb (Snyder and de Melo-Abreu 2005, FAO Environment and Natural Resources Series 10). The drier the air, the
    earlier; in moist air it is the critical temperature itself.
    """
    return air.temperature_for_wet_bulb(critical_c, dew_point_c, elevation_m)


def least_rate(low_c: object, wind_ms: object) -> Any:
    """Least rate of overhead water [mm/h] for trees at the night's low and wind (from memory, see the table).

    Linear in temperature; wind between two printed classes reads the windier one. Lows between -2.8 and 0 degrees C
    read the mildest row. None (NaN) when colder or windier than the table, or when there is no frost.
    """
    low, wind = as_numbers(low_c, "The low"), as_numbers(wind_ms, "The wind")
    low, wind = np.broadcast_arrays(low, wind)
    low_f, mph = low * 1.8 + 32, wind / _MS_PER_MPH
    rate = np.full(low.shape, np.nan)
    slower = np.full(low.shape, -np.inf)
    for class_mph, rates in _RATES.items():
        printed = [(temp, inches) for temp, inches in zip(_RATE_TEMPS_F, rates, strict=True) if inches is not None]
        temps, inches = zip(*printed, strict=True)
        here = (mph > slower) & (mph <= class_mph + 1e-9) & (low_f >= temps[0] - 1e-9) & (low_f <= 32)
        rate = np.where(here, np.interp(low_f, temps, inches), rate)
        slower = np.full(low.shape, class_mph + 1e-9)
    return give(rate * _INCH_MM, np.isnan(rate) & ~np.isnan(low) & ~np.isnan(wind))


def water_protects(low_c: float, wind_ms: float, dew_point_c: float, rate_mm_h: float) -> bool | None:
    """Whether running this rate through the night protects (True) or does harm (False).

    None where no figure says: windier or colder than the table, air drier than half saturated, or a NaN. Water that
    is not known to protect must stay off.
    """
    if any(np.isnan(value) for value in (low_c, wind_ms, dew_point_c, rate_mm_h)):
        return None
    needed = least_rate(low_c, wind_ms)
    if needed is None or air.humidity(low_c, dew_point_c) < _LEAST_HUMIDITY:
        return None
    return bool(rate_mm_h >= needed)
