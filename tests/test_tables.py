"""Reading numbers and published tables."""

import numpy as np
import pytest

from advisor.science.tables import as_numbers, give, read, stepped, truth


@pytest.mark.parametrize("value", [None, "3", [1.0, None], object(), ["a"]])
def test_what_is_no_number_is_refused_with_a_sentence(value):
    with pytest.raises(ValueError, match=r"The depth must be a number or an array of numbers, not .*\."):
        as_numbers(value, "The depth")


def test_numbers_give_numbers_and_arrays_arrays():
    assert read(1.5, [1, 2], [10, 20]) == 15
    assert isinstance(read(1.5, [1, 2], [10, 20]), float)
    assert read(np.array([[1.0, 2.0], [1.5, 3.0]]), [1, 2], [10, 20])[0].tolist() == [10, 20]


def test_beyond_the_table_is_none_or_nan_and_nan_stays_nan():
    assert read(0.99, [1, 2], [10, 20]) is None
    assert read(2.01, [1, 2], [10, 20]) is None
    assert np.isnan(read(float("nan"), [1, 2], [10, 20]))
    np.testing.assert_array_equal(read([0.5, 1, np.nan], [1, 2], [10, 20]), [np.nan, 10, np.nan])


def test_ranges_are_flat_and_the_smaller_figure_holds_where_they_touch():
    rows, figures = stepped([(0, 0, 5), (10, 20, 3), (20, 30, 4), (30, 30, 9), (31, 31, 10)])
    got = {at: read(at, rows, figures) for at in (0, 5, 10, 15, 20, 20.1, 25, 30, 30.5, 31)}
    assert got == pytest.approx(
        {0: 5, 5: 4, 10: 3, 15: 3, 20: 3, 20.1: 4, 25: 4, 30: 4, 30.5: 7, 31: 10}
    )


def test_truth_and_give_for_numbers_and_arrays():
    assert truth(np.bool_(True)) is True
    assert truth(True, unknown=True) is None
    assert truth([True, False], [False, True]).tolist() == [True, None]
    assert truth([True, False]).dtype == bool
    assert give(2) == 2.0
    assert give(2, outside=True) is None
