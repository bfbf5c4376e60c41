"""The tree of why as a grower reads it: indented, short, what is behind a line below it, sources numbered at the end."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from advisor.answer import Record
from advisor.explain.nodes import titles

WIDTH = 100
MOST_PATHS = 3  # gains or costs shown; JSON holds them all

_LEAD = {
    "rule": "Because: ", "figure": "Figure: ", "observation": "Seen ", "weighing": "Weighed: ", "number": "Worked out: ",
    "trade-off": "Pulls both ways: ", "proof": "Proof: ", "silence": "Kept silent: ", "knowledge": "Known: ",
}  # fmt: skip
_REPEATED = ("rule", "number", "fact", "ledger")  # kinds of which only the first is told in full


def write(tree: Record) -> str:
    """The whole tree as text."""
    return _Teller().tell(tree)


class _Teller:
    """Tells one tree, and remembers what was told."""

    def __init__(self) -> None:
        self.told: set[tuple[str, str, str]] = set()
        self.sources: dict[str, int] = {}

    def tell(self, tree: Record) -> str:
        lines = list(self._lines(tree, 0))
        if self.sources:
            lines += ["", "Sources:"]
            for title, number in self.sources.items():
                lines += textwrap.wrap(f"[{number}] {title}", WIDTH, subsequent_indent="    ")
        return "\n".join(lines)

    def _lines(self, one: Record, depth: int) -> Iterator[str]:
        indent = "  " * depth
        first, rest = (indent, indent) if depth == 0 else (indent + "- ", indent + "  ")
        yield from textwrap.wrap(self._said(one), WIDTH, initial_indent=first, subsequent_indent=rest,
                                 break_on_hyphens=False)  # fmt: skip
        below = one["from"]
        shown = below[:MOST_PATHS] if one.kind == "ledger" else below
        for child in shown:
            yield from self._lines(child, depth + 1)
        if len(shown) < len(below):
            left = len(below) - len(shown)
            yield f"{indent}  - and {left} weaker one{'' if left == 1 else 's'}"

    def _said(self, one: Record) -> str:
        text: str = one.text
        if one.kind == "recommendation":
            return f"{one.value}: {text} [{one.id}]"
        key = (one.kind, one.id, text if one.kind == "rule" else "")  # one rule may speak of two wettings
        if one.kind in _REPEATED and key in self.told:
            return f"{text.partition('. ')[0]} (as above)"
        self.told.add(key)
        if one.kind == "rule":
            text += f" [rule {one.id}{f', {one.value}' if one.value else ''}]"
        if one.needed is False:
            text += " (it comes back without this)"
        return _LEAD.get(one.kind, "") + text + self._source(one)

    def _source(self, one: Record) -> str:
        if not one.source:
            return ""
        named = titles(one)
        if not named:
            return f" ({one.source.partition(',')[0]})"
        return " " + ", ".join(f"[{self.sources.setdefault(title, len(self.sources) + 1)}]" for title in named)
