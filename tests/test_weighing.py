"""Settling in the open: safety first, then strength, then the ledger; and practices that exclude one another."""

import pytest

from advisor.advice import default_rules
from advisor.consequences import Consequence, Ledger
from advisor.fact import Fact
from advisor.inference import run
from advisor.rulebook import rules_from_text
from advisor.weighing import Wish, settle

KINDS = default_rules().kinds

DO = """
- id: do-{practice}
  layer: proposals
  when: [{{block: {{block: $b, fruit: apple}}}}]
  propose: {{practice: {practice}, stance: {stance}, place: $b, strength: {strength}, window: {{opens: 0, closes: {closes}}},
            summary: "Do it.", urgency: 0.6}}
  because: "It is due."
  evidence: common-practice
"""
HOLD = """
- id: {effect}-{practice}-{strength}
  layer: reservations
  when: [{{considered: {{practice: {practice}, block: $b}}}}, {{block: {{block: $b}}}}]
  reserve: {{effect: {effect}, strength: {strength}, {until}answer: "Not now."}}
  because: "Something is in the way."
  evidence: common-practice
"""


def ledger(gain=0.0, cost=0.0):
    def side(score):
        line = Consequence(
            what="x", name="x", kind="ally", path=(), score=score, evidence="from-memory", sources=(), unsure=False
        )
        return (line,) if score else ()

    return Ledger(gains=side(gain), costs=side(cost))


def propose(practice="mow-alleys", strength="fair", stance="do", closes="null"):
    return DO.format(practice=practice, strength=strength, stance=stance, closes=closes)


def hold(practice="mow-alleys", strength="fair", effect="hold", until=""):
    return HOLD.format(practice=practice, strength=strength, effect=effect, until=until and f"until: {until}, ")


def settled(*texts, wishes=(), ledgers=None, conflicts=None, undecided=None, prepares=None):
    book = rules_from_text("\n".join(texts), KINDS)
    facts = [Fact("block:b", "block", {"block": "b", "fruit": "apple"})]
    facts += [Fact(f"intent:{w}", "intent", {"id": w, "block": "b", "practice": w, "day": 2}) for w in wishes]
    inference = run(book, facts)
    meant = [
        Wish(
            f.id.removeprefix("considered:"),
            str(f.fields["intent"]),
            str(f.fields["practice"]),
            None,
            "b",
            None,
            None,
            2,
        )
        for f in inference.facts.values()
        if f.kind == "considered" and f.fields["made_by"] == "intent"
    ]
    outcomes = settle(
        inference.proposals, meant, inference.reservations, undecided or {},
        lambda practice: (conflicts or {}).get(practice, ()),
        lambda practice, place, about: (ledgers or {}).get(practice, ledger()),
        {p.id: meant[0].intent for p in inference.proposals if p.practice == prepares},
    )  # fmt: skip
    return {one.practice: one for one in outcomes}


@pytest.mark.parametrize(
    ("proposal", "reservation", "gives", "stance"),
    [
        ("strong", "must", 9.0, "wait"),  # safety first, whatever it gives
        ("strong", "fair", -9.0, "do"),  # the stronger reason, whatever the ledger says
        ("weak", "fair", 9.0, "wait"),
        ("fair", "fair", 0.5, "do"),  # equals: the ledger
        ("fair", "fair", -0.5, "wait"),
        ("fair", "fair", 0.0, "wait"),  # in doubt, hold
    ],
)
def test_a_hold_against_a_proposal(proposal, reservation, gives, stance):
    here = {"mow-alleys": ledger(gain=max(gives, 0), cost=max(-gives, 0))}
    one = settled(propose(strength=proposal), hold(strength=reservation), ledgers=here)["mow-alleys"]
    assert one.stance == stance
    assert one.lost, "what was outweighed is kept"


def test_what_lost_is_named_with_the_reason():
    one = settled(propose(strength="strong"), hold(strength="fair"))["mow-alleys"]
    assert [(lost.what, lost.by) for lost in one.lost] == [("hold-mow-alleys-fair", "strength")]
    one = settled(propose(strength="strong"), hold(strength="must"))["mow-alleys"]
    assert [(lost.what, lost.by) for lost in one.lost] == [("do-mow-alleys", "safety")]


