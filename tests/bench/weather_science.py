"""All weather science for a year of hours and many blocks, against the plain-Python second implementation, in one run.

Run by hand: python tests/bench/weather_science.py [--no-growth]. Each block has its own temperatures, so nothing is
shared between blocks. Prints, for each subject, both times and their ratio, the ratio over all, and how the time grows
from 1 to 96 blocks. Both must give the same numbers, or the run stops.

The second implementation keeps its own ways, as the tests use it: a hundred steps for a day's curve, every
flower asked in turn for fire blight. The ratio without those two is printed as well: it is bounded by chill portions,
where each hour needs the one before.
"""

from __future__ import annotations

import datetime as dt
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

from advisor.science import (
    air,
    brown_rot,
    chill,
    degree_days,
    fire_blight,
    leaf_curl,
    pollination,
    rust,
    scab,
    summer_disease,
    water,
    wet_spells,
)
from slow import blight as slow_blight
from slow import heat as slow_heat
from slow import scab as slow_scab
from slow import season as slow_season
from slow import water as slow_water

DAYS, BLOCKS, RUNS = 365, 12, 5
MANY = (1, 12, 24, 48, 96)
START = dt.datetime(2025, 1, 1)
BLOOM = slice(110 * 24, 132 * 24)  # three weeks of open flowers
LATITUDE, ELEVATION = 42.4, 250.0
CURVE_STEPS = 100
OWN_WAYS = ("degree-days by day", "fire blight")


@dataclass(frozen=True)
class Year:
    """Hours by block: temperatures of each block [blocks, hours], one rain and humidity for all."""

    temp: np.ndarray
    rain: np.ndarray
    humid: np.ndarray
    wind: np.ndarray

    @property
    def low(self) -> np.ndarray:
        return self.temp.reshape(len(self.temp), DAYS, 24).min(axis=-1)

    @property
    def high(self) -> np.ndarray:
        return self.temp.reshape(len(self.temp), DAYS, 24).max(axis=-1)


def year(blocks: int) -> Year:
    """A made-up year with showers on every fourth day; each block a little warmer than the one before."""
    chance = np.random.default_rng(20)
    hour = np.arange(DAYS * 24)
    base = 9 - 13 * np.cos(2 * np.pi * (hour / 24 - 15) / 365) - 5 * np.cos(2 * np.pi * (hour % 24 - 3) / 24)
    base += np.repeat(chance.normal(0, 3, DAYS), 24)
    wet_day = np.repeat(chance.random(DAYS) < 0.25, 24)
    rain = np.where(wet_day & (chance.random(len(hour)) < 0.4), chance.random(len(hour)) * 2 + 0.3, 0.0)
    humid = np.clip(np.where(wet_day, 88, 65) + chance.normal(0, 8, len(hour)), 20, 100)
    temp = base + np.linspace(0, 2, blocks)[:, None]
    return Year(temp, rain, humid, np.abs(chance.normal(2.5, 1.5, len(hour))))


# --- One subject each: what the advisor's science gives, and the same in plain Python -----------------------------------


def days(y: Year) -> Any:
    return np.asarray(degree_days.degree_days(y.low, y.high, 10.0, 31.0))


def days_slowly(y: Year) -> Any:
    return [
        [slow_heat.degree_days(low, high, 10.0, 31.0, steps=CURVE_STEPS) for low, high in zip(lows, highs, strict=True)]
        for lows, highs in zip(y.low.tolist(), y.high.tolist(), strict=True)
    ]


def hours(y: Year) -> Any:
    return np.asarray(degree_days.hourly(y.temp, 6.0))[:, -1]


def hours_slowly(y: Year) -> Any:
    return [slow_heat.hourly(row, 6.0)[-1] for row in y.temp.tolist()]


def chilling(y: Year) -> Any:
    totals = (chill.chill_hours, chill.utah_units, chill.chill_portions, chill.growing_degree_hours)
    return np.array([total(y.temp) for total in totals])


