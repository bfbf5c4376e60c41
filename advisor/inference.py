"""Run the rules: durable-rules matches, joins and chains, one layer after another, and every firing is kept.

run        rules and facts in, an Inference out
Inference  facts, firings, proposals, reservations, and what stayed undecided
RuleError  what went wrong while a rule spoke, with the rule's id
"""

from __future__ import annotations

import json
import threading
import weakref
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import durable_rules_engine as engine

from advisor.bounds import Resolver
from advisor.conditions import BIND, CONSIDERED, INTENT, LAYERS, Rule, Var
from advisor.evaluate import Evaluator, Match
from advisor.fact import Fact, Value
from advisor.outcome import Firing, Missing, Proposal, Reservation, Show, Undecided, outcome, show_plainly
from advisor.program import MESSAGE_IDS, Program
from advisor.rulebook import Rulebook

_SID = "0"  # the engine's own name for a session that is not named


class RuleError(Exception):
    """A rule fired and could not say what it has to say; `rule` is its id, and the cause says why."""

    def __init__(self, rule: str, cause: Exception) -> None:
        self.rule = rule
        super().__init__(f"the rule {rule}: {cause}")


@dataclass(frozen=True, eq=False)
class Inference:
    """Everything that a run brought forth, in an order that does not hang on the order of the facts given."""

    rulebook: Rulebook
    region: str | None
    facts: Mapping[str, Fact]  # given, derived and considered, by id
    firings: tuple[Firing, ...]
    show: Show = field(default=show_plainly, repr=False)

    @cached_property
    def proposals(self) -> tuple[Proposal, ...]:
        return tuple(firing.output for firing in self.firings if isinstance(firing.output, Proposal))

    @cached_property
    def reservations(self) -> tuple[Reservation, ...]:
        return tuple(firing.output for firing in self.firings if isinstance(firing.output, Reservation))

    @cached_property
    def evaluator(self) -> Evaluator:
        """The plain evaluator over all facts of this run, for why and why-not."""
        return Evaluator(self.rulebook.resolver(self.region), self.facts.values())

    @cached_property
    def undecided(self) -> tuple[Undecided, ...]:
        """Rules in which nothing is false and something unknown, where the same rule did not fire for the same things."""
        fired: dict[str, list[Mapping[str, Value]]] = {}
        for firing in self.firings:
            fired.setdefault(firing.rule.id, []).append(firing.bindings)
        found: dict[object, Undecided] = {}
        for rule in self.rulebook.rules:
            for match in self.evaluator.undecided(rule):
                words = {name: value for name, value in match.bindings.items() if isinstance(value, str)}
                if any(words.items() <= bindings.items() for bindings in fired.get(rule.id, ())):
                    continue
                undecided = _undecided(self.evaluator, match)
                key = (rule.id, tuple(sorted(words.items())), undecided.considered, repr(undecided.missing))
                found.setdefault(key, undecided)
        return tuple(found.values())


def _undecided(evaluator: Evaluator, match: Match) -> Undecided:
    missing = tuple(dict.fromkeys(evaluator.missing(match)))
    considered = next((fact.id for fact in match.facts if fact is not None and fact.kind == CONSIDERED), None)
    return Undecided(match.rule, match.bindings, match.fact_ids(),
                     tuple(Missing(kind, name, dict(keys), about) for kind, name, keys, about in missing), considered)


def run(rulebook: Rulebook, facts: Iterable[Fact], region: str | None = None, show: Show = show_plainly) -> Inference:
    """Run all layers over the facts. region: whose figures to use where regions differ.

    Raises RuleError if a rule cannot say what it has to say, ValueError if a fact cannot be sent.
    """
    known: dict[str, Fact] = {}
    for fact in facts:
        if known.setdefault(fact.id, fact) is not fact and known[fact.id] != fact:
            raise ValueError(f"two different facts have the id {fact.id!r}")
    program = compiled(rulebook, region)
    found: dict[tuple[int, tuple[str, ...]], Firing] = {}
    with program.lock, _Session(program, known) as session:
        for layer in LAYERS:
            if layer == LAYERS[-1]:
                session.send(considered_facts(found.values(), list(known.values())))
            session.open(layer)
            _fire(session, found, show)
    firings = tuple(found[key] for key in sorted(found))
    _set_origins(known, firings)
    return Inference(rulebook, region, dict(sorted(known.items())), firings, show)


def _fire(session: _Session, found: dict[tuple[int, tuple[str, ...]], Firing], show: Show) -> None:
    """All that can fire now, the facts derived sent back in until nothing new follows."""
    program = session.program
    while True:
        derived: dict[str, Fact] = {}
        for number, matched in session.fired():
            key = (number, tuple(fact.id for fact in matched))
            if key in found:
                continue
            firing = found[key] = _speak(program.rules[number], matched, session, show)
            if isinstance(firing.output, Fact) and firing.output.id not in session.known:
                derived[firing.output.id] = firing.output
        if not derived:
            return
        session.send(derived.values())


def _set_origins(known: dict[str, Fact], firings: Iterable[Firing]) -> None:
    """A fact that several firings derive comes from all of them."""
    origins: dict[str, list[str]] = {}
    for firing in firings:
        if isinstance(firing.output, Fact):
            origins.setdefault(firing.output.id, []).append(firing.id)
    for id, behind in origins.items():
        if known[id].origin and known[id].origin[0] in behind:
            known[id] = replace(known[id], origin=tuple(sorted(behind)))


