"""What an orchard gives and takes in a year: chips of its prunings and hay of its sward against what the rings take,
what a crop carries off, and the water and leaf of a plant tea that is meant."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor.fact import Fact
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.observation import Intent
from advisor.orchard import Block
from advisor.science import mulch, nutrition, plant_tea, sward

# Which published sward a floor is like; a mown turf or clover gives less, and no figure is published for it.
SWARDS = {"meadow": "meadow"}
TEAS = {"comfrey-tea": "comfrey", "nettle-tea": "nettle", "horsetail-tea": "horsetail"}


def supply_facts(now: Situation, make: Maker, facts: Mapping[str, Fact]) -> Iterator[Fact]:
    """All of them; `facts` holds what is known already (rings, crop expected)."""
    for block in now.blocks:
        ring = facts.get(f"ring-volume:{block.id}")
        if ring is not None and block.ground_area:
            yield _mulch(block, block.ground_area, ring, make)
        crop = facts.get(f"crop-expected:{block.id}")
        if crop is not None and isinstance(crop.fields.get("crop"), float | int):
            yield from _removal(block, float(crop.fields["crop"]), make)
    yield from _teas(now, make)


def _mulch(block: Block, ground: float, ring: Fact, make: Maker) -> Fact:
    """Chips of a year's prunings and hay of a year's sward, at the least and at the most, against the rings."""
    values: dict[str, object] = {"block": block.id}
    said = []
    least, most = (float(v) for v in mulch.prunings_volume(ground))
    values |= {"chips_least": least, "chips_most": most}
    text = f"{ground:g} m2 of fruit trees give {least:.1f} to {most:.1f} m3 of chips a year when pruned"
    if "chips" in ring.fields:
        values["chips_short"] = float(mulch.shortfall(ring.fields["chips"], most))
        text += f"; the rings take {ring.fields['chips']:.1f} m3"
    said.append(text)
    kind = SWARDS.get(block.floor or "")
    hay = sward.hay_mass(ground, kind) if kind else None
    if hay is not None:
        values |= {"hay_least": float(hay[0]), "hay_most": float(hay[1])}
        text = f"as much meadow gives about {float(hay[0]):.0f} kg of hay a year, less what grows under the crowns"
        if "hay" in ring.fields:
            values["hay_short"] = float(mulch.shortfall(ring.fields["hay"], hay[1]))
            text += f"; the rings take {ring.fields['hay']:.0f} kg"
        said.append(text)
    return make("mulch-supply", block.id, values, origin=("orchard",), text="; ".join(said),
                sources=("brf-method-notes", *(["younger-smith-1994"] if hay is not None else [])))  # fmt: skip


def _removal(block: Block, crop_kg: float, make: Maker) -> Iterator[Fact]:
    """What the expected crop takes away of each nutrient, kg."""
    for nutrient in ("N", "P", "K", "Ca", "Mg"):
        taken = nutrition.removal(block.fruit, nutrient, crop_kg / 1000)
        if taken is not None:
            low, high = (float(end) for end in taken)
            text = f"{crop_kg / 1000:.3g} t of fruit carry off {low:.2g} to {high:.2g} kg of {nutrient}"
            yield make("crop-removal", f"{block.id}:{nutrient}",
                       {"block": block.id, "nutrient": nutrient, "least": low, "most": high},
                       origin=(f"crop-expected:{block.id}",), text=text, sources=("wsu-em119e",))  # fmt: skip


def _teas(now: Situation, make: Maker) -> Iterator[Fact]:
    """Strong tea, water and days for each plant tea that is meant with its litres; on soil unless leaves are named."""
    for meant in now.observations:
        if not isinstance(meant, Intent) or meant.practice != "plant-tea":
            continue
        plant = TEAS.get(meant.material or "comfrey-tea")
        if plant is None:
            continue
        days = plant_tea.steep_days(plant)
        values: dict[str, object] = {"intent": meant.id, "days_least": days[0], "days_most": days[1]}
        text = f"steeped {days[0]} to {days[1]} days" if days[0] < days[1] else f"steeped {days[0]} days"
        if meant.amount is not None and meant.amount.unit == "m3":
            litres = float(meant.amount.value) * 1000
            strong = float(plant_tea.tea_needed(litres))
            way = plant_tea.recipe(plant)
            leaf = strong / way.water_l[0] * way.leaf_kg
            values |= {"litres": litres, "strong": strong, "leaf": leaf}
            text += (
                f"; {litres:g} l thinned 1 to 10 on soil take {strong:.1f} l of strong tea, from {leaf:.1f} kg of leaf "
                f"in {strong:.1f} l of water"
            )
        yield make("tea-mix", meant.id, values, origin=(meant.id,), text=text, sources=("which-comfrey-tea",))
