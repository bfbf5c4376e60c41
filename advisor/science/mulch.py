"""Mixing by carbon and nitrogen, rings and strips of mulch, and how far the prunings and hedges go.

Masses in one unit throughout (kg unless said), lengths in m, volumes in m3, percentages in percent: carbon and
nitrogen of dry matter, moisture of wet mass. Mixing after T. L. Richard and N. M. Trautmann, Getting the Right Mix,
Cornell Waste Management Institute 1996.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from advisor.science._numbers import Number, number, plain, say, where_known
from advisor.science.tables import Array

HECTARE = 10_000.0

# What a year gives in chips: m3 a hectare of fruit trees pruned, m3 a km of field hedge (French farm notes, 1990s).
PRUNINGS_M3_HA = (2.0, 15.0)
HEDGE_M3_KM = (18.0, 30.0)
def _part(part: Mapping[str, Any], name: str, with_mass: bool = True) -> tuple[Array, Array, Array, Array]:
    missing = [key for key in ("mass", "carbon_pct", "nitrogen_pct", "moisture_pct") if key not in part]
    if missing and (with_mass or missing != ["mass"]):
        raise ValueError(f"{name} lacks {', '.join(missing)}.")
    mass = number(part["mass"], f"mass of {name}", 0) if with_mass else np.asarray(1.0)
    carbon = number(part["carbon_pct"], f"carbon of {name}", 0, 100)
    nitrogen = number(part["nitrogen_pct"], f"nitrogen of {name}", 0, 100)
    return mass, carbon, nitrogen, number(part["moisture_pct"], f"moisture of {name}", 0, 100)


def mixed(parts: Iterable[Mapping[str, Any]]) -> dict[str, Number]:
    """Several parts as one: `mass`, `carbon_pct`, `nitrogen_pct`, `moisture_pct`, each as in `blend`.

    Carbon and nitrogen are 0 where there is no dry matter. ValueError as `blend`.
    """
    read = [_part(part, f"part {place}") for place, part in enumerate(parts, 1)]
    if not read:
        raise ValueError("A mix needs at least one part.")
    mass: Any = sum(q for q, _, _, _ in read)
    if np.any(mass == 0):
        raise ValueError("A mix needs some mass.")
    dry: Any = sum(q * (100 - m) for q, _, _, m in read)
    carbon: Any = sum(q * c * (100 - m) for q, c, _, m in read)
    nitrogen: Any = sum(q * n * (100 - m) for q, _, n, m in read)
    water: Any = sum(q * m for q, _, _, m in read)
    solid = np.where(dry == 0, 1.0, dry)
    shares = {"carbon_pct": carbon / solid, "nitrogen_pct": nitrogen / solid, "moisture_pct": water / mass}
    return {"mass": plain(mass), **{name: plain(share) for name, share in shares.items()}}


def blend(parts: Iterable[Mapping[str, Any]]) -> dict[str, Number | None]:
    """Carbon to nitrogen and moisture of a mix by wet mass.

    parts: mappings with `mass` (any one unit), `carbon_pct`, `nitrogen_pct` (of dry matter), `moisture_pct` (of wet
    mass); each a number or an array. C:N = sum Q C (100 - M) / sum Q N (100 - M), moisture = sum Q M / sum Q.
    Returns `cn` (None where the mix holds no dry nitrogen, so that there is no ratio) and `moisture_pct`.
    ValueError: no parts, a missing or impossible figure, no mass at all.
    """
    whole = mixed(parts)
    nitrogen = np.asarray(whole["nitrogen_pct"])
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = whole["carbon_pct"] / nitrogen
    known = nitrogen != 0
    return {"cn": where_known(np.where(known, ratio, 0.0), known), "moisture_pct": whole["moisture_pct"]}


def mass_for_moisture(mass: Any, moisture: Any, other_moisture: Any, goal: Any) -> Number:
    """Mass of a second material that brings `mass` of a first to the moisture `goal` (percent of wet mass).

    Q2 = Q1 (G - M1) / (M2 - G). The goal must lie between the two moistures; a goal equal to either alone, or
    beyond them, is out of reach and raises ValueError.
    """
    first = number(mass, "mass", 0)
    m1, m2 = number(moisture, "moisture", 0, 100), number(other_moisture, "other moisture", 0, 100)
    wanted = number(goal, "goal", 0, 100)
    if np.any((wanted - m1) * (m2 - wanted) <= 0):
        raise ValueError(
            f"A moisture of {say(wanted)} % is out of reach: it must lie between {say(m1)} % and {say(m2)} %."
        )
    return plain(first * (wanted - m1) / (m2 - wanted))


def mass_for_cn(first: Mapping[str, Any], second: Mapping[str, Any], goal_cn: Any) -> Number:
    """Mass of `second` that brings `first` to the carbon to nitrogen ratio `goal_cn`.

    first: a part as in `blend`; second: the same without mass. Unit of the answer: that of the first mass.
    Q2 = Q1 N1 (R - C1/N1) (100 - M1) / [N2 (C2/N2 - R) (100 - M2)], written so that a material without nitrogen
    passes. The goal must lie between the two ratios; equal to either alone, or beyond, raises ValueError.
    """
    q1, c1, n1, m1 = _part(first, "the first material")
    _, c2, n2, m2 = _part(second, "the second material", with_mass=False)
    goal = number(goal_cn, "goal")
    if np.any(goal <= 0):
        raise ValueError("A carbon to nitrogen goal must be above 0.")
    if np.any(m1 == 100) or np.any(m2 == 100):
        raise ValueError("A material that is all water has no carbon or nitrogen to mix.")
    lacks, brings = goal * n1 - c1, c2 - goal * n2
    # A goal that is the ratio of one material to within rounding is that ratio: 45 / 1.5 must refuse 30.
    level = (np.isclose(lacks, 0, atol=1e-9) | np.isclose(brings, 0, atol=1e-9)) | (lacks * brings <= 0)
    if np.any(level):
        raise ValueError(
            f"A carbon to nitrogen ratio of {say(goal)} is out of reach: it must lie between that of the first "
            f"({_ratio(c1, n1)}) and that of the second ({_ratio(c2, n2)})."
        )
    return plain(q1 * lacks * (100 - m1) / (brings * (100 - m2)))


def _ratio(carbon: Array, nitrogen: Array) -> str:
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.asarray(carbon / nitrogen)
    return "no nitrogen at all" if np.any(np.isinf(ratio)) else say(ratio)


def ring_volume(outer_diameter_m: Any, trunk_gap_m: Any, depth_m: Any) -> Number:
    """Mulch for one round ring, m3: pi (R^2 - r^2) h.

    trunk_gap_m is measured from the middle of the trunk; a gap measured from the bark needs the trunk's radius added.
    ValueError: a gap beyond the ring, a negative length.
    """
    return plain(np.asarray(ring_area(outer_diameter_m, trunk_gap_m)) * number(depth_m, "depth", 0))


def ring_area(outer_diameter_m: Any, trunk_gap_m: Any) -> Number:
    """Ground under one round ring, m2; the gap is measured from the middle."""
    outer, gap = number(outer_diameter_m, "outer diameter", 0) / 2, number(trunk_gap_m, "trunk gap", 0)
    if np.any(gap > outer):
        raise ValueError(f"The trunk gap ({say(gap)} m) reaches beyond the ring (radius {say(outer)} m).")
    return plain(np.pi * (outer**2 - gap**2))


def strip_volume(length_m: Any, width_m: Any, depth_m: Any, trees: Any = 0, trunk_gap_m: Any = 0) -> Number:
    """Mulch for a strip along a row, m3, less a bare round of `trunk_gap_m` (from the middle) at each of `trees`."""
    length, width = number(length_m, "length", 0), number(width_m, "width", 0)
    bare = number(trees, "trees", 0) * np.pi * number(trunk_gap_m, "trunk gap", 0) ** 2
    if np.any(bare > length * width):
        raise ValueError("The bare rounds at the trunks take up more than the whole strip.")
    return plain((length * width - bare) * number(depth_m, "depth", 0))


def area_covered(volume_m3: Any, depth_m: Any) -> Number:
    """Ground that a heap covers at a depth, m2."""
    depth = number(depth_m, "depth")
    if np.any(depth <= 0):
        raise ValueError("Mulch needs a depth above 0 to cover anything.")
    return plain(number(volume_m3, "volume", 0) / depth)


def dose(volume_m3: Any, area_m2: Any) -> dict[str, Number]:
    """What a heap spread over an area amounts to: `m3_ha` and `depth_cm` (100 m3/ha is 1 cm)."""
    volume, area = number(volume_m3, "volume", 0), number(area_m2, "area")
    if np.any(area <= 0):
        raise ValueError("The area must be above 0.")
    return {"m3_ha": plain(volume * HECTARE / area), "depth_cm": plain(100 * volume / area)}


def prunings_volume(area_m2: Any) -> tuple[Number, Number]:
    """Chips that a year's prunings give, m3, least and most: 2 to 15 m3 a hectare (French farm notes, 1990s)."""
    area = number(area_m2, "area", 0) / HECTARE
    return plain(area * PRUNINGS_M3_HA[0]), plain(area * PRUNINGS_M3_HA[1])


def hedge_volume(length_m: Any) -> tuple[Number, Number]:
    """Chips that a field hedge gives in a year, m3, least and most: 18 to 30 m3 a km (French farm notes, 1990s)."""
    km = number(length_m, "length", 0) / 1000
    return plain(km * HEDGE_M3_KM[0]), plain(km * HEDGE_M3_KM[1])


def hedge_length(volume_m3: Any) -> tuple[Number, Number]:
    """Field hedge that gives so many chips in a year, m, least and most: 18 to 30 m3 a km (French farm notes, 1990s)."""
    volume = number(volume_m3, "volume", 0)
    return plain(1000 * volume / HEDGE_M3_KM[1]), plain(1000 * volume / HEDGE_M3_KM[0])


def shortfall(needed: Any, available: Any) -> Number:
    """What is still wanting, 0 at least, in the unit of both."""
    return plain(np.maximum(number(needed, "needed", 0) - number(available, "available", 0), 0.0))
