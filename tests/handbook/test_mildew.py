"""Powdery mildews against Virginia Tech, WSU, NIAB, Ohio State University and Grove 1991."""

import numpy as np
import pytest

from advisor.science import mildew


# Yoder K., Virginia Tech, 13 April 2019: any day without rain above 11.7 degrees C (53 F) once conidia are out.
@pytest.mark.parametrize(
    ("rain", "temp", "day"), [(0, 11.8, True), (0, 11.7, False), (0.2, 20, False), (0, 25, True), (0, 5, False)]
)
def test_infection_day(rain, temp, day):
    assert mildew.infection_day(rain, temp) is day


def test_fifty_three_fahrenheit():
    assert round((53 - 32) / 1.8, 1) == mildew.INFECTION_DAY_ABOVE_C


def test_infection_days_of_a_week():
    assert mildew.infection_days([0, 0, 3, 0], [15, 10, 15, 20]) == 2
    assert np.isnan(mildew.infection_days([0, np.nan], [15, 15]))
    assert mildew.infection_days([], []) == 0
    assert mildew.infection_day(np.array([0.0, np.nan]), 15).tolist() == [True, None]


# Amiri A., Washington State University 2019, and University of Wisconsin 2022: best at 19 to 22 degrees C, much reduced
# below 10 and above 29 to 30.
@pytest.mark.parametrize(
    ("temp", "word"),
    [
        (19, "best"), (22, "best"), (18.9, "fair"), (22.1, "fair"), (10, "fair"), (9.9, "checked"), (30.1, "checked"),
    ],
)
def test_warmth(temp, word):
    assert mildew.warmth(temp) == word


# NIAB: near -12 degrees C can clear buds. Country Folks Grower: sustained below -24 (-11 F). Ellis, Ohio State
# University 2016: near -28 (-18 F) kills a majority, some survive.
@pytest.mark.parametrize(
    ("low", "word"),
    [
        (-5, "likely"), (-12, "likely"), (-12.1, "disputed"), (-24, "disputed"), (-24.1, "reduced"), (-28, "reduced"),
        (-28.1, "much reduced"),
    ],
)
def test_winter_kill_where_sources_disagree(low, word):
    assert mildew.bud_carry_over(low) == word


def test_never_none():
    assert mildew.bud_carry_over(-45) == "much reduced"
    assert mildew.bud_carry_over(float("nan")) is None
    assert [round((f - 32) / 1.8) for f in (-11, -18)] == [-24, -28]


def test_meaningless_arguments():
    with pytest.raises(ValueError, match="less than 0"):
        mildew.infection_day(-1, 15)
    with pytest.raises(ValueError, match="must be a number"):
        mildew.bud_carry_over(None)
