"""Wet spells from an hourly record: which hours leaves were wet, by which rule, and which wettings belong together.

An hour's wetness comes from the first of these that is known:

measured    a wetness sensor: the share of the hour that leaves were wet
rain        rain fell
humidity    humidity of 90 % or more wets or keeps wet, less is dry (Ontario ministry of agriculture, scab table)
dew point   humidity worked out from temperature and dew point, read in the same way
unknown     none of them; never taken as dry

No rain alone says nothing, for leaves stay wet after it; and dry air says nothing while rain is unknown, for a shower
may have fallen. Spells parted by fewer than 8 dry hours are one (West Virginia University, after MacHardy and Gadoury
1989; Ontario).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from advisor.science import air
from advisor.science.tables import Array, Bools, as_numbers

Hours = NDArray[np.intp]
Codes = NDArray[np.int8]

WET_HUMIDITY_PCT = 90.0
DRY_HOURS_THAT_PART = 8

RULES = ("unknown", "measured", "rain", "humidity", "dew point")
UNKNOWN, MEASURED, RAIN, HUMIDITY, DEW_POINT = range(len(RULES))


@dataclass(frozen=True, slots=True)
class Wetness:
    """Each hour's share of wetness (0 to 1, NaN unknown) and the rule behind it (a place in RULES)."""

    share: Array
    rule: Codes

    def rules_used(self, first: int = 0, end: int | None = None) -> tuple[str, ...]:
        """Names of the rules behind the hours from `first` up to, not including, `end`, in the order of RULES."""
        return tuple(RULES[code] for code in np.unique(self.rule[first:end]))


@dataclass(frozen=True, slots=True)
class Spells:
    """Wet spells in order, one value each in every array.

    first, end: the first hour and the hour after the last. wet_hours: hours wet, with part hours as parts, NaN where
    an hour of the spell is unknown; known_hours: the hours known to be wet (so "at least"); unknown_hours: the rest.
    mean_c: mean temperature over the wet time, rain_mm: rain from first to end; NaN where not known or not given.
    """

    first: Hours
    end: Hours
    wet_hours: Array
    known_hours: Array
    unknown_hours: Hours
    mean_c: Array
    rain_mm: Array

    def __len__(self) -> int:
        return int(self.first.size)


def wetness(
    wet: object = None,
    rain_mm: object = None,
    humidity_pct: object = None,
    dew_point_c: object = None,
    temp_c: object = None,
) -> Wetness:
    """Wetness of each hour from whatever an hourly record holds; series not given are unknown throughout.

    All series given have one shape, hours in any arrangement. Raises ValueError for shares outside 0 to 1, negative
    rain and humidity outside 0 to 100 %.
    """
    given = {"wetness": wet, "rain": rain_mm, "humidity": humidity_pct, "dew point": dew_point_c, "temperature": temp_c}
    given = {name: series for name, series in given.items() if series is not None}
    known = {name: np.atleast_1d(as_numbers(series, f"The {name}")) for name, series in given.items()}
    if not set(known) - {"temperature"}:
        raise ValueError("Wetness needs a measured wetness, rain, humidity or a dew point.")
    shape = next(iter(known.values())).shape
    if any(series.shape != shape for series in known.values()):
        sizes = ", ".join(f"{name} {series.size}" for name, series in known.items())
        raise ValueError(f"One value an hour is needed in each series; there are: {sizes}.")
    for name, most in (("wetness", 1.0), ("rain", np.inf), ("humidity", 100.0)):
        series = known.get(name)
        if series is not None and np.any((series < 0) | (series > most)):
            raise ValueError(f"The {name} must lie between 0 and {most:g}.")
    nothing = np.full(shape, np.nan)
    rain, humid = known.get("rain", nothing), known.get("humidity", nothing)
    from_dew_point = nothing
    if "dew point" in known and np.isnan(humid).any():
        from_dew_point = air.humidity(known.get("temperature", nothing), known["dew point"])
    return _judge(known.get("wetness", nothing), rain, humid, from_dew_point)


