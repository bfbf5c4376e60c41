"""What a season of sprays by calendar looks like: the yardstick beside which a season's own sprays are held.

Apple: the rows of an organic schedule read as a stored page of an American university fact sheet of 2010 (source
`organic-apple-calendar-2010`): green tip, half-inch green, tight cluster, pink, bloom, petal fall and six covers about
20 May, 5 and 20 June, 10 and 25 July and 10 August. Where a row prints wettable sulphur, its rate is given (10 or 15 lb
an acre of a product with 80 % sulphur; the 80 % from memory). The other fruits: common practice, no source.
No figure here is advice: it is what is saved where it is not needed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

_KG_HA_PER_LB_ACRE = 0.45359237 / 0.40468564224
_SULPHUR_IN_PRODUCT = 0.8

# Copper metal of a year's programme on organic apples at reduced rates, from and to [kg/ha] (Trapman, Copper-free
# production of organic apples: 2000-3000 g a hectare and year).
COPPER_A_YEAR = {"apple": (2.0, 3.0)}


@dataclass(frozen=True)
class Row:
    """One pass: at a BBCH stage, or so many days after petal fall; the practice, and sulphur [kg/ha] if printed."""

    bbch: int | None
    days_after_petal_fall: int | None
    practice: str
    sulphur_kg_ha: float | None = None


@dataclass(frozen=True)
class Calendar:
    """The passes of a season by calendar, in their order, and how they are known."""

    rows: tuple[Row, ...]
    evidence: str
    source: str | None = None


def _sulphur(pounds_an_acre: float) -> float:
    return round(pounds_an_acre * _KG_HA_PER_LB_ACRE * _SULPHUR_IN_PRODUCT, 2)


# Days from petal fall to the first cover are not printed: ten, as is common practice; the later ones keep the gaps of
# the printed dates (16, 15, 20, 15 and 16 days).
_APPLE = (
    Row(53, None, "copper"), Row(54, None, "sulphur", _sulphur(10)), Row(56, None, "sulphur", _sulphur(15)),
    Row(57, None, "sulphur"), Row(65, None, "sulphur", _sulphur(15)), Row(69, None, "sulphur"),
    Row(None, 10, "sulphur", _sulphur(15)), *(Row(None, days, "lime-sulphur") for days in (26, 41, 61, 76, 92)),
)  # fmt: skip
# Pear: the passes of apple up to the third cover, without its masses. Stone fruit: swell (leaf curl), blossom twice,
# petal fall, shuck split, then every two weeks; cherries are picked early and end after two covers.
_PEAR = tuple(replace(row, sulphur_kg_ha=None) for row in _APPLE[:9])
_STONE = (
    Row(51, None, "copper"), Row(57, None, "sulphur"), Row(65, None, "sulphur"), Row(69, None, "sulphur"),
    *(Row(None, days, "sulphur") for days in (10, 24, 38, 52, 66)),
)  # fmt: skip
_CHERRY = _STONE[1:6]

CALENDARS = {
    "apple": Calendar(_APPLE, "published", "organic-apple-calendar-2010"),
    "pear": Calendar(_PEAR, "common-practice"),
    **dict.fromkeys(("peach", "nectarine", "apricot", "plum"), Calendar(_STONE, "common-practice")),
    **dict.fromkeys(("sweet-cherry", "tart-cherry"), Calendar(_CHERRY, "common-practice")),
}


def calendar(fruit: str) -> Calendar | None:
    """The season of a fruit by calendar; None where none is published or commonly followed (quince)."""
    return CALENDARS.get(fruit)
