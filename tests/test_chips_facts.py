"""Chips that are meant, cuts, prunings and strips: how far they go, what they are, and what they hold."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from advisor.advice import default_rules
from advisor.ecosystem import knowledge
from advisor.fact import Fact
from advisor.facts import Situation, gather
from advisor.orchard import load_orchard
from scenarios.orchards import UPPER, orchard

KINDS = default_rules().kinds
BLOCK = {**UPPER, "trees": 40, "spacing": "6 m x 5 m", "floor": "meadow", "area": None, "understory": []}


def facts(on: str, *seen: dict[str, Any], **block: Any) -> dict[str, Fact]:
    given = {k: v for k, v in {**BLOCK, **block}.items() if v is not None}
    file = load_orchard(orchard([given], [{"date": on, **one} for one in seen]))
    now = Situation.of(file, dt.date.fromisoformat(on), None, None, knowledge())
    return {f.id: f for f in gather(now, KINDS).facts}


def chips(**more: Any) -> dict[str, Any]:
    return {"id": "i", "kind": "intent", "practice": "spread-ramial-chips", "block": "upper", **more}


# --- how far they go --------------------------------------------------------------------------------------------------


def test_three_cubic_metres_cover_forty_square_metres() -> None:
    """3 m3 at 7.5 cm are 40 m2; a ring 3 m across, bare 20 cm round the middle, takes 6.94 m2: five whole rings."""
    found = facts("2026-11-20", chips(amount="3 m3"))["chips-meant:i:upper"]
    assert found.fields["ground"] == pytest.approx(40)
    assert found.fields["trees"] == 5
    assert found.fields["over_all"] == pytest.approx(100 * 3 / 1200, rel=1e-3)
    assert "= 40 m2" in found.text


def test_what_they_weigh_and_hold() -> None:
    """French farm notes: 400 kg a m3 at half moisture; poplar twigs: 1.8 kg of nitrogen, 1.7 of potash in a m3."""
    found = facts("2026-11-20", chips(amount="3 m3"))["chips-meant:i:upper"].fields
    assert (found["kg"], found["nitrogen"], found["potash"]) == (1200, pytest.approx(5.4), pytest.approx(5.1))
    sawdust = facts("2026-11-20", chips(amount="3 m3", material="sawdust"))["chips-meant:i:upper"].fields
    assert "nitrogen" not in sawdust


def test_a_weight_is_turned_into_chips_and_what_has_neither_is_left_out() -> None:
    assert facts("2026-11-20", chips(amount="1200 kg"))["chips-meant:i:upper"].fields["m3"] == pytest.approx(3)
    assert "chips-meant:i:upper" not in facts("2026-11-20", chips(amount="5 h"))
    assert "chips-meant:i:upper" not in facts("2026-11-20", chips())


# --- what wood they are of --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("told", "ramial", "size"),
    [
        ({"thickness": "2 cm"}, True, "twigs"),  # farm hedge sheet: twigs under 3 cm
        ({"thickness": "5 cm"}, True, "branches"),  # Caron 2015, Westaway 2019: under 7 cm
        ({"thickness": "15 cm"}, False, "stem-wood"),
        ({"thickness": "2 cm", "fresh": False}, False, "twigs"),
        ({"thickness": "2 cm", "plants": ["juniper"]}, False, "twigs"),  # all of it conifer
        ({"thickness": "2 cm", "plants": ["hazel", "juniper"]}, True, "twigs"),  # how much of it is not told
    ],
)
def test_wood_is_ramial_by_thickness_freshness_and_conifers(told: dict[str, Any], ramial: bool, size: str) -> None:
    found = facts("2026-11-20", chips(**told))["chip-wood:i"].fields
    assert (found["ramial"], found["size"]) == (ramial, size)


def test_what_nobody_told_is_not_judged() -> None:
    found = facts("2026-11-20", chips(plants=["hazel"]))
    assert "chip-wood:i" not in found
    assert "chip-plant:i:hazel" not in found


def test_walnut_is_kept_off_and_yew_is_warned_of() -> None:
    found = facts("2026-11-20", chips(plants=["black-walnut", "yew"]))
    assert found["chip-plant:i:black-walnut"].fields["kept_off"] is True
    assert found["chip-plant:i:yew"].fields["kept_off"] is False
    assert found["chip-plant:i:yew"].fields["conifer"] is True


# --- compost and manure that is meant ---------------------------------------------------------------------------------


def test_compost_that_is_meant_is_counted_for_what_it_frees() -> None:
    """As compost on record is: a twentieth to a tenth of its nitrogen in the first year, the middle of both."""
    meant = {"id": "i", "kind": "intent", "practice": "spread-compost", "block": "upper", "amount": "1000 kg"}
    freed = facts("2026-04-20", meant)["nitrogen-freed:i:upper"].fields["kg"]
    material: Any = knowledge().node("compost", "material")
    held = 1000 * (1 - material.moisture_pct / 100) * material.nitrogen_pct / 100
    assert freed == pytest.approx(0.075 * held, rel=1e-3)


# --- cuts -------------------------------------------------------------------------------------------------------------


def sward(heads: str) -> dict[str, Any]:
    return {"kind": "sward", "block": "upper", "height": "30 cm", "seed_heads": heads}


def test_leafy_clover_is_read_by_its_own_analysis() -> None:
    """Nitrogen Management in Crop Production, table 8.5: white clover 10.7, red clover 13.7; grass leafy 16."""
    assert facts("2026-05-20", sward("none"), floor="clover")["sward-feed:upper"].fields["cn"] == pytest.approx(10.7)
    red = facts("2026-05-20", sward("none"), floor="clover", understory=["red-clover"])
    assert red["sward-feed:upper"].fields["cn"] == pytest.approx(13.7)
    assert facts("2026-05-20", sward("none"))["sward-feed:upper"].fields["cn"] == 16
    assert facts("2026-06-20", sward("set"), floor="clover")["sward-feed:upper"].fields["cn"] == 40


@pytest.mark.parametrize(("heads", "effect"), [("none", "release"), ("emerging", "neutral"), ("ripe", "tie-up")])
def test_what_a_cut_does_to_nitrogen_follows_its_seed_heads(heads: str, effect: str) -> None:
    assert facts("2026-06-20", sward(heads))["sward-feed:upper"].fields["effect"] == effect


def test_what_a_cut_can_serve_as() -> None:
    leafy = facts("2026-05-20", sward("none"))["cut-uses:upper"].fields
    assert (leafy["serves"], leafy["fodder"]) == ("mulch, compost, plant tea and fodder", True)
    ripe = facts("2026-07-20", sward("ripe"))["cut-uses:upper"].fields
    assert (ripe["serves"], ripe["fodder"]) == ("mulch and compost", False)


def test_what_only_stings_the_skin_is_still_fodder() -> None:
    assert facts("2026-05-20", sward("none"), understory=["nettle"])["cut-uses:upper"].fields["fodder"] is True


def test_comfrey_and_copper_keep_a_cut_from_being_fodder() -> None:
    comfrey = facts("2026-05-20", sward("none"), understory=["common-comfrey"])["cut-uses:upper"].fields
    assert comfrey["fodder"] is False
    assert "Common comfrey" in str(comfrey["danger"])
    sprayed = {"date": "2026-05-10", "kind": "work", "practice": "copper", "material": "copper", "block": "upper"}
    copper = facts("2026-05-20", sward("none"), sprayed)["cut-uses:upper"].fields
    assert copper["fodder"] is False
    assert "sheep" in str(copper["danger"])


# --- supplies ---------------------------------------------------------------------------------------------------------


def test_the_hedge_that_would_give_what_prunings_lack() -> None:
    """French farm notes: 18 to 30 m3 of chips from a km of field hedge in a year."""
    supply = facts("2026-11-20")["mulch-supply:upper"].fields
    short = float(supply["chips_short"])
    assert short > 0
    assert supply["hedge_least"] == pytest.approx(short / 30 * 1000, rel=1e-3)
    assert supply["hedge_most"] == pytest.approx(short / 18 * 1000, rel=1e-3)


def test_a_hedge_of_the_orchard_gives_chips_by_its_length() -> None:
    hedge = {"id": "north", "kind": "hedge", "area": "200 m2", "distance": "5 m"}
    file = load_orchard(orchard([BLOCK], [], [hedge, {**hedge, "id": "unmeasured", "area": None}]))
    now = Situation.of(file, dt.date(2026, 11, 20), None, None, knowledge())
    found = {f.id: f for f in gather(now, KINDS).facts}
    width = float(knowledge().figure("labour.hedge-width").value("any").value)
    assert found["hedge-chips:north"].fields["most"] == pytest.approx(200 / width * 30 / 1000, rel=1e-3)
    assert "hedge-chips:unmeasured" not in found


def test_the_nitrogen_in_a_years_hay() -> None:
    """6 t/ha of dry hay (Younger and Smith 1994), 40 % carbon, 30 parts of it to one of nitrogen when headed."""
    supply = facts("2026-06-10", sward("emerging"))["mulch-supply:upper"].fields
    assert supply["hay_nitrogen"] == pytest.approx(720 * 0.4 / 30, rel=1e-3)
    assert "hay_nitrogen" not in facts("2026-06-10")["mulch-supply:upper"].fields


# --- pruning ----------------------------------------------------------------------------------------------------------


def test_old_and_strong_trees_lose_less() -> None:
    """A quarter (cider orchard page), a fifth of old trees, a tenth of strong ones (from memory); a semi-dwarf lives 20
    to 25 years (Hoover and Marini)."""
    shoots = {"kind": "shoot-growth", "block": "upper", "length": "70 cm", "terminal_set": True}
    tried = [(2014, (), 0.25), (2000, (), 0.20), (2014, (shoots,), 0.10)]
    for planted, seen, share in tried:
        found = facts("2026-02-10", *seen, planted=planted, rootstock="MM.106")["pruning-share:upper"].fields
        assert found["share"] == pytest.approx(share)
    assert "pruning-share:upper" not in facts("2026-02-10", planted=None, rootstock="MM.106")
