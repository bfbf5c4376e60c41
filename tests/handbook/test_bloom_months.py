"""Weeks of bloom, and for whom a flower is made, against the flora of Germany.

S. Klotz, I. Kuehn, W. Durka 2002, BiolFlor (a copied table was read): the first and last month of flower, and the class
of the flower after H. Mueller: A nectar open to all, AB and B more or less hidden, H flowers of bees, Hh of bumble
bees, Hb of honey bees, F of butterflies, Po pollen alone, W of the wind.
"""

from __future__ import annotations

import datetime as dt

import pytest

from advisor.ecosystem import Plant, knowledge

MONTHS = {
    "birdsfoot-trefoil": (6, 8, "Hb"), "calendula": (6, 10, "B"), "crab-apple": (5, 5, "AB"), "heather": (8, 10, "B"),
    "honeysuckle": (5, 6, "B"), "mallow": (6, 10, "B"), "poplar": (3, 4, "W"), "smartweed": (7, 10, "B"),
    "sweet-alyssum": (6, 11, "AB"),
    "alder": (2, 4, "W"), "alfalfa": (6, 9, "H"), "amaranth": (7, 9, "W"), "angelica": (6, 8, "A"),
    "bindweed": (6, 9, "B"), "black-locust": (5, 6, "H"), "black-medick": (5, 10, "H"), "blackthorn": (4, 5, "AB"),
    "buckthorn": (5, 6, "A"), "cherry-plum": (3, 4, "AB"), "chicory": (7, 10, "B"), "common-comfrey": (5, 7, "Hh"),
    "coriander": (6, 7, "A"), "cotoneaster": (5, 6, "B"), "crocus": (2, 4, "F"), "currant": (4, 5, "B"),
    "daffodil": (3, 4, "Hh"), "dill": (7, 9, "A"), "dogwood": (5, 7, "A"), "elder": (6, 7, "Po"), "elm": (3, 4, "W"),
    "goldenrod": (8, 10, "B"), "goutweed": (6, 7, "A"), "grape-hyacinth": (3, 5, "Hb"), "hawthorn": (5, 6, "AB"),
    "hazel": (2, 4, "W"), "lemon-balm": (6, 8, "H"), "lovage": (7, 8, "A"), "lungwort": (3, 5, "B"),
    "mayweed": (6, 11, "B"), "mint": (7, 9, "B"), "mustard": (6, 7, "A"), "nettle": (7, 10, "W"),
    "orchardgrass": (5, 7, "W"), "pear": (4, 5, "AB"), "plum": (4, 5, "AB"), "red-clover": (6, 9, "Hh"),
    "rowan": (5, 6, "AB"), "sage": (5, 7, "H"), "salad-burnet": (5, 8, "W"), "self-heal": (6, 9, "H"),
    "serviceberry": (4, 5, "A"), "spirea": (5, 8, "AB"), "squill": (3, 4, "AB"), "sterile-comfrey": (6, 9, "Hh"),
    "sweet-clover": (6, 9, "H"), "tansy": (7, 9, "B"), "thistle": (7, 9, "B"), "tufted-vetch": (6, 8, "H"),
    "white-clover": (5, 9, "Hb"), "wild-rose": (5, 7, "Po"), "willow": (3, 4, "AB"), "yarrow": (6, 10, "B"),
}  # fmt: skip
# The same flora has these otherwise, and the knowledge keeps to other grounds: what is sown at another time of year
# (crimson clover, oilseed radish, hairy vetch, cosmos, borage), what blooms again for long (deadnettle, chickweed, lavender,
# oxeye daisy, ryegrass), other kinds of the genus (bugle and catmint of gardens, yew, lupin), a plant of mountains (sweet cicely),
# what beekeepers of New Jersey saw (alsike clover) or heat sums of Ohio say (cornelian cherry), and quince, which the
# list lets bloom a month on.
APPLE = dt.date(2026, 5, 3)  # apple full bloom in central Europe (from memory)


