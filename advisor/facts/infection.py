"""Facts on infection: what the wettings of the season did to each block, and what the next days bring.

Blocks share the weather of their site: leaves are wetted once, and each disease reads them by the stages of a block.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import numpy as np

from advisor.fact import Fact
from advisor.facts import covers as known_covers
from advisor.facts.blight import blight_facts
from advisor.facts.infections import Infection, Judge, judges_of, shows_on
from advisor.facts.leaves import Leaves
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.facts.spores import spore_seasons
from advisor.facts.summer import summer_facts
from advisor.facts.wettings import SHORT_LIVED, Reading
from advisor.observation import Work
from advisor.orchard import Block
from advisor.science import scab
from advisor.sentences import in_words

DAYS_BACK = 30  # how long past infections are kept as facts
DAYS_AHEAD = 3


def infection_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """All facts on infection, for every block."""
    reading = Reading.of(now)
    yield from _wet_days(reading, make)
    for block in now.blocks:
        yield from known_covers.disease_here(now, block, make)
        yield from known_covers.resistances(block, make)
        covers = known_covers.covers_of(now, block)
        yield from known_covers.cover_fact(reading, block, covers, make)
        for judge in judges_of(block.fruit):
            yield from _events(reading, block, judge, covers, make)
        yield from spore_seasons(reading, block, covers, make)
        yield from blight_facts(reading, block, make)
        yield from summer_facts(reading, block, make)


# --- what the weather was and will be -----------------------------------------------------------


def _wet_days(reading: Reading, make: Maker) -> Iterator[Fact]:
    leaves, now = reading.leaves, reading.now
    for distance in range(-3, DAYS_AHEAD + 1):
        day = now.on + dt.timedelta(days=distance)
        rain = wet_hours = None
        origin: tuple[str, ...] = ("weather",)
        if leaves is not None:
            first, end = leaves.first_hour(day), leaves.first_hour(day + dt.timedelta(days=1))
            fell = leaves.rain[first:end]
            whole = end - first >= 23
            if whole and np.isfinite(fell).all():
                rain = float(fell.sum())
            elif np.nansum(fell) >= scab.RELEASING_RAIN_MM:
                rain = float(np.nansum(fell))  # at least so much
            if whole and not leaves.unknown[first:end].any():
                wet_hours = float(leaves.share[first:end].sum())
        written = reading.written.get(distance)
        if rain is None and written is not None and written.rain is not None:
            rain, origin = written.rain, (written.id,)
        if rain is not None:
            wet = rain >= scab.RELEASING_RAIN_MM
            values = {"day": distance, "rain": rain, "wet_hours": wet_hours, "wet": wet, "forecast": distance > 0}
            yield make("wet-day", str(distance), values, origin=origin, text=f"{day}: {rain:.3g} mm of rain")


def _events(reading: Reading, block: Block, judge: Judge, covers: list[Work], make: Maker) -> Iterator[Fact]:
    """Infections of the last weeks and the next days, and the outlook for each part that is open now."""
    leaves, now = reading.leaves, reading.now
    found = reading.of_block(block, judge)
    about = {"block": block.id, "disease": judge.disease, "part": judge.part}
    for one in found:
        assert leaves is not None
        date = leaves.date(one.first)
        if now.days_ago(date) > DAYS_BACK:
            continue
        shown = shows_on(leaves, one) if one.severity else None
        start = f"{leaves.moment(one.first):%Y-%m-%d %H:%M}"
        yield make(
            "infection",
            f"{block.id}:{judge.disease}:{judge.part}:{start}",
            {
                **about,
                "start": start,
                "severity": one.severity,
                "wet_hours": one.hours,
                "mean": one.mean_c,
                "rain": one.rain_mm,
                "days_ago": now.days_ago(date),
                "forecast": one.end > leaves.now_at,
                "covered": known_covers.covered(now, leaves, one, covers),
                "reached": _reached(leaves, one),
                "shows_in": None if shown is None else (shown - now.on).days,
            },
            origin=("weather", *now.stages[block.id].observations),
            text=f"{in_words(judge.disease)}, wetting from {start}: {one.text}",
            sources=one.sources,
        )
    stage = now.stages[block.id]
    if stage.bbch is None or judge.opens - 3 <= stage.bbch < judge.closes:
        values, text, origin = _outlook(reading, block, judge, found)
        yield make("infection-outlook", f"{block.id}:{judge.disease}:{judge.part}", {**about, **values}, origin=origin,
                   text=text, sources=judge.sources)


def _reached(leaves: Leaves, one: Infection) -> bool | None:
    """Whether a protectant put on now would still reach the fungus: by the degree-hours since the wetting began."""
    passed = leaves.temp[one.first:leaves.now_at]
    if not len(passed):
        return True
    if np.isnan(passed).any():
        beyond = scab.contact_reaches(1.0, float(np.nansum(np.maximum(passed, 0.0)))) is False
        return False if beyond else None
    answer = scab.contact_reaches(len(passed), float(np.mean(passed)))
    return None if answer is None else bool(answer)


def _outlook(reading: Reading, block: Block, judge: Judge,
             found: list[Infection]) -> tuple[dict[str, object], str, tuple[str, ...]]:
    """What comes: an infecting wetting, one that may infect, none; nothing where the forecast does not tell."""
    leaves, now = reading.leaves, reading.now
    stage = now.stages[block.id]
    if stage.bbch is None:
        return {}, "the stage of the trees is not known", ()
    if stage.stale and judge.part in SHORT_LIVED:
        return {}, f"whether {judge.part} is still open is not known", ()
    if leaves is None or len(leaves) <= leaves.now_at:
        return _written_outlook(reading, block, judge)
    if stage.bbch < judge.opens:
        first = leaves.first_hour(now.on)  # the block may open within these days
        found = [one for one in reading.between(block, judge, first, len(leaves)) if one.end > leaves.now_at]
    ahead = [one for one in found if one.end > leaves.now_at and (leaves.date(one.first) - now.on).days <= DAYS_AHEAD]
    for one in ahead:
        if one.first < leaves.now_at and _reached(leaves, one) is not True:
            continue  # under way for so long that a protectant comes too late for it
        if one.severity is not None and one.hours is not None:
            starts = max(0, (leaves.date(one.first) - now.on).days)
            values: dict[str, object] = {"coming": "infects", "starts_in": starts, "severity": one.severity,
                                         "wet_hours": one.hours, "mean": one.mean_c}
            return values, f"forecast wetting from {leaves.moment(one.first):%Y-%m-%d %H:%M}: {one.text}", ("forecast",)
    if any(one.severity is None for one in ahead) or len(leaves) - leaves.now_at < 24:
        return {}, "the forecast leaves hours open that may be wet", ("forecast",)
    return {"coming": "none"}, "no wetting of the forecast is long and warm enough to infect", ("forecast",)


def _written_outlook(reading: Reading, block: Block, judge: Judge) -> tuple[dict[str, object], str, tuple[str, ...]]:
    """From a forecast of days: rain may infect at a temperature that has a figure; how long leaves stay wet is open."""
    days = {distance: seen for distance, seen in reading.written.items() if 0 <= distance <= DAYS_AHEAD}
    origin = tuple(seen.id for seen in days.values())
    for distance, seen in sorted(days.items()):
        if seen.rain is None or seen.rain < scab.RELEASING_RAIN_MM:
            continue
        warm = [t for t in (seen.low, seen.high) if t is not None]
        values: dict[str, object] = {"coming": "may-infect", "starts_in": distance}
        if len(warm) < 2:
            return values, f"{seen.rain:.3g} mm of rain are forecast; how warm is not known", origin
        mean = sum(warm) / 2
        needed = judge.need(block.fruit, mean)
        if needed is not None:
            values |= {"mean": mean, "needs_hours": needed}
            return values, f"{seen.rain:.3g} mm of rain at about {mean:.1f} °C; {needed:.3g} h wet infect", origin
    if 1 in days and all(seen.rain is not None for seen in days.values()):
        return {"coming": "none"}, "no rain that could infect is forecast", origin
    return {}, "no forecast tells", ()
