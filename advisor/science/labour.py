"""Hours of work from trees, ground, tools and amounts, and how a year's work divides.

The rates themselves are figures (knowledge), each with its source or mark, and come in as arguments: a rate's id reads
`labour.WORK.TOOL` or `labour.WORK.TOOL.CLASS...`, as in `labour.prune.hand.semi-dwarf`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from advisor.science._numbers import Number, number, plain, say

# What a rate is counted in: unit, the amount that it needs, that amount's size in the unit, and whether it divides.
UNITS: dict[str, tuple[str, float, bool]] = {
    "h": ("visits", 1.0, False),
    "h/tree": ("trees", 1.0, False),
    "h/plant": ("plants", 1.0, False),
    "h/m": ("length_m", 1.0, False),
    "h/m2": ("area_m2", 1.0, False),
    "h/ha": ("area_m2", 10_000.0, False),
    "h/m3": ("volume_m3", 1.0, False),
    "kg/h": ("mass_kg", 1.0, True),
    "fruit/h": ("fruit", 1.0, True),
}

AMOUNT_WORDS = {"length_m": "m", "area_m2": "m2", "volume_m3": "m3", "mass_kg": "kg"}

# Which kind of work a practice is; several practices are the same work. `none` takes no hours of its own.
WORK_OF: dict[str, str] = {
    # floor
    "first-mow": "mow-ring", "mow-alleys": "mow", "mow-every-other-alley": "mow", "autumn-mow": "mow",
    "mow-bloom-before-spray": "mow", "mow-margin": "mow", "clear-tree-ring": "clear-ring",
    "shred-leaves": "shred-leaves", "gather-leaves": "rake-leaves", "leave-stems": "mark-uncut",
    "shorten-stems": "cut-stems",
    "cut-to-ground": "cut-stems", "leave-margin": "mark-uncut", "leave-tall": "mark-uncut",
    "keep-strip-bare": "cultivate", "wet-the-soil": "wet-soil", "sow-clover": "sow",
    # planting
    "plant-understory": "plant-herb", "plant-hedge": "plant-hedge", "sow-flower-strip": "sow-strip",
    "remove-host-plant": "remove-plant", "cut-back-hedge": "cut-hedge", "put-up-nest-boxes": "nest-box",
    "set-out-mason-bees": "nest-box", "bring-hives": "bring-hives", "shelter-for-earwigs": "nest-box",
    "plant-pollinizer": "plant-tree", "graft-pollinizer": "graft", "plant-trees": "plant-tree",
    # soil
    "spread-ramial-chips": "spread-mulch", "lay-hay-ring": "lay-hay", "draw-mulch-back": "draw-back",
    "spread-compost": "spread-mulch", "spread-manure": "spread-mulch", "dig-in-chips": "cultivate",
    "mix-heap": "mix-heap", "cultivate": "cultivate", "hold-nitrogen": "none", "feed-nitrogen": "spread-feed",
    "lime": "spread-lime", "gypsum": "spread-lime", "test-soil": "take-sample", "test-leaves": "take-sample",
    "irrigate": "irrigate",
    # trees
    "dormant-prune": "prune", "summer-prune": "summer-prune", "cut-out-blight": "cut-out",
    "cut-out-canker": "cut-out", "cut-out-knots": "cut-out", "cut-out-mildew": "cut-out",
    "cut-out-dead-wood": "cut-out", "remove-mummies": "strip-mummies", "remove-rust-galls": "cut-out",
    "guard-trunks": "guard", "prop-limbs": "prop", "remove-suckers": "suckers", "train-limbs": "stake",
    "stake-trees": "stake", "whitewash-trunks": "whitewash",
    # crop
    "thin-blossom": "thin-blossom", "hand-thin": "thin", "pick-up-drops": "pick-drops", "bag-fruit": "bag",
    "sample-fruit": "sample-fruit", "pick": "pick", "store": "grade-store", "ripen-indoors": "grade-store",
    "chill-fruit": "grade-store", "count-buds": "count", "count-bees": "count",
    # sprays
    "plant-tea": "brew-tea", "calcium-spray": "spray", "biology-spray": "spray", "sulphur": "spray",
    "lime-sulphur": "spray", "copper": "spray", "oil": "spray", "kaolin": "spray", "bicarbonate": "spray",
    "soap": "spray", "microbial-spray": "spray", "mating-disruption": "hang-traps", "protect-bloom": "spray",
    "insecticide": "spray",
    # watching
    "scout": "scout", "hang-traps": "hang-traps", "check-cankers": "inspect-trunks", "apple-slice-check": "count",
    "frost-watch": "frost-watch", "frost-protect": "frost-watch", "squash-colonies": "scrub-trunk",
    "hose-off": "scrub-trunk", "dig-out-borers": "dig-borers", "scrub-trunks": "scrub-trunk", "spare-allies": "none",
    "release-allies": "hang-traps", "lay-dust": "lay-dust",
    # hours and fences
    "call-helpers": "none", "net-fruit": "net", "fence-out-deer": "fence", "trap-voles": "trap-voles",
    "graze": "graze",
}  # fmt: skip

FIFTHS = ("pruning", "mulching and soil", "pests and disease", "thinning", "harvest")
OTHER = "water, frost, planting, bees and habitat"
FIFTH_SHARE = 0.2  # a first guess, common practice

_PRUNING = {"prune", "summer-prune", "stake", "suckers"}
_SOIL = {
    "mow", "mow-ring", "clear-ring", "cultivate", "spread-mulch", "lay-hay", "draw-back", "mix-heap", "spread-feed",
    "spread-lime", "take-sample", "brew-tea", "sow",
}  # fmt: skip
_PESTS = {
    "shred-leaves", "rake-leaves", "cut-out", "strip-mummies", "guard", "whitewash", "spray", "hang-traps", "scout",
    "count", "inspect-trunks", "dig-borers", "scrub-trunk", "lay-dust", "trap-voles", "fence", "net", "pick-drops",
}  # fmt: skip
_HARVEST = {"pick", "grade-store", "sample-fruit", "prop", "shake"}
_KIND_OF_WORK = {
    **dict.fromkeys(_PRUNING, "pruning"),
    **dict.fromkeys(_SOIL, "mulching and soil"),
    **dict.fromkeys(_PESTS, "pests and disease"),
    **dict.fromkeys(("thin", "thin-blossom", "bag"), "thinning"),
    **dict.fromkeys(_HARVEST, "harvest"),
}


@dataclass(frozen=True, slots=True)
class PublishedYear:
    """Hours of one orchard system in a year as published: per `per`, each task from least to most."""

    per: str
    tasks: Mapping[str, tuple[float, float]]
    total: tuple[float, float]
    source: str


# In the Hood River scan the columns run together: only the totals are sure, the tasks are inferred. The volunteers'
# tasks leave out the rest of their year.
PUBLISHED_YEARS: dict[str, PublishedYear] = {
    "small ecological orchard": PublishedYear(
        "acre",
        {"pruning": (120, 120), "floor": (60, 60), "spray": (40, 40), "thinning": (80, 80), "harvest": (240, 240)},
        (540, 540),
        "common practice, no source",
    ),
    "Hood River apples": PublishedYear(
        "acre",
        {"all other": (172.0, 172.0), "thinning": (99.6, 99.6), "harvest": (109.2, 109.2)},
        (380.8, 380.8),
        "Blosser, Franklin and Mumford 1944",
    ),
    "Hood River pears": PublishedYear(
        "acre",
        {"all other": (130.9, 130.9), "thinning": (22.3, 22.3), "harvest": (82.0, 82.0)},
        (235.2, 235.2),
        "Blosser, Franklin and Mumford 1944",
    ),
    "Hood River Bartlett pears": PublishedYear(
        "acre",
        {"all other": (130.9, 130.9), "thinning": (59.4, 59.4), "harvest": (82.0, 82.0)},
        (272.3, 272.3),
        "Blosser, Franklin and Mumford 1944",
    ),
    "meadow orchard": PublishedYear(
        "hectare",
        {"pruning": (56, 56), "floor": (25, 60), "harvest": (40, 160)},
        (200, 280),
        "Degenbeck, LWG Veitshöchheim, 2016",
    ),
    "volunteer meadow orchard": PublishedYear(
        "site",
        {"pruning": (200, 200), "floor": (340, 340), "harvest": (200, 200)},
        (1000, 1000),
        "care table of a German cultivar diversity group",
    ),
    "Swiss dessert apples": PublishedYear("hectare", {}, (400, 600), "Sichert and others, Agroscope, 2006"),
}
# Published shares of a year's hours in Swiss dessert apples (Bravin, Dietiker and Hanhart 2016).
SWISS_SHARES = {"pruning": 0.11, "pests and disease": 0.04, "thinning": 0.20, "harvest": 0.52}
# Time saved by a platform against ladders in tall spindles (Miranda Sazo 2013), least and most.
PLATFORM_SAVES = {"prune": (0.37, 0.47), "thin": (0.45, 0.50)}
OWN_RECORDS = 3  # a grower's own rate counts from the third record on


@dataclass(frozen=True, slots=True)
class Estimate:
    """Hours of one job, the rate behind them and the working in words."""

    hours: float
    rate: str
    tool: str
    workings: str


def hours_for(value: Any, unit: str, amounts: Mapping[str, Any]) -> Number | None:
    """Hours at a rate: `value` in `unit` times (or dividing) the amount that the unit needs.

    amounts: any of trees, plants, length_m, area_m2, volume_m3, mass_kg, fruit, visits (1 where left out).
    None where the amount needed is not given; NaN where it is NaN. ValueError: an unknown unit, a rate not above 0.
    """
    if unit not in UNITS:
        raise ValueError(f"{unit!r} is no unit of work; known: {', '.join(UNITS)}.")
    key, size, divides = UNITS[unit]
    amount = amounts.get(key, 1 if key == "visits" else None)
    if amount is None:
        return None
    rate = number(value, "rate")
    if np.any(rate <= 0):
        raise ValueError("A rate of work must be above 0.")
    quantity = number(amount, key.replace("_", " "), 0) / size
    return plain(quantity / rate if divides else quantity * rate)


def estimate(
    rates: Mapping[str, tuple[float, str]],
    work: str,
    amounts: Mapping[str, Any],
    tools: Collection[str] | None = None,
    classes: Collection[str] = (),
) -> Estimate | None:
    """The quickest way to do `work` with the tools at hand, or None where no rate fits or an amount is missing.

    rates: figure id to (value, unit). tools: those owned; None when not known, then any may serve; `hand` is always
    at hand. classes: what the trees are, size class and fruit; a rate that names classes needs all of them, and a
    rate that names more of them comes before one that names fewer with the same tool.
    """
    found: list[tuple[float, int, Estimate]] = []
    taken: dict[str, int] = {}
    for rate, (value, unit) in sorted(rates.items()):
        parts = rate.removeprefix("labour.").split(".")
        if len(parts) < 2 or parts[0] != work:
            continue
        tool, wanted = parts[1], parts[2:]
        if (tools is not None and tool != "hand" and tool not in tools) or not set(wanted) <= set(classes):
            continue
        took = hours_for(value, unit, amounts)
        if took is None or not isinstance(took, float) or np.isnan(took):
            continue
        taken[tool] = max(taken.get(tool, 0), len(wanted))
        key, _, divides = UNITS[unit]
        quantity = f"{say(amounts.get(key, 1))} {AMOUNT_WORDS.get(key, key)}"
        sign = "÷" if divides else "×"
        words = f"{quantity} {sign} {value:g} {unit} ({tool}) = {took:.1f} h"
        found.append((took, len(wanted), Estimate(took, rate, tool, words)))
    closest = [(took, one) for took, named, one in found if named == taken[one.tool]]
    return min(closest, key=lambda pair: (pair[0], pair[1].rate))[1] if closest else None


def own_rate(records: Iterable[tuple[float, float]]) -> float | None:
    """A grower's own hours a unit from (hours, amount) records: total over total, or None before the third record."""
    kept = [(float(hours), float(amount)) for hours, amount in records]
    if any(hours < 0 or amount <= 0 for hours, amount in kept):
        raise ValueError("A record of work needs hours of 0 or more and an amount above 0.")
    if len(kept) < OWN_RECORDS:
        return None
    return sum(hours for hours, _ in kept) / sum(amount for _, amount in kept)


