"""Numbers with bounds, for the figures of ground, feed, crop and hours: what `tables` reads, checked to make sense."""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.tables import Array, as_numbers, give

Number = float | Array


def number(value: Any, name: str, least: float | None = None, most: float | None = None) -> Array:
    """`value` as floats, finite and from `least` to `most` (NaN passes); ValueError says what is wrong."""
    name = name[0].upper() + name[1:]
    floats = as_numbers(value, name)
    if np.any(np.isinf(floats)):
        raise ValueError(f"{name} must be a finite number.")
    if least is not None and np.any(floats < least):
        raise ValueError(f"{name} must be at least {least:g}; {np.nanmin(floats):g} was given.")
    if most is not None and np.any(floats > most):
        raise ValueError(f"{name} must be at most {most:g}; {np.nanmax(floats):g} was given.")
    return floats


def plain(result: Any) -> Number:
    """A float for a single number, the array for anything else."""
    given: Number = give(result)
    return given


def where_known(result: Any, known: Any) -> Number | None:
    """`result` where `known` holds; elsewhere None (a single number) or NaN (an array). NaN results stay NaN."""
    floats = np.asarray(result, dtype=np.float64)
    given: Number | None = give(floats, ~(np.asarray(known, dtype=np.bool_) | np.isnan(floats)))
    return given


def say(value: Any) -> str:
    """A number or an array in four figures, for sentences."""
    floats = np.asarray(value, dtype=np.float64)
    return f"{float(floats):.4g}" if floats.ndim == 0 else "[" + ", ".join(f"{v:.4g}" for v in floats.ravel()) + "]"
