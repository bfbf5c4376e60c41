"""Bees and pollen at the edges, and against the slow version."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.science import pollination
from slow import water as slow


@given(st.floats(-10, 40), st.floats(0, 15))
def test_bee_activity_agrees_with_the_slow_version(temp, wind):
    assert pollination.bee_activity(temp, wind) == pytest.approx(slow.bee_activity(temp, wind))


def test_bee_activity_at_the_edges():
    assert pollination.bee_activity(10.59) == 0
    assert pollination.bee_activity(30) == 1
    assert pollination.bee_activity(20, 5.6) == pytest.approx(0.5)
    assert pollination.bee_activity(17.2, 5.6) == pytest.approx(0.31)
    assert pollination.bee_activity(20, 6.7) == 0
    assert math.isnan(pollination.bee_activity(float("nan")))
    assert math.isnan(pollination.bee_activity(20, float("nan")))
    assert pollination.bee_activity(np.array([5.0, 20.0]), np.array([[0.0], [9.0]])).tolist() == [[0, 1], [0, 0]]
    with pytest.raises(ValueError, match="must be a number"):
        pollination.bee_activity(None)


def test_where_nothing_is_published():
    assert pollination.hives_wanted("quince", 1) is None
    assert pollination.bees_wanted("plum") is None
    assert pollination.effective_days("apple", 15) is None
    assert pollination.effective_days("pear", 12) is None
    assert pollination.effective_days("pear", 15) == 3
    assert pollination.tube_growth(float("nan")) is None
    assert pollination.gives_pollen("Liberty") is None
