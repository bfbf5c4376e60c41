"""Why not: what good growers ask, and what the answer must show."""

from __future__ import annotations

import json

import pytest

from advisor import advise
from advisor.errors import InputError
from advisor.explain.changes import changed, read_changes
from scenarios.asking import EDGE
from scenarios.orchards import UPPER, orchard

SOUTH = {"latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"}


def seen(kind, on, **more):
    return {"kind": kind, "date": on, "block": "upper", **more}


def stage(word, on, **more):
    return seen("tree-stage", on, stage=word, **more)


def conditions(found):
    """Every condition of every rule, those behind others too."""
    todo = [c for rule in found["rules"] for c in rule["conditions"]]
    while todo:
        one = todo.pop(0)
        yield one
        todo += [c for rule in one["from"] for c in rule["conditions"]]


def holds(answer, found):
    """The suggested change, made and run again, has the practice there."""
    again = answer.run.inputs.again(**changed(read_changes(found["smallest_change"]["ask"]), answer.run.inputs))
    brings = found["smallest_change"]["brings"]
    return any(r["id"] == brings["id"] and r["stance"] == brings["stance"] for r in again["recommendations"])


def test_why_not_cut_the_ring_now_names_height_and_figure():
    on = "2026-05-18"
    answer = advise(orchard(observations=[stage("petal-fall", on), seen("sward", on, height="18 cm")]), on=on)
    found = answer.why_not("first-mow", "upper")
    assert found["status"] == "not-proposed"
    (height,) = [c for c in found["rules"][0]["conditions"] if c["field"] == "height"]
    # first-mow.sward-height: 20 cm (knowledge/figures, common practice, no source)
    assert (height["state"], height["observed"], height["expected"], height["unit"], height["margin"]) == (
        False, 18, 20, "cm", -2)  # fmt: skip
    assert height["figures"][0]["id"] == "first-mow.sward-height"
    (change,) = found["smallest_change"]["changes"]
    assert (change["what"], change["observable"], change["expected"]) == ("look", True, 20)
    assert found["smallest_change"]["observable"] is True
    assert holds(answer, found)


def test_us_units_are_used_throughout():
    on = "2026-05-18"
    file = orchard(observations=[stage("petal-fall", on), seen("sward", on, height="7 in")], units="us")
    (height,) = [
        c for c in advise(file, on=on).why_not("first-mow", "upper")["rules"][0]["conditions"] if c["field"] == "height"
    ]
    assert height["unit"] == "in"
    assert height["observed"] == pytest.approx(7, abs=0.01)
    assert height["expected"] == pytest.approx(20 / 2.54, abs=0.01)  # an inch is 2.54 cm by definition
    assert height["margin"] == pytest.approx(7 - 20 / 2.54, abs=0.01)
    assert " in" in height["text"]
    assert " cm" not in height["text"]


def test_why_not_mow_while_birds_nest():
    on = "2026-05-25"
    looks = [stage("petal-fall", on), seen("sward", on, height="50 cm", in_flower=0),
             seen("wildlife-sign", "2026-05-24", who="ground-nesting-birds")]  # fmt: skip
    answer = advise(orchard(observations=looks, tools=["scythe"]), on=on)
    found = answer.why_not("mow-alleys", "upper")
    birds = [c for c in conditions(found) if c["kind"] == "wildlife-sign"]
    assert birds
    assert all("ground nesting birds" in c["text"] for c in birds)
    nests = [c for c in conditions(found) if c["kind"] == "nests-found"]
    assert nests
    assert all(c["state"] is False and c["negated"] for c in nests)
    free = advise(orchard(observations=looks[:2], tools=["scythe"]), on=on)
    assert free.why_not("mow-alleys", "upper")["status"] == "advised"


def test_a_margin_with_nests_is_held_for_safety_until_their_season_is_over():
    on = "2026-05-25"
    looks = [stage("petal-fall", on), {"kind": "intent", "date": on, "practice": "mow-margin", "habitat": "edge"},
             {"kind": "wildlife-sign", "date": "2026-05-24", "habitat": "edge", "who": "ground-nesting-birds"}]  # fmt: skip
    answer = advise(orchard(observations=looks, habitats=[EDGE], tools=["scythe"]), on=on)
    found = answer.why_not("mow-margin", "edge")
    assert found["status"] == "asked-and-answered"
    assert [lost["by"] for lost in found["lost_to"]] == ["safety"]
    assert found["reason"].startswith("It is held for safety")
    (change,) = found["smallest_change"]["changes"]
    assert (change["what"], change["observable"]) == ("wait", False)
    assert found["smallest_change"]["ask"]["on"] > "2026-07-01"
    assert holds(answer, found)


