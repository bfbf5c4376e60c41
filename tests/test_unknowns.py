"""What the looks that are lacking could change: the most urgent work first, then by name."""

from __future__ import annotations

from advisor import advise
from advisor.advice import default_rules
from advisor.conditions import Propose
from advisor.unknowns import Want
from scenarios.orchards import UPPER, orchard

ON = "2026-05-18"


def could_change(look_at: str, *seen: dict) -> list[str]:
    answer = advise(orchard([UPPER], list(seen)), on=ON)
    return next(u["could_change"] for u in answer["unknowns"] if u["look_at"] == look_at)


def highest(practice: str) -> float:
    """The highest urgency with which any rule proposes a practice."""
    outputs = [rule.output for rule in default_rules().rules if isinstance(rule.output, Propose)]
    return max(
        (o.urgency for o in outputs if o.practice == practice and isinstance(o.urgency, float | int)), default=0.0
    )


def test_the_most_urgent_work_comes_first() -> None:
    practices = could_change("tree-stage")
    assert len(practices) > 10
    assert practices != sorted(practices)
    assert highest(practices[0]) >= 0.9
    assert highest(practices[0]) > highest(practices[-1])


def test_of_equally_urgent_work_the_name_decides_and_none_is_named_twice() -> None:
    want = Want()
    want.may_change({"scout": 0.5, "oil": 0.5, "kaolin": 0.4, "lime": 0.9})
    want.may_change({"kaolin": 0.5, "scout": 0.2})
    assert want.by_urgency() == ["lime", "kaolin", "oil", "scout"]


def test_what_somebody_means_to_do_comes_before_all_else() -> None:
    stage = {"kind": "tree-stage", "date": ON, "block": "upper", "stage": "petal-fall"}
    meant = {"id": "meant", "kind": "intent", "date": ON, "block": "upper", "practice": "first-mow"}
    looks = {u["look_at"]: u["could_change"] for u in advise(orchard([UPPER], [stage, meant]), on=ON)["unknowns"]}
    assert any(practices[0] == "first-mow" and len(practices) > 1 for practices in looks.values()), looks
