"""What is planted and what is taken out, in pairs: the situation, and the same with its deciding fact turned."""

from __future__ import annotations

import pytest

from scenarios.asking import EDGE, HEDGE, HEDGE_HERE, Ask, apples, planting, stage

JUNIPERS = {**HEDGE, "plants": ["juniper"]}


def galls(horns: str) -> dict[str, object]:
    about = {"kind": "disease-sign", "disease": "cedar-apple-rust", "where": "juniper", "habitat": "hedge"}
    return {**about, "horns": horns}


PAIRS = [
    # University of Minnesota: apples and junipers some hundred yards apart
    pytest.param(
        Ask("2026-03-10", expected="do", seen=[stage("dormant")], **planting("plant-hedge", "hazel")),
        Ask("2026-03-10", expected="avoid", seen=[stage("dormant")], **planting("plant-hedge", "eastern-redcedar")),
        id="hazel beside apples, and no juniper",
    ),
    # University of Minnesota: apples and junipers some hundred yards apart
    pytest.param(
        Ask(
            "2026-03-10",
            "plant-hedge",
            "do",
            [stage("dormant")],
            habitats=[{**HEDGE, "distance": "900 m"}],
            intent={"habitat": "hedge", "target": "eastern-redcedar"},
        ),
        Ask(
            "2026-03-10",
            "plant-hedge",
            "avoid",
            [stage("dormant")],
            **{**HEDGE_HERE, "intent": {"habitat": "hedge", "target": "eastern-redcedar"}},
        ),
        id="a juniper beyond the gap",
    ),
    # Washington State University: savin juniper and pear some 1,000 ft apart
    pytest.param(
        Ask(
            "2026-03-10",
            expected="avoid",
            seen=[stage("dormant")],
            blocks=[{"id": "upper", "fruit": "pear"}],
            **planting("plant-hedge", "savin-juniper"),
        ),
        Ask(
            "2026-03-10",
            expected="do",
            seen=[stage("dormant")],
            blocks=[{"id": "upper", "fruit": "plum"}],
            **planting("plant-hedge", "savin-juniper"),
        ),
        id="savin juniper by pears, and by plums",
    ),
    # Nebraska: cotoneaster is a host of fire blight
    pytest.param(
        Ask(
            "2026-03-10",
            expected="do",
            seen=[stage("dormant")],
            blocks=apples(history=["apple-scab"]),
            **planting("plant-hedge", "chokeberry"),
        ),
        Ask(
            "2026-03-10",
            expected="avoid",
            seen=[stage("dormant")],
            blocks=apples(history=["fire-blight"]),
            **planting("plant-hedge", "chokeberry"),
        ),
        id="a host of fire blight where it was",
    ),
    # Cockfield and others 2011: rosy apple aphid on plantain in summer
    pytest.param(
        Ask(
            "2026-05-05",
            expected="do",
            seen=[stage("pink")],
            **planting("plant-understory", "ribwort-plantain"),
            blocks=apples(history=["apple-scab"]),
        ),
        Ask(
            "2026-05-05",
            expected="avoid",
            seen=[stage("pink")],
            **planting("plant-understory", "ribwort-plantain"),
            blocks=apples(history=["rosy-apple-aphid"]),
        ),
        id="plantain, unless rosy aphid was there",
    ),
    # Withall, Vegan Organic Network: common comfrey seeds and regrows, the sterile kind does not seed
    pytest.param(
        Ask("2026-05-05", expected="do", seen=[stage("pink")], **planting("plant-understory", "sterile-comfrey")),
        Ask("2026-05-05", expected="avoid", seen=[stage("pink")], **planting("plant-understory", "common-comfrey")),
        id="sterile comfrey, not the common one",
    ),
    # Canadian Poisonous Plants Information System: tansy ragwort poisons the liver
    pytest.param(
        Ask("2026-05-05", expected="do", seen=[stage("pink")], **planting("plant-understory", "yarrow")),
        Ask("2026-05-05", expected="avoid", seen=[stage("pink")], **planting("plant-understory", "tansy-ragwort")),
        id="yarrow, never ragwort",
    ),
    # common practice, no source: moist soil; bare-root shrubs dormant
    pytest.param(
        Ask(
            "2026-05-05",
            expected="do",
            seen=[stage("pink"), {"kind": "soil-water", "feel": "moist"}],
            **planting("plant-understory", "chives"),
        ),
        Ask(
            "2026-05-05",
            expected="wait",
            seen=[stage("pink"), {"kind": "soil-water", "feel": "cracked"}],
            **planting("plant-understory", "chives"),
        ),
        id="planting into moist ground",
    ),
    # common practice, no source: moist soil; bare-root shrubs dormant
    pytest.param(
        Ask("2026-03-10", expected="do", seen=[stage("dormant")], **planting("plant-hedge", "hazel")),
        Ask("2026-06-10", expected="wait", seen=[stage("june-drop")], **planting("plant-hedge", "hazel")),
        id="a hedge is planted dormant",
    ),
    # Washington State University: removing broadleaf hosts helps where X-disease is about; not everywhere
    pytest.param(
        Ask(
            "2026-05-05",
            expected="do",
            seen=[stage("pink")],
            blocks=apples(history=["rosy-apple-aphid"], understory=["ribwort-plantain"]),
            **planting("remove-host-plant", "ribwort-plantain"),
        ),
        Ask(
            "2026-05-05",
            expected="avoid",
            seen=[stage("pink")],
            blocks=apples(history=["apple-scab"], understory=["ribwort-plantain"]),
            **planting("remove-host-plant", "ribwort-plantain"),
        ),
        id="plantain is hoed out only where its aphid is",
    ),
    # Delaware 2009: galls are taken off before they swell; spent ones have done their harm
    pytest.param(
        Ask("2026-03-10", "remove-rust-galls", "do", [galls("dry")], habitats=[JUNIPERS], intent={"habitat": "hedge"}),
        Ask(
            "2026-03-10",
            "remove-rust-galls",
            "wait",
            [galls("spent")],
            habitats=[JUNIPERS],
            intent={"habitat": "hedge"},
        ),
        id="dry galls are picked, spent ones left",
    ),
]


