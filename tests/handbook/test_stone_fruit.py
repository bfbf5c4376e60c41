"""Stone fruit diseases against McFadden-Smith et al. 2000, Penn State 2011, Zehr et al. 1996 and Grove 2002."""

import numpy as np
import pytest

from advisor.science import stone_fruit


# McFadden-Smith W., Northover J., Sears W. 2000, Plant Disease 84:45-48 (as summarised by EPPO): large release after
# 10 mm of rain or more at 11 degrees C or more.
@pytest.mark.parametrize(
    ("rain", "temp", "fly"), [(10, 11, True), (25, 17, True), (9.9, 17, False), (25, 10.9, False), (0, 20, False)]
)
def test_black_knot_release(rain, temp, fly):
    assert stone_fruit.knot_spores_fly(rain, temp) is fly


# Penn State Extension, June 2011: 21 to 29 degrees C (70 to 85 F) with light rain, heavy dew and wind.
@pytest.mark.parametrize(
    ("temp", "wet", "favoured"), [(21, 1, True), (29, 1, True), (20.9, 1, False), (29.1, 1, False), (25, 0, False)]
)
def test_bacterial_spot_weather(temp, wet, favoured):
    assert stone_fruit.spot_favoured(temp, wet) is favoured


# Grove G.G. 2002, Wilsonomyces carpophilus on cherry at 15 degrees C: lesions a cm2 after wet hours ("under 1 h: 0").
@pytest.mark.parametrize(("hours", "lesions"), [(0, 0), (0.9, 0), (6, 0.1), (12, 1.9), (18, 6.8), (24, 9.1)])
def test_shot_hole(hours, lesions):
    assert stone_fruit.shot_hole_lesions(hours) == pytest.approx(lesions)


def test_shot_hole_between_and_beyond():
    assert stone_fruit.shot_hole_lesions(15) == pytest.approx(4.35)
    assert stone_fruit.shot_hole_lesions(24.1) is None
    assert stone_fruit.shot_hole_lesions(-1) is None
    assert np.isnan(stone_fruit.shot_hole_lesions(np.array([12.0, 30.0]))[1])


def test_bacterial_canker_wants_frost_and_wet():
    # New England Tree Fruit Management Guide: cool wet spring and frost (no figures).
    assert stone_fruit.canker_favoured(-1, 1) is True
    assert stone_fruit.canker_favoured(-1, 0) is False
    assert stone_fruit.canker_favoured(2, 1) is False


def test_unknown_gives_none():
    nan = float("nan")
    assert stone_fruit.knot_spores_fly(nan, 15) is None
    assert stone_fruit.spot_favoured(25, nan) is None
    assert stone_fruit.canker_favoured(nan, 1) is None
    assert stone_fruit.knot_spores_fly(np.array([12.0, 1.0, nan]), 15).tolist() == [True, False, None]


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: stone_fruit.knot_spores_fly(-1, 15), lambda: stone_fruit.spot_favoured(None, 1),
    ],
)  # fmt: skip
def test_meaningless_arguments(wrong):
    with pytest.raises(ValueError, match=r"\w+ .*\."):
        wrong()
