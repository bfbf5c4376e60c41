"""Rules compiled for durable-rules, and facts written for it. Nothing else knows the engine's language.

The engine is a good joiner with sharp edges, so a rule reaches it in one safe form:

- what a condition asks of a fact by itself is settled by a sieve; the fact travels with a property for each condition
  that it passes, and the words and numbers that joins need. Facts that pass no condition are not sent. Joins,
  comparisons between facts, negation, chaining and the agenda are the engine's;
- one ruleset for all layers. A rule with `unless` begins with the gate of its layer, a message sent only when all
  earlier layers are closed. Until then nothing of the rule moves, so a negated condition never looks too early;
- under `unless` a fact counts that passes or might pass: a condition there asks whether each test is possible, that is,
  true or the field missing. Where a joined field may be missing there is a negated condition for that as well;
- over an observed kind, `unless` also needs something to have been reported: a `seen` message for each distinct set of
  keys stands for that. It may serve two conditions of a rule, so rules run without the engine's `dist`;
- a message holds at most 255 properties, so a fact that passes more conditions is sent as several;
- conditions are dealt out to groups of at most 40, each with a property of its own, because the engine has room for 511
  branches below one node and keeps at most 64 of one message in hand;
- names of properties and ids of messages are compared by the engine as 32-bit hashes, so both are chosen unlike.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from typing import Any

import durable_rules_engine as engine

from advisor.bounds import Resolver
from advisor.conditions import BIND, Condition, Kind, Rule, Test, Var
from advisor.fact import Fact, Value, written_plainly
from advisor.sieve import LACKING, MOST_LEARNT, Asked, Sieve

MOST_CONDITIONS = 16  # in one rule, the gate included
GROUP = 40
MOST_GROUPS = 20  # of one kind: 20 + 40 branches stay below the engine's 64
MOST_PROPERTIES = 240  # of one message: the engine holds 255, and drops the whole batch beyond
MOST_BRANCHES = 400  # below the root: the engine has room for 511
MOST_RULES = 4_000
MOST_AT_ONCE = 1_000  # firings of a rule handed over together

_ENGINE_NAMES = ("id", "sid", "$s")

Where = dict[str, tuple[int, str]]  # variable: the condition and the property that give it its value


class OverLimit(ValueError):
    """Rules that the engine cannot hold; `rule` is the id of the rule at fault, or None for all together."""

    def __init__(self, message: str, rule: str | None = None) -> None:
        self.rule = rule
        super().__init__(message)


def fnv1a(text: str) -> int:
    """The engine's 32-bit hash of a name or id."""
    value = 2166136261
    for byte in text.encode():
        value = ((value ^ byte) * 16777619) & 0xFFFFFFFF
    return value


class Unlike:
    """Short words whose hashes all differ: prefix and number, skipping any that the engine would take for another."""

    def __init__(self, prefix: str, taken: Iterable[str] = ()) -> None:
        self.prefix = prefix
        self.hashes = {fnv1a(word) for word in taken}
        self.words: list[str] = []
        self._next = 0

    def __iter__(self) -> Iterator[str]:
        """All of them, always in the same order."""
        place = 0
        while True:
            while place >= len(self.words):
                self._find()
            yield self.words[place]
            place += 1

    def _find(self) -> None:
        word = f"{self.prefix}{self._next}"
        self._next += 1
        if (code := fnv1a(word)) not in self.hashes:
            self.hashes.add(code)
            self.words.append(word)


MESSAGE_IDS = Unlike("", ("sid-0",))


class _Writer:
    """Writes facts of one kind for the engine: a property for each condition passed, and the fields that joins need."""

    def __init__(self, kind: Kind) -> None:
        self.sieve = Sieve(kind)
        self.groups: list[str] = []
        self.places: list[tuple[int, str, str]] = []  # bit, group, property
        self.raw: dict[str, str] = {}  # field: its property
        self._passed: dict[int, list[str]] = {}
        self._texts: list[tuple[str, str, dict[Value | None, str]]] = []

    def send(self, name: str, property: str) -> str:
        """The property under which a field is sent."""
        if name not in self.raw:
            self.raw[name] = property
            self._texts.append((name, property, {None: ""}))
        return self.raw[name]

    def write(self, mask: int, fields: Mapping[str, Value]) -> list[str]:
        """A message after its id; several where the fact passes more conditions than one message can carry."""
        pages = self._passed.get(mask)
        if pages is None:
            if len(self._passed) > MOST_LEARNT:
                self._passed.clear()
            pages = self._passed[mask] = self._pages(mask)
        joined = ""
        for name, property, texts in self._texts:
            value = fields.get(name)
            known = texts.get(value)
            if known is None:
                if len(texts) > MOST_LEARNT:
                    texts.clear()
                    texts[None] = ""
                assert value is not None
                known = texts[value] = f',"{property}":{_json(value)}'
            joined += known
        return [page + joined for page in pages]

    def _pages(self, mask: int) -> list[str]:
        by_group: dict[str, list[str]] = {}
        for bit, group, property in self.places:
            if mask & bit:
                by_group.setdefault(group, [group]).append(property)
        pages: list[list[str]] = [[]]
        for names in by_group.values():
            if len(pages[-1]) + len(names) + len(self.raw) > MOST_PROPERTIES:
                pages.append([])
            pages[-1] += names
        return ["".join(f',"{name}":1' for name in page) for page in pages]


