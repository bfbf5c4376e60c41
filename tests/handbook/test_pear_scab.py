"""Pear scab against Villalta et al. 1999/2000 and the University of California."""

import numpy as np
import pytest

from advisor.science import pear_scab

# Villalta O. et al. 1999/2000, Australian Journal of Agricultural Research 51:97-106: degrees C; hours for ascospores;
# hours for conidia (2 h more at 4, 8 and 10 degrees C, similar from 12 up: derived from that sentence).
VILLALTA = [(4, 27, 29), (8, 15, 17), (10, 13, 15), (12, 11, 11), (15, 10, 10), (20, 9, 9), (25, 9, 9)]


@pytest.mark.parametrize(("temp", "ascospores", "conidia"), VILLALTA)
def test_villalta_table(temp, ascospores, conidia):
    assert pear_scab.hours_to_infect(temp) == ascospores
    assert pear_scab.hours_to_infect(temp, spores="conidia") == conidia


def test_conidia_never_need_less_than_ascospores():
    temps = np.linspace(4, 25, 200)
    assert np.all(pear_scab.hours_to_infect(temps, "conidia") >= pear_scab.hours_to_infect(temps))


def test_california_nine_hours_at_the_quickest():
    # University of California: quickest at 13 to 24 degrees C, with at least 9 h wet.
    temps = np.linspace(13, 24, 50)
    hours = pear_scab.hours_to_infect(temps)
    assert hours.min() == 9
    assert hours.max() < pear_scab.hours_to_infect(12)


def test_best_at_twenty():
    # Villalta et al.: best at 20 degrees C.
    assert pear_scab.hours_to_infect(20) == min(pear_scab.hours_to_infect(t) for t, *_ in VILLALTA)


def test_outside_the_table():
    assert pear_scab.hours_to_infect(3.9) is None
    assert pear_scab.hours_to_infect(25.1) is None
    hours = pear_scab.hours_to_infect(np.array([[3.0, 4.0], [9.0, np.nan]]))
    assert hours.shape == (2, 2)
    assert np.isnan(hours[0, 0])
    assert hours[1, 0] == 14  # linear between 15 h at 8 and 13 h at 10
    assert np.isnan(hours[1, 1])
    assert np.isnan(pear_scab.hours_to_infect(float("nan")))


@pytest.mark.parametrize(
    ("heat", "stands"),
    [(0, "not yet"), (6, "first half"), (443, "first half"), (444, "second half"), (900, "over"), (float("nan"), None)],
)
def test_season_steps_from_a_restatement_of_spotts(heat, stands):
    # Spotts, read in a restatement: 10, 800 and 1,620 degree-days F are 6, 444 and 900 C.
    assert pear_scab.season(heat) == stands


def test_fahrenheit_steps_convert():
    assert [round(f / 1.8) for f in (10, 800, 1620)] == [6, 444, 900]


def test_meaningless_arguments():
    with pytest.raises(ValueError, match="ascospores and conidia"):
        pear_scab.hours_to_infect(10, "spores")
    with pytest.raises(ValueError, match="must be a number"):
        pear_scab.hours_to_infect(None)
