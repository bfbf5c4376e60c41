"""Everything that is given, seen and computed, turned into facts: flat, named, dated, each knowing where it came from."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from itertools import chain

from advisor.conditions import Kind
from advisor.fact import Fact
from advisor.facts import (
    chilling,
    crop,
    cuts,
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
    supplies,
    water,
    yields,
)
from advisor.facts.making import Maker
from advisor.facts.observed import Stale
from advisor.facts.situation import Situation

__all__ = ["SOURCES", "Gathered", "Situation", "Stale", "gather"]


Source = Callable[[Situation, Maker], Iterable[Fact]]

# Every source of facts. A slow one names the kinds of observation that it reads, besides what stages rest on: where no
# other kind has changed, what it found stands. The others are quick, and are always asked again.
SOURCES: tuple[tuple[Source, frozenset[str] | None], ...] = (
    (given.orchard_facts, None),
    (given.work_facts, None),
    (given.intent_facts, None),
    (given.gap_facts, None),
    (growth.stage_facts, None),
    (growth.season_fact, None),
    (growth.winter_fact, None),
    (growth.flower_facts, None),
    (growth.plant_facts, None),
    (sky.recent_weather, frozenset()),
    (sky.outlook, None),
    (frost.facts, frozenset({"intent", "bud-kill", "forecast"})),
    (water.facts, frozenset({"soil-water", "work", "mulch", "forecast"})),
    (pollination.facts, None),
    (chilling.facts, frozenset()),
    (spraying.facts, frozenset({"intent", "work", "forecast"})),
    (infection.infection_facts, frozenset({"disease-sign", "leaf-fall", "work", "forecast"})),
    (insects.insect_facts, frozenset({"pest-count", "pest-damage", "ally-count", "work", "intent"})),
    (crop.crop_facts, None),
    (yields.yield_facts, None),
    (harvest.harvest_facts, None),
)
# Stages and full bloom rest on these; where one changes, everything is asked again.
STAGED = frozenset({"tree-stage", "plant-bloom"})


@dataclass(frozen=True)
class Gathered:
    """The facts of one day, the observations that no longer stand, and what each of SOURCES found."""

    facts: tuple[Fact, ...]
    stale: tuple[Stale, ...]
    parts: tuple[tuple[Fact, ...], ...] = ()


def gather(now: Situation, kinds: Mapping[str, Kind], before: Gathered | None = None,
           changed: Collection[str] = ()) -> Gathered:  # fmt: skip
    """All facts of a situation, in the kinds and units that the rules declare.

    before, changed: what was gathered when only observations of these kinds were others; the rest of the situation,
    stages too, must be the same.
    """
    make = Maker(kinds, now.file.file)
    stale: list[Stale] = []
    kept = before.parts if before is not None and not STAGED.intersection(changed) else ()
    parts = tuple(
        kept[place] if kept and reads is not None and reads.isdisjoint(changed) else tuple(source(now, make))
        for place, (source, reads) in enumerate(SOURCES)
    )
    facts: dict[str, Fact] = {}
    for fact in (*observed.observed_facts(now, make, stale), *chain.from_iterable(parts)):
        facts[fact.id] = fact
    for fact in [*observed.file_mulch(now, make, facts), *cuts.feed_of_swards(now, make, list(facts.values()))]:
        facts[fact.id] = fact
    facts |= {fact.id: fact for fact in feed.feed_facts(now, make, facts)}
    facts |= {fact.id: fact for fact in supplies.supply_facts(now, make, facts)}
    return Gathered(tuple(facts.values()), tuple(stale), parts)
