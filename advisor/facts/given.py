"""Facts from the orchard file itself, the work log and the intents."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from advisor import season, words
from advisor.ecosystem import Knowledge
from advisor.fact import Fact
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.knowledge_schema import Material, Practice
from advisor.observation import Intent, Work
from advisor.orchard import Block, Habitat
from advisor.science import rootstock
from advisor.sentences import in_words

# A block younger than this counts as young (common practice, no source): its trees are not yet expected to crop.
YOUNG_YEARS = 5


def orchard_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    orchard = now.file.orchard
    hours = orchard.hours_per_week
    yield make(
        "orchard",
        "",
        {
            "standard": orchard.standard,
            "hemisphere": "south" if season.southern(orchard.latitude) else "north",
            "guidance": now.region,
            "usual_snow": orchard.usual_snow,
            "hours_per_week": hours.get(now.on.month) if hours else None,
        },
        origin=("orchard",),
    )
    for tool in orchard.tools or ():
        yield make("tool", tool, {"tool": tool}, origin=("orchard",))
    for block in now.blocks:
        yield from _block(now, block, make)
    for habitat in now.file.habitats:
        yield from _habitat(habitat, make)


def _block(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    here = {"block": block.id}
    began = block.first_leaf or block.planted
    age = now.on.year - began if began else None
    yield make(
        "block",
        block.id,
        {
            **here,
            "fruit": block.fruit,
            "trees": block.trees,
            "age": age,
            "young": None if age is None else age < YOUNG_YEARS,
            "bearing": None if age is None else age >= YOUNG_YEARS,
            "area": block.ground_area,
            "row_width": block.spacing.row if block.spacing else None,
            "tree_distance": block.spacing.tree if block.spacing else None,
            "floor": block.floor,
            "site": block.site,
            "lie": block.lie,
            "use": block.use,
            "soil": block.soil,
            "rootstock": block.rootstock,
            "vigour": size_class(block.rootstock),
            "neglected_trees": block.neglected_trees,
            "rows": block.rows,
        },
        origin=("orchard",),
    )
    for cultivar in block.cultivars or ():
        yield make("cultivar", f"{block.id}:{cultivar}", {**here, "cultivar": cultivar}, origin=("orchard",))
    for trouble in block.history or ():
        yield make("history", f"{block.id}:{trouble}", {**here, "trouble": trouble}, origin=("orchard",))
    for plant in block.understory or ():
        known = now.knowledge.resolve(plant, kind="plant")
        nature = {
            name: getattr(known, name, None) if known else None for name in ("root", "fixes_nitrogen", "permanent")
        }
        yield make("understory", f"{block.id}:{plant}", {**here, "plant": plant, **nature}, origin=("orchard",))
    if block.guards:
        guards = {"type": block.guards.kind, "height": block.guards.height, "packed": bool(block.guards.packed_with)}
        yield make("guards", block.id, {**here, **guards}, origin=("orchard",))
    if block.irrigation:
        water = {"type": block.irrigation.kind, "efficiency": block.irrigation.efficiency}
        yield make("irrigation", block.id, {**here, **water, "weekly": block.irrigation.weekly}, origin=("orchard",))
    if block.frost_gear:
        gear = {"type": block.frost_gear.kind, "rate": block.frost_gear.rate}
        yield make("frost-gear", block.id, {**here, **gear}, origin=("orchard",))


def _habitat(habitat: Habitat, make: Maker) -> Iterator[Fact]:
    here = {"habitat": habitat.id}
    about = {"type": habitat.kind, "area": habitat.area, "distance": habitat.distance}
    yield make("habitat", habitat.id, {**here, **about}, origin=("orchard",))
    for plant in habitat.plants or ():
        yield make("habitat-plant", f"{habitat.id}:{plant}", {**here, "plant": plant}, origin=("orchard",))


def work_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """The newest work of each practice, and of each material, at each place; how often this season."""
    done: dict[tuple[str, str, str], list[Work]] = {}
    put_on: dict[tuple[str, str], list[Work]] = {}
    for seen in now.observations:
        if not isinstance(seen, Work):
            continue
        for where, place in places(now, seen.block, seen.habitat):
            done.setdefault((where, place, seen.practice), []).append(seen)
            if seen.material and where == "block":
                put_on.setdefault((place, seen.material), []).append(seen)
    for (where, place, practice), records in done.items():
        last = records[-1]
        yield make(
            "work",
            f"{place}:{practice}",
            {
                where: place,
                "practice": practice,
                "days_ago": now.days_ago(last.date),
                "this_season": now.this_season(last.date),
                "material": last.material,
                "area": last.area,
                "hours": last.hours,
                "target": last.target,
                "times": sum(now.this_season(r.date) for r in records),
            },
            origin=(last.id,),
        )
    for (place, material), records in put_on.items():
        last = records[-1]
        about = {"block": place, "material": material, "practice": last.practice}
        times = sum(now.this_season(r.date) for r in records)
        yield make(
            "work-with",
            f"{place}:{material}",
            {**about, "days_ago": now.days_ago(last.date), "times": times},
            origin=(last.id,),
        )


def _meant(now: Situation) -> Iterator[tuple[Intent, str]]:
    """What is meant from today on and can be judged, each with the practice that it is judged as."""
    for seen in now.observations:
        if isinstance(seen, Intent) and (seen.day is None or seen.day >= now.on):
            practice = judged_as(now.knowledge, seen)
            if practice is not None:
                yield seen, practice


def unjudged(now: Situation) -> list[Intent]:
    """What is meant from today on and nothing here can judge."""
    judged = {seen.id for seen, _ in _meant(now)}
    open_still = (o for o in now.observations if isinstance(o, Intent) and (o.day is None or o.day >= now.on))
    return [meant for meant in open_still if meant.id not in judged]


def judged_as(known: Knowledge, meant: Intent) -> str | None:
    """The practice that something meant is judged as: its own, or where nobody knows that, what its materials are used for.

    A material for spraying or from the household that no practice takes is judged as an insecticide. None: of neither the
    practice nor a material is anything known.
    """
    if not meant.practice.startswith(words.OTHER):
        return meant.practice
    for name in (meant.material, *(meant.with_ or ())):
        material = known.resolve(name, kind="material") if name else None
        if isinstance(material, Material):
            takers = [one for one in known.nodes.values() if isinstance(one, Practice) and material.id in one.material]
            takers.sort(key=lambda one: (one.id != material.id, one.group != "sprays", one.id))
            if takers:
                return takers[0].id
            if material.group in ("spray", "household"):
                return "insecticide"
    return None


def intent_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Each thing the grower means to do from today on, once for each place that it touches."""
    for seen, practice in _meant(now):
        unknown = in_words(seen.practice.removeprefix(words.OTHER)) if practice != seen.practice else ""
        text = f"{unknown} is not known here; judged by what it would put on, as {in_words(practice)}" if unknown else ""
        for where, place in places(now, seen.block, seen.habitat):
            yield make(
                "intent",
                f"{seen.id}:{place}",
                {
                    "id": seen.id,
                    where: place,
                    "practice": practice,
                    "day": (seen.day - now.on).days if seen.day else 0,
                    "hour": _hour(seen.at),
                    "material": seen.material,
                    "target": seen.target,
                    "amount": seen.amount.value if seen.amount else None,
                    "rate": seen.rate if isinstance(seen.rate, str) else None,
                    "nitrogen": seen.nitrogen.value if seen.nitrogen and seen.nitrogen.unit == "kg/ha" else None,
                    "depth": seen.depth,
                    "height": seen.height,
                    "share": seen.share,
                    "count": seen.count,
                    "degree": seen.degree,
                    "cuts": seen.cuts,
                    "until": (seen.until - now.on).days if seen.until else None,
                    "in": seen.in_,
                    "when": seen.when,
                },
                origin=(seen.id,),
                text=text,
            )
        for material in seen.with_ or ():
            mate = {"intent": seen.id, "material": material}
            yield make("tank-mate", f"{seen.id}:{material}", mate, origin=(seen.id,))


