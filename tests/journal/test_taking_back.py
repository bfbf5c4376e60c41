"""Taking back what was decided: a further record, after which everything is as if it had never been decided."""

from __future__ import annotations

import json

import pytest
from journal_orchards import ON, SWARD

from advisor.errors import InputError
from advisor.journal import Advice, Conflict, Journal, standing

HOURS = {"hours": 4, "work": {"amount": "2 m3"}}


def first_to_do(advice: Advice) -> str:
    return next(str(one.id) for one in advice.answer.recommendations if one.stance == "do")


def works(kept: Journal) -> list[str]:
    return [one.id for one in kept.observations("south") if one.given["kind"] == "work"]


def test_the_work_of_a_slip_is_forgotten_by_advice_plan_and_hours(kept: Journal) -> None:
    before = kept.advise("south", ON)
    plan = json.dumps(kept.run_of(before.id).plan(), default=str)
    id = first_to_do(before)
    decision = kept.decide(before.id, id, "done", **HOURS)  # type: ignore[arg-type]
    slip = kept.advise("south", ON)
    assert slip.id != before.id
    assert json.dumps(kept.run_of(slip.id).plan(), default=str) != plan
    back = kept.decide(before.id, id, "taken-back")
    assert (back.state, back.on, back.observation, back.hours) == ("taken-back", decision.on, None, None)
    assert works(kept) == []
    again = kept.advise("south", ON)
    assert (again.id, again.text) == (before.id, before.text)
    assert json.dumps(kept.run_of(again.id).plan(), default=str) == plan
    assert kept.file_of("south").observations == kept.inputs_of(before.id).file.observations


def test_what_was_advised_meanwhile_comes_out_again_byte_for_byte(kept: Journal) -> None:
    before = kept.advise("south", ON)
    kept.decide(before.id, first_to_do(before), "done", **HOURS)  # type: ignore[arg-type]
    meanwhile = [kept.advise("south", day).id for day in (ON, "2026-11-11", "2026-12-20")]
    kept.decide(before.id, first_to_do(before), "taken-back")
    for id in (before.id, *meanwhile):
        assert kept.replay(id).equal, id


def test_taking_back_is_a_record_and_changes_none(kept: Journal) -> None:
    advice = kept.advise("south", ON)
    id = first_to_do(advice)
    done = kept.decide(advice.id, id, "done", hours=1)
    head = kept.head
    entries = list(kept.entries("south"))
    kept.decide(advice.id, id, "taken-back", "by-mistake", by="Io")
    assert list(kept.entries("south"))[: len(entries)] == entries
    further = list(kept.entries("south"))[len(entries) :]
    assert [(one.kind, one.ref) for one in further] == [("withdrawal", done.observation), ("decision", advice.id)]
    assert further[0].content == {"reason": "taken back"}
    assert kept.verify(str(head)) == []
    assert [one.kind for one in kept.history("south", str(done.observation))] == ["observation", "withdrawal"]
    decisions = kept.decisions("south")
    assert [(one.state, one.reason, one.by) for one in decisions[-1:]] == [("taken-back", "by-mistake", "Io")]
    assert standing(decisions) == []


@pytest.mark.parametrize(("state", "reason"), [("refused", "weather"), ("overridden", "trial")])
def test_a_refusal_is_taken_back_too(kept: Journal, state: str, reason: str) -> None:
    advice = kept.advise("south", ON)
    id = first_to_do(advice)
    kept.decide(advice.id, id, state, reason)
    kept.decide(advice.id, id, "taken-back")
    assert standing(kept.decisions("south")) == []
    assert kept.advise("south", ON) == advice
    kept.decide(advice.id, id, "done")
    assert [one.state for one in standing(kept.decisions("south"))] == ["done"]


def test_only_what_stands_is_taken_back(kept: Journal) -> None:
    advice = kept.advise("south", ON)
    id, *others = (one.id for one in advice.answer.recommendations)
    kept.decide(advice.id, id, "refused", "weather")
    kept.decide(advice.id, id, "taken-back")
    records = kept.head.records
    later = kept.advise("south", "2026-11-11")
    records = kept.head.records
    for advised, about in ((advice, id), (advice, others[0]), (later, id)):
        with pytest.raises(Conflict, match="nothing stands decided about it"):
            kept.decide(advised.id, about, "taken-back")
    assert kept.head.records == records


def test_taking_back_takes_no_work_and_no_day(kept: Journal) -> None:
    advice = kept.advise("south", ON)
    id = first_to_do(advice)
    kept.decide(advice.id, id, "done")
    for more in ({"hours": 1}, {"on": ON}, {"work": {"amount": "2 m3"}}):
        with pytest.raises(InputError, match="taking back is no work"):
            kept.decide(advice.id, id, "taken-back", **more)  # type: ignore[arg-type]
    assert len(works(kept)) == 1


def test_with_a_key_it_is_taken_back_once_and_may_be_decided_anew(kept: Journal) -> None:
    advice = kept.advise("south", ON)
    id = first_to_do(advice)
    for turn in ("a", "b"):
        for _ in range(2):
            kept.decide(advice.id, id, "done", key=f"tick-{turn}")
        for _ in range(2):
            kept.decide(advice.id, id, "taken-back", key=f"back-{turn}")
    assert [one.state for one in kept.decisions("south")] == ["done", "taken-back"] * 2


def test_work_that_another_decision_recorded_too_stays(kept: Journal) -> None:
    """The same work ticked in two advices of one day is one observation, withdrawn with the last of them."""
    first = kept.advise("south", ON)
    id = first_to_do(first)
    kept.observe("south", [{**SWARD, "note": "seen again"}])
    second = kept.advise("south", ON)
    both = [kept.decide(advice.id, id, "done", hours=2) for advice in (first, second)]
    assert both[0].observation == both[1].observation
    kept.decide(first.id, id, "taken-back")
    assert works(kept) == [both[1].observation]
    kept.decide(second.id, id, "taken-back")
    assert works(kept) == []


def test_what_was_withdrawn_by_hand_is_not_withdrawn_again(kept: Journal) -> None:
    advice = kept.advise("south", ON)
    id = first_to_do(advice)
    done = kept.decide(advice.id, id, "done")
    kept.withdraw("south", str(done.observation), "never happened")
    kept.decide(advice.id, id, "taken-back")
    assert [one.kind for one in kept.history("south", str(done.observation))] == ["observation", "withdrawal"]
