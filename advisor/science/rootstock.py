"""Size classes, named apple stocks, yield to expect, and trees on an area (always computed from the spacing).

E. Hoover and R. Marini, eXtension apples; University of Arizona Master Gardener Manual, chapter 11; nursery lists
(Future Forests; Harley); Gardeners' World 2017. Lengths in m, yields in kg a tree.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from advisor.science._numbers import Number, number, plain

BUSHEL_KG = 19.05  # a bushel of apples as 42 lb; some trades use 48
@dataclass(frozen=True, slots=True)
class SizeClass:
    """An apple size class: share of a seedling tree, height, years to bearing, yield, life; least and most each."""

    share: tuple[float, float]
    height_m: tuple[float, float]
    bears_years: tuple[int, int]
    bushels: float
    life_years: tuple[int, int]


# A standard tree stands about 30 ft (9 m) unpruned, 24 ft (7.3 m) pruned.
CLASSES: dict[str, SizeClass] = {
    "standard": SizeClass((1.0, 1.0), (7.3, 9.1), (6, 10), 8, (35, 45)),
    "semi-dwarf": SizeClass((0.6, 0.9), (4.3, 6.7), (4, 6), 4, (20, 25)),
    "dwarf": SizeClass((0.25, 0.6), (1.8, 3.7), (2, 3), 1, (15, 20)),
}


@dataclass(frozen=True, slots=True)
class Stock:
    """A named apple stock: size class, height, spacing, years to bearing, yield a grown tree; None where not known."""

    size: str
    height_m: tuple[float, float]
    spacing_m: float | None
    bears_years: tuple[int, int]
    yield_kg: tuple[float, float] | None
    from_memory: tuple[str, ...] = ()


STOCKS: dict[str, Stock] = {
    "M.27": Stock("dwarf", (1.8, 2.4), 2.4, (2, 3), (7, 12)),
    "M.9": Stock("dwarf", (2.5, 3.0), 3.0, (2, 3), (15, 25), ("spacing_m", "yield_kg")),
    "M.26": Stock("dwarf", (3.0, 3.7), 4.6, (3, 4), (30, 35)),
    "MM.106": Stock("semi-dwarf", (4.0, 5.5), 6.1, (3, 4), (40, 50)),
    "MM.111": Stock("semi-dwarf", (5.5, 7.6), 7.6, (6, 6), (75, 160)),
    "M.25": Stock("standard", (4.0, 7.5), 8.0, (6, 6), (0, 180), ("spacing_m",)),
}
# Size class of stocks without a yield row above. From memory.
OTHER_STOCKS: dict[str, str] = {
    **dict.fromkeys(("B.9", "G.11", "G.16", "G.41", "G.65", "B.10"), "dwarf"),
    **dict.fromkeys(("G.202", "G.935", "G.214", "G.222", "G.969", "M.7", "G.30", "G.210", "G.890", "M.2", "M.4"),
                    "semi-dwarf"),
    **dict.fromkeys(("B.118", "seedling", "Antonovka", "A.2", "standard", "Bittenfelder", "crab"), "standard"),
    **dict.fromkeys(("Quince C", "Quince A", "Gisela 3", "Gisela 5", "Pixy", "OHxF 51"), "dwarf"),
    **dict.fromkeys(("Gisela 6", "Krymsk 5", "St. Julien A", "OHxF 87", "OHxF 97", "Lovell", "Mahaleb", "Colt"),
                    "semi-dwarf"),
    **dict.fromkeys(("Mazzard", "Myrobalan", "Pyrus communis", "Bartlett seedling"), "standard"),
}  # fmt: skip

# Counts of trees an acre that are printed beside their own spacing in feet (Hoover and Marini). Three are slips: the
# spacing gives 27, 124 and 156. Held here so that a test recomputes them; nothing else reads them.
PRINTED_TREES_PER_ACRE: dict[tuple[float, float], int] = {
    (40, 40): 40,
    (22, 16): 132,
    (20, 14): 173,
    (26, 20): 84,
    (14, 4): 778,
    (14, 2): 1556,
}


def _name(stock: str) -> str:
    return stock.strip().lower().replace(" ", "").replace(".", "").replace("-", "")


_BY_NAME = {_name(stock): stock for stock in (*STOCKS, *OTHER_STOCKS)}


def stock(name: str) -> Stock | None:
    """The published row of a named apple stock ("MM.111", "mm111"), or None."""
    return STOCKS.get(_BY_NAME.get(_name(name), ""))


def size_class(name: str) -> str | None:
    """"dwarf", "semi-dwarf" or "standard" for a named stock or class, or None where it is not known."""
    known = _BY_NAME.get(_name(name))
    if known is None:
        return name if name in CLASSES else None
    return STOCKS[known].size if known in STOCKS else OTHER_STOCKS[known]


def trees_per_hectare(row_m: Any, tree_m: Any) -> Number:
    """Trees a hectare from row and tree spacing: 10,000 / (row x tree). Some printed counts do not match."""
    across, along = number(row_m, "row spacing"), number(tree_m, "tree spacing")
    if np.any(across <= 0) or np.any(along <= 0):
        raise ValueError("Spacing must be above 0.")
    return plain(10_000.0 / (across * along))


def expected_yield(name: str, years_planted: float | None = None) -> tuple[float, float] | None:
    """Apples that one tree gives in a usual year once grown, kg, least and most, or None where nothing is published.

    name: a stock or a size class; the stock's own row counts before its class. years_planted: before the first year
    of bearing (0, 0); from then to twice that age still building, so the least is 0. M.25 prints only "up to 180".
    """
    row, size = stock(name), size_class(name)
    if row is None and size is None:
        return None
    if row is not None and row.yield_kg is not None:
        return _by_age(row.yield_kg, row.bears_years, years_planted)
    high = CLASSES[size or ""].bushels * BUSHEL_KG
    return _by_age((high, high), CLASSES[size or ""].bears_years, years_planted)


def _by_age(grown: tuple[float, float], bears: tuple[int, int], years_planted: float | None) -> tuple[float, float]:
    """The yield of a grown tree as it is at an age: nothing before it bears, at least nothing while it builds."""
    low, high = grown
    if years_planted is None or np.isnan(number(years_planted, "years", 0)):
        return low, high
    if years_planted < bears[0]:
        return 0.0, 0.0
    return (0.0, high) if years_planted < 2 * bears[1] else (low, high)
