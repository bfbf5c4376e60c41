"""Fire blight in bloom, day by day: which of the four conditions hold, which are lacking and which are not known."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from advisor.fact import Fact
from advisor.facts.leaves import Leaves
from advisor.facts.making import Maker
from advisor.facts.stage_dates import reached
from advisor.facts.wettings import Reading
from advisor.observation import ForecastSeen
from advisor.orchard import Block
from advisor.science import fire_blight
from advisor.science.tables import Array

FIRST, LAST = 60, 69  # BBCH: first flower open; petals falling, when flowers resist
DAYS_AHEAD = 3
LEAST_HOURS = 20  # of a day, for its mean
NEARLY = 0.75  # of the heat: a warm day more brings the rest (common practice, no source)
FRUITS = frozenset({"apple", "pear", "quince"})


@dataclass(frozen=True)
class BlightDay:
    """One day of a block in bloom. heat in degree-hours C above 18.3 since the oldest open flower opened.

    heat_sure: no hour that counts is missing; otherwise it is at least so much. wet, mean_c: None where not known.
    """

    date: dt.date
    open: bool | None
    heat: float
    heat_sure: bool
    wet: bool | None
    mean_c: float | None
    forecast: bool

    @cached_property
    def states(self) -> dict[str, bool | None]:
        """Each condition: true, false, or None for not known."""
        heat: bool | None = self.heat >= fire_blight.HEAT_FOR_INFECTION
        if not heat and not self.heat_sure:
            heat = None
        warm = None if self.mean_c is None else self.mean_c >= fire_blight.WARM_DAY_C
        return {"open bloom": self.open, "heat": heat, "wet": self.wet, "warm day": warm}

    @property
    def met(self) -> int:
        return sum(state is True for state in self.states.values())

    @property
    def lacking(self) -> tuple[str, ...]:
        return tuple(name for name, state in self.states.items() if state is False)

    @property
    def unknown(self) -> tuple[str, ...]:
        return tuple(name for name, state in self.states.items() if state is None)

    @property
    def infection(self) -> bool | None:
        """True when all four hold, false when one is certainly lacking, otherwise None."""
        return False if self.lacking else None if self.unknown else True

    @property
    def text(self) -> str:
        heat = f"{'' if self.heat_sure else 'at least '}{self.heat:.0f} degree-hours above 18.3 °C (110 needed)"
        wet = "wetness not known" if self.wet is None else "wet" if self.wet else "dry"
        mean = "mean not known" if self.mean_c is None else f"mean {self.mean_c:.1f} °C (15.6 needed)"
        return f"{self.date}: {heat}, {wet}, {mean}"


def blight_days(leaves: Leaves | None, written: Mapping[int, ForecastSeen], on: dt.date, fruit: str,
                opened: dt.date | None, fallen: dt.date | None, still_open: bool | None) -> list[BlightDay]:
    """Every day from the first open flower to three days ahead, from hours and, behind them, forecasts written down.

    opened, fallen: when flowering began and ended, as well as known. still_open: whether flowers are open today.
    """
    if opened is None or (leaves is None and not written):
        return []
    hours = _hours(leaves, written, on, opened)
    heat, least = fire_blight.blossom_heat(hours.temp, fruit), _since_gap(hours.temp, fruit)
    found = []
    for day in np.unique(hours.days):
        date: dt.date = day.astype(object)
        if (date - on).days > DAYS_AHEAD or (fallen is not None and date >= fallen):
            break
        here = hours.days == day
        sure = bool(np.isfinite(heat[here]).all())
        value = float(np.max(heat[here])) if sure else float(np.max(least[here]))
        known = hours.temp[here][np.isfinite(hours.temp[here])]
        mean = float(np.mean(known)) if known.size >= LEAST_HOURS else None
        open_then = still_open if date >= on else True
        found.append(BlightDay(date, open_then, value, sure, _wet(hours, day), mean, bool(hours.ahead[here].any())))
    return found


@dataclass(frozen=True)
class _Hours:
    """Temperature, date, wetness, rain and whether foreseen, an hour each."""

    temp: Array
    days: Any
    share: Array
    rain: Array
    ahead: Any

    @staticmethod
    def joined(parts: list[_Hours]) -> _Hours:
        return _Hours(*(np.concatenate([getattr(part, name) for part in parts])
                        for name in ("temp", "days", "share", "rain", "ahead")))


def _hours(leaves: Leaves | None, written: Mapping[int, ForecastSeen], on: dt.date, opened: dt.date) -> _Hours:
    """The hours since the first flower opened, and behind them a day's curve for each forecast written down."""
    parts: list[_Hours] = []
    begins = opened
    if leaves is not None:
        first = leaves.first_hour(opened)
        ahead = np.arange(first, len(leaves)) >= leaves.now_at
        if first < len(leaves):
            begins = leaves.date(first)
            if begins > opened:  # the record begins after the flowers did
                parts.append(_curve(None, np.datetime64(opened, "D")))
            temp, share, rain = leaves.temp[first:], leaves.share[first:], leaves.rain[first:]
            parts.append(_Hours(temp, leaves.dates[first:], share, rain, ahead))
    last: dt.date = parts[-1].days[-1].astype(object) if parts else on - dt.timedelta(days=1)
    if not parts and opened <= last:
        parts.append(_curve(None, np.datetime64(last, "D")))
    for distance in range((last - on).days + 1, max(written, default=-1) + 1):
        parts.append(_curve(written.get(distance), np.datetime64(on + dt.timedelta(days=distance), "D")))
    return _Hours.joined(parts or [_curve(None, np.datetime64(on, "D"))])


