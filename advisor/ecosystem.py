"""The ecosystem graph: plants, habitats, allies, pests, diseases, practices, and what each does to the others.

load_knowledge   read one folder of knowledge files or several, a later one overriding an earlier one by id
knowledge        the knowledge that comes with the program, read once
Knowledge        nodes, links, figures, sources and the questions to ask of them
check            what a complete graph would hold and this one does not
consequences     what a practice gains and costs, walked through the graph
"""

from __future__ import annotations

import difflib
import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeVar

import networkx as nx

from advisor.completeness import check
from advisor.consequences import Consequence, Ledger, Place, When, walk
from advisor.errors import InputError
from advisor.knowledge_files import Contents, Override, read_folders
from advisor.knowledge_schema import (
    SIGN,
    Ally,
    Disease,
    Figure,
    FigureRow,
    Habitat,
    Link,
    Material,
    Node,
    Pest,
    Plant,
    Practice,
    Resource,
    Season,
    SoilLife,
    Source,
    Stage,
)

N = TypeVar("N", bound=Node)


@dataclass(frozen=True, eq=False)
class Knowledge:
    """What is known, checked and ready to ask.

    Nodes are keyed by id; a material that shares its id with a practice by `material:ID`.
    """

    nodes: Mapping[str, Node]
    links: tuple[Link, ...]
    figures: Mapping[str, Figure]
    sources: Mapping[str, Source]
    overrides: tuple[Override, ...] = ()

    @cached_property
    def edition(self) -> str:
        """SHA-256 of everything known, whatever file or order it stands in."""
        entries = (*self.nodes.values(), *self.links, *self.figures.values(), *self.sources.values())
        lines = sorted(
            json.dumps([type(entry).__name__, entry.model_dump(mode="json", exclude_defaults=True)], sort_keys=True)
            for entry in entries
        )
        return hashlib.sha256("\n".join(lines).encode()).hexdigest()

    @cached_property
    def graph(self) -> nx.MultiDiGraph[str]:
        """Nodes by key with their `node`; edges with `link`, its `kind`, `sign` (0: not walked) and `strength`."""
        graph: nx.MultiDiGraph[str] = nx.MultiDiGraph()
        for key, node in self.nodes.items():
            graph.add_node(key, node=node, kind=node.kind)
        for link in self.links:
            sign = SIGN.get(link.link, 0)
            graph.add_edge(link.start, link.end, link=link, kind=link.link, sign=sign, strength=link.strength)
        return graph

    @cached_property
    def _words(self) -> dict[str, list[Node]]:
        words: dict[str, list[Node]] = {}
        for node in self.nodes.values():
            for word in dict.fromkeys((node.id, *node.also)):
                words.setdefault(word, []).append(node)
        return words

    def resolve(self, word: str, kind: str | Iterable[str] | None = None) -> Node | None:
        """The node that a word names by its id or another name people use; None if nobody knows it.

        kind: a kind of node, or several. Without one, a word for both a practice and a material is the practice.
        A node's key (`material:copper`) names it as well.
        """
        plain, kinds = _as_id(word), _kinds(kind)
        by_key = self.nodes.get(plain)
        if by_key is not None and (kinds is None or by_key.kind in kinds):
            return by_key
        found = [node for node in self._words.get(plain, []) if kinds is None or node.kind in kinds]
        found.sort(key=lambda node: (node.id != plain, node.kind != "practice"))
        return found[0] if found else None

    def said_by(self, word: str, field: str) -> Node | None:
        """The node that a field's word is the id of: in a field of materials, copper is the material and not its spraying."""
        return self.nodes.get(f"material:{word}" if field == "material" else word) or self.nodes.get(word)

    def nearest(self, word: str, kind: str | Iterable[str] | None = None, most: int = 3) -> list[str]:
        """Ids that look most like a word nobody knows, for an error message."""
        plain, kinds = _as_id(word), _kinds(kind)
        pairs = ((name, node) for name, nodes in self._words.items() for node in nodes)
        words = {name: node.id for name, node in pairs if kinds is None or node.kind in kinds}
        close = difflib.get_close_matches(plain, words, most * 2, 0.6)
        parts = [name for name in words if len(plain) > 3 and (plain in name.split("-") or name in plain.split("-"))]
        return list(dict.fromkeys(words[name] for name in (*close, *sorted(parts))))[:most]

    def of_kind(self, kind: type[N]) -> dict[str, N]:
        """All nodes of a class, by id."""
        if kind not in self._of_kinds:
            self._of_kinds[kind] = {node.id: node for node in self.nodes.values() if isinstance(node, kind)}
        return self._of_kinds[kind]

    @cached_property
    def _of_kinds(self) -> dict[type[Any], dict[str, Any]]:
        return {}

    @cached_property
    def conflicts(self) -> Mapping[str, frozenset[str]]:
        """Practices that cannot both be done at one place: each with its rivals."""
        pairs: dict[str, set[str]] = {}
        for link in self.links:
            if link.link == "conflicts-with":
                pairs.setdefault(link.start, set()).add(link.end)
                pairs.setdefault(link.end, set()).add(link.start)
        return {practice: frozenset(rivals) for practice, rivals in pairs.items()}

    def node(self, id: str, kind: str | None = None) -> Node:
        """The node of an id; KeyError if there is none. `kind` settles ids that name both a practice and a material."""
        found = self.resolve(id, kind)
        if found is None or id not in (found.id, found.key):
            raise KeyError(id)
        return found

    def figure(self, id: str) -> Figure:
        """The figure of an id; KeyError if there is none. `.value(region)` gives its row."""
        return self.figures[id]

    @cached_property
    def _ways(self) -> dict[str, tuple[tuple[Link, int], ...]]:
        edges = {key: self.graph.out_edges(key, data=True) for key in self.graph}
        return {
            key: tuple((data["link"], data["sign"]) for _, _, data in out if data["sign"]) for key, out in edges.items()
        }

    def ways_on(self, key: str) -> tuple[tuple[Link, int], ...]:
        """The links that a walk may follow from a node, each with its sign."""
        return self._ways[key]

    def links_from(self, key: str) -> list[Link]:
        return [data["link"] for _, _, data in self.graph.out_edges(key, data=True)] if key in self.graph else []

    def links_to(self, key: str) -> list[Link]:
        return [data["link"] for _, _, data in self.graph.in_edges(key, data=True)] if key in self.graph else []


