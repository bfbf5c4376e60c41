"""Orchards walked through a year: advice stays in its season, of its fruit and hemisphere, and does not contradict itself."""

from __future__ import annotations

import io
from typing import Any

import pytest
from rich.console import Console

from advisor import advise
from advisor.sentences import without_noughts
from advisor.terminal import write
from scenarios.asking import SOUTH, Ask, stage
from scenarios.orchards import UPPER, orchard, recommended
from scenarios.skies import sky

PEACHES = {"id": "peaches", "fruit": "peach", "trees": 40, "planted": 2015, "spacing": "6 m x 5 m"}
APRICOTS = {"id": "apricots", "fruit": "apricot", "trees": 40, "planted": 2015, "spacing": "6 m x 5 m"}


def on(day: str, *seen: dict[str, Any]) -> list[dict[str, Any]]:
    return [{"date": day, **one} for one in seen]


def stage_of(file: dict[str, Any], day: str, block: str = "upper") -> dict[str, Any]:
    found: dict[str, Any] = advise(file, on=day)["conditions"][block]["stage"]
    return found


# --- Stages that nobody wrote down ------------------------------------------------------------------------------------
def test_no_tree_blooms_for_a_summer_because_nobody_looked_again() -> None:
    """Common practice, no source: the slowest spring brings fruit set a month from full bloom."""
    file = orchard([{**UPPER, "planted": 2025}], on("2026-05-15", stage("full-bloom")))
    assert stage_of(file, "2026-05-25")["name"] == "full-bloom"
    (pinch,) = recommended(file, "2026-05-20", "thin-blossom")
    assert pinch["stance"] == "do"
    assert stage_of(file, "2026-06-16")["name"] == "fruit-set"
    assert stage_of(file, "2026-09-01")["name"] == "half-grown"
    assert stage_of(file, "2026-09-01")["estimated"]
    for later in ("2026-06-16", "2026-07-14", "2026-08-20", "2026-10-25"):
        assert not recommended(file, later, "thin-blossom")


def test_bloom_is_never_reckoned_only_seen() -> None:
    """Pink three weeks ago may be bloom or over: no hives are counted on it, and no insecticide is free of it."""
    file = orchard([UPPER], on("2026-05-10", stage("pink")))
    assert stage_of(file, "2026-06-05")["name"] == "pink"
    assert not recommended(file, "2026-06-05", "count-bees")
    meant = {"block": "upper", "material": "spinosad", "target": "codling-moth"}
    seen = [{**stage("pink"), "date": "2026-05-10"}]
    answer = Ask("2026-06-05", "insecticide", "wait", seen, intent=meant).answer()
    assert (answer["stance"], answer["strength"]) == ("wait", "must")
    assert stage_of(file, "2026-06-20")["name"] == "petal-fall"


def test_a_southern_spring_moves_on_as_well() -> None:
    file = orchard([UPPER], on("2025-10-15", stage("full-bloom")), **SOUTH)
    assert stage_of(file, "2026-01-25")["name"] == "half-grown"


def test_picking_is_over_two_months_after_it_began() -> None:
    """Common practice, no source."""
    file = orchard([APRICOTS], on("2026-07-10", stage("harvest")))
    assert stage_of(file, "2026-08-01", "apricots")["name"] == "harvest"
    assert stage_of(file, "2026-09-15", "apricots")["name"] == "after-harvest"


# --- Frost ------------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("written", "told"), [("2026-04-20", True), ("2026-04-15", False)])
def test_of_two_fresh_forecasts_for_a_night_the_colder_counts(written: str, told: bool) -> None:
    """WSU EB0913: apple in full bloom loses a tenth at 28 F. A forecast of last week gives way to the hourly one."""
    seen = [
        *on("2026-04-20", stage("full-bloom")),
        {"date": written, "kind": "forecast", "day": "2026-04-21", "low": "-3 °C", "sky": "clear"},
    ]
    file = orchard([UPPER], seen)
    file["weather"], file["forecast"] = sky("2026-04-18", "2026-04-20", 4, 14), sky("2026-04-21", "2026-04-23", 3, 14)
    assert bool(recommended(file, "2026-04-20", "frost-watch")) is told


