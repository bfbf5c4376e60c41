"""Thinning, picking, keeping and pruning in pairs: the situation, and the same with its deciding fact turned."""

from __future__ import annotations

from typing import Any

import pytest

from advisor import advise
from scenarios.asking import SOUTH, Ask, apples, stage
from scenarios.orchards import orchard

DAY = "2026-06-22"
HONEYCRISP = apples(planted=2021, rootstock="M.9", cultivars=["Honeycrisp"])
GALA = apples(planted=2021, rootstock="M.9", cultivars=["Gala"])
SPY = apples(cultivars=["Northern Spy"], rootstock="MM.111")
CHERRY = [{"id": "upper", "fruit": "sweet-cherry", "planted": 2012}]
PLUM = [{"id": "upper", "fruit": "plum", "planted": 2012}]
PEACH = [{"id": "upper", "fruit": "peach", "planted": 2015}]
ANJOU = [{"id": "upper", "fruit": "pear", "planted": 2010, "cultivars": ["Anjou"]}]
ASIAN = [{"id": "upper", "fruit": "pear", "planted": 2010, "cultivars": ["Hosui"]}]
BLIGHTED = apples(history=["fire-blight"])


def bloomed(on: str) -> dict[str, Any]:
    return {"date": on, "kind": "tree-stage", "stage": "full-bloom"}


def crop(**fields: Any) -> dict[str, Any]:
    return {"kind": "crop-count", **fields}


def fruit(cultivar: str, **fields: Any) -> dict[str, Any]:
    return {"kind": "fruit-sample", "cultivar": cultivar, **fields}


def sky(day: str, **fields: Any) -> dict[str, Any]:
    return {"kind": "forecast", "day": day, **fields}


def worked(practice: str, on: str) -> dict[str, Any]:
    return {"date": on, "kind": "work", "practice": practice}


MAY = bloomed("2026-05-08")
DRY = {"low": "14 °C", "high": "24 °C", "rain": "0 mm"}

