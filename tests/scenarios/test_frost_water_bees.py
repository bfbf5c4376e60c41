"""Frost, water and bees in pairs: the situation, and the same with its deciding fact turned."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from advisor import advise
from scenarios.asking import SOUTH, Ask, apples, stage
from scenarios.orchards import recommended

EVE, MORNING, SUMMER, BLOOM = "2026-05-12", "2026-05-13", "2026-06-20", "2026-05-15"
SPRINKLED = apples(frost_gear={"kind": "sprinkler", "rate": "2.5 mm/h"})
FANNED = apples(frost_gear="wind-machine")
COVERED = apples(frost_gear="cover")
LOAM = apples(soil="loam", root_depth="1 m", floor="meadow", irrigation={"kind": "drip", "efficiency": 0.8})


def cherries(**more: Any) -> list[dict[str, Any]]:
    return [{"id": "upper", "fruit": "sweet-cherry", "planted": 2012, **more}]


def ahead(day: str = MORNING, **said: Any) -> dict[str, Any]:
    return {"kind": "forecast", "day": day, **said}


def frost(low: str = "-3 °C", **said: Any) -> list[dict[str, Any]]:
    return [stage("full-bloom"), ahead(low=low, **said)]


def night_before(low: str) -> dict[str, Any]:
    return {"kind": "forecast", "date": EVE, "day": MORNING, "low": low}


def lacking(depletion: str, *more: dict[str, Any]) -> list[dict[str, Any]]:
    return [stage("june-drop"), {"kind": "soil-water", "depletion": depletion}, *more]


def bees(count: float) -> dict[str, Any]:
    return {"kind": "bees", "per_tree_minute": count, "who": "wild", "at": "tree"}


CALM_MOIST = frost(frost="calm", dew_point="-5 °C")

PAIRS = [
    # Gerber and Harrison 1964, rates (from memory): 27 °F with hardly any wind takes 0.10 in/h; at 11 mph none serves
    pytest.param(
        Ask(EVE, "frost-protect", "do", CALM_MOIST, SPRINKLED),
        Ask(EVE, "frost-protect", "avoid", frost(wind="5 m/s", dew_point="-5 °C"), SPRINKLED),
        id="sprinkling in calm, and in wind",
    ),
    # the same table; FAO 2005: half-wet buds cool to the wet bulb
    pytest.param(
        Ask(EVE, "frost-protect", "do", CALM_MOIST, SPRINKLED),
        Ask(EVE, "frost-protect", "avoid", CALM_MOIST, SPRINKLED, intent={"rate": "half"}),
        id="the full rate, and half of it",
    ),
    # common practice, no source: what a cover holds back needs no calm
    pytest.param(
        Ask(EVE, "frost-protect", "do", frost(wind="5 m/s"), COVERED),
        Ask(EVE, "frost-protect", "avoid", frost(wind="5 m/s"), FANNED),
        id="covers in wind, and a fan",
    ),
    # the same table, which holds for air more than half saturated
    pytest.param(
        Ask(EVE, "frost-protect", "do", CALM_MOIST, SPRINKLED),
        Ask(EVE, "frost-protect", "avoid", frost(frost="calm", dew_point="-15 °C"), SPRINKLED),
        id="moist air, and dry",
    ),
    # the same table: a degree of frost more takes more water than these sprinklers give
    pytest.param(
        Ask(EVE, "frost-protect", "do", frost("-4 °C", frost="calm", dew_point="-6 °C"), SPRINKLED),
        Ask(EVE, "frost-protect", "avoid", frost("-7 °C", frost="calm", dew_point="-9 °C"), SPRINKLED),
        id="a frost that the rate is enough for, and a harder one",
    ),
    # the least rate hangs on the wind; without a dew point the wet bulb of the night decides (Florida Circular 348)
    pytest.param(
        Ask(EVE, "frost-protect", "do", frost(frost="calm"), SPRINKLED),
        Ask(EVE, "frost-protect", "wait", frost(), SPRINKLED),
        id="no dew point, and no wind",
    ),
    # Washington EB0913: full bloom 28 °F, tight cluster 27 °F, green tip 18 °F kill a tenth
    pytest.param(
        Ask(EVE, "frost-protect", "do", CALM_MOIST, SPRINKLED),
        Ask(EVE, "frost-protect", "wait", [stage("green-tip"), CALM_MOIST[1]], SPRINKLED),
        id="open blossom, and green tips, at one low",
    ),
    # FAO 2005: fans move warm air down in a calm frost only
    pytest.param(
        Ask(EVE, "frost-protect", "do", frost("-2.5 °C", frost="calm"), FANNED),
        Ask(EVE, "frost-protect", "avoid", frost("-2.5 °C", frost="windy"), FANNED),
        id="a wind machine in calm, and in wind",
    ),
    # common practice, no source: buds are counted before they are thinned
    pytest.param(
        Ask(MORNING, "thin-blossom", "do", [stage("full-bloom"), night_before("1 °C")]),
        Ask(MORNING, "thin-blossom", "wait", [stage("full-bloom"), night_before("-3 °C")]),
        id="thinning after a mild night, and after a killing one",
    ),
    # Utah IPM-012-11: apples need a tenth to a seventh of their buds, cherries well over half
    pytest.param(
        Ask(MORNING, "thin-blossom", "do", [stage("full-bloom"), {"kind": "bud-kill", "dead": 0.5}]),
        Ask(MORNING, "thin-blossom", "avoid", [stage("full-bloom"), {"kind": "bud-kill", "dead": 0.95}]),
        id="half the apple buds dead, and nearly all",
    ),
    # FAO-56 Tables 19 and 22: half of the 130 mm that a metre of loam holds at the least
    pytest.param(
        Ask(SUMMER, "irrigate", "do", lacking("80 mm"), LOAM),
        Ask(SUMMER, "irrigate", "wait", lacking("40 mm"), LOAM),
        id="more than half of the water gone, and less",
    ),
    # common practice, no source: rain that covers the need is waited for
    pytest.param(
        Ask(SUMMER, "irrigate", "do", lacking("80 mm", ahead("2026-06-21", rain="3 mm")), LOAM),
        Ask(SUMMER, "irrigate", "wait", lacking("80 mm", ahead("2026-06-21", rain="30 mm")), LOAM),
        id="a shower ahead, and rain enough",
    ),
    # FAO-56 Table 22: roots half as deep reach half as much
    pytest.param(
        Ask(SUMMER, "irrigate", "do", lacking("40 mm"), apples(soil="loam", root_depth="0.5 m")),
        Ask(SUMMER, "irrigate", "wait", lacking("40 mm"), apples(soil="loam", root_depth="1.5 m")),
        id="shallow roots, and deep",
    ),
    # Washington State University, Soil Water Holding: sand gives 0.62 in a foot, fine sandy loam 0.95
    pytest.param(
        Ask(SUMMER, "irrigate", "do", lacking("60 mm"), apples(soil="sand", root_depth="1 m")),
        Ask(SUMMER, "irrigate", "wait", lacking("60 mm"), apples(soil="silt-loam", root_depth="1 m")),
        id="sand, and silt loam",
    ),
    # USDA feel method, from memory
    pytest.param(
        Ask(SUMMER, "irrigate", "do", [stage("june-drop"), {"kind": "soil-water", "feel": "dry"}]),
        Ask(SUMMER, "irrigate", "wait", [stage("june-drop"), {"kind": "soil-water", "feel": "moist"}]),
        id="soil not known, felt dry, and felt moist",
    ),
    # common practice, no source: wilting on wet soil is a matter of roots
    pytest.param(
        Ask(SUMMER, "irrigate", "do", [stage("june-drop"), {"kind": "tree-sign", "sign": "wilting", "share": 0.2},
                                       {"kind": "soil-water", "feel": "cracked"}]),
        Ask(SUMMER, "irrigate", "avoid", [stage("june-drop"), {"kind": "tree-sign", "sign": "wilting", "share": 0.2},
                                          {"kind": "soil-water", "feel": "wet"}]),
        id="wilting on cracked soil, and on wet",
    ),
    # Good Fruit Grower, Pollination tips: hives at about a tenth of the bloom
    pytest.param(
        Ask(BLOOM, "bring-hives", "do", [{"kind": "tree-stage", "open": 0.1}]),
        Ask(BLOOM, "bring-hives", "wait", [stage("pink")]),
        id="hives at a tenth of the bloom, and at pink",
    ),
    # common practice, no source
    pytest.param(
        Ask(BLOOM, "bring-hives", "do", [{"kind": "tree-stage", "open": 0.15}]),
        Ask(BLOOM, "bring-hives", "avoid", [stage("petal-fall")]),
        id="hives in bloom, and at petal fall",
    ),
    # Good Fruit Grower, Pollination tips: 20 to 25 bees on an apple tree in a minute
    pytest.param(
        Ask(BLOOM, "bring-hives", "do", [{"kind": "tree-stage", "open": 0.15}, bees(6)]),
        Ask(BLOOM, "bring-hives", "avoid", [{"kind": "tree-stage", "open": 0.15}, bees(26)]),
        id="few bees, and bees enough",
    ),
    # Good Fruit Grower: cherries want 30 to 35 bees, pears 10 to 15
    pytest.param(
        Ask(BLOOM, "bring-hives", "do", [stage("king-bloom"), bees(20)], cherries()),
        Ask(BLOOM, "bring-hives", "avoid", [stage("king-bloom"), bees(20)], [{"id": "upper", "fruit": "pear"}]),
        id="twenty bees on cherry, and on pear",
    ),
    # Washington State University, Honey bees: full work from 65 °F, a fifth at 54 °F
    pytest.param(
        Ask(BLOOM, "count-bees", "do", [stage("full-bloom"),
                                        ahead(BLOOM, low="8 °C", high="21 °C", wind="1 m/s", rain="0 mm")]),
        Ask(BLOOM, "count-bees", "wait", [stage("full-bloom"),
                                          ahead(BLOOM, low="4 °C", high="12 °C", wind="1 m/s", rain="0 mm")]),
        id="counting bees on a warm day, and on a cold one",
    ),
    # Washington State University, Honey bees: work ends at 15 mph
    pytest.param(
        Ask(BLOOM, "count-bees", "do", [stage("full-bloom"),
                                        ahead(BLOOM, low="50 °F", high="72 °F", wind="5 mph", rain="0 in")]),
        Ask(BLOOM, "count-bees", "wait", [stage("full-bloom"),
                                          ahead(BLOOM, low="50 °F", high="72 °F", wind="18 mph", rain="0 in")]),
        id="counting bees in still air, and in wind, in US units",
    ),
    # Purdue University: triploids such as Jonagold give no good pollen
    pytest.param(
        Ask("2026-03-10", "plant-pollinizer", "do", [stage("dormant")], apples(cultivars=["Gala", "Jonagold"])),
        Ask("2026-03-10", "plant-pollinizer", "avoid", [stage("dormant")], apples(cultivars=["Gala", "Liberty"])),
        id="a triploid for a partner, and a good one",
    ),
    # a nursery's page (weak): a semi-dwarf apple wants its partner within 50 ft
    pytest.param(
        Ask("2026-04-20", "graft-pollinizer", "do", [stage("green-tip")],
            apples(cultivars=["Gala"], pollen_partner={"cultivar": "Liberty", "distance": "150 ft"})),
        Ask("2026-04-20", "graft-pollinizer", "avoid", [stage("green-tip")],
            apples(cultivars=["Gala"], pollen_partner={"cultivar": "Liberty", "distance": "30 ft"})),
        id="a partner too far off, and near",
    ),
    # the season turns round south of the equator: the same rules, half a year on
    pytest.param(
        Ask("2026-10-10", "frost-protect", "do",
            [stage("full-bloom"), ahead("2026-10-11", low="-3 °C", frost="calm", dew_point="-5 °C")], SPRINKLED,
            about=SOUTH),
        Ask("2026-10-10", "frost-protect", "avoid",
            [stage("full-bloom"), ahead("2026-10-11", low="-3 °C", frost="windy")], SPRINKLED, about=SOUTH),
        id="a southern spring",
    ),
]


@pytest.mark.parametrize(("situation", "turned"), PAIRS)
def test_the_answer_turns_with_the_deciding_fact(situation: Ask, turned: Ask) -> None:
    assert situation.answer()["stance"] == situation.expected
    assert turned.answer()["stance"] == turned.expected


PROPOSED = [
    # Washington EB0913: 28 °F kills a tenth of open apple blossom; 18 °F at green tip
    pytest.param(Ask(EVE, "frost-watch", "look", frost(frost="calm")),
                 Ask(EVE, "frost-watch", "none", [stage("green-tip"), ahead(low="-3 °C", frost="calm")]),
                 id="watching open blossom, not green tips"),
    # for quince nothing is published; it is watched, and no figure is made up
    pytest.param(Ask(EVE, "frost-watch", "look", frost(frost="calm"), [{"id": "upper", "fruit": "quince"}]),
                 Ask(EVE, "frost-watch", "none", frost("5 °C"), [{"id": "upper", "fruit": "quince"}]),
                 id="quince without a figure"),
    # common practice, no source: young trees carry no crop
    pytest.param(Ask(EVE, "frost-protect", "do", CALM_MOIST, SPRINKLED),
                 Ask(EVE, "frost-protect", "none", CALM_MOIST, [{**SPRINKLED[0], "planted": 2024}]),
                 id="bearing trees, not young ones"),
    # Washington EB0913, and common practice: cut the buds the day after
    pytest.param(Ask(MORNING, "count-buds", "do", [stage("full-bloom"), night_before("-3 °C")]),
                 Ask(MORNING, "count-buds", "none", [stage("full-bloom"), night_before("0 °C")]),
                 id="counting buds after a killing night"),
    # the same, but somebody counted
    pytest.param(Ask(MORNING, "count-buds", "do", [stage("full-bloom"), night_before("-3 °C")]),
                 Ask(MORNING, "count-buds", "none", [stage("full-bloom"), night_before("-3 °C"),
                                                     {"kind": "bud-kill", "dead": 0.4}]),
                 id="counted buds are not counted again"),
    # Golden Delicious stands 1 °F more than the table (Penn State): watched, and not yet protected
    pytest.param(Ask(EVE, "frost-protect", "do", frost("-2.1 °C", frost="calm", dew_point="-4 °C"), SPRINKLED),
                 Ask(EVE, "frost-protect", "none", frost("-2.1 °C", frost="calm", dew_point="-4 °C"),
                     [{**SPRINKLED[0], "cultivars": ["Golden Delicious"]}]),
                 id="a hardier cultivar"),
    # FAO-56: half of the available water
    pytest.param(Ask(SUMMER, "irrigate", "do", lacking("80 mm"), LOAM),
                 Ask(SUMMER, "irrigate", "none", lacking("20 mm"), LOAM),
                 id="watering when half is gone"),
    # Good Fruit Grower: too few bees at the start of bloom
    pytest.param(Ask(BLOOM, "bring-hives", "do", [stage("king-bloom"), bees(5)]),
                 Ask(BLOOM, "bring-hives", "none", [stage("king-bloom"), bees(25)]),
                 id="hives where bees are few"),
    # Penn State, Purdue: a cultivar alone lacks pollen
    pytest.param(Ask("2026-03-10", "plant-pollinizer", "do", [stage("dormant")], apples(cultivars=["Honeycrisp"])),
                 Ask("2026-03-10", "plant-pollinizer", "none", [stage("dormant")],
                     apples(cultivars=["Honeycrisp", "Liberty"])),
                 id="a cultivar alone"),
    # tart cherries set alone, sweet cherries mostly do not (from memory)
    pytest.param(Ask("2026-03-10", "plant-pollinizer", "do", [stage("dormant")], cherries(cultivars=["Bing"])),
                 Ask("2026-03-10", "plant-pollinizer", "none", [stage("dormant")], cherries(cultivars=["Lapins"])),
                 id="Bing, and Lapins"),
]


@pytest.mark.parametrize(("situation", "turned"), PROPOSED)
def test_what_is_advised_unasked_turns_with_the_deciding_fact(situation: Ask, turned: Ask) -> None:
    assert situation.advised() == {situation.expected}
    assert turned.advised() == {turned.expected}


def test_every_watching_job_that_is_wished_for_may_be_done():
    seen = [stage("full-bloom"), night_before("-3 °C"), ahead("2026-05-14", low="-3 °C", frost="calm")]
    assert Ask(MORNING, "count-buds", "do", seen).answer()["stance"] == "do"
    assert Ask(MORNING, "frost-watch", "do", seen).answer()["stance"] == "do"


def test_the_start_of_the_water_is_told_by_the_wet_bulb_and_left_out_without_a_dew_point():
    moist = recommended(Ask(EVE, "frost-protect", "do", CALM_MOIST, SPRINKLED).file([]), EVE, "frost-protect")[0]
    assert "before it falls to -0.8 °C" in moist["summary"]
    unsaid = Ask(EVE, "frost-protect", "do", frost(frost="calm"), SPRINKLED).file([])
    unknown = recommended(unsaid, EVE, "frost-protect")
    assert "wet-bulb thermometer" in unknown[0]["summary"]
    assert "2.8 °C (5 °F)" in " ".join(unknown[0]["how"])


def test_an_interpolated_share_is_said_to_be_one():
    found = recommended(Ask(MORNING, "count-buds", "do", [stage("full-bloom"), night_before("-3 °C")]).file([]),
                        MORNING, "count-buds")[0]
    assert any("straight line" in line for line in found["workings"])


def test_nectarine_says_that_it_reads_peach():
    file = Ask(EVE, "frost-watch", "look", frost(frost="calm"), [{"id": "upper", "fruit": "nectarine"}]).file([])
    assert any("peach" in line for line in recommended(file, EVE, "frost-watch")[0]["workings"])


def test_frost_is_told_in_the_units_of_the_orchard():
    file = Ask(EVE, "frost-watch", "look", frost("26.6 °F", frost="calm"), about={"units": "us"}).file([])
    assert "26.6 °F is forecast, and 28 °F kills a tenth" in recommended(file, EVE, "frost-watch")[0]["summary"]


def test_water_is_given_gross_and_by_the_tree():
    answer = Ask(SUMMER, "irrigate", "do", lacking("80 mm"), LOAM).answer()
    # 80 mm over an efficiency of 0.8; a millimetre on the 30 m2 of a tree is 30 litres
    assert answer["amount"] == {"value": 100.0, "unit": "mm"}
    assert any("3000 L a tree" in line for line in answer["workings"])


def test_watering_waits_for_a_look_where_nothing_is_known_and_names_it():
    ask = Ask(SUMMER, "irrigate", "wait", [stage("june-drop")])
    file = ask.file([{"id": "meant", "date": SUMMER, "kind": "intent", "practice": "irrigate"}])
    found = advise(file, on=SUMMER)
    (answer,) = [r for r in found["recommendations"] if r["answers"] == "meant"]
    assert answer["stance"] == "wait"
    assert "soil-water" in {u["look_at"] for u in found["unknowns"] if "irrigate" in u["could_change"]}


def test_a_week_of_unknown_weather_is_neither_dry_nor_wet():
    week_ago = (dt.date.fromisoformat(SUMMER) - dt.timedelta(days=6)).isoformat()
    seen = [stage("june-drop"), {"kind": "soil-water", "date": week_ago, "depletion": "60 mm"}]
    ask = Ask(SUMMER, "irrigate", "wait", seen, LOAM)
    assert ask.advised() == {"none"}
    assert ask.answer()["stance"] == "wait"
