"""What a heap is by carbon, nitrogen and moisture, and what brings it to where it works."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from advisor.ecosystem import Knowledge
from advisor.fact import Fact
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.observation import Heap, Intent
from advisor.science import mulch

HEAP_DAYS = 60
CARBON_PCT = 45.0  # of the dry matter of plants, where only the ratio is known (common practice, no source)
DRY_STUFF, GREEN_STUFF = ("straw", "dry-leaves", "wood-chips"), ("grass-clippings", "farmyard-manure", "poultry-manure")
NEAR_GOAL = 0.05  # of a goal that the grower names


@dataclass(frozen=True)
class Stuff:
    """A material with its mass in kg and its carbon, nitrogen (of dry matter) and moisture in percent."""

    material: str
    mass: float
    carbon: float
    nitrogen: float
    moisture: float

    @property
    def cn(self) -> float:
        return self.carbon / self.nitrogen if self.nitrogen else float("inf")

    @property
    def part(self) -> dict[str, float]:
        return {"mass": self.mass, "carbon_pct": self.carbon, "nitrogen_pct": self.nitrogen, "moisture_pct": self.moisture}


def stuff_of(knowledge: Knowledge, material: str, mass: float = 0.0, carbon: float | None = None,
             nitrogen: float | None = None, moisture: float | None = None) -> Stuff | None:
    """A material with what was given of it, the rest from the knowledge; None where that does not tell enough."""
    node: Any = knowledge.resolve(material, kind="material")
    ratio = getattr(node, "cn", None)
    if nitrogen is None:
        nitrogen = getattr(node, "nitrogen_pct", None)
    if carbon is None:
        carbon = getattr(node, "carbon_pct", None)
    if carbon is None:
        carbon = nitrogen * ratio if nitrogen is not None and ratio is not None else CARBON_PCT if node is not None else None
    if nitrogen is None and ratio and carbon is not None:
        nitrogen = carbon / ratio
    if moisture is None:
        moisture = getattr(node, "moisture_pct", None)
    if carbon is None or nitrogen is None or moisture is None:
        return None
    return Stuff(material, mass, min(carbon, 100.0), nitrogen, moisture)


def heap_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """The heap of each place, its parts, feel and smell each as last told.

    A heap that names no place is told with the blocks for which somebody means to mix it, otherwise once, with the first.
    """
    heaps: dict[tuple[str | None, str | None], list[Heap]] = {}
    for seen in now.observations:  # by date
        if isinstance(seen, Heap) and now.days_ago(seen.date) <= HEAP_DAYS:
            heaps.setdefault((seen.block, seen.habitat), []).append(seen)
    asked = [o for o in now.observations if isinstance(o, Intent) and o.practice == "mix-heap"]
    for (block, habitat), looks in heaps.items():
        at = [(block, habitat)]
        if block is None and habitat is None:
            every = [b.id for b in now.blocks]
            named: list[str] = [b for o in asked for b in ([o.block] if o.block else [] if o.habitat else every)]
            at = [(name, None) for name in dict.fromkeys(named or every[:1])]
        for here in at:
            yield _heap(now, looks, here, make)


def _heap(now: Situation, looks: list[Heap], here: tuple[str | None, str | None], make: Maker) -> Fact:
    """One heap; what its parts come to, where they are told."""

    def figure(name: str) -> float:
        return float(now.knowledge.figure(name).value(now.region).value)

    block, habitat = here
    values: dict[str, object] = {"block": block, "habitat": habitat}
    for look in looks:
        values |= {name: told for name in ("feel", "smell") if (told := getattr(look, name)) is not None}
    told = [look for look in looks if look.parts]
    about, origin = block or habitat or "", tuple(look.id for look in looks)
    if not told:
        return make("heap-mix", about, values, origin=origin)
    heap = told[-1]
    read = [(p.material, stuff_of(now.knowledge, p.material, p.mass, p.carbon, p.nitrogen, p.moisture)) for p in heap.parts or ()]
    own = [one for _, one in read if one is not None]
    lacking = [name for name, one in read if one is None]
    if lacking or not sum(s.mass for s in own):
        unknown = f"carbon, nitrogen or moisture of {', '.join(lacking)} is not known" if lacking else "it weighs nothing"
        text = f"the heap cannot be reckoned: {unknown}"
        return make("heap-mix", about, values, origin=origin, text=text)
    mix, blend = _whole(own), mulch.blend(s.part for s in own)
    goal = heap.goal_cn or figure("heap.cn-goal")
    least, most = figure("heap.cn-least"), figure("heap.cn-most")
    if heap.goal_cn:
        least, most = goal * (1 - NEAR_GOAL), goal * (1 + NEAR_GOAL)
    cn_status = "low" if mix.cn < least else "high" if mix.cn > most else "fits"
    listed = ", ".join(f"{s.mass:g} kg {s.material.replace('-', ' ')}" for s in own)
    steps = [f"{listed}: carbon to nitrogen {mix.cn:.1f}, moisture {mix.moisture:.0f} %"]
    values |= {"mass": mix.mass, "cn": blend["cn"], "moisture": blend["moisture_pct"], "goal": goal,
               "cn_status": cn_status}
    then = mix
    if cn_status != "fits":
        second = _second(now.knowledge, mix, own, goal, cn_status, figure("heap.moisture-most"))
        if second is None:
            values["reach"] = "out"
            steps.append(f"{goal:g} is out of reach: no material of the heap, and none of the usual ones, lies beyond it")
        else:
            then = _whole([mix, second])
            values |= {"reach": "in", "add": second.material, "add_kg": second.mass}
            steps.append(f"for {goal:g}: Q1 N1 (R - C1/N1) (100 - M1) / [N2 (C2/N2 - R) (100 - M2)] = {second.mass:.2f} kg "
                         f"{second.material.replace('-', ' ')}; moisture then {then.moisture:.0f} %")
    steps += _water(now, then, values, figure("heap.moisture-least"), figure("heap.moisture-most"), figure("heap.moisture-goal"))
    return make("heap-mix", about, values, origin=(*origin, "knowledge"), text="; ".join(steps),
                sources=("richard-trautmann-1996-mix",))


def _whole(parts: list[Stuff]) -> Stuff:
    """Several stuffs as one."""
    whole = mulch.mixed(part.part for part in parts)
    return Stuff("mix", *(float(whole[name]) for name in ("mass", "carbon_pct", "nitrogen_pct", "moisture_pct")))


def _second(knowledge: Knowledge, mix: Stuff, own: list[Stuff], goal: float, status: str, wettest: float) -> Stuff | None:
    """The stuff that brings the mix to the goal, with its mass: the heap's own before the usual ones, but none that
    makes the heap too wet where another does not; where all do, the one of which least is needed."""
    usual = [stuff_of(knowledge, name) for name in (DRY_STUFF if status == "low" else GREEN_STUFF)]
    reach = []
    for one in [*sorted(own, key=lambda s: -abs(s.cn - mix.cn)), *(s for s in usual if s is not None)]:
        try:
            kg = mulch.mass_for_cn(mix.part, one.part, goal)
        except ValueError:
            continue
        reach.append(replace(one, mass=float(kg)))
    fits = [one for one in reach if _whole([mix, one]).moisture <= max(wettest, mix.moisture)]
    return fits[0] if fits else min(reach, key=lambda one: one.mass, default=None)


def _water(now: Situation, then: Stuff, values: dict[str, object], least: float, most: float, goal: float) -> list[str]:
    """Fill in whether the mix is then too dry or too wet, and what mends that; the steps in words."""
    status = "dry" if then.moisture < least else "wet" if then.moisture > most else "fits"
    values["moisture_status"] = status
    if status == "dry":
        litres = float(mulch.mass_for_moisture(then.mass, then.moisture, 100, goal))
        values["water"] = litres
        return [f"to {goal:g} % moisture: Q1 (G - M1) / (100 - G) = {litres:.1f} L of water"]
    if status == "wet":
        dry = next((s for name in DRY_STUFF if (s := stuff_of(now.knowledge, name)) is not None and s.moisture < most), None)
        if dry is not None:
            kg = float(mulch.mass_for_moisture(then.mass, then.moisture, dry.moisture, most))
            values |= {"dry_with": dry.material, "dry_kg": kg}
            return [f"to {most:g} % moisture: {kg:.2f} kg {dry.material.replace('-', ' ')}"]
    return []