@pytest.mark.parametrize(("situation", "turned"), PAIRS)
def test_an_intent_is_answered_by_the_deciding_fact(situation: Ask, turned: Ask) -> None:
    for ask in (situation, turned):
        answer = ask.answer()
        assert answer["stance"] == ask.expected, (ask.on, ask.seen, answer["summary"], answer["because"])
        assert answer["practice"] == ask.practice


ADVISED = [
    # University of Minnesota, Georgia: rust where a juniper stands within the planting gap
    pytest.param(
        Ask(
            "2026-02-10",
            "remove-host-plant",
            "do",
            [stage("dormant")],
            apples(history=["cedar-apple-rust"]),
            [{**HEDGE, "plants": ["eastern-redcedar", "hazel"]}],
        ),
        Ask(
            "2026-02-10",
            "remove-host-plant",
            "none",
            [stage("dormant")],
            apples(history=["apple-scab"]),
            [{**HEDGE, "plants": ["eastern-redcedar", "hazel"]}],
        ),
        id="a redcedar goes where rust was, and may stay where it was not",
    ),
    # University of Minnesota, Georgia: rust where a juniper stands within the planting gap
    pytest.param(
        Ask(
            "2026-02-10",
            "remove-host-plant",
            "do",
            [stage("dormant")],
            apples(history=["cedar-apple-rust"]),
            [{**HEDGE, "plants": ["eastern-redcedar"]}],
        ),
        Ask(
            "2026-02-10",
            "remove-host-plant",
            "none",
            [stage("dormant")],
            apples(history=["cedar-apple-rust"]),
            [{**HEDGE, "plants": ["eastern-redcedar"], "distance": "700 m"}],
        ),
        id="a redcedar beyond the gap stays",
    ),
    # University of Minnesota 2002: black knot on wild plum and cherry
    pytest.param(
        Ask(
            "2026-02-10",
            "remove-host-plant",
            "do",
            [stage("dormant")],
            [{"id": "upper", "fruit": "plum", "history": ["black-knot"]}],
            [{**HEDGE, "plants": ["wild-cherry"]}],
        ),
        Ask(
            "2026-02-10",
            "remove-host-plant",
            "none",
            [stage("dormant")],
            [{"id": "upper", "fruit": "plum", "history": ["brown-rot"]}],
            [{**HEDGE, "plants": ["wild-cherry"]}],
        ),
        id="wild cherry goes where black knot was",
    ),
    # Howard and others 2024: a flower margin beside the trees
    pytest.param(
        Ask("2026-04-15", "sow-flower-strip", "do", [stage("green-tip")], apples(floor="turf")),
        Ask("2026-04-15", "sow-flower-strip", "none", [stage("green-tip")], apples(floor="turf"), [EDGE]),
        id="a flower strip where there are no flowers",
    ),
]


@pytest.mark.parametrize(("situation", "turned"), ADVISED)
def test_what_is_advised_turns_with_the_deciding_fact(situation: Ask, turned: Ask) -> None:
    for ask in (situation, turned):
        assert ask.advised() == {ask.expected}, (ask.on, ask.seen)


def test_the_answer_says_that_comfrey_is_permanent() -> None:
    comfrey = Ask(
        "2026-05-05", expected="do", seen=[stage("pink")], **planting("plant-understory", "sterile-comfrey")
    ).answer()
    assert any("permanent" in line for line in comfrey["how"])
    assert any("poisonous" in line for line in comfrey["cautions"])


def test_us_units_are_read_and_written() -> None:
    """A hedge 3,000 ft away lies beyond the gap of 300 m (University of Minnesota)."""
    hedge = {**HEDGE, "distance": "3000 ft"}
    ask = Ask(
        "2026-03-10",
        "plant-hedge",
        "do",
        [stage("dormant")],
        habitats=[hedge],
        about={"units": "us"},
        intent={"habitat": "hedge", "target": "juniper"},
    )
    assert ask.answer()["stance"] == "do"
    near = Ask(
        "2026-03-10",
        "plant-hedge",
        "avoid",
        [stage("dormant")],
        habitats=[{**HEDGE, "distance": "60 ft"}],
        about={"units": "us"},
        intent={"habitat": "hedge", "target": "juniper"},
    )
    assert near.answer()["stance"] == "avoid"
