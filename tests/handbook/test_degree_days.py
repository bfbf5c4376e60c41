"""Published degree-day examples, and reference values computed from the published definitions."""

import pytest

from advisor.science.degree_days import degree_days


@pytest.mark.parametrize(
    ("low", "high", "base", "upper", "method", "expected"),
    [
        # University of California IPM, degree-day explanation: a mean of 64 degrees F above 53.
        pytest.param(54, 74, 53, None, "average", 11, id="California: mean 64"),
        # Colorado garden column, Durango Herald: 80 and 40 above 50.
        pytest.param(40, 80, 50, None, "average", 10, id="Colorado: 40 and 80"),
        # Purdue University, Facts for Fancy Fruit, codling moth: a mean of 51 above 50.
        pytest.param(40, 62, 50, None, "average", 1, id="Purdue: mean 51"),
        # Norton 2007: 85 and 52, thresholds 50 and 86.
        pytest.param(52, 85, 50, 86, "clipped", 18.5, id="Norton: 52 and 85"),
        # Garden guide, modified method, thresholds 50 and 88: three days.
        pytest.param(48, 72, 50, 88, "clipped", 11, id="modified: 48 and 72"),
        pytest.param(52, 80, 50, 88, "clipped", 16, id="modified: 52 and 80"),
        pytest.param(55, 91, 50, 88, "clipped", 21.5, id="modified: 91 counts as 88"),
        # Purdue University: a low below 50 counts as 50, a high above 85 as 85.
        pytest.param(45, 95, 50, 85, "clipped", 17.5, id="Purdue: both ends clipped"),
    ],
)
def test_published_examples(low, high, base, upper, method, expected):
    assert degree_days(low, high, base, upper, method=method) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("low", "high", "base", "upper", "average", "clipped", "triangle", "sine"),
    [  # computed from the definitions, not published results; horizontal cutoff
        (45, 75, 50, 88, 10.0, 12.5, 10.417, 10.882),
        (40, 80, 50, 88, 10.0, 15.0, 11.250, 12.180),
        (48, 72, 50, 88, 10.0, 11.0, 10.083, 10.247),
        (52, 85, 50, 86, 18.5, 18.5, 18.500, 18.500),
        (60, 80, 50, 88, 20.0, 20.0, 20.000, 20.000),
        (38, 58, 50, 88, 0, 4.0, 1.600, 2.247),
        (40, 60, 50, 88, 0, 5.0, 2.500, 3.183),
        (55, 95, 50, 88, 25.0, 21.5, 24.387, 23.734),
        (70, 100, 50, 88, 35.0, 29.0, 32.600, 31.630),
        (42, 70, 45, 90, 11.0, 12.5, 11.161, 11.421),
        (38, 64, 43, None, 8.0, 10.5, 8.481, 8.950),
        (30, 48, 50, 88, 0, 0, 0, 0),
    ],
)
def test_computed_reference_values(low, high, base, upper, average, clipped, triangle, sine):
    expected = {"average": average, "clipped": clipped, "triangle": triangle, "sine": sine}
    for method, value in expected.items():
        assert degree_days(low, high, base, upper, method=method) == pytest.approx(value, abs=0.0006)


def test_above_the_base_the_sine_is_the_plain_mean_and_below_it_nothing():
    """Snyder 2001, University of California, Davis, after Zalom et al. 1983."""
    assert degree_days(52, 70, 50) == pytest.approx(11)
    assert degree_days(30, 49, 50) == 0


def test_clipping_low_and_high_gives_more_than_clipping_the_mean_only_when_the_low_is_below():
    """McMaster and Wilhelm 1997, Agricultural and Forest Meteorology 87:291-300."""
    assert degree_days(-4, 10, 0, method="clipped") > degree_days(-4, 10, 0, method="average")
    assert degree_days(2, 10, 0, method="clipped") == degree_days(2, 10, 0, method="average")
