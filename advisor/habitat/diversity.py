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
from advisor.habitat.weeks import Parts, lacking, opens_in
from advisor.science.bloom import bloom_weeks, even_kinds, shannon

MOST_SHOWN = 5
Spans = dict[str, tuple[float, float]]


def diversity(
    now: Situation, flowers: Sequence[InBloom], parts: Parts, accepted: Sequence[Plant], nitrogen: bool
) -> dict[str, Any]:
    """The measures as they stand; `one_more`: the accepted plants that would add most, each with what it adds."""
    plants = {one.plant.id: one.plant for one in flowers}
    functions = [
        {"function": f.id, "name": f.name, "filled_by": filled_here(f, now, plants.values())} for f in wanted(nitrogen)
    ]
    spans = _spans(flowers)
    without = lacking(flowers, parts, "nectar")
    index = _index(spans, parts)
    missing = [str(row["function"]) for row in functions if not row["filled_by"]]
    return {
        "functions": functions,
        "functions_filled": len(functions) - len(missing),
        "functions_wanted": len(functions),
        "weeks_with_nectar": without.count(False),
        "weeks": len(parts.weeks),
        "kinds": len(spans),
        "shannon": None if index is None else round(index, 3),
        "even_kinds": None if index is None else round(even_kinds(index), 1),
        "measure": "Shannon's index of weeks in bloom over kinds that feed bees, natural logarithm, within the season.",
        "one_more": _one_more(now, spans, without, parts, accepted, missing),
    }


def _one_more(
    now: Situation,
    spans: Spans,
    without: Sequence[bool],
    parts: Parts,
    accepted: Sequence[Plant],
    missing: Sequence[str],
) -> list[dict[str, Any]]:
    index = _index(spans, parts) or 0.0
    rows: list[dict[str, Any]] = []
    for plant in accepted:
        new = as_new(plant)
        fed = opens_in(new, parts.weeks) if new is not None and new.nectar else [False] * len(without)
        after = _index(spans if new is None else {**spans, **_spans([new])}, parts)
        rows.append(
            {
                "plant": plant.id,
                "name": plant.name,
                "weeks": sum(lacks and opens for lacks, opens in zip(without, fed, strict=True)),
                "functions": fillers(missing, plant, now.knowledge),
                "shannon": None if after is None else round(after - index, 3),
            }
        )
    rows.sort(key=lambda row: (-row["weeks"], -len(row["functions"]), -(row["shannon"] or 0.0), row["plant"]))
    return rows[:MOST_SHOWN]


def _spans(flowers: Sequence[InBloom]) -> Spans:
    """Kinds that feed bees; one at several places counts once, from its first flower to its last."""
    spans: Spans = {}
    for one in flowers:
        if one.feeds:
            begin, end = spans.get(one.plant.id, (one.begin, one.end))
            spans[one.plant.id] = (min(begin, one.begin), max(end, one.end))
    return spans


def _index(spans: Spans, parts: Parts) -> float | None:
    if not spans:
        return None
    begins, ends = zip(*spans.values(), strict=True)
    return shannon(bloom_weeks(begins, ends, parts.early, parts.ends))
