"""Water at the edges, and against the slow version."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.science import water
from counts import count
from slow import water as slow

EXAMPLES = settings(max_examples=count("weather science against the slow version"), deadline=None)
LATITUDE, DAY = st.floats(-64, 64), st.integers(1, 366)


@EXAMPLES
@given(
    st.floats(-10, 28), st.floats(0, 22), st.floats(0.15, 3), st.floats(0, 8), st.floats(1, 32), LATITUDE, DAY,
    st.floats(0, 2000),
)  # fmt: skip
def test_reference_evapotranspiration_agrees(low, span, vapour, wind, solar, latitude, day, elevation):
    arguments = (low, low + span, vapour, wind, solar, latitude, day, elevation)
    assert water.et0(*arguments) == pytest.approx(slow.et0(*arguments), rel=1e-9, abs=1e-9)


@EXAMPLES
@given(LATITUDE, DAY)
def test_sky_radiation_agrees_and_the_hemispheres_mirror(latitude, day):
    assert water.extraterrestrial_radiation(latitude, day) == pytest.approx(slow.sky_radiation(latitude, day))


@EXAMPLES
@given(
    st.lists(st.tuples(st.floats(0, 9), st.floats(0, 40), st.floats(0, 30)), min_size=1, max_size=40),
    st.floats(10, 200),
)
def test_depletion_agrees_and_stays_within_the_soil(days, available):
    use, rain, given_mm = ([day[part] for day in days] for part in range(3))
    missing, running = 0.0, []
    for drawn, fell, gave in zip(use, rain, given_mm, strict=True):
        missing = water.missing_after(missing, drawn, fell + gave, available)
        running.append(missing)
    assert running == pytest.approx(slow.depletion(use, rain, given_mm, available))
    assert all(0 <= missing <= available for missing in running)


def test_water_that_may_have_filled_the_soil_leaves_nothing_missing():
    assert water.missing_after(40.0, 5.0, math.inf, 100.0) == 0
    with pytest.raises(ValueError, match="hold some water"):
        water.missing_after(0.0, 1.0, 0.0, 0.0)


def test_days_that_cannot_be():
    with pytest.raises(ValueError, match="low cannot be above"):
        water.et0_from_temperature(20, 10, 42, 180)


def test_need():
    assert water.need(10, 0.5) == 5
    assert water.need(10, 0.5, 20) == 0
    assert water.need(10, 0.5, 2, 0.75) == 4
    assert math.isnan(water.need(float("nan"), 1))
    assert water.need(np.array([5.0, 6.0]), 1, np.array([0.0, 6.0])).tolist() == [5, 0]


@pytest.mark.parametrize(
    "arguments", [(5, 1, 0, 0), (5, 1, 0, -0.5), (5, 1, 0, 1.2), (5, -1), (5, 1, -3), (None, 1), (5, None)]
)
def test_meaningless_needs_are_refused(arguments):
    with pytest.raises(ValueError, match=r"\.$"):
        water.need(*arguments)


def test_coefficients_at_the_edges():
    assert water.crop_coefficient("quince", "mid", True, True) is None
    assert water.mulched_coefficient("quince", "mid", True, True, 0.5) is None
    bare = water.mulched_coefficient("apple", "mid", True, True, 0)
    assert bare == water.crop_coefficient("apple", "mid", True, True)
    for arguments in (("banana", "mid", True, True), ("apple", "summer", True, True)):
        with pytest.raises(ValueError, match=r"^No "):
            water.crop_coefficient(*arguments)
    with pytest.raises(ValueError, match="between 0 and 1"):
        water.mulched_coefficient("apple", "mid", True, True, 1.5)


@pytest.mark.parametrize("texture", [*water.TEXTURES, "clay-loam", "sandy-clay-loam", "sandy-clay"])
def test_every_soil_holds_some_water(texture):
    assert 20 <= water.usable_water(texture, 1.0) <= 100


def test_soils_at_the_edges():
    with pytest.raises(ValueError, match="No soil"):
        water.usable_water("peat", 1.0)
    with pytest.raises(ValueError, match="cannot be below 0"):
        water.usable_water("loam", -1.0)
    assert water.days_between(50, 0) is None
    assert math.isnan(water.days_between(50, float("nan")))


def test_arrays_of_days():
    low, high = np.array([8.0, 10.0, np.nan]), np.array([20.0, 24.0, 20.0])
    et0 = water.et0(low, high, 1.1, 2.0, 20.0, -37.5, np.array([20, 21, 22]), 100.0)
    assert et0.shape == (3,)
    assert np.isnan(et0).tolist() == [False, False, True]
    assert np.isnan(water.et0_from_temperature(low, high, -37.5, 20)).tolist() == [False, False, True]
