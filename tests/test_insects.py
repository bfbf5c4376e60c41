"""Biofix, heat sums and thresholds of insects: hand-worked series, missing data, both hemispheres, arrays."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.science import degree_days, insects

NAN = float("nan")


# --- heat --------------------------------------------------------------------------------------------------------
def test_heat_counts_the_first_day_and_nothing_before_it() -> None:
    assert insects.heat_sum([5, 5, 5, 5], 1).tolist() == [0, 5, 10, 15]


def test_a_sum_is_reached_on_the_day_at_whose_end_it_is_there() -> None:
    assert insects.reached([10] * 30, 250) == 24
    assert insects.reached([10] * 30, 251) == 25
    assert insects.reached([10] * 30, 250, start=3) == 27
    assert insects.reached([10] * 10, 250) is None


def test_rounding_of_the_running_sum_costs_no_day() -> None:
    assert insects.reached([0.1] * 12, 1) == 9  # ten tenths add up to a little under 1


def test_several_sums_and_blocks_at_once() -> None:
    both = insects.reached([[10] * 5, [20] * 5], [20, 60, 500])
    assert both.shape == (2, 3)
    np.testing.assert_array_equal(both, [[1, np.nan, np.nan], [0, 2, np.nan]])


def test_each_block_has_its_own_start_and_may_have_none() -> None:
    np.testing.assert_array_equal(insects.reached([[10] * 5] * 3, 20, start=[0, 2, NAN]), [1, 3, np.nan])


def test_an_unknown_day_hides_only_what_comes_after_it() -> None:
    daily = [10, 10, NAN, 10, 10]
    assert insects.reached(daily, 20) == 1
    assert insects.reached(daily, 30) is None
    assert insects.reached(daily, 20, start=3) == 4  # the unknown day lies before the start


def test_negative_heat_is_refused() -> None:
    with pytest.raises(ValueError, match="negative"):
        insects.reached([5, -1], 3)


@pytest.mark.parametrize("first", [date(2026, 5, 1), date(2026, 11, 1)])  # north and south
def test_events_get_dates_in_either_hemisphere(first: date) -> None:
    dates = [first + timedelta(days=n) for n in range(40)]
    found = insects.event_dates(dates, [10.0] * 40, {"first hatch": 250, "second flight": 1060}, start=2)
    assert found == {"first hatch": first + timedelta(days=26), "second flight": None}
    assert insects.event_dates(dates, [10.0] * 40, {"first hatch": 250}, start=None) == {"first hatch": None}


def test_as_many_dates_as_days_are_needed() -> None:
    with pytest.raises(ValueError, match="each date"):
        insects.event_dates([date(2026, 5, 1)], [1.0, 2.0], {"hatch": 1}, 0)


@given(st.lists(st.integers(0, 30), min_size=1, max_size=60), st.integers(1, 400), st.integers(0, 5))
def test_reached_agrees_with_counting_by_hand(daily: list[int], wanted: int, start: int) -> None:
    running, day = 0, None
    for place, heat in enumerate(daily):
        running += heat if place >= start else 0
        if place >= start and running >= wanted:
            day = place
            break
    assert insects.reached(daily, wanted, start) == day


def test_day_length_turns_once_in_spring() -> None:
    assert insects.long_days_from([13.3, 13.4, 13.5, 13.6]) == 2
    assert insects.long_days_from([13.6, 13.5, 13.4]) is None  # shortening days
    assert insects.long_days_from([13.6, 13.7]) is None  # the turn lies before the series


# --- biofix ------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("catches", "first"),
    [
        ([0, 1, 0, 2, 1, 0], 3),  # a lone moth is no flight
        ([0, 1, 0, 1, 0], None),
        ([1, NAN, 1], None),  # a check not read proves nothing
        ([1, NAN, 1, 4], 2),
        ([], None),
    ],
)
def test_michigan_wants_two_checks_running(catches: list[float], first: int | None) -> None:
    assert insects.biofix(np.array(catches, dtype=float)) == first


@pytest.mark.parametrize(
    ("catches", "first"),
    [([0, 1, 0, 1, 2], 3), ([1, 0, 1, 0, 1], None), ([0, 3], 1), ([1, 1, 1], 0), ([1, NAN, 2], None)],
)
def test_purdue_wants_three_moths_in_one_flight(catches: list[float], first: int | None) -> None:
    assert insects.biofix(catches, "purdue") == first


def test_purdue_says_three_to_five_so_five_may_be_asked_for() -> None:
    assert insects.biofix([2, 1, 0, 2, 3], "purdue", moths=5) == 3


def test_california_wants_three_warm_evenings_on_end() -> None:
    warm = [17, 17, 17, 17]
    assert insects.biofix([1, 2, 1, 0], "california", day=[1, 2, 3, 4], sunset_c=warm) == 0
    assert insects.biofix([1, 2, 1, 1], "california", day=[1, 2, 4, 5], sunset_c=warm) is None  # a day left out
    assert insects.biofix([1, 2, 1, 1], "california", day=[1, 2, 3, 4], sunset_c=[16, 17, 17, 17]) == 1
    assert insects.biofix([1, 2, 1], "california", day=[1, 2, 3], sunset_c=[17, NAN, 17]) is None
    assert insects.biofix([1, 2, 1], "california", day=[1, 2, 3], sunset_c=[16.7, 16.7, 16.7]) == 0


def test_california_without_evenings_or_an_unknown_rule_is_refused() -> None:
    with pytest.raises(ValueError, match="sunset"):
        insects.biofix([1, 2, 1], "california")
    with pytest.raises(ValueError, match="each check"):
        insects.biofix([1, 2, 1], "california", day=[1, 2], sunset_c=[17, 17])
    with pytest.raises(ValueError, match="michigan"):
        insects.biofix([1], "ohio")
    with pytest.raises(ValueError, match="negative"):
        insects.biofix([-1])


# --- counts ------------------------------------------------------------------------------------------------------
def test_catches_are_turned_into_weeks() -> None:
    assert insects.per_week(6, 14) == 3
    assert insects.per_week(6, 0) is None
    np.testing.assert_array_equal(insects.per_week([7, 3], [7, 0]), [7, np.nan])


def test_two_weeks_running_and_the_newest_count() -> None:
    assert insects.weeks_over([0, 2, 3], 2) is True
    assert insects.weeks_over([4, 1], 2) is False
    assert insects.weeks_over([2], 2) is None
    assert insects.weeks_over([1], 2) is False  # the missing week cannot save it
    assert insects.weeks_over([2, NAN], 2) is None
    assert insects.weeks_over([5], 5, running=1) is True


def test_trap_density_scales_within_a_factor_of_two_only() -> None:
    assert insects.catch_at_density(5, 20_000, 10_000) == 2.5
    assert insects.catch_at_density(1, 5_000, 10_000) == 2
    assert insects.catch_at_density(1, 1_000, 10_000) is None  # a trap in a garden: no published figure
    np.testing.assert_array_equal(insects.catch_at_density([4, 4], [10_000, 90_000], 10_000), [4, np.nan])
    with pytest.raises(ValueError, match="above 0"):
        insects.catch_at_density(1, 0, 10_000)


def test_a_small_sample_allows_a_wide_range() -> None:
    low, high = insects.share_range(3, 10)
    lower, higher = insects.share_range(30, 100)
    assert low < lower < 0.3 < higher < high
    assert insects.share_range(0, 20)[0] == 0
    assert insects.share_range(20, 20)[1] == 1
    assert insects.share_range(0, 0) == (None, None)
    with pytest.raises(ValueError, match="between 0"):
        insects.share_range(5, 4)


@given(st.integers(1, 200).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_the_range_holds_the_share_and_solves_its_equation(sample: tuple[int, int]) -> None:
    found, size = sample
    for end in insects.share_range(found, size):
        assert (end - found / size) ** 2 == pytest.approx(1.645**2 * end * (1 - end) / size, abs=1e-9)


def test_mites_borne_rise_through_the_summer_and_end_with_it() -> None:
    np.testing.assert_array_equal(insects.mites_borne([-4, -3, 0, 7.7, 12, 12.1, 16.6, 17, NAN]),
                                  [np.nan, 2.5, 2.5, 5, 5, 7.5, 7.5, np.nan, np.nan])
    assert insects.mites_borne(20) is None


@pytest.mark.parametrize(
    ("looked_at", "infested", "says"),
    [
        (30, 1, "go-on"), (30, 4, "many"), (60, 1, "few"), (60, 2, "go-on"),
        (90, 2, "few"), (95, 3, "go-on"), (100, 3, "few"), (140, 4, "many"),
    ],
)
def test_leafroller_samples_stop_as_soon_as_they_may(looked_at: int, infested: int, says: str) -> None:
    assert insects.leafroller_sample(looked_at, infested) == says


def test_after_a_hundred_shoots_the_sample_always_ends() -> None:
    assert all(insects.leafroller_sample(100, n) != "go-on" for n in range(101))
    with pytest.raises(ValueError, match="between 0"):
        insects.leafroller_sample(10, 11)


def test_last_curculio_cover() -> None:
    assert [insects.cover_holds(days) for days in (-3, 10, 12, 14, 15, NAN)] == [True, True, None, None, False, None]


# --- natural enemies ---------------------------------------------------------------------------------------------
def test_enemies_hold_up_to_ten_to_one() -> None:
    assert insects.enemies_hold(10, 1) is True
    assert insects.enemies_hold(10.1, 1) is False
    assert insects.enemies_hold(5, 0) is False
    assert insects.enemies_hold(0, NAN) is True  # no pest, no need
    assert insects.enemies_hold(5, NAN) is None
    assert insects.enemies_hold(np.array([4.0, 40.0]), np.array([1.0, 1.0])).tolist() == [True, False]
    with pytest.raises(ValueError, match="negative"):
        insects.enemies_hold(-1, 1)


def test_woolly_aphid_is_held_by_either_enemy_and_unknown_stays_unknown() -> None:
    assert insects.woolly_aphid_held(15, 0) is True
    assert insects.woolly_aphid_held(14, 0.6) is True
    assert insects.woolly_aphid_held(14, 0.5) is False  # more than, not as many as
    assert insects.woolly_aphid_held(NAN, 0.2) is None
    assert insects.woolly_aphid_held(NAN, 0.9) is True
    assert insects.woolly_aphid_held(3, NAN) is None


def test_whole_chain_from_catches_and_temperatures_to_hatch() -> None:
    """Checks every third day; days of 52 to 85 °F give 18.5 °F degree-days (Norton 2007 prints this day)."""
    check_days = np.arange(0, 60, 3)
    catches = np.where(check_days < 12, 0, 2)
    first = insects.biofix(catches)
    assert first is not None
    assert check_days[first] == 12
    daily = degree_days.degree_days(np.full(60, 52.0), np.full(60, 85.0), 50, 86, method="sine")
    assert insects.reached(daily, 250, start=int(check_days[first])) == 12 + 14 - 1  # 250 / 18.5 = 13.5 days
