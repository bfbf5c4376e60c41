"""Heat that drives growth: degree-days from a day's low and high, or from hours.

The methods and cutoffs are those of the extension services (University of California, Integrated Pest Management,
glossary of degree-day terms; Zalom et al. 1983, UC Leaflet 21373): the plain average; the average with low and high
clipped to the thresholds; the single triangle (Sevacherian et al. 1977, J. Econ. Entomol. 70:399-402); the single sine
(Baskerville and Emin 1969, Ecology 50:514-517; Allen 1976, Environ. Entomol. 5:388-396). The closed forms of the sine
and of the cutoffs are from memory and are checked in the tests against a numeric integral of the curve.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.tables import Array, as_numbers, give

METHODS = ("average", "clipped", "triangle", "sine")
CUTOFFS = ("horizontal", "intermediate", "vertical")


def degree_days(
    low: object,
    high: object,
    base: object,
    upper: object = None,
    method: str = "sine",
    cutoff: str = "horizontal",
) -> Any:
    """Degree-days of one day, in the unit of the inputs (degrees C or F), element by element.

    low, high: the day's lowest and highest temperature; base: lower threshold; upper: upper threshold or None.
    method: average (ignores `upper`), clipped, triangle or sine.
    cutoff: what happens above `upper`, for triangle and sine: horizontal (no faster), intermediate (slows as much as
    it was above) or vertical (stops). The clipped method always cuts horizontally.
    ValueError when low is above high, upper not above base, or a name is unknown. Never below 0; NaN gives NaN.
    """
    if method not in METHODS:
        raise ValueError(f"No degree-day method is called {method!r}; there are {', '.join(METHODS)}.")
    if cutoff not in CUTOFFS:
        raise ValueError(f"No cutoff is called {cutoff!r}; there are {', '.join(CUTOFFS)}.")
    low, high, floor = as_numbers(low, "The low"), as_numbers(high, "The high"), as_numbers(base, "The base")
    if np.any(low > high):
        raise ValueError("A day's low cannot be above its high.")
    if method == "average":
        return give(np.maximum((low + high) / 2 - floor, 0.0))
    ceiling = None if upper is None else as_numbers(upper, "The upper threshold")
    if ceiling is not None and np.any(ceiling <= floor):
        raise ValueError("The upper threshold must lie above the base.")
    if method == "clipped":
        top = np.inf if ceiling is None else ceiling
        return give((np.clip(low, floor, top) + np.clip(high, floor, top)) / 2 - floor)
    above = _above(low, high, floor, method)
    if ceiling is None:
        return give(above)
    over = _above(low, high, ceiling, method)
    if cutoff == "horizontal":
        result = above - over
    elif cutoff == "intermediate":
        result = above - 2 * over
    else:
        result = above - over - (ceiling - floor) * _share_above(low, high, ceiling, method)
    return give(np.maximum(result, 0.0))


def hourly(temp: object, base: float, upper: float | None = None) -> Array:
    """Running degree-days at the end of each hour of an hourly series (last axis hours, leading axes blocks).

    Each hour adds a 24th of what it stands above `base`, at most `upper - base` (horizontal cutoff). From a NaN hour on
    the sum is NaN.
    """
    return np.cumsum(_each_hour(temp, base, upper), axis=-1)


def _each_hour(temp: object, base: float, upper: float | None) -> Array:
    if upper is not None and upper <= base:
        raise ValueError("The upper threshold must lie above the base.")
    hours = np.atleast_1d(as_numbers(temp, "The temperature"))
    return (np.clip(hours, base, np.inf if upper is None else upper) - base) / 24


def _crossing(low: Array, high: Array, line: Array) -> Array:
    """Where the line stands between low and high, from -1 (at the low) to 1 (at the high)."""
    half = np.where(high - low > 1e-9, (high - low) / 2, 1.0)  # a day without range crosses nothing
    return np.clip((line - (low + high) / 2) / half, -1.0, 1.0)


def _above(low: Array, high: Array, line: Array, method: str) -> Array:
    """Mean height of the day's curve above a line, counting only what is above."""
    mean, half = (low + high) / 2, (high - low) / 2
    at = _crossing(low, high, line)
    if method == "triangle":
        crossing = half * (1 - at) ** 2 / 4
    else:
        angle = np.arcsin(at)
        crossing = ((mean - line) * (np.pi / 2 - angle) + half * np.cos(angle)) / np.pi
    return np.where(low >= line, mean - line, np.where(high <= line, 0.0, crossing))


def _share_above(low: Array, high: Array, line: Array, method: str) -> Array:
    """Share of the day in which the curve stands above a line."""
    at = _crossing(low, high, line)
    part = (1 - at) / 2 if method == "triangle" else 0.5 - np.arcsin(at) / np.pi
    return np.where(high <= line, 0.0, np.where(low >= line, 1.0, part))
