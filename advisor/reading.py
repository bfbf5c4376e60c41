"""Read YAML and JSON from people, strictly.

Words stay words: only `true` and `false` are booleans, only empty, `~` and `null` are null, and dates are left as
text for the models to read. Refused, each with its line: duplicate keys, anchors and aliases, tags, nesting deeper
than 40, files over 5 MB.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from advisor.errors import InputError, Problem

MOST_BYTES = 5_000_000
DEEPEST = 40
MOST_WHOLE = 10**15  # whole numbers beyond it are slips of the pen

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


def other_marks(names: Sequence[str], file: str) -> list[Problem]:
    """What is wrong with the header of a CSV file whose cells are parted by semicolons or tabs."""
    if len(names) != 1 or not re.search(r"[;\t]", names[0]):
        return []
    said = "the cells are parted by semicolons or tabs"
    return [Problem(file, "header", said, "Save it with commas between cells, and points in numbers.", 1, names[0][:60])]


def read_document(path: Path) -> Document:
    """Read a YAML or JSON file, told apart by the ending .json."""
    text = read_text(path)
    return parse_json(text, str(path)) if path.suffix.lower() == ".json" else parse_yaml(text, str(path))


_PLAIN = (  # what a bare word may be besides text
    (re.compile(r"(?:true|True|false|False)"), lambda text: text in ("true", "True")),
    (re.compile(r"(?:~|null|)"), lambda text: None),
    (re.compile(r"[-+]?(?:0|[1-9][0-9]*)"), int),
    (re.compile(r"[-+]?(?:[0-9]+\.[0-9]*|\.[0-9]+|[0-9]+(?:\.[0-9]*)?[eE][-+]?[0-9]+)"), float),
)
_MAY_BE_PLAIN = frozenset("tTfF~n-+.0123456789")
_Parser: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)  # libyaml's parser where PyYAML was built with it


def parse_yaml(text: str, file: str) -> Document:
    """Read YAML text; InputError names the file, the line and how to mend it."""
    if len(text) > MOST_BYTES:
        raise InputError(Problem(file, "", f"more than {MOST_BYTES // 1_000_000} MB of text", "Split it."))
    lines: dict[Place, int] = {}
    try:
        data = _read(_events(_Parser(text), file), lines, file)
    except yaml.MarkedYAMLError as fault:
        mark = fault.problem_mark or fault.context_mark
        said = f"not valid YAML: {fault.problem or fault.context}"
        mend = "Check indentation, colons and quotes near it."
        raise InputError(Problem(file, "", said, mend, mark.line + 1 if mark else None)) from None
    except yaml.YAMLError as fault:
        said = f"not valid YAML: {' '.join(str(fault).split())}"
        raise InputError(Problem(file, "", said, "Remove what is not plain text.")) from None
    return Document(data, file, lines)


def _events(parser: Any, file: str) -> Iterator[Any]:
    """The parser's events, refused before any value is built from them."""
    depth = documents = 0
    while parser.check_event():
        event = parser.get_event()
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            raise _refused(file, event, "anchors and aliases (& and *) are not read", "Write the value out.")
        if getattr(event, "tag", None) and event.tag != "!":
            raise _refused(file, event, "tags (!) are not read", "Write the plain value.", value=event.tag)
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
            if depth > DEEPEST:
                raise _refused(file, event, f"nested deeper than {DEEPEST}", "Write it flatter.")
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1
        elif isinstance(event, yaml.DocumentStartEvent):
            documents += 1
            if documents > 1:
                raise _refused(file, event, "a second document begins here", "Keep one document in a file.")
        yield event


def _refused(file: str, event: Any, said: str, mend: str, place: Place = (), value: str | None = None) -> InputError:
    return InputError(Problem(file, written(place), said, mend, _line(event), value))


def _line(event: Any) -> int:
    line: int = event.start_mark.line
    return line + 1


def _read(events: Iterator[Any], lines: dict[Place, int], file: str) -> Any:
    data = None
    for event in events:
        if isinstance(event, yaml.ScalarEvent | yaml.CollectionStartEvent):
            data = _build(event, events, (), lines, file)
    return data


def _build(event: Any, events: Iterator[Any], place: Place, lines: dict[Place, int], file: str) -> Any:
    lines.setdefault(place, _line(event))
    if isinstance(event, yaml.ScalarEvent):
        return _scalar(event, place, file)
    if isinstance(event, yaml.SequenceStartEvent):
        items: list[Any] = []
        while not isinstance(item := next(events), yaml.SequenceEndEvent):
            items.append(_build(item, events, (*place, len(items)), lines, file))
        return items
    mapping: dict[str, Any] = {}
    while not isinstance(key_event := next(events), yaml.MappingEndEvent):
        if not isinstance(key_event, yaml.ScalarEvent):
            raise _refused(file, key_event, "a key must be a word", "Write it as a plain word.", place)
        key = str(key_event.value)
        inside = (*place, key)
        if key in mapping:
            raise _refused(file, key_event, f"the key {key!r} stands twice", "Keep one of the two.", inside)
        lines[inside] = _line(key_event)
        mapping[key] = _build(next(events), events, inside, lines, file)
    return mapping


def _scalar(event: Any, place: Place, file: str) -> Any:
    text: str = event.value
    if not event.implicit[0] or (text and text[0] not in _MAY_BE_PLAIN):
        return text
    for pattern, read in _PLAIN:
        if pattern.fullmatch(text):
            if read is int and len(text) > 15 and abs(int(text[:4000])) > MOST_WHOLE:
                said = "the number is too large to mean anything here"
                raise _refused(file, event, said, "Check it.", place, text[:40])
            return read(text)
    return text


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
        said, mend = f"{word} is not a number", "Leave out what is not known."
        raise InputError(Problem(file, "", said, mend, _line_of_bare(word, text), word))

    def whole(digits: str) -> int:
        if len(digits) > 15 and abs(int(digits[:4000])) > MOST_WHOLE:
            said = "the number is too large to mean anything here"
            raise InputError(Problem(file, "", said, "Check it.", _line_of_bare(digits, text), digits[:40]))
        return int(digits)

    try:
        data = json.loads(text, object_pairs_hook=unique, parse_constant=refuse, parse_int=whole)
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
    if re.search(r"\\u[dD][89a-fA-F]", text):  # halves of a sign, which may stand alone
        try:
            json.dumps(data, ensure_ascii=False).encode()
        except UnicodeEncodeError:
            raise InputError(Problem(file, "", "half a sign (\\ud800 to \\udfff) stands alone", "Take it out.")) from None
    return Document(data, file)


def _line_of_bare(word: str, text: str) -> int | None:
    """The line of JSON text on which a word first stands outside quotes."""
    for found in re.finditer(rf'"(?:\\.|[^"\\])*"|(?<![\w.+-])({re.escape(word[:100])})', text):
        if found.group(1):
            return text.count("\n", 0, found.start()) + 1
    return None


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
