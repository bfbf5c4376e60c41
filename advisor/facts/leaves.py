"""The season's hourly record of a site as diseases see it: how long leaves were wet, and how warm it was meanwhile.

Leaves are wet by the first of sensor, rain, humidity and dew point that is known (`advisor.science.wet_spells`). Where
the record, or the forecast, holds rain and neither humidity, dew point nor sensor, rain alone is read, and said so:
hours of rain are wet, the 12 hours after rain may be wet and count as unknown, all others are dry (common practice, no
source; dew goes unseen). What is unknown never counts as dry: an hour that may have been wet makes a spell "at least"
so long.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from advisor.science import wet_spells
from advisor.science.sun import sun_hours
from advisor.science.tables import Array, Bools
from advisor.weather import Weather, fill_short_gaps
from advisor.weather_table import COLUMNS, offsets

HOUR = dt.timedelta(hours=1)
MAY_STAY_WET = 12  # hours after rain, where only rain is known (common practice, no source)
RAIN_ALONE = "rain alone"


@dataclass(frozen=True)
class Spell:
    """A wetting: hours of the record from `first` up to `end`, joined across fewer than 8 dry hours.

    hours: known to be wet; at_least: hours that are not known lie in or beside it. mean_c: over the known wet hours,
    NaN where a temperature is missing; low_c: the lowest of them. rain_mm: what is known to have fallen.
    """

    first: int
    end: int
    hours: float
    at_least: bool
    mean_c: float
    low_c: float
    rain_mm: float


@dataclass(frozen=True)
class Leaves:
    """A site's hours from the season's start to the end of the forecast; NaN is unknown.

    now_at: the first hour that is not past. share: of each hour that leaves were wet. rules: what told it.
    """

    start: dt.datetime
    zone: dt.tzinfo
    now_at: int
    forecast_from: int
    temp: Array
    rain: Array
    humidity: Array
    share: Array
    rules: tuple[str, ...]

    @staticmethod
    def of(weather: Weather | None, since: dt.date, now: dt.datetime, zone: dt.tzinfo) -> Leaves | None:
        """The record since a local date, None without one; hours up to now that it does not hold are unknown."""
        if weather is None or not len(weather):
            return None
        begin = max(weather.start, dt.datetime.combine(since, dt.time(), zone).astimezone(dt.UTC))
        cut = weather.between(begin, weather.end)
        if not len(cut):
            return None
        columns: dict[str, Array] = {name: getattr(cut, name) for name in COLUMNS}
        now_at = -int(-(now - cut.start) // HOUR)
        missing = now_at - len(cut)
        if missing > 0:
            columns = {name: np.append(values, np.full(missing, np.nan)) for name, values in columns.items()}
        for name in ("temp_c", "humidity_pct"):  # where the forecast begins an hour or two after the record ends
            columns[name] = columns[name].copy()
            fill_short_gaps(columns[name])
        ahead = np.flatnonzero(cut.forecast)
        foreseen = np.append(cut.forecast, np.zeros(len(columns["temp_c"]) - len(cut), bool))
        share, rules = _wetness(columns, foreseen)
        return Leaves(cut.start, zone, max(now_at, 0), int(ahead[0]) if ahead.size else len(share), columns["temp_c"],
                      columns["rain_mm"], columns["humidity_pct"], share, rules)

    def __len__(self) -> int:
        return len(self.share)

    @property
    def rule(self) -> str:
        """How wetness was told, in words."""
        return "leaf wetness by " + ", ".join(rule for rule in self.rules if rule != "unknown")

    @cached_property
    def least(self) -> Array:
        """Wetness that is certain: unknown hours as dry."""
        return np.nan_to_num(self.share, nan=0.0)

    @cached_property
    def unknown(self) -> Bools:
        gaps: Bools = np.isnan(self.share)
        return gaps

    @cached_property
    def spells(self) -> tuple[Spell, ...]:
        """Wettings that are certain, in order; each may have been longer where hours beside it are unknown."""
        found = wet_spells.spells(self.least, self.temp, np.nan_to_num(self.rain, nan=0.0))
        gap = np.concatenate(([0], np.cumsum(self.unknown)))
        size, reach = len(self), wet_spells.DRY_HOURS_THAT_PART - 1
        spells = []
        for first, end, hours, mean, rain in zip(found.first, found.end, found.wet_hours, found.mean_c, found.rain_mm,
                                                 strict=True):
            beside = gap[min(end + reach, size)] - gap[max(first - reach, 0)]
            wet = self.least[first:end] > 0
            low = float(np.min(self.temp[first:end][wet]))
            at_least = bool(beside) or bool(end == size)  # the record may break off in the middle of it
            spells.append(Spell(int(first), int(end), float(hours), at_least, float(mean), low, float(rain)))
        return tuple(spells)

    @cached_property
    def gaps(self) -> tuple[tuple[int, int], ...]:
        """Stretches of hours that may have been wet (from, up to), joined as wettings are."""
        if not self.unknown.any():
            return ()
        found = wet_spells.spells(self.share)
        return tuple((int(a), int(b)) for a, b, n in zip(found.first, found.end, found.unknown_hours, strict=True) if n)

    @cached_property
    def dates(self) -> Any:
        """The orchard's own date at every hour."""
        return self._local.astype("datetime64[D]")

    @cached_property
    def _offset(self) -> Any:
        return offsets(self.start, len(self), self.zone)

    @cached_property
    def _local(self) -> Any:
        first = np.datetime64(self.start.astimezone(dt.UTC).replace(tzinfo=None), "s")
        return first + (np.arange(len(self)) * 3600 + self._offset).astype("timedelta64[s]")

    def date(self, hour: int) -> dt.date:
        day: dt.date = self.dates[min(hour, len(self) - 1)].astype(object)
        return day

    def moment(self, hour: int) -> dt.datetime:
        """The orchard's own time at the start of an hour."""
        return (self.start + hour * HOUR).astimezone(self.zone)

    def first_hour(self, day: dt.date) -> int:
        """The first hour of a local date, or of the first date after it; the length of the record if it ends before."""
        return int(np.searchsorted(self.dates, np.datetime64(day, "D")))

    def daylight(self, latitude: float, longitude: float | None) -> tuple[Array, Array]:
        """Clock hours of sunrise and sunset for every hour of the record.

        Without a longitude the middle of the time zone is taken; where the sun does not set, the whole day is light.
        """
        days, at = np.unique(self.dates, return_inverse=True)
        standard = min(self._offset) / 3600
        rise, set_ = sun_hours(latitude, 15.0 * standard if longitude is None else longitude, days)
        ahead = self._offset / 3600
        return np.nan_to_num(rise[at] + ahead, nan=0.0), np.nan_to_num(set_[at] + ahead, nan=24.0)


def _wetness(columns: dict[str, Array], foreseen: Bools) -> tuple[Array, tuple[str, ...]]:
    wet = wet_spells.wetness(columns["wet"], columns["rain_mm"], columns["humidity_pct"], columns["dew_point_c"],
                             columns["temp_c"])
    rain, share, rules = columns["rain_mm"], wet.share.copy(), []
    hours = np.arange(len(rain))
    last = np.maximum.accumulate(np.where((rain > 0) | np.isnan(rain), hours, -MAY_STAY_WET - 1))
    dry = (rain == 0) & (hours - last > MAY_STAY_WET)
    for part in (~foreseen, foreseen):
        silent = all(np.isnan(columns[name][part]).all() for name in ("wet", "humidity_pct", "dew_point_c"))
        if silent and np.isfinite(rain[part]).any():
            share[part & dry] = 0.0
            rules.append(RAIN_ALONE)
        elif part.any():
            rules += [wet_spells.RULES[code] for code in np.unique(wet.rule[part])]
    return share, tuple(dict.fromkeys(rules))
