"""Facts on what needs no single wetting: summed wet hours of summer, and the days and winters of powdery mildew."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import numpy as np

from advisor import season
from advisor.fact import Fact
from advisor.facts.leaves import Leaves
from advisor.facts.making import Maker
from advisor.facts.stage_dates import reached
from advisor.facts.wettings import Reading
from advisor.orchard import Block
from advisor.science import mildew, summer_disease, wet_spells
from advisor.weather import Weather

PETAL_FALL = 69
WINTER_DAYS = (-31, 75)  # December to the middle of March, counted from midwinter; half a year later in the south
SUITS = {
    "best": "; its mean of {:.1f} °C suits mildew best",
    "fair": "; at its mean of {:.1f} °C mildew grows",
    "checked": "; its mean of {:.1f} °C checks it",
}
WINTER_KNOWN = 0.9  # share of those hours that must be known for the winter's low to count as its low


def summer_facts(reading: Reading, block: Block, make: Maker) -> Iterator[Fact]:
    """Summed wetness of apples and pears since petal fall, and mildew weather of apples."""
    if block.fruit in ("apple", "pear"):
        yield from _summed(reading, block, make)
    if block.fruit in ("apple", "pear", "quince"):
        yield from _mildew(reading, block, make)


def _summed(reading: Reading, block: Block, make: Maker) -> Iterator[Fact]:
    now, leaves = reading.now, reading.leaves
    fallen = reached(now, block, PETAL_FALL)
    bbch = now.stages[block.id].bbch
    if leaves is None or fallen is None or bbch is None or bbch >= 91:
        return
    spell_least = float(now.knowledge.figure("sooty-blotch-flyspeck.spell-least").value(now.region).value)
    days = float(now.knowledge.figure("sooty-blotch-flyspeck.starts-after-petal-fall").value(now.region).value)
    first = leaves.first_hour(fallen)
    sure, least = summed_hours(leaves, first, days, spell_least)
    since = fallen + dt.timedelta(days=days)
    text = (f"wet spells of {spell_least:g} h or more since the first rain from {since} on, "
            f"{f'{days:g} days after petal fall' if days else 'petal fall'}: "
            f"{'' if sure is not None else 'at least '}{least:.0f} h ({leaves.rule})")
    values = {"block": block.id, "hours": sure, "at_least": least}
    yield make("summer-wetness", block.id, values, origin=("weather", *now.stages[block.id].observations), text=text,
               sources=("brown-sutton-1995-wetness",))


def summed_hours(leaves: Leaves, petal_fall: int, days: float, least: float) -> tuple[float | None, float]:
    """Wet hours of the count up to now: as they are (None where hours are missing), and at least."""
    rain = leaves.rain[:leaves.now_at]
    begin = summer_disease.count_starts(rain, petal_fall, days)
    if begin is None:
        return 0.0, 0.0
    known = wet_spells.spells(leaves.least[begin:leaves.now_at], dry_hours=1)
    total = summer_disease.wet_hours(known.wet_hours, least)
    missing = bool(leaves.unknown[begin:leaves.now_at].any())
    late = petal_fall + 24 * days < 0 or petal_fall == 0  # the record begins after petal fall
    return (None if missing or late else total), total


def _mildew(reading: Reading, block: Block, make: Maker) -> Iterator[Fact]:
    now = reading.now
    if now.measured is None:
        return
    low = winter_low(now.measured, season.season_start(now.on, now.latitude), now.file.zone, now.now)
    week = now.measured.between(now.now - dt.timedelta(days=7), now.now).daily(now.file.zone)
    days = mildew.infection_days(week.rain, week.high) if len(week.dates) >= 7 else float("nan")
    carried = None if low is None else mildew.bud_carry_over(low)
    values = {
        "block": block.id,
        "winter_low": low,
        "carry_over": carried.replace(" ", "-") if carried else None,
        "infection_days": None if np.isnan(days) else days,
    }
    winter = "the winter's low is not known" if low is None else f"winter low {low:.1f} °C: carry-over {carried}"
    middle = float(np.mean((np.asarray(week.low) + np.asarray(week.high)) / 2)) if len(week.dates) else float("nan")
    suits = mildew.warmth(middle)
    warmth = SUITS[suits].format(middle) if suits and not np.isnan(days) else ""
    past = "the last week is not known" if np.isnan(days) else f"{days:.0f} dry days above 11.7 °C in the last week"
    yield make("mildew-weather", block.id, values, origin=("weather",), text=f"{winter}; {past}{warmth}",
               sources=("niab-mildew", "ohio-2016-mildew", "yoder-2019-mildew"))


def winter_low(weather: Weather, midwinter: dt.date, zone: dt.tzinfo, now: dt.datetime) -> float | None:
    """The lowest temperature of the winter round a season's start; None where too many of its hours are unknown."""
    begin, end = (dt.datetime.combine(midwinter + dt.timedelta(days=d), dt.time(), zone) for d in WINTER_DAYS)
    temps = weather.between(begin, min(end, now)).temp_c
    known = temps[np.isfinite(temps)]
    if known.size < WINTER_KNOWN * (end - begin).total_seconds() / 3600:
        return None
    return float(known.min())
