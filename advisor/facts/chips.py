"""What the grower means to lay under the trees: whether the wood is ramial, how far it goes, and what it brings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from advisor import words
from advisor.fact import Fact
from advisor.facts import credits
from advisor.facts.given import bearing, places
from advisor.facts.making import Maker
from advisor.facts.rings import Layer, usual_depths
from advisor.facts.situation import Situation
from advisor.observation import Intent
from advisor.orchard import Block
from advisor.science import mulch, ramial

LAID = ("spread-ramial-chips", "lay-hay-ring", "spread-compost", "spread-manure")
NOT_RAMIAL = ("wood-chips", "sawdust", "bark")  # told from ramial chips by what the grower calls them


def chip_facts(now: Situation, make: Maker, facts: Mapping[str, Fact]) -> Iterator[Fact]:
    """For each mulch or manure that is meant: its wood, how far its amount goes, and the nitrogen it frees this year."""
    for meant in now.observations:
        if not isinstance(meant, Intent) or meant.practice not in LAID:
            continue
        if meant.practice == "spread-ramial-chips":
            yield from _wood(meant, make)
        here = {place for where, place in places(now, meant.block, meant.habitat) if where == "block"}
        for block in now.blocks:
            if block.id in here and meant.amount is not None:
                yield from _reach(now, meant, block, make)
                yield from _freed(now, meant, block, make)


# --- the wood ---------------------------------------------------------------------------------------------------------


def _wood(meant: Intent, make: Maker) -> Iterator[Fact]:
    """Whether what is to be chipped is ramial, as far as it was told; and what to know of each plant it is cut from."""
    plants = [plant.removeprefix(words.OTHER) for plant in meant.plants or ()]
    conifers = [plant for plant in plants if plant in ramial.CONIFERS]
    # All of it conifer, none of it, or an unknown part.
    share = 0.0 if not conifers else 1.0 if len(conifers) == len(plants) else math.nan
    if meant.thickness is not None and meant.material not in NOT_RAMIAL:
        known = 0.0 if math.isnan(share) else share
        found = ramial.is_ramial(meant.thickness * 100, known, meant.fresh is not False)
        said = list(found["because"])
        if math.isnan(share):
            said.append(ramial.CONIFERS_MOST)
        because = " ".join(said) or f"Fresh {found['size']}, deciduous as far as is told."
        values = {"intent": meant.id, "thickness": meant.thickness, "size": str(found["size"]).replace(" ", "-"),
                  "ramial": found["ramial"], "against": because}
        yield make("chip-wood", meant.id, values, origin=(meant.id,), text=because,
                   sources=("caron-2015-ramial", "westaway-2019-ramial"))
    for plant in plants:
        for caution in ramial.species_cautions(plant):
            values = {"intent": meant.id, "plant": plant, "caution": caution, "conifer": plant in conifers,
                      "kept_off": plant in ramial.KEPT_OFF}
            yield make("chip-plant", f"{meant.id}:{plant}", values, origin=(meant.id,), text=caution)


# --- how far it goes --------------------------------------------------------------------------------------------------


def _reach(now: Situation, meant: Intent, block: Block, make: Maker) -> Iterator[Fact]:
    """Chips that are meant: the ground and the trees they cover, what they come to over the block, and what they hold."""
    volume = _volume(now, meant, block)
    if meant.practice != "spread-ramial-chips" or volume is None:
        return

    def figure(name: str) -> float:
        return float(now.knowledge.figure(name).value(now.region).value)

    depth = meant.depth or usual_depths(figure)[0]
    ground = float(mulch.area_covered(volume, depth))
    layer = Layer.of(now, block, bearing(now, block))
    values: dict[str, object] = {"intent": meant.id, "block": block.id, "m3": volume, "depth": depth, "ground": ground}
    text = f"{volume:.3g} m3 / {depth * 100:.3g} cm = {ground:.0f} m2"
    if layer is not None:
        trees = math.floor(ground / layer.area + 1e-9)
        values["trees"] = trees
        text += f"; {layer.text} each: {trees:.0f} trees"
    if block.ground_area:
        spread = mulch.dose(volume, block.ground_area)
        values |= {"over_all": float(spread["depth_cm"]) / 100}
        text += f"; over the whole {block.ground_area:.0f} m2 {spread['depth_cm']:.2g} cm, {spread['m3_ha']:.0f} m3/ha"
    if meant.material not in NOT_RAMIAL:
        held, kg = ramial.nutrients(volume), float(ramial.weight(volume))
        values |= {"kg": kg, "nitrogen": float(held["nitrogen"]), "potash": float(held["potash"])}
        text += (f"; {kg:.0f} kg at half moisture; after poplar twigs they hold {held['nitrogen']:.1f} kg of nitrogen, "
                 f"{held['phosphate']:.1f} kg of phosphate, {held['potash']:.1f} kg of potash and {held['lime']:.0f} kg of lime")
    yield make("chips-meant", f"{meant.id}:{block.id}", values, origin=(meant.id, "orchard"), text=text,
               sources=("brf-method-notes", "noel-poplar-twigs"))


def _volume(now: Situation, meant: Intent, block: Block) -> float | None:
    """The block's part of the chips, m3; a weight is turned into chips at half moisture."""
    assert meant.amount is not None
    value, unit = float(meant.amount.value), meant.amount.unit
    if unit == "kg":
        value /= ramial.DENSITY_KG_M3
    elif unit != "m3":
        return None
    part = credits.share_of(now, meant, block)
    return None if part is None else value * part


def _freed(now: Situation, meant: Intent, block: Block, make: Maker) -> Iterator[Fact]:
    """Nitrogen that compost or manure would free this year."""
    found = credits.freed_by(now, block, meant, 0)
    if found is None:
        return
    kg, text = found
    values = {"intent": meant.id, "block": block.id, "kg": kg}
    yield make("nitrogen-freed", f"{meant.id}:{block.id}", values, origin=(meant.id, "knowledge"),
               text=text.removeprefix(", less "),
               sources=("cornell-manure-nitrogen",) if meant.practice == "spread-manure" else ())
