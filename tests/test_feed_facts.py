"""What leaf and soil tests, shoots, trunks and heaps come to as facts."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from advisor.advice import default_rules
from advisor.ecosystem import knowledge
from advisor.fact import Fact
from advisor.facts import Situation, gather
from advisor.orchard import load_orchard
from scenarios.asking import SOUTH
from scenarios.orchards import UPPER, orchard

KINDS = default_rules().kinds


def facts(on: str, *seen: dict[str, Any], block: dict[str, Any] | None = None, **about: Any) -> dict[str, Fact]:
    file = load_orchard(orchard([{**UPPER, **(block or {})}], [{"date": on, **one} for one in seen], **about))
    return {f.id: f for f in gather(Situation.of(file, dt.date.fromisoformat(on), None, None, knowledge()), KINDS).facts}


def leaf(date: str = "2025-07-24", **results: str) -> dict[str, Any]:
    return {"kind": "leaf-test", "date": date, "results": results}


# Washington State University, table 4; Ontario sufficiency range; Michigan State University E-852
@pytest.mark.parametrize(
    ("guidance", "block", "value", "status", "low", "high"),
    [
        ("washington", {}, "1.6 %", "low", 1.7, 2.5),
        ("michigan", {}, "1.8 %", "low", 1.9, 2.7),
        ("michigan", {"cultivars": ["McIntosh"]}, "1.8 %", "enough", 1.7, 2.4),
        ("ontario", {}, "2.1 %", "enough", 2.0, 2.5),
        ("ontario", {"rootstock": "M.9"}, "2.1 %", "low", 2.2, 2.7),
        ("ontario", {"planted": 2024}, "2.1 %", "low", 2.2, 2.7),
        ("washington", {"fruit": "peach"}, "3.8 %", "high", 2.7, 3.5),
    ],
)
def test_leaf_nitrogen_against_the_range_of_the_region(
    guidance: str, block: dict[str, Any], value: str, status: str, low: float, high: float
) -> None:
    found = facts("2026-04-10", leaf(N=value), block=block, guidance=guidance)["leaf-nutrient:upper:N"]
    assert (found.fields["status"], found.fields["low"], found.fields["high"]) == (status, low, high)
    assert f"{low:g} to {high:g}" in found.text
    assert found.sources


def test_a_mixed_sample_is_low_only_where_it_is_low_for_every_cultivar() -> None:
    """Michigan State University E-852: McIntosh 1.7 to 2.4, most others 1.9 to 2.7."""
    mixed = {"cultivars": ["McIntosh", "Northern Spy"]}
    found = facts("2026-04-10", leaf(N="1.8 %"), block=mixed, guidance="michigan")["leaf-nutrient:upper:N"]
    assert (found.fields["status"], found.fields["low"], found.fields["high"]) == ("enough", 1.7, 2.7)


def test_a_fruit_without_a_range_gets_no_status() -> None:
    found = facts("2026-04-10", leaf(N="2.5 %"), block={"fruit": "quince"})["leaf-nutrient:upper:N"]
    assert "status" not in found.fields
    assert "no range" in found.text


def test_units_of_leaf_tests_are_read_alike() -> None:
    by_unit = [
        facts("2026-04-10", leaf(N=n, B=b)) for n, b in (("1.5 %", "24 ppm"), ("15 g/kg", "0.0024 %"))
    ]
    for found in by_unit:
        assert found["leaf-nutrient:upper:N"].fields["value"] == pytest.approx(1.5)
        assert found["leaf-nutrient:upper:B"].fields["value"] == pytest.approx(24)


def test_a_sample_out_of_season_says_so() -> None:
    assert facts("2026-04-10", leaf("2025-07-24", N="1.6 %"))["leaf-nutrient:upper:N"].fields["timely"] is True
    assert facts("2026-06-10", leaf("2026-05-20", N="1.6 %"))["leaf-nutrient:upper:N"].fields["timely"] is False
    south = facts("2026-03-10", leaf("2026-01-25", N="1.6 %"), **SOUTH)["leaf-nutrient:upper:N"]
    assert south.fields["timely"] is True


def test_soil_figures_take_calcium_in_ppm() -> None:
    """Washington State University EM119E: calcium low below 3.0 meq/100 g; a milliequivalent of calcium is 20.04 mg."""
    results = {"Ca": "501 ppm", "K": "100 ppm", "ph": 5.4, "P": "25 ppm"}
    found = facts("2026-04-10", {"kind": "soil-test", "results": results})
    assert found["soil-figure:upper:Ca"].fields["value"] == pytest.approx(2.5)
    assert found["soil-figure:upper:Ca"].fields["status"] == "low"
    assert found["soil-figure:upper:K"].fields["status"] == "low"
    assert found["soil-figure:upper:ph"].fields["status"] == "below"
    assert found["soil-figure:upper:P"].fields["status"] == "optimal"


# Michigan State University E-852: 12 to 24 in not yet bearing, 8 to 12 in bearing; Tennessee: spur types 6 to 10 in
@pytest.mark.parametrize(
    ("block", "length", "status"),
    [
        ({}, "7 in", "short"),
        ({}, "10 in", "enough"),
        ({}, "14 in", "long"),
        ({"planted": 2024}, "14 in", "enough"),
        ({"planted": 2024}, "10 in", "short"),
        ({"cultivars": ["Spur Delicious"]}, "7 in", "enough"),
        ({"cultivars": ["Spur Delicious"]}, "11 in", "long"),
        ({"fruit": "peach"}, "20 in", "enough"),
    ],
)
def test_shoots_against_age_and_habit(block: dict[str, Any], length: str, status: str) -> None:
    seen = {"kind": "shoot-growth", "date": "2025-09-10", "length": length}
    assert facts("2026-04-10", seen, block=block)["shoot-vigour:upper"].fields["status"] == status


def test_shoots_that_still_grow_are_not_called_short() -> None:
    seen = {"kind": "shoot-growth", "length": "12 cm"}
    assert "status" not in facts("2026-06-01", seen)["shoot-vigour:upper"].fields
    growing = facts("2026-06-01", {**seen, "terminal_set": False})["shoot-vigour:upper"]
    assert growing.fields["status"] == "growing"
    closed = facts("2026-06-20", {**seen, "terminal_set": True})["shoot-vigour:upper"]
    assert closed.fields["status"] == "short"


@pytest.mark.parametrize(
    ("on", "stage", "about", "state"),
    [
        ("2025-12-10", "leafless", {}, "early"),
        ("2026-03-10", "dormant", {}, "open"),
        ("2026-05-01", "pink", {}, "open"),
        ("2026-05-30", "fruit-set", {}, "closing"),
        ("2026-07-10", "half-grown", {}, "late"),
        ("2026-10-20", "leaf-fall", {}, "late"),
        ("2026-06-20", "leafless", SOUTH, "early"),
        ("2026-09-20", "dormant", SOUTH, "open"),
        ("2026-01-20", "half-grown", SOUTH, "late"),
    ],
)
def test_when_nitrogen_serves(on: str, stage: str, about: dict[str, Any], state: str) -> None:
    """University of Tennessee: four to six weeks before bud swell."""
    found = facts(on, {"kind": "tree-stage", "stage": stage}, **about)["feed-window:upper"].fields
    assert found["state"] == state
    assert ("opens" in found) == (state in ("early", "late"))


def test_the_rate_is_held_from_year_ten() -> None:
    """University of Tennessee: 0.1 lb an inch of trunk, held after year 8 to 10."""
    girth = {"kind": "crop-count", "date": "2025-09-01", "girth": "60 cm"}
    young = facts("2026-04-10", girth, block={"planted": 2017})["nitrogen-need:upper"].fields
    old = facts("2026-04-10", girth, block={"planted": 2006})["nitrogen-need:upper"].fields
    assert young["per_tree"] == pytest.approx(0.1 * 453.592 * 60 / 3.14159 / 2.54, rel=1e-3)
    assert old["per_tree"] == pytest.approx(float(young["per_tree"]) / 2, rel=1e-3)


def test_no_rate_where_none_is_published() -> None:
    assert "nitrogen-need:upper" not in facts("2026-04-10", block={"fruit": "pear"})
    assert "nitrogen-need:upper" not in facts("2026-04-10", block={"planted": None})


def test_earlier_lime_is_credited() -> None:
    """North Carolina: 8 % less a month."""
    soil = {"kind": "soil-test", "results": {"ph": 5.4, "buffer_ph": 6.2}}
    lime = {"kind": "work", "practice": "lime", "date": "2026-04-25", "amount": "200 kg", "block": "upper"}
    fresh = facts("2026-10-25", soil)["lime-need:upper"].fields
    limed = facts("2026-10-25", soil, lime)["lime-need:upper"].fields
    months = 183 / 30.44
    assert float(fresh["kg"]) - float(limed["kg"]) == pytest.approx(200 * (1 - 0.08 * months), rel=0.01)


def test_no_lime_amount_without_a_buffer_ph() -> None:
    found = facts("2026-10-25", {"kind": "soil-test", "results": {"ph": 5.4}})["lime-need:upper"]
    assert "kg" not in found.fields
    assert "ask the laboratory" in found.text


GRASS = {"material": "grass-clippings", "mass": "10 kg", "carbon": "45 %", "nitrogen": "2.4 %", "moisture": "77 %"}


def test_what_a_heap_lacks_comes_from_its_own_parts_first() -> None:
    leaves = {"material": "dry-leaves", "mass": "1 kg", "carbon": "50 %", "nitrogen": "0.75 %", "moisture": "35 %"}
    found = facts("2026-06-10", {"kind": "heap", "parts": [GRASS, leaves]})["heap-mix:upper"].fields
    assert (found["cn_status"], found["add"]) == ("low", "dry-leaves")
    assert found["add_kg"] == pytest.approx(3.47 - 1, abs=0.01)  # Richard and Trautmann 1996: 3.5 kg for 10 kg of grass


def test_a_heap_of_green_alone_gets_straw_and_a_dry_one_water() -> None:
    green = facts("2026-06-10", {"kind": "heap", "parts": [GRASS]})["heap-mix:upper"].fields
    assert green["add"] == "straw"
    dry = {**GRASS, "carbon": "30 %", "nitrogen": "1 %", "moisture": "20 %"}
    found = facts("2026-06-10", {"kind": "heap", "parts": [dry]})["heap-mix:upper"].fields
    assert (found["cn_status"], found["moisture_status"]) == ("fits", "dry")
    assert found["water"] == pytest.approx(10 * (55 - 20) / (100 - 55), abs=1e-3)


def test_a_goal_beyond_every_stuff_is_out_of_reach() -> None:
    found = facts("2026-06-10", {"kind": "heap", "parts": [GRASS], "goal_cn": 3})["heap-mix:upper"]
    assert found.fields["reach"] == "out"
    assert "out of reach" in found.text


def test_a_heap_with_an_unknown_part_is_not_reckoned() -> None:
    found = facts("2026-06-10", {"kind": "heap", "parts": [GRASS, {"material": "bone-meal", "mass": "1 kg"}]})
    assert "cn" not in found["heap-mix:upper"].fields
    assert "bone-meal" in found["heap-mix:upper"].text


def test_rings_less_what_lies_there() -> None:
    """A ring 3 m across and 10 cm deep, bare 15 cm round the middle, takes 0.70 m3: volumes go by depth and area."""
    bare = facts("2026-11-20")["ring-volume:upper"].fields
    assert bare["per_tree"] == pytest.approx(3.14159 * (1.5**2 - 0.2**2) * 0.075, rel=1e-3)
    assert bare["chips"] == pytest.approx(40 * float(bare["per_tree"]), rel=1e-3)
    there = facts("2026-11-20", block={"mulch": {"material": "wood-chips", "depth": "5 cm"}})["ring-volume:upper"].fields
    assert there["per_tree"] == pytest.approx(float(bare["per_tree"]) / 3, rel=1e-3)


def test_trees_closer_than_rings_stand_in_a_strip() -> None:
    """A strip 1.5 m wide, a metre of it to each tree, less the bare round of 20 cm at the trunk."""
    close = facts("2026-11-20", block={"spacing": "3 m x 1 m"})["ring-volume:upper"].fields
    assert close["shape"] == "strips"
    assert close["per_tree"] == pytest.approx((1.5 * 1 - 3.14159 * 0.2**2) * 0.075, rel=1e-3)
    assert facts("2026-11-20")["ring-volume:upper"].fields["shape"] == "rings"


def test_calcium_begins_a_week_after_petal_fall_and_ends_before_harvest() -> None:
    fell = {"kind": "tree-stage", "stage": "petal-fall", "date": "2026-05-20"}
    assert facts("2026-05-22", fell)["calcium-window:upper"].fields["state"] == "early"
    assert facts("2026-05-28", fell)["calcium-window:upper"].fields["state"] == "open"
    pick = {"kind": "intent", "practice": "pick", "day": "2026-09-01", "block": "upper"}
    late = {"kind": "tree-stage", "stage": "colouring"}
    assert facts("2026-08-25", fell, late, pick)["calcium-window:upper"].fields["state"] == "over"
    assert "calcium-window:upper" not in facts("2026-05-28", fell, block={"fruit": "plum"})


# --- what was spread counts -------------------------------------------------------------------------------------------


def spread(practice: str, amount: str, date: str = "2026-03-20", **more: Any) -> dict[str, Any]:
    return {"kind": "work", "practice": practice, "amount": amount, "date": date, **more}


GIRTH = {"kind": "crop-count", "girth": "40 cm"}


@pytest.mark.parametrize(
    ("work", "freed"),
    [
        # wet kg x dry matter x nitrogen of the dry x what comes free (Cornell University: 25 % of drier cow manure,
        # 55 % of poultry, 12 % and 5 % in the years after; compost: the middle of 5 and 10 %);
        # materials as in knowledge/materials.yaml
        (spread("spread-manure", "400 kg", material="farmyard-manure"), 400 * 0.19 * 0.024 * 0.25),
        (spread("spread-manure", "400 kg"), 400 * 0.19 * 0.024 * 0.25),
        (spread("spread-manure", "100 kg", material="poultry-manure"), 100 * 0.31 * 0.08 * 0.55),
        (spread("spread-manure", "400 kg", "2025-03-20", material="farmyard-manure"), 400 * 0.19 * 0.024 * 0.12),
        (spread("spread-manure", "400 kg", "2024-03-20", material="farmyard-manure"), 400 * 0.19 * 0.024 * 0.05),
        (spread("spread-manure", "400 kg", "2022-03-20", material="farmyard-manure"), 0),
        (spread("spread-manure", "2 m3", material="horse-manure"), 2 * 815 * 0.28 * 0.016 * 0.25),
        (spread("spread-compost", "500 kg"), 500 * 0.57 * 0.015 * 0.075),
        (spread("spread-manure", "400 kg", material="kitchen-waste"), 0),
    ],
)
def test_manure_and_compost_are_taken_off_the_nitrogen(work: dict[str, Any], freed: float) -> None:
    without = facts("2026-04-10", GIRTH)["nitrogen-need:upper"].fields
    found = facts("2026-04-10", GIRTH, work)["nitrogen-need:upper"]
    assert found.fields["credit"] == pytest.approx(freed, abs=1e-3)
    assert found.fields["kg"] == pytest.approx(without["kg"] - freed, abs=1e-3)
    assert ("less" in found.text) is (freed > 0)


def test_manure_over_the_whole_orchard_is_shared_by_ground() -> None:
    record = spread("spread-manure", "400 kg", material="farmyard-manure")
    blocks = [{**UPPER, "id": "upper", "area": "3000 m2"}, {**UPPER, "id": "lower", "area": "1000 m2"}]
    file = load_orchard(orchard(blocks, [{"date": "2026-04-10", **GIRTH}, record]))
    now = Situation.of(file, dt.date(2026, 4, 10), None, None, knowledge())
    found = {f.id: f for f in gather(now, KINDS).facts}
    assert found["nitrogen-need:upper"].fields["credit"] == pytest.approx(300 * 0.19 * 0.024 * 0.25, abs=1e-3)
    assert found["nitrogen-need:lower"].fields["credit"] == pytest.approx(100 * 0.19 * 0.024 * 0.25, abs=1e-3)


def test_a_heap_is_not_mended_into_a_swamp() -> None:
    """Chips and cattle manure at 85 to one: more cattle manure would leave 75 % moisture, hen manure does not."""
    parts = [{"material": "wood-chips", "mass": "200 kg"}, {"material": "cow-manure", "mass": "150 kg"}]
    found = facts("2026-04-10", {"kind": "heap", "block": "upper", "parts": parts, "goal_cn": 30})["heap-mix:upper"].fields
    assert found["cn"] == pytest.approx(85.3, abs=0.05)
    assert found["add"] == "poultry-manure"
    # nitrogen and carbon of the mix, kg: 0.828 and 70.6; of a kilogram of hen manure 0.0248 and 0.149 (C:N 6)
    assert found["add_kg"] == pytest.approx((70.6 - 30 * 0.828) / (30 * 0.0248 - 0.149), abs=0.5)
    assert found["moisture_status"] == "fits"


def test_ph_alone_gives_the_most_lime_that_it_can_be() -> None:
    """A classroom rule: heavy clay takes 8 t/ha for each unit of pH; from 5.5 to 6.5 that is 8 t/ha, on 1,200 m2 960 kg."""
    need = facts("2026-11-20", {"kind": "soil-test", "results": {"ph": 5.5}})["lime-need:upper"].fields
    assert (need["ceiling"], need["ceiling_kg"]) == (pytest.approx(8000), pytest.approx(960))
    assert "kg" not in need
    tested = facts("2026-11-20", {"kind": "soil-test", "results": {"ph": 5.5, "buffer_ph": 6.3}})["lime-need:upper"].fields
    assert "ceiling" not in tested
    assert tested["kg_weak"] == pytest.approx(float(tested["kg"]) / 0.8, rel=1e-3)


def test_calcium_that_went_on_is_counted_as_calcium() -> None:
    """Flake of 78 % is 28.2 % calcium; 0.5 kg on 1,200 m2 are 4.17 kg/ha of flake and 1.17 of calcium."""
    seen = [{"date": "2026-05-10", "kind": "tree-stage", "stage": "full-bloom"}]
    sprayed = {"date": "2026-06-01", "kind": "work", "practice": "calcium-spray", "material": "calcium-chloride",
               "block": "upper", "amount": "500 g"}  # fmt: skip
    once = facts("2026-06-16", *seen, sprayed, block={"cultivars": ["Honeycrisp"]})["calcium-window:upper"].fields
    assert once["so_far"] == pytest.approx(0.5 / 0.12 * 0.78 * 0.3611, rel=2e-3)
    unknown = facts("2026-06-16", *seen, {**sprayed, "amount": None}, block={"cultivars": ["Honeycrisp"]})
    assert "so_far" not in unknown["calcium-window:upper"].fields
    assert once["worth"] in ("good", "excellent, for pit-prone kinds")


def test_fewer_calcium_sprays_are_left_late_in_the_season() -> None:
    seen = {"date": "2026-05-10", "kind": "tree-stage", "stage": "full-bloom"}
    early = facts("2026-06-01", seen, block={"cultivars": ["Honeycrisp"]})["calcium-window:upper"].fields
    late = facts("2026-08-01", seen, block={"cultivars": ["Honeycrisp"]})["calcium-window:upper"].fields
    assert late["left"] < early["left"]


def test_a_look_long_after_bloom_does_not_put_petal_fall_off() -> None:
    """Full bloom on 10 May and colouring fruit seen in September: petals fell in May, not in July."""
    seen = [{"date": "2026-05-10", "kind": "tree-stage", "stage": "full-bloom"},
            {"date": "2026-09-10", "kind": "tree-stage", "stage": "colouring"}]  # fmt: skip
    found = facts("2026-09-12", *seen, block={"cultivars": ["Honeycrisp"]})["calcium-window:upper"].fields
    assert found["since"] > 100