# --- Thinning by fruit ------------------------------------------------------------------------------------------------
def test_peaches_are_thinned_as_the_shucks_split_and_do_not_wait_for_june_drop() -> None:
    """Missouri 2017: 15 to 20 cm apart."""
    file = orchard([PEACHES], on("2026-04-28", stage("shuck-split")))
    (thin,) = recommended(file, "2026-04-28", "hand-thin")
    assert thin["stance"] == "do"
    assert "15 cm" in thin["summary"]
    in_bloom = Ask(
        "2026-04-12", "hand-thin", "wait", [stage("full-bloom")], blocks=[PEACHES], intent={"block": "peaches"}
    )
    answer = in_bloom.answer()
    assert answer["stance"] == "wait"
    assert "drop" not in answer["summary"]
    assert not recommended(orchard([PEACHES], on("2026-07-20", stage("colouring"))), "2026-07-20", "hand-thin")


def test_plums_and_apricots_are_looked_at_without_a_tape_round_the_trunk() -> None:
    file = orchard([APRICOTS], on("2026-05-05", stage("shuck-split")))
    (look,) = recommended(file, "2026-05-05", "hand-thin")
    assert look["stance"] == "look"
    assert "trunk" not in " ".join([look["summary"], *look["how"]])


def test_nobody_thins_cider_apples_by_hand() -> None:
    """Common practice, no source."""
    june = on("2026-06-16", stage("june-drop"))
    assert recommended(orchard([UPPER], june), "2026-06-16", "hand-thin")
    assert not recommended(orchard([{**UPPER, "use": "cider"}], june), "2026-06-16", "hand-thin")


# --- Water ------------------------------------------------------------------------------------------------------------
def dry(rain: tuple[int, int] | None, mm: float = 1.0) -> dict[str, Any]:
    seen = [*on("2026-06-20", stage("june-drop")), *on("2026-07-14", {"kind": "soil-water", "feel": "dry"})]
    file = orchard([UPPER], seen)
    file["weather"] = sky("2026-05-01", "2026-07-14", 16, 28)
    file["forecast"] = sky("2026-07-15", "2026-07-18", 16, 28, {"2026-07-16": rain} if rain else {}, mm=mm)
    return file


def test_dry_soil_is_answered_with_water_or_with_the_rain_that_will_do() -> None:
    """Common practice, no source: a shower is no reason to let trees wait, a soaking rain is."""
    for rain in (None, (6, 8)):
        (water,) = recommended(dry(rain), "2026-07-14", "irrigate")
        assert water["stance"] == "do"
    (water,) = recommended(dry((0, 24), mm=2.0), "2026-07-14", "irrigate")
    assert water["stance"] == "wait"
    assert "48 mm" in water["summary"]


def test_nothing_is_watered_as_the_leaves_fall() -> None:
    """Common practice, no source."""
    file = orchard([UPPER], on("2026-10-20", stage("leaf-fall")))
    file["weather"] = sky("2026-07-01", "2026-10-20", 8, 20)
    assert all(r["stance"] == "wait" for r in recommended(file, "2026-10-20", "irrigate"))


# --- One thing once ---------------------------------------------------------------------------------------------------
def test_galls_are_picked_once_for_the_hedge_and_not_for_each_block() -> None:
    hedge = {"id": "hedge", "kind": "hedge", "plants": ["eastern-redcedar"], "area": "100 m2", "distance": "20 m"}
    other = {**UPPER, "id": "lower", "trees": 60}
    file = orchard([UPPER, other], on("2026-03-20", stage("dormant")), [hedge])
    found = recommended(file, "2026-03-20", "remove-rust-galls", target="cedar-apple-rust")
    assert [r["habitat"] for r in found] == ["hedge"]


def test_winter_eggs_are_sprayed_or_left_and_nobody_looks_for_their_eaters() -> None:
    eggs = {"kind": "pest-count", "pest": "european-red-mite", "count": 40, "per": "bud", "sample": 50}
    early = orchard([UPPER], on("2026-04-10", stage("silver-tip"), eggs))
    assert not recommended(early, "2026-04-10", "scout", target="european-red-mite")


