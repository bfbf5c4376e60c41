"""Mixing and mulch: limits, arrays, what is not known."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.science import mulch
from counts import count

WET = {"mass": 10, "carbon_pct": 45, "nitrogen_pct": 2.4, "moisture_pct": 77}
DRY = {"carbon_pct": 50, "nitrogen_pct": 0.75, "moisture_pct": 35}


@pytest.mark.parametrize("goal", [35, 77, 20, 90])
def test_moisture_out_of_reach(goal):
    with pytest.raises(ValueError, match="out of reach"):
        mulch.mass_for_moisture(10, 77, 35, goal)


@pytest.mark.parametrize("goal", [45 / 2.4, 50 / 0.75, 10, 80])
def test_ratio_out_of_reach(goal):
    with pytest.raises(ValueError, match="out of reach"):
        mulch.mass_for_cn(WET, DRY, goal)


def test_two_alike_reach_nothing():
    with pytest.raises(ValueError, match="out of reach"):
        mulch.mass_for_moisture(10, 50, 50, 50)


def test_a_material_without_nitrogen_still_mixes():
    sawdust = {"carbon_pct": 48, "nitrogen_pct": 0, "moisture_pct": 30}
    mass = mulch.mass_for_cn(WET, sawdust, 30)
    assert mulch.blend([WET, {**sawdust, "mass": mass}])["cn"] == pytest.approx(30)


@pytest.mark.parametrize(
    ("call", "args"),
    [
        (mulch.blend, ([],)),
        (mulch.blend, ([{"mass": 0, "carbon_pct": 40, "nitrogen_pct": 1, "moisture_pct": 10}],)),
        (mulch.blend, ([{"mass": 1, "carbon_pct": 40, "nitrogen_pct": 1}],)),
        (mulch.blend, ([{**WET, "moisture_pct": 177}],)),
        (mulch.mass_for_moisture, (-1, 77, 35, 60)),
        (mulch.mass_for_moisture, (None, 77, 35, 60)),
        (mulch.mass_for_cn, (WET, DRY, 0)),
        (mulch.mass_for_cn, (WET, {**DRY, "moisture_pct": 100}, 30)),
        (mulch.mass_for_cn, (DRY, WET, 30)),
        (mulch.ring_volume, (1, 0.6, 0.1)),
        (mulch.ring_volume, (2, 0.15, -0.1)),
        (mulch.ring_volume, ("2", 0.15, 0.1)),
        (mulch.strip_volume, (1, 1, 0.1, 10, 0.5)),
        (mulch.area_covered, (1, 0)),
        (mulch.dose, (1, 0)),
    ],
)
def test_nonsense_is_refused_with_a_sentence(call, args):
    with pytest.raises(ValueError, match=r"\.$"):
        call(*args)


def test_ring_measures_the_gap_from_the_middle():
    assert mulch.ring_volume(2, 0, 0.1) == pytest.approx(math.pi * 0.1)
    assert mulch.ring_volume(2, 1, 0.1) == 0


def test_arrays_keep_their_shape():
    depths = np.array([[0.05, 0.1], [0.15, np.nan]])
    volume = mulch.ring_volume(3, 0.15, depths)
    assert volume.shape == (2, 2)
    assert volume[0, 1] == pytest.approx(mulch.ring_volume(3, 0.15, 0.1))
    assert np.isnan(volume[1, 1])
    assert np.allclose(mulch.mass_for_cn(WET, DRY, np.array([25, 30])), [1.69846, 3.47413])
    mix = mulch.blend([{**WET, "mass": np.array([1.0, np.nan])}, {**DRY, "mass": 1}])
    assert mix["cn"].shape == (2,)
    assert np.isnan(mix["moisture_pct"][1])


def test_not_known_stays_not_known():
    assert math.isnan(mulch.mass_for_moisture(10, float("nan"), 35, 60))
    assert math.isnan(mulch.blend([{**WET, "nitrogen_pct": float("nan")}])["cn"])
    assert mulch.blend([{**WET, "nitrogen_pct": 0}])["cn"] is None


def test_strip_leaves_the_trunks_bare():
    assert mulch.strip_volume(10, 1, 0.1) == pytest.approx(1)
    assert mulch.strip_volume(10, 1, 0.1, trees=4, trunk_gap_m=0.15) == pytest.approx(1 - 4 * math.pi * 0.15**2 * 0.1)


def test_dose_and_shortfall():
    assert mulch.dose(2, 100) == {"m3_ha": 200, "depth_cm": 2}
    assert mulch.shortfall(5, 3) == 2
    assert mulch.shortfall(3, 5) == 0


PART = st.fixed_dictionaries(
    {
        "mass": st.floats(0.1, 1000),
        "carbon_pct": st.floats(30, 55),
        "nitrogen_pct": st.floats(0.05, 6),
        "moisture_pct": st.floats(0, 90),
    }
)


@settings(max_examples=count("mixing a heap to a goal"), deadline=None)
@given(PART, PART, st.floats(0.05, 0.95))
def test_the_mass_found_gives_the_goal(first, second, share):
    low, high = sorted(part["carbon_pct"] / part["nitrogen_pct"] for part in (first, second))
    goal = low + share * (high - low)
    if high - low < 0.5:
        return
    mass = mulch.mass_for_cn(first, {key: second[key] for key in second if key != "mass"}, goal)
    assert mass > 0
    assert mulch.blend([first, {**second, "mass": mass}])["cn"] == pytest.approx(goal, rel=1e-6)
