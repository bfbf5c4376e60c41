"""Scab events at the edges, and against a walk through the hours."""

import math
from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.science import scab
from counts import count
from slow import scab as slow

DAY = datetime(2026, 5, 1, 8)
EVENING = datetime(2026, 5, 1, 20)
NEW_YORK = ZoneInfo("America/New_York")
NOTHING = {"hours": 0, "mean_c": None, "severity": None}


def constant(start, hours, temp=10.0, **more):
    return scab.infection(start, [True] * hours, [temp] * hours, **more)


spells = st.lists(
    st.tuples(st.integers(1, 14), st.integers(0, 26), st.sampled_from([1.0, 1.0, 0.5, 0.25])), min_size=1, max_size=6
)
starts = st.builds(
    lambda hours, minutes, zone: datetime(2026, 3, 6, tzinfo=zone) + timedelta(hours=hours, minutes=minutes),
    st.integers(0, 96),
    st.sampled_from([0, 30]),
    st.sampled_from([None, NEW_YORK, ZoneInfo("Pacific/Auckland"), timezone(timedelta(hours=2))]),
)


@settings(max_examples=5 * count("weather science against the slow version"), deadline=None)
@given(
    start=starts, parts=spells, base=st.floats(-2, 27), swing=st.floats(0, 8), sunrise=st.sampled_from([5.0, 5.5, 7]),
    sunset=st.sampled_from([18.25, 19, 20.5]), scabby=st.booleans(), rain=st.none() | st.integers(0, 2**31),
)  # fmt: skip
def test_infection_agrees_with_the_walk_through_the_hours(
    start, parts, base, swing, sunrise, sunset, scabby, rain
):
    wet = [share for length, dry, share in parts for share in [share] * length + [0.0] * dry]
    temps = [base + swing * math.sin(hour / 4) for hour in range(len(wet))]
    drops = None
    if rain is not None:
        rng = np.random.default_rng(rain)
        drops = np.where(rng.random(len(wet)) < 0.15, 0.3, 0.1 * rng.integers(0, 2, len(wet))).tolist()
    expected = slow.infection(start, wet, temps, sunrise, scabby, drops, sunset)
    got = scab.infection(start, wet, temps, sunrise, scabby, drops, sunset)
    if expected["mean_c"] is not None and any(
        abs(expected["mean_c"] - edge) < 1e-9 for edge in (1, 24, 25, 25.5, 26.112)
    ):
        return  # the order of adding decides there
    assert got["hours"] == pytest.approx(expected["hours"], abs=1e-6)
    assert got["severity"] == expected["severity"]
    assert got["mean_c"] == (None if expected["mean_c"] is None else pytest.approx(expected["mean_c"]))


@given(st.floats(-5, 32), st.sampled_from(scab.SEVERITIES))
def test_the_table_agrees_with_a_plain_reading(temp, severity):
    expected = slow.hours_to_infect(temp, severity)
    assert scab.hours_to_infect(temp, severity) == (None if expected is None else pytest.approx(expected))


@given(st.floats(1, 25.5))
def test_severities_keep_their_order(temp):
    light, moderate, severe = (scab.hours_to_infect(temp, severity) for severity in scab.SEVERITIES)
    assert light < moderate < severe


def test_table_at_its_ends():
    assert scab.hours_to_infect(0.99) is None
    assert scab.hours_to_infect(25.6, "moderate") is None
    assert scab.hours_to_infect(26.2) is None
    assert math.isnan(scab.hours_to_infect(float("nan")))
    np.testing.assert_array_equal(scab.hours_to_infect([0, 10, np.nan, 30]), [np.nan, 11, np.nan, np.nan])
    with pytest.raises(ValueError, match="No severity"):
        scab.hours_to_infect(10, "heavy")
    with pytest.raises(ValueError, match="must be a number"):
        scab.hours_to_infect(None)


def test_nothing_wet_and_nothing_at_all():
    assert scab.infection(DAY, [False] * 24, [10.0] * 24) == NOTHING
    assert scab.infection(DAY, [], []) == NOTHING
    assert scab.infection(EVENING, [True] * 8, [10.0] * 8) == NOTHING  # wet in the dark only


