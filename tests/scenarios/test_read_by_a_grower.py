"""Whole answers read as a grower reads them: nothing odd said, nothing plain left out, safety by stage alone."""

from __future__ import annotations

import io
from typing import Any

import pytest
from rich.console import Console

from advisor import advise
from advisor.terminal import write
from scenarios.asking import HEDGE, SOUTH, Ask, apples, stage
from scenarios.orchards import orchard, recommended
from scenarios.skies import sky

SPIRAL = {"guards": "spiral"}
PLUMS = {"id": "plums", "fruit": "plum", "trees": 6, "planted": 2015, "spacing": "5 m x 4 m"}
CHERRIES = {"id": "cherries", "fruit": "tart-cherry", "trees": 10, "planted": 2012, "spacing": "6 m x 5 m"}
IN_UPPER = {"intent": {"block": "upper"}}


def on(day: str, *seen: dict[str, Any]) -> list[dict[str, Any]]:
    return [{"date": day, **one} for one in seen]


# --- Safety that hangs on the stage alone -----------------------------------------------------------------------------
@pytest.mark.parametrize("word", ["half-grown", "colouring", "harvest"])
@pytest.mark.parametrize("practice", ["graze", "spread-manure"])
def test_fruit_on_the_tree_keeps_animals_and_raw_manure_out_though_nobody_saw_the_bloom(
    word: str, practice: str
) -> None:
    """7 CFR 205.203(c)(1): raw manure 90 to 120 days before harvest."""
    more = {"material": "farmyard-manure"} if practice == "spread-manure" else {}
    meant = {"intent": {"block": "upper", **more}}
    answer = Ask("2026-08-20", practice, "wait", [stage(word)], **meant).answer()
    assert (answer["stance"], answer["strength"]) == ("wait", "must")
    assert "Say first" not in answer["summary"]
    south = Ask("2026-02-20", practice, "wait", [stage(word)], about=SOUTH, **meant).answer()
    assert (south["stance"], south["strength"]) == ("wait", "must")


def test_after_harvest_animals_may_come_in() -> None:
    assert Ask("2026-10-20", "graze", "do", [stage("after-harvest")], **IN_UPPER).answer()["stance"] == "do"


# --- What a grower would miss -----------------------------------------------------------------------------------------
def test_spiral_guards_come_off_in_summer_and_go_back_before_snow() -> None:
    """Common practice, no source."""
    blocks = apples(**SPIRAL)
    (off,) = recommended(orchard(blocks, on("2026-06-20", stage("june-drop"))), "2026-06-20", "guard-trunks")
    assert "off for the summer" in off["summary"]
    (back,) = recommended(orchard(blocks, on("2026-10-20", stage("after-harvest"))), "2026-10-20", "guard-trunks")
    assert "go back" in back["summary"]
    done = {"kind": "work", "practice": "guard-trunks", "block": "upper"}
    after = orchard(blocks, on("2026-10-20", stage("after-harvest"), done))
    assert not recommended(after, "2026-10-21", "guard-trunks")


def test_one_codling_trap_is_hung_where_nobody_ever_looked() -> None:
    """Common practice, no source: few apples are without codling moth."""
    pink = orchard(apples(), on("2026-05-06", stage("pink")))
    (trap,) = recommended(pink, "2026-05-06", "hang-traps", target="codling-moth")
    assert trap["strength"] == "weak"
    known = orchard(apples(history=["codling-moth"]), on("2026-05-06", stage("pink")))
    assert recommended(known, "2026-05-06", "hang-traps", target="codling-moth")[0]["strength"] == "fair"


def test_a_fly_in_colouring_cherries_calls_for_a_clean_picking() -> None:
    fly = {"kind": "pest-count", "pest": "cherry-fruit-fly", "count": 1, "per": "trap", "days": 7}
    file = orchard([CHERRIES], on("2026-07-05", stage("colouring"), fly))
    assert recommended(file, "2026-07-05", "pick-up-drops", target="cherry-fruit-fly")
    none = orchard([CHERRIES], on("2026-07-05", stage("colouring"), {**fly, "count": 0}))
    assert not recommended(none, "2026-07-05", "pick-up-drops", target="cherry-fruit-fly")


