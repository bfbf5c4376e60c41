"""Whys that a grower would check: the look, the figure and the source that each stands on.

What is expected of sources is read from the titles that the published pages bear; see `knowledge/sources`.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from advisor import advise
from advisor.advice import Answer
from advisor.checking import load_own
from advisor.explain.nodes import walk
from advisor.explain.why_text import write
from scenarios.orchards import UPPER, orchard
from scenarios.skies import sky

SOUTH = {"latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"}
SCABBY = {**UPPER, "history": ["apple-scab"]}


def the(answer: Answer, practice: str) -> Any:
    """The why of the one recommendation of a practice."""
    (one,) = [each for each in answer["recommendations"] if each["practice"] == practice]
    return answer.why(one["id"])


def on(day: str, *seen: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [{"date": day, **one} for one in seen]


def nodes(tree: Any, kind: str) -> list[Any]:
    return [one for one in walk(tree) if one.kind == kind]


def needed(tree: Any) -> dict[str, bool]:
    """What was seen, by its kind, and whether it was needed."""
    return {one.text.split(", ")[1].split(" of ")[0]: one.needed for one in nodes(tree, "observation")}


def test_the_first_mow_hangs_on_the_stage_and_the_sward() -> None:
    seen = on("2026-05-18", {"kind": "tree-stage", "stage": "petal-fall"},
              {"kind": "sward", "block": "upper", "height": "45 cm", "seed_heads": "emerging"},
              {"kind": "bees", "per_tree_minute": 12})  # fmt: skip
    tree = the(advise(orchard(observations=seen), on="2026-05-18"), "first-mow")
    assert needed(tree) == {"tree stage": True, "sward": True}
    (figure,) = [one for one in nodes(tree, "figure") if one.id == "first-mow.sward-height"]
    assert (figure.value, figure.unit) == (20, "cm")
    assert "here height 45 cm" in figure.text
    assert "common practice" in figure.source


def test_shredding_hangs_on_the_scab_seen_and_on_the_trial_that_measured_it() -> None:
    # Sutton, MacHardy, Lord 2000, Plant Disease 84:1319: 80 to 90 % of the risk is gone when all litter is shredded.
    fallen = {"kind": "leaf-fall", "block": "upper", "fallen": 0.95, "scab_on_leaves": 0.2, "state": "dry"}
    tree = the(advise(orchard(observations=on("2026-11-20", fallen)), on="2026-11-20"), "shred-leaves")
    assert needed(tree) == {"leaf fall": True}
    percent = {one.text.rpartition(": ")[2]: one.source for one in nodes(tree, "figure") if "all litter" in one.text}
    assert set(percent) == {"80 %", "90 %"}
    assert all("Plant Disease 84:1319" in source for source in percent.values())


def test_scab_litter_and_shelter_are_one_trade_off_with_both_sides() -> None:
    fallen = {"kind": "leaf-fall", "block": "upper", "fallen": 0.95, "scab_on_leaves": 0.2, "state": "dry"}
    tree = the(advise(orchard([SCABBY], on("2026-11-20", fallen)), on="2026-11-20"), "shred-leaves")
    (trade,) = nodes(tree, "trade-off")
    gains, costs = trade["from"]
    assert (gains.id, costs.id) == ("gains:shred-leaves", "costs:shred-leaves")
    assert any(one.text.startswith("less apple scab: ") for one in gains["from"])
    assert any("leaf litter shelters" in one.text for one in costs["from"])
    assert gains.value == pytest.approx(sum(one.value for one in gains["from"]), abs=0.01)
    assert trade.value == pytest.approx(gains.value - costs.value, abs=0.01)


def test_cover_for_allies_against_cover_for_voles_is_one_trade_off() -> None:
    block = {**UPPER, "history": ["voles"], "mulch": {"material": "hay", "depth": "12 cm", "trunk_gap": "3 cm"}}
    tree = the(advise(orchard([block]), on="2026-10-20"), "draw-mulch-back")
    (trade,) = nodes(tree, "trade-off")
    gains, costs = trade["from"]
    assert any("voles" in one.text for one in gains["from"])
    assert any("shelters" in one.text or "shelter " in one.text for one in costs["from"])


def test_guards_hang_on_the_runs_and_name_the_height_published() -> None:
    # eXtension, preventing vole and rabbit damage to apple trees: guards of 18 in (about 45 cm).
    seen = on("2026-10-12", {"kind": "vole-sign", "block": "upper", "runways": "fresh"})
    tree = the(advise(orchard([{**UPPER, "guards": "none"}], seen), on="2026-10-15"), "guard-trunks")
    assert needed(tree) == {"vole sign": True}
    assert "voles-at-work" in {one.id for one in nodes(tree, "rule")}
    (height,) = [one for one in nodes(tree, "figure") if "least height of a trunk guard" in one.text]
    assert (height.value, height.unit) == (45, "cm")
    assert "Preventing vole and rabbit damage to apple trees" in height.source


def test_bloom_is_guarded_because_of_the_warm_days_and_the_wetting_ahead() -> None:
    seen = on("2026-05-12", {"kind": "tree-stage", "stage": "full-bloom"})
    answer = advise(orchard([{**UPPER, "history": ["fire-blight"]}], seen), on="2026-05-12",
                    weather=sky("2026-05-05", "2026-05-12", 16, 29),
                    forecast=sky("2026-05-13", "2026-05-15", 16, 29, {"2026-05-13": (6, 14)}))  # fmt: skip
    tree = the(answer, "protect-bloom")
    outlook = next(one for one in nodes(tree, "number") if one.id.startswith("blight-outlook"))
    assert "degree-hours above 18.3 °C (110 needed)" in outlook.text  # four conditions, as restated in 1996
    assert {one.kind for one in outlook["from"]} >= {"weather", "forecast", "observation"}
    assert next(one.needed for one in nodes(tree, "forecast")) is True


def test_what_is_held_for_safety_says_so_and_gives_its_source() -> None:
    meant = {"kind": "intent", "block": "upper", "practice": "lime-sulphur", "with": ["whey"], "day": "2026-03-21"}
    seen = on("2026-03-20", {"kind": "tree-stage", "stage": "dormant"}, meant)
    tree = the(advise(orchard(observations=seen), on="2026-03-20"), "lime-sulphur")
    assert (tree.value, needed(tree)["intent"]) == ("avoid", True)
    (rule,) = [one for one in nodes(tree, "rule") if one.id == "never-lime-sulphur-with-acid"]
    assert rule.value == "must"
    assert "hydrogen sulphide" in rule.source
    assert "whey" in " ".join(one.text for one in nodes(tree, "number"))


@pytest.mark.parametrize("with_whey", [True, False])
def test_a_must_is_weighed_as_safety(with_whey: bool, tmp_path: Path) -> None:
    """A rule of the grower's own proposes what safety forbids: it loses, whatever its strength."""
    own = _pack(tmp_path, "spray-in-march", strength="strong", practice="lime-sulphur", fruit="apple")
    meant = {"kind": "intent", "block": "upper", "practice": "lime-sulphur", "with": ["whey"], "day": "2026-03-20"}
    seen = on("2026-03-20", {"kind": "tree-stage", "stage": "dormant"}, *([meant] if with_whey else []))
    book, known = load_own([own], [])
    tree = the(advise(orchard(observations=seen), on="2026-03-20", rules=book, knowledge=known), "lime-sulphur")
    weighed = [(one.id, one.value) for one in tree["from"] if one.kind == "weighing"]
    assert (("spray-in-march", "safety") in weighed) is with_whey
    if with_whey:
        (lost,) = [one for one in tree["from"] if one.kind == "weighing" and one.id == "spray-in-march"]
        assert "must against strong" in lost.text
        assert lost["from"][0].id == "spray-in-march"


