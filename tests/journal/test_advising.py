"""Advice, kept with all that it was asked with; decisions, and what later advice knows of them; replays."""

from __future__ import annotations

import datetime as dt
import json
import re
from dataclasses import replace

import pytest
from journal_orchards import ON, ORCHARD, SWARD, VOLES, hours

from advisor import advise, ecosystem
from advisor.advice import default_rules
from advisor.errors import InputError
from advisor.journal import REASONS, Advice, Conflict, Journal, Missing
from advisor.journal.deciding import work_of
from advisor.orchard import load_orchard


def first_to(advice: Advice, stance: str) -> str:
    return next(str(one.id) for one in advice.answer.recommendations if one.stance == stance)


def test_advice_is_what_the_library_says_byte_for_byte(kept: Journal) -> None:
    kept.weather("south", hours("2026-11-01T00:00", 200, temp_f=55, rain_in=0))
    kept.weather("south", hours("2026-11-11T00:00", 48, temp_f=31), forecast=True)
    advice = kept.advise("south", ON)
    same = advise(kept.file_of("south"), ON)
    assert advice.text == json.dumps(same, ensure_ascii=False, separators=(",", ":"))
    assert advice.answer == same
    assert advice.id == same.advice
    assert advice.edition == same.edition


def test_the_same_inputs_are_kept_once(kept: Journal) -> None:
    first = kept.advise("south", ON)
    before = kept.head
    assert kept.advise("south", dt.date.fromisoformat(ON)) == first
    assert kept.head == before
    assert kept.advise("south", "2026-11-11").id != first.id


def test_two_orchards_of_the_same_content_have_advice_of_their_own(kept: Journal) -> None:
    kept.put_orchard("other", ORCHARD)
    kept.put_orchard("third", ORCHARD)
    assert kept.advise("other", ON).id != kept.advise("third", ON).id


def test_advice_is_read_back_and_listed_newest_first(kept: Journal) -> None:
    days = ["2026-11-10", "2026-11-11", "2026-11-12"]
    ids = [kept.advise("south", day).id for day in days]
    assert kept.advice(ids[0]).on == days[0]
    listed = kept.advices("south", limit=2)
    assert [one.id for one in listed] == [ids[2], ids[1]]
    assert [one.id for one in kept.advices("south", after=listed[-1].position)] == [ids[0]]
    with pytest.raises(Missing):
        kept.advice("0" * 16)


def test_the_inputs_of_an_advice_stay_known_when_everything_changes(kept: Journal) -> None:
    advice = kept.advise("south", ON)
    kept.observe("south", [VOLES])
    kept.weather("south", hours("2026-11-01T00:00", 24, temp_c=10))
    kept.put_orchard("south", {**ORCHARD, "habitats": []})
    inputs = kept.inputs_of(advice.id)
    assert [one.kind for one in inputs.file.observations] == ["tree-stage", "sward"]
    assert inputs.measured is None
    assert len(inputs.file.habitats) == 1
    assert kept.run_of(advice.id) == advice.answer
    assert kept.replay(advice.id).equal
    assert kept.advise("south", ON).id != advice.id


def test_an_advice_is_explained_from_its_run(kept: Journal) -> None:
    advice = kept.advise("south", ON)
    assert kept.run_of(advice.id).run.inference.firings


# --- decisions --------------------------------------------------------------------------------


def test_work_that_was_done_is_known_to_later_advice(kept: Journal) -> None:
    advice = kept.advise("south", ON)
    id = first_to(advice, "do")
    decision = kept.decide(advice.id, id, "done", hours=2.5, by="Io", note="by scythe")
    (work,) = [one for one in kept.observations("south") if one.given["kind"] == "work"]
    about = next(one for one in advice.answer.recommendations if one.id == id)
    assert decision.observation == work.id
    assert work.given["practice"] == about.practice
    assert (work.given["hours"], work.given["by"], work.given["date"]) == (2.5, "Io", ON)
    later = kept.run_of(kept.advise("south", "2026-11-11").id)
    assert work.id in [one.id for one in later.run.now.observations]
    assert kept.decisions("south") == [decision]


