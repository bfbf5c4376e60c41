"""The facts of a run laid out by what they pass, and what of them each rule sends to the engine."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import InitVar, dataclass, field
from typing import TypeVar

from advisor.conditions import Rule
from advisor.fact import Fact, Value, written_plainly
from advisor.sessions import Ruleset
from advisor.sieve import MOST_LEARNT, Sieve


class Working:
    """The facts of a run, laid out by the conditions that they pass. A condition is a kind and a bit of its sieve."""

    def __init__(self, sieves: Mapping[str, Sieve], layers: Mapping[str, Layer]) -> None:
        self._layers = layers
        self._sieves = sieves
        self._alike: dict[str, dict[int, list[Fact]]] = {}  # facts of a kind by what they pass
        self._passed: dict[str, int] = {}  # what any fact of a kind passes

    def add(self, facts: Iterable[Fact]) -> set[str]:
        """Take facts in; gives the kinds of those that pass something. ValueError names a fact that cannot be read."""
        by_kind: dict[str, list[Fact]] = {}
        for fact in facts:
            kind = fact.kind
            if kind in by_kind:
                by_kind[kind].append(fact)
            else:
                by_kind[kind] = [fact]
        return {kind for kind, those in by_kind.items() if kind in self._sieves and self._add(kind, those)}

    def _add(self, kind: str, facts: Iterable[Fact]) -> bool:
        passed, alike = self._sieves[kind].passed, self._alike.setdefault(kind, {})
        any_mask = 0
        for fact in facts:
            try:
                mask = passed(fact.fields)
            except ValueError as fault:
                raise ValueError(f"the fact {fact.id} cannot be read by rules: {fault}") from fault
            any_mask |= mask
            if mask in alike:
                alike[mask].append(fact)
            elif mask:
                alike[mask] = [fact]
        if any_mask:
            self._passed[kind] = self._passed.get(kind, 0) | any_mask
        return any_mask != 0

    def ready(self, layer: str, new: set[str] | None = None) -> list[Matcher]:
        """The rules of a layer each of whose conditions has a fact; with `new`, those that read one of these kinds."""
        passed, found = self._passed, []
        for matcher in self._layers[layer].waiting(passed, new):
            for kind, bit in matcher.rest:
                if not passed.get(kind, 0) & bit:
                    break
            else:
                found.append(matcher)
        return found

    def passing(self, part: Part) -> Sequence[Fact]:
        """The facts that pass a condition. Not to be changed."""
        found: Sequence[Fact] = ()
        bit = part.bit
        for mask, facts in self._alike.get(part.kind, _NONE).items():
            if mask & bit:
                found = [*found, *facts] if found else facts
        return found


_NONE: Mapping[int, list[Fact]] = {}


@dataclass(slots=True)
class Batch:
    """What goes into one session: messages without their ids, the fact that each is about, and whose it is."""

    texts: list[str] = field(default_factory=list)
    facts: list[Fact] = field(default_factory=list)
    senders: list[Matcher] = field(default_factory=list)


Fields = TypeVar("Fields")
Sent = tuple[Fields, tuple[str, ...]]  # what is sent, and the text before, between and after each time that it is sent


@dataclass(frozen=True, slots=True)
class Part:
    """One condition of a rule as the engine has it: who passes it, which fields are sent, and as what."""

    kind: str
    bit: int  # of its sieve
    head: str  # what every message for it begins with
    single: tuple[Sent[str], ...]  # a field
    several: tuple[Sent[tuple[str, ...]], ...]  # fields that are sent together
    joined: tuple[tuple[str, str], ...]  # variable and field that must have its word

    def add_unlike(
        self, facts: Sequence[Fact], shared: Mapping[str, set[Value | None]], texts: list[str], about: list[Fact]
    ) -> None:
        """Add the messages of those facts that can join, where only what is joined matters: what looks alike is sent once."""
        for variable, name in self.joined:
            facts = [fact for fact in facts if fact.fields.get(name) in shared[variable]]
        told = dict(zip(self.messages(facts), facts, strict=True))
        texts += told
        about += told.values()

    def messages(self, facts: Sequence[Fact]) -> list[str]:
        """What is sent of each fact, after its id."""
        texts = []
        for fact in facts:
            text, fields = self.head, fact.fields
            for name, around in self.single:
                value = fields.get(name)
                if value is not None:
                    text += (_words.get(value) or _json(value)).join(around)
            for names, around in self.several:
                values = tuple([fields[name] for name in names if name in fields])
                if len(values) == len(names):
                    text += (_words.get(values) or _json(values)).join(around)
            texts.append(text + "}")
        return texts


@dataclass(eq=False, slots=True)
class Matcher:
    """One rule, compiled.

    number      its place in the order of firings
    positive    in the order of rule.when
    looked      something must be reported
    negated     nothing must be there
    undefeated  the ruleset that it goes to when nothing might defeat it
    doubtful    the one that it goes to otherwise
    rarity      of each kind of fact, the rarest lowest
    """

    number: int
    rule: Rule
    positive: list[Part]
    looked: list[Part]
    negated: list[Part]
    undefeated: Ruleset
    doubtful: Ruleset
    rarity: InitVar[Mapping[str, int]]
    size: int = field(init=False)
    first: tuple[str, int] = field(init=False)  # kind and bit of what must be there; what is rare comes first
    rest: tuple[tuple[str, int], ...] = field(init=False)
    joined: list[tuple[int, str, str]] = field(init=False)

    def __post_init__(self, rarity: Mapping[str, int]) -> None:
        self.size = len(self.positive)
        wanted = [(part.kind, part.bit) for part in (*self.positive, *self.looked)]
        self.first, *rest = sorted(wanted, key=lambda one: rarity[one[0]])
        self.rest = tuple(rest)
        parts = (*self.positive, *self.looked, *self.negated)
        uses = Counter(variable for part in parts for variable, _ in part.joined)
        # For each field that has to be some other's word: place of its condition, variable and field.
        self.joined = [
            (place, variable, name)
            for place, part in enumerate(self.positive)
            for variable, name in part.joined
            if uses[variable] > 1
        ]

    def kinds(self) -> set[str]:
        return {condition.kind for condition in self.rule.when}

    def send(self, working: Working, batches: dict[Ruleset, Batch]) -> Ruleset | None:
        """Add what the engine has to see of the facts, and tell where; None if some condition is left without any."""
        passing = working.passing
        there = [passing(part) for part in self.positive]
        # What only stands by: it defeats the rule, or shows that something was reported. What defeats is sent first.
        against = [(part, facts) for part in self.negated if (facts := passing(part))]
        looked = [(part, passing(part)) for part in self.looked]
        shared: Mapping[str, set[Value | None]] = {}
        if self.joined and (against or looked or max(map(len, there)) > 1):
            joining = self._share(there)
            if joining is None:
                return None
            shared = joining
        texts: list[str] = []
        about: list[Fact] = []
        for part, facts in against:
            part.add_unlike(facts, shared, texts, about)
        ruleset = self.doubtful if texts else self.undefeated
        for part, facts in looked:
            part.add_unlike(facts, shared, texts, about)
        for part, facts in zip(self.positive, there, strict=True):
            texts += part.messages(facts)
            about += facts
        batch = batches.get(ruleset)
        if batch is None:
            batch = batches[ruleset] = Batch()
        batch.texts += texts
        batch.facts += about
        batch.senders += [self] * len(texts)
        return ruleset

    def _share(self, there: list[Sequence[Fact]]) -> dict[str, set[Value | None]] | None:
        """Leave out facts that cannot join, because no other condition has their block; gives what each variable may be.

        None if nothing is left of some condition.
        """
        shared: dict[str, set[Value | None]] = {}
        joined = []
        for place, variable, name in self.joined:
            facts = there[place]
            values = {fact.fields.get(name) for fact in facts} if len(facts) > 1 else {facts[0].fields.get(name)}
            common = shared[variable] = shared[variable] & values if variable in shared else values
            if not common:
                return None
            joined.append((place, variable, name, len(values)))
        for place, variable, name, different in joined:
            common = shared[variable]
            if len(common) < different:
                left = there[place] = [fact for fact in there[place] if fact.fields.get(name) in common]
                if not left:
                    return None
        return shared


class Layer:
    """The rules of a layer, by the first condition that each wants and by the kinds that each reads."""

    def __init__(self, matchers: Iterable[Matcher]) -> None:
        self._first: dict[str, list[tuple[int, Matcher]]] = {}
        self._reading: dict[str, list[Matcher]] = {}
        self._learnt: dict[tuple[str, int], list[Matcher]] = {}
        for matcher in matchers:
            kind, bit = matcher.first
            self._first.setdefault(kind, []).append((bit, matcher))
            for kind in matcher.kinds():
                self._reading.setdefault(kind, []).append(matcher)

    def waiting(self, passed: Mapping[str, int], new: set[str] | None) -> list[Matcher]:
        """The rules whose first condition has a fact; with `new`, those that read one of these kinds."""
        if new is not None:
            told = [matcher for kind in sorted(new & self._reading.keys()) for matcher in self._reading[kind]]
            return [matcher for matcher in dict.fromkeys(told) if passed.get(matcher.first[0], 0) & matcher.first[1]]
        found, learnt = [], self._learnt
        for kind, rules in self._first.items():
            mask = passed.get(kind)
            if mask is not None:
                matchers = learnt.get((kind, mask))
                if matchers is None:
                    if len(learnt) > MOST_LEARNT:
                        learnt.clear()
                    matchers = learnt[kind, mask] = [matcher for bit, matcher in rules if mask & bit]
                found += matchers
        return found


_words: dict[Value | tuple[Value, ...], str] = {}  # texts, and several values together, as JSON


def _json(value: Value | tuple[Value, ...]) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return written_plainly(value)
    if len(_words) > 100_000:
        _words.clear()
    text = _words[value] = json.dumps(value if isinstance(value, str) else ",".join(map(_json, value)))
    return text
