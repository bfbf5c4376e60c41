"""Crop load and spacing against Clements 2017 (University of Massachusetts) and other extension rules."""

import math

import numpy as np
import pytest

from advisor.science import thinning

# Clements 2017: diameter in, girth in, trunk area cm2, fruit at 4 and at 6 a cm2.
UMASS = [
    (0.75, 2.4, 2.9, 11, 17),
    (1, 3.1, 5.1, 20, 30),
    (1.25, 3.9, 7.9, 32, 48),
    (1.5, 4.7, 11.4, 46, 68),
    (1.75, 5.5, 15.5, 62, 93),
    (2, 6.3, 20.3, 81, 122),
    (2.25, 7.1, 25.7, 103, 154),
    (2.5, 7.9, 31.7, 127, 190),
    (2.75, 8.6, 38.3, 153, 230),
    (3, 9.4, 45.6, 182, 274),
]


@pytest.mark.parametrize(("diameter_in", "girth_in", "area", "biennial", "annual"), UMASS)
def test_trunk_area_and_fruit_clements_2017(diameter_in, girth_in, area, biennial, annual):
    found = thinning.trunk_area(diameter_cm=diameter_in * 2.54)
    assert found == pytest.approx(area, abs=0.06)
    assert thinning.fruit_target(found, 4) == biennial
    assert thinning.fruit_target(found, 6) == annual
    # The printed girth is rounded to a tenth of an inch, so its area agrees within that.
    assert thinning.trunk_area(girth_cm=girth_in * 2.54) == pytest.approx(area, rel=0.05)


@pytest.mark.parametrize(
    ("cultivar", "group", "load"),
    [("Honeycrisp", "biennial", 4), ("Fuji", "biennial", 4), ("Gala", "annual", 6), ("McIntosh", "annual", 6)],
)
def test_groups_clements_2017(cultivar, group, load):
    assert thinning.group_of(cultivar) == group
    assert thinning.LOAD[group] == load


@pytest.mark.parametrize(
    ("fruit", "kind", "low_in", "high_in"),
    [
        ("apple", None, 4, 6),  # Upham, Kansas State; South Dakota State
        ("pear", None, 6, 8),  # South Dakota State
        ("peach", None, 6, 8),  # Missouri State 2017
        ("nectarine", None, 6, 8),  # as peach
        ("plum", None, 2, 3),  # garden thinning page, European
        ("plum", "japanese", 4, 6),  # the same, Japanese
        ("apricot", None, 2, 4),  # South Dakota State
    ],
)
def test_spacing_in_inches(fruit, kind, low_in, high_in):
    rule = thinning.spacing(fruit, kind)
    assert (rule.low_cm, rule.high_cm) == pytest.approx((low_in * 2.54, high_in * 2.54), abs=0.06)


@pytest.mark.parametrize("fruit", ["sweet-cherry", "tart-cherry"])
def test_cherries_are_not_thinned_by_hand(fruit):
    assert thinning.spacing(fruit).low_cm is None
    assert thinning.fruit_on_limb(100, fruit) is None
    assert thinning.blossom_ways(fruit) == []


def test_clusters_sizes_and_leaves():
    # One a cluster (Upham); 3/4 in pome fruit and 1 in peach (eXtension); 50 to 75 leaves an apple (New Mexico
    # growers), 75 a peach (Missouri State).
    assert thinning.spacing("apple").per_cluster == thinning.spacing("pear").per_cluster == 1
    assert thinning.spacing("apple").when_mm == pytest.approx(0.75 * 25.4, abs=0.1)
    assert thinning.spacing("peach").when_mm == pytest.approx(25.4, abs=0.5)
    assert thinning.spacing("apple").leaves == (50, 75)
    assert thinning.spacing("peach").leaves == (75, 75)


@pytest.mark.parametrize(
    ("days", "state"), [(20, "before"), (21, "during"), (42, "during"), (43, "over"), (float("nan"), None)]
)
def test_june_drop_three_to_six_weeks_tromp(days, state):
    assert thinning.june_drop(days) == state


@pytest.mark.parametrize(
    ("days", "bloom", "size"),
    [(10, "yes", "yes"), (30, "yes", "yes"), (35, "partly", "yes"), (41, "no", "yes"), (80, "no", "little")],
)
def test_what_late_thinning_still_does(days, bloom, size):
    # 30 to 40 days for return bloom, from memory; 60 days for size, common practice.
    answer = thinning.late_thinning(days)
    assert (answer["return_bloom"], answer["size"]) == (bloom, size)
    assert answer["spares_limbs"]
    assert f"{days} days" in answer["because"][0]


def test_late_thinning_without_a_bloom_date():
    assert thinning.late_thinning(float("nan"))["return_bloom"] is None


@pytest.mark.parametrize(
    ("load", "cultivar", "heavy", "risk"),
    [
        (4, "Honeycrisp", None, "low"),
        (5, "Honeycrisp", None, "fair"),
        (7, "Honeycrisp", None, "high"),
        (6, "Gala", None, "low"),
        (8, "Gala", None, "low"),
        (8, "Gala", True, "fair"),
        (12, "Gala", None, "fair"),
        (5, None, None, "fair"),
        (float("nan"), "Gala", None, None),
    ],
)
def test_biennial_risk_common_practice(load, cultivar, heavy, risk):
    assert thinning.biennial_risk(load, cultivar, heavy) == risk


def test_fruit_for_older_trees():
    # 41.3 lb and 104 fruit on a close-planted Gala in leaf 6 (Cheng): 180 g a fruit.
    grams = 41.3 * 453.6 / 104
    assert grams == pytest.approx(180, abs=1)


@pytest.mark.parametrize(("area", "per", "whole"), [(5, 0.5, 2), (7, 0.5, 4), (25, 0.1, 2), (10, 4, 40)])
def test_halves_round_to_even(area, per, whole):
    found = thinning.fruit_target(area, per)
    assert found == whole
    assert isinstance(found, int)


@pytest.mark.parametrize("given", [{}, {"girth_cm": 20, "diameter_cm": 6}, {"girth_cm": -1}])
def test_a_trunk_needs_one_measure(given):
    with pytest.raises(ValueError, match=r"\.$"):
        thinning.trunk_area(**given)


def test_arrays_and_unknowns():
    areas = thinning.trunk_area(girth_cm=np.array([20.0, np.nan]))
    assert areas[0] == pytest.approx(20**2 / (4 * math.pi))
    targets = thinning.fruit_target(areas, 6)
    assert targets.shape == (2,)
    assert targets[0] == 191
    assert np.isnan(targets[1])
    assert math.isnan(thinning.fruit_target(float("nan"), 4))
    assert thinning.group_of("Unheard Of") is None
    assert thinning.spacing("quince") is None
    assert thinning.excess(np.array([10, 300]), 200).tolist() == [0, 100]
    with pytest.raises(ValueError, match="tree fruits"):
        thinning.spacing("banana")


def test_blossom_thinning_choices_carry_cautions():
    ways = thinning.blossom_ways("apple")
    assert {way["way"] for way in ways} == {"by-hand", "brush-or-string", "lime-sulphur"}
    assert all(way["cautions"] for way in ways)
    assert "brush-or-string" not in {way["way"] for way in thinning.blossom_ways("apple", fire_blight=True)}
    assert any("poison gas" in caution for way in ways for caution in way["cautions"])


def test_fruit_on_a_limb():
    assert thinning.fruit_on_limb(100, "apple") == (6, 9)