# Public gardens, universities and nurseries elsewhere (pages read): apple full bloom there (from memory), then the first and
# last month of flower of each plant.
PAGES: dict[str, tuple[dt.date, dict[str, tuple[int, int]]]] = {
    "missouri-garden-plants": (dt.date(2026, 4, 18), {
        "anise-hyssop": (6, 9), "catmint": (5, 9), "culvers-root": (6, 8), "joe-pye-weed": (7, 9), "pyracantha": (5, 5),
        "goumi": (4, 5),
    }),
    "kpu-plant-database": (dt.date(2026, 4, 25), {"lavender": (6, 8)}),
    "ohio-state-plants": (dt.date(2026, 4, 18), {"beech": (4, 5)}),
    "uconn-pollinator-shrubs": (dt.date(2026, 5, 6), {"chokecherry": (5, 6)}),
    "uconn-plant-database": (dt.date(2026, 5, 6), {"wild-cherry": (5, 5), "wild-plum": (4, 4)}),
    "umass-stockbridge": (dt.date(2026, 5, 10), {"mountain-mint": (7, 9)}),
    "allen-centennial-garden": (dt.date(2026, 5, 10), {"winter-aconite": (3, 4)}),
    "white-oak-nursery": (dt.date(2026, 5, 12), {"blue-false-indigo": (5, 6)}),
    "pleasant-run-nursery": (dt.date(2026, 4, 28), {"golden-alexanders": (4, 6)}),
    "michlers-chives": (dt.date(2026, 4, 20), {"chives": (4, 5)}),
    "arthurs-point-farm": (dt.date(2026, 5, 8), {"lupin": (5, 6)}),
    "northumbrian-beekeepers": (dt.date(2026, 5, 15), {"ivy": (9, 11)}),
    "saltspring-seeds": (dt.date(2026, 4, 28), {"sweet-cicely": (5, 6)}),
    "wildlife-trusts-data": (dt.date(2026, 5, 5), {"wild-carrot": (6, 9), "oregano": (6, 9)}),
    "plantlife-species": (dt.date(2026, 5, 5), {"bramble": (6, 8), "mullein": (6, 9)}),
    "hampshire-snowdrops": (dt.date(2026, 5, 5), {"snowdrop": (1, 3)}),
    "hillman-wild-flowers": (dt.date(2026, 5, 8), {"cow-parsley": (4, 6), "tansy-ragwort": (6, 10)}),
    "ukwildlife-flowers": (dt.date(2026, 5, 5), {"buttercup": (5, 8), "sainfoin": (6, 8)}),
    "perfect-ground-chickweed": (dt.date(2026, 5, 5), {"chickweed": (2, 11)}),
    "nature-of-dorset-daisy": (dt.date(2026, 5, 2), {"daisy": (3, 10)}),
    "cotswold-cornflower": (dt.date(2026, 5, 5), {"cornflower": (6, 8)}),
    "terraqua-oxeye": (dt.date(2026, 5, 5), {"oxeye-daisy": (6, 8)}),
    "high-park-wildflowers": (dt.date(2026, 5, 14), {"ribwort-plantain": (5, 10), "broad-plantain": (5, 10)}),
    "solidago-farm-bergamot": (dt.date(2026, 5, 15), {"wild-bergamot": (7, 9)}),
    "watersheds-milkweed": (dt.date(2026, 5, 12), {"swamp-milkweed": (7, 8)}),
    "bagley-pond-coneflower": (dt.date(2026, 5, 12), {"purple-coneflower": (7, 9)}),
    "connecticut-autumn-olive": (dt.date(2026, 5, 6), {"autumn-olive": (5, 5)}),
    "exploring-birds-raspberry": (dt.date(2026, 5, 6), {"raspberry": (5, 6)}),
    "casa-del-mell-bloom": (dt.date(2026, 4, 26), {"apricot": (4, 4), "peach": (4, 4), "sweet-cherry": (4, 4)}),
    "bioexplorer-fennel": (dt.date(2026, 5, 5), {"fennel": (7, 9)}),
    "wisconsin-flora": (dt.date(2026, 5, 12), {"shepherds-purse": (4, 8), "dock": (6, 8)}),
    "putnam-park": (dt.date(2026, 5, 14), {"hairy-vetch": (6, 8), "sheep-sorrel": (5, 8)}),
    "britton-brown": (dt.date(2026, 5, 8), {"lambsquarters": (6, 9)}),
    "malverleys-quince": (dt.date(2026, 5, 3), {"quince": (5, 5)}),
    "rspb-cosmos": (dt.date(2026, 5, 5), {"cosmos": (6, 10)}),
    "rook-gardener-2011": (dt.date(2026, 4, 28), {"phacelia": (6, 9)}),
    "indigo-acres-borage": (dt.date(2026, 5, 1), {"borage": (6, 9)}),
    "allergon-timothy": (dt.date(2026, 5, 18), {"timothy": (6, 7)}),
    "crow-island-woods": (dt.date(2026, 5, 10), {"black-walnut": (5, 6)}),
    "minnesota-caraway": (dt.date(2026, 5, 15), {"caraway": (6, 8)}),
}  # fmt: skip
READ = [(source, apple, name, *span) for source, (apple, spans) in PAGES.items() for name, span in spans.items()]


