"""Lows, wind and dew point of nights to come and nights past: by the hour where it is known, otherwise as written.

Of two forecasts for one night the colder counts, where the written one is fresh: the file is for a district, and whoever
wrote the other down may know the hollow.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from advisor.facts.situation import Situation
from advisor.observation import ForecastSeen
from advisor.science import air
from advisor.weather import Weather

# A frost that is written down as calm or windy, in m/s (common practice, no source).
_WIND_IN_WORDS = {"calm": 0.0, "windy": 5.0}
_FRESH = 2  # days for which a forecast that was written down stands beside an hourly one (common practice, no source)
_COLDEST = 2.0  # degrees C above the low within which the hours count as the coldest


@dataclass(frozen=True)
class Night:
    """The low of a local date [degrees C], with wind [m/s] and dew point of its coldest hours; None is not known."""

    day: int  # days from today; negative is past
    low: float
    wind: float | None
    dew_point: float | None
    measured: bool
    origin: str


def nights_ahead(now: Situation) -> dict[int, Night]:
    """Nights to come, by days from today."""
    written = {day: seen for day, seen in written_forecasts(now).items() if seen.low is not None}
    found = {day: _written(day, seen) for day, seen in written.items()}
    if now.weather is not None and now.weather.end > now.now:
        for night in _by_the_hour(now, now.weather.since(now.now), False):
            said = found.get(night.day)
            fresh = said is not None and now.days_ago(written[night.day].date) <= _FRESH
            if said is None or not fresh or night.low <= said.low:
                found[night.day] = night
    return dict(sorted(found.items()))


def nights_past(now: Situation, days: int) -> dict[int, Night]:
    """Nights of the last days: as measured, otherwise as somebody wrote the evening before that they would be."""
    found = {}
    for seen in now.observations:
        if isinstance(seen, ForecastSeen) and seen.day is not None and seen.low is not None:
            away = (seen.day - now.on).days
            if -days <= away < 0 or (away == 0 and seen.date < now.on):
                found[away] = _written(away, seen)
    if now.measured is not None:
        recent = now.measured.since(now.now - dt.timedelta(days=days))
        found |= {night.day: night for night in _by_the_hour(now, recent, True)}
    return dict(sorted(found.items()))


def written_forecasts(now: Situation) -> dict[int, ForecastSeen]:
    """The newest forecast written down for each day from today on, by days from today."""
    found: dict[int, ForecastSeen] = {}
    for seen in now.observations:
        if isinstance(seen, ForecastSeen) and seen.day is not None and seen.day >= now.on:
            found[(seen.day - now.on).days] = seen
    return found


def _written(day: int, seen: ForecastSeen) -> Night:
    assert seen.low is not None
    dew = seen.dew_point
    if dew is None and seen.humidity:
        dew = air.dew_point(seen.low, seen.humidity)
    wind = seen.wind if seen.wind is not None else _WIND_IN_WORDS.get(seen.frost or "")
    return Night(day, seen.low, wind, dew, False, seen.id)


def _by_the_hour(now: Situation, weather: Weather, measured: bool) -> Iterator[Night]:
    dates = weather.local_dates(now.file.zone)
    for date in np.unique(dates):
        of_day = (dates == date) & np.isfinite(weather.temp_c)
        if not of_day.any():
            continue
        low = float(weather.temp_c[of_day].min())
        cold = of_day & (weather.temp_c <= low + _COLDEST)
        wind = weather.wind_ms[cold]
        yield Night(
            day=int((date - np.datetime64(now.on)).astype(int)),
            low=low,
            wind=float(np.mean(wind)) if np.isfinite(wind).all() else None,
            dew_point=_dew_point(weather, cold),
            measured=measured,
            origin="weather" if measured else "forecast",
        )


def _dew_point(weather: Weather, hours: np.ndarray) -> float | None:
    given = weather.dew_point_c[hours]
    if np.isfinite(given).all():
        return float(np.mean(given))
    reckoned = np.asarray(air.dew_point(weather.temp_c[hours], weather.humidity_pct[hours]))
    return float(np.mean(reckoned)) if np.isfinite(reckoned).all() else None
