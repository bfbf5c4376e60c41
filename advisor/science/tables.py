"""How the science reads numbers and published tables.

as_numbers   a number or an array, and nothing else, as floats
give         a number for numbers, an array for arrays; None or NaN where nothing is published
read         a table, linear between its rows, nothing beyond its ends
stepped      the same for a table that names ranges ("16-24 degrees: 6 h")

A number outside the published range gives None, an array NaN there; NaN in gives NaN out. Functions that answer with
a number for numbers and an array for arrays are annotated `Any`: Python cannot say that without an overload for each.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]


def as_numbers(value: object, name: str) -> Array:
    """The value as floats; ValueError for None, words and anything else that is no number. NaN passes."""
    array = np.asarray(value)
    if array.dtype.kind not in "fiub":
        raise ValueError(f"{name} must be a number or an array of numbers, not {value!r}.")
    return array.astype(np.float64)


def give(result: Any, outside: Any = False) -> Any:
    """A float (None where `outside`) if `result` has no dimension, otherwise an array (NaN where `outside`)."""
    answer = np.asarray(result, dtype=np.float64)
    if answer.ndim == 0:
        return None if bool(outside) else float(answer)
    return np.where(outside, np.nan, answer)


def truth(result: Any, unknown: Any = False) -> Any:
    """A bool, None where `unknown`; for arrays booleans, or objects with None among them where something is unknown."""
    answer = np.asarray(result, dtype=np.bool_)
    if answer.ndim == 0:
        return None if bool(unknown) else bool(answer)
    missing = np.broadcast_to(np.asarray(unknown, dtype=np.bool_), answer.shape)
    if not missing.any():
        return answer
    mixed = answer.astype(object)
    mixed[missing] = None
    return mixed


def read(value: object, rows: Sequence[float], figures: Sequence[float], name: str = "The temperature") -> Any:
    """The figure at `value`, linear between rows (in rising order); None or NaN before the first and after the last."""
    at = as_numbers(value, name)
    return give(np.interp(at, rows, figures), (at < rows[0]) | (at > rows[-1]))


def stepped(ranges: Sequence[tuple[float, float, float]]) -> tuple[list[float], list[float]]:
    """Rows and figures for `read` from (from, to, figure) rows in rising order.

    Within a printed range the figure is constant, between ranges linear; where two ranges touch, the smaller figure
    counts at the point they share, and the second range's own figure from just above it.
    """
    rows: list[float] = []
    figures: list[float] = []
    for low, high, figure in ranges:
        if rows and rows[-1] == low:
            figures[-1] = min(figures[-1], figure)
            if high == low:
                continue
            rows.append(float(np.nextafter(low, high)))
        else:
            rows.append(low)
        figures.append(figure)
        if high > rows[-1]:
            rows.append(high)
            figures.append(figure)
    return rows, figures
