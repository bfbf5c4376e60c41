"""Values that are to pass a test pass it, and looks make the facts that they are written for."""

from __future__ import annotations

import datetime as dt

import pytest

from advisor.advice import default_rules
from advisor.comparisons import compare
from advisor.conditions import Var
from advisor.ecosystem import knowledge
from advisor.explain.looks import absent, failing, plausible, record, satisfying, there
from advisor.facts import Situation, gather
from advisor.observation import KINDS
from advisor.orchard import load_orchard

BOOK = default_rules()
DAY = dt.date(2026, 5, 18)


def every_test():
    """Every test of the rules on what is observed, with plain bounds."""
    resolver = BOOK.resolver("any")
    for rule in BOOK.rules:
        for condition in rule.conditions():
            kind = BOOK.kinds[condition.kind]
            for test in resolver.condition(condition).tests if kind.of == "observed" else ():
                if not any(isinstance(bound, Var) for bound in test.bounds()):
                    yield rule.id, test, kind.fields[test.field]


def test_values_pass_or_fail_the_tests_of_the_rules_as_they_should():
    passed = failed = 0
    for rule, test, field in every_test():
        for value in satisfying(test.op, test.bound, field, None):
            assert compare(test.op, value, test.bound), (rule, test, value)
            passed += 1
        for value in failing(test.op, test.bound, field):
            # below nothing there is nothing to count: such a test cannot be failed by less
            if not compare(test.op, value, test.bound):
                failed += 1
            else:
                assert value == 0, (rule, test, value)
    assert passed > 100
    assert failed > 50


def facts_of(looks):
    file = load_orchard({
        "orchard": {"name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York"},
        "blocks": [{"id": "upper", "fruit": "apple", "cultivars": ["Liberty"]}],
        "observations": [{"date": DAY, **look} for look in looks],
    })  # fmt: skip
    return gather(Situation.of(file, DAY, None, None, knowledge()), BOOK.kinds).facts


KEYS = {"tree-sign": {"sign": "wilting"}, "plant-bloom": {"plant": "yarrow"}, "pest-count": {"pest": "codling-moth"},
        "pest-damage": {"pest": "codling-moth"}, "ally-count": {"ally": "hover-fly"},
        "disease-sign": {"disease": "apple-scab"}, "wildlife-sign": {"who": "none"}, "bees": {"who": "honey-bee"},
        "fruit-sample": {"cultivar": "Liberty"}}  # fmt: skip


@pytest.mark.parametrize("kind", sorted(k for k in KINDS if k in BOOK.kinds and BOOK.kinds[k].of == "observed"))
def test_a_look_makes_the_fact_that_it_is_written_for(kind):
    for fields in (there(kind), absent(kind)):
        if not fields:
            continue
        wanted = {**KEYS.get(kind, {}), "block": "upper", **fields}
        said = record(BOOK.kinds[kind], wanted, 2026)
        assert said is not None
        made = [f for f in facts_of([said]) if f.kind == kind]
        assert any(all(f.fields.get(name) == value for name, value in wanted.items()) for f in made), (said, made)


@pytest.mark.parametrize("kind", sorted(k for k in KINDS if plausible(k)))
def test_what_is_plausibly_found_can_be_read(kind):
    for finding in plausible(kind):
        about = {} if kind == "forecast" else {"block": "upper"}
        look = {"kind": kind, **about, **KEYS.get(kind, {}), **finding}
        if kind == "forecast":
            look["day"] = DAY + dt.timedelta(days=1)
        assert facts_of([look]) != facts_of([])


def test_stems_are_written_by_the_year_of_their_first_cut():
    kind = BOOK.kinds["stems"]
    assert record(kind, {"block": "upper", "never_cut": True}, 2026) == {
        "kind": "stems", "block": "upper", "first_cut": "never"}  # fmt: skip
    made = record(kind, {"block": "upper", "stem_winters": 2, "standing": 0.5}, 2026)
    assert made == {"kind": "stems", "block": "upper", "first_cut": 2024, "standing": 0.5}
    (fact,) = [f for f in facts_of([made]) if f.kind == "stems"]
    assert fact.fields["stem_winters"] == 2
