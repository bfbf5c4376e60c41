"""How far it is from nests to bloom, and from flowers to the trees, against what small bees and flower margins reach.

An orchard file gives each habitat's distance to the nearest block, and nothing of how habitats lie to one another: a
nest is judged by the flowers on the spot and those of the block, never by a distance that nobody gave.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from advisor.facts.situation import Situation
from advisor.habitat.plans import metres
from advisor.habitat.ribbon import InBloom
from advisor.quantity import show

# Habitats that bees nest in, and the figure for the bees that nest there.
NESTS = {
    "nest-boxes": ("small wild bees", "nest.distance-to-bloom"),
    "stem-bed": ("small wild bees", "nest.distance-to-bloom"),
    "hedge": ("bumble bees", "bumble-bee.flight"),
    "tussock-bank": ("bumble bees", "bumble-bee.flight"),
    "wood-edge": ("bumble bees", "bumble-bee.flight"),
}


def distances(now: Situation, flowers: Sequence[InBloom]) -> dict[str, list[dict[str, Any]]]:
    """`nests`: from each nest place to bloom; `trees`: from each flowering place to the trees. `ok` None: not known."""
    return {"nests": _nests(now, flowers), "trees": _trees(now, flowers)}


def room(now: Situation) -> dict[str, Any]:
    """The share of the orchard kept for flowers and shelter, against what one scheme asks of new orchards.

    None where an area is not known: the share of what is known would mislead.
    """
    rows = [now.knowledge.figure(f"flower-habitat.share-{end}").value(now.region) for end in ("least", "most")]
    least, most = (float(row.value) for row in rows)
    kept, trees = [h.area for h in now.file.habitats], [b.ground_area for b in now.blocks]
    known = [area for area in (*kept, *trees) if area is not None]
    found: dict[str, Any] = {
        "share": None,
        "least": least,
        "most": most,
        "sources": sorted({str(r.source) for r in rows}),
    }
    if not kept:
        return {**found, "text": "No habitat is listed, so what share is kept for flowers and shelter is not known."}
    if len(known) < len(kept) + len(trees):
        return {**found, "text": "What share of the orchard is kept for flowers is not known: an area is not given."}
    whole = sum(known)
    share = sum(area for area in kept if area is not None) / whole
    judged = "less than" if share < least else "more than" if share > most else "within"
    text = (
        f"{show(share, 'share')} of the orchard is kept for flowers and shelter, {judged} the {show(least, 'share')} to "
        f"{show(most, 'share')} that one scheme asks of new orchards."
    )
    return {**found, "share": round(share, 3), "text": text}


def _nests(now: Situation, flowers: Sequence[InBloom]) -> list[dict[str, Any]]:
    feeding = {one.place for one in flowers if one.feeds}
    found = []
    for habitat in now.file.habitats:
        if habitat.kind not in NESTS:
            continue
        who, figure = NESTS[habitat.kind]
        row = now.knowledge.figure(figure).value(now.region)
        limit = float(row.value)
        on_the_spot = habitat.id in feeding
        distance = 0.0 if on_the_spot else habitat.distance
        ok = None if distance is None else distance <= limit
        if on_the_spot:
            said = "flowers grow on the spot"
        elif distance is None:
            said = "how far it is to the nearest block is not written down"
        else:
            said = f"the trees' bloom is {metres(distance, now)} away"
        judged = {True: "within reach", False: "too far", None: "measure it"}[ok]
        found.append(
            {
                "habitat": habitat.id,
                "who": who,
                "distance_m": distance,
                "limit_m": limit,
                "ok": ok,
                "text": f"{habitat.id}, for {who}: {said}; they fly about {metres(limit, now)}: {judged}.",
                "figures": [_figure(figure, row)],
            }
        )
    return found


def _trees(now: Situation, flowers: Sequence[InBloom]) -> list[dict[str, Any]]:
    row = now.knowledge.figure("flower-margin.reach").value(now.region)
    reach = float(row.value)
    feeding = {one.place for one in flowers if one.feeds and one.role != "tree"}
    found = []
    for habitat in now.file.habitats:
        if habitat.id in feeding:
            ok = None if habitat.distance is None else habitat.distance <= reach
            judged = {True: "near enough", False: "too far", None: "measure it"}[ok]
            found.append(
                {
                    "place": habitat.id,
                    "distance_m": habitat.distance,
                    "limit_m": reach,
                    "ok": ok,
                    "text": f"{habitat.id}: {metres(habitat.distance, now)} to the nearest trees; flowers help to about "
                    f"{metres(reach, now)}: {judged}.",
                    "figures": [_figure("flower-margin.reach", row)],
                }
            )
    for block in now.blocks:
        found.append(_block(now, block.id, block.ground_area, block.id in feeding, reach, row))
    return found


def _block(
    now: Situation, block: str, area: float | None, flowers_below: bool, reach: float, row: Any
) -> dict[str, Any]:
    """A block with flowers of its own is reached; one without is reached from its edges if it is narrow enough."""
    middle = None if area is None else math.sqrt(area) / 2
    if flowers_below:
        ok: bool | None = True
        said = "flowers grow below its trees"
    elif middle is None:
        ok = None
        said = "no flowers are listed below its trees, and its area is not known"
    elif middle > reach:
        ok = False
        said = (
            f"no flowers are listed below its trees; if it is square its middle is {metres(round(middle), now)} from the edge, "
            "so that flowers round it are not enough: one strip through it"
        )
    else:
        ok = True
        said = (
            f"no flowers are listed below its trees; if it is square its middle is {metres(round(middle), now)} from the edge, "
            "so that flowers round it would do"
        )
    return {
        "place": block,
        "distance_m": 0.0 if flowers_below else middle,
        "limit_m": reach,
        "ok": ok,
        "text": f"{block}: {said}.",
        "figures": [_figure("flower-margin.reach", row)],
    }


def _figure(name: str, row: Any) -> dict[str, Any]:
    return {"id": name, "region": row.region, "value": float(row.value), "unit": "m", "source": row.source}
