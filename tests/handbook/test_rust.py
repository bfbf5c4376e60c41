"""Cedar-apple rust against Aldwinckle, Pearson and Seem 1980 and infection periods named by Virginia Tech."""

import numpy as np
import pytest

from advisor.science import rust

# Aldwinckle H.S., Pearson R.C., Seem R.C. 1980, Phytopathology 70:1070-1073. Only the ends (2 and 24 degrees C, light)
# were read there; 4 to 22 degrees C are from memory and stand here to hold them fixed.
TABLE_FROM_MEMORY = [
    (2, 24, None), (4, 12, 24), (6, 8, 10), (8, 6, 7), (10, 5, 6), (12, 4, 5), (14, 3, 5), (16, 3, 5), (18, 3, 4),
    (20, 3, 4), (22, 2, 4), (24, 2, 4),
]  # fmt: skip


def test_the_ends_as_read():
    assert rust.hours_to_infect(2) == 24
    assert rust.hours_to_infect(24) == 2


def test_the_ranges_as_read():
    # Same paper: from 10 to 24 degrees C light infection takes 2 to 5 h, severe 4 to 6 h.
    temps = np.linspace(10, 24, 141)
    light, severe = rust.hours_to_infect(temps), rust.hours_to_infect(temps, "severe")
    assert (light.min(), light.max()) == (2, 5)
    assert (severe.min(), severe.max()) == (4, 6)


@pytest.mark.parametrize(("temp", "light", "severe"), TABLE_FROM_MEMORY)
def test_table_from_memory(temp, light, severe):
    assert rust.hours_to_infect(temp) == light
    assert rust.hours_to_infect(temp, "severe") == severe


# Yoder K., Virginia Tech, seasonal notes of 2010, 2011 and 2019: wettings named as rust infection periods.
@pytest.mark.parametrize(("hours", "temp"), [(14, 17), (14, 18), (17, 18), (22, 15.6)])
def test_virginia_infection_periods(hours, temp):
    assert rust.severity(temp, hours) == "severe"


@pytest.mark.parametrize("temp", [12, 9.4])
def test_virginia_long_and_cool_is_likely(temp):
    # Same notes: 27 h at 12 falling to 9.4 degrees C, "likely but cool".
    assert rust.hours_to_infect(temp) < 27


def test_hot_end():
    # From memory: no infection above 24 to 26 degrees C; up to 26 as at 24.
    assert rust.hours_to_infect(25) == 2
    assert rust.hours_to_infect(26, "severe") == 4
    assert rust.hours_to_infect(26.1) is None
    assert rust.severity(27, 48) == "none"


def test_cold_end():
    assert rust.hours_to_infect(1.9) is None
    assert rust.hours_to_infect(3, "severe") is None
    assert rust.severity(1, 48) is None
    assert rust.severity(3, 48) == "light"
    assert rust.severity(10, 4.9) == "none"


def test_arrays_and_unknown():
    hours = rust.hours_to_infect(np.array([1.0, 3.0, np.nan, 30.0]))
    assert hours.tolist()[1] == 18
    assert np.isnan(hours[[0, 2, 3]]).all()
    assert np.isnan(rust.hours_to_infect(float("nan")))
    assert rust.severity(float("nan"), 5) is None


def test_meaningless_arguments():
    with pytest.raises(ValueError, match="light and severe"):
        rust.hours_to_infect(10, "moderate")
    with pytest.raises(ValueError, match="temperature must be a number"):
        rust.hours_to_infect(None)


@pytest.mark.parametrize(
    ("hours", "temp", "likely"),
    [(49, 10.1, True), (72, 18, True), (48, 18, False), (30, 18, False), (60, 10, False), (60, 6, False)],
)
def test_quince_rust_wants_two_warm_wet_days(hours, temp, likely):
    """Cornell University, fact sheet quince rust: a wet period of more than 48 hours, above 10 degrees C (50 F)."""
    assert rust.quince_rust_favoured(temp, hours) is likely
    assert rust.quince_rust_favoured(float("nan"), hours) is None
