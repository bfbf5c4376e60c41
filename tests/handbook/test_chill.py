"""Published chill bands and reference values computed from the published rules and constants."""

import numpy as np
import pytest

from advisor.science.chill import chill_hours, chill_portions, growing_degree_hours, utah_units


@pytest.mark.parametrize(("temp_c", "counts"), [(-0.1, 0), (0, 1), (3, 1), (7.2, 1), (7.3, 0)])
def test_chill_hours_count_from_freezing_to_45_f(temp_c, counts):
    """Usual definition: 0 to 7.2 degrees C (32 to 45 degrees F), both included."""
    assert chill_hours([temp_c]) == counts


@pytest.mark.parametrize(
    ("temp_c", "units"),
    [
        (1.4, 0), (1.5, 0.5), (2.4, 0.5), (2.5, 1), (9.1, 1), (9.2, 0.5), (12.4, 0.5), (12.5, 0), (15.9, 0),
        (16.0, -0.5), (18.0, -0.5), (18.1, -1), (-10, 0), (30, -1),
    ],
)  # fmt: skip
def test_utah_bands(temp_c, units):
    """Richardson, Seeley and Walker 1974, HortScience 9:331-332; the degree C bands from memory."""
    assert utah_units([temp_c]) == units


@pytest.mark.parametrize(
    ("middle_f", "units"), [(33, 0), (35, 0.5), (42, 1), (51, 0.5), (57, 0), (62, -0.5), (70, -1)]
)
def test_utah_bands_in_degrees_f(middle_f, units):
    """The same bands in degrees F: up to 34, 36, 48, 54, 60, 65 and above. The middles of the bands must agree."""
    assert utah_units([(middle_f - 32) / 1.8]) == units


@pytest.mark.parametrize(
    ("temp_c", "hours", "portions", "first"),
    [  # computed from the constants of Erez et al. 1990 and the step list, start without intermediate product
        (6, 24, 0.0000, None),
        (6, 48, 0.9805, 29),
        (6, 100, 2.9349, 29),
        (6, 240, 7.8207, 29),
        (6, 720, 24.4326, 29),
        (8, 240, 8.1332, 29),
        (4, 240, 6.5821, 30),
        (0, 240, 0.7743, 34),
        (10, 240, 7.0953, 31),
        (12, 240, 6.0004, 39),
        (14, 240, 0.0000, None),
    ],
)
def test_computed_chill_portions_at_constant_temperature(temp_c, hours, portions, first):
    assert chill_portions(np.full(hours, float(temp_c))) == pytest.approx(portions, abs=0.00006)
    if first is not None:
        assert chill_portions(np.full(first - 1, float(temp_c))) == 0
        assert chill_portions(np.full(first, float(temp_c))) > 0


def test_computed_chill_portions_of_warm_and_cool_hours_in_turn():
    """Computed: warm days at 15 degrees slow the portions down, at 24 degrees they undo them."""
    assert chill_portions(([6.0] * 16 + [15.0] * 8) * 10) == pytest.approx(6.8151, abs=0.00006)
    assert chill_portions(([6.0] * 16 + [15.0] * 8)[:33] + [15.0] * 0) == 0
    assert chill_portions(([6.0] * 16 + [24.0] * 8) * 10) == 0


COOL = [3, 2, 2, 1, 1, 0, -1, -1, 1, 3, 5, 8, 10, 12, 13, 13, 12, 10, 8, 7, 6, 5, 4, 4]
MILD = [6, 5, 5, 4, 4, 4, 5, 7, 10, 13, 16, 18, 19, 20, 20, 19, 17, 14, 12, 10, 9, 8, 7, 7]


@pytest.mark.parametrize(("day", "hours", "units"), [(COOL, 14, 13.0), (MILD, 10, 8.0)], ids=["cool", "mild"])
def test_computed_days(day, hours, units):
    assert chill_hours(day) == hours
    assert utah_units(day) == units


@pytest.mark.parametrize(
    ("temp_c", "heat"),
    [
        (3, 0), (4, 0), (5, 0.117), (10, 3.953), (14.5, 10.5), (15, 11.285), (20, 18.197), (25, 21.0), (30, 7.248),
        (33, 1.898), (36, 0), (37, 0),
    ],
)  # fmt: skip
def test_computed_growing_degree_hours(temp_c, heat):
    """Computed with the constants 4, 25 and 36 degrees C of Anderson, Richardson and Kesner 1986."""
    assert growing_degree_hours([temp_c]) == pytest.approx(heat, abs=0.0006)


def test_computed_growing_degree_hours_of_a_day_at_15():
    assert growing_degree_hours([15.0] * 24) == pytest.approx(270.83, abs=0.006)