def kind_of(practice: str) -> str:
    """Which line of the year's budget a practice falls under: one of `FIFTHS`, or `OTHER`."""
    return _KIND_OF_WORK.get(WORK_OF.get(practice, practice), OTHER)


def shares(hours: Mapping[str, float]) -> dict[str, float]:
    """Each entry's share of the total; ValueError where there are no hours at all."""
    total = sum(hours.values())
    if total <= 0:
        raise ValueError("There are no hours to divide.")
    return {name: value / total for name, value in hours.items()}


def against_fifths(hours: Mapping[str, float]) -> dict[str, dict[str, float]]:
    """Each kind of work against the first guess of a fifth each: `hours`, `share`, `guess` hours, `more` hours.

    The guess (common practice, no source) divides the hours of the five kinds; the sixth line has no guess of its own.
    """
    five = sum(hours.get(kind, 0.0) for kind in FIFTHS)
    parts = shares({kind: hours.get(kind, 0.0) for kind in (*FIFTHS, OTHER)})
    result = {}
    for kind in (*FIFTHS, OTHER):
        guess = five * FIFTH_SHARE if kind in FIFTHS else 0.0
        done = hours.get(kind, 0.0)
        result[kind] = {"hours": done, "share": parts[kind], "guess": guess, "more": done - guess}
    return result
