"""Which rules can derive a fact that passes some tests, and under which bindings."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.advice import Run
from advisor.comparisons import passes
from advisor.conditions import BIND, Condition, Derive, Rule, Test, Var
from advisor.evaluate import TestState
from advisor.fact import Value


def fitting(rule: Rule, tests: Sequence[TestState], run: Run) -> dict[str, Value] | None:
    """The bindings under which a rule derives a fact that passes these tests; None if it never does."""
    output = run.rulebook.resolver(run.now.region).settled(rule)
    assert isinstance(output, Derive)
    bindings: dict[str, Value] = {}
    for test in tests:
        made = output.fields.get(test.field)
        if test.expected is None:
            continue
        if isinstance(made, Var):
            if test.op in ("is", BIND) and isinstance(test.expected, str | int | float):
                bindings[made.name] = test.expected
        elif made is None:
            if test.op not in ("is-not",):
                return None
        else:
            asked = Test(test.field, "is" if test.op == BIND else test.op, test.expected)  # type: ignore[arg-type]
            if passes(Condition(output.kind, (asked,)), {test.field: made}, {}) is not True:  # type: ignore[dict-item]
                return None
    return bindings
