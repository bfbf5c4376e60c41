"""Biofix, catches and samples of insects: hand-worked series, missing data, both hemispheres, arrays."""


import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.science import insects

NAN = float("nan")


# --- heat --------------------------------------------------------------------------------------------------------
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
