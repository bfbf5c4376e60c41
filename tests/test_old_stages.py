"""A stage seen long ago holds nothing up by itself: the look comes first, and safety still holds."""

import pytest

from advisor import advise
from scenarios.asking import SOUTH, Ask, apples
from scenarios.orchards import orchard

PEACHES = [{"id": "upper", "fruit": "peach", "planted": 2015}]


def seen(date, word):
    return {"date": date, "kind": "tree-stage", "stage": word}


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        # Spring: pink nine weeks ago does not keep hay off in July.
        (Ask("2026-07-10", "lay-hay-ring", "do", [seen("2026-05-01", "pink")]), ""),
        (Ask("2026-05-03", "lay-hay-ring", "wait", [seen("2026-05-01", "pink")]), "petals"),
        # Hives hang on days: the look first.
        (Ask("2026-05-20", "bring-hives", "wait", [seen("2026-05-01", "pink")]), "Look first"),
        (Ask("2026-05-03", "bring-hives", "wait", [seen("2026-05-01", "pink")]), "open"),
        # Autumn: a harvest noted in September keeps nothing back in December but the look.
        (Ask("2026-12-10", "dormant-prune", "wait", [seen("2026-09-20", "harvest")]), "Look first"),
        (Ask("2026-09-25", "dormant-prune", "wait", [seen("2026-09-20", "harvest")]), "Wait for winter"),
        (Ask("2026-11-25", "lime", "wait", [seen("2026-09-20", "harvest")]), "Look first"),
        (Ask("2026-06-12", "dormant-prune", "wait", [seen("2026-03-20", "harvest")], about=SOUTH), "Look first"),
        # Safety holds at any age of the look.
        (Ask("2026-05-25", "insecticide", "avoid", [seen("2026-05-10", "full-bloom")]), ""),
        (Ask("2026-05-25", "insecticide", "wait", [seen("2026-05-01", "pink")]), ""),
        # Peaches are pruned from pink on; a look six weeks old does not say when that is.
        (Ask("2026-04-10", "dormant-prune", "wait", [seen("2026-02-20", "dormant")], PEACHES), "Look first"),
    ],
)
def test_what_an_old_look_decides(ask, says):
    found = ask.answer()
    assert found["stance"] == ask.expected
    assert says in found["summary"]


def test_copper_at_leaf_fall_is_not_judged_by_the_harvest():
    early = Ask("2026-09-25", "copper", "avoid", [seen("2026-09-20", "harvest")], apples())
    late = Ask("2026-11-20", "copper", "wait", [seen("2026-09-20", "harvest")], apples())
    assert early.answer()["stance"] == "avoid"
    found = late.answer()
    assert (found["stance"], "leaves" in found["summary"]) == ("wait", True)


def test_what_rests_on_buds_seen_weeks_ago_waits_for_a_look():
    """Buds that broke on 25 April are not certain to be in bud on 6 June: blossom is not thinned unseen."""
    new_trees = [{"id": "upper", "fruit": "apple", "planted": 2026}]
    ask = Ask("2026-06-06", "thin-blossom", "wait", [seen("2026-04-25", "green-tip")], new_trees)
    assert ask.answer()["stance"] == "wait"
    assert ask.answer()["summary"].startswith("Look first")
    assert ask.advised() == {"none"}
    new = Ask("2026-05-10", "thin-blossom", "do", [seen("2026-05-09", "pink")], [{"id": "upper", "fruit": "apple",
              "planted": 2026}]).answer()  # fmt: skip
    assert not [line for line in new["cautions"] if "Look first" in line]


@pytest.mark.parametrize(("on", "may_be"), [("2026-06-06", "past bloom"), ("2026-11-26", "bare")])
def test_work_of_any_season_on_trees_seen_long_ago_begins_with_a_look(on, may_be):
    """Cankers of apples are cut in dry weather the year round; what the trees look like by now nobody has said."""
    canker = {"date": "2026-03-02", "kind": "disease-sign", "disease": "apple-canker", "share": 0.1, "where": "wood"}
    answer = advise(orchard(apples(), [canker, seen("2026-04-25", "green-tip")]), on=on)
    (cut,) = [one for one in answer["recommendations"] if one["practice"] == "cut-out-canker"]
    assert cut["cautions"][0] == f"Look first: upper was last looked at on 2026-04-25, and may be {may_be} by now."


def test_cankers_of_trees_last_seen_in_spring_are_not_cut_in_november():
    """Cankers of peaches are cut in dry summer weather: leaves noted in May do not make it summer in November."""
    canker = {
        "date": "2026-03-02",
        "kind": "disease-sign",
        "disease": "cytospora-canker",
        "share": 0.1,
        "where": "wood",
    }
    answer = advise(orchard(PEACHES, [seen("2026-05-01", "green-tip"), canker]), on="2026-11-26")
    (cut,) = [one for one in answer["recommendations"] if one["practice"] == "cut-out-canker"]
    assert (cut["stance"], cut["strength"]) == ("wait", "strong")
    assert cut["summary"].startswith("Wait for dry summer weather")


def test_peaches_reckoned_to_pink_are_not_pruned_unseen_into_june():
    buds = [seen("2026-05-01", "green-tip")]
    for on in ("2026-05-26", "2026-06-20"):
        ask = Ask(on, "dormant-prune", "wait", buds, PEACHES)
        assert ask.advised() == {"none"}
        assert ask.answer()["summary"].startswith("Look first")
    assert Ask("2026-05-14", "dormant-prune", "do", [seen("2026-05-12", "pink")], PEACHES).advised() == {"do"}