def test_every_recommendation_to_do_can_be_ticked_off(kept: Journal) -> None:
    kept.observe("south", [VOLES])
    advice = kept.advise("south", ON)
    done = [one.id for one in advice.answer.recommendations if one.stance == "do"]
    assert done
    for id in done:
        assert kept.decide(advice.id, id, "done").observation is not None
    kept.advise("south", "2026-11-11")


def test_heeding_a_warning_is_no_work() -> None:
    answer = advise(load_orchard({**ORCHARD, "observations": [{"date": ON, "kind": "intent", "block": "pips",
                    "practice": "insecticide", "material": "pyrethrin", "target": "rosy-apple-aphid"}]}), ON)  # fmt: skip
    held = [one for one in answer.recommendations if one.stance in ("wait", "avoid")]
    assert held
    day = dt.date.fromisoformat(ON)
    assert all(work_of(one, day, ecosystem.knowledge(), {}) is None for one in held)


def test_a_decision_taken_again_replaces_the_work_it_recorded(kept: Journal) -> None:
    advice = kept.advise("south", ON)
    id = first_to(advice, "do")
    kept.decide(advice.id, id, "done", hours=2)
    second = kept.decide(advice.id, id, "done", hours=3)
    works = [one for one in kept.observations("south") if one.given["kind"] == "work"]
    assert [(one.id, one.given["hours"]) for one in works] == [(second.observation, 3)]
    kept.decide(advice.id, id, "refused", "no-time")
    assert not [one for one in kept.observations("south") if one.given["kind"] == "work"]
    assert [one.state for one in kept.decisions("south", advice.id)] == ["done", "done", "refused"]


@pytest.mark.parametrize("state", ["refused", "overridden"])
def test_saying_no_needs_a_reason_and_reasons_are_offered(kept: Journal, state: str) -> None:
    advice = kept.advise("south", ON)
    id = first_to(advice, "do")
    with pytest.raises(InputError, match=f"{state} needs a reason. Give one of {', '.join(REASONS[state])}"):
        kept.decide(advice.id, id, state)
    offered = next(iter(REASONS[state]))
    assert kept.decide(advice.id, id, state, offered).reason == offered
    assert kept.decide(advice.id, id, state, "The ewes are lambing there.").observation is None


def test_a_recommendation_for_safety_is_overridden_in_own_words_only(kept: Journal) -> None:
    bloom = {"date": ON, "kind": "tree-stage", "block": "pips", "stage": "full-bloom"}
    spray = {
        "date": ON,
        "kind": "intent",
        "block": "pips",
        "practice": "insecticide",
        "material": "pyrethrin",
        "day": ON,
    }
    kept.put_orchard("bloom", {**ORCHARD, "observations": [bloom, spray]})
    advice = kept.advise("bloom", ON)
    must = [one.id for one in advice.answer.recommendations if one.strength == "must"]
    assert must, "spraying open bloom is held for the safety of bees"
    with pytest.raises(InputError, match="for safety"):
        kept.decide(advice.id, must[0], "overridden", "trial")
    assert kept.decide(advice.id, must[0], "overridden", "trial", note="In a cage without bees.").state == "overridden"


@pytest.mark.parametrize(
    ("today", "day"),
    [
        ("2026-11-10T20:00+00:00", "2026-11-11"),  # the grower's own day, east of Greenwich
        ("2026-11-23T00:00+00:00", "2026-11-23"),
        ("2027-03-01T00:00+00:00", ON),  # long after: its own day
        ("2026-01-01T00:00+00:00", ON),  # an advice for a day to come
    ],
)
def test_work_is_dated_by_the_day_it_was_ticked_off_while_the_advice_is_fresh(
    kept: Journal, clock: list[dt.datetime], today: str, day: str
) -> None:
    advice = kept.advise("south", ON)
    clock[0] = dt.datetime.fromisoformat(today)
    assert kept.decide(advice.id, first_to(advice, "do"), "done").on == day


