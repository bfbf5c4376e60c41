"""Chill and spring heat at the edges, and against the slow version."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.science import chill
from counts import count
from slow import heat

TOTALS = [
    (chill.chill_hours, heat.chill_hours),
    (chill.utah_units, heat.utah_units),
    (chill.chill_portions, heat.chill_portions),
    (chill.growing_degree_hours, heat.growing_degree_hours),
]
BOTH = pytest.mark.parametrize(("fast", "slow"), TOTALS, ids=[fast.__name__ for fast, _ in TOTALS])
HOURS = st.lists(st.floats(-25, 42), min_size=1, max_size=400)


@BOTH
@settings(max_examples=count("weather science against the slow version"), deadline=None)
@given(hours=HOURS)
def test_agrees_with_the_slow_version(fast, slow, hours):
    assert fast(hours) == pytest.approx(slow(hours), abs=1e-9)


@BOTH
@settings(deadline=None, max_examples=20)
@given(start=st.floats(-2, 10), swing=st.floats(0, 9), days=st.integers(1, 60))
def test_agrees_over_a_winter_of_days(fast, slow, start, swing, days):
    hours = [start + swing * math.sin(hour * math.pi / 12) for hour in range(24 * days)]
    assert fast(hours) == pytest.approx(slow(hours), abs=1e-8)


@BOTH
def test_blocks_are_kept_apart(fast, slow):
    blocks = np.random.default_rng(3).uniform(-5, 20, (2, 3, 200))
    totals = fast(blocks)
    assert totals.shape == (2, 3)
    assert totals[1, 2] == pytest.approx(slow(blocks[1, 2].tolist()))


@BOTH
def test_a_missing_hour_makes_the_total_unknown(fast, slow):
    assert math.isnan(fast([5.0, float("nan"), 5.0]))
    totals = fast(np.array([[5.0, 5.0], [np.nan, 5.0]]))
    assert totals[0] == slow([5.0, 5.0])
    assert np.isnan(totals[1])


@BOTH
def test_numbers_come_back_as_numbers(fast, slow):
    assert isinstance(fast([5.0] * 30), float)
    assert fast([]) == 0
    with pytest.raises(ValueError, match="must be a number"):
        fast(None)


@given(st.lists(st.floats(0, 12), min_size=30, max_size=300))
def test_portions_never_fall(hours):
    assert chill.chill_portions(hours) >= chill.chill_portions(hours[:-5]) - 1e-12
