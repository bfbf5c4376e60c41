"""The engine does what the plain evaluator says, whatever the rules and facts; it never crashes, hangs or forgets."""

import os
import random
import resource
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from advisor.advice import default_rules
from advisor.conditions import BIND, Condition, Derive, Field, Kind, Propose, Rule, Var
from advisor.conditions import Test as Asks
from advisor.fact import Fact
from advisor.inference import RuleError, compiled, run
from advisor.program import MOST_CONDITIONS, OverLimit
from advisor.rulebook import Rulebook
from advisor.rulecheck import facts_of
from advisor.sessions import Ruleset
from counts import count
from engine.programs import fired, make_facts, make_rulebook, plainly

TESTS = Path(__file__).parent
TEXT, NUMBER = Field("text"), Field("number")
BLOCK = Asks("block", BIND, Var("b"))


def kinds(**more):
    made = {
        "given": Kind("given", "given", ("block",), {"block": TEXT, "level": NUMBER, "word": TEXT}),
        "looked": Kind("looked", "observed", ("block",), {"block": TEXT, "level": NUMBER, "word": TEXT}),
        "sign": Kind("sign", "derived", ("block",), {"block": TEXT, "level": NUMBER}, "signs"),
        "pressure": Kind("pressure", "derived", ("block",), {"block": TEXT}, "pressures"),
    }
    return {**made, **more}


def book(*rules):
    return Rulebook(tuple(rules), kinds())


def derive(id, *when, kind="sign", unless=(), even=(), layer="signs"):
    return Rule(id, layer, when, Derive(kind, {"block": Var("b")}), unless, frozenset(even), "Because.")


def trial(first, last, size, seconds):
    told = subprocess.run(
        [sys.executable, "-m", "engine.trial", str(first), str(last), size],
        cwd=TESTS, capture_output=True, text=True, timeout=seconds, check=False,
        env={**os.environ, "PYTHONPATH": str(TESTS)},
    )  # fmt: skip
    assert told.returncode == 0, f"exit {told.returncode}: {told.stderr[-2000:]}"
    return tuple(map(int, told.stdout.split()))


@settings(max_examples=count("engine programs, small"), deadline=None, suppress_health_check=list(HealthCheck))
@given(st.integers(min_value=0, max_value=2**40), st.integers(1, 12), st.integers(0, 60))
def test_random_programs_agree_with_the_plain_evaluator(seed, rules, facts):
    rnd = random.Random(seed)
    made = make_rulebook(rnd, rules, rnd.randint(3, 8), rnd.randint(2, 5))
    given_facts = make_facts(rnd, made, facts)
    expected, known = plainly(made, given_facts)
    try:
        got = run(made, given_facts)
    except OverLimit:  # one rule with more conditions than the engine can hold
        assume(False)
    assert fired(got) == expected
    assert set(got.facts) == set(known)


def test_random_programs_in_child_processes():
    number = count("engine programs, small")
    firings, refused = trial(0, number, "small", 600 + number)
    assert firings > number, "the programs do fire"
    assert refused < number / 10


def test_large_random_programs_in_child_processes():
    number = count("engine programs, large")
    firings, refused = trial(0, number, "large", 600 + 20 * number)
    assert firings > 100 * number
    assert refused <= number / 50, "up to 400 rules run; only a rule too long for the engine is refused, and named"


def test_the_order_of_the_facts_does_not_matter():
    for seed in range(20):
        rnd = random.Random(seed)
        made = make_rulebook(rnd, 12)
        facts = make_facts(rnd, made, 40)
        shuffled = random.Random(seed + 1).sample(facts, len(facts))
        one, other = run(made, facts), run(made, shuffled)
        assert [f.id for f in one.firings] == [f.id for f in other.firings]
        assert list(one.facts) == list(other.facts)


def test_every_rule_of_a_large_book_fires_on_facts_of_its_own():
    """No rule is dropped silently: 400 rules, each waiting for its own number, all fire."""
    rules = [
        derive(f"rule-{n}", Condition("given", (BLOCK, Asks("level", "is", float(n)), Asks("word", "is", f"w{n % 7}"))))
        for n in range(400)
    ]
    facts = [
        Fact(f"given:{n}", "given", {"block": f"b{n}", "level": float(n), "word": f"w{n % 7}"}) for n in range(400)
    ]
    assert {firing.rule.id for firing in run(book(*rules), facts).firings} == {rule.id for rule in rules}


