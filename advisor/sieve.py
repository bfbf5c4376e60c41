"""Which conditions on one kind a fact passes by itself, before any joins, as the bits of a whole number.

Each condition has a bit. For each field, the bits of the conditions that a value lets through are worked out once for
each distinct word and flag, and for a number once for each stretch between the bounds that rules compare it with; a fact
passes what all its fields let through. So the cost of a fact does not grow with the number of rules, and most facts,
which pass nothing, need no further look.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import count

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
    """The conditions on one kind of fact. numbers: where they get the numbers from that others know them by."""

    def __init__(self, kind: Kind, numbers: Iterator[int] | None = None) -> None:
        self.kind = kind
        self.every = 0
        self._source = numbers or count()
        self._numbers: dict[int, int] = {}  # of each bit
        self._decoded: dict[int, tuple[int, ...]] = {}
        self._bits: dict[frozenset[Asked], int] = {}
        self._fields: dict[str, _Field] = {}
        self._layouts: dict[tuple[str, ...], _Layout] = {}

    def bit(self, asked: Iterable[Asked]) -> int:
        """The bit of a condition that asks all this; conditions that ask the same share it."""
        key = frozenset(asked)
        if key not in self._bits:
            bit = self._bits[key] = 1 << len(self._bits)
            self.every |= bit
            self._numbers[bit] = next(self._source)
            for one in key:
                known = self.kind.fields[one.field]
                self._fields.setdefault(one.field, _Field(known.type == "number", one.field in self.kind.keys)).add(
                    bit, one
                )
            self._layouts.clear()
            for field in self._fields.values():
                field.forget()
        return self._bits[key]

    def number(self, asked: Iterable[Asked]) -> int:
        """The number of the condition that asks all this."""
        return self._numbers[self.bit(asked)]

    def numbers(self, mask: int) -> tuple[int, ...]:
        """The numbers of the conditions whose bits are set."""
        found = self._decoded.get(mask)
        if found is None:
            if len(self._decoded) > MOST_LEARNT:
                self._decoded.clear()
            found = self._decoded[mask] = tuple([number for bit, number in self._numbers.items() if mask & bit])
        return found

    def passed(self, fields: Mapping[str, Value]) -> int:
        """The bits of the conditions that the fact passes; ValueError if it lacks a key or holds what cannot be compared."""
        there = tuple(fields)
        mask, tables = self._layouts.get(there) or self._lay_out(there)
        for name, table, field in tables:
            if not mask:
                return 0
            value = fields[name]
            through = table.get(value)
            if through is None:
                try:
                    through = field.learn(value, self.every)
                except (TypeError, ValueError) as fault:
                    raise ValueError(f"{name}: {fault}") from fault
            mask &= through
        return mask

    def _lay_out(self, there: tuple[str, ...]) -> _Layout:
        """What facts with just these fields need: the bits that pass without the others, and which fields to look at."""
        if len(self._layouts) > MOST_LEARNT:
            self._layouts.clear()
        mask, tables = self.every, []
        # What settles most comes first.
        for name, field in sorted(self._fields.items(), key=lambda item: -len(item[1].asked)):
            if name in there:
                tables.append((name, field.table, field))
            elif field.key:
                raise ValueError(f"{name}: a key is missing")
            else:
                mask &= field.learn(None, self.every)
        self._layouts[there] = mask, tables
        return mask, tables


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

    def __init__(self, number: bool, key: bool) -> None:
        self.number = number
        self.key = key
        self.asked: list[tuple[int, Asked]] = []
        self.table: dict[Value | None, int] = {}
        self._bounds: list[float] = []
        self._stretches: dict[int, int] = {}

    def add(self, bit: int, asked: Asked) -> None:
        self.asked.append((bit, asked))
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


_Layout = tuple[int, list[tuple[str, dict[Value | None, int], _Field]]]
