"""Fire blight of apple, pear and quince: is this the day on which blossoms are infected?

The four conditions are those of Steiner (1990, 1996): open flowers with sound petals and stigmas, 110 degree-hours C
above 18.3 since the oldest open flower opened (Massachusetts Fruit Growers' Association 2003: 198 degree-hours F above
65), wetting by dew or rain, and a mean of at least 15.6 degrees C on the day of wetting. How a cool day takes back part
of the heat is known here from memory only and is left out: the sum then errs on the side of danger.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.degree_days import hourly
from advisor.science.tables import Array, as_numbers, give, truth

HEAT_BASE_C = 18.3
HEAT_FOR_INFECTION = 110.0  # degree-hours C
WARM_DAY_C = 15.6
WET_TODAY_MM, WET_YESTERDAY_MM = 0.2, 2.5
# How long a flower stays open to infection, in degree-days C above 4.4 (apple: 80 degree-days F above 40).
FLOWER_LIFE_BASE_C = 4.4
FLOWER_LIFE = {"apple": 44.0, "pear": 66.0}

SYMPTOM_BASE_C, SYMPTOM_HEAT = 12.7, 57.0  # degree-days C after infection until strikes are seen


def degree_hours(temp_c: object) -> Any:
    """Degree-hours C above 18.3 of an hourly series (a float, or one for each leading block); NaN if an hour is."""
    return give(np.sum(_heat(np.atleast_1d(as_numbers(temp_c, "The temperature"))), axis=-1))


def blossom_heat(temp_c: object, fruit: str = "apple") -> Array:
    """Degree-hours C above 18.3 at the end of each hour, since the oldest flower that is still open has opened.

    temp_c: hourly, last axis hours, leading axes blocks; the series begins when the first flower opens. A flower lives
    44 (apple) or 66 (pear) degree-days above 4.4 degrees C; quince, without a figure, reads pear. NaN from a missing
    hour on until every flower that saw it has gone.
    """
    if fruit not in (*FLOWER_LIFE, "quince"):
        raise ValueError(f"Fire blight heat is for apple, pear and quince, not {fruit!r}.")
    temp = np.atleast_1d(as_numbers(temp_c, "The temperature"))
    life = FLOWER_LIFE.get(fruit, FLOWER_LIFE["pear"])
    flat = temp.reshape(-1, temp.shape[-1])
    return np.array([_heat_of_oldest(row, life) for row in flat]).reshape(temp.shape)


def wet_enough(rain_today_mm: object, rain_yesterday_mm: object = 0.0, dew: object = False) -> Any:
    """Whether the day counts as wet: dew, 0.2 mm of rain, or 2.5 mm the day before; None where that hangs on a NaN."""
    today, before = as_numbers(rain_today_mm, "The rain"), as_numbers(rain_yesterday_mm, "The rain of the day before")
    wet = (today >= WET_TODAY_MM) | (before >= WET_YESTERDAY_MM) | (as_numbers(dew, "Dew") > 0)
    return truth(wet, ~wet & (np.isnan(today) | np.isnan(before)))


def blossom_risk(degree_hours: object, wet: object, mean_c: object, open_bloom: object) -> dict[str, Any]:
    """Of the four conditions, `conditions_met` (0 to 4), and whether all hold (`infection`).

    degree_hours: degree-hours C above 18.3 since the oldest open flower opened; wet, open_bloom: true or false; mean_c:
    mean of the day. Arrays give a dict of arrays. With a NaN the count is NaN and the infection None.
    """
    held, unknown = _conditions(degree_hours, wet, mean_c, open_bloom)
    count = np.where(unknown, np.nan, held.sum(axis=0))
    met = give(count) if count.ndim or unknown else int(count)
    return {"conditions_met": met, "infection": truth(held.all(axis=0), unknown)}


def symptom_hour(temp_c: object) -> int | None:
    """The hour of an hourly series, beginning with the infection, by which strikes are due.

    57 degree-days C above 12.7 after infection (Steiner; 103 degree-days F above 55). It may be 5 to 30 days; strikes
    are easily seen after 5 to 14 days (Smith 2012, Washington State University). None if the series ends before, or a
    NaN comes before.
    """
    due = np.flatnonzero(hourly(temp_c, SYMPTOM_BASE_C) >= SYMPTOM_HEAT)
    return int(due[0]) if due.size else None


def _heat(temp: Array) -> Array:
    return np.maximum(temp - HEAT_BASE_C, 0.0)


def _conditions(degree_hours: object, wet: object, mean_c: object, open_bloom: object) -> tuple[Any, Any]:
    given = [
        as_numbers(open_bloom, "Open bloom"),
        as_numbers(degree_hours, "The degree-hours"),
        as_numbers(wet, "Wet"),
        as_numbers(mean_c, "The mean temperature"),
    ]
    bloom, heat, wetness, mean = np.broadcast_arrays(*given)
    held = np.array([bloom > 0, heat >= HEAT_FOR_INFECTION, wetness > 0, mean >= WARM_DAY_C])
    return held, np.isnan(np.array([bloom, heat, wetness, mean])).any(axis=0)


def _heat_of_oldest(temp: Array, life: float) -> Array:
    missing = np.isnan(temp)
    known = np.where(missing, -np.inf, temp)
    aged = np.concatenate([[0.0], np.cumsum(np.maximum(known - FLOWER_LIFE_BASE_C, 0.0)) / 24])
    warmed = np.concatenate([[0.0], np.cumsum(np.where(missing, 0.0, _heat(known)))])
    gaps = np.concatenate([[0], np.cumsum(missing)])
    # The oldest flower alive at the end of an hour opened at the first hour from which no more than a life has passed.
    opened = np.minimum(np.searchsorted(aged, aged[1:] - life - 1e-9), np.arange(temp.size))
    return np.where(gaps[1:] > gaps[opened], np.nan, warmed[1:] - warmed[opened])