def test_one_fact_may_pass_hundreds_of_tests():
    rules = [derive(f"rule-{n}", Condition("given", (BLOCK, Asks("level", "above", float(n))))) for n in range(400)]
    fact = Fact("given:b", "given", {"block": "b", "level": 399.5})
    assert len(run(book(*rules), [fact]).firings) == 400


def test_a_rule_that_is_too_long_is_refused_and_named():
    many = {f"kind-{n}": Kind(f"kind-{n}", "given", ("block",), {"block": TEXT}) for n in range(MOST_CONDITIONS + 4)}
    conditions = [Condition(name, (BLOCK if n == 0 else Asks("block", "is", Var("b")),)) for n, name in enumerate(many)]
    rule = derive("too-long", *conditions)
    with pytest.raises(OverLimit, match="too-long"):
        run(Rulebook((rule,), {**kinds(), **many}), [])


def test_rules_that_join_alike_share_a_ruleset_and_do_not_meet():
    """Each rule has a fact for one condition in this block and for the other in that one; only the third has both here."""
    here, there = Asks("level", "is", 1), Asks("level", "is", 2)
    same = Asks("block", "is", Var("b"))
    rules = [
        derive("first", Condition("given", (BLOCK, here)), Condition("looked", (same, there))),
        derive("second", Condition("given", (BLOCK, there)), Condition("looked", (same, here))),
        derive("third", Condition("given", (BLOCK, here)), Condition("looked", (same, here))),
    ]
    facts = [Fact(f"{kind}:{block}", kind, {"block": block, "level": level})
             for kind in ("given", "looked") for block, level in (("upper", 1), ("lower", 2))]  # fmt: skip
    made = book(*rules)
    assert len({matcher.undefeated for matcher in compiled(made, None).matchers}) == 1
    assert [firing.id for firing in run(made, facts).firings] == ["third(given:upper, looked:upper)"]


def test_the_engine_draws_every_conclusion(monkeypatch):
    """Nothing fires if the engine says nothing, be it a rule of one condition or of several."""
    rules = [
        derive("one", Condition("given", (BLOCK, Asks("level", "above", 0)))),
        derive("two", Condition("given", (BLOCK,)), Condition("looked", (Asks("block", "is", Var("b")),))),
    ]
    facts = [Fact(f"{kind}:b", kind, {"block": "b", "level": 1}) for kind in ("given", "looked")]
    assert [firing.rule.id for firing in run(book(*rules), facts).firings] == ["one", "two"]
    monkeypatch.setattr(Ruleset, "firings", lambda self, texts: iter(()))
    assert run(book(*rules), facts).firings == ()


@pytest.mark.parametrize("there", [None, 0, MOST_CONDITIONS + 3])
def test_any_of_many_conditions_under_unless_defeats_a_rule(there):
    """Those that join alike count as one, so a rule may have more of them than the engine holds."""
    same = Asks("block", "is", Var("b"))
    unless = tuple(Condition("given", (same, Asks("level", "is", n))) for n in range(MOST_CONDITIONS + 4))
    rule = derive("clear", Condition("looked", (BLOCK,)), unless=unless)
    facts = [Fact("looked:b", "looked", {"block": "b"}), Fact("given:c", "given", {"block": "c", "level": 0})]
    if there is not None:
        facts.append(Fact("given:b", "given", {"block": "b", "level": there}))
    assert bool(run(book(rule), facts).firings) is (there is None)


@pytest.mark.parametrize(
    ("reported", "even", "fires"),
    [
        (None, (), False),  # not looked: unknown
        (None, ("looked",), True),  # not looked, and the rule may act without a look
        ({"level": 0}, (), True),  # looked for and found absent
        ({"level": 5}, (), False),  # there
        ({"level": 5}, ("looked",), False),
        ({"word": "none"}, (), False),  # looked, but the field is missing: unknown
        ({"word": "none"}, ("looked",), True),
    ],
)
def test_unless_over_an_observed_kind(reported, even, fires):
    unless = Condition("looked", (Asks("block", "is", Var("b")), Asks("level", "above", 0)))
    rule = derive("careful", Condition("given", (BLOCK,)), unless=(unless,), even=even)
    facts = [Fact("given:b", "given", {"block": "b"})]
    if reported is not None:
        facts.append(Fact("looked:b", "looked", {"block": "b", **reported}))
    result = run(book(rule), facts)
    assert bool(result.firings) is fires
    if fires:
        assert result.firings[0].assumed == (("looked",) if even and reported != {"level": 0} else ())
    elif reported != {"level": 5}:
        assert [undecided.rule.id for undecided in result.undecided] == ["careful"]


