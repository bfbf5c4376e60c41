"""What stands on the page that tells why: the tree to open in place, its sources, and what would change it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.api.pages import saying
from advisor.api.pages.week import look
from advisor.explain.nodes import titles, walk
from advisor.explain.why_picture import KINDS, MOST_ENDS

Shown = dict[str, Any]

OPEN_LEVELS = 1  # rules show what they rest on; what is behind that opens on a tap
NEEDED = {True: "Without this the advice would not come back.", False: "It comes back without this."}


def why_page(tree: Any, answer: Mapping[str, Any], recommendation: Mapping[str, Any], orchard: str) -> Shown:
    """The context of the page: tree is what `advisor.explain.why` returns."""
    sources: dict[str, int] = {}
    on = str(answer["date"])
    branches = [_branch(one, 1, sources) for one in tree["from"]]
    return {
        "name": answer["orchard"],
        "orchard": orchard,
        "on": on,
        "r": recommendation,
        "where": recommendation["block"] or recommendation["habitat"] or "whole orchard",
        "window_words": saying.sentence(saying.window(recommendation["window"], recommendation["stance"], on)),
        "branches": branches,
        "sources": list(sources),
        "change": _change(tree, answer, recommendation, orchard),
    }


def _branch(one: Any, level: int, sources: dict[str, int]) -> Shown:
    """A node of the tree and all that is behind it. Sources get their numbers in the order of reading."""
    numbers = [sources.setdefault(title, len(sources) + 1) for title in titles(one)]
    below = [_branch(child, level + 1, sources) for child in one["from"]]
    label = KINDS[one["kind"]][0]
    most = MOST_ENDS if one["kind"] == "ledger" else len(below)
    return {
        "kind": one["kind"],
        "label": label,
        "text": one["text"].removeprefix(f"{label}: "),
        "note": NEEDED.get(one["needed"], ""),
        "unsourced": "" if numbers or not one["source"] else one["source"],
        "numbers": numbers,
        "below": below[:most],
        "weaker": below[most:],
        "open": level <= OPEN_LEVELS and one["kind"] in ("rule", "trade-off"),
    }


def _change(tree: Any, answer: Mapping[str, Any], r: Mapping[str, Any], orchard: str) -> Shown:
    """What the advice hangs on: the inputs without which it does not come back, the bounds that it was held against, and
    what nobody has looked at."""
    nodes = list(walk(tree))
    needed = [one["text"] for one in nodes if one["needed"] is True]
    bounds = [one["text"] for one in nodes if one["kind"] == "figure" and "; here " in one["text"]]
    looks = [look(u, orchard) for u in answer["unknowns"] if r["practice"] in u["could_change"]]
    here = [one for one in looks if (one["block"] or one["habitat"]) in (r["block"] or r["habitat"], None)]
    return {
        "needed": list(dict.fromkeys(needed)),
        "bounds": [saying.sentence(text) for text in dict.fromkeys(bounds)],
        "looks": here[:5],
    }
