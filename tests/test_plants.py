"""The plants of the knowledge, held against bloom lists, host lists and trials that were published elsewhere."""

from __future__ import annotations

from datetime import date
from functools import cache
from importlib.resources import as_file, files
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from advisor.knowledge_schema import REGIONS, Figure, Link, Plant, Source
from advisor.reading import read_document

FRUIT = {"apple", "pear", "quince", "peach", "nectarine", "apricot", "plum", "sweet-cherry", "tart-cherry"}
REGION_WORDS = {
    "north-america",
    "eastern-us",
    "new-england",
    "pacific-coast",
    "europe",
    "uk",
    "australia",
    "new-zealand",
}
CAN_BE_HURT = {"people", "horses", "livestock", "skin"}


@cache
def folder() -> Path:
    with as_file(files("advisor.knowledge")) as place:
        return place


def entries(pattern: str) -> list[tuple[str, dict[str, Any]]]:
    return [(path.name, entry) for path in sorted(folder().glob(pattern)) for entry in read_document(path).data]


@cache
def plants() -> dict[str, dict[str, Any]]:
    return {entry["id"]: entry for _, entry in entries("plants/*.yaml")}


@cache
def links() -> list[dict[str, Any]]:
    return [entry for _, entry in entries("links/*.yaml")]


def linked(start: str, kind: str, end: str) -> bool:
    return any((link["from"], link["link"], link["to"]) == (start, kind, end) for link in links())


def starts(kind: str, end: str) -> set[str]:
    return {link["from"] for link in links() if link["link"] == kind and link["to"] == end}


def bloom(plant: str) -> tuple[float, float]:
    weeks = plants()[plant]["bloom"]
    return weeks["from"], weeks["to"]


def overlap(one: tuple[float, float], other: tuple[float, float]) -> float:
    return min(one[1], other[1]) - max(one[0], other[0])


# --- the entries themselves ------------------------------------------------------------------------------------------


def test_there_are_plants_enough_and_each_stands_once():
    ids = [entry["id"] for _, entry in entries("plants/*.yaml")]
    assert len(ids) == len(set(ids)) >= 120


def test_the_nine_fruits_are_marked_and_nothing_else_is():
    assert {name for name, plant in plants().items() if plant.get("fruit")} == FRUIT


def test_no_plant_answers_to_the_name_of_another():
    owner: dict[str, str] = {}
    for name, plant in plants().items():
        for word in (name, *plant["also"]):
            assert owner.setdefault(word, name) == name, f"{word} means both {owner[word]} and {name}"


@pytest.mark.parametrize("name", sorted(plants()))
def test_each_plant_says_all_that_is_asked_of_it(name: str):
    plant = plants()[name]
    Plant.model_validate({**plant, "kind": "plant"})
    asked = {
        "name",
        "also",
        "latin",
        "family",
        "form",
        "life",
        "bloom",
        "nectar",
        "pollen",
        "flower",
        "root",
        "root_depth",
        "stems",
        "height",
        "fixes_nitrogen",
        "permanent",
        "spreads",
        "toxic",
        "invasive_in",
        "light",
        "moisture",
        "cautions",
        "evidence",
        "sources",
    }
    assert asked <= set(plant)
    assert plant["light"]
    assert plant["moisture"]
    assert plant["height"]["min"] <= plant["height"]["max"]
    assert set(plant["toxic"]) <= CAN_BE_HURT
    assert set(plant["invasive_in"]) <= REGION_WORDS
    assert all(sentence.endswith(".") for sentence in plant["cautions"])
    assert (plant["form"] in ("tree", "shrub") or name == "ivy") == (plant["root"] == "woody")
    if plant["toxic"]:
        assert plant["cautions"], f"{name} can hurt {plant['toxic']} and says nothing of it"
    if plant["bloom"] == "none":
        assert plant["nectar"] == plant["pollen"] == 0
    else:
        assert -15 <= plant["bloom"]["from"] < plant["bloom"]["to"] <= 30
    if plant["flower"] == "none":
        assert plant["nectar"] == 0, "a flower that the wind serves has no nectar for insects"


def test_no_entry_claims_to_be_published_as_a_whole():
    # Of most plants only a bloom date or a host was seen in print; the print is cited on the links.
    assert {plant["evidence"] for plant in plants().values()} == {"from-memory"}


