"""Fire blight at the edges, and against the slow version."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.science import fire_blight
from counts import count
from slow import blight as slow


@settings(max_examples=count("weather science against the slow version"), deadline=None)
@given(st.lists(st.floats(-2, 35).map(lambda t: round(t, 2)), min_size=1, max_size=120))
def test_heat_of_the_oldest_flower_agrees_with_asking_every_flower(temps):
    assert fire_blight.blossom_heat(temps).tolist() == pytest.approx(slow.blossom_heat(temps), abs=1e-6)


@settings(max_examples=20, deadline=None)
@given(st.floats(10, 28), st.floats(0, 10))
def test_heat_over_a_long_bloom(mean, swing):
    temps = [round(mean + swing * math.sin(hour * math.pi / 12), 3) for hour in range(24 * 9)]
    assert fire_blight.blossom_heat(temps).tolist() == pytest.approx(slow.blossom_heat(temps), abs=1e-6)
    assert fire_blight.symptom_hour(temps) == slow.symptom_hour(temps)


def test_degree_hours():
    assert fire_blight.degree_hours([18.3, 20.3, 10.0]) == pytest.approx(2)
    assert fire_blight.degree_hours([18.3]) == 0
    assert math.isnan(fire_blight.degree_hours([20.0, float("nan")]))
    assert fire_blight.degree_hours(np.full((2, 24), 20.3)).tolist() == pytest.approx([48, 48])


def test_missing_hours_are_forgotten_only_when_their_flowers_are_gone():
    temps = np.full(24 * 8, 20.0)
    temps[10] = np.nan
    heat = fire_blight.blossom_heat(temps)
    life = math.ceil(44 / 15.6 * 24)
    assert not np.isnan(heat[:10]).any()
    assert np.isnan(heat[10 : 10 + life - 2]).all()
    assert not np.isnan(heat[10 + life + 2 :]).any()


def test_blocks_are_kept_apart():
    blocks = np.random.default_rng(1).uniform(5, 30, (4, 100))
    heat = fire_blight.blossom_heat(blocks, "pear")
    assert heat.shape == (4, 100)
    np.testing.assert_allclose(heat[2], fire_blight.blossom_heat(blocks[2], "pear"))
    with pytest.raises(ValueError, match="not 'plum'"):
        fire_blight.blossom_heat(blocks, "plum")


def test_risk_of_arrays_is_a_dict_of_arrays():
    risk = fire_blight.blossom_risk(np.array([120.0, 120, 20, np.nan]), True, np.array([18.0, 12, 18, 18]), True)
    np.testing.assert_array_equal(risk["conditions_met"], [4, 3, 3, np.nan])
    assert risk["infection"].tolist() == [True, False, False, None]
    days = fire_blight.blossom_risk(np.array([120.0, 120]), np.array([True, False]), 18, np.array([True, True]))
    assert days["infection"].tolist() == [True, False]


@pytest.mark.parametrize("missing", ["degree_hours", "mean_c"])
def test_a_missing_number_leaves_the_risk_unknown(missing):
    known = {"degree_hours": 150.0, "wet": True, "mean_c": 20.0, "open_bloom": True}
    risk = fire_blight.blossom_risk(**(known | {missing: float("nan")}))
    assert math.isnan(risk["conditions_met"])
    assert risk["infection"] is None


def test_a_word_or_none_is_no_condition():
    with pytest.raises(ValueError, match="must be a number"):
        fire_blight.blossom_risk(None, True, 20, True)
    with pytest.raises(ValueError, match="must be a number"):
        fire_blight.blossom_risk(120, "yes", 20, True)


def test_missing_rain_is_not_dry():
    assert fire_blight.wet_enough(float("nan")) is None
    assert fire_blight.wet_enough(float("nan"), 3.0) is True
    assert fire_blight.wet_enough(np.array([0.0, 0.5])).tolist() == [False, True]
