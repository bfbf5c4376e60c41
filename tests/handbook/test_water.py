"""Published examples and tables of water: FAO-56 (Allen, Pereira, Raes and Smith 1998) and the western states."""

import pytest

from advisor.science import air, water

LATITUDES = {"Bangkok": 13 + 44 / 60, "Uccle": 50.8, "Lyon": 45 + 43 / 60}


def test_example_17_bangkok_in_april():
    """FAO-56 example 17: 13 degrees 44 minutes N, 2 m; mean month of 25.6 to 34.8 degrees C."""
    latitude = LATITUDES["Bangkok"]
    assert air.pressure(2) == pytest.approx(101.3, abs=0.05)
    assert (air.saturation_pressure(34.8) + air.saturation_pressure(25.6)) / 2 == pytest.approx(4.42, abs=0.005)
    assert water.extraterrestrial_radiation(latitude, 105) == pytest.approx(38.06, abs=0.01)
    et0 = water.et0(25.6, 34.8, 2.85, 2, 22.65, latitude, 105, elevation_m=2, soil_heat_mj=0.14)
    assert et0 == pytest.approx(5.72, abs=0.01)


def test_example_18_uccle_on_6_july():
    """FAO-56 example 18: 50 degrees 48 minutes N, 100 m; 12.3 to 21.5 degrees C; vapour, wind at 2 m and sun as printed."""
    latitude = LATITUDES["Uccle"]
    assert air.pressure(100) == pytest.approx(100.1, abs=0.05)
    assert air.saturation_pressure(21.5) == pytest.approx(2.564, abs=0.001)
    assert air.saturation_pressure(12.3) == pytest.approx(1.431, abs=0.001)
    assert water.extraterrestrial_radiation(latitude, 187) == pytest.approx(41.09, abs=0.01)
    assert water.et0(12.3, 21.5, 1.409, 2.078, 22.07, latitude, 187, elevation_m=100) == pytest.approx(3.88, abs=0.005)


@pytest.mark.parametrize(("wind", "expected"), [(2, 4.56), (1, 4.2), (3, 4.8)])
def test_example_20_lyon_from_temperature_alone(wind, expected):
    """FAO-56 example 20: July near Lyon, 14.8 to 26.6 degrees C; dew point and sun estimated, wind assumed."""
    latitude = LATITUDES["Lyon"]
    vapour = air.saturation_pressure(14.8)
    assert vapour == pytest.approx(1.68, abs=0.005)
    et0 = water.et0(14.8, 26.6, vapour, wind, 22.29, latitude, 196, elevation_m=200)
    assert et0 == pytest.approx(expected, abs=0.006 if wind == 2 else 0.05)


def test_example_20_by_hargreaves():
    """FAO-56 example 20, last line: the Hargreaves equation gives 5.0 mm a day."""
    assert water.et0_from_temperature(14.8, 26.6, LATITUDES["Lyon"], 196) == pytest.approx(5.0, abs=0.05)


# FAO-56 Table 12: initial, mid, end; read in the original and in two copies.
POME_AND_CHERRY = [
    (False, True, 0.45, 0.95, 0.70),
    (False, False, 0.60, 0.95, 0.75),
    (True, True, 0.50, 1.20, 0.95),
    (True, False, 0.80, 1.20, 0.85),
]
STONE = [
    (False, True, 0.45, 0.90, 0.65),
    (False, False, 0.55, 0.90, 0.65),
    (True, True, 0.50, 1.15, 0.90),
    (True, False, 0.80, 1.15, 0.85),
]
COEFFICIENTS = [
    (fruit, *row)
    for fruits, rows in [
        (("apple", "pear", "sweet-cherry", "tart-cherry"), POME_AND_CHERRY),
        (("apricot", "peach", "nectarine", "plum"), STONE),
    ]
    for fruit in fruits
    for row in rows
]


@pytest.mark.parametrize(("fruit", "cover", "frost", "initial", "mid", "end"), COEFFICIENTS)
def test_crop_coefficients(fruit, cover, frost, initial, mid, end):
    """FAO-56 Table 12."""
    assert water.crop_coefficient(fruit, "initial", cover, frost) == initial
    assert water.crop_coefficient(fruit, "mid", cover, frost) == mid
    assert water.crop_coefficient(fruit, "end", cover, frost) == end


# FAO-56 Table 17, the same without evaporation from the soil.
BASAL = [
    ("apple", False, True, 0.90, 0.65), ("apple", False, False, 0.90, 0.70), ("apple", True, True, 1.15, 0.90),
    ("apple", True, False, 1.15, 0.80), ("peach", False, True, 0.85, 0.60), ("peach", False, False, 0.85, 0.60),
    ("peach", True, True, 1.10, 0.85), ("peach", True, False, 1.10, 0.80),
]  # fmt: skip


