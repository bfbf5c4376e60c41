"""Rules compiled for durable-rules.

- What a condition asks of a fact by itself is settled by a sieve. A rule is run only when each of its conditions has a
  fact, and is sent those facts only, each as a message that holds the mark of its condition and the words and numbers
  that the joins need. Joins, comparisons between facts and negation are the engine's.
- Conditions are written for the engine by how they join alone, so that rules of one shape share a ruleset. All that has
  to be the same in two conditions is one property, so that few shapes do.
- Under `unless` a fact counts that passes or might pass: a condition there asks whether each test is possible, that is,
  true or the field missing. Where a joined field may be missing there is a negated condition for that as well.
- Negated conditions that join alike are one for the engine: what passes any of them defeats the rule.
  Where no fact might defeat it, a rule goes to the ruleset of its shape without negations.
- Over an observed kind, `unless` also needs something to have been reported about what it asks for.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations
from typing import Any

from advisor.bounds import Resolver
from advisor.conditions import BIND, CONSIDERED, LAYERS, Condition, Kind, Rule, Test, Var
from advisor.fact import Fact
from advisor.sessions import FIRST, MOST_TOGETHER, Ruleset
from advisor.sieve import LACKING, Asked, Doubt, Sieve
from advisor.working import Batch, Layer, Matcher, Part, Working

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
        rules = tuple(rules)
        asked = Counter(condition.kind for rule in rules for condition in rule.conditions())
        # What a rule considers is one practice of many; other than that, a kind that few ask for is rare.
        rarity = {kind: 0 if kind == CONSIDERED else number for kind, number in asked.items()}
        self.matchers = tuple([self._compiled(number, rule, rarity) for number, rule in enumerate(rules)])
        self._layers = {layer: Layer(one for one in self.matchers if one.rule.layer == layer) for layer in LAYERS}

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
            ruleset = matcher.send(working, batches)
            if ruleset is not None and len(batches[ruleset].texts) > MOST_TOGETHER:
                yield from self._fired(ruleset, batches.pop(ruleset))
        for ruleset, batch in batches.items():
            yield from self._fired(ruleset, batch)

    def _fired(self, ruleset: Ruleset, batch: Batch) -> Iterator[tuple[Matcher, tuple[Fact, ...]]]:
        facts, senders = batch.facts, batch.senders
        for places in ruleset.firings(batch.texts):
            matcher = senders[places[0]]
            yield matcher, tuple([facts[place] for place in places[: matcher.size]])

    def _compiled(self, number: int, rule: Rule, rarity: Mapping[str, int]) -> Matcher:
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
        names = [f"c{place}" for place in range(len(there))]
        shape = [_written(name, draft.joins_written(name, there)) for name, draft in zip(names, there, strict=True)]
        alike = [json.dumps(draft.joins_written("n", there)) for draft in against]
        different = sorted(set(alike))
        negated = [_written(f"n{place}", json.loads(joins), "$not") for place, joins in enumerate(different)]
        if len(shape) + len(negated) > MOST_CONDITIONS:
            raise OverLimit(
                f"the rule {rule.id} takes {len(shape) + len(negated)} conditions in the engine; "
                f"at most {MOST_CONDITIONS} work",
                rule.id,
            )
        must = [draft.part(name, number) for name, draft in zip(names, there, strict=True)]
        return Matcher(
            number,
            rule,
            positive=must[: len(rule.when)],
            looked=must[len(rule.when) :],
            negated=[
                draft.part(f"n{different.index(joins)}", number) for draft, joins in zip(against, alike, strict=True)
            ],
            undefeated=self._ruleset(shape),
            doubtful=self._ruleset(shape, negated),
            rarity=rarity,
        )

    def _ruleset(self, there: list[dict[str, Any]], negated: Sequence[dict[str, Any]] = ()) -> Ruleset:
        """The ruleset of a shape: what must be there comes before what must not."""
        shape = [*there, *negated]
        return self._rulesets.setdefault(json.dumps(shape), Ruleset(shape, len(there)))

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
        draft = _Draft(kind)
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
            self.sieves[kind] = Sieve(self.resolver.kinds[kind])
        draft.bit = self.sieves[kind].bit(asked)
        return draft


@dataclass(eq=False)
class _Draft:
    """One condition while its rule is compiled: its joins, and the properties that its fields are sent as."""

    kind: str
    bit: int = 0
    joins: list[Join] = field(default_factory=list)
    joined: list[tuple[str, str]] = field(default_factory=list)
    properties: dict[tuple[str, tuple[str, ...]], str] = field(default_factory=dict)

    def property(self, fields: tuple[str, ...], use: str) -> str:
        """What some fields are sent as for one use, numbered, so that rules that join alike are written alike."""
        return self.properties.setdefault((use, fields), f"f{len(self.properties)}")

    def joins_written(self, name: str, there: Sequence[_Draft]) -> list[dict[str, Any]]:
        """The joins in the engine's language; there: the conditions that they compare with; name: of this one.

        All that has to be the same in two conditions is sent as one property. It is an empty one where a condition
        shares nothing with those before it. So few shapes do for many rules.
        """
        same: dict[int, list[tuple[str, str]]] = {}
        compared = []
        for own, op, place, other in self.joins:
            if op == "is" and there[place] is not self:
                same.setdefault(place, []).append((own, other))
            else:
                compared.append((own, op, place, other))
        if not same and name != FIRST:
            same[0] = []
        written: list[dict[str, Any]] = []
        for place, pairs in sorted(same.items()):
            owns = tuple([own for own, _ in sorted(pairs)])
            others = tuple([other for _, other in sorted(pairs)])
            written.append({self.property(owns, f"c{place}"): {f"c{place}": there[place].property(others, name)}})
        for own, op, place, other in compared:
            with_what = "$m" if there[place] is self else f"c{place}"
            test: dict[str, Any] = {
                self.property((own,), "compared"): {with_what: there[place].property((other,), "compared")}
            }
            written.append(test if op == "is" else {_ENGINE_OP[op]: test})
        return written

    def part(self, name: str, number: int) -> Part:
        """What is sent for this condition: name: what its shape calls it; number: of its rule."""
        properties: dict[tuple[str, ...], list[str]] = {}
        for (_, fields), property in self.properties.items():
            properties.setdefault(fields, []).append(f',"{property}":')
        head = f',"{name}":"{number}"' + "".join([f'{each}""' for each in properties.pop((), [])])
        around = {fields: (*each, "") for fields, each in properties.items()}
        single = tuple([(fields[0], texts) for fields, texts in around.items() if len(fields) == 1])
        several = tuple([(fields, texts) for fields, texts in around.items() if len(fields) > 1])
        return Part(self.kind, self.bit, head, single, several, tuple(self.joined))


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
