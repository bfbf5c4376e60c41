"""What a run of the rules brings forth: firings, proposals, reservations, what stayed undecided, each with its words."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Protocol

from advisor.bounds import FigureUse, Resolver, converted, unit_fits
from advisor.conditions import CONSIDERED, SLOT, Bound, Derive, Kind, Propose, Reserve, Rule, Var
from advisor.fact import Fact, Value
from advisor.quantity import show as show_quantity

Said = tuple[Value, str, str, str | None]
"""What a name in a text stands for: value, unit, field, and the fruit it is said of where that is known."""


class Show(Protocol):
    """Writes a value of a unit and field; a stage in the words of the fruit, where that is known."""

    def __call__(self, value: Value, unit: str, field: str, fruit: str | None = None, /) -> str: ...


_NEAR = 0.05  # share of a figure within which a value counts as near it; a round number parts from it by less
_WITHOUT_UNIT = ("any", "count", "ratio", "year", "ph")


def show_plainly(value: Value, unit: str, field: str, fruit: str | None = None) -> str:
    """A value for a sentence, in metric units: 45 cm, 30 %, BBCH 69."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    if unit == "bbch":
        return f"BBCH {value:g}"
    return show_quantity(float(value), "" if unit in _WITHOUT_UNIT else unit)


def fill(text: str, said: Mapping[str, Said], show: Show = show_plainly) -> str:
    """The text with each {name} replaced by what is said of it. KeyError for an unknown name."""
    return SLOT.sub(lambda slot: show(*said[slot[1]]), text)


class Voice(Protocol):
    """What all firings of a run speak with."""

    resolver: Resolver
    show: Show

    def assumed(self, rule: Rule, bindings: Mapping[str, Value]) -> tuple[str, ...]:
        """The observed kinds that the rule took as "not there" without a look."""


@dataclass(eq=False)  # not frozen, for the sake of speed; nobody changes one all the same
class Spoken:
    """A rule that fired with these facts, and its texts filled in, when asked for.

    A text can speak of {variable}, {field}, {kind.field} and {figure-id}. matched: the facts, in the order of rule.when.
    """

    id: str
    rule: Rule
    matched: tuple[Fact, ...] = field(repr=False)
    bindings: Mapping[str, Value]
    voice: Voice = field(repr=False)

    @cached_property
    def assumed(self) -> tuple[str, ...]:
        """The observed kinds that the rule took as "not there" without a look."""
        return self.voice.assumed(self.rule, self.bindings) if self.rule.even_if_not_seen else ()

    @cached_property
    def figures(self) -> tuple[FigureUse, ...]:
        return self.voice.resolver.uses(self.rule)

    @cached_property
    def because(self) -> str:
        return self.say(self.rule.because)

    @cached_property
    def _said(self) -> dict[str, Said]:
        """What each name that a text can speak of stands for."""
        said: dict[str, Said] = {}
        fruits = {fruit for fact in self.matched if (fruit := _fruit_of(fact))}
        only = fruits.pop() if len(fruits) == 1 else None  # the fruit that figures and facts without one are said of
        for use in self.figures:
            said[use.id] = use.value, use.unit, "" if self._to_the_letter(use) else use.id, only
        kinds = self.voice.resolver.kinds
        for fact in reversed(self.matched):
            fruit = _fruit_of(fact) or only
            for name, value in fact.fields.items():
                declared = kinds[fact.kind].fields.get(name)
                unit = declared.unit if declared else ""
                said[name] = said[f"{fact.kind}.{name}"] = value, unit, name, fruit
        for variable, place, name in self.rule.binders:
            fact = self.matched[place]
            said[variable] = fact.fields[name], kinds[fact.kind].fields[name].unit, name, _fruit_of(fact) or only
        return said

    def _to_the_letter(self, use: FigureUse) -> bool:
        """Whether a figure is said as it is, not as the round number near it: where safety decides, and where a value is so
        near that the round number might read as its other side ("4 in is more than the 4 in ...").
        """
        if getattr(self.rule.output, "strength", None) == "must" or isinstance(use.value, str):
            return True
        kinds = self.voice.resolver.kinds
        measured = ((value, kinds[f.kind].fields[n].unit) for f in self.matched for n, value in f.fields.items())
        return any(
            isinstance(value, float | int) and unit_fits(unit, use.unit)
            and abs(converted(value, unit, use.unit) - use.value) <= _NEAR * abs(use.value)
            for value, unit in measured
        )  # fmt: skip

    def say(self, text: str) -> str:
        """The text filled in; a name of the knowledge that opens it gets its capital, a name of the grower's stays."""
        told, first = fill(text, self._said, self.voice.show), SLOT.match(text)
        named_by_grower = first is None or self._said[first[1]][2] in ("block", "habitat", "id", "cultivar")
        return told if named_by_grower else told[:1].upper() + told[1:]

    def say_all(self, texts: Sequence[str]) -> tuple[str, ...]:
        return tuple(self.say(text) for text in texts)


