"""Sentences of an answer are words that growers use: no ids, no field names, no instructions for what is to be left."""

from __future__ import annotations

import re

from advisor import advise
from advisor.advice import default_rules
from advisor.presenting import show_in
from scenarios.orchards import UPPER, orchard

ON = "2026-05-04"
WHIPS = {"id": "whips", "fruit": "apple", "trees": 25, "planted": 2026, "spacing": "4 m x 2 m", "floor": "turf",
         "cultivars": ["Honeycrisp"], "rootstock": "G.41"}  # fmt: skip


def seen(kind, block="upper", date=ON, **fields):
    return {"kind": kind, "date": date, "block": block, **fields}


def test_what_was_outweighed_is_told_in_words() -> None:
    dry = [seen("soil-water", "whips", feel="dry"), seen("tree-stage", "whips", stage="green-tip")]
    answer = advise(orchard([WHIPS], dry), on=ON)
    told = [line for r in answer["recommendations"] for line in r["because"] if "outweighed" in line]
    assert told
    ids = {rule.id for rule in default_rules().rules if "-" in rule.id}
    assert not [line for line in told if ids & set(re.findall(r"[\w-]+", line))]


def test_nobody_is_told_how_to_do_what_is_to_be_left_alone() -> None:
    """Copper at full bloom is refused; that it is best sprayed in the evening would only confuse."""
    meant = seen("intent", practice="copper", material="copper", day=ON)
    answer = advise(orchard([UPPER], [seen("tree-stage", stage="full-bloom"), meant]), on=ON)
    (copper,) = [r for r in answer["recommendations"] if r["practice"] == "copper"]
    assert copper["stance"] == "avoid"
    assert not [line for line in copper["how"] if "evening" in line or "rate" in line]
    assert copper["cautions"]


def test_looks_that_are_lacking_are_told_without_names_of_fields() -> None:
    seen_so_far = [seen("tree-stage", stage="full-bloom"), seen("soil-water", feel="dry"),
                   seen("vole-sign", runways="fresh")]  # fmt: skip
    why = [look["why"] for look in advise(orchard([UPPER], seen_so_far), on=ON)["unknowns"]]
    assert "Of the wetness of the soil in upper nobody has said whether it bears a mower." in why
    assert "Nothing is known of wilting trees in upper." in why
    assert "Nothing is known of signs of apple scab in upper." in why
    assert not [line for line in why if "tree sign" in line or "soil water" in line or "_" in line]


def test_stages_that_run_back_are_not_said_to_be_of_one_day() -> None:
    looks = [seen("tree-stage", stage="full-bloom", date="2026-05-01"), seen("tree-stage", stage="tight-cluster")]
    why = [
        look["why"] for look in advise(orchard([UPPER], looks), on=ON)["unknowns"] if look["look_at"] == "tree-stage"
    ]
    assert why == ["What was written of the stage of upper cannot be right: look again, and correct what is wrong."]


def test_several_blocks_and_shares_are_told_as_people_tell_them() -> None:
    """One soil sample serves "lower and young", not "lower, young"; organic matter is "2 %", not "2 percent"."""
    blocks = [UPPER, {"id": "lower", "fruit": "pear"}, {"id": "young", "fruit": "plum"}]
    answer = advise(orchard(blocks, []), on="2026-01-20")
    (sample,) = [r for r in answer["recommendations"] if r["practice"] == "test-soil"]
    assert any("from upper and young" in line or "from lower and young" in line for line in sample["because"])
    assert show_in("metric", answer.run.now.knowledge)(2.0, "percent", "organic_matter") == "2 %"


def test_a_stage_that_cannot_be_is_doubted_wherever_it_is_used() -> None:
    """Apples at harvest on 2 May: the sampling of fruit that follows from it begins with a look, and says why."""
    answer = advise(orchard([UPPER], [seen("tree-stage", stage="harvest", date="2026-05-02")]), on=ON)
    assert answer["conditions"]["upper"]["stage"]["wrong"] is True
    (sample,) = [r for r in answer["recommendations"] if r["practice"] == "sample-fruit"]
    assert sample["cautions"][0] == "Look first: what was written of the stage of upper cannot be right."


def test_nobody_is_sent_to_look_at_snow_in_july() -> None:
    """Also where no stage is noted."""
    for on, asked in (("2026-07-16", False), ("2026-01-16", True)):
        looks = {look["look_at"] for look in advise(orchard([UPPER], []), on=on)["unknowns"]}
        assert ("snow" in looks, "tree-stage" in looks) == (asked, True)


def test_cultivars_at_different_stages_are_not_called_wrong() -> None:
    both = [
        seen("tree-stage", stage="pink", cultivar="Liberty"),
        seen("tree-stage", stage="full-bloom", cultivar="Gala"),
    ]
    answer = advise(orchard([UPPER], both), on=ON)
    assert answer["conditions"]["upper"]["stage"]["wrong"] is False
    assert not [line for look in answer["unknowns"] for line in [look["why"]] if "cannot be right" in line]


def test_counts_that_contradict_each_other_are_told() -> None:
    """Aphids on 30 % and on none of the clusters on one day: nothing can follow from it, and silence would hide it."""
    counts = [seen("pest-count", pest="rosy-apple-aphid", infested=share, per="cluster") for share in (0.3, 0.0)]
    answer = advise(orchard([UPPER], [seen("tree-stage", stage="pink"), *counts]), on=ON)
    (told,) = [look for look in answer["unknowns"] if look["about"] == "rosy-apple-aphid"]
    assert told["why"] == "Two looks at upper of one moment disagree on how many are infested."
    assert told["could_change"]


def test_stages_are_told_in_the_words_of_the_fruit() -> None:
    """At BBCH 56 a pear is past bud burst and a peach shows red, and no tight cluster; a figure's stage is told likewise."""

    def copper(fruit: str) -> str:
        looks = [seen("tree-stage", bbch=56), seen("intent", practice="copper", material="copper", day=ON)]
        answer = advise(orchard([{"id": "upper", "fruit": fruit}], looks), on=ON)
        (told,) = [r for r in answer["recommendations"] if r["practice"] == "copper"]
        return " ".join(told["because"])

    assert "The trees are at tight cluster; copper belongs before green tip." in copper("apple")
    assert "The trees are at bud burst; copper belongs before bud burst." in copper("pear")
    assert "The trees are at open cluster, in leaf" in copper("plum")
    assert "The trees are at calyx red, in leaf" in copper("peach")


def test_the_length_of_a_day_is_not_told_to_the_minute() -> None:
    show = show_in("metric", advise(orchard([UPPER]), on=ON).run.now.knowledge)
    assert show(8.2437, "h", "day_length") == "8.2 h"
    assert show(8.2437, "h", "hours") == "8.24 h"
