"""The record of bloom and habitat: both hemispheres, what was seen, what is not known, and that it is the same each time."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping, Sequence
from importlib.resources import files
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor import load_orchard
from advisor.ecosystem import Plant, knowledge
from advisor.errors import InputError
from advisor.habitat import bloom
from advisor.habitat.limits import NEVER
from advisor.habitat.ribbon import InBloom
from advisor.habitat.weeks import FOODS, Parts, lacking, seasons
from counts import count
from scenarios.orchards import UPPER, orchard

NORTH = {"guidance": "new-york"}
SOUTH = {"latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland", "guidance": "new-zealand"}
FULL = {"date": "2026-05-10", "kind": "tree-stage", "block": "upper", "stage": "full-bloom"}
BLOCK = {**UPPER, "floor": "turf", "understory": ["dandelion", "white-clover"]}


def of(
    blocks: Sequence[Mapping[str, Any]] = (BLOCK,),
    seen: Sequence[Mapping[str, Any]] = (FULL,),
    habitats: Sequence[Mapping[str, Any]] = (),
    on: str = "2026-05-12",
    about: Mapping[str, Any] = NORTH,
    **asked: Any,
) -> Any:
    return bloom(orchard(blocks, seen, habitats, **about), on=on, **asked)


def row(found: Any, plant: str, place: str | None = None) -> Any:
    (one,) = [r for r in found["ribbon"] if r["plant"] == plant and place in (None, r["place"])]
    return one


# --- weeks and dates --------------------------------------------------------------------------


def test_weeks_carry_the_dates_of_this_sites_bloom() -> None:
    found = of()
    assert found["full_bloom"] == {
        "date": "2026-05-10",
        "seen": True,
        "text": "Apple full bloom was seen on 2026-05-10.",
    }
    clover = row(found, "white-clover")
    assert (clover["first_week"], clover["from"]) == (4, "2026-06-07")  # four weeks on


def test_the_south_has_the_same_weeks_half_a_year_apart() -> None:
    south = of(seen=[{**FULL, "date": "2025-10-10"}], on="2025-10-12", about=SOUTH)
    north = of()
    assert south["hemisphere"] == "south"
    weeks = [(r["plant"], r["first_week"], r["last_week"]) for r in north["ribbon"]]
    assert [(r["plant"], r["first_week"], r["last_week"]) for r in south["ribbon"]] == weeks
    assert [g["first_week"] for g in south["gaps"]] == [g["first_week"] for g in north["gaps"]]
    assert row(south, "white-clover")["to"] == "2026-02-13"  # 18 weeks after 10 October, across the new year


def test_without_a_known_bloom_there_are_weeks_and_no_dates() -> None:
    found = of(seen=[], on="2026-02-01")
    assert found["full_bloom"]["date"] is None
    assert found["week_now"] is None
    assert all(r["from"] is None for r in (*found["ribbon"], *found["weeks"], *found["gaps"]))
    assert any("carry no dates" in note for note in found["notes"])


def test_an_estimated_bloom_says_so() -> None:
    found = of(seen=[{**FULL, "stage": "petal-fall"}])
    assert found["full_bloom"]["seen"] is False
    assert any("estimated" in note for note in found["notes"])


def test_a_site_without_apples_is_dated_from_its_own_trees() -> None:
    """Plums bloom from 3 weeks before apple to its full bloom: their middle stands 1.5 weeks before it."""
    plums = [{**BLOCK, "fruit": "plum"}]
    found = of(plums, [{**FULL, "date": "2026-04-28"}], on="2026-05-01")
    assert found["full_bloom"]["date"] == (dt.date(2026, 4, 28) + dt.timedelta(days=10)).isoformat()
    assert found["full_bloom"]["seen"] is False


def test_each_block_blooms_by_its_own_stage() -> None:
    late = {**UPPER, "id": "lower", "floor": "bare"}
    found = of([BLOCK, late], [FULL, {**FULL, "block": "lower", "date": "2026-05-17"}], on="2026-05-18")
    assert row(found, "apple", "lower")["first_week"] == row(found, "apple", "upper")["first_week"] + 1


# --- what was seen ----------------------------------------------------------------------------


def looked(date: str, plant: str, open_: float, **where: str) -> dict[str, Any]:
    return {"date": date, "kind": "plant-bloom", "plant": plant, "open": open_, **where}


def test_a_flower_seen_outside_its_usual_weeks_counts() -> None:
    found = of(seen=[FULL, looked("2026-05-20", "white-clover", 0.3, block="upper")], on="2026-05-21")
    clover = row(found, "white-clover")
    assert clover["seen"]
    assert clover["first_week"] == pytest.approx(10 / 7, abs=0.01)


def test_a_flower_seen_shut_narrows_its_usual_weeks() -> None:
    found = of(seen=[FULL, looked("2026-05-14", "dandelion", 0, block="upper")], on="2026-05-21")
    assert row(found, "dandelion")["last_week"] == pytest.approx(4 / 7, abs=0.01)


def test_of_two_looks_at_odds_the_open_one_counts() -> None:
    shut, seen = (looked("2026-05-14", "dandelion", share, block="upper") for share in (0, 0.5))
    found = of(seen=[FULL, shut, seen], on="2026-05-21")
    assert row(found, "dandelion")["last_week"] >= 5 / 7 - 0.01


def test_a_plant_seen_where_nobody_listed_it_stands_there() -> None:
    found = of(seen=[FULL, looked("2026-05-12", "deadnettle", 0.5, block="upper")], wanted="deadnettle")
    assert row(found, "deadnettle")["seen"]
    assert found["left_out"][0]["status"] == "here already"


def test_a_look_of_another_year_says_nothing_of_this_one() -> None:
    found = of(seen=[FULL, looked("2025-04-01", "white-clover", 0.5, block="upper")])
    assert row(found, "white-clover")["first_week"] == 4


# --- what is not known ------------------------------------------------------------------------


def test_plants_not_listed_are_unknown_and_not_none() -> None:
    hedge = {"id": "hedge", "kind": "hedge"}
    found = of(habitats=[hedge])
    assert not any(gap["sure"] for gap in found["gaps"])
    assert any("hedge" in note and "unknown, not nothing" in note for note in found["notes"])
    listed = of(habitats=[{**hedge, "plants": ["hazel"]}])
    assert all(gap["sure"] for gap in listed["gaps"])


def test_names_that_nobody_knows_are_told_and_not_counted() -> None:
    found = of([{**BLOCK, "understory": ["other:moon-daisy"]}])
    assert any("other:moon-daisy" in note for note in found["notes"])
    assert {r["plant"] for r in found["ribbon"]} == {"apple"}


def test_a_missing_distance_is_measured_and_not_guessed() -> None:
    boxes = {"id": "boxes", "kind": "nest-boxes"}
    (nest,) = of(habitats=[boxes])["distances"]["nests"]
    assert (nest["ok"], nest["distance_m"]) == (None, None)


@pytest.mark.parametrize(("metres", "fine"), [(150, True), (151, False)])
def test_small_bees_fly_150_m(metres: int, fine: bool) -> None:
    """Hofmann, Fleischmann and Renner 2020: keep flowers and nests within 150 m."""
    (nest,) = of(habitats=[{"id": "b", "kind": "nest-boxes", "distance": f"{metres} m"}])["distances"]["nests"]
    assert (nest["ok"], nest["limit_m"]) == (fine, 150)


@pytest.mark.parametrize(("metres", "fine"), [(50, True), (51, False)])
def test_flowers_help_to_50_m(metres: int, fine: bool) -> None:
    """Howard and others 2024: margins helped to 50 m into the orchard."""
    strip = {"id": "s", "kind": "flower-strip", "plants": ["phacelia"], "distance": f"{metres} m"}
    (found,) = [one for one in of(habitats=[strip])["distances"]["trees"] if one["place"] == "s"]
    assert found["ok"] is fine


def test_the_middle_of_four_square_hectares_is_beyond_flowers_at_the_edge() -> None:
    """200 m a side: the middle is 100 m from each edge (worked out in the handbook)."""
    wide = {**UPPER, "area": "4 ha", "understory": []}
    (found,) = of([wide])["distances"]["trees"]
    assert (found["ok"], found["distance_m"]) == (False, pytest.approx(100))


@pytest.mark.parametrize(("area", "judged"), [("100 m2", "less than"), ("150 m2", "within"), ("300 m2", "more than")])
def test_a_tenth_to_fifteen_hundredths_are_kept_for_flowers(area: str, judged: str) -> None:
    """McKerchar 2020: 10 to 15 % of new orchards in one scheme; here of a block of 1,200 m2."""
    room = of(habitats=[{"id": "h", "kind": "hedge", "plants": [], "area": area}])["room"]
    assert judged in room["text"]
    assert of()["room"]["share"] is None
    assert of(habitats=[{"id": "h", "kind": "hedge", "plants": []}])["room"]["share"] is None


def test_us_units_are_read_and_written() -> None:
    boxes = {"id": "b", "kind": "nest-boxes", "distance": "600 ft"}
    (nest,) = of(habitats=[boxes], about={**NORTH, "units": "us"})["distances"]["nests"]
    assert nest["distance_m"] == pytest.approx(182.88)
    assert "600 ft" in nest["text"]
    assert "492 ft" in nest["text"]


# --- gaps -------------------------------------------------------------------------------------

_PLANTS = sorted(p.id for p in knowledge().of_kind(Plant).values() if p.bloom is not None and not p.fruit)


def flower(name: str) -> InBloom:
    plant = knowledge().resolve(name, kind="plant")
    assert isinstance(plant, Plant)
    assert plant.bloom is not None
    return InBloom(plant, "bed", "habitat", plant.bloom.begin, plant.bloom.end)


@settings(max_examples=count("one more plant never makes a gap"), deadline=None)
@given(st.lists(st.sampled_from(_PLANTS), max_size=8, unique=True), st.sampled_from(_PLANTS))
def test_one_more_plant_never_makes_a_gap(names: list[str], more: str) -> None:
    parts = Parts.of(knowledge(), "any")
    before, after = [flower(name) for name in names], [flower(name) for name in {*names, more}]
    for food, _, _ in FOODS:
        pairs = zip(lacking(before, parts, food), lacking(after, parts, food), strict=True)
        assert all(was or not now for was, now in pairs)
    thin = zip(seasons(before, parts, True), seasons(after, parts, True), strict=True)
    assert all(was["thin"] or not now["thin"] for was, now in thin)


def test_a_gap_of_nectar_may_have_pollen() -> None:
    found = of([{**BLOCK, "understory": ["elder"]}])
    by_food = {food: [g["first_week"] for g in found["gaps"] if g["lacks"] == food] for food, _, _ in FOODS}
    assert 8 in by_food["flowers"]  # elder is over, and nothing follows
    assert 1 in by_food["nectar"]


# --- meetings, shelter ------------------------------------------------------------------------


def test_a_spray_meant_for_bloom_meets_its_flowers_and_one_after_it_does_not() -> None:
    intent = {
        "date": "2026-05-12",
        "kind": "intent",
        "practice": "insecticide",
        "block": "upper",
        "material": "spinosad",
    }
    met = of(seen=[FULL, {**intent, "day": "2026-05-13"}])["spray_meetings"]
    assert {f["plant"] for one in met if one["how"] == "intended" for f in one["flowers"]} == {"apple", "dandelion"}
    later = of(seen=[FULL, {**intent, "day": "2026-05-30"}])["spray_meetings"]
    assert not [one for one in later if one["how"] == "intended"]


@pytest.mark.parametrize(("about", "full", "last", "on"), [
    (NORTH, "2026-05-10", "2025-05-13", "2026-05-12"),
    (SOUTH, "2025-10-10", "2024-10-13", "2025-10-12"),
])  # fmt: skip
def test_a_usual_spray_is_looked_for_on_its_day_in_either_hemisphere(
    about: Mapping[str, Any], full: str, last: str, on: str
) -> None:
    work = {"date": last, "kind": "work", "practice": "insecticide", "block": "upper", "material": "pyrethrin"}
    met = of(seen=[{**FULL, "date": full}, work], about=about, on=on)["spray_meetings"]
    assert [(one["how"], one["from"][5:]) for one in met if one["practice"] == "insecticide"] == [("usual", last[5:])]


def test_flowers_mown_shortly_before_a_spray_are_not_met() -> None:
    """One to three days before, by common practice; they are over for about a week."""
    meant = {"date": "2026-05-22", "kind": "intent", "practice": "insecticide", "block": "upper", "day": "2026-05-23",
             "material": "spinosad"}  # fmt: skip
    work = {"date": "2026-05-21", "kind": "work", "practice": "mow-bloom-before-spray", "block": "upper"}
    kept = of(seen=[FULL, meant], on="2026-05-22")["spray_meetings"]
    mown = of(seen=[FULL, meant, work], on="2026-05-22")["spray_meetings"]
    assert [f["plant"] for one in kept if one["how"] == "intended" for f in one["flowers"]] == ["dandelion"]
    assert [one for one in mown if one["how"] == "intended"] == []


def test_flowers_seen_in_an_unlisted_sward_ask_for_their_names() -> None:
    sward = {"date": "2026-05-11", "kind": "sward", "block": "upper", "in_flower": 0.2}
    found = of([{**UPPER, "floor": "meadow"}], [FULL, sward])
    assert any("20 % of the sward of upper was in flower" in note for note in found["notes"])


def test_what_the_choice_never_plants_the_rules_forbid() -> None:
    text = (files("advisor.rules") / "planting.yaml").read_text(encoding="utf-8")
    (rule,) = [rule for rule in yaml.safe_load(text) if rule["id"] == "never-plant-these"]
    (condition,) = rule["when"]
    assert set(NEVER) == set(condition["considered"]["target"]["in"])


def test_drift_reaches_a_near_strip_and_not_a_far_one() -> None:
    """Buffers of 60 ft, 18 m, beside flower habitat (from memory)."""
    intent = {"date": "2026-06-25", "kind": "intent", "practice": "insecticide", "block": "upper", "day": "2026-06-26",
              "material": "spinosad"}  # fmt: skip
    bare = [{**UPPER, "floor": "bare", "understory": []}]
    for metres, reached in (("10 m", True), ("60 m", False)):
        strip = {"id": "s", "kind": "flower-strip", "plants": ["phacelia"], "distance": metres}
        met = of(bare, [FULL, intent], [strip], on="2026-06-25")["spray_meetings"]
        assert any(one["how"] == "intended" for one in met) is reached


def test_cutting_stems_takes_them_from_those_that_live_in_them() -> None:
    bed = {"id": "bed", "kind": "stem-bed", "plants": ["joe-pye-weed"]}
    looked_at = {"date": "2026-05-01", "kind": "stems", "habitat": "bed", "standing": 0.8, "first_cut": 2025}
    meant = {"date": "2026-05-12", "kind": "intent", "practice": "cut-to-ground", "habitat": "bed", "day": "2026-05-13"}
    seen = [FULL, looked_at, meant]
    shelter = of(seen=seen, habitats=[bed])["shelter"]
    taken = [one for one in shelter["taken"] if one["how"] == "intended" and one["takes"] == "stem-stubble"]
    assert taken[0]["state"] == "present"
    assert "stem-bee" in taken[0]["inside"]
    assert "2025" in shelter["stems"][0]["text"]


def test_a_place_looked_for_and_absent_is_not_called_unknown() -> None:
    litter = {"date": "2026-05-01", "kind": "leaf-fall", "block": "upper", "fallen": 0}
    for seen, state in (([FULL], "unknown"), ([FULL, litter], "absent")):
        rows = of(seen=seen)["shelter"]["allies"]
        (site,) = [s for r in rows if r["ally"] == "lacewing" for s in r["sites"] if s["site"] == "leaf-litter"]
        assert site["state"] == state


# --- the record itself ------------------------------------------------------------------------


def test_the_record_is_json_and_the_same_each_time() -> None:
    first, second = (json.dumps(of(wanted=["aster", "willow"]), allow_nan=False) for _ in range(2))
    assert first == second


def test_without_the_solver_the_quick_way_answers_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    exact = of()
    monkeypatch.setattr("advisor.habitat.choices.can_be_exact", lambda: False)
    quick = of()
    assert (exact["choosing"]["method"], quick["choosing"]["method"]) == ("exact", "greedy")
    assert quick["choosing"]["exact"] is None
    assert exact["choosing"]["greedy"] == quick["choosing"]["greedy"] == quick["choices"][0]["kinds"]
    assert any("underbough[scale]" in note for note in quick["notes"])


def test_what_is_asked_and_unknown_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(InputError, match="hawthorn"):
        of(wanted="hawthorm")
    with pytest.raises(InputError, match="nothing is known"):
        of(wanted="other:moonwort")
    with pytest.raises(InputError, match="Terms are"):
        of(terms={"spots": ["roof"]})
    with pytest.raises(InputError, match="prices"):
        of(terms={"prices": {"aster": 0}})


def test_an_orchard_that_is_loaded_already_serves() -> None:
    file = load_orchard(orchard([BLOCK], [FULL], **NORTH))
    assert bloom(file, on="2026-05-12")["orchard"] == "Larkfield"
