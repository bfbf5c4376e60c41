"""What US readers meet: round numbers where rules speak, exact ones where a grower measured, and no smaller distance."""

from __future__ import annotations

import re

from advisor.advice import default_rules
from advisor.conditions import Propose, Reserve
from advisor.ecosystem import knowledge
from advisor.quantity import read
from advisor.units_in_text import in_us_units
from scenarios.asking import Ask, apples, stage
from scenarios.orchards import orchard, recommended

US = {"units": "us"}
DISTANCE = re.compile(r"(\d+(?:\.\d+)?) (cm|m)\b(?! of)")


def test_a_gap_of_15_cm_is_told_as_6_in_and_what_was_measured_as_it_was() -> None:
    """An inch is 2.54 cm: 15 cm are 5.9 in."""
    seen = [{"date": "2026-05-20", "kind": "mulch", "block": "upper", "material": "ramial-chips", "trunk_gap": "0.4 in",
             "depth": "3 in"}]  # fmt: skip
    (drawn,) = recommended(orchard(apples(), seen, **US), "2026-05-20", "draw-mulch-back")
    assert "6 in at least" in drawn["summary"]
    assert any("within 0.4 in of the bark; 6 in is the least" in line for line in drawn["because"])
    assert not any("5.9 in" in line for part in ("because", "how", "cautions") for line in drawn[part])


def test_a_depth_beyond_the_limit_is_not_told_as_the_limit_itself() -> None:
    """4 in are 10.16 cm, more than 10 cm, so the 10 cm are not told as 4 in beside them."""

    def told(depth: str) -> str:
        intent = {"block": "upper", "depth": depth}
        asked = Ask("2026-02-20", "spread-ramial-chips", "avoid", [stage("dormant")], apples(), about=US, intent=intent)
        return " ".join([*asked.answer()["because"]])

    assert "4 in of chips is more than the 3.9 in" in told("4 in")
    assert "6 in of chips is more than the 4 in" in told("6 in")


def test_a_distance_that_must_be_kept_is_not_told_smaller() -> None:
    """A foot is 0.3048 m: 20 m of bare ground beside water are 65.6 ft, told as 66, not as 65."""
    pond = {"id": "pond", "kind": "pond", "area": "200 m2", "distance": "8 m"}
    asked = Ask("2026-06-10", "insecticide", "avoid", [stage("fruit-set")], apples(), [pond], US,
                intent={"block": "upper", "material": "pyrethrin"})  # fmt: skip
    (line,) = [line for line in asked.answer()["because"] if "pond" in line]
    assert "66 ft are kept" in line
    assert "lies 26 ft from the trees" in line


def test_no_caution_and_no_rule_of_safety_tells_a_smaller_distance() -> None:
    book, known = default_rules(), knowledge()
    texts = [line for node in known.nodes.values() for line in getattr(node, "cautions", ())]
    for rule in book.rules:
        texts += rule.output.cautions if isinstance(rule.output, Propose | Reserve) else ()
    seen = 0
    for text in texts:
        kept = [read(" ".join(found), "length") for found in DISTANCE.findall(text)]
        told = re.findall(r"\d+(?:\.\d+)? (?:in|ft)\b", in_us_units(text, "cautious"))
        assert len(told) == len(kept), text
        assert not re.search(r"(?:at most|no more than|under|up to|no (?:deeper|higher) than) \d", text) or not kept, (
            text
        )
        for metres, feet in zip(kept, told, strict=True):
            assert metres <= read(feet, "length") + 1e-9, text
            seen += 1
    assert seen >= 9  # nobody within 15 m of a powered cutter, by each job that runs one
