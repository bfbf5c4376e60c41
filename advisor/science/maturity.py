"""When fruit is ready: starch, firmness, soluble solids, ground colour, days from bloom; storage class; Streif index.

Firmness in lbf on an 11 mm probe unless a function says otherwise (1 lbf = 4.448 N = 0.4536 kgf); pears on an 8 mm
probe. Starch on the eight-point chart: 1 all starch, 8 clear.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from advisor.science._numbers import Number, number, plain

NEWTON_PER_LBF = 4.4482216


@dataclass(frozen=True, slots=True)
class Maturity:
    """Firmness, lbf, wanted for short, mid and long controlled-atmosphere storage; starch when mature, over-mature."""

    short: float
    mid: float
    long: float
    mature: float
    over_mature: float


# Checking apple maturity, Michigan State University Extension. "Mature" is a guide for long, "over-mature" for short
# controlled-atmosphere storage or the cold store. Empire for export: 18 lbf.
APPLES: dict[str, Maturity] = {
    "braeburn": Maturity(16, 17, 18, 3, 7),
    "cortland": Maturity(14, 15, 16, 4, 6),
    "empire": Maturity(14, 15, 16, 3.5, 6),
    "fuji": Maturity(16, 17, 18, 3, 7),
    "gala": Maturity(16, 17, 18, 3, 6),
    "golden delicious": Maturity(15, 16, 17, 3, 6.5),
    "honeycrisp": Maturity(15, 16, 17, 3.5, 7),
    "idared": Maturity(14, 15, 16, 3.5, 6),
    "jonagold": Maturity(15, 16, 17, 3.5, 5.5),
    "jonathan": Maturity(14, 15, 16, 3.5, 5.5),
    "mcintosh": Maturity(14, 15, 16, 5, 7),
    "mutsu": Maturity(16, 17, 18, 3, 6),
    "northern spy": Maturity(16, 17, 18, 3, 6),
    "red delicious": Maturity(16, 17, 18, 2.5, 5),
    "rome": Maturity(15, 16, 18, 3, 5.5),
    "spartan": Maturity(17, 18, 19, 4, 6),
    "winesap": Maturity(17, 18, 19, 2.5, 6),
}
EMPIRE_EXPORT_LBF = 18.0
LONG_STORE_LEAST_LBF = 16.0  # Cowgill and Clements 2012, Rutgers and University of Massachusetts
SAMPLE_FRUIT = 10  # Michigan State University 2023

# Firmness, lbf, least and most when picked, and days from full bloom (Washington State, Penn State).
PEARS: dict[str, tuple[tuple[float, float], tuple[float, float]]] = {
    "anjou": ((13, 15), (120, 150)),
    "bartlett": ((15, 17), (110, 133)),
    "bosc": ((14, 16), (130, 145)),
    "asian": ((8, 12), (112, 150)),
}
# Days from full bloom, apples. Red Delicious: Virginia Tech 2013, a mean; the others from memory.
DAYS: dict[str, tuple[float, float]] = {
    "red delicious": (143, 143),
    "mcintosh": (125, 140),
    "gala": (110, 120),
    "golden delicious": (135, 150),
    "honeycrisp": (125, 140),
    "fuji": (160, 180),
    "granny smith": (170, 185),
}
RED_DELICIOUS_KEEPS_SOLIDS = 10.5  # Ingle 1972, West Virginia

# Final harvest window, newtons and the North American starch scale, eight months of controlled atmosphere.
# DeLong and others 1999, HortScience 34(7):1251-1255.
STREIF_WINDOW_N: dict[str, tuple[float, float]] = {
    "redmax mcintosh": (4.18, 5.34),
    "marshall mcintosh": (4.12, 5.46),
    "summerland mcintosh": (4.51, 5.68),
    "redcort cortland": (5.23, 5.99),
    "wilmuta jonagold": (1.38, 2.34),
}
GROUND_COLOUR = ("green", "light-green", "yellow")


def streif(firmness: Any, soluble_solids_pct: Any, starch: Any) -> Number:
    """Streif index: firmness / (soluble solids x starch), in the unit of firmness.

    In newtons the answer is about ten times that in kg/cm2, so compare only with a window in the same unit.
    ValueError: soluble solids or starch of 0 or less, a negative firmness.
    """
    force = number(firmness, "firmness", 0)
    solids, clear = number(soluble_solids_pct, "soluble solids", most=100), number(starch, "starch")
    if np.any(solids <= 0) or np.any(clear <= 0):
        raise ValueError("Soluble solids and starch must be above 0 for a Streif index.")
    return plain(force / (solids * clear))


def streif_stage(strain: str, index_n: float) -> str | None:
    """"early" above the published window of a strain, "ready" in it, "late" below; None where none is published."""
    window = STREIF_WINDOW_N.get(strain.lower())
    value = float(number(index_n, "Streif index", 0))
    if window is None or np.isnan(value):
        return None
    low, high = window
    return "early" if value > high else "late" if value < low else "ready"


def apple(cultivar: str) -> Maturity | None:
    """The published maturity row of an apple, or None."""
    return APPLES.get(cultivar.lower())


STORES = ("sell", "short", "mid", "long")


def storage_class(cultivar: str, firmness_lbf: float, starch: float | None = None) -> str | None:
    """How long fruit will keep: "long", "mid", "short" or "sell" (eat, sell or press), or None for an unlisted apple.

    By firmness against the cultivar's row; long never under 16 lbf; starch lowers it: over the mature figure and over
    4 to mid, from the over-mature figure to short (Michigan State; Cowgill and Clements 2012). NaN gives None.
    """
    row = apple(cultivar)
    firm = float(number(firmness_lbf, "firmness", 0))
    clear = float(number(starch, "starch", 1, 8)) if starch is not None else 0.0
    if row is None or np.isnan(firm) or np.isnan(clear):
        return None
    long_from = max(row.long, LONG_STORE_LEAST_LBF)
    grade = 3 if firm >= long_from else 2 if firm >= row.mid else 1 if firm >= row.short else 0
    if clear >= row.over_mature:
        grade = min(grade, 1)
    elif clear > max(row.mature, 4.0):
        grade = min(grade, 2)
    return STORES[grade]


def apple_readiness(
    cultivar: str,
    starch: float | None = None,
    firmness_lbf: float | None = None,
    soluble_solids_pct: float | None = None,
    ground_colour: str | None = None,
    days_after_bloom: float | None = None,
) -> dict[str, Any]:
    """Whether apples are ready, from whatever was measured.

    Returns `verdict` ("unripe", "store" pick for keeping, "eat" pick to eat or sell soon, "over" past keeping, or None
    where nothing decides), `store` (as `storage_class`; None while unripe) and `because` (a sentence a sign). Starch
    decides first, then ground colour, then days; firmness says how long fruit keeps. Missing signs are left out.
    """
    row, because, votes = apple(cultivar), [], []
    if starch is not None and not np.isnan(number(starch, "starch", 1, 8)):
        mature, over = (row.mature, row.over_mature) if row else (3.0, 6.0)
        votes.append("unripe" if starch < mature else "eat" if starch >= over else "store")
        named = f"for {cultivar}" if row else "in general (3 to 4 for long store, 6 and more to sell)"
        because.append(f"Starch {starch:g}; mature from {mature:g}, over-mature from {over:g} {named}.")
    if ground_colour is not None:
        if ground_colour not in GROUND_COLOUR:
            raise ValueError(f"Ground colour must be one of {', '.join(GROUND_COLOUR)}; {ground_colour!r} was given.")
        votes.append({"green": "unripe", "light-green": "store", "yellow": "eat"}[ground_colour])
        because.append(f"Ground colour {ground_colour}: green is early, light green keeps, yellow is to eat.")
    window = DAYS.get(cultivar.lower())
    if days_after_bloom is not None and window and not np.isnan(number(days_after_bloom, "days after bloom", 0)):
        low, high = window
        votes.append("unripe" if days_after_bloom < low - 7 else "eat" if days_after_bloom > high + 7 else "store")
        because.append(f"{days_after_bloom:.0f} days from full bloom; {cultivar} takes about {low:g} to {high:g}.")
    store = None
    if firmness_lbf is not None:
        store = storage_class(cultivar, firmness_lbf, starch)
        if row and not np.isnan(firmness_lbf):
            because.append(f"Firmness {firmness_lbf:.1f} lbf; {row.long:g} keeps long, {row.short:g} a short time.")
    if soluble_solids_pct is not None and cultivar.lower() == "red delicious":
        keeps = "will keep" if soluble_solids_pct >= RED_DELICIOUS_KEEPS_SOLIDS else "is not yet fit to keep"
        because.append(f"Soluble solids {soluble_solids_pct:g} %: from {RED_DELICIOUS_KEEPS_SOLIDS:g} % fruit {keeps}.")
    verdict = votes[0] if votes else None
    if verdict in ("store", "eat") and store == "sell":
        verdict = "over" if starch is not None and row and starch >= row.over_mature else "eat"
    return {"verdict": verdict, "store": None if verdict == "unripe" else store, "because": because}


def pear_readiness(cultivar: str, firmness_lbf: float, span: tuple[float, float] | None = None) -> str | None:
    """"wait" while firmer than the published range, "pick" in it, "late" below; None for an unlisted pear.

    European pears are picked hard and ripened indoors; Asian pears ripen on the tree (cultivar "asian"), and colour
    and taste come before firmness. span: a region's own range, least and most, in place of the published one.
    """
    row = PEARS.get(cultivar.lower())
    firm = float(number(firmness_lbf, "firmness", 0))
    if row is None or np.isnan(firm):
        return None
    low, high = span or row[0]
    return "wait" if firm > high else "late" if firm < low else "pick"


def days_from_bloom(cultivar: str) -> tuple[float, float] | None:
    """Days from full bloom to picking, least and most, of a listed apple or pear, or None."""
    name = cultivar.lower()
    return DAYS.get(name) or (PEARS[name][1] if name in PEARS else None)