def test_a_tank_of_oil_and_sulphur_is_named_by_both() -> None:
    mixed = {"block": "upper", "material": "dormant-oil", "with": ["wettable-sulphur"], "day": "2026-04-16"}
    answer = Ask("2026-04-15", "oil", "avoid", [stage("silver-tip")], intent=mixed).answer()
    assert answer["stance"] == "avoid"
    assert "ulphur in one tank" in answer["summary"]


# --- Out of season, out of place --------------------------------------------------------------------------------------
def test_curl_is_sprayed_on_bare_trees_though_nobody_counted_leaves() -> None:
    """UC leaf curl: once after leaf fall, or before buds swell."""
    curl = {"kind": "disease-sign", "disease": "peach-leaf-curl", "where": "leaf", "share": 0.15, "block": "peaches"}
    seen = [*on("2026-05-18", curl), *on("2026-11-20", stage("leafless"))]
    (spray,) = recommended(orchard([PEACHES], seen), "2026-11-20", "copper")
    assert (spray["stance"], spray["target"]) == ("do", "peach-leaf-curl")


def test_rot_is_picked_off_while_fruit_hangs_and_not_after() -> None:
    rot = {"kind": "disease-sign", "disease": "brown-rot", "where": "fruit", "share": 0.02}
    seen = [*on("2026-07-20", stage("harvest"), rot), *on("2026-08-30", stage("after-harvest"))]
    file = orchard([PEACHES], seen)
    assert recommended(file, "2026-07-20", "pick-up-drops", target="brown-rot")
    assert not recommended(file, "2026-08-30", "pick-up-drops")
    bitter = {"kind": "disease-sign", "disease": "bitter-rot", "where": "fruit", "share": 0.03}
    apples = orchard([UPPER], on("2026-07-18", stage("half-grown"), bitter))
    assert recommended(apples, "2026-07-18", "pick-up-drops", target="bitter-rot")


def test_old_strikes_are_looked_at_again_before_they_are_cut() -> None:
    """Common practice, no source."""
    strikes = {"kind": "disease-sign", "disease": "fire-blight", "where": "shoot", "strikes": 4}
    file = orchard([UPPER], on("2026-06-10", stage("fruit-set"), strikes))
    assert [r["stance"] for r in recommended(file, "2026-06-11", "cut-out-blight")] == ["do"]
    assert not recommended(file, "2026-08-20", "cut-out-blight")
    assert recommended(file, "2026-08-20", "scout", target="fire-blight")
    cut = {"date": "2026-06-11", "kind": "work", "practice": "cut-out-blight", "block": "upper"}
    file["observations"].append(cut)
    assert not recommended(file, "2026-06-12", "cut-out-blight")


def test_new_trees_lose_their_blossom_and_are_not_sprayed_for_it() -> None:
    seen = [
        *on("2026-05-20", stage("full-bloom")),
        {
            "date": "2026-05-20",
            "kind": "forecast",
            "day": "2026-05-22",
            "low": "17 °C",
            "high": "29 °C",
            "rain": "8 mm",
        },
    ]
    for planted, sprayed in ((2026, False), (2015, True)):
        file = orchard([{**UPPER, "planted": planted, "history": ["fire-blight"]}], seen)
        file["weather"] = sky("2026-05-01", "2026-05-20", 15, 29)
        stances = {r["stance"] for r in recommended(file, "2026-05-20", "protect-bloom")}
        assert ("do" in stances) is sprayed
        assert bool(recommended(file, "2026-05-20", "thin-blossom")) is not sprayed


def test_voles_under_snow_are_trodden_off() -> None:
    """Extension 2011: packed snow closes their ways; mesh above the snow does the same."""
    seen = on("2026-01-20", {"kind": "snow", "depth": "40 cm"}, {"kind": "vole-sign", "runways": "fresh"})
    (tramp,) = recommended(orchard([{**UPPER, "guards": "spiral"}], seen), "2026-01-20", "guard-trunks")
    assert "snow" in tramp["summary"]
    tall = {**UPPER, "guards": {"kind": "mesh", "height": "60 cm"}}
    assert not recommended(orchard([tall], seen), "2026-01-20", "guard-trunks")


