"""Degree-days at the edges, and against a sum over small steps of the day."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.science import degree_days as module
from advisor.science.degree_days import CUTOFFS, METHODS, degree_days
from counts import count
from slow import heat

TEMPS = st.floats(-30, 45, allow_nan=False)


@settings(max_examples=count("weather science against the slow version"), deadline=None)
@given(
    TEMPS, st.floats(0, 30), st.floats(-5, 20), st.one_of(st.none(), st.floats(0.5, 25)),
    st.sampled_from(METHODS), st.sampled_from(CUTOFFS),
)  # fmt: skip
def test_agrees_with_the_sum_of_small_steps(low, span, base, above, method, cutoff):
    high = low + span
    upper = None if above is None else base + above
    expected = heat.degree_days(low, high, base, upper, method, cutoff)
    assert degree_days(low, high, base, upper, method, cutoff) == pytest.approx(expected, abs=0.03)


@given(TEMPS, st.floats(0, 30), st.floats(-5, 20), st.floats(0.5, 25), st.sampled_from(METHODS[1:]))
def test_cutoffs_keep_their_order_and_bounds(low, span, base, above, method):
    high, upper = low + span, base + above
    horizontal, intermediate, vertical = (degree_days(low, high, base, upper, method, cutoff) for cutoff in CUTOFFS)
    assert 0 <= intermediate <= horizontal + 1e-9
    assert 0 <= vertical <= horizontal + 1e-9
    assert horizontal <= min(above, max(0.0, high - base)) + 1e-9


@given(st.lists(st.tuples(TEMPS, st.floats(0, 30)), min_size=1, max_size=8), st.sampled_from(METHODS))
def test_arrays_are_read_element_by_element(days, method):
    low = np.array([day[0] for day in days])
    high = low + [day[1] for day in days]
    together = degree_days(low, high, 10, 30, method)
    assert together.shape == low.shape
    apart = [degree_days(a, b, 10, 30, method) for a, b in zip(low, high, strict=True)]
    assert together.tolist() == pytest.approx(apart)


def test_blocks_and_days_broadcast():
    assert degree_days(np.zeros((3, 1)), np.full((1, 5), 20.0), 10).shape == (3, 5)


def test_a_day_without_range():
    for method in METHODS:
        assert degree_days(15, 15, 10, 30, method) == 5
        assert degree_days(10, 10, 10, 30, method) == 0
    assert degree_days(35, 35, 10, 30, "sine", "horizontal") == 20
    assert degree_days(35, 35, 10, 30, "sine", "vertical") == 0
    assert degree_days(30, 30, 10, 30, "sine", "vertical") == 20


def test_average_ignores_the_upper_threshold():
    assert degree_days(10, 40, 10, 20, "average") == 15
    assert degree_days(10, 40, 10, 5, "average") == 15


@pytest.mark.parametrize("method", METHODS)
def test_nan_gives_nan(method):
    assert math.isnan(degree_days(float("nan"), 20, 10, method=method))
    assert np.isnan(degree_days([5, np.nan], [20, 20], 10, 30, method)).tolist() == [False, True]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"low": 20, "high": 10, "base": 5}, "low cannot be above"),
        ({"low": [1, 20], "high": [10, 10], "base": 5}, "low cannot be above"),
        ({"low": 5, "high": 10, "base": 5, "upper": 5}, "must lie above"),
        ({"low": 5, "high": 10, "base": 5, "method": "double"}, "No degree-day method"),
        ({"low": 5, "high": 10, "base": 5, "cutoff": "sudden"}, "No cutoff"),
        ({"low": None, "high": 10, "base": 5}, "must be a number"),
    ],
)
def test_meaningless_arguments_are_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        degree_days(**arguments)


@given(st.lists(TEMPS, min_size=1, max_size=60), st.one_of(st.none(), st.floats(0.5, 30)))
def test_hourly_sums_agree_with_the_slow_version(temps, above):
    upper = None if above is None else 10 + above
    running = heat.hourly(temps, 10, upper)
    assert module.hourly(temps, 10, upper).tolist() == pytest.approx(running)


def test_hourly_sums_keep_blocks_apart_and_miss_what_is_missing():
    blocks = np.array([[20.0, 20.0, 20.0], [20.0, np.nan, 20.0]])
    assert module.hourly(blocks, 10)[0, -1] == pytest.approx(30 / 24)
    assert np.isnan(module.hourly(blocks, 10)[1]).tolist() == [False, True, True]
    with pytest.raises(ValueError, match="must lie above"):
        module.hourly([20.0], 10, 10)
