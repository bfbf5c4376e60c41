"""What bloom an orchard lacks and what is chosen for it, in small situations turned one fact at a time.

Every chosen set is looked at again by a checker that reads the knowledge files itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from advisor.habitat import bloom
from scenarios.orchards import answered, orchard
from scenarios.planting_checker import faults

NEW_YORK = {"guidance": "new-york"}
ENGLAND = {"guidance": "uk", "latitude": 51.5, "longitude": -1.4, "timezone": "Europe/London"}
NELSON = {"guidance": "new-zealand", "latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"}
SPRING = {"north": "2026-05-20", "south": "2026-10-20"}
FULL = {"north": "2026-05-10", "south": "2026-10-10"}

SOUR = {"date": "2026-04-01", "kind": "soil-test", "block": "pear", "results": {"ph": 5.6}}
SWEET = {**SOUR, "results": {"ph": 7.4}}


def asked(
    *,
    fruits: Sequence[str] = ("apple",),
    plants: Sequence[str] = (),
    about: dict[str, Any] | None = None,
    block: dict[str, Any] | None = None,
    seen: Sequence[dict[str, Any]] = (),
    habitats: Sequence[dict[str, Any]] = (),
    wanted: str | None = None,
    **terms: Any,
) -> Any:
    """The record of a small orchard; every choice in it has been looked at twice."""
    where = about or NEW_YORK
    side = "south" if where.get("latitude", 42) < 0 else "north"
    blocks = [
        {"id": fruit, "fruit": fruit, "floor": "turf", "understory": list(plants), **(block or {})} for fruit in fruits
    ]
    looks = [{"date": FULL[side], "kind": "tree-stage", "block": fruits[0], "stage": "full-bloom"}, *seen]
    file = orchard(blocks, looks, habitats, **where)
    found = bloom(file, on=SPRING[side], wanted=wanted, terms=terms)
    for choice in found["choices"]:
        assert faults(found, choice, file, terms) == [], choice["text"]
    return found


def chosen(found: Any) -> set[str]:
    return {plant["plant"] for choice in found["choices"] for plant in choice["plants"]}


def status(found: Any) -> str:
    return str(found["left_out"][0]["status"])


def reasons(found: Any) -> str:
    return " ".join(found["left_out"][0]["reasons"])


# each: (id, source, wanted, situation in which it is ruled out, word of the reason, situation in which it is not)
PAIRS: list[tuple[str, str, str, dict[str, Any], str, dict[str, Any]]] = [
    ("a juniper stands by no apple", "Georgia and Minnesota Extension: cedar-apple rust and juniper", "eastern-redcedar",
     {"fruits": ("apple",)}, "other host of", {"fruits": ("peach",)}),
    ("savin is kept from pears", "Washington State University: pear trellis rust on savin juniper", "savin-juniper",
     {"fruits": ("pear",)}, "other host of", {"fruits": ("plum",)}),
    ("chokecherry is kept from cherries", "Washington State University: X-disease reservoirs", "chokecherry",
     {"fruits": ("sweet-cherry",)}, "reservoir", {"fruits": ("apple",)}),
    ("clover is a reservoir by stone fruit only", "Washington State University: broadleaf weeds and X-disease",
     "white-clover", {"fruits": ("peach",)}, "reservoir", {"fruits": ("pear",)}),
    ("blackthorn is kept from plums", "hedge notes: plum pox reservoir (from memory), suckers", "blackthorn",
     {"fruits": ("plum",), "about": ENGLAND, "permanent": True}, "reservoir",
     {"fruits": ("apple",), "about": ENGLAND, "permanent": True}),
    ("dandelion carries a virus of apple", "Powell and others 1984: 21 of 42 weeds carry tomato ringspot", "dandelion",
     {"fruits": ("apple",), "permanent": True}, "reservoir", {"fruits": ("pear",), "permanent": True}),
    ("cotoneaster is a chief host of fire blight", "Nebraska Extension: fire blight hosts", "cotoneaster",
     {"fruits": ("apple",)}, "chief host", {"fruits": ("peach",)}),
    ("plantain is a chief host of rosy aphid", "Cockfield and others 2011: 11 and 19 % of plantain samples",
     "ribwort-plantain", {"fruits": ("apple",)}, "chief host", {"fruits": ("pear",)}),
    ("hawthorn where fire blight was", "Nebraska Extension: fire blight hosts", "hawthorn",
     {"about": ENGLAND, "block": {"history": ["fire-blight"]}}, "noted or seen here", {"about": ENGLAND}),
    ("willow is invasive in New Zealand", "from memory: grey and crack willow there", "willow",
     {"about": NELSON}, "invasive here", {"about": NEW_YORK}),
    ("goldenrod is invasive in Europe", "from memory: giant goldenrod", "goldenrod",
     {"about": ENGLAND, "permanent": True}, "invasive here", {"about": NEW_YORK, "permanent": True}),
    ("fennel on the Pacific coast", "from memory: invasive there", "fennel",
     {"about": {"guidance": "california"}}, "invasive here", {"about": NEW_YORK}),
    ("sterile comfrey stays for good", "M. Withall, comfrey: sterile, but every root piece regrows", "sterile-comfrey",
     {}, "hard to be rid of", {"permanent": True}),
    ("poisonous plants only if accepted", "common practice, no source", "daffodil",
     {"toxic": False}, "poisonous", {}),
    ("alsike clover where horses graze", "from memory: photosensitive horses", "alsike-clover",
     {"fruits": ("pear",), "grazed": True}, "animals graze", {"fruits": ("pear",)}),
    ("an annual only if accepted", "common practice, no source", "phacelia", {"annuals": False}, "each year", {}),
    ("lavender wants dry ground", "from memory", "lavender",
     {"block": {"site": "wet"}}, "wants dry", {"block": {"site": "dry"}}),
    ("swamp milkweed wants moist ground", "from memory", "swamp-milkweed",
     {"block": {"site": "dry"}}, "wants moist", {"block": {"site": "moist"}}),
    ("alfalfa on sour soil", "Midwest Cover Crops Council: alfalfa pH 6.0 to 8.0", "alfalfa",
     {"fruits": ("pear",), "seen": (SOUR,)}, "wants soil of pH", {"fruits": ("pear",), "seen": (SWEET,)}),
    ("red clover bears what alfalfa does not", "Midwest Cover Crops Council: red clover pH 5.5 to 7.0", "red-clover",
     {"fruits": ("pear",), "seen": (SWEET,)}, "wants soil of pH", {"fruits": ("pear",), "seen": (SOUR,)}),
    ("lavender on clay", "from memory: well-drained ground", "lavender",
     {"block": {"soil": "clay"}}, "heavy soil", {"block": {"soil": "loam"}}),
    ("linden shades the trees, hazel does not", "height: from memory; limit: common practice, no source", "linden",
     {}, "shade the trees", {"wanted": "hazel"}),
    ("a hedge plant where there is room for none", "common practice, no source", "cornelian-cherry",
     {"spots": ("under-trees", "alley")}, "room here", {"spots": ("hedge",)}),
    ("crocus where voles gnaw", "W. B. Miller: crocus corms among the favourites of voles", "crocus",
     {"seen": ({"date": "2026-05-12", "kind": "vole-sign", "block": "apple", "gnawing": True},)}, "voles",
     {"seen": ({"date": "2026-05-12", "kind": "vole-sign", "block": "apple", "gnawing": False},)}),
    ("rosemary freezes in New York", "hardiness zone 8 (from memory); zones: USDA map", "rosemary",
     {"about": {**NEW_YORK, "coldest": "zone 5b"}}, "stands winters down to", {"about": {**NEW_YORK, "coldest": "-5 °C"}}),
    ("bergamot in the coldest prairie", "USDA PLANTS: wild bergamot to -32 °F", "wild-bergamot",
     {"about": {"guidance": "michigan", "coldest": "-40 °F"}}, "stands winters down to",
     {"about": {"guidance": "michigan", "coldest": "-30 °F"}}),
    ("crimson clover winters where it is sown in autumn", "zone 6 (from memory)", "crimson-clover",
     {"fruits": ("pear",), "about": {**NEW_YORK, "coldest": "-27 °C"}}, "stands winters down to",
     {"fruits": ("pear",), "about": {**NEW_YORK, "coldest": "-20 °C"}}),
    ("black walnut poisons apples", "Funt and Martin: black walnut 50 to 80 ft from apples", "black-walnut",
     {"fruits": ("apple",)}, "harms", {"wanted": "cornelian-cherry"}),
]  # fmt: skip


@pytest.mark.parametrize(("wanted", "out", "word", "fine"), [pytest.param(*p[2:], id=p[0]) for p in PAIRS])
def test_a_plant_is_ruled_out_and_the_turned_fact_lets_it_in(
    wanted: str, out: dict[str, Any], word: str, fine: dict[str, Any]
) -> None:
    against = asked(wanted=wanted, **out)
    assert status(against) == "left out"
    assert word in reasons(against)
    assert wanted not in chosen(against)
    let_in = asked(**{"wanted": wanted, **fine})
    assert word not in reasons(let_in)


@pytest.mark.parametrize("accepts", [{}, {"permanent": True}])
def test_ragwort_and_common_comfrey_are_never_advised(accepts: dict[str, Any]) -> None:
    """Ragwort: liver poison of stock, noxious (from memory and notes). Comfrey: M. Withall, fertile seed."""
    for name, word in (("tansy-ragwort", "Never plant"), ("common-comfrey", "sterile one")):
        found = asked(wanted=name, **accepts)
        assert status(found) == "left out"
        assert word in reasons(found)
        assert not {"tansy-ragwort", "common-comfrey"} & chosen(found)


def test_sterile_comfrey_says_that_it_stays_and_is_poisonous_before_it_is_advised() -> None:
    """M. Withall: sterile but permanent; liver poison: from memory."""
    priced = {"sterile-comfrey": 1, "willow": 1, "aster": 1, "purple-coneflower": 1, "orchardgrass": 1, "chives": 1}
    found = asked(permanent=True, prices=priced)
    (choice,) = [one for one in found["choices"] if one["rank"] == 1]
    assert "sterile-comfrey" in {plant["plant"] for plant in choice["plants"]}
    assert any("stays for good" in text for text in choice["first_know"])
    assert any("poisonous" in text for text in choice["first_know"])


def test_early_bloom_is_chosen_where_it_is_lacking_and_not_where_it_stands() -> None:
    """Minnesota guidance: three kinds each early, mid and late, without a break."""
    summer = ["chives", "wild-bergamot", "aster", "fennel"]
    without = asked(plants=summer)
    assert "nectar in weeks -5 to -2" in without["lacks"]
    assert all(min(p["weeks"][0] for p in one["plants"]) <= -5 for one in without["choices"])
    with_early = asked(plants=[*summer, "willow", "lungwort"])
    assert not any("week -5" in text or "weeks -5" in text for text in with_early["lacks"])


def test_three_kinds_in_each_season_are_asked_for() -> None:
    """Minnesota (BWSR) and Maryland (Garrett district): at least three kinds early, mid and late."""
    found = asked(plants=["goldenrod", "wild-bergamot"])
    (late,) = [one for one in found["seasons"] if one["part"] == "late"]
    assert (late["kinds"], late["wanted"], late["thin"]) == (["goldenrod", "wild-bergamot"], 3, True)
    fuller = asked(plants=["goldenrod", "wild-bergamot", "aster"])
    assert not any(one["thin"] for one in fuller["seasons"] if one["part"] == "late")


def test_nitrogen_is_filled_only_if_it_is_wanted() -> None:
    """Pavek and Granatstein: legumes fix nitrogen in the alley."""
    assert "nitrogen from the air" not in asked(fruits=("pear",))["lacks"]
    found = asked(fruits=("pear",), nitrogen=True)
    assert "nitrogen from the air" in found["lacks"]
    assert found["choices"]


def test_a_hedge_gives_shelter_and_a_pond_margin_does_not() -> None:
    """Dennis and others 1994; Thomas and others 1991: predators winter in hedges and tussocks."""
    hedge = {"id": "h", "kind": "hedge", "plants": ["hazel"]}
    assert "winter shelter for allies" not in asked(habitats=[hedge])["lacks"]
    assert "winter shelter for allies" in asked(habitats=[{**hedge, "kind": "meadow"}])["lacks"]


def test_prices_turn_the_choice() -> None:
    """The fewest kinds are not the cheapest where one of them is dear (arithmetic)."""
    needed = ["chives", "wild-bergamot", "aster", "fennel", "elder"]
    fruits = ("apple", "pear")
    cheap = asked(fruits=fruits, plants=needed, prices={"willow": 3, "lungwort": 40})
    dear = asked(fruits=fruits, plants=needed, prices={"willow": 40, "lungwort": 3})
    assert cheap["choices"][0]["price"] == 3
    assert {p["plant"] for p in cheap["choices"][0]["plants"]} == {"willow"}
    assert {p["plant"] for p in dear["choices"][0]["plants"]} == {"lungwort"}


COLD = {**NEW_YORK, "coldest": "zone 3"}
MILD = {**NEW_YORK, "coldest": "zone 7"}


def test_a_cold_orchard_is_told_of_fewer_plants_and_none_that_freezes() -> None:
    """USDA zones; the checker in `asked` looks at each plant again."""
    cold, mild = asked(about=COLD), asked(about=MILD)
    assert cold["winter"]["zone"] == "3a"
    assert cold["choices"]
    assert mild["choices"]
    stands = [plant["hardy"]["coldest_c"] for one in cold["choices"] for plant in one["plants"]]
    assert all(low is None or low <= -39.9 for low in stands)
    assert any("-40 °C (hardiness zone 3a)" in note for note in cold["notes"])


def test_without_a_winter_every_plant_says_what_it_stands_and_none_is_left_out() -> None:
    found = asked(wanted="rosemary")
    assert (found["winter"]["coldest_c"], found["winter"]["known_by"]) == (None, None)
    assert "stands winters" not in reasons(found)
    for plant in (plant for one in found["choices"] for plant in one["plants"]):
        dies = "sown anew each year" in plant["drawbacks"]
        assert ("stands winters down to" in plant["hardy"]["text"]) is not dies, plant["plant"]
    assert any("How cold the winters are is not known" in note for note in found["notes"])


@pytest.mark.parametrize("fruit", ["apple", "pear", "plum"])
def test_the_cheapest_set_costs_least_and_the_fewest_kinds_are_fewest(fruit: str) -> None:
    """Each goal is best by its own measure (arithmetic): no set is cheaper than the one, none smaller than the other."""
    few = asked(fruits=(fruit,), about=MILD)
    offered = sorted({p["plant"] for one in few["choices"] for p in one["plants"]} | CHEAP)
    prices = {name: 1.0 if name in CHEAP else 30.0 for name in offered}
    cheap = asked(fruits=(fruit,), about=MILD, prices=prices)
    best = cheap["choices"][0]
    assert best["price"] == sum(prices[p["plant"]] for p in best["plants"])
    assert best["kinds"] >= few["choices"][0]["kinds"]
    for one in few["choices"]:
        assert best["price"] <= sum(prices[p["plant"]] for p in one["plants"])
    assert [one["price"] for one in cheap["choices"]] == sorted(one["price"] for one in cheap["choices"])
    assert all(one["price"] <= 1.5 * best["price"] for one in cheap["choices"])
    assert cheap["choosing"]["counts"] == "price"


CHEAP = {"willow", "lungwort", "chives", "aster", "goldenrod", "wild-bergamot", "purple-coneflower", "red-clover",
         "borage", "phacelia", "orchardgrass", "boneset", "mountain-mint", "catmint", "cornelian-cherry", "fennel"}  # fmt: skip


def test_one_dear_kind_gives_way_to_two_cheap_ones() -> None:
    """Worked by hand: grape hyacinth alone fills weeks -5 to -3; cornelian cherry fills -5 and -4, currant -3."""
    needed = ["chives", "wild-bergamot", "aster", "fennel", "elder", "yarrow", "borage"]
    one = asked(plants=needed, about=MILD)["choices"][0]
    two = asked(plants=needed, about=MILD, prices={"grape-hyacinth": 50, "cornelian-cherry": 2, "currant": 2})["choices"][0]
    dear = asked(plants=needed, about=MILD, prices={"grape-hyacinth": 3, "cornelian-cherry": 2, "currant": 2})["choices"][0]
    assert one["kinds"] == 1
    assert ({p["plant"] for p in two["plants"]}, two["price"]) == ({"cornelian-cherry", "currant"}, 4)
    assert ({p["plant"] for p in dear["plants"]}, dear["price"]) == ({"grape-hyacinth"}, 3)


def test_what_the_priced_plants_cannot_fill_is_said() -> None:
    found = asked(prices={"willow": 1})
    assert [{p["plant"] for p in one["plants"]} for one in found["choices"]] == [{"willow"}]
    assert any("accepted here" in text for text in found["beyond"])
    assert any("only plants with a price" in note for note in found["notes"])


PRACTICE = {
    "under the trees": "plant-understory",
    "in the alleys and at the edge of the canopies": "plant-understory",
    "in a margin or flower strip": "sow-flower-strip",
    "in a hedge": "plant-hedge",
}


@pytest.mark.parametrize("fruit", ["apple", "pear", "plum"])
def test_the_advice_forbids_no_plant_that_is_chosen(fruit: str) -> None:
    """What one part of the program tells a grower to plant, another must not tell the same grower to avoid."""
    blocks = [{"id": "b", "fruit": fruit, "floor": "turf", "understory": [], "history": ["fire-blight", "plum-pox"]}]
    full = {"date": "2026-05-10", "kind": "tree-stage", "block": "b", "stage": "full-bloom"}
    found = bloom(orchard(blocks, [full], **NEW_YORK), on="2026-05-20")
    assert found["choices"]
    for one in {p["plant"]: p for choice in found["choices"] for p in choice["plants"]}.values():
        for spot in one["where"]:
            meant = {"id": "meant", "date": "2026-05-20", "kind": "intent", "practice": PRACTICE[spot], "block": "b",
                     "target": one["plant"]}  # fmt: skip
            answer = answered(orchard(blocks, [full, meant], **NEW_YORK), "2026-05-20", "meant")
            assert answer["stance"] != "avoid", (one["plant"], answer["summary"])


def test_the_checker_finds_what_is_wrong() -> None:
    """It must be able to fail: a set with a plant taken out, or with a plant that may not stand here."""
    found = asked()
    best = found["choices"][0]
    file = orchard([{"id": "apple", "fruit": "apple", "floor": "turf", "understory": []}], **NEW_YORK)
    for plant in best["plants"]:
        rest = [one for one in best["plants"] if one["plant"] != plant["plant"]]
        assert faults(found, {"plants": rest}, file), plant["plant"]
    for name in ("eastern-redcedar", "autumn-olive", "tansy-ragwort", "linden", "dandelion", "cotoneaster"):
        assert faults(found, {"plants": [*best["plants"], {"plant": name}]}, file), name


def test_too_few_kinds_allowed_is_said_and_nothing_half_done_is_advised() -> None:
    found = asked(most=1)
    assert found["choices"] == []
    assert any("with at most 1 kinds" in note for note in found["notes"])


@pytest.mark.parametrize("about", [NEW_YORK, ENGLAND, NELSON, {"guidance": "california"}, {"guidance": "australia"}])
@pytest.mark.parametrize("fruit", ["apple", "pear", "peach", "plum", "sweet-cherry"])
def test_every_choice_for_every_fruit_and_region_is_sound(about: dict[str, Any], fruit: str) -> None:
    """The checker runs inside `asked`; here it must have had something to look at."""
    found = asked(about=about, fruits=(fruit,), block={"site": "moist"})
    assert found["choices"]
    assert found["choosing"]["gap"] is None or found["choosing"]["gap"] >= 0
