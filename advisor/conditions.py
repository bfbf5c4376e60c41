"""The typed tree that a rule is read into: kinds of fact, tests, conditions, what a rule says, its cases."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from advisor.fact import Value

LAYERS = ("signs", "pressures", "proposals", "reservations")
CLASSES = ("given", "observed", "computed", "derived")
STANCES = ("do", "wait", "avoid", "look")
EFFECTS = ("hold", "forbid", "caution")
STRENGTHS = ("must", "strong", "fair", "weak")
EVIDENCE = ("published", "common-practice", "from-memory")
OPERATORS = ("is", "is-not", "in", "at-least", "below", "above", "at-most", "between", "known")
COMPARING = ("at-least", "below", "above", "at-most", "between")
BIND = "bind"  # the first use of a variable: the field gives it its value

CONSIDERED = "considered"  # the engine makes these, one for each proposal and each intent
INTENT = "intent"
PLACES = ("block", "habitat")  # a fact is about one of them, or about the whole orchard

SLOT = re.compile(r"\{([^{}]+)\}")  # a name in a sentence, to be filled in


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a kind: `type` text, number or flag; `unit` for numbers; `values` where only some words are meant."""

    type: str
    unit: str = ""
    values: tuple[str, ...] = ()


@dataclass(frozen=True)
class Kind:
    """A kind of fact. `keys` say what a fact is about and are always filled; `layer` is set for derived kinds."""

    name: str
    of: str  # one of CLASSES
    keys: tuple[str, ...]
    fields: Mapping[str, Field]
    layer: str | None = None
    meaning: str = ""
    fresh: float | None = None
    file: str = ""
    line: int | None = None

    @cached_property
    def about(self) -> tuple[str, ...]:
        """The keys, and the places that a fact of this kind may be about. A place that is absent is known to be none."""
        return self.keys + tuple(name for name in PLACES if name in self.fields and name not in self.keys)


@dataclass(frozen=True, slots=True)
class Var:
    """A variable, written `$name`."""

    name: str


@dataclass(frozen=True, slots=True)
class FigureRef:
    """A figure of the knowledge, written `{figure: id}`; the orchard's guidance picks the row."""

    id: str


@dataclass(frozen=True, slots=True)
class StageRef:
    """A growth stage named in a bound, with its BBCH code."""

    name: str
    bbch: float


Bound = Value | Var | FigureRef | StageRef
Bounds = Bound | tuple[Bound, ...]


@dataclass(frozen=True, slots=True)
class Test:
    """One test of one field: `op` one of OPERATORS, or BIND. `in` and `between` hold a tuple of bounds."""

    field: str
    op: str
    bound: Bounds

    def bounds(self) -> tuple[Bound, ...]:
        return self.bound if isinstance(self.bound, tuple) else (self.bound,)

    def variables(self) -> Iterator[str]:
        return (bound.name for bound in self.bounds() if isinstance(bound, Var))

    def figures(self) -> Iterator[str]:
        return (bound.id for bound in self.bounds() if isinstance(bound, FigureRef))


@dataclass(frozen=True, slots=True)
class Condition:
    """Tests that one fact of a kind must pass; under `unless` no fact may pass them."""

    kind: str
    tests: tuple[Test, ...]
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Derive:
    """A rule of the layers signs and pressures asserts a fact of this kind."""

    kind: str
    fields: Mapping[str, Bound]


@dataclass(frozen=True, slots=True)
class Propose:
    """A rule of the layer proposals proposes a practice. Days count from today; `closes` None is an open end."""

    practice: Bound
    stance: str
    summary: str
    target: Bound | None = None
    block: Bound | None = None
    habitat: Bound | None = None
    material: Bound | None = None
    opens: Bound = 0
    closes: Bound | None = None
    urgency: Bound = 0.5
    how: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    amount: tuple[Bound, str] | None = None
    hours: str | None = None
    strength: str = "fair"
    trade_off: str | None = None


