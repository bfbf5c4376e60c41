"""Everything that is given, seen and computed, turned into facts: flat, named, dated, each knowing where it came from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from advisor.conditions import Kind
from advisor.fact import Fact
from advisor.facts import (
    crop,
    feed,
    frost,
    given,
    growth,
    harvest,
    infection,
    insects,
    observed,
    pollination,
    sky,
    spraying,
    water,
)
from advisor.facts.making import Maker
from advisor.facts.observed import Stale
from advisor.facts.situation import Situation

__all__ = ["Gathered", "Situation", "Stale", "gather"]


@dataclass(frozen=True)
class Gathered:
    """The facts of one day, and the observations that no longer stand."""

    facts: tuple[Fact, ...]
    stale: tuple[Stale, ...]


def gather(now: Situation, kinds: Mapping[str, Kind]) -> Gathered:
    """All facts of a situation, in the kinds and units that the rules declare."""
    make = Maker(kinds)
    stale: list[Stale] = []
    facts: dict[str, Fact] = {}
    for source in (
        given.orchard_facts(now, make),
        given.work_facts(now, make),
        given.intent_facts(now, make),
        given.gap_facts(now, make),
        observed.observed_facts(now, make, stale),
        growth.stage_facts(now, make),
        growth.season_fact(now, make),
        growth.flower_facts(now, make),
        growth.plant_facts(now, make),
        sky.recent_weather(now, make),
        sky.outlook(now, make),
        frost.facts(now, make),
        water.facts(now, make),
        pollination.facts(now, make),
        spraying.facts(now, make),
        infection.infection_facts(now, make),
        insects.insect_facts(now, make),
        crop.crop_facts(now, make),
        harvest.harvest_facts(now, make),
    ):
        for fact in source:
            facts[fact.id] = fact
    for fact in [*observed.file_mulch(now, make, facts), *growth.sward_facts(now, make, list(facts.values()))]:
        facts[fact.id] = fact
    facts |= {fact.id: fact for fact in feed.feed_facts(now, make, facts)}
    return Gathered(tuple(facts.values()), tuple(stale))
