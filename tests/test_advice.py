"""The whole path: what every answer must hold, whatever the rules say."""

import copy
import datetime as dt
import itertools
import json
import random
from importlib.resources import as_file, files

import pytest

from advisor import advise, load_orchard
from advisor.advice import default_rules
from advisor.answer import AnswerShape
from advisor.ecosystem import knowledge
from advisor.reading import read_document

FAR = "9999-12-31"


@pytest.fixture(scope="module")
def demo():
    with as_file(files("advisor") / "demo") as folder:
        given = read_document(folder / "orchard.yaml").data
        given["weather"] = str(folder / "weather.csv")
        given["forecast"] = str(folder / "forecast.csv")
        return {**given, "weather": None, "forecast": None}, folder / "weather.csv", folder / "forecast.csv"


@pytest.fixture(scope="module")
def answer(demo):
    given, weather, forecast = demo
    return advise(without_weather(given), on="2026-05-18", weather=weather, forecast=forecast)


def without_weather(given):
    return {key: value for key, value in given.items() if key not in ("weather", "forecast")}


def overlapping(recommendations):
    """Pairs for one practice, target and place whose stances differ while their windows overlap."""
    for one, other in itertools.combinations(recommendations, 2):
        same = all(one[key] == other[key] for key in ("practice", "target", "block", "habitat"))
        if same and one["stance"] != other["stance"]:
            first, second = (
                (r["window"]["opens"] or "0001-01-01", r["window"]["closes"] or FAR) for r in (one, other)
            )  # fmt: skip
            if first[0] <= second[1] and second[0] <= first[1]:
                yield one["id"], other["id"]


def test_the_answer_has_its_shape_and_no_two_stances_overlap(answer):
    AnswerShape.model_validate(answer)
    assert not list(overlapping(answer["recommendations"]))
    ids = [r["id"] for r in answer["recommendations"]]
    assert len(ids) == len(set(ids))


def test_every_recommendation_can_be_traced(answer, demo):
    given, _, _ = demo
    known, rules = knowledge(), {rule.id for rule in default_rules().rules}
    observed = {o.id for o in load_orchard(without_weather(given)).observations}
    for one in answer["recommendations"]:
        assert known.node(one["practice"], "practice")
        assert set(one["sources"]) <= set(known.sources), one["id"]
        assert set(one["depends_on"]) <= observed, one["id"]
        assert one["because"] or one["answers"] or one["settled_against"], one["id"]
        assert {name for name in one["settled_against"] if name in rules} <= rules
        for line in one["gains"] + one["costs"]:
            assert line["path"]
            assert line["score"] > 0


def test_practices_that_can_hurt_carry_their_caution(answer):
    for one in answer["recommendations"]:
        node = knowledge().node(one["practice"], "practice")
        assert set(node.cautions) <= set(one["cautions"])


def test_each_intent_is_answered_once_for_each_place(answer):
    answered = [(r["answers"], r["block"], r["habitat"]) for r in answer["recommendations"] if r["answers"]]
    assert len(answered) == len(set(answered)) == 2
    for one in answer["recommendations"]:
        if one["answers"]:
            assert one["stance"] in ("do", "wait", "avoid")


def test_the_same_inputs_give_the_same_bytes_and_order_does_not_matter(demo, answer):
    given, weather, forecast = demo
    shuffled = copy.deepcopy(without_weather(given))
    random.Random(7).shuffle(shuffled["observations"])
    again = advise(shuffled, on="2026-05-18", weather=weather, forecast=forecast)
    for key in ("recommendations", "conditions", "unknowns"):
        assert json.dumps(again[key]) == json.dumps(answer[key]), key
    once_more = advise(without_weather(given), on=dt.date(2026, 5, 18), weather=weather, forecast=forecast)
    assert json.dumps(once_more) == json.dumps(answer)


def test_the_answer_can_be_read_with_dots_and_keeps_its_run(answer):
    assert answer.orchard == answer["orchard"] == "Larkfield"
    assert answer.recommendations[0].window.opens == answer["recommendations"][0]["window"]["opens"]
    assert answer.run.inference.firings
    with pytest.raises(AttributeError):
        _ = answer.colour


