"""Pear scab: wet hours to infect, and how far the season of its spring spores has gone.

Hours: Villalta et al. 1999/2000, Australian Journal of Agricultural Research 51:97-106. Summer spores (conidia) need
2 h more at 4, 8 and 10 degrees C and about the same from 12 degrees C up (stated there in words, so those cells are
derived). Season: degree-day steps of Spotts, known here from a restatement only.
"""

from __future__ import annotations

from typing import Any

from advisor.science.tables import as_numbers, read

_TEMPERATURES = (4.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0)
_HOURS = {
    "ascospores": (27.0, 15.0, 13.0, 11.0, 10.0, 9.0, 9.0),
    "conidia": (29.0, 17.0, 15.0, 11.0, 10.0, 9.0, 9.0),
}
# Degree-days C (base 0) from bud swell: 10, 800 and 1,620 degree-days F.
_SEASON_STARTS, _SEASON_HALF, _SEASON_ENDS = 6.0, 444.0, 900.0


def hours_to_infect(temp_c: object, spores: str = "ascospores") -> Any:
    """Wet hours after which pear leaves are infected at a mean temperature; None or NaN outside 4 to 25 degrees C.

    spores: ascospores (spring, from litter) or conidia (summer, and from twig lesions).
    """
    if spores not in _HOURS:
        raise ValueError(f"Pear scab has ascospores and conidia, not {spores!r}.")
    return read(temp_c, _TEMPERATURES, _HOURS[spores])


def season(degree_days_c: float) -> str | None:
    """Where the season of spring spores stands, by degree-days C (base 0) from bud swell; None for NaN.

    not yet (below 6), first half (to 444), second half (to 900), over: the last spores go with the next rain.
    """
    heat = float(as_numbers(degree_days_c, "Degree-days"))
    if heat != heat:
        return None
    if heat < _SEASON_STARTS:
        return "not yet"
    return "first half" if heat < _SEASON_HALF else "second half" if heat < _SEASON_ENDS else "over"