def test_spiral_guards_go_back_by_the_light_and_not_by_a_stage_that_nobody_saw() -> None:
    block = {**UPPER, "guards": "spiral"}
    file = orchard([block], on("2026-05-15", stage("full-bloom")))
    assert not [r for r in recommended(file, "2026-09-10", "guard-trunks") if "go back" in r["summary"]]
    (back,) = recommended(file, "2026-10-22", "guard-trunks")
    assert "go back" in back["summary"]


def test_no_boxes_for_tits_where_no_tits_live() -> None:
    wormy = {**UPPER, "history": ["codling-moth"]}
    assert recommended(orchard([wormy]), "2026-01-20", "put-up-nest-boxes")
    assert not recommended(orchard([wormy], **SOUTH), "2026-07-20", "put-up-nest-boxes")


def test_curculio_is_looked_for_where_it_lives() -> None:
    fall = on("2026-05-20", stage("petal-fall"))
    assert recommended(orchard([UPPER], fall), "2026-05-20", "scout", target="plum-curculio")
    west = {"latitude": 46.6, "longitude": -120.5, "timezone": "America/Los_Angeles"}
    assert not recommended(orchard([UPPER], fall, **west), "2026-05-20", "scout", target="plum-curculio")


def test_pollen_partners_are_planned_in_winter_and_in_bloom_and_not_all_summer() -> None:
    alone = [{**UPPER, "cultivars": ["Gala"]}]
    said = {
        word: bool(recommended(orchard(alone, on(day, stage(word))), day, "plant-pollinizer"))
        for day, word in (("2026-02-10", "dormant"), ("2026-05-15", "full-bloom"), ("2026-07-20", "half-grown"))
    }
    assert said == {"dormant": True, "full-bloom": True, "half-grown": False}


def test_a_bartlett_that_parts_at_the_stalk_is_picked() -> None:
    """WSU: 15 to 17 lbf; common practice: what parts at the stalk a pound or two above it is picked."""
    pears = {"id": "pears", "fruit": "pear", "trees": 40, "cultivars": ["Bartlett"], "planted": 2000}
    for parts, stance in ((True, "do"), (False, "wait")):
        sample = {"kind": "fruit-sample", "cultivar": "Bartlett", "firmness": "18 lbf", "parts_when_lifted": parts}
        meant = Ask(
            "2026-08-18", "pick", stance, [stage("colouring"), sample], blocks=[pears], intent={"block": "pears"}
        )
        assert meant.answer()["stance"] == stance


def test_flagged_peach_tips_are_cut_out_with_their_larva() -> None:
    flags = {"kind": "pest-damage", "pest": "oriental-fruit-moth", "of": "shoots", "share": 0.03, "fresh": True}
    file = orchard([PEACHES], on("2026-05-18", stage("pit-hardening"), flags))
    (cut,) = recommended(file, "2026-05-18", "summer-prune", target="oriental-fruit-moth")
    assert cut["stance"] == "do"


# --- Said once, and as people say it ----------------------------------------------------------------------------------
def test_dry_soil_is_watered_though_the_record_ends_at_dusk() -> None:
    """The hours that are left of today are those of the forecast; a feel of today outweighs the rain of last week."""
    file = dry(None)
    file["weather"] = [row for row in file["weather"] if row["time"] < "2026-07-14T19"]
    file["forecast"] = sky("2026-07-14", "2026-07-18", 16, 28)
    assert [r["stance"] for r in recommended(file, "2026-07-14", "irrigate")] == ["do"]
    rained = {**dry(None), "weather": sky("2026-05-01", "2026-07-14", 16, 28, {"2026-07-09": (0, 20)})}
    assert [r["stance"] for r in recommended(rained, "2026-07-14", "irrigate")] == ["do"]
    rained["observations"][-1]["date"] = "2026-07-08"
    assert not recommended(rained, "2026-07-14", "irrigate", stance="do")


def test_one_rule_does_not_tell_its_reason_over_and_over() -> None:
    wet = {f"2026-05-{day:02d}": (0, 20) for day in (4, 10, 16, 22)}
    file = orchard([UPPER], on("2026-04-30", stage("tight-cluster")) + on("2026-06-01", stage("fruit-set")))
    file["weather"] = sky("2026-01-01", "2026-06-01", 9, 19, wet)
    (look,) = recommended(file, "2026-06-01", "scout", target="apple-scab")
    assert sum("was a" in line for line in look["because"]) == 2  # the first wetting and the last
    assert len(look["because"]) == len(set(look["because"]))