@dataclass(frozen=True, slots=True)
class Reserve:
    """A rule of the layer reservations holds, forbids or cautions what is considered.

    until: days from today, or None. unseen: what follows when the rule is undecided for want of a look: wait or pass.
    """

    effect: str
    answer: str
    until: Bound | None = None
    strength: str = "fair"
    unseen: str = "pass"
    how: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Case:
    """Given these facts, the rule fires or does not."""

    name: str
    given: tuple[tuple[str, Mapping[str, Value]], ...]
    fires: bool
    region: str | None = None
    line: int | None = None


@dataclass(frozen=True)
class Rule:
    """One rule of a pack."""

    id: str
    layer: str
    when: tuple[Condition, ...]
    output: Derive | Propose | Reserve
    unless: tuple[Condition, ...] = ()
    even_if_not_seen: frozenset[str] = frozenset()
    because: str = ""
    evidence: str = ""
    sources: tuple[str, ...] = ()
    cases: tuple[Case, ...] = ()
    file: str = ""
    line: int | None = None

    def conditions(self) -> tuple[Condition, ...]:
        return self.when + self.unless

    @cached_property
    def binders(self) -> tuple[tuple[str, int, str], ...]:
        """Where each variable gets its value: its name, the place of a condition under `when`, a field."""
        return tuple(
            (test.bound.name, place, test.field)
            for place, condition in enumerate(self.when)
            for test in condition.tests
            if test.op == BIND and isinstance(test.bound, Var)
        )

    def kinds_read(self) -> frozenset[str]:
        """The kinds of fact that its conditions ask about."""
        return frozenset(condition.kind for condition in self.conditions())

    def practices_considered(self) -> set[str]:
        """The practices that it names in its conditions on what is considered."""
        tests = (test for condition in self.when if condition.kind == CONSIDERED for test in condition.tests)
        return {bound for test in tests if test.field == "practice" for bound in test.bounds() if isinstance(bound, str)}

    def figures(self) -> tuple[str, ...]:
        """The ids of the figures it compares with or speaks of, in order, each once."""
        found = [id for condition in self.conditions() for test in condition.tests for id in test.figures()]
        found.extend(value.id for value in output_bounds(self.output) if isinstance(value, FigureRef))
        kinds = {condition.kind for condition in self.when}
        for name in self.slots():
            kind, dot, field = name.partition(".")
            if dot and (kind not in kinds or "-" in field):  # fields are joined by underscores, figures by hyphens
                found.append(name)
        return tuple(dict.fromkeys(found))

    def texts(self) -> tuple[str, ...]:
        """Every sentence with names to fill in."""
        return (self.because, *output_texts(self.output))

    def slots(self) -> tuple[str, ...]:
        """The names in braces in its sentences."""
        return tuple(dict.fromkeys(name for text in self.texts() for name in SLOT.findall(text)))


def output_bounds(output: Derive | Propose | Reserve) -> tuple[Bound | None, ...]:
    """Every value of what a rule says that may be a variable or a figure."""
    if isinstance(output, Derive):
        return tuple(output.fields.values())
    if isinstance(output, Reserve):
        return (output.until,)
    return (
        output.practice,
        output.target,
        output.block,
        output.habitat,
        output.material,
        output.opens,
        output.closes,
        output.urgency,
        output.amount[0] if output.amount else None,
    )


def output_texts(output: Derive | Propose | Reserve) -> tuple[str, ...]:
    """Every sentence of what a rule says."""
    if isinstance(output, Derive):
        return ()
    first = (output.answer,) if isinstance(output, Reserve) else (output.summary, output.trade_off or "")
    return (*first, *output.how, *output.cautions)


@dataclass(frozen=True)
class Override:
    """A rule of a later pack that stands in place of an earlier one with the same id."""

    id: str
    file: str
    line: int | None
    instead_of: str

    def __str__(self) -> str:
        return f"the rule {self.id} comes from {self.file}, line {self.line}, instead of {self.instead_of}"
