"""The plain evaluator: three values, and what each condition says of itself."""

import pytest

from advisor.comparisons import both, compare
from advisor.conditions import BIND, Condition, Derive, Field, Kind, Rule, Var
from advisor.conditions import Test as Asks
from advisor.evaluate import Evaluator
from advisor.fact import Fact
from advisor.rulebook import Rulebook

TEXT = Field("text")
KINDS = {
    "block": Kind("block", "given", ("block",), {"block": TEXT, "fruit": TEXT}),
    "sward": Kind(
        "sward", "observed", ("block",), {"block": TEXT, "height": Field("number", "cm"), "seed_heads": TEXT}
    ),
    "sign": Kind("sign", "derived", ("block",), {"block": TEXT}, "signs"),
}
RULE = Rule(
    "tall", "signs",
    (Condition("block", (Asks("block", BIND, Var("b")), Asks("fruit", "is", "apple"))),
     Condition(
         "sward", (Asks("block", "is", Var("b")), Asks("height", "at-least", 20.0), Asks("seed_heads", "is", "set"))
     )),
    Derive("sign", {"block": Var("b")}),
)  # fmt: skip


def evaluator(*facts):
    return Evaluator(Rulebook((RULE,), KINDS).resolver(None), facts)


def block(fruit="apple"):
    return Fact("block:b", "block", {"block": "b", "fruit": fruit})


def sward(**fields):
    return Fact("sward:b", "sward", {"block": "b", **fields})


@pytest.mark.parametrize(
    ("truths", "whole"),
    [((), True), ((True, None), None), ((None, False), False), ((True, True), True), ((False, True), False)],
)
def test_false_beats_unknown_and_unknown_beats_true(truths, whole):
    """Kleene's strong three-valued conjunction (Kleene 1952, Introduction to Metamathematics, section 64)."""
    assert both(truths) is whole


@pytest.mark.parametrize(
    ("op", "value", "bound", "holds"),
    [
        ("at-least", 20, 20, True),
        ("above", 20, 20, False),
        ("at-most", 20, 20, True),
        ("below", 20, 20, False),
        ("between", 20, (20, 30), True),
        ("between", 30, (20, 30), True),
        ("in", "set", ("set", "ripe"), True),
        ("is-not", "set", "ripe", True),
        ("is", 7, 7.0, True),
        ("is", "7", 7.0, False),
        ("at-least", 0.1 + 0.2, 0.3, True),
    ],
)
def test_comparisons_at_their_edges(op, value, bound, holds):
    assert compare(op, value, bound) is holds


@pytest.mark.parametrize(
    ("facts", "fires", "undecided"),
    [
        ((block(), sward(height=45, seed_heads="set")), True, False),
        ((block(), sward(height=5, seed_heads="set")), False, False),
        ((block(), sward(height=45)), False, True),
        ((block(), sward(height=5)), False, False),  # too short already: the seed heads cannot help
        ((block(),), False, True),  # nobody looked
        ((block("pear"),), False, False),
        ((), False, False),
    ],
)
def test_a_rule_fires_fails_or_waits_for_a_look(facts, fires, undecided):
    asked = evaluator(*facts)
    assert asked.fires(RULE) is fires
    assert bool(asked.undecided(RULE)) is undecided


def test_each_condition_tells_what_it_saw_what_it_wanted_and_by_how_much():
    states = evaluator(block(), sward(height=12, seed_heads="set")).explain(RULE)
    assert [state.state for state in states] == [True, False]
    height = next(test for test in states[1].tests if test.field == "height")
    assert (height.state, height.observed, height.expected, height.unit) == (False, 12, 20.0, "cm")
    assert height.margin == pytest.approx(-8)
    unknown = evaluator(block()).explain(RULE)
    assert [state.state for state in unknown] == [True, None]