def _curve(forecast: ForecastSeen | None, date: np.datetime64) -> _Hours:
    """A written forecast as 24 hours between its low at dawn and its high in the afternoon; all unknown without one."""
    nothing = np.full(24, np.nan)
    days, ahead = np.full(24, date), np.ones(24, bool)
    if forecast is None:
        return _Hours(nothing, days, nothing, nothing, ahead)
    temp = share = nothing
    if forecast.low is not None and forecast.high is not None:
        middle, half = (forecast.low + forecast.high) / 2, (forecast.high - forecast.low) / 2
        temp = middle - half * np.cos((np.arange(24) - 3) * np.pi / 12)
    rain = nothing if forecast.rain is None else np.full(24, forecast.rain / 24)
    dew = None if forecast.humidity is None else forecast.humidity >= 90
    if forecast.dew_point is not None and forecast.low is not None:
        dew = bool(dew) or forecast.dew_point >= forecast.low
    if dew is not None and (dew or forecast.rain is not None):
        share = np.full(24, float(dew))
    return _Hours(temp, days, share, rain, ahead)


def _since_gap(temp: Array, fruit: str) -> Array:
    """Heat that is certain: of the flowers that opened after the last hour that is not known."""
    least = np.zeros(len(temp))
    edges = np.flatnonzero(np.diff(np.concatenate(([False], np.isfinite(temp), [False])).astype(np.int8)))
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        least[begin:end] = fire_blight.blossom_heat(temp[begin:end], fruit)
    return least


def _wet(hours: _Hours, day: np.datetime64) -> bool | None:
    """Dew or rain on the day, or enough rain the day before; None where that hangs on an hour that is not known."""
    here, before = hours.days == day, hours.days == day - np.timedelta64(1, "D")
    if np.any(hours.share[here] > 0):
        return True
    today, yesterday = float(np.nansum(hours.rain[here])), float(np.nansum(hours.rain[before]))
    if fire_blight.wet_enough(today, yesterday):
        return True
    return None if np.isnan(hours.share[here]).any() else False


# --- facts --------------------------------------------------------------------------------------


