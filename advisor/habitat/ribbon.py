"""The bloom ribbon: each plant and tree of an orchard, where it stands, when it blooms, and for whom.

Weeks are counted from the full bloom of this site's apples. A tree blooms by its own block's stages where they are
known; a plant by its usual weeks, moved where somebody saw it open, or not open, this season.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from advisor import season
from advisor.ecosystem import Knowledge, Plant
from advisor.facts.bloom_day import bloom_day
from advisor.facts.situation import Situation
from advisor.observation import PlantBloom, TreeStage
from advisor.words import OTHER

Role = Literal["tree", "understory", "habitat", "orchard"]

# Pollen of grade 1 is what wind plants and weak sources give: bees take little of it (from memory).
POLLEN_FOR_BEES = 2
CLOVER_FLOOR = "white-clover"


@dataclass(frozen=True)
class InBloom:
    """One kind at one place. begin, end: weeks from apple full bloom; seen: somebody saw it open this season."""

    plant: Plant
    place: str
    role: Role
    begin: float
    end: float
    seen: bool = False
    why: str = ""

    @property
    def nectar(self) -> bool:
        return bool(self.plant.nectar)

    @property
    def short_tongues(self) -> bool:
        """Hover flies, small bees and wasps reach nectar only in open flowers."""
        return self.nectar and self.plant.flower == "open"

    @property
    def pollen(self) -> bool:
        return (self.plant.pollen or 0) >= POLLEN_FOR_BEES

    @property
    def feeds(self) -> bool:
        return self.nectar or self.pollen

    @property
    def whom(self) -> str:
        return " and ".join(whom(self.plant)) or "wind"


def whom(plant: Plant) -> list[str]:
    """For whom a plant blooms, in words."""
    found = []
    if plant.nectar:
        found.append("nectar for all tongues" if plant.flower == "open" else "nectar for long tongues")
    if (plant.pollen or 0) >= POLLEN_FOR_BEES:
        found.append("pollen")
    return found


@dataclass(frozen=True)
class SiteBloom:
    """Full bloom of the site's apples, or the day that stands for it where no apple grows; None where nothing tells it."""

    date: dt.date | None
    seen: bool
    why: str


def site_bloom(now: Situation) -> SiteBloom:
    """The day from which weeks are counted; without apples it is reckoned from another fruit seen in full bloom."""
    if now.bloom.date is not None:
        return SiteBloom(now.bloom.date, now.bloom.seen, now.bloom.why)
    start = season.season_start(now.on, now.latitude)
    for look in now.observations:
        if not isinstance(look, TreeStage) or look.date < start or look.habitat:
            continue
        for block in now.blocks:
            plant = now.knowledge.resolve(block.fruit, kind="plant")
            if look.block not in (None, block.id) or look.code(block.fruit) != season.STAGES["full-bloom"]:
                continue
            if isinstance(plant, Plant) and plant.bloom is not None:
                middle = (plant.bloom.begin + plant.bloom.end) / 2
                day = look.date - dt.timedelta(days=round(7 * middle))
                why = f"{plant.name.capitalize()} was in full bloom on {look.date}; apple would bloom about {day}."
                return SiteBloom(day, False, why)
    return SiteBloom(None, False, now.bloom.why)


def day_of_week(site: SiteBloom, week: float) -> dt.date | None:
    """The day on which a week from apple full bloom begins."""
    return None if site.date is None else site.date + dt.timedelta(days=round(7 * week))


def ribbon(now: Situation, site: SiteBloom) -> list[InBloom]:
    """Every kind in bloom at every place, by first week; kinds that never bloom are left out."""
    found = [*_trees(now, site), *_plants(now)]
    found = [_as_seen(one, now, site) for one in found]
    found += _seen_elsewhere(found, now, site)
    return sorted(found, key=lambda one: (one.begin, one.end, one.plant.id, one.place))


def unlisted(now: Situation) -> list[str]:
    """Places whose plants nobody has listed: what blooms there is unknown, not nothing."""
    blocks = [b.id for b in now.blocks if b.understory is None and b.floor not in ("bare", "mulched")]
    return [*blocks, *(h.id for h in now.file.habitats if h.plants is None and h.kind != "nest-boxes")]


