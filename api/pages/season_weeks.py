"""The season week by week: what the trees, the flowers and the sky did, what was done, and what is still to come.

    season_weeks(answer, plan, events)    a `Week` for each, from the first thing known of the season to the last planned

Numbers are in SI; None is unknown. Weeks begin on Monday. Nothing is worked out here that the advice does not know: the
weeks only gather it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from advisor import season
from advisor.advice import Answer
from advisor.ecosystem import Practice
from advisor.facts import Situation
from advisor.facts.stage_dates import reached
from advisor.habitat.ribbon import InBloom, day_of_week, ribbon, site_bloom, unlisted
from advisor.habitat.weeks import FOODS, Parts, lacking
from advisor.observation import TreeStage, Work
from advisor.sentences import in_words
from advisor.stages import STAGES, stage_name

WEEK = dt.timedelta(days=7)
BURNS = "summer-prune.hottest"  # the figure for heat in which fruit burns


@dataclass(frozen=True)
class Job:
    """Work of a week. done: it was recorded; otherwise it is planned or advised. group: of practices (floor, sprays ...)."""

    practice: str
    name: str
    group: str
    place: str | None
    hours: float | None
    done: bool


@dataclass(frozen=True)
class Sky:
    """The weather of a week. rain: of its whole days [mm]; days: whole days known; forecast: some of it is not measured;
    heat, frost: days with their high or low [°C]."""

    rain: float | None
    high: float
    low: float
    days: int
    forecast: bool
    heat: tuple[tuple[dt.date, float], ...]
    frost: tuple[tuple[dt.date, float], ...]


@dataclass(frozen=True)
class Week:
    """One week. stages: (block, stage) reached in it; in_bloom: blocks whose trees stood in blossom; flowers: kinds that
    feed bees; lacks: what bees find none of; events: infections and blight days as `season_replay` lists them."""

    start: dt.date
    now: bool
    past: bool
    stages: tuple[tuple[str, str], ...] = ()
    in_bloom: tuple[str, ...] = ()
    flowers: tuple[str, ...] | None = None
    lacks: tuple[str, ...] = ()
    sky: Sky | None = None
    events: tuple[Mapping[str, Any], ...] = ()
    jobs: tuple[Job, ...] = ()
    supply: float | None = None
    planned: float | None = None
    done: float = field(default=0.0)

    @property
    def end(self) -> dt.date:
        return self.start + dt.timedelta(days=6)


def season_weeks(answer: Answer, plan: Mapping[str, Any], events: Sequence[Mapping[str, Any]]) -> list[Week]:
    """The weeks of the season, oldest first. plan: of `advisor.hours`; events: of `advisor.season_replay`."""
    now = answer.run.now
    dates = _Stages(now)
    flowers = _Flowers(now)
    planned = _planned(now, plan)
    work = [o for o in now.observations if isinstance(o, Work) and now.this_season(o.date)]
    last = monday(dt.date.fromisoformat(plan["until"]))
    known = [*dates.days(), *flowers.days(), *(o.date for o in work), *(_day(e) for e in events), now.on]
    first = monday(max(min(known), season.season_start(now.on, now.latitude)))
    last = max([last, *(monday(day) for day in flowers.days())])
    found = []
    for start in _mondays(first, last):
        jobs, hours = planned.get(start, ((), None))
        done = tuple(_done(now, o) for o in work if start <= o.date < start + WEEK)
        found.append(
            Week(
                start=start,
                now=start == monday(now.on),
                past=start + WEEK <= now.on,
                stages=dates.reached_in(start),
                in_bloom=flowers.trees_in(start),
                flowers=flowers.open_in(start),
                lacks=flowers.lacks_in(start),
                sky=_sky(now, start),
                events=tuple(e for e in events if start <= _day(e) < start + WEEK),
                jobs=(*done, *jobs),
                supply=hours if hours is not None else (now.file.orchard.hours_per_week or {}).get(start.month),
                planned=sum(job.hours or 0.0 for job in jobs) if start in planned else None,
                done=sum(job.hours or 0.0 for job in done),
            )
        )
    return found


def monday(day: dt.date) -> dt.date:
    return day - dt.timedelta(days=day.weekday())


def _day(event: Mapping[str, Any]) -> dt.date:
    return dt.date.fromisoformat(event["start"][:10])


def _mondays(first: dt.date, last: dt.date) -> Iterator[dt.date]:
    while first <= last:
        yield first
        first += WEEK


class _Stages:
    """When each block reached each stage this season, as well as it is known."""

    def __init__(self, now: Situation) -> None:
        self.found: list[tuple[dt.date, str, int, str]] = []
        seen = {(o.block, o.code(b.fruit)) for o in now.observations if isinstance(o, TreeStage) for b in now.blocks}
        start = season.season_start(now.on, now.latitude)
        for block in now.blocks:
            for code in sorted({code for code in STAGES.values() if code >= 51}):
                day = reached(now, block, code)
                if day is not None and day >= start:
                    about = "" if (block.id, code) in seen or (None, code) in seen else "about "
                    self.found.append((day, block.id, code, about + in_words(stage_name(code, block.fruit))))
        self.found.sort()

    def days(self) -> list[dt.date]:
        return [day for day, *_ in self.found]

    def reached_in(self, start: dt.date) -> tuple[tuple[str, str], ...]:
        """The last stage that each block reached within a week."""
        last = {block: name for day, block, _, name in self.found if start <= day < start + WEEK}
        return tuple(last.items())


class _Flowers:
    """What is in flower for bees, by week; nothing where no day of apple bloom is known."""

    def __init__(self, now: Situation) -> None:
        self.site = site_bloom(now)
        self.rows: list[InBloom] = ribbon(now, self.site) if self.site.date is not None else []
        self.sure = not unlisted(now)
        self.parts = Parts.of(now.knowledge, now.region)
        self.without = {food: lacking(self.rows, self.parts, food) for food, _, _ in FOODS}

    def days(self) -> list[dt.date]:
        ends = [day_of_week(self.site, week) for one in self.rows for week in (one.begin, one.end)]
        return [day for day in ends if day is not None]

    def open_in(self, start: dt.date) -> tuple[str, ...] | None:
        if self.site.date is None:
            return None
        begin = (start - self.site.date).days / 7
        return tuple(
            dict.fromkeys(o.plant.name for o in self.rows if o.feeds and o.begin < begin + 1 and o.end > begin)
        )

    def trees_in(self, start: dt.date) -> tuple[str, ...]:
        """The blocks whose trees stand in blossom, as far as that is known or reckoned."""
        if self.site.date is None:
            return ()
        begin = (start - self.site.date).days / 7
        return tuple(
            dict.fromkeys(o.place for o in self.rows if o.role == "tree" and o.begin < begin + 1 and o.end > begin)
        )

    def lacks_in(self, start: dt.date) -> tuple[str, ...]:
        """What bees find none of in the week of the season that holds most of this one."""
        if self.site.date is None or not self.sure:
            return ()
        place = round((start - self.site.date).days / 7) - self.parts.early
        lacks = [words for food, words, _ in FOODS if 0 <= place < len(self.parts.weeks) and self.without[food][place]]
        return tuple(lacks)


def _sky(now: Situation, start: dt.date) -> Sky | None:
    """The weather of a week from its known days; None where none is known."""
    if now.weather is None:
        return None
    daily = now.weather.daily(now.file.zone)
    days = daily.dates.astype("datetime64[D]")
    week = (days >= np.datetime64(start)) & (days < np.datetime64(start + WEEK))
    known = week & np.isfinite(daily.high)
    if not known.any():
        return None
    burns = float(now.knowledge.figure(BURNS).value(now.region).value)
    listed = [
        (d.astype(dt.date), float(h), float(w))
        for d, h, w in zip(days[known], daily.high[known], daily.low[known], strict=True)
    ]
    rain = daily.rain[week & np.isfinite(daily.rain)]
    measured_to = now.measured.end.astimezone(now.file.zone).date() if now.measured is not None else dt.date.min
    return Sky(
        rain=float(rain.sum()) if rain.size else None,
        high=max(high for _, high, _ in listed),
        low=min(low for _, _, low in listed),
        days=len(listed),
        forecast=listed[-1][0] >= measured_to,
        heat=tuple((day, high) for day, high, _ in listed if high >= burns),
        frost=tuple((day, low) for day, _, low in listed if low <= 0),
    )


def _done(now: Situation, seen: Work) -> Job:
    node = now.knowledge.node(seen.practice, "practice")
    assert isinstance(node, Practice)
    return Job(seen.practice, node.name, node.group, seen.block or seen.habitat, seen.hours, done=True)


def _planned(now: Situation, plan: Mapping[str, Any]) -> dict[dt.date, tuple[tuple[Job, ...], float | None]]:
    """Monday -> the jobs that the plan puts into that week, and the hours there are."""
    found: dict[dt.date, tuple[tuple[Job, ...], float | None]] = {}
    for week in (plan["this_week"], *plan["next_weeks"]):
        jobs = []
        for job in week["jobs"]:
            node = now.knowledge.node(job["practice"], "practice")
            assert isinstance(node, Practice)
            place = job["block"] or job["habitat"]
            jobs.append(Job(job["practice"], node.name, node.group, place, job["hours"], done=False))
        start = monday(dt.date.fromisoformat(week["from"]))
        before = found.get(start, ((), None))
        found[start] = (*before[0], *jobs), week["hours"]
    return found
