"""Mixing and mulch against published worked examples and tables."""

import pytest

from advisor.science import mulch

GRASS = {"mass": 10, "carbon_pct": 45, "nitrogen_pct": 2.4, "moisture_pct": 77}
LEAVES = {"carbon_pct": 50, "nitrogen_pct": 0.75, "moisture_pct": 35}


def test_leaves_to_dry_grass_clippings_richard_and_trautmann_1996():
    # Getting the Right Mix: 10 kg of clippings at 77 %, leaves at 35 %, goal 60 %: 6.8 kg of leaves.
    assert mulch.mass_for_moisture(10, 77, 35, 60) == pytest.approx(6.8, abs=0.005)


def test_leaves_to_balance_grass_clippings_richard_and_trautmann_1996():
    # Same page (from memory): goal C:N 30 takes 3.5 kg of leaves, and the mix then holds 66 % water.
    leaves = mulch.mass_for_cn(GRASS, LEAVES, 30)
    assert leaves == pytest.approx(3.5, abs=0.05)
    mix = mulch.blend([GRASS, {**LEAVES, "mass": leaves}])
    assert mix["cn"] == pytest.approx(30)
    assert mix["moisture_pct"] == pytest.approx(66, abs=0.5)


def test_rough_classroom_mean_is_not_the_formula_cooperband_2002():
    # Cooperband mixes manure 15:1 and maize stalks 65:1, two to one by weight, to "about 30:1" by the plain mean
    # (31.7). Equal nitrogen would be needed for that; weighted by nitrogen, the mix is lower.
    plain_mean = (2 * 15 + 65) / 3
    assert plain_mean == pytest.approx(31.7, abs=0.05)
    manure = {"mass": 2, "carbon_pct": 45, "nitrogen_pct": 45 / 15, "moisture_pct": 0}
    stalks = {"mass": 1, "carbon_pct": 45, "nitrogen_pct": 45 / 65, "moisture_pct": 0}
    assert mulch.blend([manure, stalks])["cn"] == pytest.approx(135 / (6 + 45 / 65))


# Averages of one material table (Bertrand, Missouri; after NRAES-54): %N and C:N. A blend of one part gives its own.
@pytest.mark.parametrize(
    ("nitrogen", "ratio"),
    [(0.2, 440), (0.7, 80), (0.9, 54), (0.4, 60), (4, 17), (3.2, 12), (2.4, 19), (1.6, 30), (8, 6), (2.7, 14), (2, 20),
     (2.4, 15)],
)  # fmt: skip
def test_single_material_keeps_its_ratio(nitrogen, ratio):
    part = {"mass": 3, "carbon_pct": nitrogen * ratio / 10, "nitrogen_pct": nitrogen / 10, "moisture_pct": 40}
    mix = mulch.blend([part])
    assert mix["cn"] == pytest.approx(ratio)
    assert mix["moisture_pct"] == pytest.approx(40)


@pytest.mark.parametrize(("inches", "square_feet"), [(1, 324), (2, 162), (3, 108), (4, 81)])
def test_a_yard_of_mulch_covers(inches, square_feet):
    # Printed by many extension services; 27 cubic feet spread so deep.
    covered_m2 = mulch.area_covered(27 * 0.3048**3, inches * 0.0254)
    assert covered_m2 / 0.3048**2 == pytest.approx(square_feet)


def test_a_cubic_metre_covers_ten_square_metres_ten_centimetres_deep():
    assert mulch.area_covered(1, 0.10) == pytest.approx(10)
    assert mulch.area_covered(10, 0.10) == pytest.approx(100)


@pytest.mark.parametrize(("diameter", "volume"), [(3, 0.70), (2, 0.31)])
def test_ring_volumes(diameter, volume):
    # Geometry: pi (R^2 - r^2) h with 15 cm bare and 10 cm deep.
    assert mulch.ring_volume(diameter, 0.15, 0.10) == pytest.approx(volume, abs=0.005)


def test_prunings_and_hedges_french_farm_notes():
    assert mulch.prunings_volume(10_000) == (2, 15)
    assert mulch.hedge_volume(1000) == (18, 30)
    assert mulch.hedge_length(18) == pytest.approx((600, 1000))  # 18 to 30 m3 a km
