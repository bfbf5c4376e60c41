"""Why a recommendation was made: a tree from it down to what was seen, measured and published.

why(answer, id)     the tree, proven by running again

Each node is a Record {kind, id, text, value, unit, source, needed, from}; `value` is in `unit` (null for words and plain
numbers), `source` holds the titles of what was published, parted by " | ", or says in words that nothing was; `from`
holds the nodes behind it. What stands in the tree already is repeated with nothing under it. Kinds of node:

recommendation   what is advised; value is its stance
rule             a rule that spoke; value is its strength
weighing         what was outweighed, and by what: value is safety, strength or ledger
trade-off        two goals that pull apart, both sides under it
ledger           all gains, or all costs, of a practice here and now; value is their sum
path             one gain or cost, along links of the knowledge graph; value is its score
fact             what was seen or concluded
number           what was worked out, with its formula and inputs
figure           a threshold or rate, with region and source
absence          what a rule needs not to be so, and is not
unknown          what nobody has looked at
silence          what would have spoken against it, but for the inputs under it
observation, orchard, weather, forecast, knowledge      what it all rests on
proof            what came of running again with only the inputs of the tree

`needed` is true where the recommendation does not come back without that input, false where it does, and null where
that was not tried: it is tried for observations, the weather and the forecast.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from advisor.answer import Record
from advisor.comparisons import passes
from advisor.conditions import FigureRef, Rule
from advisor.errors import InputError, Problem
from advisor.explain import proof
from advisor.explain.leaves import Leaves
from advisor.explain.nodes import INPUTS, Nodes, node
from advisor.explain.weighed import Weighed
from advisor.explain.wording import words_of
from advisor.fact import Fact
from advisor.outcome import Firing, Missing, Proposal, Reservation
from advisor.presenting import deciding_for, named
from advisor.weighing import Outcome

if TYPE_CHECKING:
    from advisor.advice import Answer, Run


def why(answer: Answer, id: str, prove: bool = True) -> Record:
    """The tree of the recommendation `id`: see the module for its nodes.

    prove: run again with only the inputs of the tree, and once more without each, to fill in `needed`. Without it every
    `needed` is null.
    Raises InputError, with the nearest ids, if the answer has no such recommendation.
    """
    outcomes = named(answer.run.now, answer.run.outcomes)
    if id not in outcomes:
        close = difflib.get_close_matches(id, outcomes, 3, 0.5) or list(outcomes)[:3]
        mend = f"Did you mean {' or '.join(close)}?" if close else "This answer holds no recommendation."
        raise InputError(Problem("request", "id", "no recommendation of this answer has that id", mend, value=id))
    tree = Tree(answer.run, outcomes[id]).recommendation(id, answer)
    return proof.prove(answer.run, outcomes[id], tree) if prove else tree


class Tree:
    """Grows the tree of one outcome of a run."""

    def __init__(self, run: Run, one: Outcome) -> None:
        self.run = run
        self.one = one
        self.facts = run.inference.facts
        self.firings = {firing.id: firing for firing in run.inference.firings}
        self.nodes = Nodes()
        self.leaves = Leaves(run, self.nodes)
        self.say = self.leaves.say
        self.weighed = Weighed(run, one, self)

    def recommendation(self, id: str, answer: Answer) -> Record:
        said = next(each for each in answer["recommendations"] if each["id"] == id)
        one = self.one
        deciding = deciding_for(one)
        below = [*self.wishes(), *(self.speech(each) for each in deciding), *self.unseen()]
        below += self.weighed.ledger(said["trade_off"])  # before what was weighed by it, which then need not repeat it
        below += [*self.weighed.outweighed(), *self.weighed.giving_way()]
        below += [self.speech(each) for each in one.cautions_from if each not in deciding]
        return node("recommendation", id, said["summary"], value=one.stance, below=below)

    def wishes(self) -> Iterator[Record]:
        """What the grower means to do, where that is what is answered."""
        for wish in self.one.wishes:
            yield self.leaves.observation(wish.intent)
        if self.one.wishes and self.one.stance == "do" and not self.one.proposals:
            text = f"No rule speaks against {self.leaves.name(self.one.practice)} here, as far as is known."
            yield node("absence", f"against:{self.one.practice}", text)

    def unseen(self) -> Iterator[Record]:
        """The looks that a wait hangs on, each with the rules that could hold it."""
        wanted: dict[tuple[str, str], tuple[Missing, list[Rule]]] = {}
        for undecided in self.run.inference.held_for_a_look:
            if str(undecided.considered).removeprefix("considered:") in self.one.waits_for:
                for missing in undecided.missing:
                    key = missing.kind, missing.field or ""
                    wanted.setdefault(key, (missing, []))[1].append(undecided.rule)
        for (kind, field), (missing, rules) in wanted.items():
            declared = self.say.resolver.kinds[kind]
            lead = {"observed": "Nobody has looked", "computed": "Not worked out"}.get(declared.of, "Not said")
            about = [words_of(str(value)) for name, value in missing.keys.items() if name != "id"]
            thing = "what is meant" if kind == "considered" else words_of(kind)
            what = f"{thing} of {', '.join(about)}" if about else thing
            text = f"{lead}: {what}{': ' + words_of(field) if field else ''}"
            could = ", ".join(dict.fromkeys(rule.id for rule in rules))
            below = [self.fact(self.facts[missing.about])] if missing.about else []
            source = self.say.sources(rules[0].sources, rules[0].evidence)
            yield node(
                "unknown", f"{kind}:{field}", f"{text}. What could hold this: {could}", source=source, below=below
            )

    def speech(self, said: Proposal | Reservation) -> Record:
        return self.firing(self.firings[said.firing])

    def firing(self, firing: Firing) -> Record:
        """A rule that spoke, with what it matched, what it found absent, and its figures."""
        rule = firing.rule
        strength = getattr(firing.output, "strength", None)
        source = self.say.sources(rule.sources, rule.evidence)
        ident = rule.id if self.nodes.is_new("firing", firing.id) else None
        if ident is None:
            return node("rule", rule.id, firing.because, value=strength, source=source)
        below = [self.fact(self.facts[id], self._fields(rule, place)) for place, id in enumerate(firing.facts)]
        below += self.absences(firing)
        below += [self.figure(firing, use) for use in firing.figures]
        return node("rule", rule.id, firing.because, value=strength, source=source, below=below)

    def _fields(self, rule: Rule, place: int) -> list[str]:
        """The fields of a matched fact that the rule tests or speaks of."""
        condition = rule.when[place]
        spoken = {name.rpartition(".")[2] for name in rule.slots()}
        variables = {variable: field for variable, at, field in rule.binders if at == place}
        tested = [test.field for test in condition.tests]
        declared = self.say.resolver.kinds[condition.kind].fields
        return list(dict.fromkeys([*tested, *(n for n in declared if n in spoken),
                                   *(field for variable, field in variables.items() if variable in spoken)]))  # fmt: skip

    def absences(self, firing: Firing) -> Iterator[Record]:
        """What the rule needs not to be so: each `unless`, with the facts that show that it was looked for."""
        evaluator = self.run.inference.evaluator
        _, unless, _ = evaluator.resolved(firing.rule)
        for place, condition in enumerate(unless):
            kind = self.say.resolver.kinds[condition.kind]
            asked = self.say.condition(condition, firing.bindings)
            witnesses = [
                fact
                for fact in evaluator.lookup(condition, firing.bindings)
                if evaluator.about(condition, kind.about, fact, firing.bindings)
                and passes(condition, fact.fields, firing.bindings) is False
            ]
            if condition.kind in firing.assumed:
                text = f"Nobody has looked, and it is taken as not so: {asked}"
            elif kind.of == "observed":
                text = f"Looked for, and not so: {asked}"
            else:
                text = f"Not so: {asked}"
            tested = [test.field for test in condition.tests]
            below = [self.fact(fact, tested) for fact in witnesses]
            yield node("absence", f"{firing.rule.id}:unless-{place + 1}", text, below=below)

    def figure(self, firing: Firing, use: Any) -> Record:
        """A figure, with the value of this orchard that stands against it."""
        text = self.say.figure(use)
        for condition, id in zip(firing.rule.when, firing.facts, strict=True):
            fields = self.facts[id].fields
            for test in condition.tests:
                if any(isinstance(bound, FigureRef) and bound.id == use.id for bound in test.bounds()):
                    unit = self.say.resolver.field(condition.kind, test.field).unit
                    if test.field in fields:
                        text += f"; here {self.say.field(test.field, fields[test.field], unit)}"
        return node("figure", use.id, text, value=use.value, unit=use.unit,
                    source=self.say.sources([use.source] if use.source else [], use.evidence))  # fmt: skip

    def fact(self, fact: Fact, fields: Iterable[str] = ()) -> Record:
        """A fact with what is behind it; what the orchard file says is a leaf."""
        wanted = list(fields)
        declared = self.say.resolver.kinds[fact.kind]
        if declared.of == "given" and fact.origin == ("orchard",):
            return self.leaves.orchard(fact, wanted)
        kind = "number" if declared.of == "computed" else "fact"
        text = self.say.fact(fact, wanted)
        if fact.kind == "considered":
            text = f"what is considered: {self.leaves.name(str(fact.fields['practice']))}"
        elif fact.text:
            text += f". Found so: {self.say.working(fact.text)}"
        value, unit = self._main_value(fact, wanted)
        source = self.say.sources(fact.sources)
        below: list[Record] = []
        if self.nodes.is_new("fact", fact.id):
            below = [found for origin in fact.origin for found in self.origin(origin, fact)]
        return node(kind, fact.id, text, value=value, unit=unit, source=source, below=below)

    def _main_value(self, fact: Fact, fields: Iterable[str]) -> tuple[Any, str | None]:
        """The one value of a fact that a rule asked about; none where it asked about several."""
        kind = self.say.resolver.kinds[fact.kind]
        asked = [name for name in fields if name in fact.fields and name not in kind.about]
        numbers = [name for name in asked if kind.fields[name].type == "number"]
        chosen = numbers if len(numbers) == 1 else asked
        if len(chosen) != 1:
            return None, None
        return fact.fields[chosen[0]], kind.fields[chosen[0]].unit or None

    def origin(self, origin: str, fact: Fact) -> list[Record]:
        """What an origin of a fact stands for: a firing, another fact, or an input."""
        if origin in self.firings:
            return [self.firing(self.firings[origin])]
        if origin in self.facts and origin not in INPUTS:
            return [self.fact(self.facts[origin])]
        return self.leaves.input(origin, fact)
