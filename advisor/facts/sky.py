"""Facts on the last days and on what the forecast brings. An hour that is not known makes its figure unknown."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator

import numpy as np

from advisor.fact import Fact
from advisor.facts.making import Maker
from advisor.facts.nights import nights_ahead, written_forecasts
from advisor.facts.situation import Situation
from advisor.weather import Weather

Figure = Callable[[np.ndarray], float]


def recent_weather(now: Situation, make: Maker) -> Iterator[Fact]:
    lately = now.lately
    if lately is None or now.measured is None:
        return
    values: dict[str, float | None] = {}
    for days in (1, 3, 7, 14):
        values[f"rain_{days}"] = _over(lately, "rain_mm", now.now - dt.timedelta(days=days), now.now, np.sum)
    day_ago = now.now - dt.timedelta(days=1)
    values["low_1"] = _over(lately, "temp_c", day_ago, now.now, np.min)
    values["high_1"] = _over(lately, "temp_c", day_ago, now.now, np.max)
    values["mean_7"] = _over(lately, "temp_c", now.now - dt.timedelta(days=7), now.now, np.mean)
    values["dry_days"] = _dry_run(lately.daily(now.file.zone).rain[::-1])
    filled = len(lately) > len(now.measured)
    yield make("recent-weather", "", values, origin=("weather", "forecast") if filled else ("weather",),
               text=f"from the hourly weather{', the rest of today from the forecast' if filled else ''}")


def outlook(now: Situation, make: Maker) -> Iterator[Fact]:
    """From the hourly forecast, or from forecasts that the grower wrote down where there is none."""
    values: dict[str, float | None] = {}
    origin: tuple[str, ...] = ("forecast",)
    if now.weather is not None and now.weather.end > now.now:
        for days in (1, 3):
            until = now.now + dt.timedelta(days=days)
            values[f"rain_{days}"] = _over(now.weather, "rain_mm", now.now, until, np.sum)
            values[f"low_{days}"] = _over(now.weather, "temp_c", now.now, until, np.min)
            values[f"high_{days}"] = _over(now.weather, "temp_c", now.now, until, np.max)
        values["wind_1"] = _over(now.weather, "wind_ms", now.now, now.now + dt.timedelta(days=1), np.max)
        values["dry_days"] = _dry_run(now.weather.since(now.now).daily(now.file.zone).rain)
    else:
        days_ahead = written_forecasts(now)
        if not days_ahead:
            return
        origin = tuple(f.id for f in days_ahead.values())
        for days in (1, 3):
            nights = [days_ahead.get(day) for day in range(1, days + 1)]
            values[f"rain_{days}"] = _all([f.rain if f else None for f in nights], sum)
            values[f"low_{days}"] = _all([f.low if f else None for f in nights], min)
            values[f"high_{days}"] = _all([f.high if f else None for f in nights], max)
        values["snow_3"] = _all([f.snow if f else None for f in (days_ahead.get(d) for d in (1, 2, 3))], sum)
        first = days_ahead.get(1)
        values["wind_1"] = first.wind if first else None
    low_days = [day for day, night in nights_ahead(now).items() if night.low <= 0]
    values["frost_in"] = low_days[0] if low_days else None
    yield make("outlook", "", values, origin=origin, text="from the forecast")


def _over(weather: Weather, name: str, begin: dt.datetime, end: dt.datetime, figure: Figure) -> float | None:
    part = weather.between(begin, end)
    values = getattr(part, name)
    hours = round((end - begin).total_seconds() / 3600)
    return float(figure(values)) if len(values) >= hours and np.isfinite(values).all() else None


def _dry_run(rain: np.ndarray) -> float | None:
    """Days without rain (under 0.2 mm) up to the first wet one; None where a day is not known before it comes."""
    for days, fell in enumerate(rain):
        if not np.isfinite(fell):
            return None
        if fell >= 0.2:
            return days
    return len(rain)


def _all(values: list[float | None], figure: Callable[[list[float]], float]) -> float | None:
    known = [value for value in values if value is not None]
    return float(figure(known)) if known and len(known) == len(values) else None
