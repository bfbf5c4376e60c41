"""How the figures of this package take numbers in and give them back.

A plain number gives a plain number, an array gives an array of its shape. None, words and truth values are no
numbers. NaN (not known) passes through. Outside a published range a plain number gives None and an array NaN.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Number = float | Floats


def number(value: Any, name: str, least: float | None = None, most: float | None = None) -> Floats:
    """`value` as floats, checked to be numbers from `least` to `most` (NaN passes); ValueError says what is wrong."""
    given = np.asarray(value)
    if not np.issubdtype(given.dtype, np.number) or np.issubdtype(given.dtype, np.complexfloating):
        raise ValueError(f"{name} must be a number, not {value!r}.")
    floats = given.astype(np.float64)
    if np.any(np.isinf(floats)):
        raise ValueError(f"{name} must be a finite number.")
    if least is not None and np.any(floats < least):
        raise ValueError(f"{name} must be at least {least:g}; {np.nanmin(floats):g} was given.")
    if most is not None and np.any(floats > most):
        raise ValueError(f"{name} must be at most {most:g}; {np.nanmax(floats):g} was given.")
    return floats


def plain(result: Any) -> Number:
    """A float for a single number, the array for anything else."""
    floats = np.asarray(result, dtype=np.float64)
    return float(floats) if floats.ndim == 0 else floats


def where_known(result: Any, known: Any) -> Number | None:
    """`result` where `known` holds; elsewhere None (a single number) or NaN (an array). NaN results stay NaN."""
    floats, inside = np.broadcast_arrays(np.asarray(result, dtype=np.float64), np.asarray(known, dtype=bool))
    if floats.ndim == 0:
        return float(floats) if inside or np.isnan(floats) else None
    return np.where(inside, floats, np.nan)