PAIRS = [
    # Clements, University of Massachusetts 2017: 4 fruit a cm2 for Honeycrisp; a girth of 12 cm is 11.5 cm2, 46 fruit
    pytest.param(
        Ask(DAY, "hand-thin", "do", [MAY, crop(fruit_per_tree=120, girth="12 cm")], HONEYCRISP),
        Ask(DAY, "hand-thin", "avoid", [MAY, crop(fruit_per_tree=40, girth="12 cm")], HONEYCRISP),
        id="too many for the trunk come off, and what it can carry stays",
    ),
    # Thinning apples, eXtension; June drop 3 to 6 weeks after full bloom (Tromp)
    pytest.param(
        Ask(DAY, "hand-thin", "do", [MAY, crop(fruit_per_tree=150, girth="12 cm")], GALA),
        Ask("2026-05-24", "hand-thin", "wait", [MAY, crop(fruit_per_tree=150, girth="12 cm")], GALA),
        id="June drop first",
    ),
    # Upham, Kansas State: next year's buds form while fruit grows; 30 to 40 days from memory
    pytest.param(
        Ask("2026-06-05", "hand-thin", "do", [MAY, crop(fruit_per_tree=120, girth="12 cm")], HONEYCRISP),
        Ask("2026-06-05", "hand-thin", "wait", [MAY, crop(fruit_per_tree=150, girth="12 cm")], GALA),
        id="a kind that bears every other year is thinned before June drop is over",
    ),
    # the same: after about 40 days no help for next year's bloom
    pytest.param(
        Ask("2026-06-05", "hand-thin", "do", [MAY, crop(fruit_per_tree=120, girth="12 cm")], HONEYCRISP,
            intent={"target": "return-bloom"}),
        Ask("2026-07-10", "hand-thin", "avoid", [MAY, crop(fruit_per_tree=120, girth="12 cm")], HONEYCRISP,
            intent={"target": "return-bloom"}),
        id="late thinning does nothing for next year's bloom",
    ),
    # garden thinning page, second-hand: cherries are not thinned; Missouri State 2017: peaches 6 to 8 in
    pytest.param(
        Ask(DAY, "hand-thin", "do", [stage("june-drop"), crop(spacing="8 cm")], PEACH),
        Ask(DAY, "hand-thin", "avoid", [stage("june-drop"), crop(spacing="8 cm")], CHERRY),
        id="peaches are thinned and cherries are not",
    ),
    # common practice, no source: where frost threatens, blossom is left until it is past
    pytest.param(
        Ask("2026-05-08", "thin-blossom", "do", [MAY, sky("2026-05-09", low="6 °C", high="15 °C")], HONEYCRISP),
        Ask("2026-05-08", "thin-blossom", "wait", [MAY, sky("2026-05-09", low="-3.5 °C", high="9 °C")], HONEYCRISP),
        id="no blossom is thinned before a frost",
    ),
    # Clements 2017 for what the trunk can carry; the turn of heavy and lean years is common practice
    pytest.param(
        Ask("2026-05-08", "thin-blossom", "do",
            [MAY, crop(fruit_per_tree=8, girth="10 cm", date="2025-07-01")], HONEYCRISP),
        Ask("2026-05-08", "thin-blossom", "avoid",
            [MAY, crop(fruit_per_tree=100, girth="10 cm", date="2025-07-01")], HONEYCRISP),
        id="the heavy year is thinned in bloom, the lean year keeps its flowers",
    ),
    # common practice, no source
    pytest.param(
        Ask("2026-08-22", "prop-limbs", "do", [crop(limbs="bending")]),
        Ask("2026-08-22", "prop-limbs", "wait", [crop(limbs="upright")]),
        id="limbs that bend are propped",
    ),
    # common practice, no source: thinned first, then bagged
    pytest.param(
        Ask(DAY, "bag-fruit", "do", [MAY, stage("june-drop"), crop(fruit_per_tree=44, girth="12 cm")], HONEYCRISP),
        Ask(DAY, "bag-fruit", "wait", [MAY, stage("june-drop"), crop(fruit_per_tree=120, girth="12 cm")], HONEYCRISP),
        id="no bag on fruit that has to come off",
    ),
    # Michigan State University, checking apple maturity: Northern Spy for long storage at starch 3 and 18 lbf
    pytest.param(
        Ask("2026-10-05", "pick", "do", [fruit("Northern Spy", starch=3, firmness="18 lbf")], SPY),
        Ask("2026-10-05", "pick", "wait", [fruit("Northern Spy", starch=1.5, firmness="20 lbf")], SPY),
        id="apples are picked when starch says so",
    ),
    # Michigan State University: a test decides, not the colour of the skin
    pytest.param(
        Ask("2026-10-05", "pick", "do", [stage("colouring"), fruit("Northern Spy", starch=4)], SPY),
        Ask("2026-10-05", "pick", "wait", [stage("colouring")], SPY),
        id="nobody picks for store before somebody has tested",
    ),
    # Michigan State University: firmness under the row for short storage is to sell
    pytest.param(
        Ask("2026-10-05", "store", "do",
            [fruit("Northern Spy", starch=3, firmness="18 lbf"), worked("pick", "2026-10-04")], SPY,
            intent={"until": "2027-03-01"}),
        Ask("2026-10-05", "store", "avoid",
            [fruit("Northern Spy", starch=6.5, firmness="13 lbf"), worked("pick", "2026-10-04")], SPY,
            intent={"until": "2027-03-01"}),
        id="soft apples are not kept till March",
    ),
    # Washington State University and Penn State: Anjou is picked at 13 to 15 lbf
    pytest.param(
        Ask("2026-09-15", "pick", "do", [fruit("Anjou", firmness="14 lbf")], ANJOU),
        Ask("2026-09-15", "pick", "wait", [fruit("Anjou", firmness="18 lbf")], ANJOU),
        id="Anjou is picked hard, in its range",
    ),
    # the same; softer than 13 lbf it is past keeping
    pytest.param(
        Ask("2026-09-15", "store", "do", [fruit("Anjou", firmness="14 lbf")], ANJOU),
        Ask("2026-09-15", "store", "avoid", [fruit("Anjou", firmness="9 lbf")], ANJOU),
        id="Anjou that is soft on the tree is not stored",
    ),
    # about two months of cold for Anjou, from memory
    pytest.param(
        Ask("2026-12-01", "ripen-indoors", "do", [worked("store", "2026-09-20")], ANJOU),
        Ask("2026-10-10", "ripen-indoors", "wait", [worked("store", "2026-09-20")], ANJOU),
        id="winter pears are chilled before they are ripened",
    ),
    # Michigan State University: sample weekly as harvest nears; days from bloom of Honeycrisp from memory
    pytest.param(
        Ask("2026-09-01", "sample-fruit", "do", [MAY], HONEYCRISP),
        Ask("2026-06-20", "sample-fruit", "wait", [MAY], HONEYCRISP),
        id="sampling begins four weeks before the usual picking",
    ),
    # Royal Horticultural Society: apples in winter; silver leaf: plums never in winter
    pytest.param(
        Ask("2026-02-20", "dormant-prune", "do", [stage("dormant")]),
        Ask("2026-02-20", "dormant-prune", "avoid", [stage("dormant")], PLUM),
        id="apples are pruned in winter, plums are not",
    ),
    # Royal Horticultural Society: leaf fall to bud burst
    pytest.param(
        Ask("2026-08-10", "dormant-prune", "do", [stage("dormant")], about=SOUTH),
        Ask("2026-02-20", "dormant-prune", "wait", [stage("half-grown")], about=SOUTH),
        id="the southern winter is in August",
    ),
    # common practice, no source: not in hard frost
    pytest.param(
        Ask("2026-02-20", "dormant-prune", "do", [stage("dormant"), sky("2026-02-20", low="-4 °C", high="3 °C")]),
        Ask("2026-02-20", "dormant-prune", "wait", [stage("dormant"), sky("2026-02-20", low="-16 °C", high="-8 °C")]),
        id="no pruning in hard frost",
    ),
    # a cider orchard page (a quarter) and general guides (a third)
    pytest.param(
        Ask("2026-02-20", "dormant-prune", "do", [stage("dormant")], intent={"share": 0.2}),
        Ask("2026-02-20", "dormant-prune", "avoid", [stage("dormant")], intent={"share": 0.5}),
        id="not half the tree at once",
    ),
    # University of Illinois Extension: heavy pruning raises the risk of fire blight
    pytest.param(
        Ask("2026-02-20", "dormant-prune", "do", [stage("dormant")], BLIGHTED, intent={"degree": "light"}),
        Ask("2026-02-20", "dormant-prune", "avoid", [stage("dormant")], BLIGHTED, intent={"degree": "hard"}),
        id="no hard pruning where fire blight was",
    ),
    # Amateur Gardening 2023 and the Pacific Northwest handbook: plums and cherries in summer, in the dry
    pytest.param(
        Ask("2026-08-25", "summer-prune", "do", [stage("after-harvest"), sky("2026-08-25", **DRY)], PLUM),
        Ask("2026-08-25", "summer-prune", "wait",
            [stage("after-harvest"), sky("2026-08-25", low="14 °C", high="24 °C", rain="12 mm")], PLUM),
        id="plums are pruned after picking on a dry day",
    ),
    # the same: not from leaf fall on
    pytest.param(
        Ask("2026-08-25", "summer-prune", "do", [stage("after-harvest")], PLUM),
        Ask("2026-11-05", "summer-prune", "avoid", [stage("leaf-fall")], PLUM),
        id="plums are not pruned once leaves fall",
    ),
    # Utah State University Extension: late July to early August
    pytest.param(
        Ask("2026-08-01", "summer-prune", "do", [MAY, stage("half-grown")]),
        Ask("2026-06-10", "summer-prune", "wait", [MAY, stage("june-drop")]),
        id="apples are pruned for light when shoots have nearly stopped",
    ),
    # Kansas State and University of Illinois: blades carry fire blight in growth
    pytest.param(
        Ask("2026-08-01", "summer-prune", "do", [MAY, {"kind": "disease-sign", "disease": "fire-blight", "strikes": 0}]),
        Ask("2026-08-01", "summer-prune", "wait",
            [MAY, {"kind": "disease-sign", "disease": "fire-blight", "strikes": 4}]),
        id="no summer pruning while fire blight runs",
    ),
    # common practice, no source: peaches near bloom
    pytest.param(
        Ask("2026-04-20", "dormant-prune", "do", [stage("pink")], PEACH),
        Ask("2026-01-20", "dormant-prune", "wait", [stage("dormant")], PEACH),
        id="peaches are pruned near bloom",
    ),
    # common practice, no source
    pytest.param(
        Ask("2026-07-01", "cut-out-dead-wood", "do", [{"kind": "tree-sign", "sign": "dead-wood", "share": 0.2}]),
        Ask("2026-07-01", "cut-out-dead-wood", "avoid", [{"kind": "tree-sign", "sign": "dead-wood", "share": 0}]),
        id="dead wood is cut where there is some",
    ),
    # common practice, no source
    pytest.param(
        Ask("2026-11-10", "whitewash-trunks", "do",
            [stage("leaf-fall"), sky("2026-11-10", low="1 °C", high="9 °C", rain="0 mm")], apples(planted=2023)),
        Ask("2026-11-10", "whitewash-trunks", "wait",
            [stage("leaf-fall"), sky("2026-11-10", low="-5 °C", high="0 °C", rain="0 mm")], apples(planted=2023)),
        id="trunks are whitened on a mild dry day",
    ),
    # common practice, no source: after a hard winter live buds are counted before pruning and thinning
    pytest.param(
        Ask("2026-04-24", "thin-blossom", "do",
            [stage("full-bloom"), {"kind": "bud-kill", "live_per_lateral": 14, "wanted_per_lateral": 5}], PEACH),
        Ask("2026-04-24", "thin-blossom", "avoid",
            [stage("full-bloom"), {"kind": "bud-kill", "live_per_lateral": 3, "wanted_per_lateral": 5}], PEACH),
        id="frost has thinned enough",
    ),
    # University of Illinois Extension: soft growth after hard cuts and fire blight
    pytest.param(
        Ask("2026-02-20", "dormant-prune", "do", [stage("dormant")], BLIGHTED, intent={"cuts": "thinning"}),
        Ask("2026-02-20", "dormant-prune", "avoid", [stage("dormant")], BLIGHTED, intent={"cuts": "heading"}),
        id="no heading cuts where fire blight was",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("held", "turned"), PAIRS)
def test_the_answer_turns_with_the_deciding_fact(held: Ask, turned: Ask) -> None:
    assert [held.answer()["stance"], turned.answer()["stance"]] == [held.expected, turned.expected]


def test_half_of_the_pairs_say_do() -> None:
    said = [{one.expected for one in pair.values} for pair in PAIRS]
    assert 2 * sum("do" in stances for stances in said) >= len(said)


def test_thinning_names_its_number_and_shows_the_working() -> None:
    # Clements 2017: C^2 / (4 pi) x 4 = 46 for a girth of 12 cm, by hand
    answer = Ask(DAY, "hand-thin", "do", [MAY, crop(fruit_per_tree=120, girth="12 cm")], HONEYCRISP).answer()
    assert answer["amount"] == {"value": 46.0, "unit": "fruit per tree"}
    assert "74" in answer["summary"]
    assert any("11.5 cm2 x 4" in line for line in answer["workings"])


def test_firmness_is_shown_in_the_unit_of_the_grower() -> None:
    ask = Ask("2026-10-05", "pick", "do", [fruit("Northern Spy", starch=3, firmness="80.1 N")], SPY,
              about={"units": "us"})  # fmt: skip
    assert any("18 lbf" in line for line in ask.answer()["because"])


def test_pears_soft_on_the_tree_are_picked_at_once() -> None:
    # Washington State University: Anjou is picked at 13 to 15 lbf
    answer = Ask("2026-10-05", "pick", "do", [fruit("Anjou", firmness="9 lbf")], ANJOU).answer()
    assert answer["stance"] == "do"
    assert "do not keep" in answer["summary"]


def test_of_two_cultivars_the_ripe_one_is_picked_and_the_other_left() -> None:
    both = apples(cultivars=["Gala", "Fuji"])
    samples = [fruit("Gala", starch=4, firmness="17 lbf"), fruit("Fuji", starch=1, firmness="19 lbf")]
    answer = Ask("2026-09-10", "pick", "do", samples, both).answer()
    assert answer["stance"] == "do"
    assert any("Fuji" in line and "Gala" in line for line in answer["how"])


def test_a_missing_sample_is_asked_for() -> None:
    intent = {"id": "meant", "date": "2026-10-05", "kind": "intent", "practice": "pick"}
    said = advise(orchard(SPY, [intent]), on="2026-10-05")
    assert any(u["look_at"] == "fruit-sample" for u in said["unknowns"])


def test_last_summers_bloom_says_nothing_of_this_winter() -> None:
    """A stage of last season does not hold winter pruning back."""
    ask = Ask(
        "2027-02-10", "dormant-prune", "do", [{"date": "2026-05-08", "kind": "tree-stage", "stage": "full-bloom"}]
    )
    assert ask.answer()["stance"] == "do"


def test_asian_pears_are_picked_ripe_and_european_ones_hard():
    """Penn State: Asian pears ripen on the tree, at 8 to 12 lbf; Anjou is picked at 13 to 15."""
    for block, firmness, word in ((ASIAN, "10 lbf", "ripens on the tree"), (ANJOU, "14 lbf", "hard and green")):
        asked = Ask("2026-09-10", "pick", "do", [fruit(block[0]["cultivars"][0], firmness=firmness)], block)
        answer = asked.answer()
        assert (answer["stance"], word in answer["summary"]) == ("do", True)


def test_two_samples_of_one_day_that_contradict_each_other_ask_for_a_third():
    """Common practice, no source."""
    hard, soft = fruit("Gala", starch=1.5, firmness="20 lbf"), fruit("Gala", starch=7, firmness="13 lbf")
    day = "2026-09-10"
    both = Ask(day, "pick", "wait", [hard, soft], GALA)
    assert both.answer()["stance"] == "wait"
    assert "contradict" in both.answer()["summary"]
    assert Ask(day, "pick", "do", [soft], GALA).answer()["stance"] == "do"
    said = advise(both.file([]), on=day)["recommendations"]
    assert any(r["practice"] == "sample-fruit" and "again" in r["summary"] for r in said)


@pytest.mark.parametrize(("measured", "stances"), [({"girth": "41 cm"}, {"do"}), ({"spacing": "25 cm"}, {"none"})])
def test_a_count_alone_does_not_silence_the_thinning_of_peaches(measured: dict[str, str], stances: set[str]) -> None:
    """Missouri 2017: peaches stand 15 cm apart or more; how many hang on a tree says nothing of it."""
    seen = [stage("shuck-split"), crop(fruit_per_tree=900, **measured)]
    assert Ask("2026-05-29", "hand-thin", "do", seen, PEACH).advised() == stances


def test_only_sprayed_thinning_of_blossom_speaks_of_labels() -> None:
    """Common practice, no source."""
    by_hand, sprayed = (
        Ask("2026-05-08", "thin-blossom", "do", [MAY], [{**PEACH[0], "fruit": "apple"}], intent=intent).answer()
        for intent in ({}, {"material": "lime-sulphur"})
    )
    assert not [line for line in by_hand["cautions"] if "Follow the label" in line]
    assert [line for line in sprayed["cautions"] if "Follow the label" in line]