@dataclass(eq=False)
class Advising(Spoken):
    """A proposal or a reservation."""

    @property
    def firing(self) -> str:
        return self.id

    @property
    def evidence(self) -> str:
        return self.rule.evidence

    @property
    def sources(self) -> tuple[str, ...]:
        return self.rule.sources

    @property
    def output(self) -> Propose | Reserve:
        assert isinstance(self.rule.output, Propose | Reserve)
        return self.rule.output

    @cached_property
    def how(self) -> tuple[str, ...]:
        return self.say_all(self.output.how)

    @cached_property
    def cautions(self) -> tuple[str, ...]:
        return self.say_all(self.output.cautions)


@dataclass(eq=False)
class Proposal(Advising):
    """A practice proposed for a block, a habitat or (neither) the whole orchard. Days count from today."""

    practice: str
    stance: str
    target: str | None
    block: str | None
    habitat: str | None
    material: str | None
    opens: float
    closes: float | None
    urgency: float
    amount: tuple[float, str] | None
    hours_rate: str | None
    strength: str

    @property
    def output(self) -> Propose:
        assert isinstance(self.rule.output, Propose)
        return self.rule.output

    @cached_property
    def summary(self) -> str:
        return self.say(self.output.summary)

    @cached_property
    def trade_off(self) -> str | None:
        return None if self.output.trade_off is None else self.say(self.output.trade_off)


@dataclass(eq=False)
class Reservation(Advising):
    """What holds, forbids or cautions one considered fact. until: days from today, None if the rule does not say."""

    considered: str
    effect: str
    until: float | None
    strength: str
    unseen: str

    @property
    def output(self) -> Reserve:
        assert isinstance(self.rule.output, Reserve)
        return self.rule.output

    @cached_property
    def answer(self) -> str:
        return self.say(self.output.answer)


@dataclass(eq=False)
class Firing(Spoken):
    """One rule that fired. facts: ids, in the order of rule.when."""

    facts: tuple[str, ...]
    output: Fact | Proposal | Reservation


@dataclass(frozen=True)
class Missing:
    """What an undecided rule lacks: a whole observation (`field` None) or one field of the fact `about`."""

    kind: str
    field: str | None
    keys: Mapping[str, Value]
    about: str | None = None


@dataclass(frozen=True)
class Undecided:
    """A rule in which nothing is false and something unknown. considered: id of the fact a reservation is about."""

    rule: Rule
    bindings: Mapping[str, Value]
    facts: tuple[str, ...]
    missing: tuple[Missing, ...]
    considered: str | None = None


def outcome(
    rule: Rule, bindings: Mapping[str, Value], matched: tuple[Fact, ...], ids: tuple[str, ...], voice: Voice
) -> Firing:
    """The firing of a rule by these facts, whose ids are given too, with the fact, proposal or reservation that it makes."""
    id = f"{rule.id}({', '.join(ids)})"
    said = voice.resolver.settled(rule)
    made: Fact | Proposal | Reservation
    if isinstance(said, Derive):
        made = _derived(said, bindings, voice.resolver.kinds[said.kind], id)
    elif isinstance(said, Propose):
        made = Proposal(
            id,
            rule,
            matched,
            bindings,
            voice,
            practice=str(_value(said.practice, bindings)),
            stance=said.stance,
            target=_word(said.target, bindings),
            block=_word(said.block, bindings),
            habitat=_word(said.habitat, bindings),
            material=_word(said.material, bindings),
            opens=_number(said.opens, bindings) or 0.0,
            closes=_number(said.closes, bindings),
            urgency=_number(said.urgency, bindings) or 0.0,
            amount=None if said.amount is None else (_number(said.amount[0], bindings) or 0.0, said.amount[1]),
            hours_rate=said.hours,
            strength=said.strength,
        )
    else:
        made = Reservation(
            id,
            rule,
            matched,
            bindings,
            voice,
            considered=next(fact.id for fact in matched if fact.kind == CONSIDERED),
            effect=said.effect,
            until=_number(said.until, bindings),
            strength=said.strength,
            unseen=said.unseen,
        )
    return Firing(id, rule, matched, bindings, voice, ids, made)


def _value(bound: Bound, bindings: Mapping[str, Value]) -> Value:
    """A settled bound: a variable's value, or a plain value."""
    return bindings[bound.name] if type(bound) is Var else bound  # type: ignore[return-value]


def _derived(said: Derive, bindings: Mapping[str, Value], kind: Kind, firing: str) -> Fact:
    fields = {name: _value(bound, bindings) for name, bound in said.fields.items()}
    id = ":".join([said.kind, *[str(fields[key]) for key in kind.keys]])
    if len(fields) > len(kind.keys):
        id += _told_apart(tuple([item for item in fields.items() if item[0] not in kind.keys]))
    return Fact(id, said.kind, fields, (firing,))


@lru_cache(maxsize=10_000, typed=True)
def _told_apart(rest: tuple[tuple[str, Value], ...]) -> str:
    """What tells facts about the same thing apart: a few digits of the hash of their other fields."""
    return "~" + hashlib.sha256(repr(tuple(sorted(rest))).encode()).hexdigest()[:6]


def _number(bound: Bound | None, bindings: Mapping[str, Value]) -> float | None:
    return None if bound is None else float(_value(bound, bindings))


def _fruit_of(fact: Fact) -> str | None:
    fruit = fact.fields.get("fruit")
    return fruit if isinstance(fruit, str) else None


def _word(bound: Bound | None, bindings: Mapping[str, Value]) -> str | None:
    return None if bound is None else str(_value(bound, bindings))