def test_blackthorn_is_kept_from_plums_and_not_from_apples() -> None:
    """Plum pox in blackthorn: from memory, as the link says."""
    hedge = {"intent": {"target": "blackthorn"}}
    beside = Ask("2026-11-10", "plant-hedge", "avoid", [stage("leafless")], [PLUMS], **hedge).answer()
    assert beside["stance"] == "avoid"
    assert "plum pox" in beside["summary"]
    assert Ask("2026-11-10", "plant-hedge", "do", [stage("leafless")], **hedge).answer()["stance"] == "do"
    far = {**HEDGE, "distance": "900 m"}
    meant = {"intent": {"target": "blackthorn", "habitat": "hedge"}}
    assert (
        Ask("2026-11-10", "plant-hedge", "do", [stage("leafless")], [PLUMS], [far], **meant).answer()["stance"] == "do"
    )


def test_spheres_against_maggot_flies_end_with_the_harvest() -> None:
    flies = {"kind": "pest-count", "pest": "apple-maggot", "count": 9, "per": "trap", "trap": "red-sphere", "days": 7}
    for word, wanted in (("half-grown", True), ("harvest", False)):
        file = orchard(apples(), on("2026-08-20", stage(word), flies))
        found = recommended(file, "2026-08-20", "hang-traps", target="apple-maggot")
        assert any("every tree" in one["summary"] for one in found) is wanted


def test_a_hard_cut_that_is_meant_is_answered_with_years() -> None:
    meant = {"intent": {"block": "upper", "degree": "hard"}}
    hard = Ask("2026-02-10", "dormant-prune", "do", [stage("dormant")], **meant).answer()
    assert any("water shoots" in line for line in hard["how"])
    light = Ask("2026-02-10", "dormant-prune", "do", [stage("dormant")], **IN_UPPER).answer()
    assert not any("water shoots" in line for line in light["how"])


def test_ripening_cherries_are_watered_gently() -> None:
    meant = {"intent": {"block": "cherries"}}
    dry = [{"kind": "soil-water", "feel": "dry"}]
    ripe = Ask("2026-07-05", "irrigate", "do", [stage("colouring"), *dry], [CHERRIES], **meant).answer()
    assert any("cracks" in line for line in ripe["because"])
    green = Ask("2026-06-10", "irrigate", "do", [stage("fruit-set"), *dry], [CHERRIES], **meant).answer()
    assert not any("cracks" in line for line in green["because"])


# --- Hours and figures that make sense --------------------------------------------------------------------------------
def test_one_pollen_partner_in_nine_is_enough() -> None:
    """Common practice, no source: every third tree in every third row. 40 / 9 is 5 trees, an hour each."""
    file = orchard(apples(cultivars=["Honeycrisp"]), on("2026-04-15", stage("dormant")))
    (plan,) = recommended(file, "2026-04-15", "plant-pollinizer")
    assert plan["hours"] == 5
    (graft,) = recommended(
        orchard(apples(cultivars=["Honeycrisp"]), on("2026-04-25", stage("green-tip"))),
        "2026-04-25",
        "graft-pollinizer",
    )
    assert graft["hours"] == 2.5


def test_a_flower_strip_is_not_as_large_as_the_block() -> None:
    file = orchard(apples(floor="turf"), on("2026-04-20", stage("green-tip")))
    strips = recommended(file, "2026-04-20", "sow-flower-strip")
    assert strips
    assert all(one["hours"] is None for one in strips)


# --- Words ------------------------------------------------------------------------------------------------------------
def test_only_real_trade_offs_are_told() -> None:
    """Staking disturbs the soil of an earwig or two; nobody weighs that."""
    young = apples(rootstock="M.9", planted=2024)
    (stake,) = recommended(orchard(young, on("2026-11-10", stage("leafless"))), "2026-11-10", "stake-trees")
    assert stake["costs"]
    assert stake["trade_off"] is None
    voles = {"kind": "vole-sign", "runways": "fresh"}
    tall = {"kind": "sward", "height": "35 cm"}
    file = orchard(apples(), on("2026-11-10", stage("leafless"), voles, tall))
    for practice in ("autumn-mow", "clear-tree-ring"):
        (one,) = recommended(file, "2026-11-10", practice)
        assert "shelters" in one["trade_off"]
        assert "voles" in one["trade_off"]


