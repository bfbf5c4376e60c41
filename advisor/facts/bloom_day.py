"""The day on which a block's own trees were in full bloom, as well as it is known."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from advisor import season
from advisor.ecosystem import Plant
from advisor.facts.situation import Situation
from advisor.facts.stage_dates import reached
from advisor.observation import TreeStage
from advisor.orchard import Block

FULL_BLOOM = 65
# Stages from which full bloom can be reckoned back without being far out.
_NEAR_BLOOM = (57, 73)


@dataclass(frozen=True)
class BloomDay:
    """A day of full bloom; `seen` where somebody wrote it down, else reckoned, and `how` says so."""

    date: dt.date
    seen: bool
    how: str


def bloom_day(now: Situation, block: Block) -> BloomDay | None:
    """Full bloom of a block this season: seen there, reckoned from a stage near it, or from the site's apples.

    None before bloom, and where nothing tells it. Fruits other than apple keep their usual distance from apple bloom.
    """
    code = now.stages[block.id].bbch
    if code is not None and code < FULL_BLOOM:
        return None
    start = season.season_start(now.on, now.latitude)
    looks = [
        (look.date, look.code(block.fruit))
        for look in now.observations
        if isinstance(look, TreeStage) and look.date >= start and not look.habitat and look.block in (None, block.id)
    ]
    exact = [day for day, stage in looks if stage == FULL_BLOOM]
    if exact:
        return BloomDay(min(exact), True, f"full bloom was seen on {min(exact)}")
    first, last = _NEAR_BLOOM
    if any(stage is not None and first <= stage <= last for _, stage in looks):
        day = reached(now, block, FULL_BLOOM)
        if day is not None and day <= now.on:
            return BloomDay(day, False, f"full bloom was about {day}, reckoned from the stages seen near it")
    if now.bloom.date is None or now.bloom.date > now.on:
        return None
    if block.fruit == "apple":
        how = f"full bloom was {'' if now.bloom.seen else 'about '}{now.bloom.date}"
        return BloomDay(now.bloom.date, now.bloom.seen, how)
    plant = now.knowledge.resolve(block.fruit, kind="plant")
    bloom = plant.bloom if isinstance(plant, Plant) else None
    if bloom is None or isinstance(bloom, str):
        return None
    day = now.bloom.date + dt.timedelta(days=round(3.5 * (bloom.begin + bloom.end)))
    if day > now.on:  # quinces bloom after the apples that told the day
        return None
    return BloomDay(day, False, f"full bloom was about {day}, by its usual distance from that of the apples")
