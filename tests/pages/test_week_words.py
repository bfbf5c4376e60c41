"""The week page's content: by place and stance, decisions of this week set apart, nothing lost."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from typing import Any

import pytest

from advisor import advise, load_orchard
from advisor.api.pages.week import MOST_PRESSING, hours_words, week
from advisor.journal import Decision

ON = "2026-05-18"
TRAPS = "trap-voles.voles.lower.2026"


@pytest.fixture(scope="module")
def demo() -> Any:
    file = load_orchard(str(files("advisor") / "demo" / "orchard.yaml"))
    return advise(file, on=ON), file


def decided(on: str, state: str = "done", **more: Any) -> Decision:
    return Decision(1, f"{on}T12:00:00", "larkfield", "a", TRAPS, state, on=on, **more)


def entries(context: dict[str, Any]) -> list[dict[str, Any]]:
    return [r for place in context["places"] for _, chosen in place["stances"] for r in chosen]


def test_every_recommendation_stands_once_under_its_place_and_stance(demo: Any) -> None:
    answer, file = demo
    context = week(answer, file, "larkfield")
    assert sorted(r["id"] for r in entries(context)) == sorted(r["id"] for r in answer["recommendations"])
    for place in context["places"]:
        for stance, chosen in place["stances"]:
            assert {r["stance"] for r in chosen} == {stance}
            assert {r["block"] or r["habitat"] for r in chosen} == {place["id"]}
    titles = [place["title"] for place in context["places"]]
    assert titles == ["Upper", "Lower", "Plums", "Stem bed", "Pond margin"]  # a hedge without advice is left out


def test_the_most_pressing_come_first(demo: Any) -> None:
    answer, file = demo
    first = week(answer, file, "larkfield")["first"]
    urgencies = [r["urgency"] for r in first]
    assert len(first) == MOST_PRESSING
    assert urgencies == sorted(urgencies, reverse=True)
    assert urgencies[-1] >= max(r["urgency"] for r in entries(week(answer, file, "x")) if r["stance"] in ("do", "look")
                                and r["id"] not in {f["id"] for f in first})  # fmt: skip


@pytest.mark.parametrize(
    ("on", "settled"), [(ON, True), ("2026-05-12", True), ("2026-05-11", False), ("2026-05-19", None)]
)
def test_a_decision_settles_a_week_and_is_then_only_told(demo: Any, on: str, settled: bool | None) -> None:
    answer, file = demo
    context = week(answer, file, "larkfield", [decided(on, "refused", reason="no-time")])
    lower = next(place for place in context["places"] if place["id"] == "lower")
    asked = [r for r in entries(context) if r["id"] == TRAPS]
    if settled:
        assert not asked
        assert "There was no time for it." in lower["decided"][0]["told"]
    else:
        assert not lower["decided"]
        told = "You noted it as not to be done on Mon 11 May. There was no time for it."
        assert asked[0]["before"] == (told if settled is False else "")  # what comes later is not seen


def test_the_last_of_two_decisions_counts(demo: Any) -> None:
    answer, file = demo
    both = [decided(ON, "refused", reason="weather"), decided(ON, "done", hours=1.5)]
    lower = next(p for p in week(answer, file, "larkfield", both)["places"] if p["id"] == "lower")
    assert [d["word"] for d in lower["decided"]] == ["Done"]
    assert "It took 1.5 h." in lower["decided"][0]["told"]


def test_what_is_taken_back_was_never_decided(demo: Any) -> None:
    answer, file = demo
    earlier = replace(decided("2026-05-10", "refused", reason="no-time"), advice="older")
    slip = [earlier, decided(ON, hours=1.5), decided(ON, "taken-back")]
    context = week(answer, file, "larkfield", slip)
    assert not next(p for p in context["places"] if p["id"] == "lower")["decided"]
    (asked,) = [r for r in entries(context) if r["id"] == TRAPS]
    assert asked["before"].startswith("You noted it as not to be done on Sun 10 May.")  # what stood before stands again


def test_what_is_done_and_no_longer_advised_keeps_its_words(demo: Any) -> None:
    answer, file = demo
    rest = {**answer, "recommendations": [r for r in answer["recommendations"] if r["id"] != TRAPS]}
    context = week(rest, file, "larkfield", [decided(ON)], lambda id: answer if id == "a" else {"recommendations": []})
    lower = next(place for place in context["places"] if place["id"] == "lower")
    assert lower["decided"][0]["text"].startswith("Set snap traps across the fresh runs")


def test_hours_are_held_against_those_there_are(demo: Any) -> None:
    answer, file = demo
    shown = entries(week(answer, file, "larkfield"))
    due = sum(r["hours"] or 0 for r in shown if r["stance"] in ("do", "look") and r["window"]["opens"] <= "2026-05-24")
    words = week(answer, file, "larkfield")["hours_words"]
    assert f"{due:.1f} h" in words
    assert "You have 22 h a week in May." in words


def test_hours_that_are_not_given_are_not_nothing() -> None:
    file = load_orchard({"orchard": {"name": "South Lark", "latitude": -41}, "blocks": [{"id": "a", "fruit": "pear"}]})
    answer = advise(file, on="2026-11-02")
    words = hours_words([], file, answer.run.now.on)
    assert words == "No hours are counted this week. Your hours a week are not given."
