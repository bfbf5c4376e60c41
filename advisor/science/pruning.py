"""When and how much to prune, by fruit, season, disease and vigour.

Royal Horticultural Society (winter pruning of apples and pears; silver leaf), Utah State University Extension, Kansas
State (W. Upham) and University of Illinois Extension (fire blight). Stages as BBCH codes, lengths in m, shares 0-1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from advisor.science._numbers import number
from advisor.science.thinning import FRUITS

POME = ("apple", "pear", "quince")
STONE = tuple(fruit for fruit in FRUITS if fruit not in POME)
# Stone fruit that silver leaf or Eutypa enter through winter cuts; peaches are pruned near bloom instead.
WINTER_RISK = ("plum", "sweet-cherry", "tart-cherry", "apricot")

SHARE_MOST = 0.25  # of the fruiting wood in a year (cider orchard page); one third in general guides, both weak
SHARE_OLD = (0.10, 0.20)  # of the canopy a year on old trees, from memory
YEARS_FOR_BIG_CUTS = (2, 3)  # spread over winters (newspaper column)
LEADER_SHARE = 1 / 3  # of last year's growth, in formative years (newspaper column)


@dataclass(frozen=True, slots=True)
class Season:
    """When a fruit is pruned: stages that open and close it, and why."""

    opens: int
    closes: int
    why: str
    evidence: str


# From stage to stage round the year: 97 leafless, 53 bud burst, 57 pink, 69 petal fall, 91 after harvest.
_WINTER = Season(97, 53, "Leaf fall to bud burst (Royal Horticultural Society).", "published")
MAIN: dict[str, Season] = {
    "apple": _WINTER,
    "pear": _WINTER,
    "quince": Season(97, 53, "As pears.", "common-practice"),
    "peach": Season(54, 69, "Near bloom in dry weather, when live buds show.", "common-practice"),
    "nectarine": Season(54, 69, "Near bloom in dry weather, as peaches.", "common-practice"),
    "apricot": Season(75, 91, "In summer in dry weather: silver leaf and Eutypa enter winter cuts.", "published"),
    "plum": Season(75, 91, "In summer: silver leaf spores fly mostly September to May.", "published"),
    "sweet-cherry": Season(75, 91, "In summer, after picking, in dry weather.", "published"),
    "tart-cherry": Season(75, 91, "In summer, after picking, in dry weather.", "published"),
}
# Summer cut for light in apples: late July to early August in the mountain west (Utah State), shoots nearly stopped.
SUMMER_FOR_LIGHT = Season(75, 81, "Late July to early August, for light and to restrain growth.", "published")

# How far below the last sign to cut, m (Upham, Kansas State; University of Illinois).
BLIGHT_CUT_M = {"growing": (0.25, 0.30), "dormant": (0.15, 0.30)}



def _known(fruit: str) -> None:
    if fruit not in FRUITS:
        raise ValueError(f"{fruit!r} is none of the tree fruits: {', '.join(FRUITS)}.")


def main_season(fruit: str) -> Season:
    """When a fruit is mainly pruned."""
    _known(fruit)
    return MAIN[fruit]


def in_season(bbch: float, season: Season) -> bool:
    """Whether a stage lies in a season; a season that opens later than it closes goes over the winter."""
    code = float(number(bbch, "stage", 0, 99))
    if season.opens <= season.closes:
        return season.opens <= code <= season.closes
    return code >= season.opens or code <= season.closes


def winter_pruning(fruit: str, silver_leaf: bool | None = None, eutypa: bool | None = None) -> dict[str, Any]:
    """Whether a fruit may be pruned in winter: `allowed`, `because`.

    silver_leaf, eutypa: True where seen or common hereabouts, None where not known; not known counts as a threat for
    plums, cherries and apricots. Peaches wait for bloom in any case.
    """
    _known(fruit)
    if fruit in POME:
        return {"allowed": True, "because": MAIN[fruit].why}
    if fruit not in WINTER_RISK:
        return {"allowed": False, "because": MAIN[fruit].why}
    if silver_leaf is False and eutypa is False:
        return {"allowed": True, "because": "Neither silver leaf nor Eutypa is about; summer is still the safer time."}
    return {
        "allowed": False,
        "because": "Winter cuts heal slowly: silver leaf and Eutypa enter them in the wet. Prune in dry summer days.",
    }


def blight_cut(growing: bool, wet: bool | None = None) -> dict[str, Any]:
    """How to cut fire blight out: `allowed`, `below_m` (least, most), `clean_tools`, `because`.

    growing: the tree is in leaf or bloom. wet: rain, dew or wet leaves now; None (not known) is not called dry.
    """
    below = BLIGHT_CUT_M["growing" if growing else "dormant"]
    if growing and wet is not False:
        said = "Wet cuts spread the bacteria." if wet else "Whether the trees are dry is not known."
        return {"allowed": False, "below_m": below, "clean_tools": True, "because": f"{said} Wait for a dry spell."}
    because = f"Cut {below[0] * 100:.0f} to {below[1] * 100:.0f} cm below the last sign"
    tools = ", in dry weather, with clean tools." if growing else "; tools need cleaning only in growth."
    return {
        "allowed": True,
        "below_m": below,
        "clean_tools": growing,
        "because": because + tools,
    }


def share_to_cut(canopy_old: bool = False) -> float:
    """Most of the fruiting wood to take in a year: a quarter, of old trees a fifth."""
    return SHARE_OLD[1] if canopy_old else SHARE_MOST


def effect(season: str, vigour: str) -> dict[str, Any]:
    """What a cut does to growth: `does` ("invigorates" or "restrains"), `advice`. From memory.

    season: winter or summer. vigour: weak, fair or strong, from shoot length against the range wanted.
    """
    if season not in ("winter", "summer") or vigour not in ("weak", "fair", "strong"):
        raise ValueError("Season is winter or summer; vigour is weak, fair or strong.")
    does = "invigorates" if season == "winter" else "restrains"
    advice = {
        ("winter", "weak"): "Prune now and harder: it wakes growth.",
        ("winter", "fair"): "Prune lightly, thinning cuts first.",
        ("winter", "strong"): "Prune little and by thinning cuts; take the strongest shoots in summer instead.",
        ("summer", "weak"): "Leave it: a summer cut weakens it further.",
        ("summer", "fair"): "Only what shades fruit.",
        ("summer", "strong"): "Take upright water shoots whole, and let light to the fruit.",
    }[season, vigour]
    return {"does": does, "advice": advice}
