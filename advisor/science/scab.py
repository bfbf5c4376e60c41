"""Apple scab: does this wetting infect, how ripe are the spores, when do the spots show.

Hours to infect: Ontario ministry of agriculture table, after Stensvand et al. 1997 and Carisse 2006 (degrees C), and
above 25.5 degrees C the revised table of West Virginia University after MacHardy and Gadoury 1989 and Gadoury et al.
1998 (degrees F, any infection). Night rain, joined wettings and the 1 % rule for a scabby orchard: the same page of
West Virginia University. Rain that releases spores (0.2 mm in an hour; dew alone never): Rossi et al., Po valley.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from advisor.science.tables import Array, Bools, as_numbers, give, read, stepped, truth

Ints = NDArray[np.int64]

SEVERITIES = ("light", "moderate", "severe")
DRY_HOURS_THAT_PART = 8
RELEASING_RAIN_MM = 0.2

# From, to [degrees C while wet]; hours for ascospores light, moderate, severe; for conidia; days to visible lesions.
# Where a range of hours or days is printed, the riskier (smaller) end stands here.
_TABLE: tuple[tuple[float, float, float, float, float, float, float | None], ...] = (
    (1, 1, 40, 69, 93, 37, None),
    (2, 2, 34, 69, 93, 33, None),
    (3, 3, 30, 52, 65, 30, None),
    (4, 4, 27, 42, 57, 26, None),
    (5, 5, 21, 34, 50, 23, None),
    (6, 6, 18, 27, 44, 20, 17),
    (7, 7, 15, 23, 37, 17, 17),
    (8, 8, 13, 21, 34, 15, 17),
    (9, 9, 12, 17, 27, 13, 17),
    (10, 10, 11, 16, 26, 10, 16),
    (11, 11, 9, 14, 22, 9.5, 15),
    (12, 13, 8, 12, 20, 9, 14),
    (14, 15, 7, 11, 19, 9, 12),
    (15.5, 15.5, 6.5, 10, 17, 9, 10),
    (16, 24, 6, 9, 16, 7, 9),
    (24, 25, 6.5, 9, 16, 9, None),
    (25, 25, 8, 11, 18, 11, None),
    (25.5, 25.5, 10, 14, 23, 13, None),
)
# 79 degrees F, 11 hours: 26.1 degrees C, more exactly 26.11. The revised table has no moderate or severe column.
_REVISED = ((26.1, 26.112, 11.0),)


def _column(number: int) -> list[tuple[float, float, float]]:
    return [(row[0], row[1], figure) for row in _TABLE if (figure := row[number]) is not None]


_HOURS = {
    "light": stepped([*_column(2), *_REVISED]),
    "moderate": stepped(_column(3)),
    "severe": stepped(_column(4)),
}
_CONIDIA = stepped(_column(5))
_LESION_DAYS = stepped(_column(6))


def hours_to_infect(temp_c: object, severity: str = "light") -> Any:
    """Wet hours after which ascospores have infected at this mean temperature, element by element.

    severity: light, moderate or severe. None (NaN) below 1 degree C (more than 40 h), above 26.1 for light and above
    25.5 for moderate and severe.
    """
    if severity not in _HOURS:
        raise ValueError(f"No severity is called {severity!r}; there are {', '.join(SEVERITIES)}.")
    return read(temp_c, *_HOURS[severity])


def conidia_hours(temp_c: object) -> Any:
    """Wet hours after which summer spores (conidia) have infected; None or NaN outside 1 to 25.5 degrees C."""
    return read(temp_c, *_CONIDIA)


def lesion_days(mean_c: object) -> Any:
    """Days from the start of wetting to visible lesions, by the mean of its first five days (Ontario table).

    The earlier end of a printed range; None or NaN outside 6 to 24 degrees C. Dry air, or days above 27 degrees C, add
    days: at 15.6 degrees C with four days above 28, 14 instead of 11 (Yoder, Virginia Tech, 2010).
    """
    return read(mean_c, *_LESION_DAYS)


@dataclass(frozen=True, slots=True)
class Event:
    """One wetting, with its joined spells: what was counted and how strong it is.

    first, last: hours of the series between which leaves were wet (both included). hours: wet hours counted (of a night
    event those after sunrise). mean_c: mean temperature over them, None if there are none. severity: None, light,
    moderate, severe. Hours and mean are NaN, and severity None, when an hour that counts is not known; but
    where only the end of the record is missing, an infection already reached is reported as it stood.
    """

    first: int
    last: int
    hours: float
    mean_c: float | None
    severity: str | None
    at_night: bool


def infection(
    start: datetime,
    wet: object,
    temp_c: object,
    sunrise_hour: object = 7,
    scabby_last_year: bool = False,
    rain_mm: object = None,
    sunset_hour: object = 19,
) -> dict[str, Any]:
    """The strongest event of an hourly series: dict of `hours`, `mean_c` and `severity`.

    start: local time of the first hour, with or without a zone. wet: booleans or shares of the hour. The other
    arguments and the rules are those of `events`. The strongest is the most severe, then the longest; an event with
    unknown hours comes after any that infects and before any that does not. Without an event, or with none that
    counts an hour, hours is 0 and the rest None.
    """
    found = events(start, wet, temp_c, sunrise_hour, scabby_last_year, rain_mm, sunset_hour)
    if not found:
        return {"hours": 0.0, "mean_c": None, "severity": None}
    strongest = max(found, key=_strength)
    return {"hours": strongest.hours, "mean_c": strongest.mean_c, "severity": strongest.severity}


def events(
    start: datetime,
    wet: object,
    temp_c: object,
    sunrise_hour: object = 7,
    scabby_last_year: bool = False,
    rain_mm: object = None,
    sunset_hour: object = 19,
) -> list[Event]:
    """Every wetting event of an hourly series, in order.

    Spells parted by fewer than 8 dry hours (share 0) are one event. With `rain_mm`, an event begins in the first hour
    with at least 0.2 mm; what joins it needs no rain of its own. An event that begins between sunset and sunrise counts
    from sunrise, in whole or part hours, or from its start if `scabby_last_year`. sunrise_hour, sunset_hour: local
    clock hours (5.5 is half past five), one for all or one for each hour of the series.
    """
    share, temp, rain, sunrise, sunset = _series(wet, temp_c, rain_mm, sunrise_hour, sunset_hour)
    first, last = _spells(share, rain)
    if not first.size:
        return []
    rising, night = _daylight(start, first, sunrise[first], sunset[first])
    hour = np.arange(share.size)
    event = np.searchsorted(first, hour, side="right") - 1  # which event each hour belongs to
    inside = (event >= 0) & (hour <= last[event])
    event, hour = event[inside], hour[inside]
    from_when = np.where(night, 0.0 if scabby_last_year else rising, 0.0)[event]
    unknown = np.isnan(share[hour])
    weight = np.where(unknown, 0.0, share[hour]) * np.clip(hour + 1 - from_when, 0.0, 1.0)

    def total(values: Any) -> Array:
        return np.bincount(event, values, first.size).astype(np.float64)

    hours = total(weight)
    mean = total(np.where(weight > 0, weight * temp[hour], 0.0)) / np.where(hours > 0, hours, 1.0)
    rank = _rank(hours, np.where(hours > 0, mean, np.nan))
    # The record breaks off: what had infected by then has infected; anything less may still become an infection.
    wet_until = np.maximum.reduceat(np.where(share[hour] > 0, hour, -1), np.searchsorted(event, np.arange(first.size)))
    unknown_before = total(unknown & (hour < wet_until[event])) > 0
    broken_off = (total(unknown) > 0) & (unknown_before | (rank == 0))
    lost = broken_off | np.isnan(mean) | np.isnan(rain[first])
    return [
        Event(int(first[i]), int(last[i]), np.nan, np.nan, None, bool(night[i]))
        if lost[i]
        else Event(
            int(first[i]), int(last[i]), float(hours[i]), float(mean[i]) if hours[i] > 0 else None,
            (None, *SEVERITIES)[rank[i]], bool(night[i]),
        )
        for i in range(first.size)
    ]  # fmt: skip


def _strength(event: Event) -> tuple[float, float]:
    if np.isnan(event.hours):
        return 0.5, 0.0
    return (0 if event.severity is None else 1 + SEVERITIES.index(event.severity)), event.hours


def _series(wet: object, temp_c: object, rain_mm: object, sunrise: object, sunset: object) -> list[Array]:
    share = np.atleast_1d(as_numbers(wet, "The wetness"))
    if np.any((share < 0) | (share > 1)):
        raise ValueError("Wetness is true or false, or a share of the hour between 0 and 1.")
    rain = np.where(share > 0, np.inf, np.where(np.isnan(share), np.nan, 0.0)) if rain_mm is None else rain_mm
    others = {"temperature": temp_c, "rain": rain, "sunrise": sunrise, "sunset": sunset}
    series = [share]
    for name, values in others.items():
        numbers = as_numbers(values, f"The {name}")
        if name in ("sunrise", "sunset"):
            numbers = np.broadcast_to(numbers, share.shape) if numbers.ndim == 0 else numbers
        numbers = np.atleast_1d(numbers)
        if numbers.shape != share.shape or share.ndim != 1:
            raise ValueError(f"Wetness has {share.size} hours and {name} {numbers.size}; one value an hour is needed.")
        series.append(numbers)
    return series


def _spells(share: Array, rain: Array) -> tuple[Ints, Ints]:
    """First and last active hour of each event. Hours not known may be wet, so they open, join and keep open."""
    wet = np.isnan(share) | (share > 0)
    raining = rain >= RELEASING_RAIN_MM
    active = np.flatnonzero(wet | raining)
    opening = (raining | (np.isnan(rain) & wet))[active]
    starts = np.flatnonzero(np.diff(active, prepend=-np.inf) > DRY_HOURS_THAT_PART)
    if not opening.any():
        return active[:0], active[:0]
    group = np.searchsorted(starts, np.arange(active.size), side="right") - 1
    opened, at = np.unique(group[opening], return_index=True)
    first = active[opening][at]
    last = active[np.append(starts[1:], active.size) - 1][opened]
    last_wet = np.maximum.reduceat(np.where(wet[active], active, -1), starts)[opened]
    return first[last_wet >= first], last[last_wet >= first]


def _daylight(start: datetime, hour: Ints, sunrise: Array, sunset: Array) -> tuple[Array, Bools]:
    """When the sun rises after each hour begins (in hours of the series), and whether that hour begins at night.

    Counted in real hours, so that a change of clock in the night is no hour more or less.
    """
    if start.tzinfo is not None:
        start = start.astimezone(UTC).astimezone(start.tzinfo)  # a time that a change of clock skips reads as the next
    clock_at_start = start.hour + start.minute / 60 + start.second / 3600
    offset = _utc_offset(start, hour)
    clock = (clock_at_start + hour + offset - _utc_offset(start, np.zeros(1))) % 24
    rising = hour + (sunrise - clock) % 24
    return rising - (_utc_offset(start, rising) - offset), (clock >= sunset) | (clock < sunrise)


def _utc_offset(start: datetime, hours: Any) -> Array:
    """What the clock is ahead of UTC [h], so many hours after `start`; 0 for a start without a zone."""
    if start.tzinfo is None:
        return np.zeros(len(hours))
    moments = [(start.astimezone(UTC) + timedelta(hours=float(hour))).astimezone(start.tzinfo) for hour in hours]
    return np.array([(moment.utcoffset() or timedelta()) / timedelta(hours=1) for moment in moments])


def _rank(hours: Array, mean: Array) -> Ints:
    """0 for no infection, 1 light, 2 moderate, 3 severe."""
    rank = np.zeros(hours.shape, dtype=np.int64)
    for number, severity in enumerate(SEVERITIES, start=1):
        rank[hours >= np.asarray(hours_to_infect(mean, severity)) - 1e-9] = number
    return rank


# Ascospores in last year's leaves.

PRIMARY_SEASON_ENDS = 418.0  # over 95 % used up, given enough rain (Ontario ministry of agriculture, crop guide)
RAINLESS_DAYS_THAT_HALT = 7  # Stensvand et al. 2005, Plant Disease 89


def spores_mature(degree_days_c: object) -> Any:
    """Share of the season's ascospores that are mature [0 to 1], by degree-days above 0 degrees C from green tip.

    Logistic form, from memory; it agrees with both published points (about 5 % at 125 and 95 % at 418 degree-days).
    """
    heat = as_numbers(degree_days_c, "The degree-days")
    return give(1 / (1 + np.exp(np.clip(5.486 - 0.0202 * heat, -700, 700))))


def maturity_degree_days(mean_c: object, rain_mm: object, least_rain_mm: float = RELEASING_RAIN_MM) -> Array:
    """Running degree-days above 0 degrees C that ripen the spores, at the end of each day from green tip on.

    mean_c, rain_mm: daily mean temperature and rain, last axis days, leading axes blocks. Once 7 days in a row have
    passed without rain nothing is added until it rains again: dry leaves ripen no spores (Stensvand et al. 2005). A
    day with less than `least_rain_mm` counts as rainless (common practice). A missing day makes the rest NaN, but
    missing rain only where it decides whether ripening stands still.
    """
    mean, rain = np.broadcast_arrays(as_numbers(mean_c, "The temperature"), as_numbers(rain_mm, "The rain"))
    wet, unknown = rain >= least_rain_mm, np.isnan(rain)
    halted, perhaps = _dry_run(wet | unknown), _dry_run(wet)
    gained = np.where(halted > RAINLESS_DAYS_THAT_HALT, 0.0, np.maximum(mean, 0.0))
    undecided = (perhaps > RAINLESS_DAYS_THAT_HALT) & (halted <= RAINLESS_DAYS_THAT_HALT)
    total: Array = np.cumsum(np.where(undecided, np.nan, gained), axis=-1)
    return total


def primary_season_over(degree_days_c: object) -> Any:
    """Whether the ascospores are used up (418 degree-days C, given enough rain); None where NaN."""
    heat = as_numbers(degree_days_c, "The degree-days")
    return truth(heat >= PRIMARY_SEASON_ENDS, np.isnan(heat))


def contact_reaches(wet_hours: object, mean_c: object) -> Any:
    """Whether a protectant can still reach the fungus: up to 320 degree-hours C from the start of wetting.

    After that it sits under the cuticle (regional plant-health bulletin, Nord-Pas-de-Calais, 2015: 32 h at 10 or
    21.3 h at 15 degrees C). None where NaN.
    """
    hours, mean = as_numbers(wet_hours, "The hours"), as_numbers(mean_c, "The temperature")
    return truth(hours * mean < 320, np.isnan(hours) | np.isnan(mean))


def _dry_run(wet: Any) -> Array:
    """Length of the run of days without rain that ends with each day (0 on a day with rain)."""
    days = np.arange(1, wet.shape[-1] + 1)
    last_wet = np.maximum.accumulate(np.where(wet, days, 0), axis=-1)
    return (days - last_wet).astype(np.float64)
