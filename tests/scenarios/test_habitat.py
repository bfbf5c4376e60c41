"""Stems, margins, hedges, nests and bees in pairs: the situation, and the same with its deciding fact turned."""

from __future__ import annotations

import pytest

from advisor import advise
from scenarios.asking import (
    BED,
    BED_HERE,
    BIRDS,
    EDGE,
    EDGE_HERE,
    HEDGE_HERE,
    NO_BIRDS,
    SOUTH,
    Ask,
    apples,
    stage,
    stems,
)

PAIRS = [
    # North Carolina State University, 3,000 stems: empty in their first winter; a trimmed stem is never cut again
    pytest.param(
        Ask("2026-01-20", "shorten-stems", "do", [stems("never", habitat="bed")], **BED_HERE),
        Ask("2026-01-20", "shorten-stems", "avoid", [stems(2025, habitat="bed")], **BED_HERE),
        id="stems are shortened in their first winter and never again",
    ),
    # North Carolina State University, 3,000 stems: empty in their first winter; a trimmed stem is never cut again
    pytest.param(
        Ask(
            "2026-07-20",
            "shorten-stems",
            "do",
            [stems("never", habitat="bed"), stage("dormant")],
            about=SOUTH,
            **BED_HERE,
        ),
        Ask(
            "2026-11-20",
            "shorten-stems",
            "wait",
            [stems("never", habitat="bed"), stage("fruit-set")],
            about=SOUTH,
            **BED_HERE,
        ),
        id="the southern winter is the winter there",
    ),
    # University of Maryland 2020: bees nest in stubble in its second year, keep it to the third
    pytest.param(
        Ask("2026-02-10", "cut-to-ground", "do", [stems(2021, habitat="bed"), stage("dormant")], **BED_HERE),
        Ask("2026-02-10", "cut-to-ground", "avoid", [stems(2024, habitat="bed"), stage("dormant")], **BED_HERE),
        id="stubble goes to the ground after its third year at the earliest",
    ),
    # University of Minnesota 2020: leave 20 cm, keep cut stems aside; growth is no time to cut
    pytest.param(
        Ask("2026-02-10", "cut-to-ground", "do", [stems(2020, habitat="bed"), stage("dormant")], **BED_HERE),
        Ask("2026-05-10", "cut-to-ground", "avoid", [stems(2020, habitat="bed"), stage("full-bloom")], **BED_HERE),
        id="nothing goes to the ground in bloom week",
    ),
    # The age of the stems decides (North Carolina against Minnesota): unknown age means a look
    pytest.param(
        Ask("2026-02-10", "cut-to-ground", "wait", [stage("dormant")], **BED_HERE),
        Ask("2026-02-10", "cut-to-ground", "avoid", [stage("dormant"), stems("never", habitat="bed")], **BED_HERE),
        id="nobody cuts before somebody looked at the stems",
    ),
    # Garrett pollinator planting guide (Maryland, NRCS): no cutting from May to mid August where ground birds nest
    pytest.param(
        Ask("2026-06-05", "mow-margin", "do", [stage("fruit-set"), NO_BIRDS], **EDGE_HERE),
        Ask("2026-06-05", "mow-margin", "wait", [stage("fruit-set"), BIRDS], **EDGE_HERE),
        id="the edge is mown where birds were looked for and absent",
    ),
    # Garrett pollinator planting guide (Maryland, NRCS): no cutting from May to mid August where ground birds nest
    pytest.param(
        Ask("2026-09-20", "mow-margin", "do", [stage("colouring")], **EDGE_HERE),
        Ask("2026-06-05", "mow-margin", "wait", [stage("fruit-set")], **EDGE_HERE),
        id="the edge is mown after nesting, and before that somebody looks",
    ),
    # The same guide: no more than 30 % of a planting cut in a year
    pytest.param(
        Ask(
            "2026-09-20",
            "mow-margin",
            "do",
            [stage("colouring")],
            habitats=[EDGE],
            intent={"habitat": "edge", "share": 0.25},
        ),
        Ask(
            "2026-09-20",
            "mow-margin",
            "avoid",
            [stage("colouring")],
            habitats=[EDGE],
            intent={"habitat": "edge", "share": 1},
        ),
        id="a part of the edge, never the whole",
    ),
    # Natural England: cut in January or February, nests in use are protected
    pytest.param(
        Ask("2026-02-10", "cut-back-hedge", "do", **HEDGE_HERE),
        Ask("2026-05-10", "cut-back-hedge", "wait", **HEDGE_HERE),
        id="the hedge is cut in late winter and not while birds nest",
    ),
    # Wild Oxfordshire: every two or three years; late, so that berries last
    pytest.param(
        Ask("2026-02-10", "cut-back-hedge", "do", **HEDGE_HERE),
        Ask("2025-11-10", "cut-back-hedge", "wait", **HEDGE_HERE),
        id="berries first",
    ),
    # Wild Oxfordshire: every two or three years; late, so that berries last
    pytest.param(
        Ask(
            "2026-02-10",
            "cut-back-hedge",
            "do",
            [{"kind": "work", "practice": "cut-back-hedge", "habitat": "hedge", "date": "2023-02-10"}],
            **HEDGE_HERE,
        ),
        Ask(
            "2026-02-10",
            "cut-back-hedge",
            "wait",
            [{"kind": "work", "practice": "cut-back-hedge", "habitat": "hedge", "date": "2025-02-10"}],
            **HEDGE_HERE,
        ),
        id="a hedge is cut in turn",
    ),
    # closed season of the UK from 1 March (farm news of the UK): earlier than over the sea
    pytest.param(
        Ask("2026-03-10", "cut-back-hedge", "do", **HEDGE_HERE),
        Ask(
            "2026-03-10",
            "cut-back-hedge",
            "wait",
            about={"latitude": 52.0, "longitude": -2.0, "timezone": "Europe/London", "guidance": "uk"},
            **HEDGE_HERE,
        ),
        id="the guidance of the region sets the closed season",
    ),
    # common practice, no source: bees after bloom find nothing; Bosch and Kemp: two weeks before bloom
    pytest.param(
        Ask("2026-04-25", "set-out-mason-bees", "do", [stage("tight-cluster")], intent={"block": "upper"}),
        Ask("2026-05-20", "set-out-mason-bees", "avoid", [stage("petal-fall")], intent={"block": "upper"}),
        id="mason bees before bloom, not after",
    ),
    # Washington State University, bee protection: no insecticide where bees are set out
    pytest.param(
        Ask("2026-04-25", "set-out-mason-bees", "do", [stage("tight-cluster")], intent={"block": "upper"}),
        Ask(
            "2026-04-25",
            "set-out-mason-bees",
            "wait",
            [
                stage("tight-cluster"),
                {
                    "kind": "work",
                    "practice": "insecticide",
                    "block": "upper",
                    "material": "spinosad",
                    "date": "2026-04-23",
                },
            ],
            intent={"block": "upper"},
        ),
        id="mason bees away from insecticide",
    ),
    # NIAB, earwigs; common practice: they gnaw ripe stone fruit
    pytest.param(
        Ask("2026-07-20", "shelter-for-earwigs", "do", [stage("half-grown")], intent={"block": "upper"}),
        Ask(
            "2026-07-20",
            "shelter-for-earwigs",
            "avoid",
            [stage("colouring")],
            blocks=[{"id": "upper", "fruit": "peach"}],
            intent={"block": "upper"},
        ),
        id="earwigs to apples, not to ripening peaches",
    ),
    # University of Vermont 2024: cover at trunks hides voles
    pytest.param(
        Ask("2025-11-20", "leave-stems", "do", [{"kind": "vole-sign", "gnawing": False}], intent={"block": "upper"}),
        Ask("2025-11-20", "leave-stems", "wait", [{"kind": "vole-sign", "gnawing": True}], intent={"block": "upper"}),
        id="stems stay where trunks are sound",
    ),
]


