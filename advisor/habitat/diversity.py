"""How varied a place is, in three plain measures, and what one more plant would add to each.

functions    how many of the wanted functions something here fills
weeks        weeks of the season with nectar, of all its weeks
Shannon      the index of bloom-weeks over kinds (see `advisor.science.bloom`); exp of it reads as a number of kinds
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from advisor.ecosystem import Plant
from advisor.facts.situation import Situation
from advisor.habitat.functions import filled_here, wanted
from advisor.habitat.needs import as_new, fillers
from advisor.habitat.ribbon import InBloom
from advisor.habitat.weeks import Parts, lacking
from advisor.science.bloom import bloom_weeks, even_kinds, shannon

MOST_SHOWN = 5


def diversity(
    now: Situation, flowers: Sequence[InBloom], parts: Parts, accepted: Sequence[Plant], nitrogen: bool
) -> dict[str, Any]:
    """The measures as they stand; `one_more`: the accepted plants that would add most, each with what it adds."""
    plants = {one.plant.id: one.plant for one in flowers}
    functions = [
        {"function": f.id, "name": f.name, "filled_by": filled_here(f, now, plants.values())} for f in wanted(nitrogen)
    ]
    weeks = _weeks(flowers, parts)
    index = _index(flowers, parts)
    missing = [str(row["function"]) for row in functions if not row["filled_by"]]
    return {
        "functions": functions,
        "functions_filled": len(functions) - len(missing),
        "functions_wanted": len(functions),
        "weeks_with_nectar": weeks,
        "weeks": len(parts.weeks),
        "kinds": len({one.plant.id for one in flowers if one.feeds}),
        "shannon": None if index is None else round(index, 3),
        "even_kinds": None if index is None else round(even_kinds(index), 1),
        "measure": "Shannon's index of weeks in bloom over kinds that feed bees, natural logarithm, within the season.",
        "one_more": _one_more(now, flowers, parts, accepted, missing, weeks, index),
    }


def _one_more(
    now: Situation,
    flowers: Sequence[InBloom],
    parts: Parts,
    accepted: Sequence[Plant],
    missing: Sequence[str],
    weeks: int,
    index: float | None,
) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = []
    for plant in accepted:
        new = as_new(plant)
        grown = [*flowers, new] if new is not None else list(flowers)
        after = _index(grown, parts)
        rows.append(
            {
                "plant": plant.id,
                "name": plant.name,
                "weeks": _weeks(grown, parts) - weeks,
                "functions": fillers(missing, plant, now.knowledge),
                "shannon": None if after is None else round(after - (index or 0.0), 3),
            }
        )
    rows.sort(key=lambda row: (-row["weeks"], -len(row["functions"]), -(row["shannon"] or 0.0), row["plant"]))
    return rows[:MOST_SHOWN]


def _weeks(flowers: Sequence[InBloom], parts: Parts) -> int:
    return sum(not lacks for lacks in lacking(flowers, parts, "nectar"))


def _index(flowers: Sequence[InBloom], parts: Parts) -> float | None:
    """One kind at several places counts once, from its first flower to its last."""
    spans: dict[str, tuple[float, float]] = {}
    for one in flowers:
        if one.feeds:
            begin, end = spans.get(one.plant.id, (one.begin, one.end))
            spans[one.plant.id] = (min(begin, one.begin), max(end, one.end))
    if not spans:
        return None
    begins, ends = zip(*spans.values(), strict=True)
    return shannon(bloom_weeks(begins, ends, parts.early, parts.ends))