def test_an_event_of_evening_counts_from_sunrise_and_of_the_day_from_its_start():
    assert constant(datetime(2026, 5, 1, 19), 20)["hours"] == 8
    assert constant(datetime(2026, 5, 1, 18), 20)["hours"] == 20
    assert constant(datetime(2026, 5, 1, 6), 5)["hours"] == 4
    assert constant(datetime(2026, 5, 1, 7), 5)["hours"] == 5
    assert constant(EVENING, 20, sunrise_hour=5.5)["hours"] == 10.5
    assert constant(EVENING, 20, sunrise_hour=5.5, sunset_hour=20.5)["hours"] == 20
    assert constant(EVENING, 20, scabby_last_year=True)["hours"] == 20


def test_only_the_first_night_is_left_out():
    assert constant(EVENING, 48)["hours"] == 48 - 11


def test_the_mean_is_that_of_the_counted_hours():
    temps = [2.0] * 11 + [12.0] * 12
    assert scab.infection(EVENING, [True] * 23, temps) == {"hours": 12, "mean_c": 12, "severity": "moderate"}


def test_spells_join_across_seven_dry_hours_and_part_at_eight():
    for dry, hours in ((7, 12), (8, 6)):
        wet = [True] * 6 + [False] * dry + [True] * 6
        assert scab.infection(DAY, wet, [10.0] * len(wet))["hours"] == hours


def test_shares_count_as_parts_of_hours_and_keep_spells_together():
    assert scab.infection(DAY, [0.5] * 12, [10.0] * 12)["hours"] == 6
    wet = [1.0] * 6 + [0.0] * 5 + [0.1] + [0.0] * 5 + [1.0] * 6
    assert scab.infection(DAY, wet, [10.0] * len(wet))["hours"] == pytest.approx(12.1)


def test_the_hour_of_rain_starts_the_event_and_decides_day_or_night():
    wet = [True] * 20
    dew_first = [0.0] * 3 + [0.5] + [0.0] * 16
    assert scab.infection(datetime(2026, 5, 1, 5), wet, [10.0] * 20, rain_mm=dew_first)["hours"] == 17
    night_rain = [0.5] + [0.0] * 19
    assert scab.infection(datetime(2026, 5, 1, 5), wet, [10.0] * 20, rain_mm=night_rain)["hours"] == 18
    joined = [True] * 4 + [False] * 7 + [True] * 8
    rain = [0.5] + [0.0] * 18
    assert scab.infection(DAY, joined, [10.0] * 19, rain_mm=rain)["hours"] == 12
    assert scab.infection(DAY, wet, [10.0] * 20, rain_mm=[0.19] * 20) == NOTHING


def test_the_most_severe_event_counts_and_without_any_the_longest():
    wet = [True] * 16 + [False] * 8 + [True] * 20
    temps = [12.0] * 24 + [3.0] * 20
    assert scab.infection(DAY, wet, temps) == {"hours": 16, "mean_c": 12, "severity": "moderate"}
    at_seven = DAY.replace(hour=7)
    assert scab.infection(at_seven, [True] * 3 + [False] * 8 + [True] * 5, [10.0] * 16)["hours"] == 5


@pytest.mark.parametrize("hours", [10, 11, 16, 26])
def test_severity_begins_on_the_hour_of_the_table(hours):
    assert constant(DAY, hours)["severity"] == {10: None, 11: "light", 16: "moderate", 26: "severe"}[hours]


@pytest.mark.parametrize("what", ["wet", "temp"])
def test_a_missing_hour_inside_the_event_leaves_it_unknown(what):
    wet, temp = np.ones(14), np.full(14, 10.0)
    (wet if what == "wet" else temp)[5] = np.nan
    answer = scab.infection(DAY, wet, temp)
    assert math.isnan(answer["hours"])
    assert math.isnan(answer["mean_c"])
    assert answer["severity"] is None


def test_a_missing_hour_that_does_not_count_changes_nothing():
    wet = [1.0] * 6 + [0.0] * 3 + [1.0] * 6 + [0.0] * 10
    temps = [10.0] * 7 + [np.nan] + [10.0] * 9 + [np.nan] * 8
    assert scab.infection(DAY, wet, temps)["hours"] == 12


def test_missing_wetness_never_reads_as_dry():
    assert math.isnan(scab.infection(DAY, [np.nan] * 5, [10.0] * 5)["hours"])
    assert math.isnan(scab.infection(DAY, [1.0] * 5 + [np.nan] * 5, [10.0] * 10)["hours"])
    assert math.isnan(scab.infection(DAY, [1.0] * 12, [10.0] * 12, rain_mm=[np.nan] + [0.0] * 11)["hours"])
    assert scab.infection(DAY, [np.nan] * 5, [10.0] * 5, rain_mm=[0.0] * 5) == NOTHING