def test_names_that_people_use_lead_to_the_right_plant():
    known = {word: name for name, plant in plants().items() for word in (name, *plant["also"])}
    expected = {
        "cocksfoot": "orchardgrass",
        "tall-goldenrod": "goldenrod",
        "russian-comfrey": "sterile-comfrey",
        "bocking-14": "sterile-comfrey",
        "stinging-nettle": "nettle",
        "plantain": "ribwort-plantain",
        "redcedar": "eastern-redcedar",
        "dandelions": "dandelion",
        "blackberry": "bramble",
        "elderberry": "elder",
        "lucerne": "alfalfa",
        "quackgrass": "couch",
        "mountain-ash": "rowan",
        "firethorn": "pyracantha",
        "basswood": "linden",
        "sour-cherry": "tart-cherry",
        "ground-elder": "goutweed",
        "corylus-avellana": "hazel",
        "arborvitae": "white-cedar",
        "comfrey": "common-comfrey",
    }  # common practice, no source: trade and garden names of both sides of the Atlantic
    assert {word: known.get(word) for word in expected} == expected


# --- bloom against published lists -----------------------------------------------------------------------------------

NEW_JERSEY_APPLE = date(2001, 5, 1)  # "late April to early May"


def new_jersey(month: int, day: int) -> float:
    return (date(2001, month, day) - NEW_JERSEY_APPLE).days / 7


# Bloom lists of New Jersey beekeepers (nectar sources; pollen plants). "Early" is read as the 1st, "mid" as the 11th to
# 15th, "late" as the 25th: (month, day) on which bloom begins.
NEW_JERSEY_BEGINS = {
    "red-maple": (3, 15),
    "peach": (4, 1),
    "pear": (4, 11),
    "apple": (4, 25),
    "dandelion": (5, 1),
    "black-locust": (5, 20),
    "alsike-clover": (6, 1),
    "white-clover": (6, 3),
    "linden": (6, 25),
    "boneset": (8, 15),
    "aster": (8, 25),
    "goldenrod": (8, 25),
}


@pytest.mark.parametrize(("plant", "day"), NEW_JERSEY_BEGINS.items())
def test_bloom_begins_within_two_weeks_of_the_new_jersey_lists(plant: str, day: tuple[int, int]):
    assert abs(bloom(plant)[0] - new_jersey(*day)) <= 2


def test_bloom_follows_the_order_of_the_new_jersey_lists():
    listed = list(NEW_JERSEY_BEGINS.items())
    for position, (earlier, first) in enumerate(listed):
        for later, second in listed[position + 1 :]:
            apart = new_jersey(*second) - new_jersey(*first)
            if apart >= 1:
                assert bloom(earlier)[0] <= bloom(later)[0], f"{earlier} before {later}"
            if apart >= 3:
                assert bloom(earlier)[0] < bloom(later)[0], f"{earlier} well before {later}"


@pytest.mark.parametrize(
    ("plant", "begins", "ends"),
    [
        ("crimson-clover", (5, 11), (5, 20)),
        ("lupin", (5, 1), (5, 31)),
        ("raspberry", (5, 1), (5, 31)),
        ("wild-strawberry", (5, 1), (5, 31)),
        ("oxeye-daisy", (6, 11), (6, 20)),
        ("catmint", (7, 1), (7, 31)),
        ("swamp-milkweed", (7, 1), (7, 31)),
    ],
)  # the same two lists, plants given by month
def test_bloom_covers_part_of_the_month_in_the_new_jersey_lists(
    plant: str, begins: tuple[int, int], ends: tuple[int, int]
):
    assert overlap(bloom(plant), (new_jersey(*begins), new_jersey(*ends))) >= 1


def test_fruits_open_in_the_order_seen_in_michigan():
    # USDA report of 7 May 2018: apricots in bloom; peach at red calyx to pink and Japanese plum at first white;
    # cherries at tight cluster at most; apples at half-inch green at most.
    begins = [bloom(fruit)[0] for fruit in ("apricot", "peach", "sweet-cherry", "apple")]
    assert begins == sorted(begins)
    assert len(set(begins)) == 4
    assert bloom("apricot")[0] < bloom("plum")[0] <= bloom("sweet-cherry")[0]
    assert bloom("quince")[0] > bloom("apple")[0]  # common practice, no source


