"""Ramial wood: fresh chips of small deciduous branches. What counts as it, how much of it, what it brings.

C. Caron, Ramial Chipped Wood, Maine Organic Farmer and Gardener, 2015; S. Westaway, Organic Research Centre Bulletin
130, 2019; French farm notes of the 1990s (density, supply) and a farm hedge sheet (size classes).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science._numbers import Number, number, plain
from advisor.science.mulch import HECTARE

DIAMETER_MOST_CM = 7.0  # Caron 2015, Westaway 2019: under 7 cm across
TWIG_MOST_CM = 3.0  # farm hedge sheet: twigs under 3 cm, branches 3 to 7 cm
CONIFER_SHARE = (0.1, 0.2)  # "up to 10 to 20 %", encyclopaedia articles read second-hand
CN = (30.0, 170.0)  # Caron 2015
STEM_WOOD_CN = (400.0, 750.0)  # Caron 2015
DENSITY_KG_M3 = 400.0  # at half moisture, French farm notes
FIRST_DOSE_M3_HA = (150.0, 200.0)  # from memory: 1.5 to 2 cm
# Poplar twigs, kg a m3 of chips (B. Noel, Centre des technologies agronomiques, read second-hand).
POPLAR_KG_M3 = {"nitrogen": 1.8, "phosphate": 1.8, "potash": 1.7, "lime": 7.0}

CONIFERS = frozenset(
    {"cedar", "cypress", "douglas-fir", "eastern-redcedar", "fir", "hemlock", "juniper", "larch", "pine", "spruce"}
    | {"chinese-juniper", "common-juniper", "savin-juniper", "white-cedar", "yew"}
)
# Why some wood is kept off the floor under fruit trees. Common practice, no source.
SPECIES_CAUTIONS: dict[str, str] = {
    "black-walnut": "Walnut wood holds a substance that stunts apples; compost it well or use it on paths.",
    "yew": "Yew is deadly to stock and people; do not chip it where animals graze.",
    "black-locust": "Locust wood rots slowly and its bark is poisonous to stock.",
    "cherry-laurel": "Fresh cherry laurel gives off poison when chipped; keep downwind and out of a closed van.",
}
CONIFERS_MOST = f"Conifers to at most {100 * CONIFER_SHARE[0]:.0f} to {100 * CONIFER_SHARE[1]:.0f} % of ramial chips."
KEPT_OFF = frozenset({"black-walnut"})  # not under fruit trees at all, unless well composted


def is_ramial(diameter_cm: float, conifer_share: float = 0.0, fresh: bool = True) -> dict[str, Any]:
    """Whether chips count as ramial wood, with the reasons against.

    diameter_cm: thickest branch chipped. conifer_share: 0-1. fresh: chipped and used without lying to rot.
    Returns `ramial` (True, False, or None where a figure is NaN), `size` ("twigs", "branches", "stem wood" or None)
    and `because`, sentences. Between 10 and 20 % conifer sources differ: ramial still, and the reason says so.
    """
    thick = float(number(diameter_cm, "diameter", 0))
    conifer = float(number(conifer_share, "conifer share", 0, 1))
    if np.isnan(thick) or np.isnan(conifer):
        return {"ramial": None, "size": None, "because": ["Branch size or conifer share is not known."]}
    size = "twigs" if thick < TWIG_MOST_CM else "branches" if thick < DIAMETER_MOST_CM else "stem wood"
    against, remarks = [], []
    if size == "stem wood":
        against.append(f"Branches of {thick:g} cm are stem wood; ramial wood is under {DIAMETER_MOST_CM:g} cm.")
    if conifer > CONIFER_SHARE[1]:
        against.append(f"{_percent(conifer)} conifer is more than the {_percent(CONIFER_SHARE[1])} that sources allow.")
    elif conifer > CONIFER_SHARE[0]:
        remarks.append(f"{_percent(conifer)} conifer: some sources stop at {_percent(CONIFER_SHARE[0])}.")
    if not fresh:
        against.append("Ramial wood is used fresh; chips that have lain are plain wood chips.")
    return {"ramial": not against, "size": size, "because": against + remarks}


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def species_cautions(species: str) -> list[str]:
    """What to know before chipping a plant: conifers count toward the conifer share; some wood is kept away."""
    found = [SPECIES_CAUTIONS[species]] if species in SPECIES_CAUTIONS else []
    if species in CONIFERS:
        found.append(CONIFERS_MOST)
    return found


def first_dose(area_m2: Any) -> tuple[Number, Number]:
    """First dose for an area, m3, least and most (150 to 200 m3 a hectare, from memory)."""
    area = number(area_m2, "area", 0) / HECTARE
    return plain(area * FIRST_DOSE_M3_HA[0]), plain(area * FIRST_DOSE_M3_HA[1])


def weight(volume_m3: Any) -> Number:
    """Weight of ramial chips at half moisture, kg (400 kg/m3, French farm notes)."""
    return plain(number(volume_m3, "volume", 0) * DENSITY_KG_M3)


def nutrients(volume_m3: Any) -> dict[str, Number]:
    """What ramial chips hold, kg, after poplar twigs: nitrogen N, phosphate P2O5, potash K2O, lime CaO.

    Held, not released: most comes free over years.
    """
    volume = number(volume_m3, "volume", 0)
    return {name: plain(volume * content) for name, content in POPLAR_KG_M3.items()}