def _trees(now: Situation, site: SiteBloom) -> Iterator[InBloom]:
    for block in now.blocks:
        plant = _plant(now.knowledge, block.fruit)
        if plant is None or plant.bloom is None:
            continue
        begin, end, why = plant.bloom.begin, plant.bloom.end, ""
        own = bloom_day(now, block)
        if own is not None and site.date is not None:
            shift = (own.date - site.date).days / 7 - (begin + end) / 2
            begin, end, why = begin + shift, end + shift, own.how
        yield InBloom(plant, block.id, "tree", begin, end, bool(own and own.seen), why)


def _plants(now: Situation) -> Iterator[InBloom]:
    for block in now.blocks:
        names = list(dict.fromkeys(block.understory or ()))
        for name in names:
            yield from _usual(now.knowledge, name, block.id, "understory")
        if block.floor == "clover" and not any("clover" in name for name in names):
            for one in _usual(now.knowledge, CLOVER_FLOOR, block.id, "understory"):
                yield replace(one, why="the floor is clover; taken as white clover")
    for habitat in now.file.habitats:
        for name in dict.fromkeys(habitat.plants or ()):
            yield from _usual(now.knowledge, name, habitat.id, "habitat")


def _usual(knowledge: Knowledge, name: str, place: str, role: Role) -> Iterator[InBloom]:
    plant = _plant(knowledge, name)
    if plant is not None and plant.bloom is not None:
        yield InBloom(plant, place, role, plant.bloom.begin, plant.bloom.end)


def _plant(knowledge: Knowledge, name: str) -> Plant | None:
    node = None if name.startswith(OTHER) else knowledge.resolve(name, kind="plant")
    return node if isinstance(node, Plant) else None


def _looks(now: Situation, site: SiteBloom) -> list[tuple[float, PlantBloom]]:
    """Looks at plants this season, each with its week."""
    return [
        ((look.date - site.date).days / 7, look)
        for look in now.observations
        if isinstance(look, PlantBloom) and site.date is not None and now.this_season(look.date)
    ]


def _as_seen(one: InBloom, now: Situation, site: SiteBloom) -> InBloom:
    """Its weeks, moved by what was seen. A day seen shut narrows the usual weeks; a day seen open always counts."""
    looks = [
        (week, look)
        for week, look in _looks(now, site)
        if look.plant == one.plant.id and (look.block or look.habitat) in (None, one.place)
    ]
    if not looks:
        return one
    begin, end, middle = one.begin, one.end, (one.begin + one.end) / 2
    why = []
    for week, look in looks:
        if look.open == 0 and begin < week < end:
            begin, end = (week, end) if week < middle else (begin, week)
            why.append(f"not in flower on {look.date}")
    opened = [(week, look) for week, look in looks if look.open > 0]
    for week, look in opened:
        begin, end = min(begin, week), max(end, week + 1 / 7)
        why.append(f"in flower on {look.date}")
    return replace(one, begin=begin, end=end, seen=one.seen or bool(opened), why="; ".join([one.why, *why]).strip("; "))


def _seen_elsewhere(known: Sequence[InBloom], now: Situation, site: SiteBloom) -> list[InBloom]:
    """Plants seen in flower where nobody has listed them."""
    listed = {(one.plant.id, one.place) for one in known}
    anywhere = {one.plant.id for one in known}
    blocks = {block.id for block in now.blocks}
    found: dict[tuple[str, str], InBloom] = {}
    for week, look in _looks(now, site):
        place = look.block or look.habitat
        if look.open <= 0 or (look.plant, place) in listed or (place is None and look.plant in anywhere):
            continue
        role: Role = "orchard" if place is None else "understory" if place in blocks else "habitat"
        plant = _plant(now.knowledge, look.plant)
        if plant is None or plant.fruit:
            continue
        begin, end = (plant.bloom.begin, plant.bloom.end) if plant.bloom else (week, week + 1 / 7)
        one = InBloom(plant, place or "orchard", role, min(begin, week), max(end, week + 1 / 7), True)
        found.setdefault((plant.id, one.place), replace(one, why=f"in flower on {look.date}"))
    return list(found.values())
