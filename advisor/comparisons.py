"""One fact against the tests of one condition, in three values: true, false and unknown (None)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from advisor.conditions import BIND, COMPARING, PLACES, Bounds, Condition, Test, Var
from advisor.fact import Value, plain

Truth = bool | None
Bindings = Mapping[str, Value]
UNBOUND = object()


def both(truths: Iterable[Truth]) -> Truth:
    """True if all are true, False if any is false, otherwise unknown."""
    result: Truth = True
    for truth in truths:
        if truth is False:
            return False
        if truth is None:
            result = None
    return result


def compare(op: str, value: Value, bound: Bounds) -> bool:
    """Whether a known value passes a test whose bounds are plain values."""
    if not isinstance(value, bool | str):
        value = plain(value)
    if op == "known":
        return True
    if op == "in":
        return value in bound if isinstance(bound, tuple) else value == bound
    if op in COMPARING:
        number = float(value)
        if isinstance(bound, tuple):
            low, high = (plain(float(end)) for end in bound)  # type: ignore[arg-type]
            return low <= number <= high
        limit = plain(float(bound))  # type: ignore[arg-type]
        return {
            "at-least": number >= limit,
            "above": number > limit,
            "at-most": number <= limit,
            "below": number < limit,
        }[op]
    same = value == bound
    return not same if op == "is-not" else same


def filled(bounds: Bounds, bindings: Bindings) -> Bounds | object:
    """The bounds with variables replaced by their values, or UNBOUND if one has none."""
    if isinstance(bounds, tuple):
        values = tuple(bindings.get(bound.name, UNBOUND) if isinstance(bound, Var) else bound for bound in bounds)
        return UNBOUND if UNBOUND in values else values
    return bindings.get(bounds.name, UNBOUND) if isinstance(bounds, Var) else bounds


def truth_of(test: Test, fields: Mapping[str, Value], bindings: Bindings) -> Truth:
    value = fields.get(test.field)
    if value is None:
        return False if test.op == "known" or test.field in PLACES else None
    bound = filled(test.bound, bindings)
    if bound is UNBOUND:
        return None
    if test.op == BIND:  # its own value, or that of an earlier condition that was filled first
        return bound == value
    return compare(test.op, value, bound)  # type: ignore[arg-type]


def passes(condition: Condition, fields: Mapping[str, Value], bindings: Bindings) -> Truth:
    """Whether a fact passes all tests of a condition, under these bindings."""
    return both(truth_of(test, fields, bindings) for test in condition.tests)


def bound_by(condition: Condition, fields: Mapping[str, Value], bindings: Bindings) -> dict[str, Value]:
    """The bindings after a fact has filled a condition."""
    result = dict(bindings)
    for test in condition.tests:
        if test.op in (BIND, "is") and isinstance(test.bound, Var) and test.field in fields:
            result.setdefault(test.bound.name, fields[test.field])
    return result