def _as_id(word: str) -> str:
    return "-".join(word.lower().replace("_", " ").split())


def _kinds(kind: str | Iterable[str] | None) -> set[str] | None:
    return None if kind is None else {kind} if isinstance(kind, str) else set(kind)


def from_contents(contents: Contents) -> Knowledge:
    """Knowledge from what was read; InputError with everything that is wrong."""
    if contents.problems:
        raise InputError(contents.problems)
    return Knowledge(
        dict(sorted(contents.nodes.items())),
        tuple(sorted(contents.all_links(), key=lambda link: (link.start, link.link, link.end, str(link.season)))),
        dict(sorted(contents.figures.items())),
        dict(sorted(contents.sources.items())),
        tuple(contents.overrides),
    )


def shipped_folder() -> Path:
    """The folder of knowledge files that comes with the program."""
    return Path(str(files("advisor.knowledge")))


def load_knowledge(*folders: str | Path) -> Knowledge:
    """Read folders of knowledge files, later ones overriding earlier ones by id; without any, the program's own.

    Raises InputError naming file, line, place and mend of everything that is wrong.
    """
    return from_contents(read_folders([Path(folder) for folder in folders] or [shipped_folder()]))


@lru_cache(maxsize=4096)
def _walked(practice: str, place: Place, when: When, about: str | None, knowledge: Knowledge) -> Ledger:
    return walk(practice, place, when, about, knowledge)


def consequences(
    practice: str, place: Place, when: When, about: str | None = None, knowledge: Knowledge | None = None
) -> Ledger:
    """What a practice gains and costs at a place and time: see `advisor.consequences`.

    about: id of the plant that is planted or taken out, or of the material that is spread.
    knowledge: what to walk through; the program's own by default.
    Raises KeyError for an id that nobody knows.
    """
    return _walked(practice, place, when, about, knowledge or _own())


@cache
def _own() -> Knowledge:
    return load_knowledge()


def knowledge() -> Knowledge:
    """The knowledge that comes with the program, read once."""
    return _own()


__all__ = [
    "Ally", "Consequence", "Disease", "Figure", "FigureRow", "Habitat", "Knowledge", "Ledger", "Link", "Material",
    "Node", "Override", "Pest", "Place", "Plant", "Practice", "Resource", "Season", "SoilLife", "Source", "Stage",
    "When", "check", "consequences", "knowledge", "load_knowledge", "read_folders", "shipped_folder",
]
