"""What plants must bear at a site: how cold its winters are, as the grower says or as the weather has them, and whether
its summers are dry.

winter_of     the winters, or that nothing tells them
freezes       whether a plant would not live through them
dry_summers   whether the weather shows the dry summers of a Mediterranean climate
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

import numpy as np

from advisor import season
from advisor.facts.situation import Situation
from advisor.knowledge_schema import Hardiness
from advisor.quantity import show
from advisor.science.hardiness import zone_of

# The three cold months, and of their days how many must be known: December to February, or June to August in the south
# (common practice, no source).
BEFORE_MIDWINTER, COLD_DAYS, KNOWN_DAYS = dt.timedelta(days=31), 90, 85

# Two temperatures that only rounding parts (°C): -29 °C is as good as the -28.9 °C of zone 5.
SAME_COLD = 0.5
# A month of a dry summer has less rain than this (mm): M. C. Peel and others, 2007, Updated world map of the
# Koppen-Geiger climate classification, class Cs (from memory; there the driest month of many years).
DRY_MONTH = 40.0
LEAST_MONTHS = 2


@dataclass(frozen=True)
class Winter:
    """coldest: the lowest temperature of a usual winter [°C], None where nothing tells it; winters: how many tell it."""

    coldest: float | None
    known_by: Literal["given", "weather"] | None
    winters: int
    text: str

    @property
    def zone(self) -> str | None:
        return None if self.coldest is None else zone_of(self.coldest)


def winter_of(now: Situation) -> Winter:
    """What the site's winters are like; weather counts only where it holds a whole winter."""
    orchard = now.file.orchard
    if orchard.coldest is not None:
        cold = _cold(orchard.coldest, orchard.units)
        return Winter(orchard.coldest, "given", 0, f"The coldest night of a usual winter is given as {cold}.")
    lows = _lows(now)
    if not lows:
        return Winter(None, None, 0, "How cold the winters are is not known: no coldest night is given, and the weather "
                      "holds no whole winter.")  # fmt: skip
    coldest = sum(lows) / len(lows)
    cold = _cold(coldest, orchard.units)
    if len(lows) == 1:
        text = f"The one winter in the weather went down to {cold}; a usual one may be colder."
    else:
        text = f"The {len(lows)} winters in the weather went down to {cold} on average."
    return Winter(coldest, "weather", len(lows), text)


def freezes(hardy: Hardiness | None, winter: Winter) -> bool | None:
    """Whether a plant dies of the site's winters; None where the one or the other is not known."""
    if hardy is None or winter.coldest is None:
        return None
    return winter.coldest < hardy.coldest - SAME_COLD


def _cold(value: float, units: str) -> str:
    zone = zone_of(value)
    return show(value, "degC", units) + (f" (hardiness zone {zone})" if zone else "")


def _lows(now: Situation) -> list[float]:
    """The lowest temperature of each whole winter in the measured weather. [°C]"""
    if now.measured is None or not len(now.measured):
        return []
    daily = now.measured.daily(now.file.zone)
    first, last = (daily.dates[at].astype(dt.date) for at in (0, -1))
    found = []
    midwinter = season.season_start(first, now.latitude)
    while midwinter <= last + BEFORE_MIDWINTER:
        begin = np.datetime64(midwinter - BEFORE_MIDWINTER, "D")
        inside = (daily.dates >= begin) & (daily.dates < begin + np.timedelta64(COLD_DAYS, "D"))
        lows = daily.low[inside & np.isfinite(daily.low)]
        if len(lows) >= KNOWN_DAYS:
            found.append(float(lows.min()))
        midwinter = midwinter.replace(year=midwinter.year + 1)
    return found


def dry_summers(now: Situation) -> bool | None:
    """Whether every whole summer month in the weather was dry; None with fewer than two such months.

    Summer is June to August, or December to February in the south.
    """
    if now.measured is None or not len(now.measured):
        return None
    daily = now.measured.daily(now.file.zone)
    months = daily.dates.astype("datetime64[M]")
    summer = (12, 1, 2) if season.southern(now.latitude) else (6, 7, 8)
    sums = []
    for month in np.unique(months):
        days = daily.rain[months == month]
        length = int(((month + np.timedelta64(1, "M")).astype("datetime64[D]") - month.astype("datetime64[D]")).astype(int))
        if month.astype(dt.date).month in summer and len(days) == length and np.all(np.isfinite(days)):
            sums.append(float(days.sum()))
    return None if len(sums) < LEAST_MONTHS else all(total < DRY_MONTH for total in sums)