def test_apricot_blooms_on_its_normal_date_in_michigan():
    # Michigan State University, March 2017: apricot normally blooms about 15 April in the south-west of the state;
    # apple full bloom there is taken as 8 May (it was 11 May in the late spring of 2011, same office).
    week = (date(2017, 4, 15) - date(2017, 5, 8)).days / 7
    assert bloom("apricot")[0] <= week <= bloom("apricot")[1]


def test_cornelian_cherry_opens_no_later_than_red_maple():
    # Ohio State University 2020: first bloom at 40 and 44 degree-days (base 50 °F).
    assert bloom("cornelian-cherry")[0] <= bloom("red-maple")[0]


def test_full_bloom_of_apple_is_week_nought():
    begins, ends = bloom("apple")
    assert begins < 0 < ends


# --- hosts against published lists -----------------------------------------------------------------------------------


def test_rosy_apple_aphid_summers_on_plantains_and_not_on_the_weeds_that_were_clean():
    # Cockfield and others 2011, Pan-Pacific Entomologist 87:276; Beers in Good Fruit Grower.
    hosts = starts("hosts", "rosy-apple-aphid")
    assert {"ribwort-plantain", "broad-plantain"} <= hosts
    assert not hosts & {"dandelion", "dock", "smartweed", "lambsquarters", "mallow", "white-clover", "yarrow"}
    (link,) = [one for one in links() if (one["from"], one["to"]) == ("ribwort-plantain", "rosy-apple-aphid")]
    assert link["evidence"] == "published"
    assert link["season"] == {"weeks": [3, 26]}  # leaves apple late May to July, returns September to November


def test_tomato_ringspot_has_the_three_weeds_found_most_often():
    # Powell and others 1984, Plant Disease 68:242.
    assert {"dandelion", "sheep-sorrel", "chickweed"} <= starts("hosts", "tomato-ringspot")


def test_x_disease_has_the_weeds_that_tested_positive_and_no_grass():
    # DuPont, Harper and Northfield 2024, Washington State University; chokecherry from the Pacific Northwest handbook.
    hosts = starts("hosts", "x-disease")
    assert {
        "dandelion",
        "lambsquarters",
        "amaranth",
        "mallow",
        "shepherds-purse",
        "white-clover",
        "wild-carrot",
        "chickweed",
        "deadnettle",
        "wild-rose",
        "chokecherry",
    } <= hosts
    assert not {name for name in hosts if plants()[name]["form"] == "grass"}


def test_fire_blight_has_its_published_hosts_and_not_the_brambles():
    # Nebraska Extension and Colorado State University lists; strains of Rubus infect Rubus only (EPPO 1995/56).
    hosts = starts("hosts", "fire-blight")
    assert {
        "apple",
        "pear",
        "quince",
        "chokeberry",
        "cotoneaster",
        "crab-apple",
        "hawthorn",
        "wild-rose",
        "spirea",
        "serviceberry",
        "pyracantha",
        "rowan",
    } <= hosts
    assert not hosts & {"raspberry", "bramble"}


def test_junipers_pass_on_the_rusts_and_white_cedar_does_not():
    # Ontario Publication 310F (white cedar no host); Washington State University (junipers of pear rust).
    assert linked("eastern-redcedar", "alternate-host-of", "cedar-apple-rust")
    assert linked("eastern-redcedar", "spreads", "quince-rust")
    for juniper in ("savin-juniper", "chinese-juniper"):
        assert linked(juniper, "alternate-host-of", "pear-rust")
        assert linked(juniper, "spreads", "pear-rust")
    assert not linked("common-juniper", "spreads", "pear-rust")
    assert not [
        link
        for link in links()
        if link["from"] in ("white-cedar", "yew") and link["link"] in ("alternate-host-of", "spreads")
    ]


def test_every_alternate_host_also_spreads_its_rust():
    for link in links():
        if link["link"] == "alternate-host-of":
            assert linked(link["from"], "spreads", link["to"]), f"{link['from']} and {link['to']}"


def test_spotted_wing_drosophila_and_apple_maggot_have_their_wild_fruit():
    # Ontario list and Lee and others 2015 (drosophila); eXtension apples (maggot).
    assert {"honeysuckle", "bramble", "raspberry", "wild-cherry", "dogwood", "autumn-olive", "elder"} <= starts(
        "hosts", "spotted-wing-drosophila"
    )
    assert {"hawthorn", "crab-apple", "cotoneaster", "rowan", "serviceberry", "wild-plum"} <= starts(
        "hosts", "apple-maggot"
    )


