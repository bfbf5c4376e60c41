"""How much mulch rings under all the trees of a block take, less what lies there already."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor.fact import Fact
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.orchard import Block
from advisor.science import mulch

CHIPS = frozenset({"ramial-chips", "wood-chips", "bark"})
HAY = frozenset({"hay", "straw", "pea-straw", "meadow-cut", "legume-hay"})


def ring_facts(block: Block, bears: bool | None, facts: Mapping[str, Fact], now: Situation, make: Maker) -> Iterator[Fact]:
    """Chips in m3 and hay in kg for the rings of a block; `per_tree` is of chips."""

    def figure(name: str) -> float:
        return float(now.knowledge.figure(name).value(now.region).value)

    across = figure("ring.across-young" if bears is False else "ring.across-most")
    if block.spacing is not None:
        across = min(across, block.spacing.tree)
    gap = (figure("mulch.trunk-gap-least") + figure("ring.trunk-radius")) / 100
    if gap >= across / 2:
        return
    lies = facts.get(f"mulch:{block.id}")
    material, depth = (lies.fields.get("material"), lies.fields.get("depth")) if lies else (None, None)
    there = float(depth) / 100 if depth is not None else 0.0
    chips_m = (figure("ramial.ring-depth-least") + figure("ramial.ring-depth-most")) / 200
    hay_m = (figure("mulch.hay-depth-least") + figure("mulch.hay-depth-most")) / 200
    chips_left = max(0.0, chips_m - (there if material in CHIPS else 0.0))
    hay_left = max(0.0, hay_m - (there if material in HAY else 0.0))
    area = float(mulch.ring_area(across, gap))
    each = float(mulch.ring_volume(across, gap, chips_left))
    # kg on a square metre laid 10 cm deep
    weight = (figure("mulch.hay-weight-least") + figure("mulch.hay-weight-most")) / 2
    hay_each = area * hay_left * 10 * weight
    text = (f"ring {across:g} m across, bare {gap * 100:.0f} cm from the middle of the trunk: {area:.2f} m2; chips "
            f"{chips_left * 100:.1f} cm deep: {each:.2f} m3 a tree; "
            f"loose hay {hay_left * 100:.1f} cm deep: {hay_each:.0f} kg a tree")
    if there and material in CHIPS | HAY:
        text += f" (beside the {there * 100:.0f} cm that lie there)"
    values: dict[str, object] = {"block": block.id, "per_tree": each}
    if block.trees:
        values |= {"chips": each * block.trees, "hay": hay_each * block.trees}
        text += f"; {block.trees:g} trees: {each * block.trees:.1f} m3 of chips or {hay_each * block.trees:.0f} kg of hay"
    yield make("ring-volume", block.id, values, origin=("orchard", *((lies.id,) if lies else ())), text=text)