def chilling_slowly(y: Year) -> Any:
    totals = (slow_heat.chill_hours, slow_heat.utah_units, slow_heat.chill_portions, slow_heat.growing_degree_hours)
    return [[total(row) for row in y.temp.tolist()] for total in totals]


def wettings(y: Year) -> Any:
    """Rust, leaf curl, blossom rot, black and bitter rot of every wetting: hours infecting, by block and disease."""
    share = wet_spells.wetness(rain_mm=y.rain, humidity_pct=y.humid).share
    found = []
    for temp in y.temp:
        each = wet_spells.spells(share, temp, y.rain)
        long, mean, wet = each.wet_hours, each.mean_c, each.rain_mm > 0
        light = np.asarray(rust.hours_to_infect(np.minimum(mean, 24.0)))
        with np.errstate(invalid="ignore"):
            rusty = wet & (mean <= 26) & (long >= light)
            curled = (each.rain_mm >= 3) & np.asarray(leaf_curl.infects(each.rain_mm, long, mean), dtype=float).astype(
                bool
            )
            share_blighted = np.asarray(brown_rot.blossoms_blighted(mean, np.minimum(long, 24.0)))
            rotten = np.where(
                np.isnan(share_blighted), (mean >= 10) & (mean <= 30) & (long >= 4), share_blighted >= 0.1
            )
            black = long >= np.asarray(summer_disease.black_rot_hours(mean)) - 1e-9
            bitter = np.asarray(summer_disease.bitter_rot_infects(mean, long), dtype=float) == 1
        found.append([np.count_nonzero(one) for one in (rusty, curled, rotten, black, bitter)])
    return np.array(found)


def wettings_slowly(y: Year) -> Any:
    found = []
    for temp in y.temp.tolist():
        listed = [(None, hour) for hour in zip(temp, y.humid.tolist(), y.rain.tolist(), strict=True)]
        counts = [0] * 5
        for places in slow_season.wettings(listed):
            mean, long = sum(temp[at] for at in places) / len(places), len(places)
            rain = sum(listed[at][1][2] for at in range(places[0], places[-1] + 1))
            verdicts = (slow_season.rust(mean, long, rain), slow_season.curl(mean, long, rain),
                        slow_season.blossom_rot(mean, long), slow_season.black_rot(mean, long),
                        slow_season.bitter_rot(mean, long))  # fmt: skip
            counts = [count + (verdict is not None) for count, verdict in zip(counts, verdicts, strict=True)]
        found.append(counts)
    return found


def apple_scab(y: Year) -> Any:
    wet = wet_spells.wetness(rain_mm=y.rain, humidity_pct=y.humid).share
    found = [scab.infection(START, wet, temp, rain_mm=y.rain) for temp in y.temp]
    return np.array([[one["hours"], one["mean_c"]] for one in found])


def apple_scab_slowly(y: Year) -> Any:
    wet = [1.0 if r > 0 or h >= 90 else 0.0 for r, h in zip(y.rain.tolist(), y.humid.tolist(), strict=True)]
    found = [slow_scab.infection(START, wet, temp, rain=y.rain.tolist()) for temp in y.temp.tolist()]
    return [[one["hours"], one["mean_c"]] for one in found]


def spores(y: Year) -> Any:
    rain = y.rain.reshape(DAYS, 24).sum(axis=-1)
    return np.array([scab.maturity_degree_days(t.reshape(DAYS, 24).mean(axis=-1), rain) for t in y.temp])[:, -1]


def spores_slowly(y: Year) -> Any:
    hourly = y.rain.tolist()
    daily = [sum(hourly[d * 24 : d * 24 + 24]) for d in range(DAYS)]
    return [
        slow_scab.maturity([sum(row[d * 24 : d * 24 + 24]) / 24 for d in range(DAYS)], daily)[-1]
        for row in y.temp.tolist()
    ]


