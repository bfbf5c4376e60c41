"""Rules compiled for durable-rules.

- What a condition asks of a fact by itself is settled by a sieve. A rule is run only when each of its conditions has a
  fact, and is sent those facts only, each as a message that holds the mark of its condition and the words and numbers
  that the joins need. Joins, comparisons between facts and negation are the engine's.
- Conditions are written for the engine by how they join alone, so that rules of one shape share a ruleset.
- Under `unless` a fact counts that passes or might pass: a condition there asks whether each test is possible, that is,
  true or the field missing. Where a joined field may be missing there is a negated condition for that as well.
- Negated conditions that join alike are one for the engine: what passes any of them defeats the rule.
- Over an observed kind, `unless` also needs something to have been reported about what it asks for.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations, count
from typing import Any

from advisor.bounds import Resolver
from advisor.conditions import BIND, LAYERS, Condition, Kind, Rule, Test, Var
from advisor.fact import Fact
from advisor.sessions import FIRST, MESSAGE_IDS, MOST_TOGETHER, Ruleset
from advisor.sieve import LACKING, Asked, Doubt, Sieve
from advisor.working import Batch, Matcher, Part, Working

MOST_CONDITIONS = 16  # in one rule, as the engine counts them

Where = dict[str, tuple[int, str]]  # variable: the condition and the field that give it its value
Join = tuple[str, str, int, str]  # a field, how it is compared, and the condition and field that it is compared with


class OverLimit(ValueError):
    """A rule that the engine cannot hold; `rule` is its id."""

    def __init__(self, message: str, rule: str) -> None:
        self.rule = rule
        super().__init__(message)


class Program:
    """Rules compiled for one set of figures. OverLimit names a rule that the engine cannot hold."""

    def __init__(self, rules: Iterable[Rule], resolver: Resolver) -> None:
        self.resolver = resolver
        self.sieves: dict[str, Sieve] = {}
        self._rulesets: dict[str, Ruleset] = {}
        self._numbers = count()  # of the conditions, over all kinds
        self.matchers = tuple(self._compiled(number, rule) for number, rule in enumerate(rules))
        asked = Counter(condition.kind for matcher in self.matchers for condition in matcher.rule.conditions())
        kind_of = {number: kind for kind, sieve in self.sieves.items() for number in sieve.numbers(sieve.every)}
        for matcher in self.matchers:  # a kind that few ask for rules out most
            matcher.wanted.sort(key=lambda number: asked[kind_of[number]])
        self._layers = {layer: [one for one in self.matchers if one.rule.layer == layer] for layer in LAYERS}

    @cached_property
    def doubt(self) -> Doubt:
        return Doubt((matcher.rule for matcher in self.matchers), self.resolver)

    def working(self) -> Working:
        return Working(self.sieves, self._layers)

    def close(self) -> None:
        for ruleset in self._rulesets.values():
            ruleset.close()

    def matched(self, matchers: Iterable[Matcher], working: Working) -> Iterator[tuple[Matcher, tuple[Fact, ...]]]:
        """Every set of facts that one of these rules fires with, each in the order of rule.when."""
        batches: dict[Ruleset, Batch] = {}
        for matcher in matchers:
            batch = batches.setdefault(matcher.ruleset, Batch())
            matcher.send(working, batch)
            if len(batch.texts) > MOST_TOGETHER:
                yield from self._fired(matcher.ruleset, batches.pop(matcher.ruleset))
        for ruleset, batch in batches.items():
            if batch.texts:
                yield from self._fired(ruleset, batch)

    def _fired(self, ruleset: Ruleset, batch: Batch) -> Iterator[tuple[Matcher, tuple[Fact, ...]]]:
        facts, place = batch.facts, MESSAGE_IDS.place
        for frame in ruleset.frames(batch.texts):
            matcher = self.matchers[int(frame[FIRST][FIRST])]
            yield matcher, tuple([facts[place[frame[name]["id"]]] for name in matcher.names])

    def _compiled(self, number: int, rule: Rule) -> Matcher:
        where: Where = {}
        there = [
            self._draft(condition.kind, condition.tests, where, place)
            for place, condition in enumerate(map(self.resolver.condition, rule.when))
        ]
        against: list[_Draft] = []
        for condition in map(self.resolver.condition, rule.unless):
            kind = self.resolver.kinds[condition.kind]
            surely = condition.kind in rule.even_if_not_seen
            if kind.of == "observed" and not surely:
                about = [test for test in condition.tests if test.field in kind.about]
                there.append(self._draft(condition.kind, about, where))
            for lacking in _lackings(condition, kind, surely):
                against.append(self._draft(condition.kind, condition.tests, where, None, lacking, not surely))
        shape = [_written(f"c{place}", draft.joins_written(there)) for place, draft in enumerate(there)]
        alike = [json.dumps(draft.joins_written(there)) for draft in against]
        different = sorted(set(alike))
        for place, joins in enumerate(different):  # what must be there comes before what must not
            shape.append(_written(f"n{place}", json.loads(joins), "$not"))
        if len(shape) > MOST_CONDITIONS:
            raise OverLimit(
                f"the rule {rule.id} takes {len(shape)} conditions in the engine; at most {MOST_CONDITIONS} work",
                rule.id,
            )
        ruleset = self._rulesets.setdefault(json.dumps(shape), Ruleset(shape))
        must = [draft.part(f"c{place}", number) for place, draft in enumerate(there)]
        negated = [
            draft.part(f"n{different.index(joins)}", number) for draft, joins in zip(against, alike, strict=True)
        ]
        return Matcher(number, rule, ruleset, must[: len(rule.when)], must[len(rule.when) :], negated)

    def _draft(
        self,
        kind: str,
        tests: Sequence[Test],
        where: Where,
        number: int | None = None,
        lacking: frozenset[str] = frozenset(),
        possible: bool = False,
    ) -> _Draft:
        """One condition, each test put where it is settled. number: its place under `when`, where it may bind."""
        draft = _Draft()
        asked = [Asked(missing, LACKING) for missing in lacking]

        def split(test: Test) -> None:
            """Put a test where it is settled: with what the fact is asked by itself, or with the joins."""
            if test.op == BIND:
                assert isinstance(test.bound, Var)
                asked.append(Asked(test.field, "known"))  # a missing field would stop the join, so it has to be there
                if number is not None:
                    where[test.bound.name] = number, test.field
                    draft.joined.append((test.bound.name, test.field))
            elif not any(test.variables()):
                asked.append(Asked(test.field, test.op, test.bound, possible))
            elif test.op == "between":
                for op, end in zip(("at-least", "at-most"), test.bounds(), strict=True):
                    split(Test(test.field, op, end))
            else:
                assert isinstance(test.bound, Var)
                draft.joins.append((test.field, test.op, *where[test.bound.name]))
                if test.op == "is":
                    draft.joined.append((test.bound.name, test.field))

        for test in tests:
            if test.field not in lacking:
                split(test)
        if kind not in self.sieves:
            self.sieves[kind] = Sieve(self.resolver.kinds[kind], self._numbers)
        draft.condition = self.sieves[kind].number(asked)
        return draft


@dataclass(eq=False)
class _Draft:
    """One condition while its rule is compiled: its joins, and the properties that its fields are sent as."""

    condition: int = 0
    joins: list[Join] = field(default_factory=list)
    joined: list[tuple[str, str]] = field(default_factory=list)
    properties: dict[str, str] = field(default_factory=dict)

    def property(self, name: str) -> str:
        """What a field is sent as, numbered by use, so that rules that join alike are written alike."""
        return self.properties.setdefault(name, f"f{len(self.properties)}")

    def joins_written(self, there: Sequence[_Draft]) -> list[dict[str, Any]]:
        """The joins in the engine's language; there: the conditions that they compare with."""
        written = []
        for own, op, place, name in self.joins:
            other = {"$m" if there[place] is self else f"c{place}": there[place].property(name)}
            test: dict[str, Any] = {self.property(own): other}
            written.append(test if op == "is" else {_ENGINE_OP[op]: test})
        return written

    def part(self, name: str, number: int) -> Part:
        sent = tuple([(known, f',"{property}":') for known, property in self.properties.items()])
        return Part(self.condition, f',"{name}":"{number}"', sent, tuple(self.joined))


_ENGINE_OP = {"at-least": "$gte", "above": "$gt", "at-most": "$lte", "below": "$lt", "is-not": "$neq"}


def _written(name: str, joins: Sequence[dict[str, Any]], negated: str = "") -> dict[str, Any]:
    """One condition in the engine's language, for a message with its mark that is for the same rule as the first."""
    # When the last join of several fails, the engine reads on past the end; so the last is one that holds already.
    same = [] if name == FIRST else [{name: {FIRST: FIRST}}]
    return {f"{name}{negated}": {"$and": [{"$ex": {name: 1}}, *same, *joins, *same]}}


def _lackings(condition: Condition, kind: Kind, surely: bool) -> list[frozenset[str]]:
    """Which joined fields may be missing: one negated condition for each possibility."""
    if surely:
        return [frozenset()]
    joined = sorted({test.field for test in condition.tests if any(test.variables()) and test.field not in kind.about})
    return [frozenset(chosen) for size in range(len(joined) + 1) for chosen in combinations(joined, size)]