def test_an_orchard_of_three_words_gets_an_answer_that_says_what_it_lacks():
    bare = {"orchard": {"name": "A", "latitude": -41.0}, "blocks": [{"id": "b", "fruit": "apple"}]}
    answer = advise(bare, on="2026-11-25")
    AnswerShape.model_validate(answer)
    assert answer["conditions"]["b"]["stage"]["bbch"] is None
    assert answer["unknowns"][0]["look_at"] == "tree-stage"
    assert answer["unknowns"][0]["could_change"]


def test_ids_are_stable_from_week_to_week(demo, answer):
    given, weather, forecast = demo
    later = advise(without_weather(given), on="2026-05-19", weather=weather, forecast=forecast)
    now, then = ({r["id"] for r in a["recommendations"] if not r["answers"]} for a in (answer, later))
    assert now & then


@pytest.mark.parametrize("more", [{}, {"target": "apple-scab"}, {"material": "other:brew"}, {"target": "other:moth"}])
def test_an_intent_that_nobody_knows_is_left_out_and_changes_nothing_else(more):
    blocks = [{"id": "upper", "fruit": "apple"}]
    orchard = {"orchard": {"name": "Larkfield", "latitude": 42.4}, "blocks": blocks}
    meant = {"date": "2026-05-18", "kind": "intent", "practice": "other:moon-watering", "block": "upper", **more}
    file = load_orchard({**orchard, "observations": [meant]})
    assert "other:moon-watering" in file.unknown_words
    without = advise(orchard, on="2026-05-18")
    assert advise(file, on="2026-05-18").recommendations == without.recommendations


def test_an_intent_that_no_rule_speaks_of_still_has_its_reasons():
    meant = [
        {"date": "2026-06-10", "kind": "intent", "practice": "cut-out-mildew", "block": "b", "id": "mildew"},
        {"date": "2026-06-10", "kind": "intent", "practice": "mating-disruption", "block": "b", "id": "moths",
         "target": "bacterial-canker"},
    ]  # fmt: skip
    orchard = {"orchard": {"name": "L", "latitude": 42}, "blocks": [{"id": "b", "fruit": "apple"}]}
    answer = advise({**orchard, "observations": meant}, on="2026-06-10")
    found = {one["answers"]: one for one in answer["recommendations"] if one["answers"]}
    assert all(one["because"] for one in found.values())
    assert "For it: cutting out mildew suppresses apple powdery mildew." in found["mildew"]["because"]
    assert any("bacterial canker is not known" in line for line in found["moths"]["because"])
    hedge = {"date": "2026-01-20", "kind": "intent", "practice": "cut-back-hedge", "block": "b"}
    winter = advise({**orchard, "observations": [hedge]}, on="2026-01-20")
    (one,) = (one for one in winter["recommendations"] if one["answers"])
    assert sum(line["score"] for line in one["costs"]) > sum(line["score"] for line in one["gains"])
    assert one["summary"].startswith("No rule holds it, but it costs more than it gives here")


def meant(id, day, **more):
    return {"date": "2026-06-10", "kind": "intent", "block": "b", "id": id, "day": day, **more}


@pytest.mark.parametrize(
    ("intents", "stances"),
    [
        # the same work on two days, and twice on one day
        ([{"practice": "hose-off", "day": "2026-06-11"}, {"practice": "hose-off", "day": "2026-06-13"}], ["do", "do"]),
        ([{"practice": "hose-off", "day": "2026-06-11"}, {"practice": "hose-off", "day": "2026-06-11", "note": "again"}],
         ["do", "do"]),
        # two materials under one practice: salt is no pesticide, whatever else is meant (common practice and law)
        ([{"practice": "bicarbonate", "day": "2026-06-11", "material": "potassium-bicarbonate", "rate": "label"},
          {"practice": "bicarbonate", "day": "2026-06-11", "material": "table-salt", "rate": "label"}], [None, "avoid"]),
        # the same with a target: no two stances for one target at one time
        ([{"practice": "soap", "day": "2026-06-11", "material": "soap", "target": "green-apple-aphid"},
          {"practice": "soap", "day": "2026-06-11", "material": "vegetable-oil", "target": "green-apple-aphid"}],
         [None, "avoid"]),
    ],
)  # fmt: skip
def test_every_intent_has_an_answer_of_its_own_and_stances_still_do_not_overlap(intents, stances):
    orchard = {"orchard": {"name": "L", "latitude": 42}, "blocks": [{"id": "b", "fruit": "apple"}]}
    seen = [meant(f"i{number}", **intent) for number, intent in enumerate(intents)]
    found = advise({**orchard, "observations": seen}, on="2026-06-10")["recommendations"]
    assert not list(overlapping(found))
    assert len({one["id"] for one in found}) == len(found)
    for number, stance in enumerate(stances):
        (one,) = (one for one in found if one["answers"] == f"i{number}")
        assert one["practice"] == intents[number]["practice"]
        assert one["target"] == intents[number].get("target", one["target"])
        assert stance in (None, one["stance"]), one["summary"]