def test_a_wish_alone_is_done_and_yields_to_the_weakest_hold():
    assert settled(wishes=["mow-alleys"])["mow-alleys"].stance == "do"
    assert settled(hold(strength="weak"), wishes=["mow-alleys"])["mow-alleys"].stance == "wait"


def test_a_hold_that_is_over_by_the_day_of_the_wish_does_not_bind():
    kept = settled(hold(until="1"), wishes=["mow-alleys"])["mow-alleys"]
    assert (kept.stance, kept.opens, kept.closes) == ("do", 2, 2)


def test_forbidding_beats_holding_and_its_end_is_kept():
    one = settled(hold(effect="forbid", until="1", strength="strong"), hold(), propose(strength="weak"))["mow-alleys"]
    assert (one.stance, one.opens, one.closes) == ("avoid", 0, 1)
    one = settled(hold(effect="forbid"), propose(strength="weak"))["mow-alleys"]
    assert (one.stance, one.closes) == ("avoid", None)


def test_a_wish_waits_for_the_look_that_decides():
    wish = settled(wishes=["mow-alleys"])["mow-alleys"].wishes[0]
    one = settled(wishes=["mow-alleys"], undecided={wish.id: ["some-rule"]})["mow-alleys"]
    assert (one.stance, one.opens, one.closes) == ("wait", None, None)


def test_looking_alone_is_a_look_and_a_wish_waits_for_it():
    assert settled(propose(stance="look"))["mow-alleys"].stance == "look"
    assert settled(propose(stance="look"), wishes=["mow-alleys"])["mow-alleys"].stance == "wait"


def test_an_avoiding_proposal_speaks_against_a_wish_and_stands_alone_without_one():
    assert settled(propose(stance="avoid"))["mow-alleys"].stance == "avoid"
    one = settled(propose(stance="avoid"), wishes=["mow-alleys"])["mow-alleys"]
    assert one.stance == "avoid"
    assert one.wishes


def test_of_two_practices_that_exclude_each_other_the_weightier_stays():
    both = {"mow-alleys": ["leave-tall"], "leave-tall": ["mow-alleys"]}
    texts = [propose(), propose("leave-tall")]
    outcomes = settled(*texts, conflicts=both, ledgers={"leave-tall": ledger(gain=1.0), "mow-alleys": ledger(cost=1.0)})
    assert set(outcomes) == {"leave-tall"}
    assert [lost.what for lost in outcomes["leave-tall"].lost] == ["do-mow-alleys"]


def test_a_wish_that_a_practice_excludes_is_to_be_avoided():
    both = {"mow-alleys": ["leave-tall"], "leave-tall": ["mow-alleys"]}
    outcomes = settled(propose("leave-tall", strength="strong"), wishes=["mow-alleys"], conflicts=both)
    assert outcomes["leave-tall"].stance == "do"
    assert outcomes["mow-alleys"].stance == "avoid"


def test_nothing_is_done_to_prepare_for_what_is_to_be_avoided_or_is_excluded():
    """The sward is not cut for a spray that is to be left out, nor for one that sparing the allies excludes."""
    both = {"insecticide": ["spare-allies"], "spare-allies": ["insecticide"]}
    cut, spare = propose("mow-bloom-before-spray"), propose("spare-allies")
    prepare = {"prepares": "mow-bloom-before-spray", "wishes": ["insecticide"]}
    assert "mow-bloom-before-spray" in settled(cut, **prepare)
    held = hold("insecticide", strength="must")
    assert "mow-bloom-before-spray" in settled(cut, held, **prepare), "it may be sprayed once the sward is cut"
    assert "mow-bloom-before-spray" not in settled(cut, hold("insecticide", effect="forbid"), **prepare)
    assert "mow-bloom-before-spray" not in settled(cut, held, spare, conflicts=both, **prepare)
