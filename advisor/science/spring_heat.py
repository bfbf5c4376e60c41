"""Heat sums of spring, and the sums at which McIntosh apple reaches green tip, bloom and petal fall.

Sums are degree-days Fahrenheit above 43 °F from 1 January (1 July in the south), as the sources print them. They are
taken here from hourly temperatures, hour by hour; the sources take them from daily lows and highs, which comes to much
the same in sum (the hourly form is what the daily forms approximate).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

BASE_C = (43.0 - 32.0) / 1.8


@dataclass(frozen=True)
class HeatAnchor:
    """A stage and the span of sums [°F days, base 43] at which a published record has it."""

    stage: str
    bbch: int
    low: float
    high: float
    source: str
    where: str

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2


MCINTOSH: tuple[HeatAnchor, ...] = (
    HeatAnchor("green-tip", 53, 24, 161, "scaffolds-1995-03", "New York"),
    HeatAnchor("full-bloom", 65, 349, 419, "umass-hf-2010-04", "Massachusetts"),
    HeatAnchor("petal-fall", 69, 445, 523, "umass-hf-2009-05", "Massachusetts"),
)

# About where the stages between stand on the same scale (from memory). Used only to count on from a stage that was seen
# when the season's own sum does not fit it, never to name a stage.
BETWEEN: dict[int, float] = {0: 0.0, 51: 60.0, 54: 150.0, 56: 215.0, 57: 290.0, 59: 340.0, 60: 355.0}
SPREAD = 75.0  # by which a stage may stand above its sum and still fit it: about half the span of green tip (from memory)


def running_sum(temp_c: ArrayLike) -> NDArray[np.float64]:
    """The sum at the end of each hour [°F days above 43 °F]; an unknown hour adds nothing: the sum is then a least."""
    above = np.clip(np.asarray(temp_c, float) - BASE_C, 0.0, None)
    total: NDArray[np.float64] = np.cumsum(np.where(np.isfinite(above), above, 0.0)) * 1.8 / 24.0
    return total


def sum_at_stage(bbch: int) -> float:
    """About the sum at which a stage stands, between the published middles; from green tip down to none at dormancy."""
    points = {**BETWEEN, **{anchor.bbch: anchor.middle for anchor in MCINTOSH}}
    codes = sorted(points)
    return float(np.interp(max(bbch, 0) if bbch >= 50 else 0, codes, [points[code] for code in codes]))