@pytest.mark.parametrize(("fruit", "cover", "frost", "mid", "end"), BASAL)
def test_mulch_takes_half_of_the_soil_evaporation_at_full_cover(fruit, cover, frost, mid, end):
    """FAO-56 chapter 10 with Tables 12 and 17: a twentieth for each tenth of ground under organic mulch."""
    for period, basal in (("mid", mid), ("end", end)):
        whole = water.crop_coefficient(fruit, period, cover, frost)
        assert water.mulched_coefficient(fruit, period, cover, frost, 1) == pytest.approx((whole + basal) / 2)


def test_half_a_floor_of_mulch_takes_a_quarter_in_the_initial_period():
    """FAO-56 chapter 10: with half the ground covered the initial coefficient falls by about 25 %."""
    assert water.mulched_coefficient("apple", "initial", False, True, 0.5) == pytest.approx(0.45 * 0.75)


@pytest.mark.parametrize(("cover", "kc"), [(False, 0.20), (True, 0.80)])
def test_coefficient_after_leaf_fall(cover, kc):
    """FAO-56 Table 12, footnote 18: 0.20 bare and dry; 0.50 to 0.80 with growing cover, of which the thirstier end."""
    assert water.coefficient_after_leaf_fall(cover) == kc


@pytest.mark.parametrize(
    ("texture", "least", "most"),
    [("sand", 0.05, 0.11), ("loamy-sand", 0.06, 0.12), ("sandy-loam", 0.11, 0.15), ("loam", 0.13, 0.18),
     ("silt-loam", 0.13, 0.19), ("silt", 0.16, 0.20), ("silty-clay-loam", 0.13, 0.18), ("silty-clay", 0.13, 0.19),
     ("clay", 0.12, 0.20)],
)  # fmt: skip
def test_available_water(texture, least, most):
    """FAO-56 Table 19, field capacity less wilting point."""
    assert water.AVAILABLE[texture] == pytest.approx((least * 1000, most * 1000))


@pytest.mark.parametrize(
    ("texture", "inches_a_foot", "mm_a_metre"),
    [("coarse-sand", 0.46, 38), ("sand", 0.62, 52), ("fine-sand", 0.70, 58), ("loamy-sand", 0.72, 60),
     ("sandy-loam", 0.77, 64), ("fine-sandy-loam", 0.95, 79)],
)  # fmt: skip
def test_usable_water(texture, inches_a_foot, mm_a_metre):
    """Washington State University, Soil Water Holding: half of what is available."""
    assert water.usable_water(texture, 0.3048) / 25.4 == pytest.approx(inches_a_foot)
    assert water.usable_water(texture, 1.0) == pytest.approx(mm_a_metre, abs=0.7)


def test_sandy_loam_lasts_a_week_in_july():
    """Washington State University: sandy loam, 3 feet of roots hold 2.31 inches; at 0.32 inches a day 7 days."""
    usable = water.usable_water("sandy-loam", 3 * 0.3048)
    assert usable / 25.4 == pytest.approx(2.31, abs=0.011)
    assert int(water.days_between(usable, 0.32 * 25.4)) == 7


def test_overhead_water_for_a_july_week():
    """Washington State University, table by Smith: 0.32 inches a day is 2.24 a week; at 75 % efficiency 2.99 gross."""
    net = 7 * 0.32 * 25.4
    assert water.need(net, 1) / 25.4 == pytest.approx(2.24)
    assert water.need(net, 1, efficiency=0.75) / 25.4 == pytest.approx(2.99, abs=0.005)


GALLON = 3.785411784
SQUARE_FOOT, ACRE = 0.09290304, 4046.8564224


def test_gallons_for_a_young_tree():
    """Vossen, University of California: 10 square feet at 0.20 inches a day take 1.25 gallons, on drip times 2.5."""
    gallons = water.litres(10 * SQUARE_FOOT, 0.20 * 25.4) / GALLON
    assert gallons == pytest.approx(1.25, abs=0.005)
    assert gallons * 2.5 == pytest.approx(3.1, abs=0.05)


@pytest.mark.parametrize(("inches", "gallons"), [(0.5, 13577), (1.0, 27154), (1.5, 40731), (2.0, 54308)])
def test_gallons_on_an_acre(inches, gallons):
    """Sacramento Valley Orchards, University of California."""
    assert water.litres(ACRE, inches * 25.4) / GALLON == pytest.approx(gallons, abs=1)