def test_advice_that_acts_without_a_look_says_so() -> None:
    (soil,) = recommended(orchard(apples(), on("2026-11-10", stage("leafless"))), "2026-11-10", "test-soil")
    assert sum("soil test" in line.lower() for line in soil["because"]) == 1, "a rule that says it itself is enough"
    curculio = orchard(apples(history=["plum-curculio"]), on("2026-05-25", stage("fruit-set")))
    scars = recommended(curculio, "2026-05-25", "scout", target="plum-curculio")[0]
    assert any(line.startswith("Nobody has looked") and "pest damage" in line for line in scars["because"])


def test_sentences_begin_with_a_capital_unless_a_name_of_the_growers_opens_them() -> None:
    file = orchard(
        [{**PLUMS, "id": "lower"}, *apples(history=["apple-scab"])],
        on("2026-03-10", stage("dormant"), {"kind": "intent", "practice": "plant-hedge", "target": "blackthorn"}),
    )
    names = {"lower", "upper"}
    lines = [line for r in advise(file, on="2026-03-10")["recommendations"] for line in (r["summary"], *r["because"])]
    assert any(line.startswith("Blackthorn") for line in lines)
    assert [line for line in lines if line[0].islower() and line.split()[0] not in names] == []


def test_us_growers_read_inches_pounds_and_cubic_feet_and_whole_degrees() -> None:
    hot = sky("2026-04-01", "2026-07-01", 12, 31, {"2026-04-03": (0, 20)})
    file = orchard(
        apples(spacing="20 ft x 16 ft", cultivars=["Liberty"]),
        on("2026-05-08", stage("full-bloom")) + on("2026-07-01", stage("june-drop")),
        units="us",
    )
    answer = advise(file, on="2026-07-01", weather=hot)
    out = io.StringIO()
    write(answer, Console(file=out, width=200), units="us")
    water = next(r for r in answer["recommendations"] if r["practice"] == "irrigate" and r["amount"])
    assert " gal for each tree" in " ".join(water["how"]), "water is told by the gallon, however much"
    assert " mm" not in out.getvalue()
    assert " °C" not in out.getvalue()
    assert f"{water['amount']['value'] / 25.4:.1f}".rstrip("0").rstrip(".") + " in;" in out.getvalue()


def test_summer_wetness_is_told_in_hours() -> None:
    rain = {f"2026-{month:02d}-{day:02d}": (0, 12) for month in (6, 7, 8) for day in range(1, 29, 2)}
    file = orchard(apples(), on("2026-05-08", stage("full-bloom")) + on("2026-08-28", stage("colouring")))
    answer = advise(file, on="2026-08-28", weather=sky("2026-04-15", "2026-08-28", 14, 25, rain))
    (look,) = [r for r in answer["recommendations"] if r["target"] == "sooty-blotch-flyspeck" and r["stance"] == "look"]
    assert "reached yes" not in look["because"][0]
    assert " h; the first signs" in look["because"][0]


# --- More that `must` not be done -------------------------------------------------------------------------------------
@pytest.mark.parametrize("practice", ["kaolin", "bicarbonate", "protect-bloom", "microbial-spray", "sulphur", "oil"])
def test_every_labelled_spray_keeps_its_distance_from_water(practice: str) -> None:
    """Use as labelled, 7 USC 136j; the 20 m that are kept without a label are from memory."""
    words = {"protect-bloom": "full-bloom", "oil": "dormant"}
    seen = [stage(words.get(practice, "fruit-set"))]
    pond = {"id": "pond", "kind": "pond", "area": "50 m2", "distance": "8 m"}
    near = Ask("2026-05-12", practice, "avoid", seen, habitats=[pond], **IN_UPPER).answer()
    assert (near["stance"], near["strength"]) == ("avoid", "must")
    assert "pond" in near["summary"]
    far = Ask("2026-05-12", practice, "do", seen, habitats=[{**pond, "distance": "80 m"}], **IN_UPPER).answer()
    assert far["strength"] != "must"


def test_yew_clippings_keep_animals_out() -> None:
    """Merck Veterinary Manual, taxine."""
    cut = {"kind": "work", "practice": "cut-back-hedge", "target": "yew", "habitat": "hedge", "date": "2026-11-05"}
    seen = [stage("leafless"), cut]
    assert Ask("2026-11-10", "graze", "avoid", seen, habitats=[HEDGE], **IN_UPPER).answer()["strength"] == "must"
    hazel = [stage("leafless"), {**cut, "target": "hazel"}]
    assert Ask("2026-11-10", "graze", "do", hazel, habitats=[HEDGE], **IN_UPPER).answer()["stance"] == "do"


