"""Cherry leaf spot: wet hours to infect.

Table of Cultur'Innov and the Quebec ministry of agriculture, March 2017 (it appears to be the light-infection curve of
Eisensmith and Jones 1981, Plant Disease 65:955-958). Their favourability index is not computed: its formula is not
published in what was read.
"""

from __future__ import annotations

from typing import Any

from advisor.science.tables import read, stepped

# From, to [degrees C while wet]; wet hours.
_TABLE: tuple[tuple[float, float, float], ...] = (
    (7.8, 7.8, 28),
    (8.3, 8.3, 25),
    (8.9, 8.9, 23),
    (9.4, 9.4, 20),
    (10.0, 10.0, 19),
    (10.6, 10.6, 17),
    (11.1, 11.1, 15),
    (11.7, 11.7, 14),
    (12.2, 12.2, 12),
    (12.8, 12.8, 11),
    (13.3, 13.3, 10),
    (13.9, 13.9, 9),
    (14.4, 14.4, 8),
    (15.0, 15.6, 7),
    (16.1, 16.7, 6),
    (17.2, 20.0, 5),
    (20.6, 21.1, 6),
    (21.7, 22.2, 7),
    (22.8, 22.8, 8),
    (23.3, 23.3, 9),
    (23.9, 23.9, 11),
    (24.4, 24.4, 12),
    (25.0, 25.0, 14),
    (25.5, 25.5, 16),
    (26.1, 26.1, 18),
    (26.7, 26.7, 21),
    (27.2, 27.2, 28),
)
_ROWS, _HOURS = stepped(_TABLE)


def hours_to_infect(temp_c: object) -> Any:
    """Wet hours after which cherry leaves are infected; None or NaN outside 7.8 to 27.2 degrees C (mean while wet)."""
    return read(temp_c, _ROWS, _HOURS)
