"""Trap catches of a season: checks in order, when a flight is proven, weekly catches, totals."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from advisor.facts.given import places
from advisor.facts.situation import Situation
from advisor.observation import PestCount
from advisor.orchard import Block
from advisor.science import insects, sun

MOTH_TRAPS = frozenset({None, "pheromone"})
LATELY = 10  # days for which a check stands


@dataclass(frozen=True)
class Check:
    """The catch of one kind of trap on one day; None where two looks of that day disagree."""

    day: dt.date
    count: float | None
    days: float | None
    trap_area: float | None
    origin: tuple[str, ...]


@dataclass(frozen=True)
class Flight:
    """When a flight began, and by which rule."""

    day: dt.date
    why: str
    origin: tuple[str, ...]


def looks_at(now: Situation, block: Block, pest: str) -> list[PestCount]:
    """Counts of a pest in a block, oldest first."""
    return [o for o in now.observations if isinstance(o, PestCount) and o.pest == pest
            and ("block", block.id) in places(now, o.block, o.habitat)]


def checks(now: Situation, block: Block, pest: str, traps: frozenset[str | None]) -> list[Check]:
    """This season's trap checks, oldest first; of a trap at the edge and one inside the fuller counts."""
    by_day: dict[dt.date, dict[str | None, list[PestCount]]] = {}
    for look in looks_at(now, block, pest):
        is_trap = look.per in ("trap", None) and look.trap in traps
        if is_trap and look.count is not None and now.this_season(look.date):
            by_day.setdefault(look.date, {}).setdefault(look.at, []).append(look)
    found = []
    for day, by_trap in sorted(by_day.items()):
        at_odds = any(len({look.count for look in looks}) > 1 for looks in by_trap.values())
        every = [look for looks in by_trap.values() for look in looks]
        fullest = max(every, key=lambda look: look.count or 0.0)
        found.append(Check(day, None if at_odds else fullest.count, fullest.days, fullest.trap_area,
                           tuple(look.id for look in every)))
    return found


def lately_read(now: Situation, block: Block, pest: str) -> bool:
    """Whether a moth trap was read so lately that its word on the flight stands."""
    read = checks(now, block, pest, MOTH_TRAPS)
    return bool(read) and now.days_ago(read[-1].day) <= LATELY


def flight(now: Situation, block: Block, pest: str) -> Flight | None:
    """The day from which heat of a moth or scale is counted, by the rule of the region; None while none is proven.

    California asks for three warm evenings running, which only daily checks can show; with other checks, and elsewhere,
    Michigan's two checks running count. A first check of three moths or more proves the flight before the second is
    read (Purdue).
    """
    read = checks(now, block, pest, MOTH_TRAPS)
    if not read:
        return None
    caught = [np.nan if check.count is None else check.count for check in read]
    days = [(check.day - read[0].day).days for check in read]
    place, why = None, ""
    if now.region == "california" and pest == "codling-moth" and len(days) > 1 and min(np.diff(days)) == 1:
        figure = now.knowledge.figure
        least = float(figure("codling-moth.biofix-sunset").value().value)
        needed = int(figure("codling-moth.biofix-checks").value("california").value)
        place = insects.biofix(caught, "california", days, [_sunset_c(now, c.day) for c in read], checks=needed,
                               least_sunset_c=least)
        why = f"first of {needed} days running with moths and at least {least:g} °C at sunset, California"
    else:
        place = insects.biofix(caught, "michigan")
        why = "first of two checks running with catches, Michigan"
        moths = float(now.knowledge.figure("codling-moth.biofix-moths").value().value)
        if place is None and len(caught) and caught[-1] >= moths and pest == "codling-moth":
            place, why = len(caught) - 1, f"a check with {moths:g} moths or more, Purdue"
    if place is None:
        return None
    return Flight(read[place].day, why, tuple(id for check in read[place:place + 2] for id in check.origin))


def _sunset_c(now: Situation, day: dt.date) -> float:
    """Temperature in the hour of sunset; NaN where it is not known."""
    longitude = now.file.orchard.longitude
    moment = None if longitude is None else sun.sunset(now.latitude, longitude, day)
    if moment is None or now.measured is None:
        return float("nan")
    hour = moment.replace(minute=0, second=0, microsecond=0)
    temps = now.measured.between(hour, hour + dt.timedelta(hours=1)).temp_c
    return float(temps[0]) if len(temps) else float("nan")


def weekly(now: Situation, read: list[Check]) -> list[float]:
    """Catch a week at each check; over the days that the trap was out, or since the check before, or a week."""
    found = []
    for i, check in enumerate(read):
        out = check.days or ((check.day - read[i - 1].day).days if i else 7)
        found.append(float("nan") if check.count is None else float(insects.per_week(check.count, max(1.0, out))))
    return found
