"""Rules compiled for durable-rules. Nothing else knows the engine's language.

The engine is a good joiner with sharp edges, so a rule reaches it in one safe form, a small ruleset of its own:

- what a condition asks of a fact by itself is settled by a sieve. A rule is run only when each of its conditions has a
  fact, and is sent those facts only, each as a message that holds the mark of its condition and the words and numbers
  that the joins need. Joins, comparisons between facts and negation are the engine's;
- every session begins with a guard that fires, because the engine must not end a session in which nothing fired;
- what a negated condition looks for is sent before the rest, because the engine looks as soon as it can;
- under `unless` a fact counts that passes or might pass: a condition there asks whether each test is possible, that is,
  true or the field missing. Where a joined field may be missing there is a negated condition for that as well;
- over an observed kind, `unless` also needs something to have been reported about what it asks for;
- the ids of messages are compared by the engine as 32-bit hashes, so they are chosen unlike.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations
from typing import Any

import durable_rules_engine as engine

from advisor.bounds import Resolver
from advisor.conditions import BIND, LAYERS, Condition, Kind, Rule, Test, Var
from advisor.fact import Fact, Value, written_plainly
from advisor.sieve import LACKING, Asked, Doubt, Sieve

MOST_CONDITIONS = 16  # in one rule, as the engine counts them
MOST_AT_ONCE = 1_000  # firings handed over together

_SID = "0"  # the engine's own name for a session that is not named
_GUARD = '{"id":"0","guard":1}'
_RULE = '{"rule"'  # how a firing of the rule begins, and one of the guard does not

Where = dict[str, tuple[int, str]]  # variable: the condition and the property that give it its value


class OverLimit(ValueError):
    """A rule that the engine cannot hold; `rule` is its id."""

    def __init__(self, message: str, rule: str) -> None:
        self.rule = rule
        super().__init__(message)


def fnv1a(text: str) -> int:
    """The engine's 32-bit hash of a name or id."""
    value = 2166136261
    for byte in text.encode():
        value = ((value ^ byte) * 16777619) & 0xFFFFFFFF
    return value


class Unlike:
    """Numbers as ids whose hashes all differ, from each other and from the words taken."""

    def __init__(self, *taken: str) -> None:
        self._hashes = {fnv1a(word) for word in taken}
        self._ids: list[str] = []
        self._next = 1

    def first(self, count: int) -> list[str]:
        """So many of them, always the same ones in the same order."""
        while len(self._ids) < count:
            word = str(self._next)
            self._next += 1
            if (code := fnv1a(word)) not in self._hashes:
                self._hashes.add(code)
                self._ids.append(word)
        return self._ids[:count]


MESSAGE_IDS = Unlike("0", f"sid-{_SID}")  # the guard's id, and that of the engine's own message


class Working:
    """The facts of a run, laid out by what they pass, and the rules each of whose conditions has a fact."""

    def __init__(self, program: Program) -> None:
        self._sieves = program.sieves
        self._by_mask: dict[str, dict[int, list[Fact]]] = {kind: {} for kind in program.sieves}
        self._passed = dict.fromkeys(program.sieves, 0)  # for each kind, the bits that some fact passes
        self._waiting = program.waiting
        self._lacking = program.lacking.copy()
        self._ready: dict[str, list[Matcher]] = {layer: [] for layer in LAYERS}

    def ready(self, layer: str, new: set[str] | None = None) -> list[Matcher]:
        """The rules of a layer each of whose conditions has a fact; with `new`, those that read one of these kinds."""
        ready = self._ready[layer]
        return ready.copy() if new is None else [matcher for matcher in ready if not new.isdisjoint(matcher.kinds)]

    def add(self, facts: Iterable[Fact]) -> set[str]:
        """Take facts in; gives the kinds of those that pass something. ValueError names a fact that cannot be read."""
        touched: set[str] = set()
        for fact in facts:
            sieve = self._sieves.get(fact.kind)
            if sieve is None:
                continue
            try:
                mask = sieve.passed(fact.fields)
            except ValueError as fault:
                raise ValueError(f"the fact {fact.id} cannot be read by rules: {fault}") from fault
            if mask:
                by_mask = self._by_mask[fact.kind]
                if mask in by_mask:
                    by_mask[mask].append(fact)
                else:
                    by_mask[mask] = [fact]
                    self._count(fact.kind, mask)
                touched.add(fact.kind)
        return touched

    def _count(self, kind: str, mask: int) -> None:
        """The first fact for a condition brings every rule with that condition one step nearer."""
        fresh = mask & ~self._passed[kind]
        self._passed[kind] |= mask
        waiting, lacking = self._waiting[kind], self._lacking
        while fresh:
            bit = fresh & -fresh
            fresh ^= bit
            for matcher in waiting.get(bit, ()):
                number = matcher.number
                lacking[number] -= 1
                if not lacking[number]:
                    self._ready[matcher.rule.layer].append(matcher)

    def passing(self, kind: str, bit: int) -> list[Fact]:
        """The facts of a kind that pass a condition."""
        return [fact for mask, facts in self._by_mask[kind].items() if mask & bit for fact in facts]


