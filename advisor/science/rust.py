"""Cedar-apple rust: wet hours to infect apple leaves and fruit. Quince rust: the long wettings that favour it.

Aldwinckle, Pearson and Seem 1980, Phytopathology 70:1070-1073. Its ends (2 degrees C: light at 24 h; 24 degrees C:
light at 2 h) and its ranges from 10 to 24 degrees C (light 2 to 5 h, severe 4 to 6 h) were read; the rows between are
from memory and agree with them. Spores must be flying: swollen horns on juniper galls near, and rain.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.tables import as_numbers, read, truth

SEVERITIES = ("light", "severe")

# Mean temperature while wet [degrees C], light [h], severe [h].
_TABLE: tuple[tuple[float, float, float | None], ...] = (
    (2, 24, None),
    (4, 12, 24),
    (6, 8, 10),
    (8, 6, 7),
    (10, 5, 6),
    (12, 4, 5),
    (14, 3, 5),
    (16, 3, 5),
    (18, 3, 4),
    (20, 3, 4),
    (22, 2, 4),
    (24, 2, 4),
    (26, 2, 4),  # as at 24; above 26 the table says "no infection"
)
_LIGHT = ([row[0] for row in _TABLE], [row[1] for row in _TABLE])
_SEVERE_ROWS = [(row[0], row[2]) for row in _TABLE if row[2] is not None]
_SEVERE = ([temp for temp, _ in _SEVERE_ROWS], [hours for _, hours in _SEVERE_ROWS])

NO_INFECTION_ABOVE_C = 26.0
# Quince rust on fruit: more likely in a wet period of more than 48 hours above 10 degrees C, tight cluster to petal
# fall (Cornell University, apple variety database, fact sheet quince rust).
QUINCE_RUST_HOURS, QUINCE_RUST_ABOVE_C = 48.0, 10.0
HUMID_ENOUGH_PCT = 85.0  # horns set spores free again without rain at this humidity (Pearson, Seem and Meyer 1980)


def hours_to_infect(temp_c: object, severity: str = "light") -> Any:
    """Wet hours after which rust has infected at a mean temperature, element by element.

    severity: light or severe. None or NaN below 2 degrees C (severe: 4) and above 26, where nothing infects.
    """
    if severity not in SEVERITIES:
        raise ValueError(f"Rust has light and severe infection, not {severity!r}.")
    rows, hours = _LIGHT if severity == "light" else _SEVERE
    return read(temp_c, rows, hours)


def severity(temp_c: float, wet_hours: float) -> str | None:
    """light, severe or none for one wetting; None where the table does not say or something is not known.

    Above 26 degrees C the table says none. Below 2 degrees C, or where only severity is unpublished, it is silent.
    """
    temp = float(as_numbers(temp_c, "The temperature"))
    wet = float(as_numbers(wet_hours, "Wet hours"))
    if np.isnan(temp) or np.isnan(wet):
        return None
    if temp > NO_INFECTION_ABOVE_C:
        return "none"
    light, severe = hours_to_infect(temp), hours_to_infect(temp, "severe")
    if light is None:
        return None
    if wet < light:
        return "none"
    return "severe" if severe is not None and wet >= severe else "light"


def quince_rust_favoured(temp_c: object, wet_hours: object) -> Any:
    """Whether a wetting is long and warm enough for quince rust to be likely, element by element; None for NaN.

    Shorter or colder wettings are not proven safe: no least number of hours is published.
    """
    temp, wet = as_numbers(temp_c, "The temperature"), as_numbers(wet_hours, "Wet hours")
    return truth((wet > QUINCE_RUST_HOURS) & (temp > QUINCE_RUST_ABOVE_C), np.isnan(temp) | np.isnan(wet))
