"""The plain evaluator: rules against facts by nested loops, in three values, true, false and unknown (None).

It is slow and obvious. The tests hold the engine to it, and why and why-not are told from it.

- A field that is missing is unknown; a place that is missing (a fact about a hedge has no block) fails. A test that is
  false beats one that is unknown.
- A condition under `when` is true with each fact that passes. Over an observed kind of which nothing was reported for
  these keys it is unknown; over any other kind it is then false.
- A condition under `unless` holds if no fact passes, is unknown if a fact might pass, and over an observed kind also
  when nothing was reported for these keys. Under `even-if-not-seen` unknown counts as "not there".
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from advisor.bounds import FigureUse, Resolver, figure_use
from advisor.comparisons import UNBOUND, Bindings, Truth, both, bound_by, filled, passes, truth_of
from advisor.conditions import BIND, COMPARING, PLACES, Condition, FigureRef, Kind, Rule, Test
from advisor.fact import Fact, Value


@dataclass(frozen=True, slots=True)
class Match:
    """One way to fill a rule: a fact for each condition under `when` (None: nothing reported) and each one's truth."""

    rule: Rule
    bindings: Bindings
    facts: tuple[Fact | None, ...]
    truths: tuple[Truth, ...]  # of `when`, then of `unless` (True: it holds, nothing defeats it)
    assumed: tuple[str, ...] = ()  # observed kinds taken as "not there"

    @property
    def truth(self) -> Truth:
        return both(self.truths)

    def fact_ids(self) -> tuple[str, ...]:
        return tuple(fact.id for fact in self.facts if fact is not None)


class FactIndex:
    """Facts by kind, and by kind, field and value."""

    def __init__(self, facts: Iterable[Fact]) -> None:
        self._kinds: dict[str, list[Fact]] = defaultdict(list)
        for fact in facts:
            self._kinds[fact.kind].append(fact)
        self._sorted: dict[str, list[Fact]] = {}
        self._by_value: dict[tuple[str, str], dict[Value, list[Fact]]] = {}

    def of(self, kind: str, field: str | None = None, value: Value | None = None) -> Sequence[Fact]:
        """Facts of a kind, or those with this value of a field, by their ids."""
        if field is None or value is None:
            if kind not in self._sorted:
                self._sorted[kind] = sorted(self._kinds.get(kind, ()), key=lambda fact: fact.id)
            return self._sorted[kind]
        values = self._by_value.get((kind, field))
        if values is None:
            values = self._by_value[kind, field] = defaultdict(list)
            for fact in self.of(kind):
                if field in fact.fields:
                    values[fact.fields[field]].append(fact)
        return values.get(value, ())