@dataclass(frozen=True, slots=True)
class _Part:
    """One condition of a rule as the engine has it: its name, who passes it, which fields are sent, and as what."""

    name: str
    kind: str
    bit: int
    head: str  # the mark that every message for it carries
    sent: tuple[tuple[str, str], ...]  # field, and the property that carries it, as it is written in a message
    joined: tuple[tuple[str, str], ...]  # variable and field that must have its word

    def messages(self, facts: Iterable[Fact]) -> list[str]:
        """What is sent of each fact, after its id."""
        texts = []
        for fact in facts:
            text = self.head
            for name, property in self.sent:
                value = fact.fields.get(name)
                if value is not None:
                    text += property + _json(value)
            texts.append(text + "}")
        return texts


@dataclass
class Matcher:
    """One rule, compiled: `positive` in the order of rule.when; `looked`: something must be reported; `negated`."""

    number: int  # its place in the order of firings
    rule: Rule
    positive: list[_Part] = field(default_factory=list)
    looked: list[_Part] = field(default_factory=list)
    negated: list[_Part] = field(default_factory=list)
    conditions: list[dict[str, Any]] = field(default_factory=list)  # in the engine's language

    def __post_init__(self) -> None:
        self._lock = threading.Lock()
        self.kinds = frozenset(condition.kind for condition in self.rule.when)
        # Nothing to join or compare: what passes the sieve fires it.
        self.alone = len(self.rule.when) == 1 and not self.rule.unless and all(
            test.op == BIND or not any(test.variables()) for test in self.rule.when[0].tests
        )

    @cached_property
    def joined(self) -> list[tuple[int, str, str]]:
        """Place of a condition that must be there, variable and field, for each field that has to be some other's word."""
        return [(place, *one) for place, part in enumerate(self.positive) for one in part.joined]

    @cached_property
    def beside(self) -> tuple[_Part, ...]:
        """The conditions whose facts only stand by: they defeat a rule, or show that something was reported."""
        return (*self.negated, *self.looked)

    def wanted(self) -> set[tuple[str, int]]:
        """Kind and bit of each condition that must have a fact."""
        return {(part.kind, part.bit) for part in (*self.positive, *self.looked)}

    def match(self, working: Working) -> list[tuple[Fact, ...]]:
        """Every set of facts that the rule fires with, each in the order of rule.when."""
        there = [working.passing(part.kind, part.bit) for part in self.positive]
        if self.alone:
            return [(fact,) for fact in there[0]]
        shared = self._share(there) if self.joined else {}
        if not all(there):
            return []
        texts: list[str] = []
        for part in self.beside:  # here only what is joined matters, so what looks alike is sent once
            facts = working.passing(part.kind, part.bit)
            for variable, name in part.joined:
                facts = [fact for fact in facts if fact.fields.get(name) in shared[variable]]
            texts += dict.fromkeys(part.messages(facts))
        before = len(texts)
        sent: list[Fact] = []
        for part, facts in zip(self.positive, there, strict=True):
            texts += part.messages(facts)
            sent += facts
        ids = MESSAGE_IDS.first(len(texts))
        messages = ",".join([f'{{"id":"{id}"{text}' for id, text in zip(ids, texts, strict=True)])
        with self._lock:
            frames = self._frames(f"[{messages}]")
        if not frames:
            return []
        fact_of = dict(zip(ids[before:], sent, strict=True))
        return [tuple([fact_of[frame[part.name]["id"]] for part in self.positive]) for frame in frames]

    def _share(self, there: list[list[Fact]]) -> dict[str, set[Value | None]]:
        """Leave out facts that cannot join, because no other condition has their block; gives what each variable may be."""
        shared: dict[str, set[Value | None]] = {}
        for place, variable, name in self.joined:
            values = {fact.fields.get(name) for fact in there[place]}
            shared[variable] = shared[variable] & values if variable in shared else values
        if len(there) > 1:
            for place, variable, name in self.joined:
                common = shared[variable]
                there[place] = [fact for fact in there[place] if fact.fields.get(name) in common]
        return shared

    def _frames(self, messages: str) -> list[dict[str, Any]]:
        """One session of the engine: everything sent, every firing taken."""
        handle = self._handle
        _, state = engine.assert_fact(handle, _GUARD)
        frames: list[dict[str, Any]] = []
        try:
            engine.assert_facts(handle, messages)
        finally:
            started = engine.start_action_for_state(handle, state)
            text = started[1] if started else None
            while text:
                if text.startswith(_RULE):
                    frames.extend(json.loads(text)["rule"])
                text = engine.complete_and_start_action(handle, state)
            engine.delete_state(handle, _SID)
        return frames

    @cached_property
    def _handle(self) -> int:
        guard = {"all": [{"m": {"$ex": {"guard": 1}}}]}
        # One message may show that two things were looked for, which the engine forbids unless `dist` is off.
        rule = {"all": self.conditions, "cap": MOST_AT_ONCE, "dist": 0}
        handle: int = engine.create_ruleset("rule", json.dumps({"guard": guard, "rule": rule}))
        return handle

    def close(self) -> None:
        if "_handle" in self.__dict__:
            engine.delete_ruleset(self._handle)


