"""Copper metal: how much a spray brings, how much room is left, how much stays in the soil.

Limit: Commission Implementing Regulation (EU) 2018/1981, at most 28 kg of copper a hectare over 7 years. Elsewhere it
serves as a yardstick. Rise in soil: Caldwell et al. 2013, Cornell University. The product label always wins.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.tables import as_numbers, give

LIMIT_KG_HA, YEARS = 28.0, 7

_KG_HA_PER_LB_ACRE = 0.45359237 / 0.40468564224
_MG_KG_PER_LB_ACRE = 0.5  # 1 to 4 lb of copper an acre add 0.5 to 2 mg/kg


def room_left(applied_kg_ha: object, years: int = YEARS, limit: float = LIMIT_KG_HA) -> float:
    """Kilograms of copper metal a hectare still allowed, never below 0.

    applied_kg_ha: the total of the window, or a list of yearly amounts with the newest last, of which the last `years`
    count. NaN gives NaN.
    """
    applied = as_numbers(_listed(applied_kg_ha), "Copper applied")
    most = float(as_numbers(limit, "The limit"))
    if isinstance(years, bool) or int(years) != years or years < 1:
        raise ValueError(f"The window is a whole number of years from 1 up, not {years!r}.")
    if applied.ndim > 1:
        raise ValueError("Copper applied is one total, or one list of yearly amounts.")
    if np.any(applied < 0) or most < 0:
        raise ValueError("Copper applied and its limit cannot be less than 0.")
    total = float(applied) if applied.ndim == 0 else float(np.sum(applied[-int(years) :]))
    return float(np.maximum(most - total, 0.0))


def metal(mass_kg: object, content: object, area_ha: object) -> Any:
    """Kilograms of copper metal a hectare in a spray.

    mass_kg: product used; content: its share of metal, from the label; area_ha: ground sprayed. Element by element.
    """
    mass, share, area = (
        as_numbers(mass_kg, "The mass"), as_numbers(content, "The content"), as_numbers(area_ha, "The area")
    )
    if np.any(mass < 0) or np.any((share < 0) | (share > 1)) or np.any(area <= 0):
        raise ValueError("Mass is 0 or more, content a share from 0 to 1, and the area more than 0.")
    return give(mass * share / area)


def soil_rise(applied_kg_ha: object) -> Any:
    """Rise of copper in the soil [mg/kg] by an amount of copper metal [kg/ha]: 0.5 mg/kg for each pound an acre."""
    applied = as_numbers(applied_kg_ha, "Copper applied")
    if np.any(applied < 0):
        raise ValueError("Copper applied cannot be less than 0.")
    return give(applied / _KG_HA_PER_LB_ACRE * _MG_KG_PER_LB_ACRE)


def _listed(applied: Any) -> Any:
    """A yearly list as it is; an empty one as nothing applied."""
    return [0.0] if isinstance(applied, list | tuple) and not applied else applied
