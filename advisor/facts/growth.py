"""Facts on stages, season, flowers, plants that carry trouble, and shelter."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import numpy as np

from advisor import season
from advisor.blocks import nearest_region
from advisor.ecosystem import Knowledge, Link, Plant
from advisor.fact import Fact
from advisor.facts import feed
from advisor.facts.climate import Winter, freezes, winter_of
from advisor.facts.given import places
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.observation import Intent, PlantBloom
from advisor.science.sun import sun_hours
from advisor.season import Stage

# Where an orchard of each guidance stands, in the words that plants use for where they are invasive.
REGIONS = {
    "new-york": {"north-america", "eastern-us"},
    "new-england": {"north-america", "eastern-us", "new-england"},
    "michigan": {"north-america", "eastern-us"},
    "ontario": {"north-america"},
    "mid-atlantic": {"north-america", "eastern-us"},
    "washington": {"north-america", "pacific-coast"},
    "california": {"north-america", "pacific-coast"},
    "uk": {"europe", "uk"},
    "central-europe": {"europe"},
    "new-zealand": {"new-zealand"},
    "australia": {"australia"},
}

SAME_REGION_KM = 1500.0  # from a region's middle; farther off its list of invasive plants says nothing (from memory)

# Leaves fall in the two months before midwinter; a look at them stands for a month (common practice, no source).
BEFORE_MIDWINTER, LEAF_LOOK_DAYS = dt.timedelta(days=61), 30
FRUIT_SET, BARE = 71, 97  # BBCH
RESTING_LATE = 10  # weeks after the usual bud swell by which every tree that rests in winter has broken bud

# Days from the season's start (1 January, or 1 July) to midsummer and to the equinox of autumn, and the latitude nearer the
# equator than which trees may rest at other times (common practice, no source).
MIDSUMMER, AUTUMN, RESTS_IN_WINTER = dt.timedelta(days=172), dt.timedelta(days=264), 30.0

# Taller plants than this stand in the branches of small trees (cm; common practice, no source).
TALL_UNDER_TREES = 90


def stage_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    for block in now.blocks:
        stage = now.stages[block.id]
        bloom_days = None if now.weeks is None or block.fruit != "apple" else round(now.weeks * 7)
        if stage.bbch is None:
            continue
        yield make(
            "stage",
            block.id,
            {
                "block": block.id,
                "fruit": block.fruit,
                "bbch": stage.bbch,
                "seen": not stage.estimated,
                "at_least": stage.at_least,
                "stale": stage.stale,
                "may_be_bare": _may_be_bare(now, stage),
                "days_ago": now.days_ago(stage.seen) if stage.seen else None,
                "days_from_bloom": bloom_days,
            },
            origin=stage.observations or ("weather",),
            text=stage.why,
            sources=stage.sources,
        )


def _may_be_bare(now: Situation, stage: Stage) -> bool:
    """Whether trees that were seen in leaf may have dropped it since: late autumn, and nobody has looked for a month."""
    if stage.bbch is None or stage.seen is None or not FRUIT_SET <= stage.bbch < BARE:
        return False
    coming = season.season_start(now.on + BEFORE_MIDWINTER, now.latitude)
    return coming > now.on and now.days_ago(stage.seen) > LEAF_LOOK_DAYS


def season_fact(now: Situation, make: Maker) -> Iterator[Fact]:
    codes = [stage.bbch for stage in now.stages.values()]
    known = [code for code in codes if code is not None]
    bare = [code >= 97 or code < 51 for code in known]
    winter = False if not all(bare) or _towards_autumn(now) else True if bare and len(known) == len(codes) else None
    lengths = [_day_length(now, shift) for shift in (0, 1)]
    yield make(
        "season",
        "",
        {
            "weeks_from_bloom": now.weeks,
            "buds_swell_in": _buds_swell_in(now),
            "winter": winter,
            "day_length": lengths[0],
            "days_lengthen": lengths[1] > lengths[0],
        },
        origin=tuple(sorted({o for stage in now.stages.values() for o in stage.observations})) or ("orchard",),
        text=now.bloom.why,
        sources=now.bloom.sources,
    )


def _buds_swell_in(now: Situation) -> int:
    """Days until apple buds usually swell next; a week where that day is past and they may still be at rest."""
    weeks = feed.figure(now, "feed.bud-swell-weeks") - feed.weeks_on(now, now.on)
    return max(7, round(7 * (weeks if weeks > -RESTING_LATE else weeks + feed.YEAR_WEEKS)))


def _towards_autumn(now: Situation) -> bool:
    """Between midsummer and the equinox of autumn, when no fruit tree that rests in winter stands bare."""
    if abs(now.latitude) < RESTS_IN_WINTER:
        return False
    since = now.on - season.season_start(now.on, now.latitude)
    return MIDSUMMER <= since < AUTUMN


def _day_length(now: Situation, shift: int) -> float:
    """Hours from sunrise to sunset; towards the poles, where there may be neither, all of the day or nothing."""
    day = now.on + dt.timedelta(days=shift)
    rise, set_ = sun_hours(now.latitude, now.file.orchard.longitude, day)
    if np.isnan(rise) or np.isnan(set_):
        north_has_summer = (3, 20) < (day.month, day.day) < (9, 23)
        return 24.0 if north_has_summer == (now.latitude > 0) else 0.0
    return float(set_ - rise)


def winter_fact(now: Situation, make: Maker) -> Iterator[Fact]:
    """How cold a usual winter gets, where the grower or the weather tells it."""
    winter = winter_of(now)
    if winter.coldest is not None:
        yield make("usual-winter", "", {"coldest": winter.coldest}, origin=_told_by(winter), text=winter.text)


def _told_by(winter: Winter) -> tuple[str, ...]:
    return {"given": ("orchard",), "weather": ("weather",)}.get(winter.known_by or "", ())


def flower_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """What is in bloom: as seen in the last ten days, otherwise by the plant's usual weeks from apple bloom."""
    seen: dict[tuple[str, str], PlantBloom] = {}
    for look in now.observations:
        if isinstance(look, PlantBloom) and now.days_ago(look.date) <= 10:
            for _, place in places(now, look.block, look.habitat):
                seen[(place, look.plant)] = look
    here = [("block", b.id, p) for b in now.blocks for p in b.understory or ()]
    here += [("habitat", h.id, p) for h in now.file.habitats for p in h.plants or ()]
    listed = {(place, plant) for _, place, plant in here}
    blocks = {b.id for b in now.blocks}
    here += [
        ("block" if place in blocks else "habitat", place, plant)
        for place, plant in seen
        if (place, plant) not in listed
    ]
    for where, place, name in here:
        plant = now.knowledge.resolve(name, kind="plant")
        observation = seen.get((place, name))
        if observation is not None and observation.open is not None:
            blooms = observation.open > 0
        else:
            blooms = plant is not None and _in_bloom(plant, now.weeks)
        if blooms:
            yield make(
                "flowering",
                f"{place}:{name}",
                {
                    where: place,
                    "plant": name,
                    "seen": observation is not None,
                    "open": observation.open if observation else None,
                    "nectar": getattr(plant, "nectar", None),
                    "pollen": getattr(plant, "pollen", None),
                },
                origin=(observation.id,) if observation else ("orchard", "knowledge"),
                sources=tuple(plant.sources) if plant else (),
            )


