"""Read folders of knowledge files into checked nodes, links, figures and sources.

A folder holds `plants.yaml` (or `plants/*.yaml`) and so on for each kind of node, `links/*.yaml`, `figures/*.yaml`
and `sources.yaml` (or `sources/*.yaml`). Any of them may be missing. Of several folders a later one overrides an
earlier one by id, and every override is listed.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from advisor.errors import InputError, Problem
from advisor.knowledge_schema import (
    ENDS,
    MAY_SHARE_ID,
    NODE_CLASSES,
    Entry,
    Figure,
    Link,
    Material,
    Node,
    Plant,
    Source,
)
from advisor.reading import Document, read_document, written

NODE_FILES = {
    "plants": "plant", "habitats": "habitat", "allies": "ally", "pests": "pest", "diseases": "disease",
    "practices": "practice", "materials": "material", "stages": "stage", "resources": "resource",
    "soil-life": "soil-life",
}
OTHER_FILES: dict[str, type[Entry]] = {"links": Link, "figures": Figure, "sources": Source}

E = TypeVar("E", bound=Entry)


@dataclass(frozen=True)
class Where:
    """Where an entry stands, for messages."""

    file: str
    place: str
    line: int | None

    def problem(self, message: str, mend: str, value: str | None = None) -> Problem:
        return Problem(self.file, self.place, message, mend, self.line, value)

    def keep_one(self) -> str:
        return f"It is already in {self.file}, line {self.line}; keep one."


@dataclass(frozen=True)
class Override:
    """An entry of an earlier folder that a later folder replaced."""

    what: str
    id: str
    by: str

    def __str__(self) -> str:
        return f"{self.what} {self.id} comes from {self.by}"


@dataclass
class Contents:
    """Everything read: entries by id, where each stands, what was overridden and what is wrong."""

    nodes: dict[str, Node] = field(default_factory=dict)
    links: dict[str, list[Link]] = field(default_factory=dict)
    figures: dict[str, Figure] = field(default_factory=dict)
    sources: dict[str, Source] = field(default_factory=dict)
    where: dict[int, Where] = field(default_factory=dict)
    overrides: list[Override] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def all_links(self) -> Iterator[Link]:
        for links in self.links.values():
            yield from links

    def at(self, entry: Entry) -> Where:
        return self.where[id(entry)]


def read_folders(folders: Sequence[Path]) -> Contents:
    """Read the folders in order; problems are collected, none is raised."""
    contents = Contents()
    for folder in folders:
        _read_folder(folder, contents)
    _check_references(contents)
    return contents


def _read_folder(folder: Path, contents: Contents) -> None:
    if not folder.is_dir():
        contents.problems.append(Problem(str(folder), "", "there is no such folder of knowledge", "Check its name."))
        return
    known = {*NODE_FILES, *OTHER_FILES}
    for path in sorted(folder.rglob("*.yaml")):
        subject = path.relative_to(folder).parts[0].removesuffix(".yaml")
        if subject not in known:
            mend = f"Use one of {', '.join(sorted(known))}."
            contents.problems.append(Problem(str(path), "", f"`{subject}` is no kind of knowledge file", mend))
    new = Contents(where=contents.where, problems=contents.problems)
    for subject, kind in NODE_FILES.items():
        for item, where in _entries(folder, subject, contents.problems):
            given = {**item, "kind": kind}
            node = _validated(NODE_CLASSES[kind], given, where, contents)
            if node is not None:
                _add_node(node, new)
    for subject, model in OTHER_FILES.items():
        for item, where in _entries(folder, subject, contents.problems):
            entry = _validated(model, item, where, contents)
            if isinstance(entry, Link):
                _add_link(entry, new)
            elif isinstance(entry, Figure):
                _add_by_id(entry, "figure", new.figures, new)
            elif isinstance(entry, Source):
                _add_by_id(entry, "source", new.sources, new)
    _merge(new, contents, str(folder))


@dataclass(frozen=True)
class _Item:
    document: Document
    position: int

    def where(self, *place: str | int) -> Where:
        full = (self.position, *place)
        return Where(self.document.file, written(full), self.document.line(full))


def _entries(folder: Path, subject: str, problems: list[Problem]) -> Iterator[tuple[dict[str, Any], _Item]]:
    paths = [folder / f"{subject}.yaml", *sorted((folder / subject).rglob("*.yaml"))]
    for path in paths:
        if not path.is_file():
            continue
        try:
            document = read_document(path)
        except InputError as refusal:
            problems.extend(refusal.problems)
            continue
        data = [] if document.data is None else document.data
        if not isinstance(data, list):
            mend = "Begin each entry with `- `."
            problems.append(Problem(str(path), "", "the file must be a list of entries", mend, 1))
            continue
        for position, item in enumerate(data):
            place = _Item(document, position)
            if isinstance(item, dict):
                yield item, place
            else:
                mend = "Write `id: ...` and the other fields."
                problems.append(place.where().problem("an entry must be a mapping", mend))


def _validated(model: type[E], item: Mapping[str, Any], place: _Item, contents: Contents) -> E | None:
    if "kind" in place.document.data[place.position]:
        mend = "Leave it out, or move the entry to its file."
        contents.problems.append(place.where("kind").problem("`kind` follows from the file's name", mend))
        return None
    try:
        entry = model.model_validate(item)
    except ValidationError as refusal:
        label = item.get("id") or f"{item.get('from', '?')} {item.get('link', '?')} {item.get('to', '?')}"
        for fault in refusal.errors(include_url=False):
            contents.problems.append(_explained(fault, model, str(label), place))
        return None
    contents.where[id(entry)] = place.where()
    return entry


def field_names(model: type[BaseModel]) -> list[str]:
    """The fields that a file may give, by the names it gives them."""
    hidden = ("kind", "shares_id")
    return sorted((info.alias or name) for name, info in model.model_fields.items() if name not in hidden)


def _explained(fault: Any, model: type[BaseModel], label: str, place: _Item) -> Problem:
    inner = ("function-", "tuple[", "lax-or", "literal[")  # names of checks inside a union, not of fields
    location = tuple(part for part in fault["loc"] if not str(part).startswith(inner))
    where = place.where(*location)
    name = str(location[-1]) if location else ""
    value, mend = fault.get("input"), "See knowledge/README.md for what the field may hold."
    shown = str(value)[:60] if isinstance(value, str | int | float | bool) else None
    kind = fault["type"]
    if kind == "extra_forbidden":
        fields = field_names(model) if len(location) == 1 else []
        close = difflib.get_close_matches(name, fields, 1)
        message = f"{label}: there is no field `{name}` here"
        known = f"Known fields: {', '.join(fields)}." if fields else "Remove it."
        mend = f"Did you mean `{close[0]}`?" if close else known
    elif kind == "missing":
        message, mend, shown = f"{label}: the field `{name}` is missing", f"Add `{name}: ...`.", None
    elif kind == "literal_error":
        message = f"{label}: `{name}` holds an unknown word"
        mend = f"Use one of {fault['ctx']['expected'].replace(' or ', ', ')}."
    elif kind == "value_error":
        message, mend = f"{label}: {fault['ctx']['error']}", "Correct it."
    else:
        said = fault["msg"][0].lower() + fault["msg"][1:]
        message = f"{label}: `{name}`: {said}"
    return where.problem(message, mend, shown)


def _add_node(node: Node, contents: Contents) -> None:
    keys = (node.id, *(f"{second}:{node.id}" for _, second in MAY_SHARE_ID))
    same = [contents.nodes[key] for key in keys if key in contents.nodes]
    both = {node.kind, *(other.kind for other in same)}
    kinds = [kind for pair in MAY_SHARE_ID for kind in pair if both == set(pair)]
    if not same:
        contents.nodes[node.key] = node
    elif kinds and len(same) == 1:
        first, second = sorted((node, same[0]), key=lambda one: kinds.index(one.kind))
        qualified = _marked(second, True, contents)
        contents.nodes.pop(same[0].key)
        contents.nodes[first.key], contents.nodes[qualified.key] = first, qualified
    else:
        mend = contents.at(same[0]).keep_one()
        contents.problems.append(contents.at(node).problem(f"the id `{node.id}` stands twice", mend))


def _marked(node: Node, shares_id: bool, contents: Contents) -> Node:
    """The node, marked as sharing its id or not."""
    if node.shares_id == shares_id:
        return node
    marked = node.model_copy(update={"shares_id": shares_id})
    contents.where[id(marked)] = contents.at(node)
    return marked


def _add_link(link: Link, contents: Contents) -> None:
    same = contents.links.setdefault(link.id, [])
    if any(other.season == link.season for other in same):
        said = f"the link `{link.id}` stands twice with the same season"
        contents.problems.append(contents.at(link).problem(said, contents.at(same[0]).keep_one()))
        return
    same.append(link)


def _add_by_id(entry: Any, what: str, entries: dict[str, Any], contents: Contents) -> None:
    if entry.id in entries:
        mend = contents.at(entries[entry.id]).keep_one()
        contents.problems.append(contents.at(entry).problem(f"the {what} `{entry.id}` stands twice", mend))
        return
    entries[entry.id] = entry


def _merge(new: Contents, contents: Contents, folder: str) -> None:
    for node in new.nodes.values():
        for key in (node.id, f"{node.kind}:{node.id}"):
            old = contents.nodes.get(key)
            if old is not None and old.kind == node.kind:
                contents.overrides.append(Override(node.kind, node.id, folder))
                del contents.nodes[key]
        _add_node(_marked(node, False, contents), contents)
    for what, mine, theirs in (("link", contents.links, new.links), ("figure", contents.figures, new.figures),
                               ("source", contents.sources, new.sources)):
        mapping: dict[str, Any] = mine
        for key, entry in theirs.items():
            if key in mapping:
                contents.overrides.append(Override(what, key, folder))
            mapping[key] = entry


def _check_references(contents: Contents) -> None:
    """Every name is one node's, every link ends at a node, everything published has a source that is listed."""
    _check_names(contents)
    fruits = {node.id for node in contents.nodes.values() if isinstance(node, Plant) and node.fruit}
    for node in contents.nodes.values():
        _check_sources(node.sources, node.evidence, node, node.id, contents)
        if isinstance(node, Material) and node.source is not None:
            _check_sources((node.source,), "from-memory", node, node.id, contents)
        for what in ("bloom", "hardiness") if isinstance(node, Plant) else ():
            part = getattr(node, what)
            if part is not None:
                _check_sources(
                    (part.source,) if part.source else (), part.evidence, node, f"{node.id}, {what}", contents
                )
    for link in contents.all_links():
        for end in (link.start, link.end):
            if end not in contents.nodes:
                close = difflib.get_close_matches(end, contents.nodes, 3)
                mend = f"Nearest known: {', '.join(close)}." if close else "Add the node, or take the link out."
                contents.problems.append(contents.at(link).problem(f"`{link.id}`: nobody knows `{end}`", mend, end))
        _check_ends(link, contents)
        if link.season.fruit is not None and fruits and link.season.fruit not in fruits:
            said = f"`{link.id}`: the season's fruit is not one of the tree fruits"
            mend = f"Use one of {', '.join(sorted(fruits))}."
            contents.problems.append(contents.at(link).problem(said, mend, link.season.fruit))
        _check_sources((link.source,) if link.source else (), link.evidence, link, link.id, contents)
    for figure in contents.figures.values():
        for row in figure.rows:
            sources = (row.source,) if row.source else ()
            _check_sources(sources, row.evidence, figure, f"{figure.id}, {row.region}", contents)


