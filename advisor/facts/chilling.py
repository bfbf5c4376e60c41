"""Facts on winter chill: how much there was so far, against what the cultivars of a block need where that is known."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator

import numpy as np

from advisor import season
from advisor.fact import Fact
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.science import chill
from advisor.science.chill_needs import portions_needed

# Chill counts from two months before midwinter: the first of November, or of May in the south (common practice, no
# source).
_BEFORE_MIDWINTER = dt.timedelta(days=61)
# Days from midwinter after which a winter's chill is told (the middle of March, or of September; common practice).
_TOLD_AFTER = dt.timedelta(days=74)
_SOURCE = "uc-davis-chill-table"


def facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Chill of the winter before the bloom of this season (from late autumn on, of the season that comes)."""
    if now.measured is None:
        return
    midwinter = season.season_start(now.on + _BEFORE_MIDWINTER, now.latitude)
    begin, told_on = midwinter - _BEFORE_MIDWINTER, midwinter + _TOLD_AFTER
    days = (dt.datetime.combine(day, dt.time(), now.file.zone) for day in (begin, told_on))
    first, last = (moment.astimezone(dt.UTC) for moment in days)  # clocks change in between
    end = min(now.now.astimezone(dt.UTC), last)
    part = now.measured.between(first, end)
    if not len(part):
        return
    portions, hours = _sums(part.temp_c)
    whole = len(part) >= (end - first) // dt.timedelta(hours=1) and not np.isnan(part.temp_c).any()
    utah = float(chill.utah_units(part.temp_c)) if whole else None  # warm hours take away: no sum over gaps
    told = now.on >= told_on
    for block in now.blocks:
        needs = [(portions_needed(block.fruit, name), name) for name in block.cultivars or ()]
        listed = [(need, name) for need, name in needs if need is not None]
        most, cultivar = max(listed) if listed else (None, None)
        met = None
        if most is not None:
            met = True if portions >= most else False if told and whole else None
        least = "" if whole else "at least "
        units = "" if utah is None else f", {utah:.0f} Utah units"
        text = f"{least}{portions:.0f} chill portions{units} and {least}{hours:.0f} chill hours since {begin}"
        text += f"; {cultivar} needs about {most:g} portions" if most else "; no published figure for these cultivars"
        yield make(
            "chill",
            block.id,
            {"block": block.id, "portions": portions, "hours": hours, "utah": utah, "at_least": not whole, "needs": most,
             "cultivar": cultivar, "met": met, "told": told},
            origin=("weather",),
            text=text,
            sources=(_SOURCE,) if most is not None else (),
        )  # fmt: skip


def _sums(temp: np.ndarray) -> tuple[float, float]:
    """Portions and hours, each stretch without missing hours for itself: with gaps both are at least so much."""
    portions = hours = 0.0
    known = ~np.isnan(temp)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], known, [False])).astype(int)))
    for first, end in zip(edges[::2], edges[1::2], strict=True):
        stretch = temp[first:end]
        portions += float(chill.chill_portions(stretch))
        hours += float(chill.chill_hours(stretch))
    assert math.isfinite(portions)
    return portions, hours
