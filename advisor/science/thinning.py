"""Crop load by trunk area, spacing of fruit, what a late thinning still does, biennial bearing, blossom thinning.

Trunk area and load: J. Clements, Crop load guide for young apple trees, University of Massachusetts 2017; University of
Wisconsin 2023. Lengths in cm, areas in cm2, days from full bloom.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from advisor.science._numbers import Number, number, plain

FRUITS = ("apple", "pear", "quince", "peach", "nectarine", "apricot", "plum", "sweet-cherry", "tart-cherry")

# Fruit a cm2 of trunk (Clements 2017).
LOAD = {"biennial": 4.0, "annual": 6.0}
# Honeycrisp, Fuji, Gala and McIntosh are named by Clements 2017; the others from memory.
GROUPS: dict[str, str] = {
    **dict.fromkeys(("honeycrisp", "fuji"), "biennial"),
    **dict.fromkeys(("gala", "mcintosh"), "annual"),
    **dict.fromkeys(
        ("baldwin", "northern spy", "macoun", "york imperial", "wealthy", "yellow transparent", "golden russet",
         "elstar", "bramley's seedling", "braeburn", "goldrush"), "biennial"),
    **dict.fromkeys(("empire", "jonathan", "idared", "jonagold", "liberty", "cortland", "rome"), "annual"),
}  # fmt: skip
LOAD_LEAVES = (2, 7)  # the trunk rule serves the 2nd to about the 5th to 7th leaf (Clements 2017, Wisconsin 2023)


@dataclass(frozen=True, slots=True)
class Spacing:
    """How far apart to leave fruit, cm, and the rest of the rule; None where fruit is not thinned by hand."""

    low_cm: float | None
    high_cm: float | None
    per_cluster: int | None
    when_mm: float | None
    leaves: tuple[float, float] | None
    source: str


_PEACH = Spacing(15.2, 20.3, None, 25.0, (75, 75), "Missouri State 2017; eXtension")
_CHERRY = Spacing(None, None, None, None, None, "garden thinning page, second-hand")
# Inches of the sources: apple 4 to 6, pear 6 to 8, peach 6 to 8, European plum 2 to 3, Japanese plum 4 to 6, apricot
# 2 to 4. Sizes at thinning 3/4 in for pome fruit, 1 in for peach (eXtension). Cherries are not thinned by hand.
SPACING: dict[str, Spacing] = {
    "apple": Spacing(10.2, 15.2, 1, 19.0, (50, 75), "Upham, Kansas State; South Dakota State; New Mexico growers"),
    "pear": Spacing(15.2, 20.3, 1, 19.0, None, "South Dakota State, second-hand"),
    "peach": _PEACH,
    "nectarine": _PEACH,
    "apricot": Spacing(5.1, 10.2, None, None, None, "South Dakota State, second-hand"),
    "plum": Spacing(5.1, 7.6, None, None, None, "garden thinning page, second-hand (European)"),
    "japanese-plum": Spacing(10.2, 15.2, None, None, None, "garden thinning page, second-hand"),
    "sweet-cherry": _CHERRY,
    "tart-cherry": _CHERRY,
}
JUNE_DROP_WEEKS = (3.0, 6.0)  # after full bloom (Tromp)
RETURN_BLOOM_DAYS = (30.0, 40.0)  # from memory: sure to the first, over by the second
SIZE_DAYS = 60.0  # common practice: cells have stopped dividing; later thinning adds little size


def trunk_area(girth_cm: Any = None, diameter_cm: Any = None) -> Number:
    """Trunk cross-section, cm2: C^2 / (4 pi) from the girth or pi d^2 / 4 from the diameter, whichever is given.

    Measure below the lowest fruiting branch, about 60 cm up. ValueError: neither or both given, a negative length.
    """
    if (girth_cm is None) == (diameter_cm is None):
        raise ValueError("Give either the girth or the diameter of the trunk, not both.")
    if girth_cm is not None:
        return plain(number(girth_cm, "girth", 0) ** 2 / (4 * np.pi))
    return plain(np.pi * number(diameter_cm, "diameter", 0) ** 2 / 4)


def fruit_target(area_cm2: Any, per_cm2: Any) -> Any:
    """Fruit for a trunk: area x load, to the nearest whole fruit, halves to even.

    A number gives an int (NaN stays NaN), an array an array of whole floats. Serves young trees, 2nd to 7th leaf.
    """
    target = np.round(number(area_cm2, "trunk area", 0) * number(per_cm2, "load", 0))
    if target.ndim:
        return target
    return float("nan") if np.isnan(target) else int(target)


def group_of(cultivar: str) -> str | None:
    """"biennial" or "annual" for a listed apple, otherwise None."""
    return GROUPS.get(cultivar.lower())


def excess(fruit_on_tree: Any, target: Any) -> Number:
    """Fruit to take off a tree, 0 at least."""
    return plain(np.maximum(number(fruit_on_tree, "fruit count", 0) - number(target, "target", 0), 0))


def spacing(fruit: str, kind: str | None = None) -> Spacing | None:
    """How far apart to leave the fruit of a kind of tree; None where no figure is published (quince).

    kind: "japanese" or "european" for plums, European where not said.
    """
    if fruit not in FRUITS:
        raise ValueError(f"{fruit!r} is none of the tree fruits: {', '.join(FRUITS)}.")
    return SPACING.get("japanese-plum" if fruit == "plum" and kind == "japanese" else fruit)


def fruit_on_limb(limb_cm: Any, fruit: str, kind: str | None = None) -> tuple[Number, Number] | None:
    """Fruit to leave on a length of bearing limb, fewest and most, by spacing; None where fruit is not thinned so."""
    rule = spacing(fruit, kind)
    if rule is None or rule.low_cm is None or rule.high_cm is None:
        return None
    length = number(limb_cm, "limb length", 0)
    return plain(np.floor(length / rule.high_cm)), plain(np.floor(length / rule.low_cm))


def late_thinning(days_after_bloom: float) -> dict[str, Any]:
    """What hand thinning still does so many days after full bloom.

    Returns `return_bloom` ("yes", "partly", "no"), `size` ("yes", "little"), `spares_limbs` True (always), and
    `because`. Next year's buds form while fruit grows in June (Upham, Kansas State); the 30 to 40 days are from
    memory, the 60 days for size common practice. NaN gives None for both answers.
    """
    days = float(number(days_after_bloom, "days after bloom", 0))
    if np.isnan(days):
        return {"return_bloom": None, "size": None, "spares_limbs": True, "because": ["Full bloom was not seen."]}
    sure, over = RETURN_BLOOM_DAYS
    bloom = "yes" if days <= sure else "partly" if days <= over else "no"
    size = "yes" if days <= SIZE_DAYS else "little"
    because = {
        "yes": f"{days:.0f} days after full bloom next year's flower buds are still being laid down.",
        "partly": f"{days:.0f} days after full bloom many of next year's buds are already settled.",
        "no": f"{days:.0f} days after full bloom it no longer helps next year's bloom.",
    }[bloom]
    return {
        "return_bloom": bloom,
        "size": size,
        "spares_limbs": True,
        "because": [because, "It still spares limbs and parts fruit that touch, where insects and rot start."],
    }


def june_drop(days_after_bloom: float) -> str | None:
    """Whether June drop is "before", "during" or "over": 3 to 6 weeks after full bloom (Tromp). NaN gives None."""
    days = float(number(days_after_bloom, "days after bloom"))
    if np.isnan(days):
        return None
    first, last = (7 * weeks for weeks in JUNE_DROP_WEEKS)
    return "before" if days < first else "during" if days <= last else "over"


def biennial_risk(load_per_cm2: float, cultivar: str | None = None, bore_heavily: bool | None = None) -> str | None:
    """Risk that a heavy crop leaves next year bare: "low", "fair" or "high" (common practice, no source).

    load_per_cm2: fruit on the tree a cm2 of trunk. Against 4 for biennial kinds, 6 for annual kinds, 4 where not
    listed: up to that low, up to half as much again fair, beyond high; a kind not biennial drops one step, a tree
    that bore heavily last year keeps it. NaN gives None.
    """
    load = float(number(load_per_cm2, "load", 0))
    if np.isnan(load):
        return None
    group = group_of(cultivar) if cultivar else None
    target = LOAD[group or "biennial"]
    step = 0 if load <= target else 1 if load <= 1.5 * target else 2
    if step and group == "annual" and not bore_heavily:
        step -= 1
    return ("low", "fair", "high")[step]


# Ways to thin blossom. Common practice; sprays only where their label says thinning and the standard allows them.
_BLOSSOM: tuple[dict[str, Any], ...] = (
    {
        "way": "by-hand",
        "fruits": FRUITS[:7],
        "how": "Rub whole clusters off every second spur, or keep the king flower and nip the rest.",
        "cautions": ["Wait until the risk of frost is past: there is no putting blossom back."],
    },
    {
        "way": "brush-or-string",
        "fruits": ("peach", "nectarine", "apricot", "plum", "apple"),
        "how": "Brush or flail open flowers off, tops first; peaches from pink to full bloom.",
        "cautions": [
            "Not where fire blight threatens: it opens wounds in bloom.",
            "Wait until the risk of frost is past.",
        ],
    },
    {
        "way": "lime-sulphur",
        "fruits": ("apple", "pear"),
        "how": "Once the king bloom wanted is fertilised, dry the later flowers; rate and timing from the label alone.",
        "cautions": [
            "Only where the label names blossom thinning here; gloves, goggles and label clothing.",
            "Never with, or on the residue of, acids or sour ferments: poison gas.",
            "Burns eyes and skin, and leaves in heat; spray when bees are not flying.",
        ],
    },
)


def blossom_ways(fruit: str, fire_blight: bool = False) -> list[dict[str, Any]]:
    """Ways to thin the blossom of a fruit, each with `way`, `how` and `cautions`; cherries have none.

    fire_blight: it threatens now, so ways that wound open bloom are left out.
    """
    if fruit not in FRUITS:
        raise ValueError(f"{fruit!r} is none of the tree fruits: {', '.join(FRUITS)}.")
    return [
        {key: way[key] for key in ("way", "how", "cautions")}
        for way in _BLOSSOM
        if fruit in way["fruits"] and not (fire_blight and way["way"] == "brush-or-string")
    ]