def test_why_not_pick_asks_for_a_sample_of_the_fruit():
    on = "2026-09-08"
    file = orchard([{**UPPER, "cultivars": ["Liberty"]}], [stage("colouring", "2026-09-05")])
    answer = advise(file, on=on)
    found = answer.why_not("pick", "upper")
    assert found["status"] == "not-proposed"
    assert {c["kind"] for rule in found["rules"] for c in rule["conditions"] if c["state"] is False} == {"maturity"}
    (change,) = found["smallest_change"]["changes"]
    assert (change["kind"], change["observable"], change["minutes"]) == ("fruit-sample", True, 30)
    assert holds(answer, found)


def test_fruit_cannot_be_sampled_at_bloom_so_that_time_comes_first():
    on = "2026-05-18"
    file = orchard([{**UPPER, "cultivars": ["Liberty"]}], [stage("full-bloom", on)])
    found = advise(file, on=on).why_not("pick", "upper")
    assert {c["what"] for c in found["smallest_change"]["changes"]} == {"look", "wait"}
    assert found["smallest_change"]["observable"] is False


def test_why_not_thin_when_it_is_too_late():
    on = "2026-09-08"
    found = advise(orchard(observations=[stage("colouring", "2026-09-05")]), on=on).why_not("hand-thin", "upper")
    if found["smallest_change"] is None:
        assert found["reason"].startswith("Nothing that you could observe today would bring this about.")
        assert "Its time is past" in found["reason"]
        assert found["searched_all"] is True
    else:  # only a count of the crop may still ask for it
        assert {c["kind"] for c in found["smallest_change"]["changes"]} <= {"crop-count"}


def hot_and_wet(high):
    """Nights that wet the leaves, and days as hot as is said."""
    rows = [
        {"time": f"2026-05-{day:02d}T{hour:02d}:00", "temp_c": high if 10 <= hour < 18 else 18,
         "humidity_pct": 96 if hour < 9 else 60, "rain_mm": 1.0 if hour < 9 else 0, "wind_ms": 1}
        for day in range(1, 24) for hour in range(24)
    ]  # fmt: skip
    return [r for r in rows if r["time"] < "2026-05-19"], [r for r in rows if r["time"] >= "2026-05-19"]


def test_why_not_sulphur_in_heat_names_the_heat_and_that_no_look_lifts_it():
    on = "2026-05-18"
    meant = {"kind": "intent", "date": on, "block": "upper", "practice": "sulphur", "material": "wettable-sulphur",
             "day": "2026-05-19"}  # fmt: skip
    file = orchard([{**UPPER, "cultivars": ["McIntosh"], "history": ["apple-scab"]}], [stage("pink", on), meant],
                   tools=["backpack-sprayer"])  # fmt: skip
    past, ahead = hot_and_wet(33)
    found = advise(file, on=on, weather=past, forecast=ahead).why_not("sulphur", "upper")
    assert found["status"] == "asked-and-answered"
    assert [lost["id"] for lost in found["lost_to"]] == ["no-sulphur-in-heat"]
    assert found["smallest_change"] is None
    assert "33 °C" in found["reason"]
    past, ahead = hot_and_wet(22)
    assert advise(file, on=on, weather=past, forecast=ahead).why_not("sulphur", "upper")["status"] == "advised"


def test_why_not_irrigate_without_weather_shows_what_is_not_known():
    on = "2026-07-12"
    block = {**UPPER, "soil": "loam", "irrigation": {"kind": "drip"}}
    answer = advise(orchard([block], [stage("half-grown", "2026-07-10")]), on=on)
    found = answer.why_not("irrigate", "upper")
    assert found["status"] == "not-proposed"
    assert any(c["kind"] == "water-balance" and c["state"] == "unknown" for c in conditions(found))
    assert {c["state"] for c in conditions(found)} <= {True, False, "unknown"}
    assert found["smallest_change"]["observable"] is True
    assert {c["kind"] for c in found["smallest_change"]["changes"]} <= {"soil-water", "tree-sign"}
    assert holds(answer, found)


