"""Published figures on wet bulbs, sprinklers and the orchard floor on frost nights."""

import pytest

from advisor.science import air, frost_protection


def celsius(degrees_f):
    return (degrees_f - 32) / 1.8


@pytest.mark.parametrize(("temp_f", "dew_f"), [(32, 23), (35, 26), (30, 24), (34, 28), (28, 22)])
def test_wet_bulb_is_a_third_of_the_way_to_the_dew_point(temp_f, dew_f):
    """Knox, Nevius and Knox 2017, Bull. Amer. Meteor. Soc.: near freezing the wet bulb stands a third of the way down
    from temperature to dew point (their example: 32 and 23 degrees F give 29)."""
    wet_f = temp_f - (temp_f - dew_f) / 3
    air_f = air.temperature_for_wet_bulb(celsius(wet_f), celsius(dew_f)) * 1.8 + 32
    assert air_f == pytest.approx(temp_f, abs=0.75)


def test_the_example_of_the_one_third_rule():
    """Knox, Nevius and Knox 2017."""
    assert air.temperature_for_wet_bulb(celsius(29), celsius(23)) * 1.8 + 32 == pytest.approx(32, abs=0.3)


def test_psychrometer():
    """FAO-56 example 4 (from memory): 25.6 and 19.5 degrees C at 1,200 m are 1.91 kPa, the pressure at a dew point of
    16.8 degrees C (equation 11)."""
    dew = 16.8
    assert air.saturation_pressure(dew) == pytest.approx(1.91, abs=0.005)
    assert air.temperature_for_wet_bulb(19.5, dew, 1200) == pytest.approx(25.6, abs=0.1)


def test_water_may_stop_at_the_temperature_at_which_it_starts():
    """University of Florida after Harrison, Gerber and Choate, IFAS Circular 348: a wet bulb of 32 degrees F is safe;
    low humidity puts the wet bulb 5 to 6 degrees F below the air."""
    assert frost_protection.start_temperature(0, celsius(22)) * 1.8 + 32 == pytest.approx(32 + 5.5, abs=0.6)


@pytest.mark.parametrize(
    ("low_f", "calm", "light", "windy"),
    [(27, 0.10, 0.10, 0.10), (26, 0.10, 0.10, 0.14), (24, 0.10, 0.16, 0.30), (22, 0.12, 0.24, 0.50),
     (20, 0.16, 0.30, 0.60), (18, 0.20, 0.40, 0.70), (15, 0.26, 0.50, 0.90), (11, 0.34, 0.70, None)],
)  # fmt: skip
def test_sprinkling_rates(low_f, calm, light, windy):
    """Gerber and Harrison 1964, inches an hour by wind to 1, 4 and 8 miles an hour (from memory)."""
    for wind_mph, inches in ((1, calm), (4, light), (8, windy)):
        rate = frost_protection.least_rate(celsius(low_f), wind_mph * 0.44704)
        assert rate == (None if inches is None else pytest.approx(inches * 25.4))