def test_the_day_and_further_fields_of_work_may_be_given(kept: Journal) -> None:
    advice = kept.advise("south", ON)
    id = first_to(advice, "do")
    kept.decide(advice.id, id, "done", on="2026-11-12", work={"amount": "2 m3"})
    assert kept.observations("south")[-1].given["amount"] == "2 m3"
    for wrong in ({"amount": "2"}, {"colour": "red"}):
        with pytest.raises(InputError, match=r"work, \[0\]"):
            kept.decide(advice.id, id, "done", work=wrong)
    with pytest.raises(InputError, match="not a date"):
        kept.decide(advice.id, id, "done", on="yesterday")


def test_what_cannot_be_decided_is_refused(kept: Journal) -> None:
    advice = kept.advise("south", ON)
    id = first_to(advice, "do")
    with pytest.raises(InputError, match=r"Write one of: done, refused, overridden, taken-back"):
        kept.decide(advice.id, id, "perhaps")
    with pytest.raises(Missing, match=f"Did you mean {re.escape(id)}"):
        kept.decide(advice.id, id + "x", "done")
    with pytest.raises(Missing):
        kept.decide("nothing", id, "done")
    for state in ("done", "refused"):
        with pytest.raises(InputError, match="so many hours cannot be"):
            kept.decide(advice.id, id, state, "no-time", hours=-1)
    with pytest.raises(InputError, match="2001 letters are too many"):
        kept.decide(advice.id, id, "done", note="x" * 2001)
    assert kept.decisions("south") == []


def test_a_decision_with_a_key_is_taken_once(kept: Journal) -> None:
    advice = kept.advise("south", ON)
    id = first_to(advice, "do")
    first = kept.decide(advice.id, id, "done", hours=1, key="tick")
    assert kept.decide(advice.id, id, "done", hours=1, key="tick") == first
    assert len(kept.decisions("south")) == 1
    with pytest.raises(Conflict):
        kept.decide(advice.id, id, "done", hours=2, key="tick")


# --- replays ----------------------------------------------------------------------------------


def test_a_replay_names_the_rules_and_recommendations_that_changed(address: str) -> None:
    book, known = default_rules(), ecosystem.knowledge()
    with Journal.open(address) as journal:
        journal.put_orchard("south", {**ORCHARD, "observations": [SWARD]})
        advice = journal.advise("south", ON)
        assert journal.replay(advice.id).as_text() == f"Advice {advice.id} comes out again, byte for byte."
        run = journal.run_of(advice.id).run
    fired = next(f.rule.id for f in run.inference.firings if f.rule.layer == "signs")
    fewer = book.only(rule for rule in book.rules if rule.id != fired)
    other = replace(known, sources={name: one for name, one in known.sources.items() if name != min(known.sources)})
    with Journal.open(address, rules=fewer, knowledge=other) as journal:
        replay = journal.replay(advice.id)
    assert not replay.equal
    assert set(replay.editions) == {"rules", "knowledge"}
    assert f"1 rule removed: {fired}." in replay.changed
    assert f"1 source removed: {min(known.sources)}." in replay.changed
    assert replay.vanished or replay.appeared or replay.differing
    assert f"1 rule removed: {fired}." in replay.as_text()
    assert json.loads(json.dumps(replay.as_data()))["equal"] is False


def test_a_rule_that_was_altered_is_told_from_one_that_is_new(address: str) -> None:
    book = default_rules()
    with Journal.open(address) as journal:
        journal.put_orchard("south", ORCHARD)
        advice = journal.advise("south", ON)
    altered = replace(book.rules[0], because=book.rules[0].because + " Indeed.")
    added = replace(book.rules[1], id="mine")
    with Journal.open(address, rules=replace(book, rules=(altered, *book.rules[1:], added))) as journal:
        changed = journal.replay(advice.id).changed
    assert changed == ("1 rule added: mine.", f"1 rule altered: {altered.id}.")