def _in_bloom(plant: object, weeks: float | None) -> bool:
    bloom = getattr(plant, "bloom", None)
    if weeks is None or bloom is None:
        return False
    return bool(bloom.begin <= weeks <= bloom.end)


def plant_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Plants here, or meant to be planted, that host a trouble of a block's fruit; and the nature of those plants."""
    here: dict[str, list[tuple[str | None, str | None, float | None]]] = {}
    for block in now.blocks:
        for plant in block.understory or ():
            here.setdefault(plant, []).append((block.id, None, 0.0))
    for habitat in now.file.habitats:
        for plant in habitat.plants or ():
            here.setdefault(plant, []).append((None, habitat.id, habitat.distance))
    for plant, spots in here.items():
        for link, trouble in _troubles(now.knowledge, plant):
            for block in now.blocks:
                if block.fruit in trouble and block.fruit != plant:
                    for at_block, at_habitat, distance in spots:
                        if at_block in (None, block.id):
                            yield make(
                                "risk-plant",
                                f"{block.id}:{plant}:{link.end}:{at_habitat or 'understory'}",
                                {
                                    "block": block.id,
                                    "plant": plant,
                                    "trouble": link.end,
                                    "role": _role(link),
                                    "habitat": at_habitat,
                                    "distance": distance,
                                },
                                origin=("orchard", "knowledge"),
                                sources=(link.source,) if link.source else (),
                            )
    meant = [o for o in now.observations if isinstance(o, Intent) and o.target and (o.day is None or o.day >= now.on)]
    for intent in meant:
        for link, trouble in _troubles(now.knowledge, str(intent.target)):
            for block in now.blocks:
                if block.fruit in trouble and intent.block in (None, block.id):
                    yield make(
                        "risk-if-planted",
                        f"{intent.id}:{block.id}:{link.end}",
                        {
                            "intent": intent.id,
                            "block": block.id,
                            "plant": intent.target,
                            "trouble": link.end,
                            "role": _role(link),
                        },
                        origin=(intent.id, "knowledge"),
                        sources=(link.source,) if link.source else (),
                    )
    winter = winter_of(now)
    for name in sorted({*here, *(str(o.target) for o in meant)}):
        node = now.knowledge.resolve(name, kind="plant")
        if isinstance(node, Plant):
            yield make("plant-nature", node.id, _nature(now, node, winter), origin=("knowledge", *_told_by(winter)),
                       sources=tuple(node.sources))  # fmt: skip


