"""Something that a grower means to do under a name nobody knows: judged by what it would put on, or said to be unknown."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from advisor import advise
from advisor.terminal import write
from scenarios.orchards import UPPER, orchard

ON = "2026-05-01"
BLOOM = {"kind": "tree-stage", "date": ON, "block": "upper", "stage": "full-bloom"}


def meant(**what):
    return {"id": "meant", "kind": "intent", "date": ON, "block": "upper", "practice": "other:moon-dance", **what}


def answers(**what):
    found = advise(orchard([UPPER], [BLOOM, meant(**what)]), on=ON)
    return found, [r for r in found["recommendations"] if r["answers"] == "meant"]


@pytest.mark.parametrize(
    ("what", "practice", "stance", "said"),
    [  # each is a `must` of the safety rules; a few breaths of the first can kill
        ({"material": "lime-sulphur", "with": ["vinegar"]}, "lime-sulphur", "avoid", "poison gas"),
        ({"with": ["lime-sulphur", "whey"]}, "lime-sulphur", "avoid", "poison gas"),
        ({"material": "spinosad"}, "insecticide", "avoid", "in bloom"),
        ({"material": "table-salt"}, "insecticide", "avoid", "Not table salt"),
        ({"material": "horse-manure"}, "spread-manure", "wait", "raw manure"),
    ],
)
def test_a_dangerous_material_is_answered_whatever_it_is_called(what, practice, stance, said):
    _, (one,) = answers(**what)
    assert (one["practice"], one["stance"], one["strength"]) == (practice, stance, "must")
    assert said in one["summary"]


def test_it_is_said_what_it_was_judged_by():
    found, (one,) = answers(material="lime-sulphur", **{"with": ["vinegar"]})
    told = str(found.why(one["id"]))
    assert "moon dance is not known here; judged by what it would put on, as lime sulphur" in told
    assert "Vinegar is a household stuff" in told  # and not the lime sulphur that it goes with


def test_where_nothing_is_known_that_is_said_and_nothing_else():
    found, none = answers(material="other:stardust")
    assert none == []
    (one,) = [look for look in found["unknowns"] if look["look_at"] == "intent"]
    assert (one["block"], one["could_change"]) == ("upper", [])
    assert "Nothing is known here of moon dance" in one["why"]
    said = io.StringIO()
    write({**found, "unknowns": [one]}, Console(file=said, width=300))
    assert "could change: ." not in said.getvalue()
    assert [look["decisive"] for look in found.look_next() if look["look_at"] == "intent"] == [None]


def test_what_is_past_is_not_asked_about():
    found = advise(orchard([UPPER], [BLOOM, meant(day="2026-04-20")]), on=ON)
    assert not [look for look in found["unknowns"] if look["look_at"] == "intent"]


def test_a_look_that_is_lacking_is_said_in_a_whole_sentence():
    """Of one thing and of many: "no bees is known" is no sentence."""
    why = {look["look_at"]: look["why"] for look in advise(orchard([UPPER], [BLOOM]), on=ON)["unknowns"]}
    assert why["vole-sign"] == "Nothing is known of signs of voles in upper."
    assert why["bees"] == "Nothing is known of bees in upper."