def test_canker_and_silver_leaf_have_their_forest_hosts():
    # NIAB (apple canker; only poplar blamed in practice); Natural Resources Canada (silver leaf).
    assert {"beech", "poplar", "hawthorn", "red-maple"} <= starts("hosts", "apple-canker")
    strength = {
        link["from"]: link["strength"] for link in links() if link["link"] == "hosts" and link["to"] == "apple-canker"
    }
    assert strength["poplar"] > max(strength["beech"], strength["hawthorn"], strength["red-maple"])
    assert {"poplar", "willow", "beech", "red-maple", "rowan", "serviceberry", "dogwood"} <= starts(
        "hosts", "silver-leaf"
    )


def test_voles_take_crocus_and_leave_the_bulbs_that_were_left():
    # Miller (Cornell University) on prairie voles in a bulb store: crocus eaten; daffodil and snowdrop left alone.
    eaten = starts("hosts", "voles")
    assert "crocus" in eaten
    assert "white-clover" in eaten  # Granatstein and Mullinix 2008
    assert not eaten & {"daffodil", "snowdrop"}


def test_hosts_are_never_plants_nobody_has_described():
    unknown = {link["from"] for link in links() if link["link"] in ("hosts", "alternate-host-of")} - set(plants())
    assert not {
        name
        for name in unknown
        if name
        not in {
            entry["id"]
            for pattern in ("*.yaml", "pests/*.yaml")
            for _, entry in entries(pattern)
            if isinstance(entry, dict)
        }
    }


# --- allies, stems, soil ---------------------------------------------------------------------------------------------


def test_flowers_named_for_natural_enemies_feed_them():
    named_for_lacewings = {
        "parsley",
        "yarrow",
        "dill",
        "angelica",
        "coriander",
        "cosmos",
        "fennel",
        "dandelion",
        "sweet-cicely",
        "cow-parsley",
    }  # a UK orchard charity's list
    assert named_for_lacewings <= starts("feeds", "lacewing")
    named_in_mixes = {
        "birdsfoot-trefoil",
        "wild-carrot",
        "coriander",
        "buckwheat",
        "phacelia",
        "cornflower",
    }  # NIAB East Malling
    assert named_in_mixes <= starts("feeds", "parasitic-wasp")


def test_short_tongues_are_not_fed_by_deep_flowers():
    # Hover-flies and lacewings cannot reach nectar in deep flowers (common practice, no source).
    for link in links():
        plant = plants().get(link["from"])
        if plant and link["link"] == "feeds" and link["to"] in ("hover-fly", "lacewing", "tachinid-fly"):
            assert plant["flower"] == "open" or plant["pollen"] >= 2, link["from"]
            assert plant["flower"] != "deep", link["from"]


def test_plants_feed_bees_only_while_they_bloom():
    bees = {"bumble-bee", "honey-bee", "mason-bee", "soil-bee", "leafcutter-bee"}
    for link in links():
        if link["link"] == "feeds" and link["from"] in plants() and link["to"] in bees:
            assert link["season"] == {"weeks": list(bloom(link["from"]))}, link["from"]


def test_bloom_links_say_what_the_plants_say():
    blooms = [link for link in links() if link["link"] == "blooms"]
    for name, plant in plants().items():
        own = [link for link in blooms if link["from"] == name]
        pollen = [link for link in own if link["to"] == "pollen"]
        nectar = [link for link in own if link["to"] != "pollen"]
        assert len(pollen) == (plant["pollen"] > 0)
        assert bool(nectar) == (plant["nectar"] > 0), name
        if nectar:  # the four parts of the season join without a gap and cover the whole bloom
            assert min(link["season"]["weeks"][0] for link in nectar) == bloom(name)[0]
            assert max(link["season"]["weeks"][1] for link in nectar) == bloom(name)[1]
        for link in own:
            assert link["strength"] == (plant["pollen"] if link["to"] == "pollen" else plant["nectar"])
            assert (
                overlap(tuple(link["season"]["weeks"]), bloom(name))
                == link["season"]["weeks"][1] - link["season"]["weeks"][0]
            )


