"""Rules compiled for durable-rules, and facts written for it. Nothing else knows the engine's language.

The engine is a good joiner with sharp edges, so a rule reaches it in one safe form:

- one ruleset for all layers. Each rule begins with the gate of its layer, a message sent only when all earlier layers
  are closed. Until then nothing of the rule moves, so a negated condition never looks too early;
- a literal test of a word, flag or exact number is answered once for each distinct value and travels with the fact as a
  mark, a property that is there or not. Comparisons of numbers and joins are left to the engine;
- under `unless` a fact counts that passes or might pass. A test gives its mark "possible" where it is true and also
  where the field is missing;
- over an observed kind, `unless` also needs something to have been reported: a `seen` message for each distinct set of
  keys stands for that. It may serve two conditions of a rule, so rules run without the engine's `dist`;
- conditions on one kind are dealt out to groups of at most 40, each with its own property, because the engine keeps at
  most 64 branches of one message in hand, and 511 below one node;
- names of properties and ids of messages are compared by the engine as 32-bit hashes, so both are chosen unlike.
"""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

import durable_rules_engine as engine

from advisor.bounds import Resolver
from advisor.conditions import BIND, COMPARING, LAYERS, PLACES, Bound, Condition, Kind, Rule, Test, Var
from advisor.evaluate import compare
from advisor.fact import Fact, Value, written_plainly

MOST_CONDITIONS = 16  # in one rule, the gate included
GROUP = 40
MOST_GROUPS = 20  # of one kind: 20 + 40 branches stay below the engine's 64
MOST_BRANCHES = 400  # below the root: the engine has room for 511
MOST_RULES = 4_000
MOST_AT_ONCE = 1_000  # firings of a rule handed over together
MOST_LEARNT = 20_000  # distinct values of a field remembered

_ENGINE_NAMES = ("id", "sid", "$s")


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

    def more(self, count: int) -> list[str]:
        """At least `count` words, always the same ones in the same order."""
        while len(self.words) < count:
            word = f"{self.prefix}{self._next}"
            self._next += 1
            if (code := fnv1a(word)) not in self.hashes:
                self.hashes.add(code)
                self.words.append(word)
        return self.words


MESSAGE_IDS = Unlike("", ("sid-0",))