def test_why_not_feed_nitrogen_after_june_drop():
    on = "2026-07-12"
    meant = {"kind": "intent", "date": on, "practice": "feed-nitrogen", "block": "upper"}
    found = advise(orchard(observations=[stage("half-grown", "2026-07-10"), meant]), on=on).why_not(
        "feed-nitrogen", "upper"
    )
    assert found["status"] == "asked-and-answered"
    assert found["lost_to"][0]["id"] == "no-feed-late"
    assert found["smallest_change"] is None
    assert "past June drop" in found["reason"]


def test_in_the_south_the_same_question_has_the_same_answer():
    on = "2026-11-18"
    answer = advise(orchard(observations=[stage("petal-fall", on), seen("sward", on, height="18 cm")], **SOUTH), on=on)
    found = answer.why_not("first-mow", "upper")
    assert [c["expected"] for c in found["smallest_change"]["changes"]] == [20]
    assert holds(answer, found)


def test_what_is_advised_says_so_and_needs_no_change():
    on = "2026-05-18"
    answer = advise(orchard(observations=[stage("petal-fall", on), seen("sward", on, height="45 cm")]), on=on)
    found = answer.why_not("first-mow")
    assert (found["status"], found["block"], found["smallest_change"]) == ("advised", "upper", None)
    assert found["reason"].startswith("It is advised: ")


def test_a_practice_for_other_fruit_is_impossible_here():
    file = orchard([{"id": "plums", "fruit": "plum"}])
    found = advise(file, on="2026-05-18").why_not("shred-leaves", "plums")
    assert found["smallest_change"] is None or holds(advise(file, on="2026-05-18"), found)
    pears = advise(orchard([{"id": "plums", "fruit": "plum"}]), on="2026-05-18").why_not("graft-pollinizer", "plums")
    assert pears["reason"]


def test_what_no_rule_proposes_is_told_to_be_meant():
    found = advise(orchard(), on="2026-05-18").why_not("insecticide", "upper")
    assert (found["status"], found["rules"], found["smallest_change"]) == ("impossible", [], None)
    assert "intent" in found["reason"]


def test_a_look_that_is_waited_for_is_named():
    on = "2026-05-18"
    answer = advise(orchard(observations=[{"kind": "intent", "date": on, "block": "upper", "practice": "insecticide",
                                           "material": "pyrethrin"}]), on=on)  # fmt: skip
    found = answer.why_not("insecticide", "upper")
    assert found["status"] in ("waiting-for-a-look", "asked-and-answered")
    assert found["lost_to"]


@pytest.mark.parametrize(
    ("practice", "block", "said"),
    [
        ("mulching", None, "draw-mulch-back"),
        ("frist-mow", None, "first-mow"),
        ("first-mow", "uper", "Did you mean upper?"),
    ],
)
def test_what_nobody_knows_is_refused_with_the_nearest(practice, block, said):
    with pytest.raises(InputError) as refused:
        advise(orchard(), on="2026-05-18").why_not(practice, block)
    assert said in str(refused.value)


def test_it_can_be_written_as_json_and_repeats():
    on = "2026-05-18"
    file = orchard(observations=[stage("petal-fall", on), seen("sward", on, height="18 cm")])
    one, two = (json.dumps(advise(file, on=on).why_not("first-mow")) for _ in range(2))
    assert one == two


def test_whether_it_is_winter_is_a_matter_of_looking_at_the_trees():
    """In April nobody need wait for the season where one look at the buds tells it."""
    damage = {"kind": "pest-damage", "date": "2026-04-20", "block": "upper", "pest": "roundheaded-borer", "share": 0.2,
              "of": "trunks", "sign": "frass", "fresh": True}  # fmt: skip
    told = advise(orchard([UPPER], [damage]), on="2026-04-20").why_not("dig-out-borers", "upper")
    assert told["smallest_change"] is not None, told["reason"]
    (change,) = told["smallest_change"]["changes"]
    assert (change["what"], change["kind"]) == ("look", "tree-stage")


def test_no_pest_is_made_up_for_a_fruit_that_it_cannot_live_on():
    """Apple sawfly lives on apples: no count of it is the way to thinning peaches."""
    peaches = {"id": "peaches", "fruit": "peach", "trees": 30, "planted": 2019, "cultivars": ["Redhaven"]}
    told = advise(orchard([peaches], []), on="2026-06-06").why_not("hand-thin", "peaches")
    changes = told["smallest_change"]["changes"] if told["smallest_change"] else []
    assert not [one for one in changes if "sawfly" in one["text"]]
