"""Read YAML and JSON from people, strictly.

Words stay words: only `true` and `false` are booleans, only empty, `~` and `null` are null, and dates are left as
text for the models to read. Refused, each with its line: duplicate keys, anchors and aliases, tags, nesting deeper
than 40, files over 5 MB.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from advisor.errors import InputError, Problem

MOST_BYTES = 5_000_000
DEEPEST = 40

Place = tuple[str | int, ...]


@dataclass(frozen=True)
class Document:
    """What a file holds, and the line on which each value stands (by its path of keys and positions)."""

    data: Any
    file: str
    lines: Mapping[Place, int] = field(default_factory=dict)

    def line(self, place: Place) -> int | None:
        """The line of a place, or of the nearest place around it that has one."""
        while place not in self.lines and place:
            place = place[:-1]
        return self.lines.get(place)


def written(place: Place) -> str:
    """A place as people write it: ("blocks", 0, "trees") is blocks[0].trees."""
    text = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in place)
    return text.removeprefix(".")


def read_text(path: Path) -> str:
    """The text of a file, refused if it is missing, too large or not UTF-8."""
    name = str(path)
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise InputError(
                Problem(
                    name,
                    "",
                    f"the file has {size / 1e6:.0f} MB; at most {MOST_BYTES // 1_000_000} MB are read",
                    "Split it, or leave out what the orchard does not need.",
                )
            )
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as fault:
        raise InputError(
            Problem(name, f"byte {fault.start}", "the file is not UTF-8 text", "Save it as UTF-8.")
        ) from None
    except OSError as fault:
        raise InputError(
            Problem(name, "", f"cannot be read: {fault.strerror}", "Check the name and that it is a file.")
        ) from None


def read_document(path: Path) -> Document:
    """Read a YAML or JSON file, told apart by the ending .json."""
    text = read_text(path)
    return parse_json(text, str(path)) if path.suffix.lower() == ".json" else parse_yaml(text, str(path))


class _Loader(yaml.SafeLoader):
    """SafeLoader that reads words as words."""


_Loader.yaml_implicit_resolvers = {}
for _tag, _pattern, _first in (
    ("tag:yaml.org,2002:bool", r"^(?:true|True|false|False)$", "tTfF"),
    ("tag:yaml.org,2002:null", r"^(?:~|null|)$", ["~", "n", ""]),
    ("tag:yaml.org,2002:int", r"^[-+]?(?:0|[1-9][0-9]*)$", "-+0123456789"),
    (
        "tag:yaml.org,2002:float",
        r"^[-+]?(?:[0-9]+\.[0-9]*|\.[0-9]+|[0-9]+(?:\.[0-9]*)?[eE][-+]?[0-9]+)$",
        "-+.0123456789",
    ),
):
    _Loader.add_implicit_resolver(_tag, re.compile(_pattern), list(_first))


def parse_yaml(text: str, file: str) -> Document:
    """Read YAML text; InputError names the file, the line and how to mend it."""
    if len(text) > MOST_BYTES:
        raise InputError(Problem(file, "", f"more than {MOST_BYTES // 1_000_000} MB of text", "Split it."))
    try:
        loader = _Loader(text)
        depth = 0
        while loader.check_event():  # a first pass over the events, before any node is built
            event = loader.get_event()  # type: ignore[no-untyped-call]
            line = event.start_mark.line + 1
            if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
                raise InputError(
                    Problem(file, "", "anchors and aliases (& and *) are not read", "Write the value out.", line)
                )
            if getattr(event, "tag", None) and event.tag != "!":
                raise InputError(Problem(file, "", "tags (!) are not read", "Write the plain value.", line, event.tag))
            depth += isinstance(event, yaml.CollectionStartEvent) - isinstance(event, yaml.CollectionEndEvent)
            if depth > DEEPEST:
                raise InputError(Problem(file, "", f"nested deeper than {DEEPEST}", "Write it flatter.", line))
        loader.dispose()
        loader = _Loader(text)
        node = loader.get_single_node()
        lines: dict[Place, int] = {}
        data = None if node is None else _build(loader, node, (), lines, file)
    except yaml.MarkedYAMLError as fault:
        mark = fault.problem_mark or fault.context_mark
        raise InputError(
            Problem(
                file,
                "",
                f"not valid YAML: {fault.problem or fault.context}",
                "Check indentation, colons and quotes near it.",
                mark.line + 1 if mark else None,
            )
        ) from None
    except yaml.YAMLError as fault:
        raise InputError(
            Problem(file, "", f"not valid YAML: {' '.join(str(fault).split())}", "Remove what is not plain text.")
        ) from None
    return Document(data, file, lines)


def _build(loader: _Loader, node: yaml.Node, place: Place, lines: dict[Place, int], file: str) -> Any:
    line = node.start_mark.line + 1
    lines[place] = line
    if isinstance(node, yaml.MappingNode):
        mapping: dict[str, Any] = {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                raise InputError(
                    Problem(file, written(place), "a key must be a word", "Write it as a plain word.", line)
                )
            key = str(key_node.value)
            if key in mapping:
                raise InputError(
                    Problem(
                        file,
                        written((*place, key)),
                        f"the key {key!r} stands twice",
                        "Keep one of the two.",
                        key_node.start_mark.line + 1,
                    )
                )
            mapping[key] = _build(loader, value_node, (*place, key), lines, file)
            lines[(*place, key)] = key_node.start_mark.line + 1
        return mapping
    if isinstance(node, yaml.SequenceNode):
        return [_build(loader, item, (*place, position), lines, file) for position, item in enumerate(node.value)]
    value = loader.construct_object(node)
    if isinstance(value, int) and abs(value) > 10**15:
        raise InputError(
            Problem(
                file,
                written(place),
                "the number is too large to mean anything here",
                "Check it.",
                line,
                str(node.value)[:40],
            )
        )
    return value


def parse_json(text: str, file: str) -> Document:
    """Read JSON text with the same strictness; InputError names the file and the line."""
    if len(text) > MOST_BYTES:
        raise InputError(Problem(file, "", f"more than {MOST_BYTES // 1_000_000} MB of text", "Split it."))

    def unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        mapping = dict(pairs)
        if len(mapping) < len(pairs):
            keys = [key for key, _ in pairs]
            twice = next(key for key in keys if keys.count(key) > 1)
            raise InputError(
                Problem(file, twice, f"the key {twice!r} stands twice in one object", "Keep one of the two.")
            )
        return mapping

    def refuse(word: str) -> Any:
        raise InputError(Problem(file, "", f"{word} is not a number", "Leave out what is not known.", None, word))

    try:
        data = json.loads(text, object_pairs_hook=unique, parse_constant=refuse)
    except json.JSONDecodeError as fault:
        raise InputError(
            Problem(
                file,
                f"column {fault.colno}",
                f"not valid JSON: {fault.msg}",
                "Check commas, quotes and brackets near it.",
                fault.lineno,
            )
        ) from None
    except (RecursionError, ValueError) as fault:
        if isinstance(fault, InputError):
            raise
        raise InputError(
            Problem(file, "", "not readable JSON: nested too deep or a number too long", "Write it flatter.")
        ) from None
    _check_depth(data, file)
    return Document(data, file)


def _check_depth(data: Any, file: str) -> None:
    level: list[Any] = [data]
    for _ in range(DEEPEST):
        level = [child for item in level for child in _children(item) if isinstance(child, dict | list)]
        if not level:
            return
    raise InputError(Problem(file, "", f"nested deeper than {DEEPEST}", "Write it flatter."))


def _children(item: Any) -> list[Any]:
    if isinstance(item, dict):
        return list(item.values())
    return item if isinstance(item, list) else []