def _json(value: Value) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return json.dumps(value) if isinstance(value, str) else written_plainly(value)


class Program:
    """A compiled set of rules. `rules[n]` fires as action `r{n}`, with its facts under c0, c1, ... in order."""

    def __init__(self, rules: Sequence[Rule], resolver: Resolver) -> None:
        self.rules = tuple(rules)
        self.resolver = resolver
        self.lock = threading.Lock()
        self._names = iter(Unlike("p", _ENGINE_NAMES))
        self._writers: dict[str, _Writer] = {}
        self._seen: dict[str, list[tuple[tuple[str, ...], _Writer]]] = {}
        self._fields: dict[str, str] = {}
        if len(self.rules) > MOST_RULES:
            raise OverLimit(f"{len(self.rules)} rules; at most {MOST_RULES} run together")
        self.guard = next(self._names)
        layers = dict.fromkeys(rule.layer for rule in self.rules if rule.unless)
        self.gates = {layer: next(self._names) for layer in layers}
        definition: dict[str, Any] = {"guard": {"all": [{"m": {"$ex": {self.guard: 1}}}]}}
        for number, rule in enumerate(self.rules):
            definition[f"r{number}"] = {"all": self._all(rule), "cap": MOST_AT_ONCE, "dist": 0}
        writers = [*self._writers.values(), *(writer for found in self._seen.values() for _, writer in found)]
        branches = sum(len(writer.groups) for writer in writers) + len(self.gates) + 1
        if branches > MOST_BRANCHES:
            raise OverLimit(f"the rules read {branches} groups of conditions; at most {MOST_BRANCHES} run together")
        self.definition = json.dumps(definition)
        self.handle: int = engine.create_ruleset("rules", self.definition)

    def close(self) -> None:
        engine.delete_ruleset(self.handle)

    # --- facts -----------------------------------------------------------------------------------------------------

    def messages(self, facts: Iterable[Fact], ids: Iterator[str], sent: dict[str, Fact]) -> list[str]:
        """The facts that matter to some rule as messages, and what they show to have been looked at.

        Notes in `sent` which fact has which id. ValueError names a fact that cannot be sent, and why.
        """
        messages: list[str] = []
        looked: dict[tuple[int, tuple[Value | None, ...]], list[str]] = {}
        writers, seen = self._writers, self._seen
        for fact in facts:
            try:
                writer = writers.get(fact.kind)
                if writer is not None and (mask := writer.sieve.passed(fact.fields)):
                    for text in writer.write(mask, fact.fields):
                        message = next(ids)
                        sent[message] = fact
                        messages.append(f'{{"id":"{message}"{text}}}')
                for keys, looker in seen.get(fact.kind, ()):
                    if mask := looker.sieve.passed(fact.fields):
                        about = tuple(fact.fields.get(key) for key in keys)
                        if (id(looker), about) not in looked:
                            looked[id(looker), about] = looker.write(mask, fact.fields)
            except ValueError as fault:
                raise ValueError(f"the fact {fact.id} cannot be sent: {fault}") from fault
        messages.extend(f'{{"id":"{next(ids)}"{text}}}' for texts in looked.values() for text in texts)
        return messages

    # --- rules -----------------------------------------------------------------------------------------------------

    def _all(self, rule: Rule) -> list[dict[str, Any]]:
        where: Where = {}
        parts: list[dict[str, Any]] = [{"g": {"$ex": {self.gates[rule.layer]: 1}}}] if rule.unless else []
        for number, condition in enumerate(map(self.resolver.condition, rule.when)):
            parts.append({f"c{number}": self._positive(self._writer(condition.kind), condition.tests, where, number)})
        negated: list[dict[str, Any]] = []
        for number, condition in enumerate(map(self.resolver.condition, rule.unless)):
            kind = self.resolver.kinds[condition.kind]
            surely = condition.kind in rule.even_if_not_seen
            if kind.of == "observed" and not surely:
                parts.append({f"s{number}": self._looked(condition, kind, where)})
            for part, lacking in enumerate(_lackings(condition, kind, surely)):
                asked = self._negated(self._writer(condition.kind), condition, where, lacking, surely)
                negated.append({f"n{number}_{part}$not": asked})
        parts.extend(negated)  # what must be there comes before what must not
        if len(parts) > MOST_CONDITIONS:
            raise OverLimit(f"the rule {rule.id} takes {len(parts)} conditions in the engine; at most {MOST_CONDITIONS} work",
                            rule.id)
        return parts

    def _writer(self, kind: str) -> _Writer:
        if kind not in self._writers:
            self._writers[kind] = _Writer(self.resolver.kinds[kind])
        return self._writers[kind]

    def _raw(self, writer: _Writer, name: str) -> str:
        if name not in self._fields:
            self._fields[name] = next(self._names)
        return writer.send(name, self._fields[name])

    def _condition(self, writer: _Writer, asked: Iterable[Asked], joins: list[dict[str, Any]]) -> dict[str, Any]:
        """One condition: its group, its own property, and its joins."""
        bit = writer.sieve.bit(asked)
        if len(writer.places) % GROUP == 0:
            if len(writer.groups) == MOST_GROUPS:
                raise OverLimit(f"more than {MOST_GROUPS * GROUP} conditions read {writer.sieve.kind.name}")
            writer.groups.append(next(self._names))
        property = next(self._names)
        writer.places.append((bit, writer.groups[-1], property))
        return {"$and": [{"$ex": {writer.groups[-1]: 1}}, {"$ex": {property: 1}}, *joins]}

    def _positive(self, writer: _Writer, tests: Sequence[Test], where: Where, number: int) -> dict[str, Any]:
        asked: list[Asked] = []
        joins: list[dict[str, Any]] = []
        for test in tests:
            if test.op == BIND:
                assert isinstance(test.bound, Var)
                where[test.bound.name] = number, self._raw(writer, test.field)
                asked.append(Asked(test.field, "known"))  # a missing field would stop the join, so it has to be there
            else:
                self._split(writer, test, where, asked, joins, possible=False)
        return self._condition(writer, asked, joins)

    def _negated(self, writer: _Writer, condition: Condition, where: Where, lacking: frozenset[str], surely: bool) -> dict[str, Any]:
        asked = [Asked(name, LACKING) for name in lacking]
        joins: list[dict[str, Any]] = []
        for test in condition.tests:
            if test.field not in lacking:
                self._split(writer, test, where, asked, joins, possible=not surely)
        return self._condition(writer, asked, joins)

    def _looked(self, condition: Condition, kind: Kind, where: Where) -> dict[str, Any]:
        """That something was reported about what a negated condition asks for."""
        about = tuple(test for test in condition.tests if test.field in kind.about)
        keys = tuple(sorted({test.field for test in about}))
        found = self._seen.setdefault(kind.name, [])
        writer = next((writer for known, writer in found if known == keys), None)
        if writer is None:
            writer = _Writer(kind)
            found.append((keys, writer))
        return self._positive(writer, about, where, -1)

    def _split(self, writer: _Writer, test: Test, where: Where, asked: list[Asked], joins: list[dict[str, Any]],
               possible: bool) -> None:
        """Put a test where it is settled: with what the fact is asked by itself, or with the joins."""
        if not any(test.variables()):
            asked.append(Asked(test.field, test.op, test.bound, possible))
        elif test.op == "between":
            for op, end in zip(("at-least", "at-most"), test.bounds(), strict=True):
                self._split(writer, Test(test.field, op, end), where, asked, joins, possible)
        else:
            assert isinstance(test.bound, Var)
            place, property = where[test.bound.name]
            name, other = self._raw(writer, test.field), {f"c{place}": property}
            joins.append({name: other} if test.op == "is" else {_ENGINE_OP[test.op]: {name: other}})


_ENGINE_OP = {"at-least": "$gte", "above": "$gt", "at-most": "$lte", "below": "$lt", "is-not": "$neq"}


def _lackings(condition: Condition, kind: Kind, surely: bool) -> list[frozenset[str]]:
    """Which joined fields may be missing: one negated condition for each possibility."""
    if surely:
        return [frozenset()]
    joined = sorted({test.field for test in condition.tests if any(test.variables()) and test.field not in kind.about})
    return [frozenset(chosen) for size in range(len(joined) + 1) for chosen in combinations(joined, size)]