_written: dict[str, str] = {}


def _json(value: Value) -> str:
    if isinstance(value, str):
        text = _written.get(value)
        if text is None:
            if len(_written) > 100_000:
                _written.clear()
            text = _written[value] = json.dumps(value)
        return text
    if isinstance(value, bool):
        return "true" if value else "false"
    return written_plainly(value)


class Program:
    """Rules compiled for one set of figures. OverLimit names a rule that the engine cannot hold."""

    def __init__(self, rules: Iterable[Rule], resolver: Resolver) -> None:
        self.resolver = resolver
        self.sieves: dict[str, Sieve] = {}
        self.matchers = tuple(self._compiled(number, rule) for number, rule in enumerate(rules))
        # How many conditions of each rule lack a fact before any is known, and which rules wait for each condition.
        self.lacking = [len(matcher.wanted()) for matcher in self.matchers]
        self.waiting: dict[str, dict[int, list[Matcher]]] = {kind: {} for kind in self.sieves}
        for matcher in self.matchers:
            for kind, bit in matcher.wanted():
                self.waiting[kind].setdefault(bit, []).append(matcher)

    @cached_property
    def doubt(self) -> Doubt:
        return Doubt((matcher.rule for matcher in self.matchers), self.resolver)

    def close(self) -> None:
        for matcher in self.matchers:
            matcher.close()

    def _compiled(self, number: int, rule: Rule) -> Matcher:
        matcher = Matcher(number, rule)
        where: Where = {}
        parts: list[dict[str, Any]] = []
        for place, condition in enumerate(map(self.resolver.condition, rule.when)):
            part, body = self._part(f"c{place}", condition.kind, condition.tests, where, place)
            matcher.positive.append(part)
            parts.append({part.name: body})
        negated: list[dict[str, Any]] = []
        for place, condition in enumerate(map(self.resolver.condition, rule.unless)):
            kind = self.resolver.kinds[condition.kind]
            surely = condition.kind in rule.even_if_not_seen
            if kind.of == "observed" and not surely:
                about = [test for test in condition.tests if test.field in kind.about]
                part, body = self._part(f"s{place}", condition.kind, about, where)
                matcher.looked.append(part)
                parts.append({part.name: body})
            for variant, lacking in enumerate(_lackings(condition, kind, surely)):
                name = f"n{place}x{variant}"
                part, body = self._part(name, condition.kind, condition.tests, where, None, lacking, not surely)
                matcher.negated.append(part)
                negated.append({f"{part.name}$not": body})
        parts.extend(negated)  # what must be there comes before what must not
        if len(parts) > MOST_CONDITIONS:
            raise OverLimit(
                f"the rule {rule.id} takes {len(parts)} conditions in the engine; at most {MOST_CONDITIONS} work",
                rule.id,
            )
        matcher.conditions = parts
        return matcher

    def _part(
        self,
        name: str,
        kind: str,
        tests: Sequence[Test],
        where: Where,
        number: int | None = None,
        lacking: frozenset[str] = frozenset(),
        possible: bool = False,
    ) -> tuple[_Part, dict[str, Any]]:
        """One condition, and its body in the engine's language. number: its place under `when`, where it may bind."""
        asked = [Asked(missing, LACKING) for missing in lacking]
        sent: dict[str, str] = {}
        joined: list[tuple[str, str]] = []
        joins: list[dict[str, Any]] = []
        within: list[dict[str, Any]] = []

        def split(test: Test) -> None:
            """Put a test where it is settled: with what the fact is asked by itself, or with the joins."""
            if test.op == BIND:
                assert isinstance(test.bound, Var)
                asked.append(Asked(test.field, "known"))  # a missing field would stop the join, so it has to be there
                if number is not None:
                    where[test.bound.name] = number, sent.setdefault(test.field, f"f{len(sent)}")
                    joined.append((test.bound.name, test.field))
            elif not any(test.variables()):
                asked.append(Asked(test.field, test.op, test.bound, possible))
            elif test.op == "between":
                for op, end in zip(("at-least", "at-most"), test.bounds(), strict=True):
                    split(Test(test.field, op, end))
            else:
                assert isinstance(test.bound, Var)
                place, property = where[test.bound.name]
                own = sent.setdefault(test.field, f"f{len(sent)}")
                if place == number:  # two numbers of one fact
                    within.append({_ENGINE_OP[test.op]: {own: {"$m": property}}})
                elif test.op == "is":
                    joins.append({own: {f"c{place}": property}})
                    joined.append((test.bound.name, test.field))
                else:
                    joins.append({_ENGINE_OP[test.op]: {own: {f"c{place}": property}}})

        for test in tests:
            if test.field not in lacking:
                split(test)
        if kind not in self.sieves:
            self.sieves[kind] = Sieve(self.resolver.kinds[kind])
        written = tuple([(known, f',"{property}":') for known, property in sent.items()])
        part = _Part(name, kind, self.sieves[kind].bit(asked), f',"{name}":1', written, tuple(joined))
        # When the last join of several fails, the engine reads on past the end; so the last is one that holds already.
        return part, {"$and": [{"$ex": {name: 1}}, *within, *joins, *joins[:1]]}


_ENGINE_OP = {"at-least": "$gte", "above": "$gt", "at-most": "$lte", "below": "$lt", "is-not": "$neq"}


def _lackings(condition: Condition, kind: Kind, surely: bool) -> list[frozenset[str]]:
    """Which joined fields may be missing: one negated condition for each possibility."""
    if surely:
        return [frozenset()]
    joined = sorted({test.field for test in condition.tests if any(test.variables()) and test.field not in kind.about})
    return [frozenset(chosen) for size in range(len(joined) + 1) for chosen in combinations(joined, size)]