def _check_ends(link: Link, contents: Contents) -> None:
    """No link leads back to where it begins, and no verb stands between two that it cannot join."""
    if link.start == link.end:
        said = f"`{link.id}`: the link begins and ends at one node"
        contents.problems.append(contents.at(link).problem(said, "Name the other end, or take the link out.", link.end))
        return
    for end, may_be in zip((link.start, link.end), ENDS.get(link.link, ()), strict=False):
        node = contents.nodes.get(end)
        if node is not None and node.kind not in may_be:
            place = "begin" if end == link.start else "end"
            said = f"`{link.id}`: no `{link.link}` can {place} at a {node.kind}"
            mend = f"It may {place} at: {', '.join(may_be)}. Were the ends exchanged?"
            contents.problems.append(contents.at(link).problem(said, mend, end))


def _check_names(contents: Contents) -> None:
    names = {(node.kind, node.id): node.id for node in contents.nodes.values()}
    for node in contents.nodes.values():
        for word in node.also:
            if names.setdefault((node.kind, word), node.id) != node.id:
                said = f"`{word}` already names the {node.kind} {names[node.kind, word]}"
                contents.problems.append(contents.at(node).problem(said, "Keep it in one place."))


def _check_sources(sources: tuple[str, ...], evidence: str, entry: Entry, label: str, contents: Contents) -> None:
    where = contents.at(entry)
    if evidence == "published" and not sources:
        said = f"{label}: evidence is `published` but no source is named"
        mend = "Name the source, or mark it common-practice or from-memory."
        contents.problems.append(where.problem(said, mend))
    for source in sources:
        if source not in contents.sources:
            close = difflib.get_close_matches(source, contents.sources, 1)
            mend = f"Did you mean `{close[0]}`?" if close else "Add it to knowledge/sources/."
            contents.problems.append(where.problem(f"{label}: the source is not listed", mend, source))


__all__ = ["NODE_FILES", "Contents", "Override", "field_names", "read_folders"]
