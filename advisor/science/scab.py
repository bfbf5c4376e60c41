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

from advisor.science.tables import Array, as_numbers, give, read, stepped, truth

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
    found = []
    for first, last in _spells(share, rain):
        begin, rising, night = _daylight(start, first, sunrise[first], sunset[first])
        if np.isnan(rain[first]):  # whether it began here is not known, and so not whether by day or night
            found.append(Event(first, last, np.nan, np.nan, None, night))
            continue
        counted = share[first : last + 1].copy()
        if night and not scabby_last_year:
            counted *= np.clip(np.arange(begin, begin + counted.size) + 1 - rising, 0.0, 1.0)
        found.append(_judge(first, last, counted, temp[first : last + 1], share[first : last + 1], night))
    return found


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


def _spells(share: Array, rain: Array) -> list[tuple[int, int]]:
    """First and last wet hour of each event. Hours not known may be wet, so they open, join and keep open."""
    wet = np.isnan(share) | (share > 0)
    opens = (rain >= RELEASING_RAIN_MM) | (np.isnan(rain) & wet)
    active = np.flatnonzero(wet | (rain >= RELEASING_RAIN_MM))
    spells = []
    for group in np.split(active, np.flatnonzero(np.diff(active) > DRY_HOURS_THAT_PART) + 1):
        released = group[opens[group]]
        if released.size and wet[released[0] : group[-1] + 1].any():
            spells.append((int(released[0]), int(group[-1])))
    return spells


def _daylight(start: datetime, hour: int, sunrise: float, sunset: float) -> tuple[float, float, bool]:
    """Of an event: when it begins (hours from the start of the series), when the sun next rises, and if it is night.

    Counted in real hours, so that a change of clock in the night is no hour more or less.
    """
    zone = start.tzinfo
    local = start + timedelta(hours=hour)
    if zone is not None:
        local = (start.astimezone(UTC) + timedelta(hours=hour)).astimezone(zone)
    clock = local.hour + local.minute / 60 + local.second / 3600
    night = clock >= sunset or clock < sunrise
    day = local.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=1 if clock >= sunset else 0)
    rising = day + timedelta(hours=sunrise)
    if zone is not None:
        return hour, hour + (rising.astimezone(UTC) - local.astimezone(UTC)).total_seconds() / 3600, night
    return hour, hour + (rising - local).total_seconds() / 3600, night


def _judge(first: int, last: int, counted: Array, temp: Array, share: Array, night: bool) -> Event:
    unknown = np.isnan(share)
    if unknown[-1] and share[0] > 0:
        # The record breaks off. What had infected by then has infected; anything less may still become an infection.
        known = int(np.flatnonzero(~unknown)[-1]) + 1
        so_far = _judge(first, first + known - 1, counted[:known], temp[:known], share[:known], night)
        if so_far.severity is not None:
            return so_far
    weights = counted[counted > 0]
    if unknown.any() or np.isnan(temp[counted > 0]).any():
        return Event(first, last, np.nan, np.nan, None, night)
    if not weights.size:
        return Event(first, last, 0.0, None, None, night)
    hours = float(weights.sum())
    mean = float(np.average(temp[counted > 0], weights=weights))
    severity = None
    for name in SEVERITIES:
        needed = hours_to_infect(mean, name)
        if needed is not None and hours >= needed - 1e-9:
            severity = name
    return Event(first, last, hours, mean, severity, night)


# Ascospores in last year's leaves.

MATURE_FIRST = 125.0  # degree-days C above 0: rapid maturing begins (Ontario ministry of agriculture, crop guide)
PRIMARY_SEASON_ENDS = 418.0  # over 95 % used up, given enough rain (same guide)
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


def first_spray_may_wait(bbch: float, infections_so_far: int) -> bool:
    """In a very clean orchard: until pink, or until three infections have passed, whichever is first.

    University of Massachusetts, fact sheet F-134.
    """
    return bbch < 57 and infections_so_far < 3


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
