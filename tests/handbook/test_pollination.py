"""Published figures on bees, pollen tubes and blossom."""

import pytest

from advisor.science import pollination

MPH = 0.44704
ACRES_A_HECTARE = 2.471


@pytest.mark.parametrize(
    ("degrees_f", "degrees_c", "share"), [(65, 18.3, 1.00), (63, 17.2, 0.62), (54, 12.2, 0.21), (51, 10.6, 0.06)]
)
def test_honey_bee_foraging(degrees_f, degrees_c, share):
    """Washington State University, Honey bees."""
    assert pollination.bee_activity(degrees_c) == pytest.approx(share)
    if degrees_f > 51:  # 51 degrees F is 10.56 degrees C, just below the rounded 10.6 from which bees count
        assert pollination.bee_activity((degrees_f - 32) / 1.8) == pytest.approx(share, abs=0.02)


def test_few_bees_fly_below_55_f_and_wind_stops_them():
    """Washington State University: few below 55 degrees F; full work above 65 with less than 10 miles an hour of wind,
    slowed or stopped above 15."""
    assert pollination.bee_activity(12.7) < 0.26
    assert pollination.bee_activity(20, 10 * MPH) == pytest.approx(1, abs=0.01)
    assert pollination.bee_activity(20, 15.1 * MPH) == 0


@pytest.mark.parametrize(
    ("fruit", "least", "most"), [("apple", 1, 2), ("sweet-cherry", 2, 3), ("tart-cherry", 2, 3)]
)
def test_hives(fruit, least, most):
    """Good Fruit Grower, Pollination tips: hives an acre."""
    expected = (least * ACRES_A_HECTARE, most * ACRES_A_HECTARE)
    assert pollination.hives_wanted(fruit, 1) == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize(
    ("fruit", "semidwarf", "bees"),
    [("apple", False, (20, 25)), ("sweet-cherry", False, (30, 35)), ("pear", False, (10, 15)),
     ("apple", True, (10, 15))],
)  # fmt: skip
def test_bees_on_a_tree_in_a_minute(fruit, semidwarf, bees):
    """Good Fruit Grower, Pollination tips."""
    assert pollination.bees_wanted(fruit, semidwarf) == bees


def test_mason_bees():
    """Bosch and Kemp, SARE Handbook 5: 250 to 300 females for an acre of apple."""
    assert pollination.mason_bees_wanted(1 / ACRES_A_HECTARE) == pytest.approx((250, 300), abs=2)


@pytest.mark.parametrize(("temp_c", "growth"), [(9, "hardly"), (12.8, "slow"), (18.3, "fast"), (23.9, "fast")])
def test_pollen_tubes(temp_c, growth):
    """Purdue University: hardly below 50 degrees F, slow to 60, much faster above."""
    assert pollination.tube_growth(temp_c) == growth


@pytest.mark.parametrize(("mean_c", "days"), [(13, 4), (17, 2)])
def test_effective_pollination_of_pear(mean_c, days):
    """Tromp and Borsboom, Doyenne du Comice: 4-6 days at 13 degrees C, 2-4 at 17; the shorter end counts."""
    assert pollination.effective_days("pear", mean_c) == days


@pytest.mark.parametrize("cultivar", ["Jonagold", "Winesap"])
def test_triploids_give_no_pollen(cultivar):
    """Purdue University."""
    assert pollination.gives_pollen(cultivar) is False
