"""Hardiness zones, and the winters that plants of the knowledge stand, against published figures."""

from __future__ import annotations

from itertools import pairwise

import pytest

from advisor.ecosystem import Plant, knowledge
from advisor.science.hardiness import coldest_of, zone_of

# USDA Plant Hardiness Zone Map 2012, as two public gardens quote it: the mean yearly minimum in °F of each half-zone.
HALVES = {"5b": (-15, -10), "7b": (5, 10), "8a": (10, 15), "8b": (15, 20)}


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


@pytest.mark.parametrize("zone", sorted(HALVES))
def test_half_zones_lie_where_the_map_has_them(zone: str) -> None:
    low, high = (celsius(end) for end in HALVES[zone])
    assert coldest_of(zone) == pytest.approx(low)
    assert zone_of(low) == zone_of((low + high) / 2) == zone
    assert zone_of(high) != zone


def test_there_are_26_half_zones_each_of_five_degrees_fahrenheit() -> None:
    """The map has 13 zones of 10 °F, each halved."""
    halves = [f"{number}{half}" for number in range(1, 14) for half in "ab"]
    lows = [coldest_of(zone) for zone in halves]
    assert [zone_of(low) for low in lows] == halves
    assert {round((b - a) * 1.8, 6) for a, b in pairwise(lows)} == {5.0}
    assert zone_of(lows[0] - 0.1) is None
    assert zone_of(lows[-1] + 5 / 1.8 + 0.1) is None
    assert coldest_of("5") == coldest_of("5a")


@pytest.mark.parametrize("word", ["0", "14", "5c", "", "zone 5", "5B", "-3"])
def test_what_is_no_zone_is_refused(word: str) -> None:
    with pytest.raises(ValueError, match="no hardiness zone"):
        coldest_of(word)


# USDA Natural Resources Conservation Service, PLANTS database, single records (copies read): "Temperature, Minimum".
USDA_LOWEST_F = {
    "yarrow": -38, "red-maple": -47, "purple-coneflower": -33, "eastern-redcedar": -43, "wild-bergamot": -32,
    "swamp-milkweed": -38, "birdsfoot-trefoil": -43, "alfalfa": -43, "sweet-clover": -38, "orchardgrass": -33,
    "perennial-ryegrass": -18, "black-walnut": -28, "autumn-olive": -23,
}  # fmt: skip
# Public gardens, universities, nurseries, by source (pages read): the coldest zone for which a page names the plant. Where
# two sound pages differ, the source of the less hardy is kept.
ZONES = {
    "missouri-garden-plants": {
        "snowdrop": "3", "anise-hyssop": "4", "culvers-root": "3", "golden-alexanders": "3", "joe-pye-weed": "4",
        "cornelian-cherry": "4", "willow": "4", "pyracantha": "6", "oregano": "4", "lemon-balm": "3", "catmint": "3",
        "angelica": "5", "fennel": "4", "daffodil": "4", "goldenrod": "3", "goumi": "4", "rosemary": "8", "salad-burnet": "4",
    },
    "kpu-plant-database": {
        "chokecherry": "2", "hawthorn": "5", "ivy": "5", "linden": "3", "beech": "5", "cherry-plum": "5", "dogwood": "2",
        "crab-apple": "4", "cotoneaster": "5", "honeysuckle": "5", "lavender": "5", "sage": "5", "thyme": "4", "lovage": "4",
        "tansy": "4", "daisy": "4", "mint": "3", "self-heal": "3", "white-clover": "4", "spirea": "4", "mullein": "4",
        "dandelion": "4", "broad-plantain": "4", "field-horsetail": "2", "nettle": "3", "red-fescue": "4", "goutweed": "3",
    },
    "delaware-botanic-gardens": {"hazel": "4", "black-locust": "4", "elm": "3"},
    "uconn-plant-database": {"wild-cherry": "3", "wild-plum": "3"},
    "native-plant-trust": {"blue-false-indigo": "3", "elder": "4"}, "allen-centennial-garden": {"winter-aconite": "3"},
    "idaho-perennial-herbs": {"chives": "4"}, "penn-state-hort-131": {"mountain-mint": "4"},
    "cornell-woody-plants": {"alder": "4a"}, "colorado-xeriscape-garden": {"chokeberry": "4"},
    "minnesota-trees": {"serviceberry": "2"}, "utah-tree-browser": {"rowan": "3"}, "morton-blackthorn": {"blackthorn": "4"},
    "alaska-landscape-plants": {"poplar": "4"}, "crow-island-woods": {"buckthorn": "3"},
    "wisconsin-pollinators": {"raspberry": "4"}, "north-carolina-perennials": {"bugle": "4"},
    "robs-plants": {"sweet-cicely": "3"}, "umass-stockbridge": {"crocus": "3"}, "horticulture-squill": {"squill": "3"},
    "vancouver-island-grows": {"grape-hyacinth": "4"}, "ohio-state-plants": {"aster": "4"},
    "white-oak-nursery": {"boneset": "3"}, "highlands-garden-club": {"oxeye-daisy": "4"},
    "gardens-of-the-blue-ridge": {"lupin": "4"}, "conifer-society": {"common-juniper": "3"},
    "oregon-landscape-plants": {"savin-juniper": "4"}, "deeproot-plant-base": {"yew": "6"},
    "penn-state-comfrey": {"common-comfrey": "3"}, "cricket-hill-garden": {"lungwort": "4"},
    "minnesota-currants": {"currant": "3a"}, "schumachers-nursery": {"white-cedar": "2"},
    "plants-to-grow": {"wild-strawberry": "4"}, "west-coast-seeds": {"alsike-clover": "3"},
    "outdoor-guide-clover": {"crimson-clover": "6"}, "fine-gardening-heathers": {"heather": "5"},
    "world-plants-juniper": {"chinese-juniper": "4"}, "national-arboretum-mallow": {"mallow": "4"},
    "new-york-plants-parsley": {"parsley": "5"}, "gardeners-hq-caraway": {"caraway": "3"},
    "plants-to-grow-timothy": {"timothy": "4"}, "rainbow-grove-comfrey": {"sterile-comfrey": "4"},
    "davesgarden-plant-files": {"red-clover": "3", "sainfoin": "3", "buttercup": "4"}, "naked-seed-chicory": {"chicory": "3"},
    "island-blooms-sorrel": {"sheep-sorrel": "4"}, "rarexotic-dog-rose": {"wild-rose": "4"},
    "vermont-wild-carrot": {"wild-carrot": "3"}, "norris-ravenswing": {"cow-parsley": "5"}, "iowa-brambles": {"bramble": "5"},
    "gardens-with-wings-vetch": {"tufted-vetch": "4"},
}  # fmt: skip
PRINTED = {name: (source, zone) for source, zones in ZONES.items() for name, zone in zones.items()}
# Plants on a list of nectar plants that grow in zone 5 (Wikipedia, copies of parts read).
IN_ZONE_5 = ("red-maple", "serviceberry", "chokeberry", "hawthorn", "anise-hyssop", "bugle", "chives")


