"""Water and heat against two published libraries, where they are installed.

pyfao56 (United States Department of Agriculture; ASCE 2005 standardized equation, whose constants differ from FAO-56 in
the fourth digit) and agrometeorologiapy (Federal University of Technology Parana; FAO-56).
"""

import itertools

import numpy as np
import pytest

from advisor.science import air, degree_days, water

DAYS = list(
    itertools.product(
        [(-2.0, 9.0), (8.0, 21.0), (14.0, 31.0)],  # low and high
        [0.3, 2.0, 5.5],  # wind
        [8.0, 17.0, 24.0],  # sun
        [(-38.0, 20, 150.0), (42.4, 187, 250.0), (50.8, 105, 0.0)],  # latitude, day, elevation
    )
)


@pytest.mark.parametrize(("temps", "wind", "solar", "place"), DAYS)
def test_reference_evapotranspiration_agrees_within_one_percent(temps, wind, solar, place):
    refet = pytest.importorskip("pyfao56.refet")
    (low, high), (latitude, day, elevation) = temps, place
    vapour = air.saturation_pressure(low - 1)
    theirs = refet.ascedaily("S", elevation, latitude, day, solar, high, low, vapr=vapour, wndsp=wind)
    ours = water.et0(low, high, vapour, wind, solar, latitude, day, elevation)
    assert ours == pytest.approx(theirs, rel=0.01, abs=0.01)


@pytest.mark.parametrize("temp_c", [-15.0, -2.0, 0.0, 7.5, 16.9, 31.0])
def test_moist_air_agrees(temp_c):
    library = pytest.importorskip("agrometeorologiapy.en")
    assert air.saturation_pressure(temp_c) == pytest.approx(library.saturation_vapour_pressure(temp_c), rel=1e-3)
    vapour = 0.7 * air.saturation_pressure(temp_c)
    assert air.dew_point(temp_c, 70) == pytest.approx(library.dewpoint_temperature(vapour), abs=0.05)


@pytest.mark.parametrize("elevation", [0.0, 250.0, 1200.0])
def test_pressure_agrees(elevation):
    library = pytest.importorskip("agrometeorologiapy.en")
    assert air.pressure(elevation) == pytest.approx(library.atmospheric_pressure(elevation), rel=1e-3)


@pytest.mark.parametrize(("low", "high"), [(-2.0, 9.0), (8.0, 21.0), (14.0, 31.0)])
@pytest.mark.parametrize(("latitude", "day"), [(-38.0, 20), (42.4, 187), (50.8, 105)])
def test_temperature_method_agrees(low, high, latitude, day):
    """The library's solar angle is a little simpler, so the sky radiation is ours and only the method is compared."""
    library = pytest.importorskip("agrometeorologiapy.en")
    sky = water.extraterrestrial_radiation(latitude, day)
    theirs = library.pet_hargreaves_samani(sky, high, low, (high + low) / 2)
    assert water.et0_from_temperature(low, high, latitude, day) == pytest.approx(theirs, rel=1e-9)
    tilt = library.solar_declination(day)
    their_sky = library.extraterrestrial_radiation(
        latitude, tilt, library.sunset_hour_angle(latitude, tilt), library.inverse_relative_distance(day)
    )
    assert sky == pytest.approx(their_sky, rel=0.03)


def test_running_degree_days_agree():
    """The library counts the single triangle without an upper threshold, rounded to hundredths."""
    library = pytest.importorskip("agrometeorologiapy.en")
    pandas = pytest.importorskip("pandas")
    rng = np.random.default_rng(7)
    low = rng.uniform(2, 14, 28).round(1)
    high = (low + rng.uniform(9, 16, 28)).round(1)
    table = pandas.DataFrame(
        {"day": range(1, 29), "month": 5, "Tmean": (low + high) / 2, "Tmax": high, "Tmin": low}
    )
    ours = degree_days.degree_days(low, high, 10, method="triangle")
    theirs = library.maturity_date(table, 10, ours.sum() - 0.5, 1, 5, verbose=False)
    assert len(theirs) == 28
    np.testing.assert_allclose(ours, theirs["GDD"], atol=0.0051)
    np.testing.assert_allclose(ours.cumsum(), theirs["GDD_cycle"], atol=0.0051)
