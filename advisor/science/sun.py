"""Sunrise and sunset from latitude, longitude and date.

The low-precision solar position of the US National Oceanic and Atmospheric Administration's solar calculator, which
follows Meeus, Astronomical Algorithms (1991; coefficients from memory): good to about a minute between 72° N and 72° S
at sea level with an open horizon, for the years 1800 to 2100. Sunrise is when the sun's upper edge shows, its centre
0.833° below the horizon.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ZENITH = 90.833  # degrees: half the sun's width and the usual bending of light


def sun_hours(latitude: float, longitude: float | None, dates: Any) -> tuple[Any, Any]:
    """Sunrise and sunset as hours UTC from 00:00 UTC of each date.

    dates: the place's own date, or an array of datetime64[D]. longitude: degrees, east positive; without one the times
    are local solar hours for Greenwich, good for the length of the day only. May lie below 0 or above 24, since a date
    west or east of Greenwich begins at another UTC hour. NaN where the sun does not rise or set that day.
    Returns floats for one date, arrays for an array.
    """
    east = 0.0 if longitude is None else float(longitude)
    days = (np.asarray(dates, "datetime64[D]") - np.datetime64("2000-01-01", "D")).astype(np.float64)
    rise = set_ = days * 0.0 + 12.0 - east / 15.0
    for _ in range(3):  # the sun moves on between noon and dawn: each turn takes its place at the time last found
        rise = _crossing(latitude, east, days, rise, -1.0)
        set_ = _crossing(latitude, east, days, set_, 1.0)
    if np.ndim(days) == 0:
        return float(rise), float(set_)
    return rise, set_


def _crossing(latitude: float, east: float, days: Floats, hour: Floats, side: float) -> Floats:
    """Hour UTC at which the sun crosses the horizon, with its place taken at `hour`."""
    declination, equation_of_time = _sun(days + np.where(np.isfinite(hour), hour, 12.0) / 24.0)
    lat = np.radians(latitude)
    cosine = (np.cos(np.radians(ZENITH)) - np.sin(lat) * np.sin(declination)) / (np.cos(lat) * np.cos(declination))
    half = np.degrees(np.arccos(np.where(np.abs(cosine) <= 1.0, cosine, np.nan)))
    found: Floats = 12.0 - east / 15.0 - equation_of_time / 60.0 + side * half / 15.0
    return found


def _sun(days: Floats) -> tuple[Floats, Floats]:
    """Declination [radians] and equation of time [minutes], `days` after 00:00 UTC on 1 January 2000."""
    century = (days - 0.5) / 36525.0
    mean_longitude = np.radians((280.46646 + century * (36000.76983 + 0.0003032 * century)) % 360.0)
    anomaly = np.radians(357.52911 + century * (35999.05029 - 0.0001537 * century))
    eccentricity = 0.016708634 - century * (0.000042037 + 0.0000001267 * century)
    centre = np.radians(
        np.sin(anomaly) * (1.914602 - century * (0.004817 + 0.000014 * century))
        + np.sin(2 * anomaly) * (0.019993 - 0.000101 * century)
        + np.sin(3 * anomaly) * 0.000289
    )
    node = np.radians(125.04 - 1934.136 * century)
    apparent = mean_longitude + centre - np.radians(0.00569 + 0.00478 * np.sin(node))
    tilt = np.radians(23.4392911 - 0.0130042 * century + 0.00256 * np.cos(node))
    declination = np.arcsin(np.sin(tilt) * np.sin(apparent))
    y = np.tan(tilt / 2) ** 2
    equation = (
        y * np.sin(2 * mean_longitude) - 2 * eccentricity * np.sin(anomaly)
        + 4 * eccentricity * y * np.sin(anomaly) * np.cos(2 * mean_longitude)
        - 0.5 * y**2 * np.sin(4 * mean_longitude) - 1.25 * eccentricity**2 * np.sin(2 * anomaly)
    )
    return declination, 4.0 * np.degrees(equation)


def sunset(latitude: float, longitude: float, day: dt.date) -> dt.datetime | None:
    """The moment of sunset [UTC]; None where the sun does not rise or does not set that day."""
    return _moment(day, sun_hours(latitude, longitude, day)[1])


def _moment(day: dt.date, hours: float) -> dt.datetime | None:
    if np.isnan(hours):
        return None
    return dt.datetime.combine(day, dt.time(), dt.UTC) + dt.timedelta(hours=hours)
