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

# Dried leaf and stem of comfrey, percent: N, phosphate P2O5, potash K2O, Ca (a grower's laboratory report, 2014).
COMFREY_PCT = {"N": 2.2, "P2O5": 0.9, "K2O": 6.1, "Ca": 2.2}
FRESH_DRY_SHARE = 0.12  # of fresh comfrey leaf that is dry matter, from memory


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


def comfrey_holds(leaf_kg: Any) -> dict[str, Number]:
    """What fresh comfrey leaf holds, kg: N, phosphate P2O5, potash K2O, Ca; a tea takes up a part of it."""
    dry = number(leaf_kg, "leaf", 0) * FRESH_DRY_SHARE
    return {name: plain(dry * percent / 100) for name, percent in COMFREY_PCT.items()}


def own_caution(plant: str) -> str | None:
    """What to mind with this plant beyond what every tea asks; None where there is nothing more."""
    return COMFREY_CAUTION if "comfrey" in plant else HORSETAIL_CAUTION if "horsetail" in plant else None


def minerals(plant: str) -> Tendency | None:
    """What the leaf of a plant is known to be rich in, with the evidence, or None."""
    name = "dock" if plant.endswith("dock") else "horsetail" if plant.endswith("horsetail") else plant
    return TENDENCIES.get(name)
