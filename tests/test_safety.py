"""What sprays, picking and grazing are judged by, worked by hand; and that safety is never outweighed."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from advisor import advise
from advisor.advice import default_rules, rules_by
from advisor.ecosystem import knowledge
from scenarios.orchards import UPPER, answered, orchard
from scenarios.skies import sky

LOWER = {**UPPER, "id": "lower"}
SOUTH = {"latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"}


def facts(on: str, *seen: dict[str, Any], blocks: Any = (UPPER,), habitats: Any = (), weather: Any = None,
          forecast: Any = None, **about: Any) -> dict[str, dict[str, Any]]:
    answer = advise(orchard(blocks, seen, habitats, **about), on=on, weather=weather, forecast=forecast)
    return {fact.id: dict(fact.fields) for fact in answer.run.gathered.facts}


def work(practice: str, date: str, **more: Any) -> dict[str, Any]:
    return {"kind": "work", "practice": practice, "date": date, "block": "upper", **more}


def stage(word: str, date: str, **more: Any) -> dict[str, Any]:
    return {"kind": "tree-stage", "stage": word, "date": date, **more}


def intent(practice: str, date: str, **more: Any) -> dict[str, Any]:
    return {"id": "meant", "kind": "intent", "practice": practice, "date": date, "block": "upper", **more}


# --- What still lies on the leaf --------------------------------------------------------------------------------------


def test_fourteen_days_lie_between_sulphur_and_oil() -> None:
    """Yoder 2011, Virginia Tech: 7 to 14 days apart; the longer is held. 14 - 10 = 4."""
    rest, sprayed = "spray-rest:upper:sulphur-then-oil:wettable-sulphur", work("sulphur", "2026-04-10")
    assert facts("2026-04-20", sprayed)[rest]["ends"] == 4
    assert rest not in facts("2026-04-24", sprayed)


def test_ten_days_lie_between_captan_and_oil_in_new_england() -> None:
    """New England Apple Pest Management Guide 1996-1997: 10 days before or after."""
    seen = work("sulphur", "2026-04-10", material="captan")
    assert facts("2026-04-18", seen, guidance="new-england")["spray-rest:upper:captan-then-oil:captan"]["ends"] == 2
    assert facts("2026-04-18", seen, guidance="michigan")["spray-rest:upper:captan-then-oil:captan"]["ends"] == 6


def test_what_was_put_on_everywhere_counts_in_each_block_and_elsewhere_in_none() -> None:
    everywhere = facts("2026-04-20", {**work("copper", "2026-04-10"), "block": None}, blocks=(UPPER, LOWER))
    assert everywhere["spray-rest:lower:copper-then-grazing:copper"]["ends"] == 50
    one = facts("2026-04-20", work("copper", "2026-04-10"), blocks=(UPPER, LOWER))
    assert "spray-rest:lower:copper-then-grazing:copper" not in one


def test_a_ferment_that_was_not_named_counts_as_sour_and_kelp_does_not() -> None:
    assert "spray-rest:upper:acid-then-lime-sulphur:sour-ferment" in facts(
        "2026-04-20", work("biology-spray", "2026-04-18"))
    named = facts("2026-04-20", work("biology-spray", "2026-04-18", material="kelp"))
    assert not any("acid-then-lime-sulphur" in id for id in named)


def test_each_material_of_a_pair_keeps_its_own_days() -> None:
    found = facts("2026-04-20", work("sulphur", "2026-04-12"), work("lime-sulphur", "2026-04-18"))
    ends = {id.rsplit(":", 1)[1]: f["ends"] for id, f in found.items() if "sulphur-then-oil" in id}
    assert ends == {"wettable-sulphur": 6, "lime-sulphur": 12}


# --- Intervals --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("practice", "material", "ago", "entry", "picking"),
    [
        ("lime-sulphur", None, 1, 1, 1),  # Cornell 2013: 48 hours to entry, 0 days to harvest
        ("sulphur", None, 0, 1, 1),  # Cornell 2013: 24 hours to entry, 0 days to harvest
        ("insecticide", "spinosad", 5, 0, 9),  # labels, from memory: up to 14 days to harvest
        ("insecticide", None, 5, 0, 16),  # not named: 21 days, from memory
    ],
)
def test_days_left_to_entry_and_picking(
    practice: str, material: str | None, ago: int, entry: int, picking: int
) -> None:
    date = (dt.date(2026, 9, 10) - dt.timedelta(days=ago)).isoformat()
    found = facts("2026-09-10", work(practice, date, **({"material": material} if material else {})))
    (left,) = [f for id, f in found.items() if id.startswith("label-interval:")]
    assert (left["entry"], left["picking"]) == (entry, picking)


def test_no_interval_is_left_two_days_after_sulphur() -> None:
    assert not any(id.startswith("label-interval:") for id in facts("2026-09-10", work("sulphur", "2026-09-08")))


def test_a_spray_too_close_to_the_planned_picking_waits_until_after_it() -> None:
    """Use as labelled, 7 USC 136j; 14 days for spinosad from memory."""
    common = [
        stage("colouring", "2026-09-01"),
        {"kind": "pest-count", "pest": "codling-moth", "count": 20, "per": "trap", "trap": "pheromone", "days": 7,
         "date": "2026-08-25"},
        {"kind": "pest-count", "pest": "codling-moth", "count": 20, "per": "trap", "trap": "pheromone", "days": 7,
         "date": "2026-09-01"},
        {"kind": "sward", "in_flower": 0, "date": "2026-09-01"},
    ]
    spray = intent("insecticide", "2026-09-01", material="spinosad", target="codling-moth")
    pick = {"kind": "intent", "practice": "pick", "date": "2026-09-01", "block": "upper"}
    near = answered(orchard(observations=[*common, spray, {**pick, "day": "2026-09-04"}]), "2026-09-01", "meant")
    far = answered(orchard(observations=[*common, spray, {**pick, "day": "2026-10-20"}]), "2026-09-01", "meant")
    assert (near["stance"], near["strength"]) == ("wait", "must")
    assert far["strength"] != "must"


# --- Harvest ----------------------------------------------------------------------------------------------------------


def test_the_planned_day_of_picking_counts_before_any_estimate() -> None:
    pick = {"kind": "intent", "practice": "pick", "date": "2026-05-20", "day": "2026-09-17", "block": "upper"}
    assert facts("2026-05-20", stage("petal-fall", "2026-05-20"), pick)["harvest-ahead:upper"] == {
        "block": "upper", "days": 120, "planned": True}


def test_the_earliest_harvest_is_counted_from_bloom_in_either_hemisphere() -> None:
    """From memory: summer apples 85 days from full bloom; 85 - 14 = 71."""
    north = facts("2026-05-22", stage("full-bloom", "2026-05-08"), stage("fruit-set", "2026-05-22"))
    south = facts("2026-10-24", stage("full-bloom", "2026-10-10"), stage("fruit-set", "2026-10-24"), **SOUTH)
    assert north["harvest-ahead:upper"]["days"] == south["harvest-ahead:upper"]["days"] == 71


def test_trees_too_young_to_crop_have_no_harvest_near() -> None:
    found = facts("2026-05-22", stage("fruit-set", "2026-05-22"), blocks=({**UPPER, "planted": 2025},))
    assert found["harvest-ahead:upper"]["days"] == 365


def test_without_a_stage_manure_waits_for_the_day_of_picking() -> None:
    """7 CFR 205.203: 90 or 120 days."""
    answer = answered(orchard(observations=[intent("spread-manure", "2026-05-22")]), "2026-05-22", "meant")
    assert (answer["stance"], answer["strength"]) == ("wait", "must")


# --- Sky --------------------------------------------------------------------------------------------------------------


def test_an_hourly_forecast_gives_the_days_ahead() -> None:
    found = facts("2026-06-10", forecast=sky("2026-06-10", "2026-06-15", 14, 31, rain={"2026-06-12": (6, 11)}))
    assert found["spray-day:0"]["high"] == pytest.approx(31)
    assert found["spray-day:0"]["rain"] == 0
    assert found["spray-day:1"]["rain"] == pytest.approx(5)
    assert found["spray-day:3"]["rain"] == 0
    assert "wind" not in found["spray-day:0"]  # none was given: not calm, but unknown


def test_the_wind_is_that_of_the_calmest_three_hours_of_daylight() -> None:
    rows = sky("2026-06-10", "2026-06-13", 10, 20)
    for row in rows:
        hour = int(row["time"][11:13])
        row["wind_ms"] = 2.0 if 5 <= hour < 9 else 9.0
    assert facts("2026-06-10", forecast=rows)["spray-day:1"]["wind"] == pytest.approx(2)


def test_a_day_without_a_forecast_has_no_fact() -> None:
    assert not any(id.startswith("spray-day:") for id in facts("2026-06-10"))


def test_green_tissue_is_spared_two_days_after_frost() -> None:
    """Rosenberger 2014, Cornell; Ontario fruit notes 2023: 24 to 48 hours. Frost at 5 the morning before."""
    frosty = sky("2026-04-20", "2026-04-20", -4, 6) + sky("2026-04-21", "2026-04-21", 3, 14)
    found = facts("2026-04-21", weather=frosty)["recent-frost"]
    assert found["low"] == pytest.approx(-4)
    assert 24 < found["hours_ago"] < 48
    assert found["ends"] == 1
    mild = sky("2026-04-20", "2026-04-21", 2, 14)
    assert "recent-frost" not in facts("2026-04-21", weather=mild)


def test_a_written_night_of_frost_counts_where_no_hours_are_known() -> None:
    seen = {"kind": "forecast", "date": "2026-04-20", "day": "2026-04-21", "low": "28 °F"}
    found = facts("2026-04-21", seen, units="us")["recent-frost"]
    assert found["low"] == pytest.approx(-2.22, abs=0.01)
    assert found["ends"] == 2


# --- Copper -----------------------------------------------------------------------------------------------------------


def test_copper_is_counted_by_amount_share_and_area() -> None:
    """40 trees at 6 m x 5 m stand on 0.12 ha: 0.5 kg, half of it metal, is 0.25 / 0.12 = 2.083 kg/ha.

    2 lb/acre is 2.242 kg/ha.
    """
    found = facts(
        "2026-04-20",
        work("copper", "2026-04-10", amount="0.5 kg", content=0.5),
        work("copper", "2025-04-10", amount="4 lb/acre", content=0.5),
        work("copper", "2019-04-10", amount="9 kg", content=1.0),  # seven seasons back: out of the window
        work("copper", "2024-04-10"),
    )["copper-used:upper"]
    assert found["season"] == pytest.approx(2.0833, abs=1e-3)
    assert found["window"] == pytest.approx(2.0833 + 2.2417, abs=1e-3)
    assert found["room"] == pytest.approx(28 - 4.325, abs=1e-3)
    assert found["uncounted"] == 1


def test_copper_over_the_whole_orchard_is_spread_over_all_blocks() -> None:
    seen = {**work("copper", "2026-04-10", amount="0.5 kg", content=0.96), "block": None}
    found = facts("2026-04-20", seen, blocks=(UPPER, LOWER))
    assert found["copper-used:upper"]["season"] == found["copper-used:lower"]["season"] == pytest.approx(2.0)


def test_the_copper_year_of_the_south_begins_in_july() -> None:
    seen = work("copper", "2025-09-10", amount="0.24 kg", content=1.0)
    assert facts("2026-03-20", seen, **SOUTH)["copper-used:upper"]["season"] == pytest.approx(2.0)
    assert facts("2026-09-20", seen, **SOUTH)["copper-used:upper"]["season"] == 0


# --- Nothing outweighs safety -----------------------------------------------------------------------------------------

EAGER = """
- id: spray-at-all-costs
  layer: proposals
  when: [{block: {block: $block}}]
  propose: {practice: PRACTICE, stance: do, place: $block, target: codling-moth, strength: strong, urgency: 1,
            summary: "Spray.", cautions: ["Label."]}
  because: "Somebody wants it."
  evidence: common-practice
  cases:
    - {name: block, given: [block: {block: b}], fires: true}
    - {name: none, given: [], fires: false}
