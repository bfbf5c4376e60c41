"""Plant teas: how much leaf and water, how long, how thin, what is in the leaf, and what to mind.

Dilutions are common practice printed by garden bodies; that such teas feed is known for potassium and nitrogen, that
the plants lift minerals from deep soil for the trees is weakly supported, and the sentences here say so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from advisor.science._numbers import Number, number, plain


@dataclass(frozen=True, slots=True)
class Recipe:
    """One printed way: leaf kg and water litres of a batch, days steeped cool and hot, water to one part of tea."""

    leaf_kg: float
    water_l: tuple[float, float]
    days: tuple[int, int]
    water_parts: float
    source: str


RECIPES: dict[str, Recipe] = {
    # One part of leaf to two of water, four weeks, lid on: a consumer magazine's trial.
    "comfrey": Recipe(1.0, (2.0, 2.0), (28, 28), 10, "which-comfrey-tea"),
    # 1 to 2 kg in 20 litres; four weeks cool, two weeks hot.
    "mixed-leaf": Recipe(1.5, (15.0, 30.0), (14, 28), 10, "berkelaar-2009-tea"),
    # Nettle 1 to 10 is common practice.
    "nettle": Recipe(1.0, (10.0, 10.0), (14, 28), 10, "common practice"),
}
LEAF_WATER_PARTS = (20.0, 50.0)  # on leaves in ecological orchards, from memory

# Leaf minerals by group, g/kg dry matter, mean and spread (Agroscope 2001, over 500 samples).
GROUP_MINERALS: dict[str, dict[str, tuple[float, float]]] = {
    "grasses": {"Ca": (3.7, 1.1), "P": (3.6, 0.8), "Mg": (1.7, 0.5), "K": (31.8, 6.4)},
    "legumes": {"Ca": (15.1, 2.5), "P": (3.4, 0.6), "Mg": (2.3, 0.5), "K": (31.1, 5.2)},
    "herbs": {"Ca": (13.7, 4.0), "P": (4.9, 0.9), "Mg": (3.2, 1.0), "K": (45.8, 6.8)},
}
# Dried leaf and stem of comfrey, percent: N, phosphate P2O5, potash K2O, Ca (a grower's laboratory report, 2014).
COMFREY_PCT = {"N": 2.2, "P2O5": 0.9, "K2O": 6.1, "Ca": 2.2}


@dataclass(frozen=True, slots=True)
class Tendency:
    """What a plant is known to be rich in, how that is known and from where."""

    rich_in: tuple[str, ...]
    evidence: str
    source: str | None


TENDENCIES: dict[str, Tendency] = {
    "chicory": Tendency(("P", "Mg", "K", "S", "Zn", "B"), "published", "pirhofer-2011-herbs"),
    "ribwort-plantain": Tendency(("P", "Mg", "K", "S", "Zn", "B", "Ca"), "published", "pirhofer-2011-herbs"),
    "caraway": Tendency(("P", "Mg", "K", "S", "Zn", "B"), "published", "pirhofer-2011-herbs"),
    "salad-burnet": Tendency(("P", "Mg", "K", "S", "Zn", "B"), "published", "pirhofer-2011-herbs"),
    "dandelion": Tendency(("K", "Mg", "Mn", "Cu", "Zn", "B"), "published", "harrington-2006-herbs"),
    "dock": Tendency(("Mg", "Mn", "Cu", "Zn", "B"), "published", "harrington-2006-herbs"),
    "thistle": Tendency(("Mg", "Mn", "Cu", "Zn", "B"), "published", "harrington-2006-herbs"),
    "buttercup": Tendency(("Mg", "Mn", "Cu", "Zn", "B"), "published", "harrington-2006-herbs"),
    "chickweed": Tendency(("P", "K"), "published", "aberystwyth-1987-forbs"),
    "common-comfrey": Tendency(("K", "N", "Ca"), "published", "comfrey-analysis-2014"),
    "sterile-comfrey": Tendency(("K", "N", "Ca"), "published", "comfrey-analysis-2014"),
    "nettle": Tendency(("N", "Ca", "K", "Fe"), "from-memory", None),
    "yarrow": Tendency(("K", "Cu", "P"), "from-memory", None),
    "horsetail": Tendency(("Si",), "from-memory", None),
    "red-clover": Tendency(("N",), "from-memory", None),
}
HONEST = (
    "Such leaf is a good source of potassium, calcium and magnesium for mulch and teas; that it lifts them from deep "
    "soil for the trees is weakly supported: it cycles what the soil already holds."
)
CAUTIONS = (
    "Steep with a lid on, out of reach of children and stock; it stinks and draws flies.",
    "Wear gloves; wash hands and tools; do not breathe the spray.",
    "On soil, or on leaves in dull weather; keep it off fruit, and off leaves in the 90 days before picking.",
    "Never mix it with lime sulphur or follow it with lime sulphur: a sour ferment frees poison gas.",
    "It is a feed, not a remedy: do not drink it or give it to animals.",
)
COMFREY_CAUTION = "Comfrey holds alkaloids that harm the liver; never as food, fodder or drink."
HORSETAIL_CAUTION = "Horsetail is poisonous to horses and hard to be rid of; gather it, never plant it."


def recipe(plant: str) -> Recipe:
    """The printed recipe for a plant: comfrey, nettle, or mixed leaf for any other."""
    return RECIPES["comfrey" if "comfrey" in plant else plant if plant in RECIPES else "mixed-leaf"]


def batch(plant: str, leaf_kg: Any) -> dict[str, Number]:
    """Water for an amount of fresh leaf, l least and most, and the thinned tea it makes, l, on soil.

    The tea is reckoned as the least water; thinned one part to ten it becomes eleven times as much.
    """
    way, leaf = recipe(plant), number(leaf_kg, "leaf", 0)
    low, high = (leaf / way.leaf_kg * water for water in way.water_l)
    return {
        "water_least_l": plain(low),
        "water_most_l": plain(high),
        "thinned_l": plain(low * (1 + way.water_parts)),
    }


def tea_needed(thinned_l: Any, on_leaf: bool = False) -> Number:
    """Strong tea for a volume of thinned tea, l: one part in 11 on soil, one in 21 on leaves (the weaker is safe)."""
    parts = LEAF_WATER_PARTS[0] if on_leaf else 10.0
    return plain(number(thinned_l, "thinned tea", 0) / (1 + parts))


def steep_days(plant: str, mean_c: float | None = None) -> tuple[int, int]:
    """Days to steep, least and most: the printed span, or its hot or cool end where the mean temperature is known.

    The sources say "hot" and "cool" only; 20 C as the line between them is common practice.
    """
    least, most = recipe(plant).days
    if mean_c is None or np.isnan(number(mean_c, "temperature")):
        return least, most
    return (least, least) if mean_c >= 20 else (most, most)


def cautions(plant: str) -> list[str]:
    """What to mind with a tea of this plant: hygiene, contact with the crop, lime sulphur, poison."""
    extra = [COMFREY_CAUTION] if "comfrey" in plant else [HORSETAIL_CAUTION] if "horsetail" in plant else []
    return [*CAUTIONS, *extra]


def minerals(plant: str) -> Tendency | None:
    """What the leaf of a plant is known to be rich in, with the evidence, or None."""
    name = "dock" if plant.endswith("dock") else "horsetail" if plant.endswith("horsetail") else plant
    return TENDENCIES.get(name)
