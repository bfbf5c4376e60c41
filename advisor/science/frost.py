"""Which temperature kills which share of the buds, and what is left for a crop.

The figures are the lowest air temperatures that 10 % and 90 % of the buds do not survive after 30 minutes, in degrees
Fahrenheit as published: Washington State University bulletins EB0913 (apple, Red Delicious), EB0978 (pear, Bartlett),
EB1128 (sweet cherry), EB0914 (peach), EB1240 (apricot) and EB0419 (prune), as printed together by Michigan State
University Extension (Longstroth) and Penn State Extension; tart cherry from Michigan State Research Report 220, as
printed by Utah State University Extension. Nectarine reads peach. For quince nothing is published.

They suit still, clear radiation frosts; wind may hurt more, and long cool weather beforehand hardens the early stages.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from advisor.science.tables import as_numbers, give

FRUITS = ("apple", "pear", "quince", "peach", "nectarine", "apricot", "plum", "sweet-cherry", "tart-cherry")

# BBCH code of every stage word of the trade. Pome and stone fruit share most of them.
_WORDS = {
    "dormant": 0, "silver-tip": 51, "bud-swell": 51, "side-white": 52, "green-tip": 53, "bud-burst": 53,
    "side-green": 53, "tips-separate": 53, "half-inch-green": 54, "calyx-green": 54, "calyx-red": 55,
    "tight-cluster": 56, "open-cluster": 56, "pink": 57, "white-bud": 57, "balloon": 59, "full-white": 59,
    "king-bloom": 60, "full-bloom": 65, "petal-fall": 69, "fruit-set": 71, "shuck-split": 72, "june-drop": 73,
    "pit-hardening": 74, "half-grown": 75, "colouring": 81, "harvest": 87, "after-harvest": 91, "leaf-fall": 93,
    "leafless": 97,
}  # fmt: skip
_STONE_WORDS = _WORDS | {"green-tip": 54, "bud-burst": 54, "tight-cluster": 55}
_STONE = {"peach", "nectarine", "apricot", "plum", "sweet-cherry", "tart-cherry"}
# Apple buds may be given by the leaf-bud code, which runs beside the flower-bud code (Meier's BBCH scale).
_APPLE_LEAF_BUDS = {1: 51, 2: 51, 3: 51, 7: 53, 8: 53, 9: 53, 10: 54}


@dataclass(frozen=True, slots=True)
class Row:
    """One printed stage: its words, the BBCH codes that may mean it, and the kill temperatures in degrees F."""

    words: tuple[str, ...]
    codes: tuple[int, int]
    tenth_f: float
    nine_tenths_f: float | None


def _rows(*rows: tuple[str, int, int, float, float | None]) -> tuple[Row, ...]:
    return tuple(Row(tuple(words.split()), (first, last), tenth, most) for words, first, last, tenth, most in rows)


_MEMORY = {("tart-cherry", "side-green"), ("tart-cherry", "open-cluster")}  # these two rows are from memory

TABLES: dict[str, tuple[Row, ...]] = {
    "apple": _rows(
        ("silver-tip", 51, 52, 15, 2),
        ("green-tip", 53, 53, 18, 10),
        ("half-inch-green", 54, 54, 23, 15),
        ("tight-cluster", 55, 56, 27, 21),
        ("pink", 57, 57, 28, 24),
        ("balloon", 57, 59, 28, 25),
        ("king-bloom", 60, 61, 28, 25),
        ("full-bloom", 65, 65, 28, 25),
        ("petal-fall", 67, 69, 28, 25),
    ),
    "pear": _rows(
        ("bud-swell", 51, 52, 15, 0),
        ("bud-burst", 53, 53, 20, 6),
        ("tight-cluster", 55, 56, 24, 15),
        ("white-bud", 57, 57, 25, 19),
        ("full-white balloon", 59, 59, 26, 22),
        ("king-bloom", 60, 61, 27, 23),
        ("full-bloom", 65, 65, 28, 24),
        ("petal-fall", 67, 69, 28, 24),
    ),
    "peach": _rows(
        ("bud-swell", 51, 51, 18, 1),
        ("calyx-green", 53, 54, 21, 5),
        ("calyx-red", 54, 55, 23, 9),
        ("pink white-bud", 57, 57, 25, 15),
        ("king-bloom", 60, 61, 26, 21),
        ("full-bloom", 65, 65, 27, 24),
        ("petal-fall", 67, 69, 28, 25),
    ),
    "sweet-cherry": _rows(
        ("bud-swell", 51, 51, 17, 5),
        ("side-green", 53, 54, 22, 9),
        ("green-tip bud-burst", 53, 54, 25, 14),
        ("tight-cluster", 55, 56, 26, 17),
        ("open-cluster", 55, 56, 27, 21),
        ("white-bud", 57, 57, 27, 24),
        ("king-bloom", 60, 61, 28, 25),
        ("full-bloom", 65, 65, 28, 25),
        ("petal-fall", 67, 69, 28, 25),
    ),
    "tart-cherry": _rows(
        ("bud-swell", 51, 51, 15, 0),
        ("side-green", 53, 54, 24, 10),
        ("green-tip bud-burst", 53, 54, 26, 22),
        ("tight-cluster", 55, 56, 26, 24),
        ("open-cluster", 55, 56, 28, 24),
        ("white-bud", 57, 57, 28, 24),
        ("king-bloom", 60, 61, 28, 24),
        ("full-bloom", 65, 65, 28, 25),
        ("petal-fall", 67, 69, 28, 25),
    ),
    "apricot": _rows(
        ("bud-swell", 51, 51, 15, None),
        ("tips-separate", 53, 54, 20, 0),
        ("calyx-red", 54, 55, 22, 9),
        ("white-bud pink", 57, 57, 24, 14),
        ("king-bloom", 60, 61, 25, 19),
        ("full-bloom", 65, 65, 27, 22),
        ("shuck-split", 72, 72, 27, 24),
        ("green-fruit june-drop pit-hardening half-grown", 73, 79, 28, 25),
    ),
    "plum": _rows(
        ("bud-swell", 51, 51, 14, 0),
        ("side-white", 52, 52, 17, 3),
        ("green-tip bud-burst", 53, 54, 20, 7),
        ("tight-cluster", 55, 56, 24, 16),
        ("white-bud", 57, 57, 26, 22),
        ("king-bloom", 60, 61, 27, 23),
        ("full-bloom", 65, 65, 28, 23),
        ("petal-fall", 67, 69, 28, 23),
    ),
}
TABLES["nectarine"] = TABLES["peach"]

# Degrees F hardier than the table's Red Delicious (Penn State Extension); Rome's advantage ends at petal fall.
_HARDIER_F = {"golden delicious": 1.0, "winesap": 1.0, "rome beauty": 2.0, "rome": 2.0}
_UNTIL_PETAL_FALL = {"rome beauty", "rome"}

# Share of buds that must live for a full crop (Utah State University Extension, IPM-012-11): apple, pear and peach may
# need only 10-15 %, of which the upper end is taken; cherry "well over 50 %" in most years, so half is the least.
_ALIVE_FOR_FULL_CROP = {
    "apple": 0.15, "pear": 0.15, "peach": 0.15, "nectarine": 0.15, "sweet-cherry": 0.5, "tart-cherry": 0.5,
}  # fmt: skip


def kill_temperature(fruit: str, stage: object, share: object = 0.1, cultivar: str | None = None) -> Any:
    """Air temperature [degrees C] at which `share` of the buds die in 30 minutes.

    fruit: one of FRUITS. stage: a stage word or a BBCH code. A word is read from its own row; a code, or a word without
    a row of its own, from the tenderest of the rows that may mean it, or of its two neighbours.
    share: 0.1 to 0.9, linear between the two published; number or array.
    cultivar: apples only (Golden Delicious, Winesap, Rome Beauty); others read the table as it stands.

    None (NaN in arrays) for a stage before the first or after the last row, a share outside 0.1 to 0.9, a share that
    rests on an unpublished figure, and a fruit without a table. ValueError for an unknown fruit or stage word.
    """
    part = as_numbers(share, "The share")
    figures = _figures(fruit, stage, cultivar)
    if figures is None:
        return give(part, True)
    tenth, most = figures
    outside = (part < 0.1) | (part > 0.9)
    if most is None:
        return give(np.where(np.isnan(part), part, tenth), outside | (part > 0.1))
    return give(tenth + (part - 0.1) / 0.8 * (most - tenth), outside)


def share_killed(fruit: str, stage: object, low_c: object, cultivar: str | None = None) -> Any:
    """Share of buds [0.1 to 0.9] killed by 30 minutes at `low_c` degrees C, linear between the two published figures.

    None (NaN) outside the two: warmer than the first means fewer than a tenth, colder than the second more than nine
    tenths, and how many is not published.
    """
    low = as_numbers(low_c, "The low")
    figures = _figures(fruit, stage, cultivar)
    tenth, most = figures or (0.0, None)
    if most is None:
        return give(low, True)
    return give(0.1 + 0.8 * (tenth - low) / (tenth - most), (low > tenth) | (low < most))


def evidence(fruit: str, stage: object) -> str | None:
    """`published`, or `from-memory` for the two tart cherry rows that are; None without a row for this stage word."""
    _known(fruit)
    for row in TABLES.get(fruit, ()):
        if stage in row.words:
            return "from-memory" if (fruit, stage) in _MEMORY else "published"
    return None


def crop_left(fruit: str, alive: object) -> Any:
    """Share of a full crop [0 to 1] that the living buds can still carry, at best; `alive` is their share.

    The share that a full crop needs is published for apple, pear, peach and cherry (see the module's table); that the
    crop falls in proportion below it is common practice. None for other fruits.
    """
    living = as_numbers(alive, "The share alive")
    _known(fruit)
    if np.any((living < 0) | (living > 1)):
        raise ValueError("The share of living buds lies between 0 and 1.")
    needed = _ALIVE_FOR_FULL_CROP.get(fruit)
    return give(living, True) if needed is None else give(np.minimum(living / needed, 1.0))


def _known(fruit: str) -> None:
    if fruit not in FRUITS:
        raise ValueError(f"No fruit is called {fruit!r}; there are {', '.join(FRUITS)}.")


def _figures(fruit: str, stage: object, cultivar: str | None) -> tuple[float, float | None] | None:
    """The kill temperatures in degrees C at a stage, or None where no row says anything."""
    _known(fruit)
    if isinstance(stage, float) and np.isnan(stage):
        return np.nan, np.nan
    rows = _rows_at(fruit, stage)
    if not rows:
        return None
    figures = [_in_celsius(row, fruit, cultivar) for row in rows]
    most = [figure[1] for figure in figures]
    return max(figure[0] for figure in figures), None if None in most else max(f for f in most if f is not None)


def _in_celsius(row: Row, fruit: str, cultivar: str | None) -> tuple[float, float | None]:
    name = cultivar.strip().lower() if fruit == "apple" and cultivar else ""
    hardier = 0.0 if name in _UNTIL_PETAL_FALL and "petal-fall" in row.words else _HARDIER_F.get(name, 0.0)
    most = row.nine_tenths_f
    return (row.tenth_f - hardier - 32) / 1.8, None if most is None else (most - hardier - 32) / 1.8


def _rows_at(fruit: str, stage: object) -> list[Row]:
    """The rows that count at a stage: the word's own, all that claim the code, or the two neighbours of a gap."""
    table = TABLES.get(fruit, ())
    if isinstance(stage, str):
        own = [row for row in table if stage in row.words]
        if own:
            return own
        words = _STONE_WORDS if fruit in _STONE else _WORDS
        if stage not in words and stage != "green-fruit":
            raise ValueError(f"No stage is called {stage!r}; there are {', '.join(words)}, or a BBCH code.")
        code: float = words.get(stage, 73)
    else:
        code = float(as_numbers(stage, "The stage"))
    if not 0 <= code <= 99:
        raise ValueError(f"A BBCH code lies between 0 and 99, not {stage!r}.")
    if fruit == "apple" and code < 50:
        code = _APPLE_LEAF_BUDS.get(int(code), code) if code == int(code) else code
    claimants = [row for row in table if row.codes[0] <= code <= row.codes[1]]
    before = [row for row in table if row.codes[1] < code]
    after = [row for row in table if row.codes[0] > code]
    if claimants or not before or not after:
        return claimants
    return [max(before, key=lambda row: row.codes[1]), min(after, key=lambda row: row.codes[0])]
