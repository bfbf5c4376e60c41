"""Copper against Implementing Regulation (EU) 2018/1981 and the Cornell organic guide."""

import numpy as np
import pytest

from advisor.science import copper


def test_eu_limit():
    # Commission Implementing Regulation (EU) 2018/1981: at most 28 kg a hectare over 7 years, 4 kg a year in the mean.
    assert copper.room_left(0) == 28
    assert copper.room_left([4] * 7) == 0
    assert copper.room_left([4] * 6) == 4
    assert copper.LIMIT_KG_HA / copper.YEARS == 4


def test_the_mean_is_no_yearly_cap():
    assert copper.room_left([10, 1, 1, 1, 1, 1, 1]) == 12


def test_only_the_window_counts():
    assert copper.room_left([28, 0, 0, 0, 0, 0, 0, 3]) == 25
    assert copper.room_left([5, 5, 5], years=2) == 18
    assert copper.room_left([5, 5], years=1, limit=6) == 1


def test_never_below_nothing():
    assert copper.room_left(40) == 0
    assert copper.room_left([]) == 28
    assert copper.room_left(np.array([1.5, 2.5])) == 24
    assert np.isnan(copper.room_left(float("nan")))
    assert np.isnan(copper.room_left([1, float("nan")]))


def test_metal_in_a_product():
    # A product with a fifth of copper at 11 kg on a hectare is 2.2 kg of metal (worked out).
    assert copper.metal(11, 0.2, 1) == pytest.approx(2.2)
    assert copper.metal(np.array([11.0, 22.0]), 0.2, 2) == pytest.approx([1.1, 2.2])


# Caldwell B. et al. 2013, Cornell University: each spray of 1 to 4 lb of copper an acre adds 0.5 to 2 mg/kg of soil.
@pytest.mark.parametrize(("lb_acre", "mg_kg"), [(1, 0.5), (4, 2.0)])
def test_soil_rise(lb_acre, mg_kg):
    assert copper.soil_rise(lb_acre * 0.45359237 / 0.40468564224) == pytest.approx(mg_kg)


def test_two_pounds_an_acre():
    # Western Farm Press: 2 lb of copper an acre is 2.2 kg/ha.
    kg_ha = 2 * 0.45359237 / 0.40468564224
    assert kg_ha == pytest.approx(2.2, abs=0.05)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: copper.room_left(-1), lambda: copper.room_left([1, -1]), lambda: copper.room_left(1, years=0),
        lambda: copper.room_left(None), lambda: copper.room_left(1, limit=-1), lambda: copper.metal(1, 2, 1),
        lambda: copper.metal(1, 0.2, 0), lambda: copper.soil_rise(-1), lambda: copper.room_left([[1, 2]]),
    ],
)  # fmt: skip
def test_meaningless_arguments(wrong):
    with pytest.raises(ValueError, match=r"\w+ .*\."):
        wrong()