def test_an_infection_reached_before_the_record_breaks_off_is_reported():
    assert scab.infection(DAY, [1.0] * 12 + [np.nan] * 5, [10.0] * 17) == {
        "hours": 12, "mean_c": 10, "severity": "light",
    }  # fmt: skip


def test_a_known_infection_comes_before_an_unknown_event_and_that_before_a_harmless_one():
    midnight, unknown, dry = DAY.replace(hour=0), [np.nan] * 4, [0.0] * 9
    assert scab.infection(midnight, [*unknown, *dry, *[1.0] * 12], [10.0] * 25)["severity"] == "light"
    assert math.isnan(scab.infection(midnight, [*unknown, *dry, *[1.0] * 3], [10.0] * 16)["hours"])


def test_the_change_of_clock_is_no_hour_of_wetness():
    """Clocks go forward on 8 March 2026 at 02:00: from 20:00 to sunrise at 7 the night has ten hours."""
    before = datetime(2026, 3, 7, 20, tzinfo=NEW_YORK)
    assert constant(before, 20)["hours"] == 10
    assert constant(before.replace(tzinfo=None), 20)["hours"] == 9


def test_sunrise_and_sunset_may_be_given_for_each_hour():
    many = constant(EVENING, 20, sunrise_hour=np.full(20, 5.5), sunset_hour=np.full(20, 20.0))
    assert many == constant(EVENING, 20, sunrise_hour=5.5, sunset_hour=20.0)


def test_every_event_can_be_listed():
    wet = [True] * 12 + [False] * 8 + [True] * 20
    first, second = scab.events(DAY, wet, [10.0] * 40)
    assert (first.first, first.last, first.hours, first.severity, first.at_night) == (0, 11, 12, "light", False)
    assert (second.first, second.last, second.at_night, second.hours) == (20, 39, True, 17)


@pytest.mark.parametrize(
    ("wet", "temp", "rain"),
    [([1] * 3, [10] * 4, None), ([1.5], [10], None), ([1] * 3, [10] * 3, [1] * 2), (None, [1], None)],
)
def test_series_that_do_not_fit_are_refused(wet, temp, rain):
    with pytest.raises(ValueError, match=r"\.$"):
        scab.infection(DAY, wet, temp, rain_mm=rain)


@settings(max_examples=count("weather science against the slow version"), deadline=None)
@given(st.lists(st.tuples(st.floats(-10, 25), st.sampled_from([0.0, 0.0, 0.0, 0.1, 0.2, 5.0])), min_size=1))
def test_ripening_agrees_with_the_slow_version(days):
    means, rains = [day[0] for day in days], [day[1] for day in days]
    assert scab.maturity_degree_days(means, rains).tolist() == pytest.approx(slow.maturity(means, rains))


@given(st.floats(-100, 2000))
def test_spore_maturity_agrees_and_stays_a_share(heat):
    assert scab.spores_mature(heat) == pytest.approx(slow.spores_mature(heat))
    assert 0 <= scab.spores_mature(heat) <= 1


def test_spore_maturity_of_arrays_and_what_is_missing():
    assert scab.spores_mature(np.array([[0.0, 418.0]])).shape == (1, 2)
    assert math.isnan(scab.spores_mature(float("nan")))
    assert scab.spores_mature(1e9) == 1
    assert scab.primary_season_over(float("nan")) is None
    assert scab.primary_season_over(np.array([100.0, 500.0])).tolist() == [False, True]
    assert scab.contact_reaches(float("nan"), 10) is None


def test_missing_rain_matters_only_where_it_decides():
    harmless = scab.maturity_degree_days([10.0] * 4, [1.0, np.nan, 0.0, 1.0])
    assert harmless.tolist() == [10, 20, 30, 40]
    decisive = scab.maturity_degree_days([10.0] * 12, [1.0, *[0.0] * 3, np.nan, *[0.0] * 7])
    assert np.isnan(decisive).tolist() == [False] * 8 + [True] * 4


def test_ripening_of_blocks():
    assert scab.maturity_degree_days(np.full((3, 10), 8.0), np.zeros(10)).shape == (3, 10)
