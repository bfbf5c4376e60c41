"""The facts of a run laid out by what they pass, and what of them each rule sends to the engine."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from advisor.conditions import Rule
from advisor.fact import Fact, Value, written_plainly
from advisor.sessions import Ruleset
from advisor.sieve import Sieve


class Working:
    """The facts of a run, laid out by the conditions that they pass. Conditions are known by their numbers."""

    def __init__(self, sieves: Mapping[str, Sieve], layers: Mapping[str, Sequence[Matcher]]) -> None:
        self._sieves = sieves
        self._layers = layers
        self._alike: dict[tuple[str, int], list[Fact]] = {}  # facts of a kind that pass the same conditions
        self._passing: dict[int, list[list[Fact]]] = {}  # for each condition, those of these lists that pass it

    def add(self, facts: Iterable[Fact]) -> set[str]:
        """Take facts in; gives the kinds of those that pass something. ValueError names a fact that cannot be read."""
        touched: set[str] = set()
        for fact in facts:
            kind = fact.kind
            sieve = self._sieves.get(kind)
            if sieve is None:
                continue
            try:
                mask = sieve.passed(fact.fields)
            except ValueError as fault:
                raise ValueError(f"the fact {fact.id} cannot be read by rules: {fault}") from fault
            if mask:
                touched.add(kind)
                alike = self._alike.get((kind, mask))
                if alike is None:
                    alike = self._alike[kind, mask] = []
                    for condition in sieve.numbers(mask):
                        self._passing.setdefault(condition, []).append(alike)
                alike.append(fact)
        return touched

    def ready(self, layer: str, new: set[str] | None = None) -> list[Matcher]:
        """The rules of a layer each of whose conditions has a fact; with `new`, those that read one of these kinds."""
        passing, found = self._passing, []
        for matcher in self._layers[layer]:
            for condition in matcher.wanted:
                if condition not in passing:
                    break
            else:
                if new is None or not new.isdisjoint(matcher.kinds):
                    found.append(matcher)
        return found

    def passing(self, condition: int) -> list[Fact]:
        """The facts that pass a condition. Not to be changed."""
        lists = self._passing.get(condition, _NONE)
        return lists[0] if len(lists) == 1 else [fact for facts in lists for fact in facts]


_NONE: Sequence[list[Fact]] = ()


@dataclass(slots=True)
class Batch:
    """What goes into one session: messages without their ids, and the fact that each is about."""

    texts: list[str] = field(default_factory=list)
    facts: list[Fact] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Part:
    """One condition of a rule as the engine has it: who passes it, which fields are sent, and as what."""

    condition: int
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
    ruleset: Ruleset
    positive: list[Part]
    looked: list[Part]
    negated: list[Part]

    def __post_init__(self) -> None:
        self.kinds = frozenset(condition.kind for condition in self.rule.when)
        self.names = [f"c{place}" for place in range(len(self.positive))]
        # What only stands by: it defeats a rule, or shows that something was reported. What defeats comes first.
        self.beside = (*self.negated, *self.looked)
        # The conditions that must have a fact; those of rare kinds come first.
        self.wanted: list[int] = [part.condition for part in (*self.positive, *self.looked)]
        parts = (*self.positive, *self.beside)
        uses = Counter(variable for part in parts for variable, _ in part.joined)
        # For each field that has to be some other's word: place of its condition, variable and field.
        self.joined = [
            (place, variable, name)
            for place, part in enumerate(self.positive)
            for variable, name in part.joined
            if uses[variable] > 1
        ]

    def send(self, working: Working, batch: Batch) -> None:
        """Add what the engine has to see of the facts, unless some condition is left without any."""
        there = [working.passing(part.condition) for part in self.positive]
        beside = [(part, facts) for part in self.beside if (facts := working.passing(part.condition))]
        if self.joined and (beside or max(map(len, there)) > 1):
            shared = self._share(there)
            if not all(there):
                return
        for part, facts in beside:  # here only what is joined matters, so what looks alike is sent once
            for variable, name in part.joined:
                facts = [fact for fact in facts if fact.fields.get(name) in shared[variable]]
            told = dict(zip(part.messages(facts), facts, strict=True))
            batch.texts += told
            batch.facts += told.values()
        for part, facts in zip(self.positive, there, strict=True):
            batch.texts += part.messages(facts)
            batch.facts += facts

    def _share(self, there: list[list[Fact]]) -> dict[str, set[Value | None]]:
        """Leave out facts that cannot join, because no other condition has their block; gives what each variable may be."""
        shared: dict[str, set[Value | None]] = {}
        for place, variable, name in self.joined:
            values = {fact.fields.get(name) for fact in there[place]}
            shared[variable] = shared[variable] & values if variable in shared else values
        for place, variable, name in self.joined:
            common = shared[variable]
            there[place] = [fact for fact in there[place] if fact.fields.get(name) in common]
        return shared


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
