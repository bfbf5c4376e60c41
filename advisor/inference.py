"""Run the rules: durable-rules matches, joins and chains, one layer after another, and every firing is kept.

run        rules and facts in, an Inference out
Inference  facts, firings, proposals, reservations, and what stayed undecided
RuleError  what went wrong while a rule spoke, with the rule's id
"""

from __future__ import annotations

import threading
import weakref
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from advisor.bounds import Resolver
from advisor.conditions import CONSIDERED, INTENT, LAYERS, Reserve, Rule
from advisor.evaluate import Evaluator, Match
from advisor.fact import Fact, Value
from advisor.outcome import Firing, Missing, Proposal, Reservation, Show, Undecided, outcome, show_plainly
from advisor.program import Program
from advisor.rulebook import Rulebook
from advisor.working import Working


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
    known: Mapping[str, Fact] = field(repr=False)  # `facts`, in the order in which they came
    firings: tuple[Firing, ...]
    show: Show = field(default=show_plainly, repr=False)

    @cached_property
    def facts(self) -> Mapping[str, Fact]:
        """Given, derived and considered, by id."""
        return {id: self.known[id] for id in sorted(self.known)}

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
        return self._undecided(lambda rule: True)

    @cached_property
    def held_for_a_look(self) -> tuple[Undecided, ...]:
        """Those of the undecided that would hold something, and say that it must wait for the look they lack."""
        return self._undecided(lambda rule: isinstance(rule.output, Reserve) and rule.output.unseen == "wait")

    def _undecided(self, wanted: Callable[[Rule], bool]) -> tuple[Undecided, ...]:
        fired: dict[str, list[Mapping[str, Value]]] = {}
        for firing in self.firings:
            fired.setdefault(firing.rule.id, []).append(firing.bindings)
        found: dict[object, Undecided] = {}
        for rule in compiled(self.rulebook, self.region).doubt.left(self.facts.values()):
            if not wanted(rule):
                continue
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
    return Undecided(
        match.rule,
        match.bindings,
        match.fact_ids(),
        tuple(Missing(kind, name, dict(keys), about) for kind, name, keys, about in missing),
        considered,
    )


def run(rulebook: Rulebook, facts: Iterable[Fact], region: str | None = None, show: Show = show_plainly) -> Inference:
    """Run all layers over the facts. region: whose figures to use where regions differ.

    Raises RuleError if a rule cannot say what it has to say, ValueError if a fact cannot be sent.
    """
    known = _by_id(facts)
    program = compiled(rulebook, region)
    speaker = Speaker(program.resolver, known, show)
    working = program.working()
    working.add(known.values())
    found: dict[tuple[int, tuple[str, ...]], Firing] = {}
    again = False
    for layer in LAYERS:
        if layer == LAYERS[-1]:
            considered = considered_facts(found.values(), known.values())
            known.update((fact.id, fact) for fact in considered)
            working.add(considered)
        again |= _fire(layer, program, working, speaker, known, found)
    firings = tuple([found[key] for key in sorted(found)])
    if again:
        _set_origins(known, firings)
    return Inference(rulebook, region, known, firings, show)


def _by_id(facts: Iterable[Fact]) -> dict[str, Fact]:
    known: dict[str, Fact] = {}
    for fact in facts:
        if known.setdefault(fact.id, fact) is not fact and known[fact.id] != fact:
            raise ValueError(f"two different facts have the id {fact.id!r}")
    return known


def _fire(
    layer: str,
    program: Program,
    working: Working,
    speaker: Speaker,
    known: dict[str, Fact],
    found: dict[tuple[int, tuple[str, ...]], Firing],
) -> bool:
    """All firings of a layer. What they derive goes back in, to the rules that read it, until nothing new follows.

    Gives whether something was derived again that was known.
    """
    again = False
    waiting = working.ready(layer)
    while waiting:
        derived: list[Fact] = []
        for matcher, matched in program.matched(waiting, working):
            ids = tuple([fact.id for fact in matched])
            key = (matcher.number, ids)
            if key in found:
                continue
            firing = found[key] = speaker.speak(matcher.rule, matched, ids)
            made = firing.output
            if isinstance(made, Fact):
                if known.setdefault(made.id, made) is made:
                    derived.append(made)
                else:
                    again = True
        kinds = working.add(derived)
        waiting = working.ready(layer, kinds) if kinds else []
    return again


def _set_origins(known: dict[str, Fact], firings: Iterable[Firing]) -> None:
    """A fact that several firings derive comes from all of them."""
    origins: dict[str, list[str]] = {}
    for firing in firings:
        if isinstance(firing.output, Fact):
            origins.setdefault(firing.output.id, []).append(firing.id)
    for id, behind in origins.items():
        if len(behind) > 1 and known[id].origin and known[id].origin[0] in behind:
            known[id] = replace(known[id], origin=tuple(sorted(behind)))


class Speaker:
    """Turns what a rule matched into its firing. known: every fact so far, to which more may be added."""

    def __init__(self, resolver: Resolver, known: Mapping[str, Fact], show: Show) -> None:
        self.resolver = resolver
        self.known = known
        self.show = show

    @cached_property
    def evaluator(self) -> Evaluator:
        return Evaluator(self.resolver, self.known.values())

    def speak(self, rule: Rule, matched: tuple[Fact, ...], ids: tuple[str, ...]) -> Firing:
        try:
            bindings = {name: matched[place].fields[field] for name, place, field in rule.binders}
            return outcome(rule, bindings, matched, ids, self)
        except Exception as fault:
            raise RuleError(rule.id, fault) from fault

    def assumed(self, rule: Rule, bindings: Mapping[str, Value]) -> tuple[str, ...]:
        # Nothing observed is ever derived, so what was taken as not there can be asked later.
        return self.evaluator.assumed(rule, bindings)


def considered_facts(firings: Iterable[Firing], facts: Iterable[Fact]) -> list[Fact]:
    """A fact for each proposal and each intent, for the reservations to look at."""
    made = []
    for firing in firings:
        proposal = firing.output
        if isinstance(proposal, Proposal):
            said: dict[str, Value | None] = {
                "id": proposal.id,
                "practice": proposal.practice,
                "stance": proposal.stance,
                "day": proposal.opens,
                "block": proposal.block,
                "habitat": proposal.habitat,
                "target": proposal.target,
                "material": proposal.material,
            }
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
