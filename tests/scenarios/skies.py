"""Hourly weather for small orchards: a daily swing of temperature, dry air, and rain where it is asked for."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from typing import Any

Rain = tuple[int, int]  # from, up to: hours of the day


def sky(first: str, last: str, low: float, high: float, rain: Mapping[str, Rain] | None = None, mm: float = 1.0,
        humid: bool = True) -> list[dict[str, Any]]:
    """Hours from the first day to the last: coldest at 5, warmest at 17; humidity 55 %, and 97 % in hours of rain.

    rain: for a day, the hours in which `mm` falls. humid: whether humidity is recorded at all.
    """
    begin, end = dt.date.fromisoformat(first), dt.date.fromisoformat(last)
    rows = []
    for number in range((end - begin).days + 1):
        day = begin + dt.timedelta(days=number)
        wet = (rain or {}).get(day.isoformat(), (0, 0))
        for hour in range(24):
            raining = wet[0] <= hour < wet[1]
            temp = (low + high) / 2 - (high - low) / 2 * math.cos((hour - 5) * math.pi / 12)
            row = {"time": f"{day}T{hour:02d}:00", "temp_c": round(temp, 2), "rain_mm": mm if raining else 0.0}
            if humid:
                row["humidity_pct"] = 97 if raining else 55
            rows.append(row)
    return rows