"""


@pytest.mark.parametrize(
    ("practice", "stance", "seen"),
    [
        ("insecticide", "avoid", [stage("full-bloom", "2026-05-08")]),
        ("insecticide", "wait", [stage("petal-fall", "2026-05-08"),
                                 {"kind": "sward", "in_flower": 0.2, "date": "2026-05-08"}]),
        ("insecticide", "wait", [stage("petal-fall", "2026-05-08")]),
        ("insecticide", "wait", []),
        ("lime-sulphur", "wait", [stage("dormant", "2026-05-08"),
                                  work("biology-spray", "2026-05-06", material="whey")]),
        ("graze", "avoid", [stage("dormant", "2026-05-08"), work("copper", "2026-04-20")]),
        ("spread-manure", "wait", [stage("half-grown", "2026-05-08")]),
    ],
)  # fmt: skip
def test_the_strongest_proposal_does_not_outweigh_safety(
    practice: str, stance: str, seen: list[Any], tmp_path: Path
) -> None:
    (tmp_path / "eager.yaml").write_text(EAGER.replace("PRACTICE", practice))
    book = rules_by(knowledge(), tmp_path)
    answer = advise(orchard(observations=seen), on="2026-05-08", rules=book)
    found = [r for r in answer["recommendations"] if r["practice"] == practice and r["block"] == "upper"]
    assert {r["stance"] for r in found} == {stance}


SAFETY = {
    "poison gas": {"never-lime-sulphur-with-acid", "no-lime-sulphur-on-acid-residue",
                   "no-acid-on-lime-sulphur-residue", "lime-sulphur-and-acid-meant-too-close"},
    "bees": {"no-insecticide-on-open-bloom", "mow-the-flowering-sward-before-insecticide",
             "no-insecticide-on-flowering-understory"},
    "sheep": {"no-grazing-on-copper"},
    "fodder": {"no-grazing-on-wilted-stone-fruit-leaves", "no-grazing-among-poisonous-plants", "no-comfrey-as-fodder",
               "no-poisonous-plant-as-fodder"},
    "manure": {"no-raw-manure-before-harvest", "no-raw-manure-before-fruit-from-the-ground"},
    "juice": {"no-drops-for-juice-where-animals-grazed"},
    "water": {"no-spray-beside-water"},
    "people": {"no-picking-before-the-interval", "no-entry-before-the-interval"},
    "household stuff": {"no-household-stuff-as-pesticide"},
}  # fmt: skip


@pytest.mark.parametrize("what", sorted(SAFETY))
def test_each_danger_has_its_rules_of_the_highest_strength(what: str) -> None:
    book = default_rules()
    for id in SAFETY[what]:
        rule = book.rule(id)
        assert rule.output.strength == "must"
        assert rule.output.effect in ("hold", "forbid")
        assert {case.fires for case in rule.cases} == {True, False}


def test_a_pond_at_an_unknown_distance_makes_copper_wait() -> None:
    pond = {"id": "pond", "kind": "pond"}
    seen = [stage("silver-tip", "2026-04-10"), intent("copper", "2026-04-10")]
    answer = answered(orchard(observations=seen, habitats=[pond]), "2026-04-10", "meant")
    assert answer["stance"] == "wait"


@pytest.mark.parametrize("sour", ["whey", "vinegar", "sour-ferment", "fish-liquid", "biological-blossom-protectant"])
@pytest.mark.parametrize("practice", ["lime-sulphur", "thin-blossom", "oil"])
def test_lime_sulphur_meets_nothing_sour_in_any_tank(sour: str, practice: str) -> None:
    """Calcium polysulphide frees hydrogen sulphide in acid: chemical safety sheets, from memory."""
    seen = [stage("full-bloom", "2026-05-08"), intent(practice, "2026-05-08", **{"with": ["lime-sulphur", sour]})]
    answer = answered(orchard(observations=seen), "2026-05-08", "meant")
    assert (answer["stance"], answer["strength"]) == ("avoid", "must")


def test_a_stage_of_pink_some_days_old_does_not_vouch_for_closed_blossom() -> None:
    seen = [
        stage("pink", "2026-05-03"), {"kind": "sward", "in_flower": 0, "date": "2026-05-08"},
        {"kind": "pest-count", "pest": "rosy-apple-aphid", "infested": 0.2, "per": "cluster", "date": "2026-05-08"},
        {"kind": "ally-count", "ally": "hover-fly", "share": 0, "date": "2026-05-08"},
        intent("insecticide", "2026-05-08", material="spinosad", target="rosy-apple-aphid"),
    ]  # fmt: skip
    old = answered(orchard(observations=seen), "2026-05-08", "meant")
    fresh = answered(orchard(observations=[{**seen[0], "date": "2026-05-08"}, *seen[1:]]), "2026-05-08", "meant")
    assert (old["stance"], fresh["stance"]) == ("wait", "do")


def test_of_lime_sulphur_and_whey_meant_for_one_block_the_later_waits() -> None:
    """Chemical safety sheets, from memory; 14 days: common practice, no source."""
    lime = {**intent("lime-sulphur", "2026-03-20", day="2026-03-20"), "id": "lime"}
    whey = {**intent("biology-spray", "2026-03-20", day="2026-03-23", material="whey"), "id": "whey"}
    seen = [stage("dormant", "2026-03-20"), lime, whey]
    first, second = (answered(orchard(observations=seen), "2026-03-20", id) for id in ("lime", "whey"))
    assert (first["stance"], second["stance"], second["strength"]) == ("do", "wait", "must")
    assert second["window"]["opens"] == "2026-04-03"
    elsewhere = [*seen[:2], {**whey, "block": "lower"}]
    assert answered(orchard([UPPER, LOWER], elsewhere), "2026-03-20", "whey")["stance"] == "do"


def test_a_pest_that_nobody_found_is_looked_for_first() -> None:
    """Common practice, no source."""
    spray = intent("insecticide", "2026-07-10", material="spinosad", target="japanese-beetle")
    seen = [stage("half-grown", "2026-07-08"), {"kind": "sward", "in_flower": 0, "date": "2026-07-10"}, spray]
    answer = advise(orchard(observations=seen), on="2026-07-10")
    (told,) = [r for r in answer["recommendations"] if r["answers"] == "meant"]
    assert told["stance"] == "wait"
    assert ("pest-count", "japanese-beetle") in {(u["look_at"], u["about"]) for u in answer["unknowns"]}
    found = {"kind": "pest-damage", "pest": "japanese-beetle", "share": 0.2, "of": "leaves", "date": "2026-07-10"}
    assert answered(orchard(observations=[*seen, found]), "2026-07-10", "meant")["stance"] == "do"


def test_a_blossom_protectant_may_follow_lime_sulphur_with_care() -> None:
    """Thinning with lime sulphur, then a yeast on bloom, is how organic growers hold fire blight: from memory."""
    seen = [stage("full-bloom", "2026-05-08"), work("thin-blossom", "2026-05-07", material="lime-sulphur"),
            intent("protect-bloom", "2026-05-08", material="biological-blossom-protectant", target="brown-rot")]
    answer = answered(orchard(observations=seen), "2026-05-08", "meant")
    assert answer["stance"] == "do"
    assert any("poison gas" in line for line in answer["cautions"])
