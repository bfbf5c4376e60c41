"""What a plant tea that is meant takes of leaf and water, how long it steeps, and what its plant is rich in."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from advisor.fact import Fact
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.observation import Intent
from advisor.orchard import Block
from advisor.science import plant_tea
from advisor.sentences import in_words, listed

# Which plant a tea is steeped from, by what the grower calls it.
TEAS = {
    "comfrey-tea": "common-comfrey", "comfrey-leaf": "common-comfrey", "nettle-tea": "nettle", "nettle-leaf": "nettle",
    "horsetail-tea": "horsetail",
}  # fmt: skip
STEEPED = ("common-comfrey", "sterile-comfrey", "nettle")  # that are grown for it
STEEPING_DAYS = 14  # of which the mean temperature tells how warm it steeps (common practice, no source)
NAMES = {"N": "nitrogen", "P": "phosphorus", "K": "potassium", "Ca": "calcium", "Mg": "magnesium", "S": "sulphur",
         "Fe": "iron", "Si": "silicon", "Mn": "manganese", "Cu": "copper", "Zn": "zinc", "B": "boron"}  # fmt: skip
KNOWN_BY = {"published": "by laboratories", "from-memory": "from memory"}


def tea_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Leaf, water and days for each plant tea that is meant, and the leaf that a can of tea a tree would take."""
    for block in now.blocks:
        for plant in block.understory or ():
            if block.trees and plant in STEEPED:
                yield _for_trees(now, block, block.trees, plant, make)
    for meant in now.observations:
        if not isinstance(meant, Intent) or meant.practice != "plant-tea":
            continue
        steeped = TEAS.get(meant.material or "comfrey-tea")
        if steeped is not None:
            yield _tea(now, meant, steeped, make)


def _for_trees(now: Situation, block: Block, trees: float, plant: str, make: Maker) -> Fact:
    each = float(now.knowledge.figure("plant-tea.per-tree").value(now.region).value)
    litres, way = each * trees, plant_tea.recipe(plant)
    strong = float(plant_tea.tea_needed(litres))
    leaf = strong / way.water_l[0] * way.leaf_kg
    values = {"block": block.id, "plant": plant, "litres": litres, "strong": strong, "leaf": leaf}
    text = (f"{trees:g} trees x {each:g} L = {litres:.0f} L thinned, {strong:.1f} L of strong tea, from {leaf:.1f} kg of "
            f"{in_words(plant)} leaf")
    return make("tea-need", f"{block.id}:{plant}", values, origin=("orchard",), text=text, sources=("which-comfrey-tea",))


def _tea(now: Situation, meant: Intent, plant: str, make: Maker) -> Fact:
    mean = _mean_c(now)
    days = plant_tea.steep_days(plant, mean)
    values: dict[str, object] = {"intent": meant.id, "plant": plant, "days_least": days[0], "days_most": days[1]}
    span = f"{days[0]} to {days[1]} days" if days[0] < days[1] else f"{days[0]} days"
    text = f"steeped {span}" + (f" at about {mean:.0f} °C" if mean is not None else "")
    way = plant_tea.recipe(plant)
    amount = (meant.amount.value, meant.amount.unit) if meant.amount else (0.0, "")
    if amount[1] == "m3":
        litres = amount[0] * 1000
        strong = float(plant_tea.tea_needed(litres))
        leaf = strong / way.water_l[0] * way.leaf_kg
        values |= {"litres": litres, "strong": strong, "leaf": leaf, "on_leaves": float(plant_tea.tea_needed(litres, True))}
        text += (f"; {litres:.0f} L thinned 1 to 10 on soil take {strong:.1f} L of strong tea, from {leaf:.1f} kg of leaf "
                 f"in {strong:.1f} L of water; on leaves, thinned 1 to 20, {values['on_leaves']:.1f} L serve")
    elif amount[1] == "kg":
        made = plant_tea.batch(plant, amount[0])
        values |= {"leaf": amount[0], "strong": made["water_least_l"], "litres": made["thinned_l"]}
        water = (made["water_least_l"], made["water_most_l"])
        span = f"{water[0]:.0f} to {water[1]:.0f} L" if water[0] < water[1] else f"{water[0]:.0f} L"
        text += (f"; {amount[0]:.3g} kg of leaf in {span} of water; thinned 1 to 10 the strongest makes "
                 f"{made['thinned_l']:.0f} L for the soil")
    if "comfrey" in plant and "leaf" in values:
        potash = float(plant_tea.comfrey_holds(values["leaf"])["K2O"])
        values["potash"] = potash
        text += f"; so much leaf holds about {potash * 1000:.0f} g of potash"
    rich = plant_tea.minerals(plant)
    if rich is not None:
        values |= {"rich_in": listed([NAMES[one] for one in rich.rich_in]), "known": KNOWN_BY[rich.evidence]}
        text += f"; {in_words(plant)} leaf is rich in {values['rich_in']}, {values['known']}"
    own = plant_tea.own_caution(plant)
    if own is not None:
        values["caution"] = own
    sources = dict.fromkeys([way.source, *([rich.source] if rich is not None and rich.source else [])])
    return make("tea-mix", meant.id, values, origin=(meant.id, *(("weather",) if mean is not None else ())), text=text,
                sources=tuple(name for name in sources if " " not in name))


def _mean_c(now: Situation) -> float | None:
    """Mean temperature of the last weeks; None where it is not known."""
    if now.measured is None:
        return None
    days = now.measured.daily(now.file.zone)
    means = np.asarray(days.mean)[-STEEPING_DAYS:]
    return float(np.mean(means)) if means.size and np.isfinite(means).all() else None
