"""Rule packs: YAML files read into typed rules.

load_kinds   the kinds of fact that rules may read or assert
load_rules   folders of packs into a Rulebook; a later folder overrides an earlier one by rule id
Rulebook     the rules by layer, the kinds and figures they rest on, and what was overridden
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Any

from advisor.bounds import Resolver
from advisor.conditions import CLASSES, LAYERS, Field, Kind, Override, Rule
from advisor.errors import InputError, Problem
from advisor.reading import Document, parse_yaml, read_document
from advisor.rule_reading import RuleReader
from advisor.rule_shapes import Shapes, Stages, Unreadable

KINDS_FILE = "kinds.yaml"
FIELD_TYPES = ("text", "number", "flag")


@dataclass(frozen=True, eq=False)
class Rulebook:
    """Rules ready to run. `rules` are in the order of their layers, then of their packs."""

    rules: tuple[Rule, ...]
    kinds: Mapping[str, Kind]
    figures: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    overrides: tuple[Override, ...] = ()

    def rule(self, id: str) -> Rule:
        return self._by_id[id]

    def layer(self, name: str) -> tuple[Rule, ...]:
        return tuple(rule for rule in self.rules if rule.layer == name)

    def resolver(self, region: str | None) -> Resolver:
        if region not in self._resolvers:
            self._resolvers[region] = Resolver(self.kinds, self.figures, region)
        return self._resolvers[region]

    @cached_property
    def _resolvers(self) -> dict[str | None, Resolver]:
        return {}

    def only(self, rules: Iterable[Rule]) -> Rulebook:
        """The same book with some of its rules."""
        return Rulebook(tuple(rules), self.kinds, self.figures)

    @cached_property
    def _by_id(self) -> dict[str, Rule]:
        return {rule.id: rule for rule in self.rules}

    @cached_property
    def edition(self) -> str:
        """SHA-256 of the rules and kinds, whatever file, line or order they stand in."""
        kinds = [
            f"{kind.name}|{kind.of}|{kind.keys}|{sorted(kind.fields.items())}|{kind.layer}|{kind.fresh}"
            for kind in self.kinds.values()
        ]
        rules = [saying(rule) for rule in self.rules]
        return hashlib.sha256("\n".join(sorted(kinds) + sorted(rules)).encode()).hexdigest()


def saying(rule: Rule) -> str:
    """All of a rule that can change an answer, as one text: not its file, line or cases."""
    conditions = ([(c.kind, c.tests) for c in part] for part in (rule.when, rule.unless))
    told = (rule.id, rule.layer, *conditions, sorted(rule.even_if_not_seen), rule.output)
    return repr((*told, rule.because, rule.evidence, rule.sources))


def shipped_folder() -> Path:
    """The folder of the packs that come with the program."""
    return Path(str(files("advisor.rules")))


def load_kinds(path: Path | str) -> dict[str, Kind]:
    """The kinds of fact of a kinds.yaml; InputError names what is wrong with it."""
    problems: list[Problem] = []
    kinds = read_kinds(read_document(Path(path)), problems)
    if problems:
        raise InputError(problems)
    return kinds


def read_kinds(document: Document, problems: list[Problem]) -> dict[str, Kind]:
    reader = Shapes(document, {}, lambda name, fruit: None, problems)
    kinds: dict[str, Kind] = {}
    for position, entry in enumerate(document.data or []):
        try:
            kind = _kind(reader, entry, position)
        except Unreadable:
            continue
        if kind.name in kinds:
            reader.refuse((position, "kind"), f"the kind {kind.name} stands twice", "Keep one of the two.")
        kinds[kind.name] = kind
    return kinds


def _kind(reader: Shapes, entry: Any, position: int) -> Kind:
    place = (position,)
    entry = reader.mapping(
        entry, place, ("kind", "class", "keys", "fields", "layer", "meaning", "fresh"), ("kind", "class")
    )
    name = reader.text(entry["kind"], (position, "kind"))
    of = reader.one_of(entry["class"], (position, "class"), CLASSES)
    fields: dict[str, Field] = {}
    for key, data in reader.mapping(entry.get("fields") or {}, (position, "fields")).items():
        here = (position, "fields", key)
        data = reader.mapping(data, here, ("type", "unit", "values"), ("type",))
        kind_of = reader.one_of(data["type"], (*here, "type"), FIELD_TYPES)
        fields[key] = Field(kind_of, str(data.get("unit") or ""), tuple(map(str, data.get("values") or ())))
    keys = entry.get("keys") or []
    for key in keys:
        if key not in fields:
            raise reader.refuse((position, "keys"), f"{key!r} is no field of {name}", "List fields only.")
    layer = None
    if of == "derived":
        layer = reader.one_of(entry.get("layer"), (position, "layer"), LAYERS[:2])
    elif "layer" in entry:
        raise reader.refuse((position, "layer"), "only a derived kind has a layer", "Leave it out.")
    return Kind(
        name,
        of,
        tuple(keys),
        fields,
        layer,
        str(entry.get("meaning") or ""),
        entry.get("fresh"),
        reader.document.file,
        reader.document.line(place),
    )


def load_rules(
    *folders: Path | str,
    figures: Mapping[str, Any] | None = None,
    stages: Stages = lambda name, fruit: None,
    kinds: Mapping[str, Kind] | None = None,
) -> Rulebook:
    """Read every pack of the folders; without any folder, the packs that come with the program.

    figures: by id, each with `value(region)`. stages: (stage name, fruit or None) to BBCH code or
    None where it is no stage; without it, none is.
    Raises InputError with every problem found, each with file, line and how to mend it.
    """
    given = [Path(folder) for folder in folders] or [shipped_folder()]
    problems: list[Problem] = []
    known: dict[str, Kind] = dict(kinds or {})
    documents: list[list[Document]] = []
    for folder in given:
        if not folder.is_dir():
            raise InputError(
                Problem(str(folder), "", "this is no folder of rule packs", "Give a folder that holds .yaml files.")
            )
        if (folder / KINDS_FILE).exists():
            known.update(read_kinds(read_document(folder / KINDS_FILE), problems))
        documents.append([read_document(path) for path in sorted(folder.glob("*.yaml")) if path.name != KINDS_FILE])
    book = _assemble(documents, known, figures or {}, stages, problems)
    if problems:
        raise InputError(problems)
    return book


def rules_from_text(
    text: str,
    kinds: Mapping[str, Kind],
    figures: Mapping[str, Any] | None = None,
    stages: Stages = lambda name, fruit: None,
    file: str = "rules",
) -> Rulebook:
    """A rulebook from the text of one pack."""
    problems: list[Problem] = []
    book = _assemble([[parse_yaml(text, file)]], kinds, figures or {}, stages, problems)
    if problems:
        raise InputError(problems)
    return book


def _assemble(
    folders: Iterable[Iterable[Document]],
    kinds: Mapping[str, Kind],
    figures: Mapping[str, Any],
    stages: Stages,
    problems: list[Problem],
) -> Rulebook:
    rules: dict[str, Rule] = {}
    overrides: list[Override] = []
    for documents in folders:
        here: dict[str, Rule] = {}
        for document in documents:
            for rule in _rules_of(document, kinds, stages, problems):
                if rule.id in here:
                    problems.append(
                        Problem(
                            rule.file,
                            rule.id,
                            f"the rule {rule.id} stands twice, also in {here[rule.id].file}, line {here[rule.id].line}",
                            "Give one of them another id.",
                            rule.line,
                        )
                    )
                here[rule.id] = rule
        overrides.extend(Override(id, rule.file, rule.line, rules[id].file) for id, rule in here.items() if id in rules)
        rules.update(here)
    ordered = sorted(rules.values(), key=lambda rule: LAYERS.index(rule.layer))
    return Rulebook(tuple(ordered), MappingProxyType(dict(kinds)), figures, tuple(overrides))


def _rules_of(document: Document, kinds: Mapping[str, Kind], stages: Stages, problems: list[Problem]) -> list[Rule]:
    reader = RuleReader(document, kinds, stages, problems)
    if document.data is None:
        return []
    if not isinstance(document.data, list):
        reader.refuse((), "a rule pack is a list of rules", "Write `- id: ...` entries.")
        return []
    read = (reader.rule(entry, (position,)) for position, entry in enumerate(document.data))
    return [rule for rule in read if rule is not None]
