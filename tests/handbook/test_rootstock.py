"""Size classes, stocks and trees on an area against extension and nursery tables."""

import numpy as np
import pytest

from advisor.science import rootstock

FOOT, ACRE = 0.3048, 0.40468564  # m, ha


# Spacing in feet, trees an acre that the spacing gives, and what Hoover and Marini print beside it.
@pytest.mark.parametrize(
    ("row", "tree", "computed", "printed"),
    [
        (40, 40, 27, 40),  # printed slip
        (22, 16, 124, 132),  # printed slip
        (20, 14, 156, 173),  # printed slip
        (26, 20, 84, 84),
        (14, 4, 778, 778),
        (14, 2, 1556, 1556),
    ],
)
def test_trees_an_acre_are_computed_not_copied(row, tree, computed, printed):
    assert round(rootstock.trees_per_hectare(row * FOOT, tree * FOOT) * ACRE) == computed
    assert rootstock.PRINTED_TREES_PER_ACRE[row, tree] == printed


def test_trees_a_hectare():
    assert rootstock.trees_per_hectare(6, 5) == pytest.approx(10_000 / 30)


# Hoover and Marini; Arizona: share of a seedling %, height ft, years to bearing, bushels, life in years.
@pytest.mark.parametrize(
    ("size", "share", "feet", "bears", "bushels", "kg", "life"),
    [
        ("standard", (100, 100), (24, 30), (6, 10), 8, 152, (35, 45)),
        ("semi-dwarf", (60, 90), (14, 22), (4, 6), 4, 76, (20, 25)),
        ("dwarf", (25, 60), (6, 12), (2, 3), 1, 19, (15, 20)),
    ],
)
def test_size_classes(size, share, feet, bears, bushels, kg, life):
    row = rootstock.CLASSES[size]
    assert tuple(100 * end for end in row.share) == pytest.approx(share)
    assert row.height_m == pytest.approx(tuple(0.3048 * end for end in feet), abs=0.06)
    assert row.bears_years == bears
    assert row.life_years == life
    assert row.bushels == bushels
    assert rootstock.expected_yield(size) == pytest.approx((kg, kg), abs=0.5)


# Future Forests; Harley; Gardeners' World 2017. M.9 spacing and yield and M.25 spacing from memory.
@pytest.mark.parametrize(
    ("name", "height", "spacing", "first", "yields"),
    [
        ("M.27", (1.8, 2.4), 2.4, 2, (7, 12)),
        ("M.9", (2.5, 3.0), 3.0, 2, (15, 25)),
        ("M.26", (3.0, 3.7), 4.6, 3, (30, 35)),
        ("MM.106", (4.0, 5.5), 6.1, 3, (40, 50)),
        ("MM.111", (5.5, 7.6), 7.6, 6, (75, 160)),
        ("M.25", (4.0, 7.5), 8.0, 6, (0, 180)),
    ],
)
def test_named_stocks(name, height, spacing, first, yields):
    row = rootstock.stock(name)
    assert row.height_m == height
    assert row.spacing_m == spacing
    assert row.bears_years[0] == first
    assert rootstock.expected_yield(name) == yields
    assert rootstock.stock(name.lower().replace(".", "")) is row


def test_classes_of_stocks():
    assert rootstock.size_class("M9") == "dwarf"
    assert rootstock.size_class("MM.111") == "semi-dwarf"
    assert rootstock.size_class("mm 106") == "semi-dwarf"
    assert rootstock.size_class("seedling") == "standard"
    assert rootstock.size_class("semi-dwarf") == "semi-dwarf"
    assert rootstock.size_class("unheard of") is None
    assert rootstock.stock("unheard of") is None


def test_yield_by_age():
    assert rootstock.expected_yield("M.26", 1) == (0, 0)
    assert rootstock.expected_yield("M.26", 4) == (0, 35)
    assert rootstock.expected_yield("M.26", 12) == (30, 35)
    assert rootstock.expected_yield("seedling", 30) == pytest.approx((152.4, 152.4))
    assert rootstock.expected_yield("unheard of") is None


def test_spacing_must_make_sense():
    with pytest.raises(ValueError, match="above 0"):
        rootstock.trees_per_hectare(0, 5)
    with pytest.raises(ValueError, match="number"):
        rootstock.trees_per_hectare(None, 5)
    counts = rootstock.trees_per_hectare(np.array([5.0, np.nan]), 4)
    assert counts[0] == 500
    assert np.isnan(counts[1])
