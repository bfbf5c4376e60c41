"""The hourly weather table of an orchard: NumPy arrays on a grid of UTC hours, NaN where nothing is known.

Weather   the table, and cuts of it
merge     measured weather with a forecast behind it
end_of    the moment up to which a day is seen

`advisor.weather` reads tables from CSV or records.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Days = NDArray[np.datetime64]

HOUR = dt.timedelta(hours=1)
COLUMNS = ("temp_c", "humidity_pct", "rain_mm", "wind_ms", "wet", "solar_wm2", "dew_point_c")


@dataclass(frozen=True)
class Report:
    """What reading a table came to: counts, and sentences for people.

    rows read, hours covered, cells filled across short gaps, gaps of more than 3 hours, hours given twice, local hours
    that the clocks skip.
    """

    rows: int = 0
    hours: int = 0
    filled: int = 0
    gaps: int = 0
    duplicates: int = 0
    skipped_by_clock: int = 0
    sentences: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Weather:
    """Hourly weather; every array has one value an hour, from `start` on.

    start: first hour, UTC. temp_c [°C], humidity_pct [%], rain_mm [mm in the hour], wind_ms [m/s], wet [share of the
    hour that leaves were wet], solar_wm2 [W/m2], dew_point_c [°C]; NaN is unknown. forecast: hours not measured.
    """

    start: dt.datetime
    temp_c: Floats
    humidity_pct: Floats
    rain_mm: Floats
    wind_ms: Floats
    wet: Floats
    solar_wm2: Floats
    dew_point_c: Floats
    forecast: NDArray[np.bool_]
    report: Report = field(default_factory=Report)

    def __len__(self) -> int:
        return len(self.temp_c)

    @property
    def end(self) -> dt.datetime:
        """The end of the last hour. [UTC]"""
        return self.start + len(self) * HOUR

    @property
    def times(self) -> NDArray[np.datetime64]:
        """The start of every hour. [UTC, to the second]"""
        first = np.datetime64(self.start.astimezone(dt.UTC).replace(tzinfo=None), "s")
        return first + np.arange(len(self)) * np.timedelta64(3600, "s")

    def between(self, begin: dt.datetime, end: dt.datetime) -> Weather:
        """The hours that start at or after `begin` and before `end` (aware moments)."""
        first = min(max(_hours_from(self.start, begin), 0), len(self))
        last = min(max(_hours_from(self.start, end), first), len(self))
        cut = {name: getattr(self, name)[first:last] for name in (*COLUMNS, "forecast")}
        return replace(self, start=self.start + first * HOUR, **cut)

    def until(self, moment: dt.datetime) -> Weather:
        """Without the hours that start at `moment` or later."""
        return self.between(self.start, moment)

    def to_the_last_known(self) -> Weather:
        """Without the hours at the end of which nothing is known."""
        known = np.flatnonzero(np.any([np.isfinite(getattr(self, name)) for name in COLUMNS], axis=0))
        return self.until(self.start + (int(known[-1]) + 1 if len(known) else 0) * HOUR)

    def since(self, moment: dt.datetime) -> Weather:
        """Without the hours that start before `moment`."""
        return self.between(moment, self.end)

    def changed(self, warmer: float = 0.0, rain: float = 1.0) -> Weather:
        """The same weather, warmer by so many °C and with so many times the rain.

        Dew point and humidity stay as they were: what they would be is not known.
        """
        return replace(self, temp_c=self.temp_c + warmer, rain_mm=self.rain_mm * rain)

    def local_dates(self, zone: dt.tzinfo) -> Days:
        """The orchard's own date at every hour."""
        days: Days = self._local(zone).astype("datetime64[D]")
        return days

    def local_hours(self, zone: dt.tzinfo) -> NDArray[np.int64]:
        """The orchard's own hour of the day (0-23) at every hour."""
        local = self._local(zone)
        since_midnight = local - local.astype("datetime64[D]")
        hours: NDArray[np.int64] = (since_midnight // np.timedelta64(3600, "s")).astype(np.int64)
        return hours

    def _local(self, zone: dt.tzinfo) -> Days:
        local: Days = self.times + offsets(self.start, len(self), zone).astype("timedelta64[s]")
        return local

    def tobytes(self) -> bytes:
        """Everything that is known, as bytes, for telling one table from another."""
        arrays = (getattr(self, name).tobytes() for name in (*COLUMNS, "forecast"))
        return b"|".join((self.start.isoformat().encode(), *arrays))

    def daily(self, zone: dt.tzinfo) -> Daily:
        """Lows, highs, means and rain by the orchard's own days."""
        dates, first = np.unique(self.local_dates(zone), return_index=True)
        known = np.isfinite(self.temp_c)
        count = np.add.reduceat(known.astype(np.int64), first) if len(self) else np.zeros(0, np.int64)
        if not len(self):
            empty = np.zeros(0)
            return Daily(dates, empty, empty, empty, empty, count)
        enough = count >= LEAST_HOURS_OF_A_DAY
        low = np.where(enough, np.minimum.reduceat(np.where(known, self.temp_c, np.inf), first), np.nan)
        high = np.where(enough, np.maximum.reduceat(np.where(known, self.temp_c, -np.inf), first), np.nan)
        total = np.add.reduceat(np.where(known, self.temp_c, 0.0), first)
        mean = np.where(enough, total / np.maximum(count, 1), np.nan)
        length = np.diff([*first, len(self)])
        whole = length >= 23  # a day that the table holds from midnight to midnight; 23 hours when clocks go forward
        rain = np.where(whole, np.add.reduceat(self.rain_mm, first), np.nan)
        return Daily(dates, low, high, mean, rain, count)


LEAST_HOURS_OF_A_DAY = 20  # common practice, no source: with fewer, a day's low or high may have gone unseen


@dataclass(frozen=True, eq=False)
class Daily:
    """One value a local day: low, high and mean [°C], NaN with fewer than 20 known hours; rain [mm], NaN unless every
    hour of the day is known; hours = how many hours of temperature are known."""

    dates: Days
    low: Floats
    high: Floats
    mean: Floats
    rain: Floats
    hours: NDArray[np.int64]


def merge(weather: Weather | None, forecast: Weather | None) -> Weather | None:
    """Measured weather, with the forecast wherever the measured table does not reach.

    Within the span of the measured table only it counts, also where it knows nothing: a forecast is no measurement.
    Hours between the two are unknown.
    """
    if weather is None or not len(weather):
        return None if forecast is None else replace(forecast, forecast=np.ones(len(forecast), bool))
    if forecast is None or not len(forecast):
        return weather
    start, end = min(weather.start, forecast.start), max(weather.end, forecast.end)
    hours = _hours_from(start, end)
    merged: dict[str, Floats] = {}
    marked = np.zeros(hours, bool)
    for name in COLUMNS:
        values = np.full(hours, np.nan)
        for part in (forecast, weather):
            at = _hours_from(start, part.start)
            values[at:at + len(part)] = getattr(part, name)
        merged[name] = values
    at = _hours_from(start, forecast.start)
    marked[at:at + len(forecast)] = True
    at = _hours_from(start, weather.start)
    marked[at:at + len(weather)] = weather.forecast
    sentences = (*weather.report.sentences, *(f"Forecast: {text}" for text in forecast.report.sentences))
    return Weather(start, **merged, forecast=marked, report=replace(weather.report, sentences=sentences))


def end_of(on: dt.date | dt.datetime, zone: dt.tzinfo) -> dt.datetime:
    """The moment up to which something is seen: of a date, the end of that day in the zone; a moment is itself."""
    if isinstance(on, dt.datetime):
        return on if on.tzinfo else on.replace(tzinfo=zone)
    return dt.datetime.combine(on + dt.timedelta(days=1), dt.time(), zone).astimezone(dt.UTC)


def offsets(start: dt.datetime, hours: int, zone: dt.tzinfo) -> NDArray[np.int64]:
    """The zone's distance from UTC at every hour [s]."""
    found = np.empty(hours, np.int64)
    first = 0
    while first < hours:  # by halving: an offset holds for months, so only its changes are looked for
        value = _offset(start + first * HOUR, zone)
        step = min(24 * 7, hours - first)
        while step > 1 and _offset(start + (first + step - 1) * HOUR, zone) != value:
            step //= 2
        found[first:first + step] = value
        first += step
    return found


@lru_cache(maxsize=4096)
def _offset(moment: dt.datetime, zone: dt.tzinfo) -> int:
    away = moment.astimezone(zone).utcoffset()
    return int(away.total_seconds()) if away is not None else 0


def _hours_from(start: dt.datetime, moment: dt.datetime) -> int:
    """Whole hours from start to the first hour that begins at or after a moment."""
    return -int(-(moment - start).total_seconds() // 3600)


def on_grid(start: dt.datetime, columns: dict[str, Floats], report: Report) -> Weather:
    """A table from columns of one length; columns not given are unknown throughout."""
    hours = len(next(iter(columns.values()))) if columns else 0
    unknown = {name: np.full(hours, np.nan) for name in COLUMNS if name not in columns}
    return Weather(start, **columns, **unknown, forecast=np.zeros(hours, bool), report=report)