class Evaluator:
    """Rules with their bounds resolved for a region, against one set of facts."""

    def __init__(self, resolver: Resolver, facts: Iterable[Fact]) -> None:
        self.resolver = resolver
        self.index = FactIndex(facts)

    def fires(self, rule: Rule) -> bool:
        return next(iter(self.matches(rule)), None) is not None

    def firings(self, rule: Rule) -> list[Match]:
        """Every match that is true in all its conditions."""
        return list(self.matches(rule))

    def undecided(self, rule: Rule) -> list[Match]:
        """Every match in which nothing is false and something is unknown."""
        return [match for match in self.matches(rule, unknown_too=True) if match.truth is None]

    def matches(self, rule: Rule, unknown_too: bool = False) -> Iterator[Match]:
        when, unless, order = self.resolved(rule)
        facts: list[Fact | None] = [None] * len(when)
        truths: list[Truth] = [None] * len(when)

        def fill(step: int, bindings: Bindings) -> Iterator[Match]:
            if step == len(order):
                yield from self._close(rule, unless, bindings, tuple(facts), tuple(truths), unknown_too)
                return
            place = order[step]
            for fact, truth, after in self.candidates(when[place], bindings):
                if truth or unknown_too:
                    facts[place], truths[place] = fact, truth
                    yield from fill(step + 1, after)

        return fill(0, {})

    def _close(
        self,
        rule: Rule,
        unless: Sequence[Condition],
        bindings: Bindings,
        facts: tuple[Fact | None, ...],
        truths: tuple[Truth, ...],
        unknown_too: bool,
    ) -> Iterator[Match]:
        assumed = []
        closing: list[Truth] = []
        for condition in unless:
            truth = self.holds_against(condition, bindings)
            if truth is None and condition.kind in rule.even_if_not_seen:
                assumed.append(condition.kind)
                truth = True
            if truth is False or (truth is None and not unknown_too):
                return
            closing.append(truth)
        yield Match(rule, dict(bindings), facts, (*truths, *closing), tuple(dict.fromkeys(assumed)))

    def resolved(self, rule: Rule) -> tuple[tuple[Condition, ...], tuple[Condition, ...], tuple[int, ...]]:
        """The rule's conditions with plain bounds, and the order in which to fill those under `when`."""
        known = self.resolver.resolved.get(rule.id)
        if known is None or known[0] is not rule:
            when = tuple(map(self.resolver.condition, rule.when))
            unless = tuple(map(self.resolver.condition, rule.unless))
            order = filling_order(when, self.resolver.kinds)
            known = self.resolver.resolved[rule.id] = (rule, (when, unless, order))
        return known[1]

    def candidates(self, condition: Condition, bindings: Bindings) -> Iterator[tuple[Fact | None, Truth, Bindings]]:
        """Facts that pass or might pass a condition under `when`, each with its truth and the bindings after it."""
        keys = self.resolver.kinds[condition.kind].about
        reported = False
        for fact in self.lookup(condition, bindings):
            after = bound_by(condition, fact.fields, bindings)
            truth = passes(condition, fact.fields, after)
            if truth is not False:
                yield fact, truth, after
            reported = reported or truth is not False or self.about(condition, keys, fact, bindings)
        if not reported and self.resolver.kinds[condition.kind].of == "observed":
            yield None, None, bindings

    def holds_against(self, condition: Condition, bindings: Bindings) -> Truth:
        """Truth of a condition under `unless`: True if nothing defeats the rule."""
        kind = self.resolver.kinds[condition.kind]
        reported, doubt = False, False
        for fact in self.lookup(condition, bindings):
            truth = passes(condition, fact.fields, bindings)
            if truth:
                return False
            doubt = doubt or truth is None
            reported = reported or self.about(condition, kind.about, fact, bindings)
        return None if doubt or (kind.of == "observed" and not reported) else True

    @staticmethod
    def about(condition: Condition, keys: Sequence[str], fact: Fact, bindings: Bindings) -> bool:
        """Whether a fact is about what the condition asks for: none of its key fields fails."""
        after = bound_by(condition, fact.fields, bindings)
        return all(truth_of(test, fact.fields, after) is not False for test in condition.tests if test.field in keys)

    def lookup(self, condition: Condition, bindings: Bindings) -> Sequence[Fact]:
        """The facts that a condition has to look at: by its first key that has a value, otherwise all of the kind."""
        for test in condition.tests:
            if test.op in ("is", BIND) and test.field in self.resolver.kinds[condition.kind].about:
                value = filled(test.bound, bindings)
                if value is not UNBOUND:
                    return self.index.of(condition.kind, test.field, value)  # type: ignore[arg-type]
        return self.index.of(condition.kind)

    def assumed(self, rule: Rule, bindings: Bindings) -> tuple[str, ...]:
        """The observed kinds that the rule takes as "not there" without a look, for these bindings."""
        return tuple(
            dict.fromkeys(
                condition.kind
                for condition in self.resolved(rule)[1]
                if condition.kind in rule.even_if_not_seen and self.holds_against(condition, bindings) is None
            )
        )

    def missing(self, match: Match) -> Iterator[tuple[str, str | None, tuple[tuple[str, Value], ...], str | None]]:
        """What an undecided match lacks: kind, field (None: the whole report), keys as far as known, id of the fact."""
        when, unless, _ = self.resolved(match.rule)
        for condition, fact, truth in zip(when, match.facts, match.truths, strict=False):
            if truth is None:
                yield from self._lacking(condition, [fact] if fact else [], match.bindings)
        for condition, truth in zip(unless, match.truths[len(when) :], strict=True):
            if truth is None:
                doubtful = [
                    fact
                    for fact in self.lookup(condition, match.bindings)
                    if passes(condition, fact.fields, match.bindings) is None
                ]
                yield from self._lacking(condition, doubtful, match.bindings)

    def _lacking(
        self, condition: Condition, facts: Sequence[Fact], bindings: Bindings
    ) -> Iterator[tuple[str, str | None, tuple[tuple[str, Value], ...], str | None]]:
        keys = self.resolver.kinds[condition.kind].about
        for fact in facts:
            about = tuple((key, fact.fields[key]) for key in keys if key in fact.fields)
            for test in condition.tests:
                if test.field not in fact.fields and test.op != "known" and test.field not in PLACES:
                    yield condition.kind, test.field, about, fact.id
        if not facts:
            asked: list[list[tuple[str, Value]]] = []
            for test in condition.tests:
                value = filled(test.bound, bindings)
                if test.field in keys and test.op in ("is", BIND, "in") and value is not UNBOUND:
                    values = value if isinstance(value, tuple) else (value,)
                    asked.append([(test.field, each) for each in values])
            for combination in product(*asked):
                yield condition.kind, None, combination, None

    def explain(self, rule: Rule, bindings: Bindings | None = None) -> list[ConditionState]:
        """Each condition of a rule with the fact that comes nearest, its tests, observed, expected and margin."""
        when, unless, order = self.resolved(rule)
        known: Bindings = dict(bindings or {})
        states: dict[int, ConditionState] = {}
        for place in order:
            state = self._nearest(when[place], rule.when[place], known, False)
            states[place] = state
            if state.fact is not None:
                fact = next(fact for fact in self.index.of(state.condition.kind) if fact.id == state.fact)
                known = bound_by(when[place], fact.fields, known)
        result = [states[place] for place in range(len(when))]
        for resolved, written in zip(unless, rule.unless, strict=True):
            result.append(self._nearest(resolved, written, known, True))
        return result

    def _nearest(self, condition: Condition, written: Condition, bindings: Bindings, negated: bool) -> ConditionState:
        best: tuple[tuple[float, ...], ConditionState] | None = None
        keys = self.resolver.kinds[condition.kind].about
        for fact in self.lookup(condition, bindings):
            if not self.about(condition, keys, fact, bindings):
                continue
            after = bound_by(condition, fact.fields, bindings)
            tests = tuple(
                self._test_state(condition.kind, test, as_written, fact.fields, after)
                for test, as_written in zip(condition.tests, written.tests, strict=True)
            )
            state = ConditionState(written, negated, both(test.state for test in tests), fact.id, tests)
            failed = [test for test in tests if test.state is False]
            rank = (
                len(failed),
                sum(test.state is None for test in tests),
                sum(abs(test.margin or 0.0) for test in failed),
            )
            if best is None or rank < best[0]:
                best = rank, state
        if best is None:
            truth: Truth = None if self.resolver.kinds[condition.kind].of == "observed" else False
            tests = tuple(
                self._test_state(condition.kind, test, as_written, {}, bindings)
                for test, as_written in zip(condition.tests, written.tests, strict=True)
            )
            best = (), ConditionState(written, negated, truth, None, tests)
        state = best[1]
        if not negated:
            return state
        return ConditionState(written, True, self.holds_against(condition, bindings), state.fact, state.tests)

    def _test_state(
        self, kind: str, test: Test, written: Test, fields: Mapping[str, Value], bindings: Bindings
    ) -> TestState:
        unit = self.resolver.field(kind, test.field).unit
        observed = fields.get(test.field)
        expected = filled(test.bound, bindings)
        ids = tuple(bound.id for bound in written.bounds() if isinstance(bound, FigureRef))
        return TestState(
            test.field,
            test.op,
            truth_of(test, fields, bindings),
            observed,
            None if expected is UNBOUND else expected,
            unit,
            _margin(test.op, observed, expected),
            tuple(figure_use(self.resolver.figures, id, self.resolver.region, unit) for id in ids),
        )


