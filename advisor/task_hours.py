"""Hours that a job takes here: the published or customary rate, or the grower's own once there are records enough.

One place for it, so that a recommendation and the plan of the year say the same.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from advisor.facts import Situation
from advisor.facts.crop import leaf
from advisor.facts.given import bearing, size_class
from advisor.facts.yields import counted
from advisor.observation import Heap, Work
from advisor.orchard import Block
from advisor.outcome import Proposal
from advisor.science import labour, rootstock
from advisor.weighing import Outcome

# Ground worked as a share of the block, by practice; the rest of the floor practices work the whole of it.
_SHARE_OF_BLOCK = {"mow-every-other-alley": 0.5}
_LOOKS = ("scout", "count", "hang-traps", "inspect-trunks", "take-sample", "sample-fruit", "frost-watch")  # rates of looks
_SHARE_OF_HABITAT = {"cut-back-hedge": "labour.hedge-share", "mow-margin": "habitat.cut-share-most"}  # worked in a year
_BESIDE_THE_BLOCK = ("sow-flower-strip",)  # their ground is not the block's: no hours before its size is said
_AMOUNT_OF_UNIT = {
    "m3": "volume_m3", "m2": "area_m2", "kg": "mass_kg", "fruit": "fruit", "m": "length_m", "trees": "trees",
    "plants": "plants",
}  # fmt: skip
_HEAPED = {"lay-hay": "hay", "spread-mulch": "compost", "mix-heap": "heap"}  # work by the m3, often given in kg


@dataclass(frozen=True)
class OwnRate:
    """A grower's own rate that took over: from how many records, and what it was before, in the same unit."""

    value: float
    records: int
    before: float


@dataclass(frozen=True)
class Hours:
    """Hours of one job at one place, and everything they rest on. value: the rate, in `unit`."""

    hours: float
    rate: str
    value: float
    unit: str
    tool: str
    workings: str
    amount: float
    amount_unit: str
    evidence: str
    source: str | None
    note: str | None
    own: OwnRate | None = None


def task_hours(now: Situation, one: Outcome, lead: Proposal | None) -> float | None:
    """Hours, to a tenth and a tenth at the least; None where no rate is known or an amount that it needs is lacking."""
    practice = one.practice
    if one.stance == "look" and labour.WORK_OF.get(practice) not in (None, "none", *_LOOKS):
        practice = "scout"  # the job itself waits for what the look finds
    found = hours_of(now, practice, one.block, one.habitat, None if lead is None else lead.amount)
    if found is None:
        return None
    hours = sum(h.hours for h in found.values())
    return max(0.1, round(hours, 1)) if hours else 0.0


def hours_of(
    now: Situation,
    practice: str,
    block: str | None = None,
    habitat: str | None = None,
    amount: tuple[float, str] | None = None,
) -> dict[str, Hours] | None:
    """Hours by place; None where no rate is known or an amount that it needs is lacking at any of the places.

    block: one block, or None for every block of the orchard. amount: value and unit, where the job has one of its own.
    """
    work = labour.WORK_OF.get(practice)
    if work is None or work == "none":
        return None
    if habitat:
        amounts = {**_habitat_amounts(now, habitat, practice), **_given(amount)}
        found = _estimate(now, work, amounts, frozenset(), {})
        return None if found is None else {habitat: found}
    blocks = [b for b in now.blocks if block in (None, b.id)]
    own = _own_rates(now, work)
    hours: dict[str, Hours] = {}
    for place in blocks:
        if practice == "pick" and place.use == "cider":
            here = _shaken(now, place, amount)
        else:
            here = _estimate(now, work, _amounts(now, place, practice, amount), _classes(place), own)
        if here is None:
            return None
        hours[place.id] = here
    return hours or None


def set_up(now: Situation, practice: str) -> float:
    """Hours of fetching, mixing, washing and putting away, each time."""
    spray = labour.WORK_OF.get(practice) == "spray"
    return _figure(now, "labour.set-up-spray" if spray else "labour.set-up")


