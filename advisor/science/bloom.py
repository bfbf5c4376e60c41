"""Succession of bloom as numbers: who is open in which week, weeks without flowers, and how even the succession is.

Weeks are counted from the full bloom of apple, negative before it; week w runs from w to w + 1. A kind in bloom from
`begin` to `end` is open in every week that it shares any time with.

The index of diversity is that of C. E. Shannon (1948, A mathematical theory of communication, from memory), with the
natural logarithm, as ecologists use it: H = - sum p ln p, where p is a kind's share of all bloom-weeks.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np

from advisor.science.tables import Array, Bools


def open_weeks(begin: Sequence[float], end: Sequence[float], first: int, last: int) -> Bools:
    """Whether each kind is open in each week from `first` to `last`: booleans, a row a kind, a column a week.

    begin, end: weeks from apple full bloom. ValueError where a bloom ends before it begins.
    """
    opens, closes = np.asarray(begin, dtype=np.float64), np.asarray(end, dtype=np.float64)
    if opens.shape != closes.shape:
        raise ValueError("Every kind needs both a beginning and an end of bloom.")
    if np.any(closes < opens):
        raise ValueError("A bloom ends before it begins.")
    if last < first:
        raise ValueError("The last week lies before the first.")
    weeks = np.arange(first, last + 1)
    inside = (opens[:, None] < weeks + 1) & (closes[:, None] > weeks)
    moment = (opens == closes)[:, None] & (np.floor(opens)[:, None] == weeks)
    shared: Bools = inside | moment
    return shared


def runs(missing: Iterable[bool], first: int = 0) -> list[tuple[int, int]]:
    """Runs of weeks for which `missing` holds, as (first week, last week); the sequence begins at week `first`."""
    found: list[tuple[int, int]] = []
    for week, lacks in enumerate(missing, first):
        if lacks and found and found[-1][1] == week - 1:
            found[-1] = (found[-1][0], week)
        elif lacks:
            found.append((week, week))
    return found


def bloom_weeks(begin: Sequence[float], end: Sequence[float], first: float, last: float) -> Array:
    """Weeks of bloom of each kind that fall between `first` and `last`. [weeks]"""
    opens = np.clip(np.asarray(begin, dtype=np.float64), first, last)
    closes = np.clip(np.asarray(end, dtype=np.float64), first, last)
    return np.asarray(np.maximum(closes - opens, 0.0))


def shannon(amounts: Iterable[float]) -> float | None:
    """Shannon's index of amounts, natural logarithm; 0 for a single kind, None where there is nothing at all.

    ValueError for an amount below 0 or not finite.
    """
    given = [float(amount) for amount in amounts]
    if any(not math.isfinite(amount) or amount < 0 for amount in given):
        raise ValueError("An amount of bloom is a finite number, 0 or more.")
    whole = math.fsum(given)
    if whole == 0:
        return None
    shares = [share for share in (amount / whole for amount in given) if share > 0]
    return max(0.0, -math.fsum(share * math.log(share) for share in shares))


def even_kinds(index: float) -> float:
    """How many equally long blooms would have that index: exp(H), so that an index can be read as a number of kinds."""
    return math.exp(index)