def plant(name: str) -> Plant:
    found = knowledge().resolve(name, kind="plant")
    assert isinstance(found, Plant), name
    return found


def weeks(month: int, apple: dt.date = APPLE) -> tuple[float, float]:
    """A month as weeks from apple full bloom, with a week either way."""
    first, after = dt.date(2026, month, 1), dt.date(2026 + month // 12, month % 12 + 1, 1)
    return (first - apple).days / 7 - 1, (after - apple).days / 7 + 1


@pytest.mark.parametrize("name", sorted(MONTHS))
def test_bloom_begins_in_the_first_month_and_ends_in_the_last(name: str) -> None:
    bloom = plant(name).bloom
    assert bloom is not None
    begins, ends, _ = MONTHS[name]
    assert weeks(begins)[0] <= bloom.begin <= weeks(begins)[1]
    assert weeks(ends)[0] <= bloom.end <= weeks(ends)[1]


@pytest.mark.parametrize(("source", "apple", "name", "begins", "ends"), READ)
def test_bloom_begins_and_ends_as_its_page_says(source: str, apple: dt.date, name: str, begins: int, ends: int) -> None:
    bloom = plant(name).bloom
    assert bloom is not None
    assert bloom.source == source
    assert weeks(begins, apple)[0] <= bloom.begin <= weeks(begins, apple)[1]
    assert weeks(ends, apple)[0] <= bloom.end <= weeks(ends, apple)[1]


@pytest.mark.parametrize("name", sorted(MONTHS))
def test_short_tongues_find_nectar_where_the_flora_has_it_open(name: str) -> None:
    """Nectar that is hidden (B) is left to judgement: composites give it to flies, deep bells do not."""
    known, flower = plant(name).flower, MONTHS[name][2]
    expected = {"A": {"open"}, "AB": {"open"}, "B": {"open", "deep"}, "W": {"none"}, "Po": {"open", "none"}}
    assert known in expected.get(flower, {"deep"})


def test_bloom_is_called_published_just_where_the_list_bears_it_out() -> None:
    resting = {p.id for p in knowledge().of_kind(Plant).values() if p.bloom and p.bloom.source == "klotz-2002-biolflor"}
    assert resting == set(MONTHS)
    of_pages = {
        (p.id, p.bloom.source) for p in knowledge().of_kind(Plant).values() if p.bloom and p.bloom.source in PAGES
    }
    assert of_pages == {(name, source) for source, _, name, _, _ in READ}


def test_the_links_of_bloom_are_known_as_well_as_the_bloom() -> None:
    for one in knowledge().of_kind(Plant).values():
        for link in knowledge().links_from(one.key):
            if link.link == "blooms":
                assert one.bloom is not None
                assert (link.evidence, link.source) == (one.bloom.evidence, one.bloom.source), link.id
