"""What compost and manure that were spread free of nitrogen this year, to be taken off what the trees are fed."""

from __future__ import annotations

from advisor.ecosystem import Material
from advisor.facts.given import places
from advisor.facts.situation import Situation
from advisor.observation import Intent, Work
from advisor.orchard import Block
from advisor.science import nutrition

YEAR = 365
# Whose manure a material is, as the release rates name it; manure that nobody named counts as that of cattle.
ANIMALS = {
    "farmyard-manure": "cow", "poultry-manure": "poultry", "poultry-litter": "poultry", "horse-manure": "horse",
    "sheep-manure": "sheep",
}  # fmt: skip


def spread_credit(now: Situation, block: Block) -> tuple[float, str, tuple[str, ...]]:
    """Nitrogen freed this year, kg; how it was found, in words; and the records that say so."""
    total, said, origin = 0.0, "", []
    for record in now.observations:
        if not isinstance(record, Work) or record.amount is None:
            continue
        if ("block", block.id) not in places(now, record.block, record.habitat):
            continue
        found = freed_by(now, block, record, now.days_ago(record.date) // YEAR)
        if found is not None:
            total += found[0]
            said += found[1]
            origin.append(record.id)
    return total, said, tuple(origin)


def freed_by(now: Situation, block: Block, spread: Work | Intent, years: int) -> tuple[float, str] | None:
    """Nitrogen that compost or manure frees in a year from its spreading, kg, and how it was found; None for others."""
    if spread.practice == "spread-compost" and years == 0:
        return _compost(now, block, spread)
    if spread.practice == "spread-manure" and years <= len(nutrition.MANURE_LATER):
        return _manure(now, block, spread, years)
    return None


def as_compost(now: Situation, need: float) -> str:
    """What mass of compost would free a need, in words; nothing where there is none."""
    material = _material(now, "compost")
    if not need or material is None or material.nitrogen_pct is None or material.moisture_pct is None:
        return ""
    low, high = nutrition.compost_nitrogen(1.0, material.nitrogen_pct, material.moisture_pct)
    return f" (compost would free it from {need / float(high):.0f} to {need / float(low):.0f} kg in the first year)"


def _compost(now: Situation, block: Block, record: Work | Intent) -> tuple[float, str] | None:
    material = _material(now, "compost")
    kg = _mass(now, block, record, material)
    if material is None or kg is None or material.nitrogen_pct is None or material.moisture_pct is None:
        return None
    low, high = nutrition.compost_nitrogen(kg, material.nitrogen_pct, material.moisture_pct)
    credit = (float(low) + float(high)) / 2
    return credit, (
        f", less {credit:.2f} kg from {kg:.0f} kg of compost (holds {material.nitrogen_pct:g} % nitrogen in the "
        "dry, of which 10 to 20 % comes free in the first year)"
    )


def _manure(now: Situation, block: Block, record: Work | Intent, years: int) -> tuple[float, str] | None:
    material = _material(now, record.material or "farmyard-manure")
    kg = _mass(now, block, record, material)
    if material is None or kg is None or material.nitrogen_pct is None or material.moisture_pct is None:
        return None
    animal = ANIMALS.get(material.id)
    if animal is None:
        return None
    credit = float(nutrition.manure_nitrogen(kg, material.nitrogen_pct, material.moisture_pct, animal, years))
    when = ("this year", "last year", "two years ago")[years]
    held = kg * (1 - material.moisture_pct / 100) * material.nitrogen_pct / 100
    share = credit / held if held else 0.0
    return credit, (
        f", less {credit:.2f} kg from {kg:.0f} kg of {material.name} spread {when} (holds {held:.2f} kg of "
        f"nitrogen, of which {share:.0%} comes free now)"
    )


def _material(now: Situation, name: str) -> Material | None:
    node = now.knowledge.resolve(name, kind="material")
    return node if isinstance(node, Material) else None


def _mass(now: Situation, block: Block, record: Work | Intent, material: Material | None) -> float | None:
    """The block's part of what was spread, kg; None where the amount has no mass or the ground is not known."""
    assert record.amount is not None
    value, unit = float(record.amount.value), record.amount.unit
    if unit == "kg/ha":
        return value * block.ground_area / 10_000 if block.ground_area else None
    if unit == "m3":
        if material is None or material.density_kg_m3 is None:
            return None
        value *= material.density_kg_m3
    elif unit != "kg":
        return None
    part = share_of(now, record, block)
    return None if part is None else value * part


def share_of(now: Situation, record: Work | Intent, block: Block) -> float | None:
    """The block's share of what was spread over all blocks, by their ground; None where that is not known."""
    if record.block is not None or len(now.blocks) == 1:
        return 1.0
    grounds = [b.ground_area for b in now.blocks]
    if not all(grounds) or block.ground_area is None:
        return None
    return block.ground_area / sum(area or 0.0 for area in grounds)