def test_two_wishes_that_exclude_each_other_are_settled_by_both_ledgers() -> None:
    fallen = {"kind": "leaf-fall", "block": "upper", "fallen": 0.95, "scab_on_leaves": 0.2, "state": "dry"}
    wishes = [{"kind": "intent", "block": "upper", "practice": name} for name in ("shred-leaves", "gather-leaves")]
    answer = advise(orchard(observations=on("2026-11-20", fallen, *wishes)), on="2026-11-20")
    shred, gather = the(answer, "shred-leaves"), the(answer, "gather-leaves")
    assert (shred.value, gather.value) == ("do", "avoid")
    for tree in (shred, gather):
        (weighing,) = nodes(tree, "weighing")
        assert weighing.value == "ledger"
        sums = {one.id: one.value for one in nodes(tree, "ledger")}
        totals = {name: sums[f"gains:{name}"] - sums[f"costs:{name}"] for name in ("shred-leaves", "gather-leaves")}
        assert totals["shred-leaves"] > totals["gather-leaves"]
        assert len(nodes(tree, "silence")) == 0


def test_an_equal_hold_is_outweighed_by_the_ledger_of_the_practice(tmp_path: Path) -> None:
    own = _pack(
        tmp_path, "shred-anyway", strength="fair", practice="shred-leaves", fruit="apple", hold="hold-the-shredder"
    )
    fallen = {"kind": "leaf-fall", "block": "upper", "fallen": 0.95, "scab_on_leaves": 0.0, "state": "dry"}
    book, known = load_own([own], [])
    answer = advise(orchard(observations=on("2026-11-20", fallen)), on="2026-11-20", rules=book, knowledge=known)
    (one,) = [each for each in answer["recommendations"] if each["practice"] == "shred-leaves"]
    tree = answer.why(one["id"])
    (weighing,) = [
        each for each in tree["from"] if each.kind == "weighing" and each.id in ("hold-the-shredder", "shred-anyway")
    ]
    assert weighing.value == "ledger"
    sides = {each.id for each in walk(weighing) if each.kind == "ledger"}
    assert "costs:shred-leaves" in sides
    assert (tree.value == "do") is (weighing.id == "hold-the-shredder")
    assert "leaf fall" in needed(tree)