def crop_to_pick(now: Situation, block: Block) -> tuple[float, str] | None:
    """Kilograms by this season's count, otherwise of a usual year, with the working in words; None without the trees."""
    if block.trees is None:
        return None
    hanging = counted(now, block)
    if hanging is not None:
        return hanging.middle * block.trees, f"{hanging.text}; {block.trees:g} trees x {hanging.middle:.4g} kg"
    if bearing(now, block) is False:
        return 0.0, "not yet bearing"
    if block.fruit == "apple":
        age = leaf(now, block)
        name = block.rootstock if block.rootstock and rootstock.size_class(block.rootstock) else "semi-dwarf"
        tree = rootstock.expected_yield(name, None if age is None else age - 1)
        assert tree is not None
        said = f"{name}{'' if name == block.rootstock else ' (taken, stock not known)'}"
        middle = sum(tree) / 2
        return middle * block.trees, f"{block.trees} trees x {middle:.4g} kg ({said}, {tree[0]:g} to {tree[1]:g})"
    middle = _figure(now, f"labour.crop.{block.fruit}")
    return middle * block.trees, f"{block.trees} trees x {middle:g} kg (from memory)"


def _shaken(now: Situation, block: Block, amount: tuple[float, str] | None) -> Hours | None:
    """Fruit for pressing is shaken down, where the trees are tall, and gathered from the ground."""
    amounts = _amounts(now, block, "pick", amount)
    gathered = _estimate(now, "pick-drops", amounts, _classes(block), _own_rates(now, "pick-drops"))
    shaken = _estimate(now, "shake", amounts, _classes(block), _own_rates(now, "shake"))
    if gathered is None or shaken is None:
        return gathered
    both = f"{shaken.workings}; {gathered.workings}"
    return replace(gathered, hours=gathered.hours + shaken.hours, workings=both)


def _estimate(
    now: Situation, work: str, amounts: Mapping[str, float], classes: frozenset[str], own: Mapping[str, OwnRate]
) -> Hours | None:
    published = _rates(now, work)
    rates = {name: (own[name].value if name in own else value, unit) for name, (value, unit) in published.items()}
    tools = now.file.orchard.tools
    known = {name: rates[name] for name in own if name in rates}  # how it is done here, whatever else might be quicker
    found = labour.estimate(known, work, amounts, tools, classes) or labour.estimate(rates, work, amounts, tools, classes)
    if found is None:
        return None
    value, unit = rates[found.rate]
    row = now.knowledge.figure(found.rate).value(now.region)
    key = labour.UNITS[unit][0]
    return Hours(
        found.hours, found.rate, value, unit, found.tool, found.workings,
        float(amounts.get(key, 1.0)), labour.AMOUNT_WORDS.get(key, key),
        "own records" if found.rate in own else row.evidence, row.source, row.note, own.get(found.rate),
    )  # fmt: skip


def _rates(now: Situation, work: str) -> dict[str, tuple[float, str]]:
    return {
        name: (float(row.value), figure.unit)
        for name, figure in now.knowledge.figures.items()
        if name.startswith(f"labour.{work}.")
        for row in [figure.value(now.region)]
    }


def _own_rates(now: Situation, work: str) -> dict[str, OwnRate]:
    """Rate id -> the grower's own, from works with hours and an amount that the rate counts in; three at least."""
    records: dict[str, list[tuple[float, float]]] = {}
    blocks = {b.id: b for b in now.blocks}
    for seen in now.observations:
        place = blocks.get(seen.block or "")
        if not isinstance(seen, Work) or seen.hours is None or place is None:
            continue
        if labour.WORK_OF.get(seen.practice) != work:
            continue
        usual = _estimate(now, work, _recorded(now, seen, work), _classes(place), {})
        if usual is not None and usual.unit != "h" and usual.amount > 0 and seen.hours > 0:
            records.setdefault(usual.rate, []).append((seen.hours, usual.amount))
        elif usual is not None and usual.unit == "h" and seen.hours > 0:
            records.setdefault(usual.rate, []).append((seen.hours, 1.0))
    found = {}
    for rate, kept in records.items():
        per_amount = labour.own_rate(kept)  # hours for one of what the rate counts in, before its size
        if per_amount is not None:
            before, unit = _rates(now, work)[rate]
            _, size, divides = labour.UNITS[unit]
            found[rate] = OwnRate(1 / per_amount if divides else per_amount * size, len(kept), before)
    return found