def test_looks_that_contradict_each_other_are_no_look() -> None:
    mites = {"kind": "pest-count", "pest": "european-red-mite", "count": 8, "per": "leaf", "sample": 50}
    allies = [{"kind": "ally-count", "ally": "predatory-mite", "abundance": how} for how in ("none", "many")]
    bloom = on("2026-05-15", stage("full-bloom"))
    seen = [*bloom, *on("2026-07-20", stage("half-grown"), mites, *allies)]
    assert recommended(orchard([UPPER], seen), "2026-07-20", "scout", target="european-red-mite")
    settled = [*bloom, *on("2026-07-20", stage("half-grown"), mites, allies[1])]
    assert not recommended(orchard([UPPER], settled), "2026-07-20", "scout", target="european-red-mite")


def test_a_look_takes_the_hours_of_a_look() -> None:
    """Forty trees take days to thin, and half an hour to count three of them (common practice, no source)."""
    (count,) = recommended(orchard([UPPER], on("2026-06-16", stage("june-drop"))), "2026-06-16", "hand-thin")
    assert count["stance"] == "look"
    assert count["hours"] <= 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("before the rain (0 days from now)", "before the rain (today)"),
        ("The ring was cut 0 days ago.", "The ring was cut today."),
        ("The trees of b were planted 0 years ago.", "The trees of b stand in their first year."),
        ("10 days ago and 20 days from now", "10 days ago and 20 days from now"),
    ],
)
def test_no_days_are_said_as_today(text: str, said: str) -> None:
    assert without_noughts(text) == said


def test_flies_of_two_months_ago_hang_no_sphere() -> None:
    flies = {"kind": "pest-count", "pest": "apple-maggot", "count": 9, "per": "trap", "trap": "red-sphere", "days": 7}
    file = orchard([UPPER], on("2026-07-14", stage("half-grown"), flies))
    assert recommended(file, "2026-07-15", "hang-traps", target="apple-maggot")
    assert not recommended(file, "2026-09-12", "hang-traps", target="apple-maggot")


# --- What is lacking is named -----------------------------------------------------------------------------------------
def test_what_nobody_noted_is_named_and_not_called_something() -> None:
    meant = {"block": "upper", "day": "2026-11-22"}
    answer = Ask("2026-11-20", "shred-leaves", "wait", intent=meant).answer()
    assert "something" not in answer["summary"]
    assert "leaf fall" in answer["summary"]
    pick = Ask("2026-09-25", "pick", "wait", intent={"block": "upper", "day": "2026-09-26"}).answer()
    assert "Test ten fruit" in pick["summary"]
    water = Ask("2026-07-15", "irrigate", "wait", [stage("june-drop")], intent={"block": "upper"}).answer()
    assert "feel the soil" in water["summary"]


def test_the_evening_that_the_forecast_covers_is_not_called_unknown() -> None:
    file = orchard([UPPER], on("2026-05-18", stage("fruit-set")))
    file["weather"] = [row for row in sky("2026-01-01", "2026-05-18", 5, 15) if row["time"] < "2026-05-18T18"]
    without = advise(file, on="2026-05-18")["unknowns"]
    assert any("hours up to this day are not known" in one["why"] for one in without)
    file["forecast"] = sky("2026-05-18", "2026-05-21", 8, 18)
    told = advise(file, on="2026-05-18")["unknowns"]
    assert not any("hours up to this day are not known" in one["why"] for one in told)


def test_what_is_said_of_many_blocks_alike_is_printed_once() -> None:
    blocks = [{**UPPER, "id": f"row-{n}"} for n in range(1, 13)]
    file = orchard(blocks, [*on("2026-10-30", stage("after-harvest"), {"kind": "vole-sign", "runways": "fresh"})])
    answer = advise(file, on="2026-10-30")
    assert len([r for r in answer["recommendations"] if r["practice"] == "trap-voles"]) == 12
    shown = io.StringIO()
    write(answer, Console(file=shown, width=200, highlight=False))
    text = shown.getvalue()
    assert text.count("Set snap traps") == 1
    assert "row-1, row-10, row-11, " in text
    assert "12 h in all" in text
    assert "trap-voles.voles.row-1.2026, and the like for 11 more" in text


