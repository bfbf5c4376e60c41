"""Moist air and water against frost at the edges, and against the slow version."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.science import air, frost_protection
from counts import count
from slow import water as slow

TEMPS = st.floats(-30, 40)


@settings(max_examples=count("weather science against the slow version"), deadline=None)
@given(TEMPS, st.floats(0, 20))
def test_wet_bulb_and_start_temperature_turn_each_other_round(wet, drier):
    dry = air.temperature_for_wet_bulb(wet, wet - drier)
    assert slow.wet_bulb(dry, wet - drier, 0) == pytest.approx(wet, abs=1e-6)
    assert dry >= wet


@given(TEMPS, st.floats(1, 100))
def test_dew_point_and_humidity_turn_each_other_round(temp, humidity):
    assert air.humidity(temp, air.dew_point(temp, humidity)) == pytest.approx(humidity)


def test_moist_air_at_the_edges():
    assert air.dew_point(10, 0) is None
    assert air.dew_point(10, 101) is None
    assert math.isnan(air.dew_point(10, float("nan")))
    assert air.humidity(5, 7) == 100
    assert air.temperature_for_wet_bulb(5, 7) == pytest.approx(5)
    assert np.isnan(air.temperature_for_wet_bulb(np.array([1.0, np.nan]), -3)).tolist() == [False, True]


def test_drier_air_starts_the_water_earlier():
    critical = -2.2
    starts = frost_protection.start_temperature(critical, np.array([0.0, -2.2, -5.0, -9.0]))
    assert starts[:2] == pytest.approx([critical, critical])
    assert starts[2] > critical
    assert starts[3] > starts[2]


def test_rates_at_the_edges():
    assert frost_protection.least_rate(-2, 0) == pytest.approx(2.54)
    assert frost_protection.least_rate(1, 0) is None
    assert frost_protection.least_rate(-13, 0) is None
    assert frost_protection.least_rate(-3, 4) is None
    assert math.isnan(frost_protection.least_rate(-3, float("nan")))
    assert frost_protection.least_rate(-5, 0.6) > frost_protection.least_rate(-5, 0.4)


@pytest.mark.parametrize(
    ("low", "wind", "dew", "rate", "protects"),
    [
        pytest.param(-3, 0.4, -4, 2.6, True, id="enough in a calm"),
        pytest.param(-4.4, 3, -6, 3.8, False, id="half the water in wind does harm"),
        pytest.param(-4.4, 3, -6, 7.7, True, id="the full rate in the same wind"),
        pytest.param(-3, 5, -4, 9.0, None, id="no figure for strong wind"),
        pytest.param(-3, 0.4, -14, 2.6, None, id="no figure for dry air"),
        pytest.param(-3, float("nan"), -4, 2.6, None, id="wind not known"),
    ],
)
def test_whether_the_water_protects(low, wind, dew, rate, protects):
    assert frost_protection.water_protects(low, wind, dew, rate) is protects
