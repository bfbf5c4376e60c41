"""A fact: one flat, named statement that rules read, and where it came from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

Value = str | float | bool

LARGEST = 1e15
DECIMALS = 9


@dataclass(frozen=True, slots=True)
class Fact:
    """One statement about the orchard, such as the height of the sward in a block.

    id: stable and readable, such as "sward:upper". fields: flat; a field that is not known is absent.
    origin: ids of the observations, facts or firings behind it, or "orchard", "weather", "knowledge".
    text: how it was found, in plain words, a formula with its inputs filled in. sources: ids behind a computed number.
    """

    id: str
    kind: str
    fields: Mapping[str, Value]
    origin: tuple[str, ...] = ()
    text: str = ""
    sources: tuple[str, ...] = ()


def plain(number: float) -> float:
    """The number as every rule compares it: rounded to 9 decimals, so that no route to an answer splits hairs.

    Raises ValueError for what is not finite or not below 1e15: leave out what is not known.
    """
    if not math.isfinite(number) or abs(number) >= LARGEST:
        raise ValueError(f"{number} is not a number that rules can compare; leave out what is not known")
    return round(float(number), DECIMALS) + 0.0  # adding 0.0 turns -0.0 into 0.0


def written_plainly(number: float) -> str:
    """The number in digits, without an exponent and without needless zeros: 7, 0.25, -3.5."""
    number = plain(number)
    if number.is_integer():
        return str(int(number))
    return f"{number:.{DECIMALS}f}".rstrip("0")