def test_stems_named_for_bees_stand_or_are_woody():
    # Maryland Department of Natural Resources 2020.
    named = {
        "wild-bergamot",
        "anise-hyssop",
        "mountain-mint",
        "culvers-root",
        "purple-coneflower",
        "swamp-milkweed",
        "joe-pye-weed",
        "goldenrod",
    }
    assert all(plants()[name]["stems"] in ("standing", "hollow", "pithy") for name in named)
    assert named <= starts("shelters", "leafcutter-bee")


def test_nitrogen_is_fixed_by_the_bean_family_and_the_partners_of_frankia_alone():
    # Standard botany: rhizobia with Fabaceae, Frankia with Elaeagnaceae and alders.
    fixers = {name for name, plant in plants().items() if plant["fixes_nitrogen"]}
    assert fixers == {name for name, plant in plants().items() if plant["family"] in ("Fabaceae", "Elaeagnaceae")} | {
        "alder"
    }
    published = {link["from"] for link in links() if link["link"] == "gathers" and link["to"] == "nitrogen"}
    assert fixers <= published


def test_claims_on_minerals_stay_weak():
    # Tyler and Zarro 2022: proof that such plants bring minerals up from depth was scarce.
    for link in links():
        plant = plants().get(link["from"])
        if link["link"] == "gathers" and plant is not None and not plant["fixes_nitrogen"]:
            assert link["strength"] == 1, link["from"]


def test_grasses_rival_the_tree_from_bloom_to_mid_july_and_taproots_weakly():
    # Bradshaw, University of Vermont: the critical time is bloom to about mid July (ten weeks).
    rivals = {link["from"]: link for link in links() if link["link"] == "competes-with" and link["to"] == "apple"}
    for grass in ("orchardgrass", "perennial-ryegrass", "timothy", "couch"):
        assert rivals[grass]["strength"] == 3
    assert {tuple(link["season"]["weeks"]) for link in rivals.values()} == {(0, 10)}
    assert all(rivals[herb]["strength"] == 1 for herb in ("chicory", "dandelion", "sterile-comfrey", "dock"))


# --- hazards ---------------------------------------------------------------------------------------------------------


def test_fodder_poisons_are_marked():
    # Common practice, no source: the wilted leaf, the hay and the hedge clippings that kill stock.
    assert all(
        "livestock" in plants()[name]["toxic"]
        for name in (
            "yew",
            "tansy-ragwort",
            "common-comfrey",
            "sterile-comfrey",
            "peach",
            "plum",
            "sweet-cherry",
            "tart-cherry",
            "apricot",
            "nectarine",
            "wild-cherry",
            "chokecherry",
            "black-locust",
        )
    )
    assert all(
        "horses" in plants()[name]["toxic"]
        for name in ("alsike-clover", "red-maple", "field-horsetail", "black-walnut", "yew")
    )


def test_plants_that_never_leave_are_marked():
    # Withall (common comfrey, hard to remove) and common practice.
    assert all(
        plants()[name]["permanent"]
        for name in (
            "common-comfrey",
            "sterile-comfrey",
            "goutweed",
            "field-horsetail",
            "mint",
            "couch",
            "bindweed",
            "black-locust",
        )
    )
    assert "eastern-us" in plants()["autumn-olive"]["invasive_in"]
    assert "pacific-coast" in plants()["fennel"]["invasive_in"]
    assert not plants()["goumi"]["invasive_in"]


def test_look_alikes_of_hemlock_say_so():
    for name in ("wild-carrot", "cow-parsley", "angelica", "sweet-cicely"):
        assert any("Hemlock" in sentence for sentence in plants()[name]["cautions"]), name


# --- links, figures and sources --------------------------------------------------------------------------------------


@cache
def sources() -> dict[str, dict[str, Any]]:
    return {entry["id"]: entry for pattern in ("sources.yaml", "sources/*.yaml") for _, entry in entries(pattern)}


def own_links() -> list[dict[str, Any]]:
    return [entry for _, entry in entries("links/plants*.yaml")]


def test_links_of_plants_are_well_formed_and_stand_once():
    seen = set()
    for entry in own_links():
        link = Link.model_validate(entry)
        assert entry["season"], entry
        assert entry["evidence"] in ("published", "common-practice", "from-memory")
        assert ("source" in entry) == (entry["evidence"] == "published"), entry
        assert entry["from"] in plants()
        key = (entry["from"], entry["link"], entry["to"], str(link.season))
        assert key not in seen, f"{key} stands twice"
        seen.add(key)