@dataclass
class _Writer:
    """How facts of one kind are written for the engine: properties to send as they are, and marks by field."""

    groups: list[str] = field(default_factory=list)
    conditions: int = 0
    raw: dict[str, str] = field(default_factory=dict)  # field: its property
    marks: dict[tuple[str, str, Any, bool], str] = field(default_factory=dict)  # field, op, bound, possible: its property
    lacks: dict[str, str] = field(default_factory=dict)  # field: the property that says it is missing
    head: str = ""
    tables: list[tuple[str, dict[Value | None, str]]] = field(default_factory=list)

    def finish(self) -> None:
        self.head = "".join(f',"{group}":1' for group in self.groups)
        fields = dict.fromkeys([*self.raw, *(key[0] for key in self.marks), *self.lacks])
        self.tables = [(name, {None: self.missing(name)}) for name in fields]

    def missing(self, name: str) -> str:
        marks = [mark for (field_name, op, _, possible), mark in self.marks.items()
                 if field_name == name and possible and op != "known" and name not in PLACES]
        return "".join(f',"{mark}":1' for mark in (*marks, *([self.lacks[name]] if name in self.lacks else [])))

    def learn(self, name: str, value: Value, table: dict[Value | None, str]) -> str:
        text = f',"{self.raw[name]}":{_json(value)}' if name in self.raw else ""
        for (field_name, op, bound, _), mark in self.marks.items():
            if field_name == name and compare(op, value, bound):
                text += f',"{mark}":1'
        if len(table) > MOST_LEARNT:
            nothing = table[None]
            table.clear()
            table[None] = nothing
        table[value] = text
        return text

    def write(self, id: str, fields: Mapping[str, Value]) -> str:
        parts = ['{"id":"', id, '"', self.head]
        for name, table in self.tables:
            value = fields.get(name)
            text = table.get(value)
            parts.append(self.learn(name, value, table) if text is None else text)  # type: ignore[arg-type]
        parts.append("}")
        return "".join(parts)


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
        self._names = Unlike("p", _ENGINE_NAMES)
        self._used = 0
        self._writers: dict[str, _Writer] = {}
        self._fields: dict[str, str] = {}
        self._seen: dict[tuple[str, tuple[str, ...]], _Writer] = {}
        if len(self.rules) > MOST_RULES:
            raise OverLimit(f"{len(self.rules)} rules; at most {MOST_RULES} run together")
        self.guard = self._name()
        self.gates = {layer: self._name() for layer in LAYERS if any(rule.layer == layer for rule in self.rules)}
        definition: dict[str, Any] = {"guard": {"all": [{"m": {"$ex": {self.guard: 1}}}]}}
        for number, rule in enumerate(self.rules):
            definition[f"r{number}"] = {"all": self._all(rule), "cap": MOST_AT_ONCE, "dist": 0}
        for writer in (*self._writers.values(), *self._seen.values()):
            writer.finish()
        branches = sum(len(writer.groups) for writer in (*self._writers.values(), *self._seen.values()))
        if branches + len(self.gates) > MOST_BRANCHES:
            raise OverLimit(f"the rules read {branches} groups of conditions; at most {MOST_BRANCHES} run together")
        self.definition = _NUMBER.sub(r"\1", json.dumps(definition))
        self.handle: int = engine.create_ruleset("rules", self.definition)

    def close(self) -> None:
        engine.delete_ruleset(self.handle)

    # --- facts -----------------------------------------------------------------------------------------------------

    def reads(self, kind: str) -> bool:
        return kind in self._writers

    def written(self, fact: Fact, id: str) -> str:
        """The fact as a message; ValueError or TypeError names what in it cannot be sent."""
        kind = self.resolver.kinds[fact.kind]
        for key in kind.keys:
            if key not in fact.fields:
                raise ValueError(f"the fact {fact.id} lacks {key!r}, a key of {fact.kind}")
        return self._writers[fact.kind].write(id, fact.fields)

    def seen(self, facts: Iterable[Fact]) -> Iterator[tuple[_Writer, tuple[Value, ...]]]:
        """What was reported at all: for each kind and set of keys that `unless` asks about, each distinct value once."""
        wanted: dict[str, list[tuple[tuple[str, ...], _Writer]]] = {}
        for (kind, keys), writer in self._seen.items():
            wanted.setdefault(kind, []).append((keys, writer))
        found: dict[tuple[int, tuple[Value, ...]], tuple[_Writer, tuple[Value, ...]]] = {}
        for fact in facts:
            for keys, writer in wanted.get(fact.kind, ()):
                if all(key in fact.fields for key in keys):
                    values = tuple(fact.fields[key] for key in keys)
                    found[id(writer), values] = writer, values
        return iter(found.values())

    def messages(self, facts: Sequence[Fact], ids: Sequence[str], spare: Iterator[str]) -> list[str]:
        """Facts and what they show to have been looked at, as messages."""
        written = [self.written(fact, id) for fact, id in zip(facts, ids, strict=True)]
        if self._seen:
            keys_of = {id(writer): keys for (_, keys), writer in self._seen.items()}
            for writer, values in self.seen(facts):
                written.append(writer.write(next(spare), dict(zip(keys_of[id(writer)], values, strict=True))))
        return written

    # --- rules -----------------------------------------------------------------------------------------------------

    def _name(self) -> str:
        self._used += 1
        return self._names.more(self._used)[self._used - 1]

    def _all(self, rule: Rule) -> list[dict[str, Any]]:
        where: dict[str, tuple[int, str]] = {}  # variable: condition and field that bind it
        parts: list[dict[str, Any]] = [{"g": {"$ex": {self.gates[rule.layer]: 1}}}]
        when = [self.resolver.condition(condition) for condition in rule.when]
        for number, condition in enumerate(when):
            writer = self._writer(condition.kind)
            tests = self._tests(writer, condition.tests, where, number, set(self.resolver.kinds[condition.kind].keys))
            parts.append({f"c{number}": self._in_group(writer, tests)})
        for number, written in enumerate(rule.unless):
            condition = self.resolver.condition(written)
            kind = self.resolver.kinds[condition.kind]
            surely = condition.kind in rule.even_if_not_seen
            if kind.of == "observed" and not surely:
                parts.append({f"s{number}": self._seen_condition(condition, kind, where)})
            for part, lacking in enumerate(self._lackings(condition, kind, surely)):
                writer = self._writer(condition.kind)
                tests = self._negated(writer, condition, where, lacking, surely)
                parts.append({f"n{number}_{part}$not": self._in_group(writer, tests)})
        # Conditions that must be there come before those that must not.
        parts.sort(key=lambda part: next(iter(part)).endswith("$not"))
        if len(parts) > MOST_CONDITIONS:
            raise OverLimit(f"the rule {rule.id} takes {len(parts)} conditions in the engine; at most {MOST_CONDITIONS} work. "
                            "Derive a sign from some of them", rule.id)
        return parts

    def _writer(self, kind: str) -> _Writer:
        return self._writers.setdefault(kind, _Writer())

    def _in_group(self, writer: _Writer, tests: list[dict[str, Any]]) -> dict[str, Any]:
        if writer.conditions % GROUP == 0:
            if len(writer.groups) == MOST_GROUPS:
                raise OverLimit(f"more than {MOST_GROUPS * GROUP} conditions read one kind of fact")
            writer.groups.append(self._name())
        writer.conditions += 1
        return {"$and": [{"$ex": {writer.groups[-1]: 1}}, *tests]}

    def _raw(self, writer: _Writer, name: str) -> str:
        if name not in self._fields:
            self._fields[name] = self._name()
        return writer.raw.setdefault(name, self._fields[name])

    def _mark(self, writer: _Writer, test: Test, possible: bool) -> dict[str, Any]:
        key = (test.field, test.op, test.bound, possible)
        if key not in writer.marks:
            writer.marks[key] = self._name()
        return {"$ex": {writer.marks[key]: 1}}

    def _tests(self, writer: _Writer, tests: Sequence[Test], where: dict[str, tuple[int, str]], number: int,
               keys: set[str]) -> list[dict[str, Any]]:
        """Tests of a condition under `when`: marks first, then numbers, then joins."""
        marks, numbers, joins = [], [], []
        for test in tests:
            if test.op == BIND:
                assert isinstance(test.bound, Var)
                where[test.bound.name] = number, self._raw(writer, test.field)
                if test.field not in keys:  # a missing field would stop the join, so it has to be there
                    marks.append({"$ex": {self._raw(writer, test.field): 1}})
            elif any(test.variables()):
                joins.extend(self._joins(writer, test, where))
            elif test.op in COMPARING:
                numbers.extend(self._comparisons(writer, test))
            else:
                marks.append(self._mark(writer, test, False))
        return [*marks, *numbers, *joins]

    def _comparisons(self, writer: _Writer, test: Test) -> list[dict[str, Any]]:
        name = self._raw(writer, test.field)
        if test.op == "between":
            low, high = test.bounds()
            return [{"$gte": {name: _number(low)}}, {"$lte": {name: _number(high)}}]
        return [{_COMPARISON[test.op]: {name: _number(test.bounds()[0])}}]

    def _joins(self, writer: _Writer, test: Test, where: Mapping[str, tuple[int, str]]) -> list[dict[str, Any]]:
        name = self._raw(writer, test.field)

        def other(bound: Bound) -> Any:
            if not isinstance(bound, Var):
                return _number(bound) if test.op in COMPARING else bound
            place, field_name = where[bound.name]
            return {f"c{place}": field_name}

        if test.op == "between":
            low, high = map(other, test.bounds())
            return [{"$gte": {name: low}}, {"$lte": {name: high}}]
        value = other(test.bounds()[0])
        if test.op == "is":
            return [{name: value}]
        return [{"$neq" if test.op == "is-not" else _COMPARISON[test.op]: {name: value}}]

    def _lackings(self, condition: Condition, kind: Kind, surely: bool) -> list[frozenset[str]]:
        """Which joined fields may be missing: one negated condition for each possibility."""
        if surely:
            return [frozenset()]
        joined = sorted({test.field for test in condition.tests if any(test.variables()) and test.field not in kind.about})
        return [frozenset(chosen) for size in range(len(joined) + 1) for chosen in combinations(joined, size)]

    def _negated(self, writer: _Writer, condition: Condition, where: dict[str, tuple[int, str]], lacking: frozenset[str],
                 surely: bool) -> list[dict[str, Any]]:
        if surely:
            return self._tests(writer, condition.tests, where, -1, set())
        marks, joins = [], []
        for name in sorted(lacking):
            marks.append({"$ex": {writer.lacks.setdefault(name, "") or self._lack(writer, name): 1}})
        for test in condition.tests:
            if any(test.variables()):
                if test.field not in lacking:
                    joins.extend(self._joins(writer, test, where))
            else:
                marks.append(self._mark(writer, test, True))
        return [*marks, *joins]

    def _lack(self, writer: _Writer, name: str) -> str:
        writer.lacks[name] = self._name()
        return writer.lacks[name]

    def _seen_condition(self, condition: Condition, kind: Kind, where: dict[str, tuple[int, str]]) -> dict[str, Any]:
        about = tuple(test for test in condition.tests if test.field in kind.about)
        keys = tuple(sorted({test.field for test in about}))
        writer = self._seen.setdefault((kind.name, keys), _Writer())
        return self._in_group(writer, self._tests(writer, about, where, -1, set(keys)))


_COMPARISON = {"at-least": "$gte", "above": "$gt", "at-most": "$lte", "below": "$lt"}


_NUMBER = re.compile(r'"#(-?[0-9.]+)#"')


def _number(bound: Bound) -> str:
    """A number for the definition, in digits: json would write small ones with an exponent, which the engine misreads."""
    assert isinstance(bound, int | float)
    return f"#{written_plainly(bound)}#"
