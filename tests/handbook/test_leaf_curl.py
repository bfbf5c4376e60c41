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
@pytest.mark.parametrize(("rain", "wet", "mean", "infected"), SHOOTS)
def test_shoots(rain, wet, mean, infected):
    assert leaf_curl.infects(rain, wet, mean) is infected


def test_unknown_gives_none():
    for wetting in ((float("nan"), 20, 8), (5, float("nan"), 8), (5, 20, float("nan"))):
        assert leaf_curl.infects(*wetting) is None


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