@pytest.mark.parametrize(
    ("early", "late", "about"), [("2026-08-25", "2026-10-30", {}), ("2026-02-25", "2026-04-30", SOUTH)]
)
def test_stone_fruit_is_not_pruned_in_autumn_though_it_was_picked(early: str, late: str, about: dict[str, Any]) -> None:
    """RHS, second-hand: silver leaf enters cuts from early autumn on."""
    plums = {"id": "plums", "fruit": "plum", "trees": 6, "planted": 2015, "spacing": "5 m x 4 m"}
    for day, stances in ((early, {"do"}), (late, {"avoid"})):
        file = orchard([plums], on(day, stage("after-harvest")), **about)
        assert {r["stance"] for r in recommended(file, day, "summer-prune")} == stances


def test_fruit_that_touches_is_parted_though_the_number_is_right() -> None:
    """Common practice, no source."""
    seen = {"kind": "crop-count", "fruit_per_tree": 100, "diameter": "10 cm", "touching": 0.5}
    trees = {**UPPER, "planted": 2021}
    file = orchard([trees], [*on("2026-05-15", stage("full-bloom")), *on("2026-06-20", stage("june-drop"), seen)])
    (part,) = recommended(file, "2026-06-20", "hand-thin")
    assert part["stance"] == "do"
    assert "touches" in part["summary"]


def test_what_holds_of_a_region_is_not_said_of_one_that_only_reads_its_figures() -> None:
    """Central Chile lies nearest to the mid-Atlantic states of all regions here, and has neither their weevil nor their laws."""
    chile = {"latitude": -34.9, "longitude": -71.2, "timezone": "America/Santiago"}
    fall = orchard([UPPER], on("2026-10-12", stage("petal-fall")), **chile)
    assert not recommended(fall, "2026-10-12", "scout", target="plum-curculio")
    for about, invasive in ((chile, False), ({**chile, "latitude": -41.3, "longitude": 173.2}, True)):
        meant = {"id": "m", "date": "2026-07-10", "kind": "intent", "practice": "plant-hedge", "target": "hawthorn"}
        file = orchard([UPPER], [*on("2026-07-10", stage("dormant")), {**meant, "block": "upper"}], **about)
        (answer,) = [r for r in advise(file, on="2026-07-10")["recommendations"] if r["answers"] == "m"]
        assert ("invasive" in answer["summary"]) is invasive


# --- What nobody who stands there would say ---------------------------------------------------------------------------
def test_nobody_is_sent_to_look_for_borers_of_another_continent() -> None:
    """The borers of the trunk named here live in North America (from memory)."""
    abroad = {"latitude": 47.4, "longitude": 8.5, "timezone": "Europe/Zurich"}
    seen = on("2026-06-05", stage("fruit-set", block="upper"), stage("fruit-set", block="peaches"))
    for place in (SOUTH, abroad):
        asked = {u["about"] for u in advise(orchard([UPPER, PEACHES], seen, **place), on="2026-06-05")["unknowns"]}
        assert not asked & {
            "roundheaded-borer",
            "flat-headed-borer",
            "peachtree-borer",
            "dogwood-borer",
            "plum-curculio",
        }
    late = on("2026-05-10", stage("full-bloom"))
    assert recommended(orchard([UPPER, PEACHES], late), "2026-09-01", "scout", target="peachtree-borer")
    assert not recommended(orchard([UPPER, PEACHES], late, **abroad), "2026-09-01", "scout", target="peachtree-borer")


def test_a_trade_off_does_not_say_that_feeding_nitrogen_favours_nitrogen() -> None:
    hungry = {"kind": "leaf-test", "results": {"N": "1.5 %"}, "date": "2025-08-01"}
    file = orchard([UPPER], [*on("2026-05-10", stage("green-tip")), hungry])
    (fed,) = recommended(file, "2026-05-10", "feed-nitrogen")
    assert fed["trade_off"].startswith("For: more nitrogen. Against: ")
