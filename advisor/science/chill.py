"""Winter chill and spring heat: totals over an hourly series of temperatures.

chill_hours            hours from 0 to 7.2 degrees C (32-45 degrees F)
utah_units             Richardson, Seeley and Walker 1974, HortScience 9:331-332 (degree C bands from memory)
chill_portions         dynamic model, Fishman et al. 1987, J. Theor. Biol. 124:473-483 and 126:309-321; constants as
                       given by Erez et al. 1990, Acta Hortic. 276:165-174; hourly steps from memory
growing_degree_hours   Anderson, Richardson and Kesner 1986, Acta Hortic. 184:71-78 (closed form from memory)

Each takes hourly temperatures in degrees C, last axis hours, any leading axes blocks, and returns a float, or one for
each block. A NaN hour makes the total NaN: a missing winter week is not a warm one.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from advisor.science.tables import Array, as_numbers, give

# Utah bands: upper ends (included) and the units of an hour in each; the last holds above 18 degrees.
_UTAH_ENDS = np.array([1.4, 2.4, 9.1, 12.4, 15.9, 18.0])
_UTAH_UNITS = np.array([0.0, 0.5, 1.0, 0.5, 0.0, -0.5, -1.0])

# Dynamic model: activation energies over the gas constant (K), rate factors (1/h), and the step to a fixed portion.
_E0, _E1, _A0, _A1 = 4153.5, 12888.8, 139500.0, 2.567e18
_SLOPE, _MELTING_K = 1.6, 277.0
_KELVIN = 273.0  # as in the published sheets; 273.15 would shift the totals slightly

_HEAT_BASE, _HEAT_BEST, _HEAT_LIMIT = 4.0, 25.0, 36.0


def chill_hours(temp_c: object) -> Any:
    """Hours at 0 to 7.2 degrees C, both ends included."""
    hours = _hours(temp_c)
    return give(_total(np.where((hours >= 0) & (hours <= 7.2), 1.0, 0.0), hours))


def utah_units(temp_c: object) -> Any:
    """Utah chill units; warm hours count against them, so the total can be negative."""
    hours = _hours(temp_c)
    return give(_total(_UTAH_UNITS[np.searchsorted(_UTAH_ENDS, hours, side="left")], hours))


def growing_degree_hours(temp_c: object) -> Any:
    """Growing degree hours above 4, best at 25, none from 36 degrees C (no stress factor)."""
    hours = _hours(temp_c)
    span = _HEAT_BEST - _HEAT_BASE
    rising = span / 2 * (1 - np.cos(np.pi * (hours - _HEAT_BASE) / span))
    falling = span * (1 + np.cos(np.pi / 2 * (1 + (hours - _HEAT_BEST) / (_HEAT_LIMIT - _HEAT_BEST))))
    each = np.where(hours <= _HEAT_BEST, rising, falling)
    return give(_total(np.where((hours < _HEAT_BASE) | (hours > _HEAT_LIMIT), 0.0, each), hours))


def chill_portions(temp_c: object) -> Any:
    """Chill portions of the dynamic model, starting without any intermediate product."""
    hours = _hours(temp_c)
    kelvin = hours + _KELVIN
    with np.errstate(over="ignore", under="ignore"):
        fixed = 1 / (1 + np.exp(-_SLOPE * _MELTING_K * (kelvin - _MELTING_K) / kelvin))
        balance = _A0 / _A1 * np.exp((_E1 - _E0) / kelvin)
        kept = np.exp(-_A1 * np.exp(-_E1 / kelvin))
    made = balance * (1 - kept)
    count = math.prod(hours.shape[:-1])
    blocks = [each.reshape(count, hours.shape[-1]) for each in (made, kept, fixed)]
    totals = np.array([_portions(*(row.tolist() for row in block)) for block in zip(*blocks, strict=True)])
    return give(_total(np.zeros_like(hours), hours) + totals.reshape(hours.shape[:-1]))


def _portions(made: list[float], kept: list[float], fixed: list[float]) -> float:
    """The sequential part: each hour's product is `made + kept * what was there`; at 1 its share `fixed` is banked.

    Plain floats in a plain loop are several times faster here than NumPy, whose calls cost more than the arithmetic.
    """
    product = banked = 0.0
    for new, keep, share in zip(made, kept, fixed, strict=True):
        product = new + keep * product
        if product >= 1.0:
            banked += product * share
            product -= product * share
    return banked


def _hours(temp_c: object) -> Array:
    return np.atleast_1d(as_numbers(temp_c, "The temperature"))


def _total(each: Array, hours: Array) -> Array:
    total: Array = np.sum(np.where(np.isnan(hours), np.nan, each), axis=-1)
    return total