def test_sources_of_plants_are_known():
    for entry in own_links():
        assert entry.get("source", "nj-beekeepers-nectar") in sources()
    for plant in plants().values():
        assert set(plant["sources"]) <= set(sources())
    for _, entry in entries("sources/plants.yaml"):
        Source.model_validate(entry)
        assert entry["seen"] in ("seen", "second-hand", "memory")


def test_what_was_only_recalled_backs_no_published_claim():
    for entry in own_links():
        if entry["evidence"] == "published":
            assert sources()[entry["source"]]["seen"] != "memory", entry


@cache
def figures() -> dict[str, dict[str, Any]]:
    return {entry["id"]: entry for _, entry in entries("figures/habitat.yaml")}


def value(name: str) -> float:
    figure = figures()[name]
    return next(row["value"] for row in figure["rows"] if row["region"] == figure["default"])


def test_figures_are_well_formed_with_source_or_mark():
    for figure in figures().values():
        Figure.model_validate(figure)
        for row in figure["rows"]:
            assert row["region"] in REGIONS
            assert ("source" in row) == (row["evidence"] == "published")
            assert row.get("source", "nj-beekeepers-nectar") in sources()
        assert figure["default"] in {row["region"] for row in figure["rows"]}


def test_figures_say_what_was_published():
    assert [value(f"flower-succession.kinds-{season}") for season in ("early", "mid", "late")] == [
        3,
        3,
        3,
    ]  # Minnesota; Maryland
    assert (value("flower-habitat.share-least"), value("flower-habitat.share-most")) == (0.10, 0.15)  # McKerchar 2020
    assert (value("flower-margin.width-least"), value("flower-margin.reach")) == (5, 50)  # Howard and others 2024
    assert value("flower-strip.width-least") == pytest.approx(20 * 0.3048, abs=0.1)  # Minnesota: 20 ft
    assert value("nest.distance-to-bloom") == 150  # Hofmann and others 2020
    assert value("black-walnut.distance") == pytest.approx(80 * 0.3048, abs=0.5)  # Funt and Martin: up to 80 ft
    assert value("alfalfa.nitrogen-least") == pytest.approx(
        80 * 1.121, abs=1
    )  # Pavek and Granatstein: 80 to 180 lb an acre
    assert value("alfalfa.nitrogen-most") == pytest.approx(180 * 1.121, abs=1)
    assert value("bumble-bee.flight") < value("bumble-bee.flight-most") < value("honey-bee.flight-least")


def test_leaf_minerals_rank_as_measured():
    # Agroscope 2001: legumes hold most calcium, herbs most potassium and magnesium, grasses least of two.
    def ranked(mineral: str) -> list[str]:
        return sorted(("grass", "legume", "herb"), key=lambda group: value(f"{group}-leaf.{mineral}"))

    assert ranked("calcium") == ["grass", "herb", "legume"]
    assert ranked("potassium") == ["legume", "grass", "herb"]
    assert ranked("magnesium") == ["grass", "legume", "herb"]


def test_each_part_of_the_season_has_flowers_to_choose_from_that_do_no_harm():
    # Three kinds in each season (Minnesota, Maryland) must be within reach of any grower: at least nine to choose
    # from that are neither poisonous, invasive, permanent nor carriers of a trouble of the trees.
    carriers = {link["from"] for link in links() if link["link"] in ("hosts", "alternate-host-of")}
    bounds = [
        value("flower-succession.early-opens-weeks"),
        value("flower-succession.mid-opens-weeks"),
        value("flower-succession.late-opens-weeks"),
        value("flower-succession.late-closes-weeks"),
    ]
    for begins, ends in pairwise(bounds):
        harmless = {
            name
            for name, plant in plants().items()
            if plant["bloom"] != "none"
            and overlap(bloom(name), (begins, ends)) >= 2
            and plant["nectar"] + plant["pollen"] >= 2
            and not plant["toxic"]
            and not plant["invasive_in"]
            and not plant["permanent"]
            and name not in carriers
        }
        assert len(harmless) >= 9, (begins, sorted(harmless))
