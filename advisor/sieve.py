"""Which conditions on one kind a fact passes by itself, before any joins, as the bits of a whole number.

Each condition has a bit. For each field, the bits of the conditions that a value lets through are worked out once for
each distinct word and flag, and for a number once for each stretch between the bounds that rules compare it with; a fact
passes what all its fields let through. So the cost of a fact does not grow with the number of rules, and most facts,
which pass nothing, need no further look.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from operator import itemgetter

from advisor.bounds import Resolver
from advisor.comparisons import compare
from advisor.conditions import PLACES, Bounds, Kind, Rule
from advisor.fact import Fact, Value, plain

MOST_LEARNT = 20_000  # distinct values of a field remembered
LACKING = "lacking"  # the field is missing


@dataclass(frozen=True, slots=True)
class Asked:
    """What a condition asks of one field by itself; `possible`: a missing field lets it through as well."""

    field: str
    op: str
    bound: Bounds = True
    possible: bool = False

    def lets_through(self, value: Value | None) -> bool:
        if value is None:
            return self.op == LACKING or (self.possible and self.op != "known" and self.field not in PLACES)
        return self.op != LACKING and compare(self.op, value, self.bound)


class Sieve:
    """The conditions on one kind of fact."""

    def __init__(self, kind: Kind) -> None:
        self.kind = kind
        self.every = 0
        self._bits: dict[frozenset[Asked], int] = {}
        self._fields: dict[str, _Field] = {}
        self._layouts: dict[tuple[str, ...], _Layout] = {}

    def bit(self, asked: Iterable[Asked]) -> int:
        """The bit of a condition that asks all this; conditions that ask the same share it."""
        key = frozenset(asked)
        if key not in self._bits:
            bit = self._bits[key] = 1 << len(self._bits)
            self.every |= bit
            for one in key:
                known = self.kind.fields[one.field]
                self._fields.setdefault(
                    one.field, _Field(one.field, known.type == "number", one.field in self.kind.keys)
                ).add(bit, one)
            self._layouts.clear()
            for field in self._fields.values():
                field.forget()
        return self._bits[key]

    def passed(self, fields: Mapping[str, Value]) -> int:
        """The bits of the conditions that the fact passes; ValueError if it lacks a key or holds what cannot be compared."""
        there = tuple(fields)
        layout = self._layouts.get(there)
        if layout is None:
            layout = self._lay_out(there)
        said = layout.words(fields)
        learnt = layout.learnt.get(said)
        if learnt is None:
            if len(layout.learnt) > MOST_LEARNT:
                layout.learnt.clear()
            left = self._let_through(layout.mask, layout.of_words, fields)
            numbers = tuple([field for field in layout.of_numbers if field.bits & left])
            learnt = layout.learnt[said] = left, numbers
        mask, numbers = learnt
        return self._let_through(mask, numbers, fields) if numbers else mask

    def _let_through(self, mask: int, of: Sequence[_Field], fields: Mapping[str, Value]) -> int:
        """What is left of some bits after these fields."""
        for field in of:
            value = fields[field.name]
            through = field.table.get(value)
            if through is None:
                try:
                    through = field.learn(value, self.every)
                except (TypeError, ValueError) as fault:
                    raise ValueError(f"{field.name}: {fault}") from fault
            mask &= through
            if not mask:
                break
        return mask

    def _lay_out(self, there: tuple[str, ...]) -> _Layout:
        """What facts with just these fields need: the bits that pass without the others, and which fields to look at."""
        if len(self._layouts) > MOST_LEARNT:
            self._layouts.clear()
        mask = self.every
        asked = []
        # What settles most comes first.
        for field in sorted(self._fields.values(), key=lambda field: -len(field.asked)):
            if field.name in there:
                asked.append(field)
            elif field.key:
                raise ValueError(f"{field.name}: a key is missing")
            else:
                mask &= field.learn(None, self.every)
        layout = self._layouts[there] = _Layout(
            mask,
            of_words=[field for field in asked if not field.number],
            of_numbers=[field for field in asked if field.number],
        )
        return layout


class Doubt:
    """Which rules can be undecided at all: those in which no condition is false of everything.

    A coarse look that spares the plain evaluator the rules that are plainly out of place, four in five of them.
    """

    def __init__(self, rules: Iterable[Rule], resolver: Resolver) -> None:
        self._sieves: dict[str, Sieve] = {}
        self._rules = [(rule, self._wanted(rule, resolver)) for rule in rules]

    def _wanted(self, rule: Rule, resolver: Resolver) -> list[tuple[str, int]]:
        """Kind and bit of each condition that some fact must pass or might pass; what has to be looked for may lack."""
        wanted = []
        for condition in map(resolver.condition, rule.when):
            kind = resolver.kinds[condition.kind]
            if kind.of != "observed":
                sieve = self._sieves.setdefault(kind.name, Sieve(kind))
                alone = [test for test in condition.tests if not any(test.variables())]
                bit = sieve.bit(Asked(test.field, test.op, test.bound, possible=True) for test in alone)
                wanted.append((kind.name, bit))
        return wanted

    def left(self, facts: Iterable[Fact]) -> list[Rule]:
        """The rules that these facts may leave undecided."""
        passed = dict.fromkeys(self._sieves, 0)
        for fact in facts:
            if fact.kind in passed:
                passed[fact.kind] |= self._sieves[fact.kind].passed(fact.fields)
        return [rule for rule, wanted in self._rules if all(passed[kind] & bit for kind, bit in wanted)]


class _Field:
    """What the conditions of a kind ask of one field."""

    def __init__(self, name: str, number: bool, key: bool) -> None:
        self.name = name
        self.number = number
        self.key = key
        self.asked: list[tuple[int, Asked]] = []
        self.bits = 0  # of all these
        self.table: dict[Value | None, int] = {}
        self._bounds: list[float] = []
        self._stretches: dict[int, int] = {}

    def add(self, bit: int, asked: Asked) -> None:
        self.asked.append((bit, asked))
        self.bits |= bit
        if self.number:
            bounds = asked.bound if isinstance(asked.bound, tuple) else (asked.bound,)
            numbers = {float(bound) for bound in bounds if isinstance(bound, int | float)}
            self._bounds = sorted({*self._bounds, *numbers})

    def forget(self) -> None:
        self.table.clear()
        self._stretches.clear()

    def learn(self, value: Value | None, every: int) -> int:
        """The bits that a value lets through: those that ask nothing of this field, and those that it satisfies."""
        if len(self.table) > MOST_LEARNT:
            self.table.clear()
        if value is None or not self.number:
            through = self._through(value, every)
        else:
            number = plain(float(value))
            place = bisect_left(self._bounds, number)
            stretch = 2 * place + (place < len(self._bounds) and self._bounds[place] == number)
            found = self._stretches.get(stretch)
            through = self._stretches[stretch] = self._through(number, every) if found is None else found
        self.table[value] = through
        return through

    def _through(self, value: Value | None, every: int) -> int:
        for bit, asked in self.asked:
            if not asked.lets_through(value):
                every &= ~bit
        return every


class _Layout:
    """How facts with the same fields are looked at.

    What they say in words is learnt together: the bits left after it, and the number fields that these still ask about.
    """

    __slots__ = ("learnt", "mask", "of_numbers", "of_words", "words")

    def __init__(self, mask: int, of_words: list[_Field], of_numbers: list[_Field]) -> None:
        self.mask = mask  # what passes without the fields that such facts lack
        self.of_words = of_words
        self.of_numbers = of_numbers
        names = [field.name for field in of_words]
        self.words: Callable[[Mapping[str, Value]], object] = itemgetter(*names) if names else _nothing
        self.learnt: dict[object, tuple[int, tuple[_Field, ...]]] = {}


def _nothing(fields: Mapping[str, Value]) -> None:
    return None