def test_a_negated_condition_never_looks_before_its_kind_is_closed():
    sign = derive("sign", Condition("given", (BLOCK,)))
    clear = derive(
        "clear", Condition("given", (BLOCK,)), kind="pressure", layer="pressures",
        unless=(Condition("sign", (Asks("block", "is", Var("b")),)),),
    )  # fmt: skip
    facts = [Fact("given:b", "given", {"block": "b"})]
    assert [f.rule.id for f in run(book(sign, clear), facts).firings] == ["sign"]
    assert [f.rule.id for f in run(book(clear), facts).firings] == ["clear"]


def test_a_fault_while_a_rule_speaks_reaches_the_caller_with_the_rule():
    rule = Rule(
        "shouts",
        "proposals",
        (Condition("given", (BLOCK,)),),
        Propose("mow", "do", "Do it.", block=Var("b")),
        because="Why.",
    )

    def show(value, unit, field, fruit):
        raise ZeroDivisionError

    spoken = Rule(**{**{f: getattr(rule, f) for f in rule.__dataclass_fields__}, "because": "In {b}."})
    inference = run(book(spoken), [Fact("given:b", "given", {"block": "b"})], show=show)
    with pytest.raises(ZeroDivisionError):
        _ = inference.firings[0].because
    broken = Rule(
        "broken", "signs", (Condition("given", (BLOCK,)),), Derive("sign", {"block": Var("nobody")}), because="Why."
    )
    with pytest.raises(RuleError, match="broken") as fault:
        run(book(broken), [Fact("given:b", "given", {"block": "b"})])
    assert fault.value.rule == "broken"


def test_a_fact_that_cannot_be_sent_is_named():
    rule = derive("any", Condition("given", (BLOCK, Asks("level", "above", 0))))
    with pytest.raises(ValueError, match="given:b"):
        run(book(rule), [Fact("given:b", "given", {"block": "b", "level": float("nan")})])
    twice = [Fact("given:b", "given", {"block": "b", "level": n}) for n in (1, 2)]
    with pytest.raises(ValueError, match="given:b"):
        run(book(rule), twice)


def test_two_threads_asking_at_once_get_their_own_answers():
    rule = derive("any", Condition("given", (BLOCK, Asks("level", "above", 0))))
    shared = book(rule)
    faults = []

    def ask(name):
        for turn in range(150):
            facts = [
                Fact(f"given:{name}-{n}", "given", {"block": f"{name}-{n}", "level": 1}) for n in range(turn % 7 + 1)
            ]
            blocks = {f.output.fields["block"] for f in run(shared, facts).firings}
            if blocks != {f.fields["block"] for f in facts}:
                faults.append((name, turn, blocks))

    threads = [threading.Thread(target=ask, args=(name,)) for name in ("upper", "lower")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not faults


def test_sessions_leave_memory_flat():
    rnd = random.Random(11)
    made = make_rulebook(rnd, 12)
    facts = make_facts(rnd, made, 60)
    for _ in range(300):
        run(made, facts)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for _ in range(count("engine sessions for flat memory")):
        run(made, facts)
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert grown < 8_000, f"{grown} kB more at the highest"


def test_no_rule_that_is_undecided_is_left_out():
    for seed in range(150):
        rnd = random.Random(seed)
        made = make_rulebook(rnd, 12)
        got = run(made, make_facts(rnd, made, 40))
        plain = {rule.id for rule in made.rules if got.evaluator.undecided(rule)}
        left = {rule.id for rule in compiled(made, None).doubt.left(got.facts.values())}
        assert plain <= left
        assert {undecided.rule.id for undecided in got.undecided} <= plain


def test_every_rule_of_the_program_fires_among_all_the_others():
    book_of_all = default_rules()
    for rule in book_of_all.rules:
        for case in rule.cases:
            if case.fires:
                firings = run(book_of_all, facts_of(case, book_of_all.kinds), case.region).firings
                assert rule.id in {firing.rule.id for firing in firings}, case.name
