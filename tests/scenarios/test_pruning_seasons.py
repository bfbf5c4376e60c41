"""Each fruit is cut, its limbs bent and its trunk whitened in its own season, north and south."""

from __future__ import annotations

from typing import Any

import pytest

from scenarios.asking import SOUTH, Ask, stage
from scenarios.orchards import UPPER, orchard, recommended

PEACHES = [{"id": "upper", "fruit": "peach", "trees": 40, "planted": 2015, "spacing": "6 m x 5 m"}]
HERE: dict[str, Any] = {"block": "upper"}


@pytest.mark.parametrize(
    ("day", "seen", "about"),
    [
        ("2026-11-15", [stage("leafless")], {}),
        ("2026-11-15", [], {}),
        ("2027-02-10", [], {}),
        ("2027-02-10", [{"date": "2026-11-15", **stage("leafless")}], {}),
        ("2026-05-20", [stage("leafless")], SOUTH),
    ],
)
def test_peaches_wait_for_the_buds_to_show(day: str, seen: list[dict[str, Any]], about: dict[str, Any]) -> None:
    """Virginia Cooperative Extension 422-020: early winter cuts cost cold-hardiness, none before February."""
    answer = Ask(day, "dormant-prune", "wait", seen, PEACHES, about=about, intent=HERE).answer()
    assert (answer["stance"], answer["strength"]) == ("wait", "fair")
    assert "show colour" in answer["summary"]


@pytest.mark.parametrize(
    ("coldest", "early", "strength"), [("-28 °C", "wait", "fair"), (None, "wait", "weak"), ("-8 °C", "do", None)]
)
@pytest.mark.parametrize(
    ("autumn", "late", "about"), [("2026-12-05", "2027-02-20", {}), ("2026-06-05", "2026-08-20", SOUTH)]
)
def test_apples_wait_for_late_winter_where_winters_are_cold(
    coldest: str | None, early: str, strength: str | None, autumn: str, late: str, about: dict[str, Any]
) -> None:
    """Utah State University Extension: not in autumn, February to April; RHS: mild Britain from November on."""
    about = {**about, **({"coldest": coldest} if coldest else {})}
    answer = Ask(autumn, "dormant-prune", early, [stage("leafless")], intent=HERE, about=about).answer()
    assert answer["stance"] == early
    assert strength in (None, answer["strength"])
    assert Ask(late, "dormant-prune", "do", [stage("dormant")], intent=HERE, about=about).answer()["stance"] == "do"


@pytest.mark.parametrize(
    ("picked", "summer", "autumn", "about"),
    [("2026-07-01", "2026-07-20", "2026-11-05", {}), ("2026-01-05", "2026-01-25", "2026-05-20", SOUTH)],
)
def test_trunks_are_whitened_late_in_autumn(picked: str, summer: str, autumn: str, about: dict[str, Any]) -> None:
    """Common practice, no source."""
    cherries = {**UPPER, "fruit": "sweet-cherry", "planted": 2022}
    file = orchard([cherries], [{"date": picked, **stage("after-harvest")}], **about)
    assert not recommended(file, summer, "whitewash-trunks")
    assert [r["stance"] for r in recommended(file, autumn, "whitewash-trunks")] == ["do"]


@pytest.mark.parametrize(
    ("bloom", "june", "later", "about"),
    [("2026-05-10", "2026-06-15", "2026-07-20", {}), ("2025-10-12", "2025-11-18", "2025-12-28", SOUTH)],
)
def test_limbs_are_bent_before_midsummer(bloom: str, june: str, later: str, about: dict[str, Any]) -> None:
    """Common practice, no source."""
    file = orchard([{**UPPER, "planted": 2022}], [{"date": bloom, **stage("full-bloom")}], **about)
    (bend,) = recommended(file, june, "train-limbs")
    assert bend["stance"] == "do"
    assert not recommended(file, later, "train-limbs")


@pytest.mark.parametrize(("low", "stance"), [("-4 °C", "wait"), ("3 °C", "do")])
def test_peaches_in_bloom_are_not_pruned_before_a_hard_frost(low: str, stance: str) -> None:
    """Virginia Cooperative Extension 422-020: a pruned peach stands less cold for about two weeks."""
    night = {"kind": "forecast", "day": "2026-05-09", "low": low, "high": "12 °C"}
    assert Ask("2026-05-08", "dormant-prune", stance, [stage("full-bloom"), night], PEACHES).advised() == {stance}


@pytest.mark.parametrize(
    ("on", "least", "most", "about"),
    [
        ("2026-11-26", "2027-03-01", "2027-05-01", {}),
        ("2026-04-10", "2026-04-11", "2026-05-01", {}),
        ("2026-06-20", "2026-08-20", "2026-10-20", SOUTH),
    ],
)
def test_bare_trees_are_looked_over_until_their_buds_swell(
    on: str, least: str, most: str, about: dict[str, Any]
) -> None:
    """Common practice, no source: apple buds swell some six weeks before full bloom."""
    file = orchard([{**UPPER, "history": ["fire-blight"]}], [{"date": on, **stage("dormant")}], **about)
    (look,) = recommended(file, on, "check-cankers")
    assert least <= look["window"]["closes"] <= most
