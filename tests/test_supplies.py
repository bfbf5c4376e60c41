"""What an orchard gives and takes in a year, teas by the litre, and pollen tubes in a cold bloom."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from advisor.advice import default_rules
from advisor.ecosystem import knowledge
from advisor.fact import Fact
from advisor.facts import Situation, gather
from advisor.orchard import load_orchard
from scenarios.asking import Ask, apples, stage
from scenarios.orchards import UPPER, orchard

KINDS = default_rules().kinds
BLOCK = {**UPPER, "trees": 40, "spacing": "6 m x 5 m", "floor": "meadow", "area": None}


def facts(on: str, *seen: dict[str, Any], **block: Any) -> dict[str, Fact]:
    given = {k: v for k, v in {**BLOCK, **block}.items() if v is not None}
    file = load_orchard(orchard([given], [{"date": on, **one} for one in seen]))
    return {
        f.id: f for f in gather(Situation.of(file, dt.date.fromisoformat(on), None, None, knowledge()), KINDS).facts
    }


def test_prunings_and_meadow_against_the_rings() -> None:
    """French farm notes: 2 to 15 m3 of chips a hectare pruned; Younger and Smith 1994: 6 t of hay a hectare."""
    found = facts("2026-06-10")
    supply, ring = found["mulch-supply:upper"].fields, found["ring-volume:upper"].fields
    assert (supply["chips_least"], supply["chips_most"]) == (pytest.approx(0.12 * 2), pytest.approx(0.12 * 15))
    assert supply["hay_least"] == supply["hay_most"] == pytest.approx(0.12 * 6000)
    assert supply["chips_short"] == pytest.approx(max(0, ring["chips"] - 1.8), abs=1e-3)
    assert supply["hay_short"] == pytest.approx(max(0, ring["hay"] - 720), abs=1e-3)


def test_no_hay_is_promised_of_a_floor_without_a_figure() -> None:
    assert "hay_least" not in facts("2026-06-10", floor="turf")["mulch-supply:upper"].fields
    assert "mulch-supply:upper" not in facts("2026-06-10", trees=None)


def test_a_crop_carries_off_what_is_published() -> None:
    """Washington State University EM119E, table 2: 1.00 to 1.95 kg of potassium in a tonne of apples."""
    found = facts("2026-06-10", rootstock="MM.111")
    crop = found["crop-expected:upper"].fields["crop"] / 1000
    taken = found["crop-removal:upper:K"].fields
    assert (taken["least"], taken["most"]) == (
        pytest.approx(crop * 1.0, rel=1e-3),
        pytest.approx(crop * 1.95, rel=1e-3),
    )
    assert "crop-removal:upper:K" not in facts("2026-06-10", rootstock="MM.111", fruit="quince")


def test_a_tea_is_reckoned_by_the_printed_recipe() -> None:
    """One part of tea to ten of water; comfrey one part of leaf to two of water, four weeks (a magazine's trial)."""
    meant = {"id": "i", "kind": "intent", "practice": "plant-tea", "material": "comfrey-tea", "amount": "110 L"}
    tea = facts("2026-06-10", meant)["tea-mix:i"].fields
    assert (tea["strong"], tea["leaf"], tea["days_least"]) == (pytest.approx(10), pytest.approx(5), 28)
    assert tea["on_leaves"] == pytest.approx(110 / 21, rel=1e-3)
    leaf = facts("2026-06-10", {**meant, "amount": "5 kg"})["tea-mix:i"].fields
    assert (leaf["strong"], leaf["litres"]) == (pytest.approx(10), pytest.approx(110))
    assert (leaf["rich_in"], leaf["known"]) == ("potassium, nitrogen and calcium", "by laboratories")
    assert "liver" in str(leaf["caution"])
    assert "strong" not in facts("2026-06-10", {**meant, "amount": None})["tea-mix:i"].fields
    whey = {**meant, "practice": "biology-spray", "material": "whey"}
    assert "tea-mix:i" not in facts("2026-06-10", whey)


def days_of(low: str, high: str, first: int = 16) -> list[dict[str, Any]]:
    return [{"kind": "forecast", "day": f"2026-05-{first + n}", "low": low, "high": high} for n in range(3)]


@pytest.mark.parametrize(
    ("low", "high", "growth"), [("3 °C", "13 °C", "hardly"), ("8 °C", "18 °C", "slow"), ("12 °C", "24 °C", "fast")]
)
def test_pollen_tubes_follow_the_coming_days(low: str, high: str, growth: str) -> None:
    """Purdue University: hardly below 50 °F (10 °C), slow to 60 °F (15.6 °C), much faster above."""
    bloom = {"kind": "tree-stage", "stage": "full-bloom"}
    assert facts("2026-05-15", bloom, *days_of(low, high))["pollen-tubes:upper"].fields["growth"] == growth
    assert "pollen-tubes:upper" not in facts("2026-05-15", bloom, *days_of(low, high)[:2])
    assert "pollen-tubes:upper" not in facts("2026-05-15", {**bloom, "stage": "pink"}, *days_of(low, high))


def test_a_pear_flower_lasts_longer_in_the_cool() -> None:
    """Tromp and Borsboom, Doyenne du Comice: the shorter ends are 4 days at 13 °C and 2 at 17 °C."""
    bloom = {"kind": "tree-stage", "stage": "full-bloom"}
    cool = facts("2026-05-15", bloom, *days_of("8 °C", "18 °C"), fruit="pear")["pollen-tubes:upper"].fields
    warm = facts("2026-05-15", bloom, *days_of("12 °C", "22 °C"), fruit="pear")["pollen-tubes:upper"].fields
    assert (cool["days"], warm["days"]) == (4, 2)


def test_blossom_is_kept_while_pollen_hardly_grows() -> None:
    year = {"cultivars": ["Honeycrisp"]}
    cold = Ask("2026-05-15", "thin-blossom", "wait", [stage("full-bloom"), *days_of("3 °C", "13 °C")], apples(**year))
    warm = Ask("2026-05-15", "thin-blossom", "do", [stage("full-bloom"), *days_of("12 °C", "24 °C")], apples(**year))
    assert cold.answer()["stance"] == cold.expected
    assert warm.answer()["stance"] == warm.expected