def test_a_wish_that_nothing_speaks_against_says_so() -> None:
    seen = on("2026-11-20", {"kind": "intent", "block": "upper", "practice": "put-up-nest-boxes"})
    tree = the(advise(orchard(observations=seen), on="2026-11-20"), "put-up-nest-boxes")
    assert needed(tree) == {"intent": True}
    assert [one.kind for one in tree["from"]] == ["observation", "absence", "trade-off", "proof"]
    assert tree["from"][1].text.startswith("No rule speaks against putting up nest boxes")


def test_what_nobody_has_looked_at_is_told_as_unknown() -> None:
    seen = on("2026-03-20", {"kind": "tree-stage", "stage": "dormant"},
              {"kind": "intent", "block": "upper", "practice": "cut-to-ground"})  # fmt: skip
    tree = the(advise(orchard(observations=seen), on="2026-03-20"), "cut-to-ground")
    assert (tree.value, tree.text[:10]) == ("wait", "Look first")
    (unknown,) = nodes(tree, "unknown")
    assert unknown.text.startswith(
        "Nobody has looked: stems of upper. What could hold this: stubble-never-to-the-ground"
    )
    looked = [*seen, *on("2026-03-20", {"kind": "stems", "block": "upper", "first_cut": "never", "standing": 0.8})]
    assert nodes(the(advise(orchard(observations=looked), on="2026-03-20"), "cut-to-ground"), "unknown") == []


def test_a_southern_orchard_in_us_units_is_told_in_them() -> None:
    block = {**SCABBY, "mulch": {"material": "hay", "depth": "5 in", "trunk_gap": "1 in"}}
    fallen = {"kind": "leaf-fall", "block": "upper", "fallen": 0.9, "scab_on_leaves": 0.2, "state": "dry"}
    answer = advise(orchard([block], on("2026-05-20", fallen), units="us", **SOUTH), on="2026-05-22")
    text = write(the(answer, "draw-mulch-back"))
    assert "trunk gap 1 in" in " ".join(text.split())
    shred = the(answer, "shred-leaves")
    assert (shred.id, needed(shred)) == ("shred-leaves.apple-scab.upper.2025-26", {"leaf fall": True})
    assert nodes(shred, "proof")[0].value is True


def _pack(folder: Path, id: str, *, strength: str, practice: str, fruit: str, hold: str | None = None) -> Path:
    """A grower's own pack: one proposal, and perhaps one hold of the same strength."""
    texts = [
        f"""
- id: {id}
  layer: proposals
  when:
    - block: {{block: $block, fruit: {fruit}}}
  propose:
    practice: {practice}
    stance: do
    place: $block
    strength: {strength}
    summary: "Do it in {{block}}."
  because: "It is always done here in {{block}}."
  evidence: common-practice
  cases:
    - {{name: it is done, given: [{{block: {{block: b, fruit: {fruit}}}}}], fires: true}}
    - {{name: not elsewhere, given: [{{block: {{block: b, fruit: pear}}}}], fires: false}}
"""
    ]
    if hold:
        texts.append(f"""
- id: {hold}
  layer: reservations
  when:
    - considered: {{practice: {practice}, block: $block}}
  reserve:
    effect: hold
    strength: {strength}
    answer: "Not yet in {{block}}."
  because: "It is never done here in {{block}}."
  evidence: common-practice
  cases:
    - {{name: it is held, given: [{{considered: {{id: x, practice: {practice}, block: b}}}}], fires: true}}
    - {{name: not others, given: [{{considered: {{id: x, practice: prune, block: b}}}}], fires: false}}
""")
    (folder / "own.yaml").write_text("".join(texts))
    return folder
