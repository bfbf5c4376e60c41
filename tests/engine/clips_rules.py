"""The same rules for CLIPS (clipspy): compiled once, facts asserted for each run. The yardstick of the benchmark.

The rules mean the same in three values: a missing field is `nil`, a condition under `unless` guards against what passes
or might pass, and an observed kind must have been reported.

ClipsRules   tells each firing as a rule and the ids of its facts
ClipsStage   makes of each firing what our engine makes of it, so that CLIPS does the whole rule stage
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import clips

from advisor.conditions import BIND, CONSIDERED, LAYERS, Condition, Derive, Propose, Rule, Test, Var
from advisor.fact import Fact
from advisor.inference import Speaker, considered_facts
from advisor.outcome import Firing, Proposal, show_plainly
from advisor.rulebook import Rulebook

_SIGN = {"at-least": ">=", "above": ">", "at-most": "<=", "below": "<"}


def _literal(value: object) -> str:
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, Var):
        return f"?{value.name}"
    return str(value) if isinstance(value, int | float) else f'"{value}"'


def _slot(name: str) -> str:
    return f"f-{name}"


def _constraint(tests: Sequence[Test], possible: bool, slot: str) -> str:
    """All tests of one field; `possible`: or the field is missing."""
    variable = next((test.bound.name for test in tests if test.op == BIND), f"x-{slot}")  # type: ignore[union-attr]
    joins = [f"?{test.bound.name}" for test in tests if test.op == "is" and isinstance(test.bound, Var)]
    if joins and len(tests) == 1 and not possible:
        return joins[0]
    if len(tests) == 1 and tests[0].op == "is" and not possible and not isinstance(tests[0].bound, Var):
        return _literal(tests[0].bound)
    if any(test.op == "known" for test in tests):  # whether a field is known is never unknown itself
        possible = False
    checks = [] if possible else [f"(neq ?{variable} nil)"]
    for test in tests:
        if test.op in _SIGN:
            checks.append(f"({_SIGN[test.op]} ?{variable} {_literal(test.bound)})")
        elif test.op == "between":
            low, high = test.bounds()
            checks.append(f"(<= {_literal(low)} ?{variable} {_literal(high)})")
        elif test.op == "in":
            checks.append(
                "(or FALSE " + " ".join(f"(eq ?{variable} {_literal(bound)})" for bound in test.bounds()) + ")"
            )
        elif test.op in ("is", "is-not"):
            checks.append(f"({'eq' if test.op == 'is' else 'neq'} ?{variable} {_literal(test.bound)})")
    whole = checks[0] if len(checks) == 1 else f"(and {' '.join(checks)})"
    return f"?{variable}&:(or (eq ?{variable} nil) {whole})" if possible else f"?{variable}&:{whole}"


def _pattern(
    condition: Condition, about: Sequence[str], number: str, possible: bool = False, only: Sequence[str] | None = None
) -> str:
    fields: dict[str, list[Test]] = {}
    for test in condition.tests:
        if only is None or test.field in only:
            fields.setdefault(test.field, []).append(test)
    slots = [
        f"({_slot(name)} {_constraint(tests, possible and name not in about, f'{number}-{name}')})"
        for name, tests in fields.items()
    ]
    return f"({condition.kind} {' '.join(slots)})"


class ClipsRules:
    """A rulebook in a CLIPS environment. `run` gives what fired: rule ids with the ids of their facts."""

    def __init__(self, book: Rulebook, region: str | None = None) -> None:
        self.book = book
        self.rules = {rule.id: rule for rule in book.rules}
        self.resolver = book.resolver(region)
        self.environment = clips.Environment()
        self.fired: list[tuple[str, tuple[str, ...]]] = []
        self.environment.define_function(self.record, name="record")
        for kind in book.kinds.values():
            slots = " ".join(f"(slot {_slot(name)} (default nil))" for name in kind.fields)
            self.environment.build(f"(deftemplate {kind.name} (slot fact) {slots})")
        for rule in book.rules:
            self.environment.build(self._rule(rule))
        self.templates = {kind: self.environment.find_template(kind) for kind in book.kinds}

    def _rule(self, rule: Rule) -> str:
        kinds = self.book.kinds
        parts = []
        for number, condition in enumerate(map(self.resolver.condition, rule.when)):
            pattern = _pattern(condition, kinds[condition.kind].about, str(number))
            parts.append(f"{pattern[:-1]} (fact ?fact-{number}))")
        for number, condition in enumerate(map(self.resolver.condition, rule.unless)):
            kind = kinds[condition.kind]
            possible = condition.kind not in rule.even_if_not_seen
            if kind.of == "observed" and possible:
                parts.append(f"(exists {_pattern(condition, kind.about, f's{number}', only=kind.about)})")
            parts.append(f"(not {_pattern(condition, kind.about, f'n{number}', possible)})")
        record = f'(record "{rule.id}" {" ".join(f"?fact-{number}" for number in range(len(rule.when)))})'
        act = self._act(rule, record)
        salience = 10 * (len(LAYERS) - LAYERS.index(rule.layer))
        return f"(defrule {rule.id} (declare (salience {salience})) {' '.join(parts)} => {act})"

    def _act(self, rule: Rule, record: str) -> str:
        """What a rule does: it tells that it fired, and asserts what later layers read."""
        said = self.resolver.settled(rule)
        if isinstance(said, Derive):
            values = " ".join(f'":" {_literal(value)}' for value in said.fields.values())
            return self._asserted(record, f'(str-cat "{said.kind}" {values})', said.kind, said.fields)
        if isinstance(said, Propose):
            fields = {
                "practice": said.practice,
                "block": said.block,
                "habitat": said.habitat,
                "target": said.target or "none",
                "material": said.material or "none",
                "made_by": "proposal",
                "stance": said.stance,
                "day": said.opens,
            }
            return self._asserted(record, f'(str-cat "{rule.id}" {record[1:-1]})', CONSIDERED, fields)
        return record

    def _asserted(self, record: str, name: str, kind: str, fields: Mapping[str, object]) -> str:
        """name: an expression for the id of the fact."""
        slots = " ".join(f"({_slot(field)} {_literal(value)})" for field, value in fields.items() if value is not None)
        return f"{record} (assert ({kind} (fact {name}) {slots}))"

    def record(self, rule: str, *facts: str) -> str:
        """Called by each rule that fires."""
        self.fired.append((rule, facts))
        return ""

    def run(self, facts: Iterable[Fact]) -> list[tuple[str, tuple[str, ...]]]:
        self.environment.reset()
        self.fired = []
        for fact in facts:
            self.templates[fact.kind].assert_fact(
                fact=fact.id, **{_slot(name): value for name, value in fact.fields.items()}
            )
        self.environment.run()
        return self.fired


class ClipsStage(ClipsRules):
    """The rule stage with CLIPS in the place of our engine: a rule that fires makes its firing, as ours are made."""

    def _asserted(self, record: str, name: str, kind: str, fields: Mapping[str, object]) -> str:
        slots = " ".join(f"({_slot(field)} {_literal(value)})" for field, value in fields.items() if value is not None)
        return f"(assert ({kind} (fact {record}) {slots}))"

    def record(self, rule: str, *facts: str) -> str:
        """Called by each rule that fires; gives the id of the fact that it asserts."""
        known, matched = self.known, tuple([self.known[id] for id in facts])
        firing = self.speaker.speak(self.rules[rule], matched, facts)
        self.firings.append(firing)
        made = firing.output
        if isinstance(made, Proposal):
            (made,) = considered_facts([firing], ())
        if isinstance(made, Fact):
            return known.setdefault(made.id, made).id
        return ""

    def stage(self, facts: Sequence[Fact]) -> list[Firing]:
        """All firings that these facts bring about."""
        self.known = {fact.id: fact for fact in facts}
        self.speaker = Speaker(self.resolver, self.known, show_plainly)
        self.firings: list[Firing] = []
        considered = considered_facts((), facts)  # an intent each
        self.known.update((fact.id, fact) for fact in considered)
        self.run([*facts, *considered])
        return self.firings
