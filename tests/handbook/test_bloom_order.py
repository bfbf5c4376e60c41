"""The order of bloom in the knowledge, held to published lists from New Jersey, Wisconsin and England.

A list says when a plant opens in its own district; only the order, and the distance from apple, can be compared.
"""

from __future__ import annotations

import datetime as dt
from itertools import combinations

import pytest

from advisor.ecosystem import Plant, knowledge
from advisor.habitat.ribbon import InBloom
from advisor.habitat.weeks import Parts, opens_in


def plant(name: str) -> Plant:
    found = knowledge().resolve(name, kind="plant")
    assert isinstance(found, Plant), name
    assert found.bloom is not None, name
    return found


def opens(name: str) -> float:
    bloom = plant(name).bloom
    assert bloom is not None
    return bloom.begin


# New Jersey beekeepers, nectar and pollen plants (two pages, both seen): the day on which bloom begins, "early", "mid"
# and "late" of a month read as its 3rd, 15th and 25th, a bare month as its first day. Apple there is late April to
# early May, so about 1 May in full bloom.
NEW_JERSEY = {
    "red-maple": (3, 15), "elm": (3, 25), "hazel": (3, 25), "peach": (4, 3), "pear": (4, 15), "apple": (4, 25),
    "dandelion": (5, 3), "wild-strawberry": (5, 1), "lupin": (5, 1), "raspberry": (5, 1), "crimson-clover": (5, 15),
    "black-locust": (5, 20), "alsike-clover": (6, 1), "sweet-clover": (6, 1), "white-clover": (6, 3),
    "oxeye-daisy": (6, 15), "linden": (6, 25), "swamp-milkweed": (7, 1), "boneset": (8, 15), "sunflower": (8, 15),
    "aster": (8, 25), "goldenrod": (8, 25),
}  # fmt: skip
APPLE_THERE = dt.date(2026, 5, 1)
# Listed there by another kind or another crop of flowers than ours: willow (late April: tree willows; ours is the pussy
# and goat willow of March), wild cherry (late May: the black cherry; ours covers pin and sweet as well), catnip and
# smartweed (the height of bloom, not its beginning).


def there(name: str) -> float:
    month, day = NEW_JERSEY[name]
    return (dt.date(2026, month, day) - APPLE_THERE).days / 7


def test_plants_that_part_by_three_weeks_in_new_jersey_open_in_that_order_here() -> None:
    """What a list puts three weeks apart, its vague words cannot turn round."""
    parted = [(a, b) for a, b in combinations(NEW_JERSEY, 2) if there(b) - there(a) >= 3]
    assert len(parted) > 120
    wrong = [(a, b) for a, b in parted if opens(a) >= opens(b)]
    assert not wrong


@pytest.mark.parametrize("name", sorted(NEW_JERSEY))
def test_each_plant_opens_about_as_far_from_apple_as_in_new_jersey(name: str) -> None:
    """Within four weeks: a list gives months or thirds of months, of one district."""
    assert abs(opens(name) - there(name)) <= 4.2


def test_the_ranks_of_bloom_agree_with_new_jersey() -> None:
    """Kendall's tau over all pairs that the list tells apart (Kendall 1938, from memory)."""
    pairs = [(a, b) for a, b in combinations(NEW_JERSEY, 2) if there(a) != there(b)]
    agree = sum((there(a) - there(b)) * (opens(a) - opens(b)) > 0 for a, b in pairs)
    against = sum((there(a) - there(b)) * (opens(a) - opens(b)) < 0 for a, b in pairs)
    assert (agree - against) / len(pairs) > 0.85


# S. Carpenter, University of Wisconsin Arboretum, quoted in a newspaper column of 13 April 2022 (seen): plants for
# native bees in three seasons. Kinds of the genus named there.
WISCONSIN = {
    "early": ("willow", "serviceberry", "lupin"),
    "mid": ("culvers-root", "wild-bergamot", "purple-coneflower", "linden", "swamp-milkweed"),
    "late": ("goldenrod", "aster"),
}


@pytest.mark.parametrize(("part", "name"), [(part, name) for part, names in WISCONSIN.items() for name in names])
def test_each_plant_blooms_in_its_season_of_wisconsin(part: str, name: str) -> None:
    bloom = plant(name).bloom
    assert bloom is not None
    span = Parts.of(knowledge(), "michigan").spans()[part]
    assert any(opens_in(InBloom(plant(name), "list", "habitat", bloom.begin, bloom.end), span))


def test_seasons_of_wisconsin_follow_one_another() -> None:
    early, mid, late = ([opens(name) for name in WISCONSIN[part]] for part in ("early", "mid", "late"))
    assert max(early) < min(mid)
    assert max(mid) < min(late)


# A UK beekeepers' list by season (copy seen in part): first month of flower. The months of apple there are April to May.
ENGLAND = {"cornelian-cherry": 2, "willow": 3, "crab-apple": 4, "hawthorn": 5, "pyracantha": 5, "cotoneaster": 5}


def test_shrubs_open_in_the_order_of_the_english_months() -> None:
    wrong = [(a, b) for a, b in combinations(ENGLAND, 2) if ENGLAND[a] < ENGLAND[b] and opens(a) >= opens(b)]
    assert not wrong


def test_white_hedgerows_pass_from_blackthorn_to_hawthorn_to_elder() -> None:
    """Naturalist's notes from Dorset, 2010 (seen): blackthorn in April, hawthorn in May, elder in June."""
    assert opens("blackthorn") + 3 <= opens("hawthorn") <= opens("elder") - 3


def test_heat_opens_cornelian_cherry_no_later_than_red_maple() -> None:
    """Ohio State University, J. Chatfield 2020 (seen): first bloom at 40 and 44 degree-days above 50 °F."""
    assert opens("cornelian-cherry") <= opens("red-maple") < opens("apple")