def gap_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """For each thing meant, how long after the last use of each material at that place it would be done."""
    work = [o for o in now.observations if isinstance(o, Work) and o.material]
    for seen, _ in _meant(now):
        day = seen.day or now.on
        for where, place in places(now, seen.block, seen.habitat):
            last = {w.material: w for w in work if (where, place) in places(now, w.block, w.habitat)}
            for material, record in sorted(last.items()):
                yield make(
                    "material-gap",
                    f"{seen.id}:{place}:{material}",
                    {
                        "intent": seen.id,
                        where: place,
                        "material": material,
                        "practice": record.practice,
                        "days": (day - record.date).days,
                    },
                    origin=(seen.id, record.id),
                )


def places(now: Situation, block: str | None, habitat: str | None) -> list[tuple[str, str]]:
    """Where something holds: its block, its habitat, or every block if it names neither."""
    if block:
        return [("block", block)]
    if habitat:
        return [("habitat", habitat)]
    return [("block", b.id) for b in now.blocks]


def bearing(now: Situation, block: Block) -> bool | None:
    """Whether the trees are old enough to be expected to crop; None where their age is not given."""
    began = block.first_leaf or block.planted
    return None if began is None else now.on.year - began >= YOUNG_YEARS


def size_class(name: str | None) -> str | None:
    """dwarf, semi-dwarf or standard, by the rootstock; None where it is not known."""
    return rootstock.size_class(name) if name else None


def _hour(at: str | dt.time | None) -> float | None:
    if at is None:
        return None
    hour, minute = str(at).split(":")[:2]
    return int(hour) + int(minute) / 60