@pytest.mark.parametrize(("situation", "turned"), PAIRS)
def test_an_intent_is_answered_by_the_deciding_fact(situation: Ask, turned: Ask) -> None:
    for ask in (situation, turned):
        answer = ask.answer()
        assert answer["stance"] == ask.expected, (ask.on, ask.seen, answer["summary"], answer["because"])
        assert answer["practice"] == ask.practice


ADVISED = [
    # North Carolina: never-cut stems are shortened without being asked
    pytest.param(
        Ask("2026-01-20", "shorten-stems", "do", [stems("never", habitat="bed"), stage("dormant")], habitats=[BED]),
        Ask("2026-01-20", "leave-stems", "do", [stems(2025, habitat="bed"), stage("dormant")], habitats=[BED]),
        id="fresh stems are shortened and stubble is left",
    ),
    # Garrett pollinator guide, Maryland: part of the margin after nesting
    pytest.param(
        Ask("2026-09-20", "mow-margin", "do", [stage("colouring")], habitats=[EDGE]),
        Ask("2026-06-05", "mow-margin", "none", [stage("fruit-set")], habitats=[EDGE]),
        id="part of the margin is mown in late summer",
    ),
    # Duval 1995, García 2021: tits against codling moth
    pytest.param(
        Ask("2026-01-20", "put-up-nest-boxes", "do", [], apples(history=["codling-moth"])),
        Ask(
            "2026-01-20",
            "put-up-nest-boxes",
            "none",
            [],
            apples(history=["codling-moth"]),
            [{"id": "boxes", "kind": "nest-boxes"}],
        ),
        id="nest boxes where caterpillars were and no boxes hang",
    ),
    # University of Tasmania: earwigs hold woolly aphid; more than 14 a trap a week are enough
    pytest.param(
        Ask("2026-05-20", "shelter-for-earwigs", "do", [stage("petal-fall")], apples(history=["woolly-apple-aphid"])),
        Ask(
            "2026-05-20",
            "shelter-for-earwigs",
            "none",
            [
                stage("petal-fall"),
                {"kind": "ally-count", "ally": "earwig", "count": 25, "per": "trunk-trap", "days": 7, "block": "upper"},
            ],
            apples(history=["woolly-apple-aphid"]),
        ),
        id="shelters for earwigs where they are few",
    ),
    # NIAB, hover flies: enemies in the colonies put a spray off
    pytest.param(
        Ask(
            "2026-05-25",
            "spare-allies",
            "do",
            [stage("fruit-set"), {"kind": "ally-count", "ally": "hover-fly", "share": 0.3}],
        ),
        Ask(
            "2026-05-25",
            "spare-allies",
            "none",
            [stage("fruit-set"), {"kind": "ally-count", "ally": "hover-fly", "share": 0.0}],
        ),
        id="hover flies in the colonies are spared",
    ),
]


@pytest.mark.parametrize(("situation", "turned"), ADVISED)
def test_what_is_advised_turns_with_the_deciding_fact(situation: Ask, turned: Ask) -> None:
    for ask in (situation, turned):
        assert ask.advised() == {ask.expected}, (ask.on, ask.seen)


def test_the_age_of_the_stems_is_asked_for() -> None:
    ask = Ask("2026-02-10", "cut-to-ground", "wait", [stage("dormant")], **BED_HERE)
    intent = {"id": "meant", "date": ask.on, "kind": "intent", "practice": ask.practice, "habitat": "bed"}
    wanted = [u for u in advise(ask.file([intent]), on=ask.on)["unknowns"] if u["look_at"] == "stems"]
    assert [u["habitat"] for u in wanted] == ["bed"]
    assert "cut-to-ground" in wanted[0]["could_change"]


def test_the_answer_says_where_sources_on_stems_part() -> None:
    shorten = Ask(
        "2026-01-20", "shorten-stems", "do", [stems("never", habitat="bed"), stage("dormant")], **BED_HERE
    ).answer()
    assert "warm days" in shorten["trade_off"]
