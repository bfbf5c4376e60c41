"""Invented hourly weather for small orchards: days that warm evenly, with a plain daily swing."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable


def hours(first: str, last: str, mean: Callable[[int], float] | float, swing: float = 6.0) -> list[dict[str, object]]:
    """Hourly records of dry weather from one day to another, both whole; `mean` by number of the day, or for all."""
    begin, end = dt.datetime.fromisoformat(first), dt.datetime.fromisoformat(last)
    rows: list[dict[str, object]] = []
    for day in range((end - begin).days + 1):
        middle = mean(day) if callable(mean) else mean
        for hour in range(24):
            temp = middle + swing * math.sin((hour - 9) / 24 * 2 * math.pi)
            moment = begin + dt.timedelta(days=day, hours=hour)
            rows.append({"time": moment.isoformat(), "temp_c": round(temp, 2), "rain_mm": 0.0})
    return rows
