"""Something meant for a day far ahead is judged by today's trees and season, and the answer says so; what law or safety
forbids on the day itself is named."""

from __future__ import annotations

from typing import Any

import pytest

from scenarios.asking import HEDGE, Ask, apples


def cut_back(on: str, day: str) -> Any:
    return Ask(on, "cut-back-hedge", "", [], apples(), [HEDGE], intent={"habitat": "hedge", "day": day}).answer()


def test_a_hedge_cut_meant_for_the_time_of_nests_is_not_simply_allowed_in_winter() -> None:
    """In May birds nest in hedges (common knowledge), whatever may be cut in February."""
    answer = cut_back("2026-02-10", "2026-05-15")
    assert answer["window"]["closes"] < "2026-05-15"
    assert answer["cautions"][0] == (
        "On 2026-05-15 this holds: Wait with the hedge until birds have left it; late winter is best."
    )
    assert answer["cautions"][1] == (
        "2026-05-15 lies after this window, and this is judged by the trees and the time of year of 2026-02-10, "
        "not of 2026-05-15: ask again shortly before."
    )


def test_a_day_without_nests_has_no_such_limit() -> None:
    assert not any("this holds" in line for line in cut_back("2026-02-10", "2026-11-15")["cautions"])


def test_a_limit_that_holds_today_is_not_told_twice() -> None:
    answer = cut_back("2026-05-15", "2026-06-05")
    assert answer["stance"] == "wait"
    assert not any("this holds" in line for line in answer["cautions"])


def test_what_must_wait_today_may_be_asked_again_for_autumn() -> None:
    answer = cut_back("2026-05-15", "2026-11-15")
    assert answer["stance"] == "wait"
    assert answer["cautions"][0].startswith("This is judged by the trees and the time of year of 2026-05-15, not of")


@pytest.mark.parametrize("day", ["2026-02-10", "2026-02-20"])
def test_what_is_meant_for_these_days_needs_no_such_word(day: str) -> None:
    assert not any("ask again shortly before" in line for line in cut_back("2026-02-10", day)["cautions"])