def blight_facts(reading: Reading, block: Block, make: Maker) -> Iterator[Fact]:
    """The days of bloom of a block, and the worst of the days to come."""
    now, stage = reading.now, reading.now.stages[block.id]
    if block.fruit not in FRUITS:
        return
    days = days_of(reading, block)
    sources = ("steiner-1996-blossom-rule", "mfga-2003-fire-blight-key")
    for day in days:
        away = (day.date - now.on).days
        if away < -30:
            continue
        yield make(
            "blight-day",
            f"{block.id}:{day.date}",
            {
                "block": block.id,
                "day": away,
                "infection": day.infection,
                "met": day.met,
                "lacking": ", ".join(day.lacking) or "nothing",
                "heat": day.heat if day.heat_sure else None,
                "mean": day.mean_c,
                "wet": day.wet,
                "shows_in": _strikes_in(reading, day) if day.infection else None,
            },
            origin=("weather", *stage.observations),
            text=day.text,
            sources=sources,
        )
    if stage.bbch is not None and not FIRST - 3 <= stage.bbch < LAST:
        return
    ahead = [day for day in days if 0 <= (day.date - now.on).days <= 2]
    history = None if block.history is None else "fire-blight" in block.history
    values: dict[str, object] = {"block": block.id, "history": history}
    if stage.bbch is not None:
        values |= _outlook(ahead, now.on, stage.bbch < FIRST)
    text = "; ".join(day.text for day in ahead) or "no weather tells"
    yield make("blight-outlook", block.id, values, origin=("weather", "forecast", *stage.observations), text=text,
               sources=sources)


def days_of(reading: Reading, block: Block) -> list[BlightDay]:
    """The days of bloom of a block as the four conditions read them."""
    now, stage = reading.now, reading.now.stages[block.id]
    opened, fallen = reached(now, block, FIRST), reached(now, block, LAST)
    still_open = None if stage.bbch is None or stage.stale else FIRST <= stage.bbch < LAST
    return blight_days(reading.leaves, reading.written, now.on, block.fruit, opened, fallen, still_open)


def _outlook(ahead: list[BlightDay], on: dt.date, before_bloom: bool) -> dict[str, object]:
    """infects, near or low; nothing where the days to come are not known well enough to say."""
    if before_bloom:
        return {"coming": "low", "lacking": "open bloom"}
    infecting = [day for day in ahead if day.infection]
    worst = max(ahead, key=lambda day: (day.met, day.heat), default=None)
    if worst is None:
        return {}
    first = infecting[0] if infecting else worst
    values: dict[str, object] = {"met": first.met, "lacking": ", ".join(first.lacking) or "nothing",
                                 "mean": first.mean_c, "heat": first.heat if first.heat_sure else None}
    if infecting:
        return {**values, "coming": "infects", "starts_in": (first.date - on).days}
    if any(_is_near(day) for day in ahead):
        return {**values, "coming": "near"}
    told = any((day.date - on).days == 1 for day in ahead) and all(day.infection is False for day in ahead)
    return {**values, "coming": "low"} if told else values


def _is_near(day: BlightDay) -> bool:
    """Open, heated through and warm, and not known to be wet; or lacking only a little heat."""
    state = day.states
    if state["open bloom"] is not True or state["warm day"] is not True:
        return False
    if state["heat"] is True:
        return True
    return state["wet"] is True and day.heat_sure and day.heat >= NEARLY * fire_blight.HEAT_FOR_INFECTION


def _strikes_in(reading: Reading, day: BlightDay) -> int | None:
    """Days from today until strikes are due: by the heat so far, and then at the pace of the last week."""
    leaves, now = reading.leaves, reading.now
    if leaves is None or day.date >= now.on:
        return None
    temps = leaves.temp[leaves.first_hour(day.date):]
    if np.isnan(temps).any() or not len(temps):
        return None
    due = fire_blight.symptom_hour(temps)
    if due is not None:
        return (leaves.date(leaves.first_hour(day.date) + due) - now.on).days
    warmth = np.maximum(temps - fire_blight.SYMPTOM_BASE_C, 0.0) / 24
    pace = float(np.mean(warmth[-168:])) * 24
    if pace <= 0:
        return None
    left = (fire_blight.SYMPTOM_HEAT - float(warmth.sum())) / pace
    return (leaves.date(len(leaves) - 1) - now.on).days + int(np.ceil(left))
