"""Carbon to nitrogen of a sward from its growth, whether a material frees or ties up nitrogen, hay, and what a cut
patch can serve as.

The growth stage is read from the seed heads (none, emerging, set, ripe), never from a date.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from advisor.science._numbers import Number, number, plain
from advisor.science.mulch import HECTARE

# C:N by seed heads: low, typical, high. Leafy: Golueke 1972 and Moore-Kucera (Oregon State). Emerging: timothy from
# pre-bloom head to fully headed, from protein (Alberta Agriculture); set and ripe: from memory, with rye at heading
# and bloom 37 to 40 and as straw 82 (USDA NRCS 2011) on either side.
SEED_HEAD_CN: dict[str, tuple[float, float, float]] = {
    "none": (12.0, 16.0, 20.0),
    "emerging": (24.5, 30.0, 31.6),
    "set": (37.0, 40.0, 60.0),
    "ripe": (60.0, 80.0, 82.0),
}
GROWTH_WORDS = {"leafy": "none", "headed": "emerging", "going-to-seed": "set", "straw": "ripe"}

# Published C:N by crop and stage.
CROP_CN: dict[tuple[str, str], tuple[float, float]] = {
    ("rye", "vegetative"): (26, 26),  # USDA NRCS 2011
    ("rye", "heading"): (40, 40),  # Nitrogen Management in Crop Production, table 8.5
    ("rye", "flowering"): (37, 37),  # USDA NRCS 2011
    ("rye", "straw"): (82, 82),  # USDA NRCS 2011
    ("ryegrass", "vegetative"): (30, 30),  # Nitrogen Management in Crop Production, table 8.5
    ("hairy-vetch", "vegetative"): (11, 12),  # both
    ("red-clover", "vegetative"): (13.7, 13.7),  # table 8.5, 101 days
    ("white-clover", "vegetative"): (10.7, 10.7),  # table 8.5, 101 days
    ("timothy", "jointing"): (22.5, 22.5),  # Alberta Agriculture, protein 11.1 %
    ("timothy", "pre-bloom"): (24.5, 24.5),  # protein 10.2 %
    ("timothy", "headed"): (31.6, 31.6),  # protein 7.9 %
    ("orchardgrass", "hay"): (21, 31),  # University of Kentucky, protein 8 to 12 %
    ("alfalfa", "mowings"): (10.8, 10.8),  # Granatstein and others 2017, four cuts
    ("grass", "leafy"): (12, 20),  # Golueke 1972; Moore-Kucera
}
RELEASE_BELOW, TIE_UP_ABOVE = 20.0, 30.0

# Dry matter, t/ha a year, least and most.
HAY_YIELD: dict[str, tuple[float, float]] = {
    "meadow": (6.0, 6.0),  # Pennine hay meadow not grazed; Younger and Smith 1994
    "meadow-grazed": (4.0, 5.0),  # the same, grazed in spring
    "orchardgrass": (4.5, 9.0),  # University of Kentucky, 2 to 4 short tons an acre
    "legume": (2.8, 5.0),  # alfalfa alley; Pavek and Granatstein, 2,500 to 4,500 lb an acre
}
# Minerals of grassland plants by group, g/kg dry matter, mean and spread (Agroscope 2001, over 500 samples).
GROUP_MINERALS: dict[str, dict[str, tuple[float, float]]] = {
    "grasses": {"Ca": (3.7, 1.1), "P": (3.6, 0.8), "Mg": (1.7, 0.5), "K": (31.8, 6.4)},
    "legumes": {"Ca": (15.1, 2.5), "P": (3.4, 0.6), "Mg": (2.3, 0.5), "K": (31.1, 5.2)},
    "herbs": {"Ca": (13.7, 4.0), "P": (4.9, 0.9), "Mg": (3.2, 1.0), "K": (45.8, 6.8)},
}
LEGUME_N_KG_HA = (90.0, 202.0)  # in the mowings of an alfalfa alley in a year; Pavek and Granatstein


def _heads(seed_heads: str) -> str:
    word = GROWTH_WORDS.get(seed_heads, seed_heads)
    if word not in SEED_HEAD_CN:
        raise ValueError(f"Seed heads must be one of {', '.join(SEED_HEAD_CN)}; {seed_heads!r} was given.")
    return word


def cn(seed_heads: str) -> float:
    """Typical carbon to nitrogen of a grassy sward at this growth: 16, 30, 40 or 80."""
    return SEED_HEAD_CN[_heads(seed_heads)][1]


def cn_range(seed_heads: str) -> tuple[float, float]:
    """Lowest and highest carbon to nitrogen to reckon with at this growth."""
    low, _, high = SEED_HEAD_CN[_heads(seed_heads)]
    return low, high


def crop_cn(crop: str, stage: str) -> tuple[float, float] | None:
    """Published carbon to nitrogen of a named crop at a named stage, least and most, or None."""
    return CROP_CN.get((crop, stage))


def nitrogen_effect(ratio: float) -> str | None:
    """What a material of this carbon to nitrogen does to soil nitrogen: "release", "neutral" or "tie-up".

    Under 20 it releases, over 30 it ties up for weeks to months where it meets soil; between them neither much.
    The bands agree with Oregon State, New England and NRCS figures. NaN gives None.
    """
    value = float(number(ratio, "carbon to nitrogen", 0))
    if np.isnan(value):
        return None
    return "release" if value < RELEASE_BELOW else "tie-up" if value > TIE_UP_ABOVE else "neutral"


def hay_yield(kind: str) -> tuple[float, float] | None:
    """Dry matter that a sward gives in a year, t/ha, least and most, or None where no figure is published."""
    return HAY_YIELD.get(kind)


def hay_mass(area_m2: Any, kind: str) -> tuple[Number, Number] | None:
    """Dry hay from an area in a year, kg, least and most, or None where no figure is published."""
    yields = hay_yield(kind)
    if yields is None:
        return None
    area = number(area_m2, "area", 0) / HECTARE * 1000
    return plain(area * yields[0]), plain(area * yields[1])


def area_for_hay(dry_mass_kg: Any, kind: str) -> tuple[Number, Number] | None:
    """Sward to cut for so much dry hay in a year, m2, least and most, or None where no yield is published."""
    yields = hay_yield(kind)
    if yields is None:
        return None
    wanted = number(dry_mass_kg, "hay", 0) / 1000 * HECTARE
    return plain(wanted / yields[1]), plain(wanted / yields[0])


def nitrogen_in_cut(dry_mass_kg: Any, ratio: Any, carbon_pct: Any = 40.0) -> Number:
    """Nitrogen in a dry cut, kg: mass x carbon share / C:N. Held in it, not all of it released this year."""
    cut_cn = number(ratio, "carbon to nitrogen")
    if np.any(cut_cn <= 0):
        raise ValueError("Carbon to nitrogen must be above 0.")
    return plain(number(dry_mass_kg, "mass", 0) * number(carbon_pct, "carbon", 0, 100) / 100 / cut_cn)


def minerals_in_cut(dry_mass_kg: Any, mineral: str, group: str = "grasses") -> Number:
    """A mineral (Ca, P, Mg, K) that a dry cut of grasses, legumes or herbs holds, kg, at the mean of Agroscope 2001."""
    return plain(number(dry_mass_kg, "mass", 0) * GROUP_MINERALS[group][mineral][0] / 1000)


def uses(
    seed_heads: str,
    plants: Iterable[str] = (),
    toxic: Iterable[str] = (),
    copper_sprayed: bool = False,
    wilted_stone_fruit: bool = False,
    ratio: float | None = None,
) -> list[dict[str, Any]]:
    """What a cut patch can serve as: mulch, compost, tea, fodder; never a remedy to eat.

    plants: ids of what grows in it; toxic: those of them known to harm stock. Each use has `use`, `fit` (True or
    False), `why` and `cautions`. Common practice; the carbon to nitrogen is that of the seed heads, or the given ratio.
    """
    heads, grows, harms = _heads(seed_heads), set(plants), sorted(set(toxic))
    seedy = heads in ("set", "ripe")
    ratio = cn(heads) if ratio is None else ratio
    comfrey = sorted(name for name in grows if "comfrey" in name)
    result = [
        {
            "use": "mulch",
            "fit": True,
            "why": f"C:N about {ratio:g}: it will {_plain_effect(ratio)} nitrogen where it meets soil.",
            "cautions": ["Keep it off the bark: 15 cm at least, 30 cm is easier to judge."]
            + (["Ripe seed will come up in the ring."] if heads == "ripe" else []),
        },
        {
            "use": "compost",
            "fit": True,
            "why": f"C:N about {ratio:g}; a heap wants 25 to 35.",
            "cautions": ["Only a hot heap kills seed."] if seedy else [],
        },
        {
            "use": "plant-tea",
            "fit": not seedy and not copper_sprayed,
            "why": "Leafy growth steeps well; stalks and seed heads give little.",
            "cautions": ["Wear gloves, keep a lid on, and keep it off what is eaten."],
        },
    ]
    poison = list(dict.fromkeys([*harms, *comfrey]))
    dangers = [f"{' and '.join(poison)} {'harms' if len(poison) == 1 else 'harm'} stock."] if poison else []
    if copper_sprayed:
        dangers.append("Copper on the grass can kill sheep.")
    if wilted_stone_fruit:
        dangers.append("Wilted leaves of stone fruit give off cyanide.")
    result.append(
        {
            "use": "fodder",
            "fit": not dangers and heads != "ripe",
            "why": "Ripe stalks feed poorly." if heads == "ripe" else "Leafy to headed growth feeds stock best.",
            "cautions": [*dangers, "Keep the label's grazing interval after any spray; ask a vet where in doubt."],
        }
    )
    return result


def _plain_effect(ratio: float) -> str:
    return {"release": "release", "neutral": "neither add nor take much", "tie-up": "tie up"}[
        nitrogen_effect(ratio) or "neutral"
    ]
