"""Peach leaf curl against Rossi et al. 2006 and 2007."""

import numpy as np
import pytest

from advisor.science import leaf_curl

# Rossi V. et al. 2006, Phytopathology 96:155-163, shoots: 3 mm of rain, 12.5 wet hours, below 16 degrees C while wet.
SHOOTS = [
    (3, 12.5, 8, True),
    (2.9, 12.5, 8, False),
    (3, 12.4, 8, False),
    (3, 12.5, 15.9, True),
    (3, 12.5, 16, False),
    (0, 20, 8, False),  # dew or fog alone is too short and brings no rain
    (30, 48, 6, True),
]
# Rossi V., Bolognesi M., Giosue S. 2007, Phytopathology 97:1625-1633, fruit: 12 mm, 24 h, below 17 degrees C.
FRUIT = [(12, 24, 16.9, True), (11.9, 24, 16.9, False), (12, 23.9, 16.9, False), (12, 24, 17, False)]


@pytest.mark.parametrize(("rain", "wet", "mean", "infected"), SHOOTS)
def test_shoots(rain, wet, mean, infected):
    assert leaf_curl.infects(rain, wet, mean) is infected


@pytest.mark.parametrize(("rain", "wet", "mean", "infected"), FRUIT)
def test_fruit(rain, wet, mean, infected):
    assert leaf_curl.infects_fruit(rain, wet, mean) is infected


def test_incubation():
    # Rossi et al. 2006: incubation below 19 degrees C.
    assert leaf_curl.incubation_goes_on(18.9) is True
    assert leaf_curl.incubation_goes_on(19) is False
    assert leaf_curl.incubation_goes_on(float("nan")) is None


def test_unknown_gives_none():
    for wetting in ((float("nan"), 20, 8), (5, float("nan"), 8), (5, 20, float("nan"))):
        assert leaf_curl.infects(*wetting) is None
        assert leaf_curl.infects_fruit(*wetting) is None


def test_arrays():
    rain, wet, mean = np.array([5.0, 1.0]), np.array([20.0, 20.0]), np.array([8.0, 8.0])
    assert leaf_curl.infects(rain, wet, mean).tolist() == [True, False]
    assert leaf_curl.infects(rain, wet, np.array([np.nan, 8.0])).tolist() == [None, False]
    assert leaf_curl.infects(5, np.array([[10.0, 20.0]]), 8).shape == (1, 2)


def test_meaningless_arguments():
    with pytest.raises(ValueError, match="less than 0"):
        leaf_curl.infects(-1, 20, 8)
    with pytest.raises(ValueError, match="must be a number"):
        leaf_curl.infects(5, 20, None)
