"""Cherry leaf spot against the Quebec growers' sheet."""

import numpy as np
import pytest

from advisor.science import cherry_leaf_spot

# Cultur'Innov and the Quebec ministry of agriculture (MAPAQ), March 2017, all rows: degrees C (from, to), wet hours.
QUEBEC = [
    (7.8, 7.8, 28), (8.3, 8.3, 25), (8.9, 8.9, 23), (9.4, 9.4, 20), (10.0, 10.0, 19), (10.6, 10.6, 17),
    (11.1, 11.1, 15), (11.7, 11.7, 14), (12.2, 12.2, 12), (12.8, 12.8, 11), (13.3, 13.3, 10), (13.9, 13.9, 9),
    (14.4, 14.4, 8), (15.0, 15.6, 7), (16.1, 16.7, 6), (17.2, 20.0, 5), (20.6, 21.1, 6), (21.7, 22.2, 7),
    (22.8, 22.8, 8), (23.3, 23.3, 9), (23.9, 23.9, 11), (24.4, 24.4, 12), (25.0, 25.0, 14), (25.5, 25.5, 16),
    (26.1, 26.1, 18), (26.7, 26.7, 21), (27.2, 27.2, 28),
]  # fmt: skip


@pytest.mark.parametrize(("low", "high", "hours"), QUEBEC)
def test_quebec_table(low, high, hours):
    for temp in (low, (low + high) / 2, high):
        assert cherry_leaf_spot.hours_to_infect(temp) == pytest.approx(hours)


def test_between_rows_and_outside():
    assert cherry_leaf_spot.hours_to_infect(10.3) == pytest.approx(18)
    assert cherry_leaf_spot.hours_to_infect(7.7) is None
    assert cherry_leaf_spot.hours_to_infect(27.3) is None
    hours = cherry_leaf_spot.hours_to_infect(np.array([5.0, 18.0, np.nan]))
    assert hours[1] == 5
    assert np.isnan(hours[[0, 2]]).all()


def test_warmest_months_of_release_need_few_hours():
    # Michigan State University: ascospores fly most at 16 to 29 degrees C, least at 5 to 8.
    assert cherry_leaf_spot.hours_to_infect(18) < cherry_leaf_spot.hours_to_infect(8)


def test_none_is_no_temperature():
    with pytest.raises(ValueError, match="must be a number"):
        cherry_leaf_spot.hours_to_infect(None)
