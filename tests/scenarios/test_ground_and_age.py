"""What is given to the ground goes by the age of the trees, by what lies there, and by the soil."""

from __future__ import annotations

from typing import Any

import pytest

from scenarios.asking import SOUTH, Ask, stage
from scenarios.orchards import UPPER, orchard, recommended

HERE: dict[str, Any] = {"block": "upper"}
PRONE = {**UPPER, "cultivars": ["Honeycrisp"]}
VOLES = {"kind": "vole-sign", "runways": "fresh"}


@pytest.mark.parametrize(
    ("day", "bloom", "planted", "about"),
    [("2026-06-25", "2026-05-12", 2026, {}), ("2025-12-01", "2025-10-14", 2025, SOUTH)],
)
def test_calcium_is_sprayed_on_fruit_only(day: str, bloom: str, planted: int, about: dict[str, Any]) -> None:
    """Common practice, no source: trees bear nothing in the year that they are planted."""
    seen = [{"date": bloom, **stage("full-bloom")}]
    new, old = ({**PRONE, "planted": year} for year in (planted, 2012))
    assert not recommended(orchard([new], seen, **about), day, "calcium-spray")
    assert [r["stance"] for r in recommended(orchard([old], seen, **about), day, "calcium-spray")] == ["do"]
    assert Ask(day, "calcium-spray", "avoid", seen, [new], about=about, intent=HERE).answer()["stance"] == "avoid"


def test_short_shoots_of_trees_just_planted_are_no_hunger() -> None:
    """Common practice, no source."""
    seen = [
        {"date": "2026-05-12", **stage("full-bloom")},
        {"date": "2026-08-20", "kind": "shoot-growth", "length": "8 cm", "terminal_set": True},
    ]
    stances = {
        year: {r["stance"] for r in recommended(orchard([{**UPPER, "planted": year}], seen), "2026-08-25", "sow-clover")}
        for year in (2026, 2023)
    }
    assert stances == {2026: set(), 2023: {"do"}}


def test_hay_rings_by_the_floor_and_the_age() -> None:
    """Common practice, no source: a ring about a metre across round a tree just planted, none where mulch lies."""
    fallen = [{"date": "2026-05-22", **stage("petal-fall")}]

    def hay(**more: Any) -> list[float]:
        file = orchard([{**UPPER, **more}], fallen)
        return [r["amount"]["value"] / 40 for r in recommended(file, "2026-05-25", "lay-hay-ring")]

    assert hay(planted=2026, floor="mulched") == []
    (new,) = hay(planted=2026, floor="turf")
    (grown,) = hay(planted=2023, floor="turf")
    assert 5 < new < 15 < grown


def test_chips_wait_while_voles_are_at_work() -> None:
    """University of Vermont Extension 2024: mulch is cover for voles."""
    for signs, stance in (([VOLES], "wait"), ([{**VOLES, "runways": "none"}], "do")):
        ask = Ask("2026-11-15", "spread-ramial-chips", stance, [stage("leafless"), *signs], intent=HERE)
        assert ask.answer()["stance"] == stance


@pytest.mark.parametrize(("soils", "samples"), [((None, None), 1), (("loam", "loam"), 1), (("loam", "sand"), 2)])
def test_one_soil_sample_for_blocks_alike(soils: tuple[str | None, str | None], samples: int) -> None:
    """Common practice, no source: a sample for each soil, not for each row."""
    blocks = [{**UPPER, "id": f"row-{n}", **({"soil": soil} if soil else {})} for n, soil in enumerate(soils, 1)]
    found = recommended(orchard(blocks, [{"date": "2026-11-10", **stage("leafless")}]), "2026-11-15", "test-soil")
    assert len(found) == samples
    assert any("row-2 together" in line for line in found[0]["how"]) is (samples == 1)


def test_one_sample_is_taken_where_trees_are_out_of_leaf_though_others_of_that_soil_have_broken_bud() -> None:
    """Common practice, no source: soil is sampled while trees are out of leaf."""
    blocks = [{**UPPER, "id": "early"}, {**UPPER, "id": "late"}]
    seen = [{"date": "2026-04-10", **stage(word), "block": id} for id, word in (("early", "green-tip"), ("late", "dormant"))]
    (sample,) = recommended(orchard(blocks, seen), "2026-04-10", "test-soil")
    assert (sample["block"], sample["stance"]) == ("late", "do")
