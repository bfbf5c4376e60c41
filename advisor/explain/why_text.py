"""The tree of why as a grower reads it: indented, short, what is behind a line below it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from advisor.answer import Record

WIDTH = 100
MOST_PATHS = 3  # gains or costs shown; JSON holds them all

_LEAD = {
    "absence": "and ", "figure": "Figure: ", "observation": "Seen ", "weighing": "Weighed: ", "number": "Worked out: ",
    "trade-off": "Pulls both ways: ", "unknown": "Not known: ", "proof": "Proof: ", "silence": "Kept silent: ",
    "rule": "Because: ", "path": "", "knowledge": "Known: ",
}  # fmt: skip


def write(tree: Record) -> str:
    """The whole tree as text."""
    return "\n".join(_lines(tree, 0, set()))


def _lines(one: Record, depth: int, told: set[tuple[str, str]]) -> Iterator[str]:
    indent = "  " * depth
    for number, line in enumerate(textwrap.wrap(_said(one, told), WIDTH - len(indent) - 2) or [""]):
        yield indent + ("" if depth == 0 else "- " if number == 0 else "  ") + line
    below = one["from"]
    shown = below[:MOST_PATHS] if one.kind == "ledger" else below
    for child in shown:
        yield from _lines(child, depth + 1, told)
    if len(shown) < len(below):
        yield f"{indent}  - and {len(below) - len(shown)} weaker ones"


def _said(one: Record, told: set[tuple[str, str]]) -> str:
    text: str = one.text
    key = (one.kind, one.id)
    if key in told and one.kind in ("rule", "number", "fact", "ledger"):
        return f"{text.partition('. ')[0]} (as above)"
    told.add(key)
    lead = _LEAD.get(one.kind, "")
    if one.kind == "recommendation":
        return f"{one.value}: {text} [{one.id}]"
    if one.kind == "rule":
        text = f"{text} [rule {one.id}{', ' + str(one.value) if one.value else ''}]"
    if one.kind in ("observation", "weather", "forecast") and one.needed is False:
        text += " (it comes back without this)"
    source = f" Source: {one.source}" if one.source else ""
    if source and not text.endswith((".", "]")):
        text += "."
    return lead + text + source