def plant(name: str) -> Plant:
    found = knowledge().resolve(name, kind="plant")
    assert isinstance(found, Plant), name
    return found


@pytest.mark.parametrize("name", sorted(USDA_LOWEST_F))
def test_no_plant_is_held_hardier_than_its_published_lowest_temperature(name: str) -> None:
    hardy = plant(name).hardiness
    assert hardy is not None
    assert hardy.coldest >= celsius(USDA_LOWEST_F[name]) - 0.01
    assert hardy.evidence == "published"


@pytest.mark.parametrize("name", sorted(PRINTED))
def test_no_plant_is_held_hardier_than_its_page_says(name: str) -> None:
    hardy, (source, zone) = plant(name).hardiness, PRINTED[name]
    assert hardy is not None
    assert hardy.coldest >= coldest_of(zone)
    assert (hardy.evidence, hardy.source) == ("published", source)


def test_a_zone_is_called_published_only_where_a_record_was_read() -> None:
    published = {p.id for p in knowledge().of_kind(Plant).values() if p.hardiness and p.hardiness.source}
    assert published == set(USDA_LOWEST_F) | set(PRINTED)


@pytest.mark.parametrize("name", IN_ZONE_5)
def test_plants_listed_for_zone_5_stand_its_winters(name: str) -> None:
    hardy = plant(name).hardiness
    assert hardy is not None
    assert hardy.coldest <= coldest_of("5")


def test_every_plant_that_outlives_a_winter_says_which_it_stands() -> None:
    silent = [
        p.id for p in knowledge().of_kind(Plant).values() if not p.fruit and p.life != "annual" and not p.hardiness
    ]
    assert not silent


def test_a_mildest_zone_is_no_colder_than_the_coldest() -> None:
    for one in knowledge().of_kind(Plant).values():
        if one.hardiness and one.hardiness.mildest is not None:
            assert coldest_of(str(one.hardiness.mildest)) > one.hardiness.coldest, one.id
