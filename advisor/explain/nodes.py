"""The nodes of an explanation: plain records of one shape."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from advisor.answer import Record

NO_SOURCE = ("common practice", "from memory", "published")  # how `source` begins where it names no source
INPUTS = ("observation", "weather", "forecast", "orchard")


def node(
    kind: str,
    id: str,
    text: str,
    *,
    value: Any = None,
    unit: str | None = None,
    source: str | None = None,
    below: Iterable[Record] = (),
) -> Record:
    """One node; `below` are the nodes that it follows from."""
    unit = None if unit in ("any", "count", "ratio", "1", "") else unit
    return Record(kind=kind, id=id, text=text, value=value, unit=unit, source=source, needed=None,
                  **{"from": list(below)})  # fmt: skip


def walk(tree: Record) -> Iterator[Record]:
    """Every node, from the top, each before what is behind it."""
    yield tree
    for child in tree["from"]:
        yield from walk(child)


def titles(one: Record) -> list[str]:
    """The titles of the published sources of a node."""
    if not one.source or one.source.startswith(NO_SOURCE):
        return []
    return str(one.source).split(" | ")


class Nodes:
    """Remembers what stands in a tree already."""

    def __init__(self) -> None:
        self._known: set[tuple[str, str]] = set()

    def is_new(self, kind: str, id: str) -> bool:
        """True the first time that a thing is asked for."""
        new = (kind, id) not in self._known
        self._known.add((kind, id))
        return new
