"""Dates, windows, hours and cautions in a grower's words."""

import pytest

from advisor.api.pages import saying
from advisor.api.pages.week import care

ON = "2026-05-18"  # a Monday


@pytest.mark.parametrize(
    ("stance", "opens", "closes", "said"),
    [
        ("do", ON, "2026-05-22", "by Fri 22 May"),
        ("do", ON, ON, "today"),
        ("do", ON, None, "from now on"),
        ("do", "2026-05-10", "2026-05-19", "by tomorrow"),
        ("do", "2026-05-20", "2026-05-20", "on Wed 20 May"),
        ("do", "2026-05-20", "2026-06-02", "Wed 20 May to Tue 2 Jun"),
        ("look", "2026-12-28", "2027-01-03", "Mon 28 Dec to Sun 3 Jan 2027"),
        ("wait", "2026-05-21", None, "not before Thu 21 May"),
        ("wait", None, None, "no date yet"),
        ("avoid", ON, None, "now, no end in sight"),
        ("avoid", ON, "2026-06-01", "now until Mon 1 Jun"),
        ("avoid", "2026-05-25", "2026-06-01", "from Mon 25 May until Mon 1 Jun"),
    ],
)
def test_a_window_is_said_from_the_day_of_the_advice(stance, opens, closes, said):
    assert saying.window({"opens": opens, "closes": closes}, stance, ON) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("the rain of 2026-05-04 14:00 shows.", "the rain of Mon 4 May, 14:00 shows."),
        ("From 2026-04-12 to 2027-04-18, then", "From Sun 12 Apr to Sun 18 Apr 2027, then"),
        ("work-2026-05-17-upper-ddf3 and 2026-02-30 stay", "work-2026-05-17-upper-ddf3 and 2026-02-30 stay"),
        ("2026-05-04T06:00 and 14 in", "Mon 4 May, 06:00 and 14 in"),
    ],
)
def test_days_within_a_sentence_are_said_as_people_write_them(text, said):
    assert saying.plain_days(text, ON) == said


@pytest.mark.parametrize(
    ("value", "said"),
    [(None, ""), (0.03, "2 min"), (0.1, "5 min"), (0.25, "15 min"), (0.5, "30 min"), (0.9, "55 min"), (1.0, "1 h"),
     (3.6, "3.6 h"), (22.0, "22 h")],
)  # fmt: skip
def test_hours_are_said_as_people_reckon_them(value, said):
    assert saying.hours(value) == said


def test_amounts_follow_the_units_of_the_orchard():
    assert saying.amount({"value": 300, "unit": "kg"}, "metric") == "300 kg"
    assert saying.amount({"value": 300, "unit": "kg"}, "us") == "660 lb"
    assert saying.amount({"value": 85, "unit": "fruit per tree"}, "us") == "85 fruit per tree"
    assert saying.amount(None, "us") == ""


def test_short_cautions_are_whole_and_long_ones_open():
    short = care(["Cut mesh is sharp: gloves and goggles."])
    assert short == {"gist": "Cut mesh is sharp: gloves and goggles.", "whole": ""}
    long = care(
        ["Powered cutters: eye, ear and foot protection, nobody within 15 m.", "Scythes and knives: " + "x " * 90]
    )
    assert long["gist"] == "Powered cutters. Scythes and knives."
    assert "nobody within 15 m" in long["whole"]
    assert care([]) is None