def test_cider_fruit_of_grazed_ground_is_picked_from_the_tree_or_heated() -> None:
    """FDA guidance on juice: no dropped fruit for juice that is not treated."""
    grazed = {"kind": "work", "practice": "graze", "block": "upper", "date": "2026-08-20"}
    seen = [stage("harvest"), grazed]
    cider = Ask("2026-10-01", "pick", "do", seen, apples(use="cider"), **IN_UPPER).answer()
    assert any("heated" in line for line in cider["how"])
    table = Ask("2026-10-01", "pick", "do", seen, apples(use="dessert"), **IN_UPPER).answer()
    assert not any("heated" in line for line in table["how"])


def test_measures_that_stand_in_rules_are_told_in_the_units_of_the_orchard() -> None:
    """An inch is 2.54 cm, a foot 0.3048 m: 20 cm is 7.9 in, told as 8, 60 cm 24 in, 15 m 49.2 ft, told as 50."""
    bed = {"id": "bed", "kind": "stem-bed", "plants": ["wild-bergamot"], "area": "40 m2", "distance": "20 m"}
    never = {"kind": "stems", "habitat": "bed", "standing": 0.8, "first_cut": "never"}
    seen = on("2026-03-20", stage("dormant"), never)
    metric, us = (
        recommended(orchard(apples(), seen, [bed], units=units), "2026-03-20", "shorten-stems")[0]
        for units in ("metric", "us")
    )
    assert "between 20 and 60 cm" in metric["summary"]
    assert "between 8 in and 24 in" in us["summary"]
    assert not any(" cm" in line or " m," in line for part in ("because", "how", "cautions") for line in us[part])


def test_peaches_count_to_harvest_from_their_own_bloom() -> None:
    """From memory: the earliest peaches 60 days from bloom; 40 days after it 20 are left, less than 90."""
    peaches = [{"id": "upper", "fruit": "peach", "trees": 10, "planted": 2015}]
    seen = on("2026-05-03", stage("full-bloom")) + on("2026-06-12", stage("pit-hardening"))
    answer = advise(orchard(peaches, seen), on="2026-06-12")
    assert answer["conditions"]["upper"]["harvest-ahead"] == [{"days": 20, "planned": False}]


def test_nobody_is_sent_to_look_at_fallen_leaves_in_summer() -> None:
    def looks(day: str, word: str) -> set[str]:
        return {u["look_at"] for u in advise(orchard(apples(), on(day, stage(word))), on=day)["unknowns"]}

    assert "leaf-fall" not in looks("2026-07-05", "half-grown")
    assert "leaf-fall" in looks("2026-11-12", "leaf-fall")


def test_southern_growers_are_not_sent_to_count_voles_unless_somebody_saw_runs() -> None:
    """From memory: voles live in the north only; rabbits and hares gnaw bark everywhere, so the guards stay."""
    young = apples(planted=2024, guards="none")
    north = orchard(young, on("2026-10-20", stage("after-harvest")))
    south = orchard(young, on("2026-04-20", stage("after-harvest")), **SOUTH)
    assert recommended(north, "2026-10-20", "apple-slice-check")
    assert not recommended(south, "2026-04-20", "apple-slice-check")
    assert recommended(south, "2026-04-20", "guard-trunks")
    runs = {"kind": "vole-sign", "runways": "old"}
    seen = orchard(young, on("2026-04-20", stage("after-harvest"), runs), **SOUTH)
    assert recommended(seen, "2026-04-20", "apple-slice-check")


def test_one_catch_over_the_figure_asks_for_a_second_week() -> None:
    """Washington State University: the figure holds where it is reached in two weeks running."""

    def catch(count: int, day: str) -> dict[str, Any]:
        trap = {"per": "trap", "trap": "pheromone", "days": 7}
        return {"date": day, "kind": "pest-count", "pest": "codling-moth", "count": count, **trap}

    seen = on("2026-06-08", stage("june-drop"))
    one = orchard(apples(), [*seen, catch(6, "2026-06-10")])
    (look,) = recommended(one, "2026-06-11", "scout", target="codling-moth")
    assert "again" in look["summary"]
    two = orchard(apples(), [*seen, catch(6, "2026-06-03"), catch(6, "2026-06-10")])
    assert not any("again, a week" in r["summary"] for r in recommended(two, "2026-06-11", "scout", target="codling-moth"))