@dataclass(frozen=True, slots=True)
class TestState:
    """One test against one fact. margin: by how much it passes (positive) or fails, in `unit`; None where not a number."""

    field: str
    op: str
    state: Truth
    observed: Value | None
    expected: object
    unit: str
    margin: float | None
    figures: tuple[FigureUse, ...] = ()


@dataclass(frozen=True, slots=True)
class ConditionState:
    """One condition with the fact that comes nearest. For a negated one, state True means that it does not stand in the way."""

    condition: Condition
    negated: bool
    state: Truth
    fact: str | None
    tests: tuple[TestState, ...]


def _margin(op: str, observed: Value | None, expected: object) -> float | None:
    if op not in COMPARING or observed is None or expected is UNBOUND:
        return None
    number = float(observed)
    if isinstance(expected, tuple):
        return min(number - float(expected[0]), float(expected[1]) - number)
    limit = float(expected)  # type: ignore[arg-type]
    return number - limit if op in ("at-least", "above") else limit - number


def filling_order(when: Sequence[Condition], kinds: Mapping[str, Kind]) -> tuple[int, ...]:
    """Conditions over observed kinds last, so that what is lacking can be asked for by its keys; bounds after their variable."""
    left = list(range(len(when)))
    bound: set[str] = set()
    order: list[int] = []

    def ready(place: int) -> bool:
        own = {name for test in when[place].tests if test.op == BIND for name in test.variables()}
        needed = {name for test in when[place].tests if test.op not in (BIND, "is") for name in test.variables()}
        return needed <= bound | own

    while left:
        waiting = [place for place in left if ready(place)] or left[:1]
        place = next((place for place in waiting if kinds[when[place].kind].of != "observed"), waiting[0])
        left.remove(place)
        order.append(place)
        bound.update(name for test in when[place].tests if test.op in (BIND, "is") for name in test.variables())
    return tuple(order)
