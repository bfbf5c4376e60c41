"""What can be done about a frost: the floor, the lie of the land, and water.

Sprinkling saves buds only while enough water keeps freezing on them. Too little water, wind or dry air turn it into a
cooling: a part that evaporates takes away what seven and a half parts give in freezing. So the answers here are the
temperature to start at, the moment at which it is safe to stop, and the least rate; where no rate is published (wind
above 3.6 m/s, colder than -11.7 degrees C, air drier than half saturated) there is no answer, and the water stays off.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science import air
from advisor.science.tables import as_numbers, give, truth

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

# How much colder [degrees F, from and to] the air of a frost night is than over bare, firm, moist ground. Frost guides
# of the University of California and Michigan State University. From memory; the order bare and wet, bare and packed,
# mown, unmown is also that of Michigan State University Extension ("Bare ground is warmer"). For covers in citrus
# 0.9-2.2 degrees F were measured (O'Connell and Snyder 1999, California Agriculture 53(5):37-40).
_FLOOR_F = {
    "bare-moist": (0.0, 0.0),
    "shredded-moist": (0.5, 0.5),
    "short-grass": (1.0, 3.0),
    "bare-dry": (2.0, 2.0),
    "cultivated": (2.0, 2.0),
    "tall-grass": (2.0, 4.0),
    "dammed": (6.0, 8.0),  # cover that holds the cold air back
}

# Cold air flows downhill and lies in hollows (common practice; how many degrees is a matter of the place).
_LIE = {"hollow": 1, "slope": 0, "top": -1}


def start_temperature(critical_c: object, dew_point_c: object, elevation_m: object = 0.0) -> Any:
    """Air temperature [degrees C] at which overhead water must be running at the latest.

    It is where the wet bulb stands at the critical temperature of the buds: the first wetting cools them to the wet
    bulb (Snyder and de Melo-Abreu 2005, FAO Environment and Natural Resources Series 10). The drier the air, the
    earlier; in moist air it is the critical temperature itself.
    """
    return air.temperature_for_wet_bulb(critical_c, dew_point_c, elevation_m)


def may_stop(temp_c: object, dew_point_c: object, critical_c: object, elevation_m: object = 0.0) -> Any:
    """Whether the water may stop: the wet bulb has risen to the critical temperature of the buds.

    University of Florida, after Harrison, Gerber and Choate, IFAS Circular 348. None where a value is NaN.
    """
    wet = np.asarray(air.wet_bulb(temp_c, dew_point_c, elevation_m))
    critical = as_numbers(critical_c, "The critical temperature")
    return truth(wet >= critical, np.isnan(wet) | np.isnan(critical))


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


def floor_cooling(floor: str) -> tuple[float, float]:
    """How much colder [degrees C, from and to] a frost night is over this floor than over bare, firm, moist ground.

    floor: bare-moist, shredded-moist, short-grass, bare-dry, cultivated, tall-grass or dammed (from memory).
    """
    if floor not in _FLOOR_F:
        raise ValueError(f"No floor is called {floor!r}; there are {', '.join(_FLOOR_F)}.")
    least, most = _FLOOR_F[floor]
    return least / 1.8, most / 1.8


def colder_by_lie(lie: str) -> int:
    """1 where cold air gathers (hollow), 0 on a slope, -1 where it drains away (top); common practice, no figure."""
    if lie not in _LIE:
        raise ValueError(f"No lie of the land is called {lie!r}; there are {', '.join(_LIE)}.")
    return _LIE[lie]
