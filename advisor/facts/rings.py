"""How much mulch the ground under all the trees of a block takes, in rings or in strips, less what lies there already."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from advisor.fact import Fact
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.orchard import Block
from advisor.science import mulch, ramial, sward

CHIPS = frozenset({"ramial-chips", "wood-chips", "bark"})
HAY = frozenset({"hay", "straw", "pea-straw", "meadow-cut", "legume-hay"})
# Trees planted this calendar year or in the last have roots no wider than the hole (common practice, no source).
NEW_YEARS = 2
# What each source tells.
SOURCES = {"brf-method-notes": "chips_kg", "noel-poplar-twigs": "chips_nitrogen", "agroscope-2001-minerals": "hay_potassium"}


@dataclass(frozen=True)
class Layer:
    """The mulched ground of one tree, less the bare round at its trunk.

    across: of the ring, or of the strip of which `along` belongs to the tree, m. gap: bare from the middle of the trunk.
    """

    across: float
    gap: float
    along: float | None = None

    @property
    def shape(self) -> str:
        return "rings" if self.along is None else "strips"

    def volume(self, depth: float) -> float:
        """Mulch of a depth in m, m3."""
        if self.along is None:
            return float(mulch.ring_volume(self.across, self.gap, depth))
        return float(mulch.strip_volume(self.along, self.across, depth, 1, self.gap))

    @property
    def area(self) -> float:
        return self.volume(1.0)

    @property
    def text(self) -> str:
        drawn = (f"ring {self.across:g} m across" if self.along is None
                 else f"strip {self.across:g} m wide, {self.along:g} m of it to a tree")
        return f"{drawn}, bare {self.gap * 100:.0f} cm from the middle of the trunk: {self.area:.2f} m2"

    @staticmethod
    def of(now: Situation, block: Block, bears: bool | None) -> Layer | None:
        """A ring under each tree; where trees stand closer than rings, a strip along the row. None where no ring fits."""

        def figure(name: str) -> float:
            return float(now.knowledge.figure(name).value(now.region).value)

        gap = (figure("mulch.trunk-gap-least") + figure("ring.trunk-radius")) / 100
        apart = block.spacing.tree if block.spacing else None
        began = block.first_leaf or block.planted
        new = began is not None and now.on.year - began < NEW_YEARS
        least = figure("ring.across-new" if new else "ring.across-young")
        if block.spacing is not None and apart is not None and apart < least:
            width = min(figure("strip.across"), block.spacing.row)
            return Layer(width, gap, apart) if gap < min(width, apart) / 2 else None
        across = least if bears is False else figure("ring.across-most")
        across = min(across, apart) if apart is not None else across
        return Layer(across, gap) if gap < across / 2 else None


def usual_depths(figure: Callable[[str], float]) -> tuple[float, float]:
    """Depth of chips and of loose hay, m: the middle of what is usual."""
    chips = (figure("ramial.ring-depth-least") + figure("ramial.ring-depth-most")) / 200
    return chips, (figure("mulch.hay-depth-least") + figure("mulch.hay-depth-most")) / 200


def ring_facts(block: Block, bears: bool | None, facts: Mapping[str, Fact], now: Situation, make: Maker) -> Iterator[Fact]:
    """Chips in m3 and hay in kg for the rings or strips of a block; `per_tree` is of chips."""

    def figure(name: str) -> float:
        return float(now.knowledge.figure(name).value(now.region).value)

    layer = Layer.of(now, block, bears)
    if layer is None:
        return
    lies = facts.get(f"mulch:{block.id}")
    material, depth = (lies.fields.get("material"), lies.fields.get("depth")) if lies else (None, None)
    there = float(depth) / 100 if depth is not None else 0.0
    chips_m, hay_m = usual_depths(figure)
    chips_left = max(0.0, chips_m - (there if material in CHIPS else 0.0))
    hay_left = max(0.0, hay_m - (there if material in HAY else 0.0))
    each = layer.volume(chips_left)
    # kg on a square metre laid 10 cm deep
    weight = (figure("mulch.hay-weight-least") + figure("mulch.hay-weight-most")) / 2
    hay_each = layer.area * hay_left * 10 * weight
    text = (f"{layer.text}; chips {chips_left * 100:.1f} cm deep: {each:.2f} m3 a tree; "
            f"loose hay {hay_left * 100:.1f} cm deep: {hay_each:.0f} kg a tree")
    if there and material in CHIPS | HAY:
        text += f" (beside the {there * 100:.0f} cm that lie there)"
    values: dict[str, object] = {"block": block.id, "per_tree": each, "shape": layer.shape}
    if block.trees:
        chips, hay = each * block.trees, hay_each * block.trees
        values |= {"chips": chips, "hay": hay, "ground": layer.area * block.trees}
        text += f"; x {block.trees:g} trees = {chips:.1f} m3 of chips or {hay:.0f} kg of hay"
        if hay:
            values["hay_potassium"] = float(sward.minerals_in_cut(hay, "K"))
            text += f" (which hold about {values['hay_potassium']:.0f} kg of potassium)"
        if chips:
            kg, held = float(ramial.weight(chips)), ramial.nutrients(chips)
            values |= {"chips_kg": kg, "chips_nitrogen": float(held["nitrogen"]), "chips_potash": float(held["potash"])}
            text += (f"; so many ramial chips weigh {kg:.0f} kg at half moisture and hold {held['nitrogen']:.1f} kg of "
                     f"nitrogen, {held['phosphate']:.1f} kg of phosphate and {held['potash']:.1f} kg of potash, freed over years")
    yield make("ring-volume", block.id, values, origin=("orchard", *((lies.id,) if lies else ())), text=text,
               sources=tuple(source for source, told in SOURCES.items() if told in values))
