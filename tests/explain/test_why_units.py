"""Measures inside sentences in US units; what is exact is the definition of the inch, the foot and the pound."""

from __future__ import annotations

import pytest

from advisor import advise
from advisor.presenting import show_in
from advisor.units_in_text import in_us_units
from scenarios.orchards import UPPER, orchard


@pytest.mark.parametrize(("metric", "us"), [
    ("low of -1.7 °C against -2.2 °C", "low of 28.9 °F against 28 °F"),
    ("25.4 to 50.8 mm missing", "1 in to 2 in missing"),  # an inch is 25.4 mm
    ("pollen carries about 15.24 m", "pollen carries about 50 ft"),  # a foot is 0.3048 m
    ("about 50 m into the trees", "about 160 ft into the trees"),  # 164 ft would be finer than the 50 m are
    ("loose hay 10 kg a tree", "loose hay 22 lb a tree"),  # a pound is 0.45359 kg
    ("12 h wet at 10 °C", "12 h wet at 50 °F"),
])  # fmt: skip
def test_measures_are_turned(metric: str, us: str) -> None:
    assert in_us_units(metric) == us


@pytest.mark.parametrize("text", [
    "12.0 cm x 17.9 g = 214 g nitrogen a tree", "128 degree-hours above 18.3 °C (110 needed)", "10.1 kg/ha calcium",
    "364 °F days (202 °C days)", "BBCH 69", "from 4 % (UK) calls for action",
])  # fmt: skip
def test_what_reckons_or_counts_degrees_stays(text: str) -> None:
    assert in_us_units(text) == text


def test_each_step_is_turned_by_itself() -> None:
    assert in_us_units("2 cm x 3 g = 6 g; chips 2.54 cm deep") == "2 cm x 3 g = 6 g; chips 1 in deep"


@pytest.mark.parametrize(("metric", "neat", "cautious"), [
    ("keep 15 m off", "keep 50 ft off", "keep 50 ft off"),  # 15 m are 49.2 ft
    ("keep 20 m off", "keep 65 ft off", "keep 66 ft off"),  # 65.6 ft
    ("between 20 and 60 cm", "between 8 in and 24 in", "between 8 in and 24 in"),
    ("not 4 in: stop at 10 cm", "not 4 in: stop at 3.9 in", "not 4 in: stop at 4 in"),  # 10 cm are 3.94 in
])  # fmt: skip
def test_what_rules_say_is_told_in_round_numbers(metric: str, neat: str, cautious: str) -> None:
    assert in_us_units(metric, "neat") == neat
    assert in_us_units(metric, "cautious") == cautious


def test_how_far_temperatures_lie_apart_has_no_freezing_point() -> None:
    """Half a degree C of margin is 0.9 °F, not 32.9: asked of a rule, told as a number, and as a figure."""
    given = orchard([UPPER], [{"kind": "tree-stage", "date": "2026-05-18", "block": "upper", "stage": "full-bloom"}])
    given["orchard"]["units"] = "us"
    told = advise(given, on="2026-05-18").why_not("frost-protect", "upper")
    margins = [one for rule in told["rules"] for one in rule["conditions"] if "margin" in one["text"]]
    assert margins
    assert all("margin at most 0.9 °F" in one["text"] for one in margins)
    saying = advise(given, on="2026-05-18").run
    show = show_in("us", saying.now.knowledge)
    assert show(0.5, "degC", "margin") == show(0.5, "degC", "frost.protect-margin") == "0.9 °F"
    assert show(0.5, "degC", "low") == "32.9 °F"