def _recorded(now: Situation, seen: Work, work: str) -> dict[str, float]:
    """What a record of work says was worked; nothing is taken for granted."""
    amounts: dict[str, float] = {}
    if seen.area is not None:
        amounts["area_m2"] = seen.area
    if seen.amount is not None and seen.amount.unit in _AMOUNT_OF_UNIT:
        amounts[_AMOUNT_OF_UNIT[seen.amount.unit]] = seen.amount.value
    return _as_volume(now, work, amounts)


def _classes(block: Block) -> frozenset[str]:
    return frozenset({block.fruit, size_class(block.rootstock) or "semi-dwarf"})


def _amounts(now: Situation, block: Block, practice: str, amount: tuple[float, str] | None) -> dict[str, float]:
    amounts: dict[str, float] = {}
    work = labour.WORK_OF[practice]
    if block.trees:
        partner = practice in ("plant-pollinizer", "graft-pollinizer")
        amounts["trees"] = math.ceil(block.trees / _figure(now, "pollination.trees-to-a-partner")) if partner else block.trees
    ring = _ring_area(block)
    if practice == "first-mow" and ring is not None:
        amounts["area_m2"] = ring
    elif block.ground_area is not None and practice not in _BESIDE_THE_BLOCK:
        amounts["area_m2"] = block.ground_area * _SHARE_OF_BLOCK.get(practice, 1.0)
    amounts |= _given(amount)
    if work in ("pick", "grade-store", "pick-drops") and "mass_kg" not in amounts:
        crop = crop_to_pick(now, block)
        if crop is not None:
            share = _figure(now, "labour.drops-share") if work == "pick-drops" else 1.0
            amounts["mass_kg"] = crop[0] * share
    if work == "mix-heap":
        heap = _heap_volume(now, block)
        if heap is not None:  # the whole heap is turned, not only what goes in
            more = _as_volume(now, work, amounts).get("volume_m3", 0.0)
            return {**amounts, "volume_m3": heap + more}
    return _as_volume(now, work, amounts)


def _given(amount: tuple[float, str] | None) -> dict[str, float]:
    return {_AMOUNT_OF_UNIT[amount[1]]: amount[0]} if amount is not None and amount[1] in _AMOUNT_OF_UNIT else {}


def _as_volume(now: Situation, work: str, amounts: dict[str, float]) -> dict[str, float]:
    """Kilograms as cubic metres, for work that is counted by the cubic metre."""
    if work in _HEAPED and "volume_m3" not in amounts and "mass_kg" in amounts:
        return {**amounts, "volume_m3": amounts["mass_kg"] / _figure(now, f"labour.density.{_HEAPED[work]}")}
    return amounts


def _heap_volume(now: Situation, block: Block) -> float | None:
    """Cubic metres of the newest heap whose parts were written down."""
    for seen in reversed(now.observations):
        if isinstance(seen, Heap) and seen.parts and seen.block in (None, block.id):
            usual = _figure(now, "labour.density.heap")
            stuffs = [now.knowledge.resolve(p.material, kind="material") for p in seen.parts]
            densities = [getattr(stuff, "density_kg_m3", None) or usual for stuff in stuffs]
            return sum(part.mass / density for part, density in zip(seen.parts, densities, strict=True))
    return None


def _ring_area(block: Block) -> float | None:
    """The ground under the canopies, taken as rings that meet in the row."""
    if not block.trees or block.spacing is None:
        return None
    return block.trees * math.pi * (block.spacing.tree / 2) ** 2


def _habitat_amounts(now: Situation, name: str, practice: str) -> dict[str, float]:
    """The ground of a habitat that is worked in a year, and the length of a hedge."""
    share = _figure(now, _SHARE_OF_HABITAT[practice]) if practice in _SHARE_OF_HABITAT else 1.0
    for habitat in now.file.habitats:
        if habitat.id == name and habitat.area:
            amounts = {"area_m2": habitat.area * share}
            if habitat.kind == "hedge":
                amounts["length_m"] = amounts["area_m2"] / _figure(now, "labour.hedge-width")
            return amounts
    return {}


def _figure(now: Situation, id: str) -> float:
    return float(now.knowledge.figure(id).value(now.region).value)


