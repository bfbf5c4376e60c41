"""Run an old advice again, and say what differs and why.

manifest   a short hash of every rule and every entry of the knowledge, kept once for each edition
Replay     equal bytes, or what changed: program, rules, knowledge, inputs, and which recommendations differ for it
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from advisor.ecosystem import Knowledge
from advisor.rulebook import Rulebook, saying

Manifest = Mapping[str, Mapping[str, str]]

_NAMED = 8


@dataclass(frozen=True)
class Replay:
    """An advice run again.

    equal: the same bytes came out. editions: what changed of software, rules, knowledge and inputs, as (then, now).
    changed: ids of rules and entries of knowledge that were added, removed or altered since, as sentences.
    appeared, vanished: ids of recommendations. differing: id -> the fields that differ, as (then, now).
    other: parts of the answer besides recommendations that differ.
    """

    advice: str
    equal: bool
    editions: dict[str, tuple[str, str]]
    changed: tuple[str, ...]
    appeared: tuple[str, ...]
    vanished: tuple[str, ...]
    differing: dict[str, dict[str, tuple[Any, Any]]]
    other: tuple[str, ...]

    def as_data(self) -> dict[str, Any]:
        data: dict[str, Any] = json.loads(json.dumps(asdict(self)))
        return data

    def as_text(self) -> str:
        if self.equal:
            return f"Advice {self.advice} comes out again, byte for byte."
        return "\n".join([f"Advice {self.advice} comes out differently now.", *self._lines()])

    def _lines(self) -> Iterator[str]:
        for name, (then, now) in self.editions.items():
            yield f"Changed since: {name} ({then[:12]} then, {now[:12]} now)."
        if not self.editions:
            yield "Program, rules, knowledge and inputs are the same, so the same answer was due: please report it."
        yield from self.changed
        for name in self.vanished:
            yield f"No longer advised: {name}."
        for name in self.appeared:
            yield f"Advised now: {name}."
        for name, fields in self.differing.items():
            yield f"Differs: {name} ({', '.join(fields)})."
        for name in self.other:
            yield f"Differs: {name}."
        if not (self.vanished or self.appeared or self.differing or self.other):
            yield "The advice itself says the same."


def compared(
    id: str, then: Mapping[str, Any], now: Mapping[str, Any], equal: bool, old: Manifest | None, new: Manifest
) -> Replay:
    """Two answers to the same question, and what of rules and knowledge changed between them."""
    before = {one["id"]: one for one in then["recommendations"]}
    after = {one["id"]: one for one in now["recommendations"]}
    differing = {}
    for name in before.keys() & after.keys():
        fields = {
            key: (before[name].get(key), after[name].get(key))
            for key in {**before[name], **after[name]}
            if before[name].get(key) != after[name].get(key)
        }
        if fields:
            differing[name] = fields
    editions = {
        name: (then["edition"][name], now["edition"][name])
        for name in ("software", "rules", "knowledge", "inputs")
        if then["edition"][name] != now["edition"][name]
    }
    parts = ("orchard", "date", "conditions", "unknowns", "overrides", "notes")
    return Replay(
        advice=id,
        equal=equal,
        editions=editions,
        changed=tuple(_between(old, new)) if old is not None else (),
        appeared=tuple(name for name in after if name not in before),
        vanished=tuple(name for name in before if name not in after),
        differing={name: differing[name] for name in before if name in differing},
        other=tuple(name for name in parts if then.get(name) != now.get(name)),
    )


def _between(old: Manifest, new: Manifest) -> Iterator[str]:
    for part in new:
        then, now = old.get(part, {}), new[part]
        for said, names in (
            ("added", now.keys() - then.keys()),
            ("removed", then.keys() - now.keys()),
            ("altered", {name for name in then.keys() & now.keys() if then[name] != now[name]}),
        ):
            if names:
                listed = sorted(names)
                rest = f" and {len(listed) - _NAMED} more" if len(listed) > _NAMED else ""
                what = part.removesuffix("s") if len(listed) == 1 else part
                yield f"{len(listed)} {what} {said}: {', '.join(listed[:_NAMED])}{rest}."


def manifest(book: Rulebook, knowledge: Knowledge) -> dict[str, dict[str, str]]:
    """A short hash of every rule, and of every node, link, figure and source of the knowledge."""
    links: dict[str, list[Any]] = {}
    for link in knowledge.links:  # two may join the same ends, in different seasons
        links.setdefault(f"{link.start} {link.link} {link.end}", []).append(link)
    entries: dict[str, dict[str, list[Any]]] = {
        "nodes": {name: [node] for name, node in knowledge.nodes.items()},
        "links": links,
        "figures": {name: [figure] for name, figure in knowledge.figures.items()},
        "sources": {name: [source] for name, source in knowledge.sources.items()},
    }
    return {
        "rules": {rule.id: _short(saying(rule)) for rule in book.rules},
        **{part: {name: _short(_told(several)) for name, several in named.items()} for part, named in entries.items()},
    }


def _told(entries: list[Any]) -> str:
    return "\n".join(sorted(entry.model_dump_json(exclude_defaults=True) for entry in entries))


def _short(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:12]
