"""Look next: looks ranked by what their answers would change, each as the whole path says."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor import advise
from advisor.explain.changes import changed, read_changes
from advisor.explain.looks import BEHIND
from advisor.observation import KINDS
from scenarios.orchards import UPPER, orchard

DEMO = Path(__file__).parents[2] / "advisor" / "demo" / "orchard.yaml"
ON = "2026-05-18"
STAGE = {"kind": "tree-stage", "date": ON, "block": "upper", "stage": "petal-fall"}


@pytest.fixture(scope="module")
def demo():
    answer = advise(DEMO, on=ON)
    return answer, answer.look_next()


def stances(answer):
    return {r["id"]: r["stance"] for r in answer["recommendations"]}


def test_each_answer_tried_comes_to_what_the_whole_path_comes_to(demo):
    answer, looks = demo
    before = stances(answer)
    tried = [found for look in looks for found in look["answers"]]
    assert len(tried) > 30
    for found in tried[::3]:
        after = stances(answer.run.inputs.again(**changed(read_changes({"add": [found["seen"]]}), answer.run.inputs)))
        assert {one["id"] for one in found["appears"]} == after.keys() - before.keys()
        assert {one["id"] for one in found["disappears"]} == before.keys() - after.keys()
        turned = {name for name in before.keys() & after.keys() if before[name] != after[name]}
        assert {one["id"] for one in found["moves"] if one["before"] != one["stance"]} == turned
        assert all(after[one["id"]] == one["stance"] for one in found["moves"])


def test_the_most_decisive_come_first_and_every_unknown_is_there(demo):
    answer, looks = demo
    shares = [look["decisive"] for look in looks if look["decisive"] is not None]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > 0
    assert all(0 <= share <= 1 for share in shares)
    keys = {(one["look_at"], one["about"], one["block"], one["habitat"]) for one in looks}
    assert {(u["look_at"], u["about"], u["block"], u["habitat"]) for u in answer["unknowns"]} <= keys
    assert all(look["minutes"] > 0 and look["why"] for look in looks)


def test_an_observation_near_a_bound_is_worth_a_second_look():
    short = {"kind": "sward", "date": "2026-05-17", "block": "upper", "height": "18 cm", "seed_heads": "none"}
    looks = advise(orchard([UPPER], [STAGE, short]), on=ON).look_next()
    (sward,) = [one for one in looks if one["look_at"] == "sward" and "near" in one["why"]]
    assert "18 cm" in sward["why"]
    assert "20 cm" in sward["why"]
    assert any(one["practice"] == "first-mow" for found in sward["answers"] for one in found["appears"])


def test_an_old_look_counts_as_unknown_after_the_time_of_its_kind():
    seen = {"kind": "sward", "block": "upper", "height": "45 cm", "seed_heads": "set"}
    # a sward stands for 14 days, mulch for 120 (rules/kinds.yaml; common practice, no source)
    old = advise(orchard([UPPER], [STAGE, {**seen, "date": "2026-05-01"}]), on=ON).look_next()
    (sward,) = [one for one in old if one["look_at"] == "sward"]
    assert "too long ago" in sward["why"]
    assert sward["decisive"] > 0
    fresh = advise(orchard([UPPER], [STAGE, {**seen, "date": "2026-05-10"}]), on=ON).look_next()
    assert not [one for one in fresh if one["look_at"] == "sward" and "too long ago" in one["why"]]


def test_the_stage_is_asked_for_where_nobody_has_told_it():
    looks = advise(orchard([UPPER]), on=ON).look_next()
    (stage,) = [one for one in looks if one["look_at"] == "tree-stage"]
    assert looks.index(stage) < 3
    assert len(stage["answers"]) > 1
    assert any(found["appears"] for found in stage["answers"])


def test_no_look_is_asked_for_that_can_find_nothing_here():
    looks = advise(
        orchard([{"id": "plums", "fruit": "plum"}], [{**STAGE, "block": "plums", "stage": "full-bloom"}]), on=ON
    )
    asked = {(one["look_at"], one["about"]) for one in looks.look_next()}
    assert ("disease-sign", "apple-scab") not in asked
    assert ("disease-sign", "fire-blight") not in asked
    assert not {"crop-count", "fruit-sample", "snow"} & {look_at for look_at, _ in asked}


def test_in_the_south_and_in_us_units():
    on = "2026-11-18"
    short = {"kind": "sward", "date": "2026-11-17", "block": "upper", "height": "7 in"}
    file = orchard([UPPER], [{**STAGE, "date": on}, short], units="us", latitude=-41.3, longitude=173.2,
                   timezone="Pacific/Auckland")  # fmt: skip
    (sward,) = [one for one in advise(file, on=on).look_next() if one["look_at"] == "sward"]
    assert "7 in" in sward["why"]
    assert not [found for found in sward["answers"] if " cm" in found["found"]]


def test_looks_behind_what_is_worked_out_are_kinds_that_can_be_observed():
    assert {kind for kinds in BEHIND.values() for kind in kinds} <= set(KINDS)


def test_no_stage_is_tried_that_trees_cannot_stand_at_then():
    """In July a look at the stage finds no bare trees and no blossom."""
    (look,) = [
        one for one in advise(orchard([UPPER], []), on="2026-07-20").look_next() if one["look_at"] == "tree-stage"
    ]
    assert {answer["seen"]["bbch"] for answer in look["answers"]} == {71, 87}
    late = advise(orchard([UPPER], []), on="2026-06-20").why_not("lime", "upper")["smallest_change"]
    assert late is None or all((one["kind"], one["expected"]) != ("tree-stage", 0) for one in late["changes"])