def test_what_was_assumed_doubled_or_not_known_is_said_in_the_answer():
    rows = [{"time": f"2026-05-18T{hour:02}:{minute}", "temp_c": 12} for hour in range(24) for minute in ("00", "30")]
    given = {"orchard": {"name": "L", "latitude": -41}, "blocks": [{"id": "b", "fruit": "apple",
             "understory": ["other:moonflower"]}], "weather": rows}  # fmt: skip
    notes = advise(given, on="2026-05-18")["notes"]
    assert any("read as UTC" in note for note in notes)
    assert any("other:moonflower" in note for note in notes)
    assert any(note.startswith("Weather: 24 hours given more than once") for note in notes)
    replaced = advise(given, on="2026-05-18", weather=rows[::2])["notes"]
    assert not any("more than once" in note for note in replaced)


def test_hours_that_are_missing_up_to_the_day_are_named_whatever_comes_after_it(demo):
    given, weather, _ = demo
    header, *rows = weather.read_text(encoding="utf-8").splitlines()
    known = [row for row in rows if row < "2026-05-16"]
    blank = [f"2026-05-{day}T{hour:02d}:00" + "," * header.count(",") for day in (16, 17, 18) for hour in range(24)]
    later = [f"2026-05-19T{row[11:]}" for row in known[-24:]]
    answers = [
        advise(without_weather(given), on="2026-05-18", weather="\n".join([header, *table]))
        for table in (known, known + blank, known + later)
    ]
    assert any("72 hours up to this day are not known" in one["why"] for one in answers[0]["unknowns"])
    for one in answers[1:]:
        assert one["unknowns"] == answers[0]["unknowns"]
        assert one["recommendations"] == answers[0]["recommendations"]


def test_the_day_of_a_moment_is_the_orchards_own(demo):
    given, *_ = demo
    late = advise(without_weather(given), on="2026-05-19T03:00Z")  # 23:00 of the day before in New York
    assert late["date"] == "2026-05-18"
    assert late["recommendations"] == advise(without_weather(given), on="2026-05-18T23:00")["recommendations"]


def test_two_looks_disagree_only_on_what_both_said():
    said = [{"kind": "vole-sign", "date": "2026-11-05", "block": "upper", "runways": word} for word in ("none", "fresh")]
    given = {
        "orchard": {"name": "Larkfield", "latitude": 42.4},
        "blocks": [{"id": "upper", "fruit": "apple"}],
        "observations": said,
    }
    (look,) = [one for one in advise(given, on="2026-11-05")["unknowns"] if one["look_at"] == "vole-sign"]
    assert look["why"] == "Two looks at upper of one moment disagree on whether there are runways."


def test_counts_of_one_enemy_that_disagree_say_nothing_of_another():
    def seen(**fields):
        return {"date": "2026-06-05", "block": "upper", **fields}

    given = {
        "orchard": {"name": "Larkfield", "latitude": 42.4},
        "blocks": [{"id": "upper", "fruit": "apple"}],
        "observations": [
            seen(kind="tree-stage", stage="fruit-set"),
            seen(kind="pest-count", pest="green-apple-aphid", infested=0.6, per="shoot"),
            seen(kind="ally-count", ally="hover-fly", share=0.5),
            seen(kind="ally-count", ally="hover-fly", share=0.0),
            seen(kind="ally-count", ally="lady-beetle", count=3),
        ],
    }
    looks = {one["about"]: one["why"] for one in advise(given, on="2026-06-05")["unknowns"]}
    assert "disagree" in looks["hover-fly"]
    assert "disagree" not in looks["lady-beetle"]
