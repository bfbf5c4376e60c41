"""Pruning seasons and cuts against the Royal Horticultural Society and extension services."""

import pytest

from advisor.science import pruning
from advisor.science.thinning import FRUITS


@pytest.mark.parametrize("fruit", ["apple", "pear"])
@pytest.mark.parametrize(("bbch", "inside"), [(97, True), (0, True), (53, True), (60, False), (75, False), (91, False)])
def test_pome_fruit_from_leaf_fall_to_bud_burst(fruit, bbch, inside):
    # Royal Horticultural Society.
    assert pruning.in_season(bbch, pruning.main_season(fruit)) is inside
    assert pruning.winter_pruning(fruit)["allowed"]


@pytest.mark.parametrize("fruit", ["plum", "sweet-cherry", "tart-cherry", "apricot"])
@pytest.mark.parametrize(("silver", "eutypa", "allowed"), [
    (True, None, False), (None, True, False), (None, None, False), (False, None, False), (False, False, True),
])  # fmt: skip
def test_stone_fruit_not_in_winter_where_silver_leaf_or_eutypa_threaten(fruit, silver, eutypa, allowed):
    # Royal Horticultural Society (second-hand): spores of silver leaf fly mostly September to May.
    assert pruning.winter_pruning(fruit, silver, eutypa)["allowed"] is allowed
    assert not pruning.in_season(0, pruning.main_season(fruit))
    assert pruning.in_season(80, pruning.main_season(fruit))


@pytest.mark.parametrize("fruit", ["peach", "nectarine"])
def test_peaches_wait_for_bloom(fruit):
    assert not pruning.winter_pruning(fruit, False, False)["allowed"]
    assert pruning.in_season(60, pruning.main_season(fruit))


@pytest.mark.parametrize(
    ("growing", "wet", "allowed", "inches", "clean"),
    [
        (True, False, True, (10, 12), True),  # Upham, Kansas State: dry weather, clean tools
        (True, True, False, (10, 12), True),
        (True, None, False, (10, 12), True),  # not known is not called dry
        (False, True, True, (6, 12), False),  # Illinois: cankers in winter, tools need cleaning only in growth
        (False, None, True, (6, 12), False),
    ],
)
def test_cutting_fire_blight_out(growing, wet, allowed, inches, clean):
    cut = pruning.blight_cut(growing, wet)
    assert cut["allowed"] is allowed
    assert cut["below_m"] == pytest.approx(tuple(0.0254 * end for end in inches), abs=0.006)
    assert cut["clean_tools"] is clean
    assert cut["because"]


def test_how_much():
    # A quarter of the fruiting wood (cider orchard page); 10 to 20 % of old canopies (from memory); leaders by a third
    # and big cuts over two or three winters (newspaper column).
    assert pruning.share_to_cut() == 0.25
    assert pruning.share_to_cut(canopy_old=True) == 0.2
    assert pytest.approx(1 / 3) == pruning.LEADER_SHARE
    assert pruning.YEARS_FOR_BIG_CUTS == (2, 3)


def test_every_fruit_has_a_season():
    assert set(pruning.MAIN) == set(FRUITS)
    assert set(pruning.STONE) | set(pruning.POME) == set(FRUITS)


@pytest.mark.parametrize(
    ("season", "vigour", "does", "word"),
    [
        ("winter", "weak", "invigorates", "harder"),
        ("winter", "strong", "invigorates", "little"),
        ("summer", "weak", "restrains", "Leave"),
        ("summer", "strong", "restrains", "water shoots"),
    ],
)
def test_winter_cuts_invigorate_and_summer_cuts_restrain(season, vigour, does, word):
    # From memory.
    answer = pruning.effect(season, vigour)
    assert answer["does"] == does
    assert word in answer["advice"]


def test_nonsense_is_refused():
    for call in (
        lambda: pruning.main_season("banana"),
        lambda: pruning.winter_pruning("banana"),
        lambda: pruning.effect("autumn", "weak"),
        lambda: pruning.in_season(None, pruning.SUMMER_FOR_LIGHT),
    ):
        with pytest.raises(ValueError, match=r"\.$"):
            call()