def blossom(y: Year) -> Any:
    return np.array([fire_blight.blossom_heat(row) for row in y.temp[:, BLOOM]])


def blossom_slowly(y: Year) -> Any:
    return [slow_blight.blossom_heat(row) for row in y.temp[:, BLOOM].tolist()]


def evaporation(y: Year) -> Any:
    day = np.arange(1, DAYS + 1)
    vapour = np.asarray(air.saturation_pressure(y.low))
    return np.asarray(water.et0(y.low, y.high, vapour, 2.0, 12.0, LATITUDE, day, ELEVATION))


def evaporation_slowly(y: Year) -> Any:
    return [
        [
            slow_water.et0(low, high, slow_water.saturation(low), 2.0, 12.0, LATITUDE, d + 1, ELEVATION)
            for d, (low, high) in enumerate(zip(lows, highs, strict=True))
        ]
        for lows, highs in zip(y.low.tolist(), y.high.tolist(), strict=True)
    ]


def bees(y: Year) -> Any:
    return np.asarray(pollination.bee_activity(y.temp, y.wind)).sum(axis=-1)


def bees_slowly(y: Year) -> Any:
    winds = y.wind.tolist()
    return [sum(slow_water.bee_activity(t, w) for t, w in zip(row, winds, strict=True)) for row in y.temp.tolist()]


Subject = Callable[[Year], Any]
SUBJECTS: dict[str, tuple[Subject, Subject, float]] = {
    "degree-days by day": (days, days_slowly, 0.02),  # steps of the curve against its integral
    "degree-days by hour": (hours, hours_slowly, 1e-6),
    "chill and heat": (chilling, chilling_slowly, 1e-6),
    "wettings and five diseases": (wettings, wettings_slowly, 0),
    "apple scab": (apple_scab, apple_scab_slowly, 1e-6),
    "ascospores": (spores, spores_slowly, 1e-6),
    "fire blight": (blossom, blossom_slowly, 1e-6),
    "evaporation": (evaporation, evaporation_slowly, 1e-6),
    "bees": (bees, bees_slowly, 1e-6),
}


def seconds(work: Subject, y: Year, runs: int) -> float:
    """The median time of some runs."""
    took = []
    for _ in range(runs):
        began = time.perf_counter()
        work(y)
        took.append(time.perf_counter() - began)
    return statistics.median(took)


def against_plain_python() -> None:
    y = year(BLOCKS)
    print(f"{DAYS * 24} hours, {BLOCKS} blocks           advisor   in plain Python    ratio")
    times = {}
    for name, (fast, slow, near) in SUBJECTS.items():
        np.testing.assert_allclose(np.asarray(fast(y), float), np.asarray(slow(y), float), rtol=1e-6, atol=near)
        quick, plain = seconds(fast, y, RUNS), seconds(slow, y, 1)
        times[name] = quick, plain
        print(f"  {name:<28} {quick * 1000:8.1f} ms {plain * 1000:11.0f} ms {plain / quick:10.0f}")
    for words, chosen in (
        ("all", times),
        ("without those three", {k: v for k, v in times.items() if k not in OWN_WAYS}),
    ):
        quick, plain = (sum(pair[at] for pair in chosen.values()) for at in (0, 1))
        print(f"  {words:<28} {quick * 1000:8.1f} ms {plain * 1000:11.0f} ms {plain / quick:10.0f}")


def growth() -> None:
    print("\nblocks, time for all subjects, and time for each block against one block alone")
    alone = None
    for blocks in MANY:
        y = year(blocks)
        took = sum(seconds(fast, y, RUNS) for fast, _, _ in SUBJECTS.values())
        alone = alone or took
        print(f"  {blocks:3d} {took * 1000:9.1f} ms {took / blocks / alone:8.2f}")


if __name__ == "__main__":
    against_plain_python()
    if "--no-growth" not in sys.argv:
        growth()