def _speak(rule: Rule, matched: tuple[Fact, ...], session: _Session, show: Show) -> Firing:
    try:
        bindings: dict[str, Value] = {}
        for condition, fact in zip(rule.when, matched, strict=True):
            for test in condition.tests:
                if test.op == BIND and isinstance(test.bound, Var):
                    bindings[test.bound.name] = fact.fields[test.field]
        assumed: tuple[str, ...] = ()
        if rule.even_if_not_seen:
            assumed = session.evaluator.assumed(rule, bindings)
        return outcome(rule, bindings, matched, assumed, session.program.resolver, show)
    except Exception as fault:
        raise RuleError(rule.id, fault) from fault


def considered_facts(firings: Iterable[Firing], facts: Iterable[Fact]) -> list[Fact]:
    """A fact for each proposal and each intent, for the reservations to look at."""
    made = []
    for firing in firings:
        proposal = firing.output
        if isinstance(proposal, Proposal):
            said: dict[str, Value | None] = {"id": proposal.id, "practice": proposal.practice, "stance": proposal.stance, "day": proposal.opens,
                    "block": proposal.block, "habitat": proposal.habitat, "target": proposal.target,
                    "material": proposal.material}
            known = {name: value for name, value in said.items() if value is not None}
            fields = considered_fields(known, "proposal")
            made.append(Fact(f"{CONSIDERED}:{proposal.id}", CONSIDERED, fields, (firing.id,)))
    for fact in facts:
        if fact.kind == INTENT:
            id = str(fact.fields.get("id", fact.id))
            fields = considered_fields({**fact.fields, "id": id, "intent": id}, "intent")
            made.append(Fact(f"{CONSIDERED}:{fact.id}", CONSIDERED, fields, (fact.id,)))
    return made


def considered_fields(fields: Mapping[str, Value], made_by: str) -> dict[str, Value]:
    """The fields of a considered fact. Without a target it says `none`: that is known, not unknown.

    So does a proposal without a material; an intent that names none leaves it unknown.
    """
    closed = ("target", "material") if made_by == "proposal" else ("target",)
    return {**dict.fromkeys(closed, "none"), **fields, "made_by": made_by}


class _Session:
    """One use of a compiled program, from the first message to the last firing."""

    def __init__(self, program: Program, known: dict[str, Fact]) -> None:
        self.program = program
        self.known = known
        self.ids = iter(MESSAGE_IDS)
        self._sent: dict[str, Fact] = {}

    def __enter__(self) -> _Session:
        # The guard fires before anything else is sent: the engine must not end a session in which nothing fired.
        guard = f'{{"id":"{next(self.ids)}","{self.program.guard}":1}}'
        _, self._state = engine.assert_fact(self.program.handle, guard)
        for _ in self._drain():
            pass
        try:
            self._assert(self.known.values())
        except BaseException:
            self.__exit__()
            raise
        return self

    def __exit__(self, *fault: object) -> None:
        engine.delete_state(self.program.handle, _SID)

    @cached_property
    def evaluator(self) -> Evaluator:
        return Evaluator(self.program.resolver, self.known.values())

    def send(self, facts: Iterable[Fact]) -> None:
        """More facts; those already known are left out."""
        new = [fact for fact in facts if fact.id not in self.known]
        self.known.update((fact.id, fact) for fact in new)
        self._assert(new)
        self.__dict__.pop("evaluator", None)

    def _assert(self, facts: Iterable[Fact]) -> None:
        messages = self.program.messages(facts, self.ids, self._sent)
        if messages:
            engine.assert_facts(self.program.handle, f"[{','.join(messages)}]")

    def open(self, layer: str) -> None:
        """Open the gate of a layer, if a rule waits behind it."""
        if layer in self.program.gates:
            engine.assert_fact(self.program.handle, f'{{"id":"{next(self.ids)}","{self.program.gates[layer]}":1}}')

    def fired(self) -> Iterator[tuple[int, tuple[Fact, ...]]]:
        """Numbers of the rules that fired since last asked, each with its facts in the order of rule.when."""
        for text in self._drain():
            ((name, frames),) = json.loads(text).items()
            number = int(name[1:])
            places = [f"c{place}" for place in range(len(self.program.rules[number].when))]
            for frame in frames:
                yield number, tuple(self._sent[frame[place]["id"]] for place in places)

    def _drain(self) -> Iterator[str]:
        result = engine.start_action_for_state(self.program.handle, self._state)
        text = result[1] if result else None
        while text:
            yield text
            text = engine.complete_and_start_action(self.program.handle, self._state)


_compiling = threading.Lock()
_programs: weakref.WeakKeyDictionary[Rulebook, dict[str | None, Program]] = weakref.WeakKeyDictionary()


def compiled(rulebook: Rulebook, region: str | None) -> Program:
    """The rulebook compiled for a region, once."""
    with _compiling:
        programs = _programs.setdefault(rulebook, {})
        if region not in programs:
            program = programs[region] = Program(rulebook.rules, rulebook.resolver(region))
            weakref.finalize(rulebook, Program.close, program)
        return programs[region]
