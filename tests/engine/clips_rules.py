"""The same rules for CLIPS (clipspy): compiled once, facts asserted for each run. The yardstick of the benchmark.

The rules mean the same in three values: a missing field is `nil`, a condition under `unless` guards against what passes
or might pass, and an observed kind must have been reported.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import clips

from advisor.conditions import BIND, LAYERS, Condition, Derive, Propose, Rule, Test, Var
from advisor.fact import Fact
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

    def __init__(self, book: Rulebook, by_template: bool = True, region: str | None = None) -> None:
        self.book = book
        self.by_template = by_template
        self.environment = clips.Environment()
        self.fired: list[tuple[str, tuple[str, ...]]] = []
        self.environment.define_function(self._record, name="record")
        for kind in book.kinds.values():
            slots = " ".join(f"(slot {_slot(name)} (default nil))" for name in kind.fields)
            self.environment.build(f"(deftemplate {kind.name} (slot fact) {slots})")
        resolver = book.resolver(region)
        for rule in book.rules:
            when = [resolver.condition(condition) for condition in rule.when]
            unless = [resolver.condition(condition) for condition in rule.unless]
            self.environment.build(self._rule(rule, when, unless))
        self.templates = {kind: self.environment.find_template(kind) for kind in book.kinds}

    def _rule(self, rule: Rule, when: list[Condition], unless: list[Condition]) -> str:
        kinds = self.book.kinds
        parts = []
        for number, condition in enumerate(when):
            pattern = _pattern(condition, kinds[condition.kind].about, str(number))
            parts.append(f"{pattern[:-1]} (fact ?fact-{number}))")
        for number, condition in enumerate(unless):
            kind = kinds[condition.kind]
            possible = condition.kind not in rule.even_if_not_seen
            if kind.of == "observed" and possible:
                parts.append(f"(exists {_pattern(condition, kind.about, f's{number}', only=kind.about)})")
            parts.append(f"(not {_pattern(condition, kind.about, f'n{number}', possible)})")
        facts = " ".join(f"?fact-{number}" for number in range(len(when)))
        act = f'(record "{rule.id}" {facts})'
        if isinstance(rule.output, Derive):
            fields = " ".join(f"({_slot(name)} {_literal(value)})" for name, value in rule.output.fields.items())
            values = " ".join(f'":" {_literal(value)}' for value in rule.output.fields.values())
            act += f' (assert ({rule.output.kind} (fact (str-cat "{rule.output.kind}" {values})) {fields}))'
        elif isinstance(rule.output, Propose):
            said = {
                "practice": rule.output.practice,
                "block": rule.output.block,
                "habitat": rule.output.habitat,
                "target": rule.output.target or "none",
                "material": rule.output.material or "none",
                "made_by": "proposal",
                "stance": rule.output.stance,
            }
            fields = " ".join(f"({_slot(name)} {_literal(value)})" for name, value in said.items() if value is not None)
            act += f' (assert (considered (fact (str-cat "{rule.id}" {facts})) {fields}))'
        salience = 10 * (len(LAYERS) - LAYERS.index(rule.layer))
        return f"(defrule {rule.id} (declare (salience {salience})) {' '.join(parts)} => {act})"

    def _record(self, rule: str, *facts: str) -> None:
        self.fired.append((rule, facts))

    def run(self, facts: Iterable[Fact]) -> list[tuple[str, tuple[str, ...]]]:
        self.environment.reset()
        self.fired = []
        if self.by_template:
            for fact in facts:
                self.templates[fact.kind].assert_fact(
                    fact=fact.id, **{_slot(name): value for name, value in fact.fields.items()}
                )
        else:
            self.environment.load_facts("\n".join(map(self._written, facts)))
        self.environment.run()
        return self.fired

    @staticmethod
    def _written(fact: Fact) -> str:
        slots = " ".join(f"({_slot(name)} {_literal(value)})" for name, value in fact.fields.items())
        return f'({fact.kind} (fact "{fact.id}") {slots})'
