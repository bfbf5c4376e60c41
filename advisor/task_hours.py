"""Hours that a recommendation would take here: the published or customary rate, the trees and ground, the tools."""

from __future__ import annotations

import math
from collections.abc import Mapping

from advisor.facts import Situation
from advisor.facts.given import size_class
from advisor.orchard import Block
from advisor.outcome import Proposal
from advisor.science import labour
from advisor.weighing import Outcome

# Ground worked as a share of the block, by practice; the rest of the floor practices work the whole of it.
_SHARE_OF_BLOCK = {"mow-every-other-alley": 0.5}


def task_hours(now: Situation, one: Outcome, lead: Proposal | None) -> float | None:
    """Hours, to a tenth; None where no rate is known or an amount that it needs is lacking."""
    work = labour.WORK_OF.get(one.practice)
    if work is None or work == "none":
        return None
    blocks = [b for b in now.blocks if one.block in (None, b.id)] if not one.habitat else []
    rates = {
        name: (float(row.value), figure.unit)
        for name, figure in now.knowledge.figures.items()
        if name.startswith(f"labour.{work}.")
        for row in [figure.value(now.region)]
    }
    tools = now.file.orchard.tools
    total = 0.0
    if one.habitat:
        found = labour.estimate(rates, work, _habitat_amounts(now, one.habitat), tools)
        return round(found.hours, 1) if found else None
    for block in blocks:
        classes = {block.fruit, size_class(block.rootstock) or "semi-dwarf"}
        found = labour.estimate(rates, work, _amounts(block, one, lead), tools, classes)
        if found is None:
            return None
        total += found.hours
    return round(total, 1) if blocks else None


def _amounts(block: Block, one: Outcome, lead: Proposal | None) -> dict[str, float]:
    amounts: dict[str, float] = {}
    if block.trees:
        amounts["trees"] = block.trees
    ring = _ring_area(block)
    if one.practice == "first-mow" and ring is not None:
        amounts["area_m2"] = ring
    elif block.ground_area is not None:
        amounts["area_m2"] = block.ground_area * _SHARE_OF_BLOCK.get(one.practice, 1.0)
    if lead is not None and lead.amount is not None:
        value, unit = lead.amount
        names: Mapping[str, str] = {
            "m3": "volume_m3",
            "m2": "area_m2",
            "kg": "mass_kg",
            "fruit": "fruit",
            "m": "length_m",
        }
        if unit in names:
            amounts[names[unit]] = value
    return amounts


def _ring_area(block: Block) -> float | None:
    """The ground under the canopies, taken as rings that meet in the row."""
    if not block.trees or block.spacing is None:
        return None
    return block.trees * math.pi * (block.spacing.tree / 2) ** 2


def _habitat_amounts(now: Situation, name: str) -> dict[str, float]:
    areas = [h.area for h in now.file.habitats if h.id == name and h.area]
    return {"area_m2": areas[0]} if areas else {}