def _troubles(knowledge: Knowledge, plant: str) -> Iterator[tuple[Link, frozenset[str]]]:
    """Links from a plant to the pests and diseases that it hosts, with the fruits that they trouble."""
    node = knowledge.resolve(plant, kind="plant")
    if node is None:
        return
    links = [k for k in knowledge.links_from(node.id) if k.link in ("hosts", "alternate-host-of", "spreads")]
    alternate = {k.end for k in links if k.link == "alternate-host-of"}
    done: set[str] = set()
    for link in sorted(links, key=lambda k: k.link != "alternate-host-of"):
        trouble = knowledge.nodes.get(link.end)
        fruits = frozenset(getattr(trouble, "fruits", ()) or ())
        if fruits and link.end not in done and (link.link != "spreads" or link.end in alternate):
            done.add(link.end)
            yield link, fruits


def _role(link: Link) -> str:
    return "alternate-host" if link.link == "alternate-host-of" else "host"


def _stands_in(now: Situation) -> bool:
    """Whether the orchard stands in the region whose figures it uses, and does not only have none nearer."""
    place = now.file.orchard
    if place.guidance is not None or place.longitude is None:
        return True
    return nearest_region(place.latitude, place.longitude)[1] <= SAME_REGION_KM


def _nature(now: Situation, plant: Plant, winter: Winter) -> dict[str, object]:
    regions = REGIONS.get(now.region, set()) if _stands_in(now) else set()
    return {
        "plant": plant.id,
        "permanent": plant.permanent,
        "spreads": plant.spreads,
        "fixes_nitrogen": plant.fixes_nitrogen,
        "root": plant.root,
        "toxic": bool(plant.toxic),
        "invasive_here": bool(regions & set(plant.invasive_in or ())),
        "freezes_here": freezes(plant.hardiness, winter),
        "tall": plant.height.max > TALL_UNDER_TREES if plant.height and plant.height.max else None,
    }