def spells(
    wet: object, temp_c: object = None, rain_mm: object = None, dry_hours: float = DRY_HOURS_THAT_PART
) -> Spells:
    """The wet spells of one hourly series, joined where fewer than `dry_hours` dry hours part them.

    wet: booleans or shares of the hour, NaN unknown. An hour with a share of 0 is dry. An unknown hour may be wet, so
    it neither parts spells nor is left out: a spell that holds one has wet_hours NaN, and so has a stretch that holds
    nothing else. temp_c, rain_mm: series of the same hours, or None.
    """
    share = np.atleast_1d(as_numbers(wet, "The wetness"))
    if share.ndim != 1:
        raise ValueError("Spells are read from one series of hours at a time.")
    if np.any((share < 0) | (share > 1)):
        raise ValueError("Wetness is true or false, or a share of the hour between 0 and 1.")
    if not dry_hours >= 1:
        raise ValueError(f"At least 1 dry hour parts two spells, not {dry_hours!r}.")
    unknown = np.isnan(share)
    hours = np.flatnonzero(unknown | (share > 0))
    breaks = np.flatnonzero(np.diff(hours) - 1 >= dry_hours)
    first = hours[np.concatenate(([0], breaks + 1))] if hours.size else hours
    end = hours[np.concatenate((breaks, [-1]))] + 1 if hours.size else hours
    known = np.where(unknown, 0.0, share)
    known_hours, missing = _sums(known, first, end), _sums(unknown, first, end)
    wet_hours = np.where(missing > 0, np.nan, known_hours)
    mean_c = _mean(known, _series(temp_c, share, "temperature"), first, end, wet_hours)
    rain = _sums(_series(rain_mm, share, "rain"), first, end)
    return Spells(first, end, wet_hours, known_hours, missing.astype(np.intp), mean_c, rain)


def _judge(measured: Array, rain: Array, humid: Array, from_dew_point: Any) -> Wetness:
    by_dew_point = np.isnan(humid) & ~np.isnan(from_dew_point)
    pct = np.where(by_dew_point, from_dew_point, humid)
    moist: Bools = pct >= WET_HUMIDITY_PCT
    sure = moist | (~np.isnan(pct) & ~np.isnan(rain))  # dry air counts only where rain is known to have stayed away
    share = np.where(sure, moist.astype(np.float64), np.nan)
    rule = np.where(sure, np.where(by_dew_point, DEW_POINT, HUMIDITY), UNKNOWN)
    share, rule = np.where(rain > 0, 1.0, share), np.where(rain > 0, RAIN, rule)
    seen = ~np.isnan(measured)
    return Wetness(np.where(seen, measured, share), np.where(seen, MEASURED, rule).astype(np.int8))


def _series(values: object, share: Array, name: str) -> Array:
    if values is None:
        return np.full(share.shape, np.nan)
    series = np.atleast_1d(as_numbers(values, f"The {name}"))
    if series.shape != share.shape:
        raise ValueError(f"Wetness has {share.size} hours and {name} {series.size}; one value an hour is needed.")
    return series


def _sums(series: Any, first: Hours, end: Hours) -> Array:
    """Sum of a series over each spell; NaN inside a spell makes its sum NaN and no other."""
    if not first.size:
        return np.zeros(0)
    padded = np.append(np.asarray(series, dtype=np.float64), 0.0)
    sums: Array = np.add.reduceat(padded, np.column_stack((first, end)).ravel())[::2]
    return sums


def _mean(known: Array, temp: Array, first: Hours, end: Hours, wet_hours: Array) -> Array:
    """Mean temperature over the wet time; unknown where the wet time, or the temperature of a wet hour, is."""
    weighted = _sums(np.where(known > 0, known * temp, 0.0), first, end)
    with np.errstate(invalid="ignore", divide="ignore"):
        return weighted / wet_hours
