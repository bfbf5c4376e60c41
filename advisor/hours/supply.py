"""Hours there are: the grower's own by week, days off, helpers' visits, and what weather each day brings for work."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from advisor.blocks import Helpers
from advisor.facts import Situation
from advisor.facts.nights import written_forecasts
from advisor.hours.model import Visit

DAY_FROM, DAY_TO = 6, 20  # local hours between which work is planned (common practice, no source)
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


@dataclass(frozen=True)
class Supply:
    """The hours of each day and week of a plan, and who comes to help. week_hours: None where not given."""

    start: dt.date
    day_hours: tuple[float, ...]
    week_hours: tuple[float | None, ...]
    off: tuple[dt.date, ...]
    visits: tuple[Visit, ...]
    helpers: dict[str, Helpers]
    longest_day: float
    tools: dict[str, int]

    def date(self, day: int) -> dt.date:
        return self.start + dt.timedelta(days=day)

    @property
    def length(self) -> int:
        return len(self.day_hours)


def supply(now: Situation, weeks: int) -> Supply:
    """The hours of this week and `weeks` more, from the day of the plan on.

    A weekday off leaves a week its hours, on fewer days; a date off takes that day's share of them away.
    """
    orchard = now.file.orchard
    longest = float(now.knowledge.figure("labour.longest-day").value(now.region).value)
    off = orchard.days_off or ()
    weekdays = {WEEKDAYS.index(word) for word in off if word in WEEKDAYS}
    dates = [span for word in off if word not in WEEKDAYS for span in [_span(word)]]
    working = 7 - len(weekdays)
    days, hours, free = [], [], []
    for n in range(7 * (weeks + 1)):
        date = now.on + dt.timedelta(days=n)
        is_off = date.weekday() in weekdays or any(first <= date <= last for first, last in dates)
        given = None if orchard.hours_per_week is None else orchard.hours_per_week.get(date.month)
        days.append(0.0 if is_off else longest)
        hours.append(0.0 if is_off else None if given is None else given / working)
        if is_off:
            free.append(date)
    by_week = tuple(_total(hours[7 * w : 7 * w + 7]) for w in range(weeks + 1))
    helpers = {f"{n}": one for n, one in enumerate(orchard.helpers or (), 1)}
    visits = tuple(
        Visit(name, (one.day - now.on).days, one.people, one.hours)
        for name, one in helpers.items()
        if 0 <= (one.day - now.on).days < len(days)
    )
    tools = {tool: (orchard.tools or ()).count(tool) for tool in sorted(set(orchard.tools or ()))}
    return Supply(now.on, tuple(days), by_week, tuple(free), visits, helpers, longest, tools)


def _span(word: str) -> tuple[dt.date, dt.date]:
    first, _, last = word.partition("/")
    return dt.date.fromisoformat(first), dt.date.fromisoformat(last or first)


def _total(hours: Iterable[float | None]) -> float | None:
    known = [h for h in hours if h is not None]
    return None if len(known) < 7 else round(sum(known), 2)


class Sky:
    """The hours of each day that suit a kind of work, as far as weather and forecast tell."""

    def __init__(self, now: Situation, length: int) -> None:
        self.now, self.length = now, length
        self._figures = {
            name: float(now.knowledge.figure(id).value(now.region).value)
            for name, id in (("rain", "labour.dry-rain"), ("wind", "spray.wind-most"), ("temp", "labour.cool-most"),
                             ("dew", "labour.dew-humidity"))
        }  # fmt: skip
        self._suits = {need: self._by_hour(need) for need in ("dry", "calm", "cool", "after-dew")}
        self._written = written_forecasts(now)

    def fit(self, needs: tuple[str, ...]) -> tuple[float | None, ...]:
        """Hours of fitting weather by day; None where it is not known. Hours that are not known count as not fitting."""
        if not needs:
            return (float(DAY_TO - DAY_FROM),) * self.length
        found: list[float | None] = []
        for day in range(self.length):
            hours = [self._suits[need].get(day) for need in needs]
            known = [h for h in hours if h is not None and np.isfinite(h).any()]
            if len(known) == len(needs):
                found.append(float(np.all([h == 1 for h in known], axis=0).sum()))
            else:
                found.append(self._as_written(day, needs))
        return tuple(found)

    @property
    def known_until(self) -> int:
        """The last day of the plan of which any hour of rain is known, or -1."""
        days = [d for d, h in self._suits["dry"].items() if np.isfinite(h).any()]
        return max([*days, *(d for d, f in self._written.items() if f.rain is not None and d < self.length)], default=-1)

    def wet_days(self, week: int) -> list[int] | None:
        """Days of a week with rain in the hours of work for half of them or more; None where no day is known."""
        days = range(7 * week, 7 * week + 7)
        known = {d: f for d in days for f in [self.fit(("dry",))[d]] if f is not None}
        return [d for d, f in known.items() if f <= (DAY_TO - DAY_FROM) / 2] if known else None

    def _by_hour(self, need: str) -> dict[int, np.ndarray]:
        """By day of the plan, each hour of work: 1 suits, 0 does not, NaN not known."""
        weather = self.now.weather
        if weather is None:
            return {}
        zone = self.now.file.zone
        if need == "dry":
            suits = np.where(np.isnan(weather.rain_mm), np.nan, weather.rain_mm < self._figures["rain"])
        elif need == "calm":
            suits = np.where(np.isnan(weather.wind_ms), np.nan, weather.wind_ms <= self._figures["wind"])
        elif need == "cool":
            suits = np.where(np.isnan(weather.temp_c), np.nan, weather.temp_c <= self._figures["temp"])
        else:
            by_air = np.where(np.isnan(weather.humidity_pct), np.nan, weather.humidity_pct < self._figures["dew"])
            suits = np.where(np.isnan(weather.wet), by_air, weather.wet < 0.1)
        dates, hours = weather.local_dates(zone), weather.local_hours(zone)
        of_day = (dates - np.datetime64(self.now.on, "D")).astype(int)
        at_work = (hours >= DAY_FROM) & (hours < DAY_TO)
        return {
            int(day): suits[at_work & (of_day == day)]
            for day in np.unique(of_day[at_work & (of_day >= 0) & (of_day < self.length)])
        }

    def _as_written(self, day: int, needs: tuple[str, ...]) -> float | None:
        """From a forecast that was written down for the day as a whole."""
        seen = self._written.get(day)
        if seen is None:
            return None
        answers = {
            "dry": None if seen.rain is None else seen.rain < 1.0,  # mm in the day
            "calm": None if seen.wind is None else seen.wind <= self._figures["wind"],
            "cool": None if seen.high is None else seen.high <= self._figures["temp"],
            "after-dew": None,
        }
        told = [answers[need] for need in needs]
        if any(answer is False for answer in told):
            return 0.0
        return None if any(answer is None for answer in told) else float(DAY_TO - DAY_FROM)
