"""Whole plans: random orchards hold to every rule, and small ones show what a grower would look for."""

import copy
import datetime as dt
import json
import random

import plan_orchards
import pytest

from advisor import advise
from advisor.ecosystem import knowledge
from advisor.errors import InputError
from advisor.hours import exact, plan
from counts import count
from needs import lacking
from scenarios.orchards import UPPER, orchard

RE_ENTRY = {
    name.removesuffix(".re-entry"): float(figure.value("any").value)
    for name, figure in knowledge().figures.items()
    if name.endswith(".re-entry")
}


def planned(file, on, forecast=None, **more):
    answer = advise(file, on=on, forecast=forecast)
    return answer, answer.plan(**more)


def test_random_orchards_break_no_rule():
    if not exact.available():
        lacking("highspy")
    rnd = random.Random(2026)
    placed = left_out = 0
    for _ in range(count("plans of random orchards")):
        file, on, forecast = plan_orchards.orchard(rnd)
        answer, made = planned(file, on, forecast, weeks=rnd.choice((1, 4, 8)))
        seen = [{"id": o.id, "material": getattr(o, "material", None)} for o in answer.run.now.observations]
        zone = answer.run.now.file.zone
        assert plan_orchards.broken(made, answer, {**file, "seen": seen}, zone, forecast, RE_ENTRY) == [], (file, on)
        json.dumps(made, allow_nan=False)
        placed += sum(len(week["jobs"]) for week in (made["this_week"], *made["next_weeks"]))
        left_out += len(made["unplaced"])
        everything = {job["job"] for job in made["demand"]}
        shown = {j["job"] for week in (made["this_week"], *made["next_weeks"]) for j in week["jobs"]}
        assert everything == shown | {one["job"] for one in made["unplaced"]}
        assert made["gap"]["worth"] >= made["gap"]["greedy_worth"] - 1e-3
    assert placed > 300
    assert left_out > 30


def test_the_checker_sees_a_plan_that_is_broken():
    file = orchard(
        hours_per_week=10, tools=["flail-mower"], days_off=["sunday"],
        observations=[{"date": "2026-05-17", "kind": "tree-stage", "block": "upper", "stage": "petal-fall"},
                      {"date": "2026-05-18", "kind": "vole-sign", "block": "upper", "runways": "fresh"},
                      {"date": "2026-05-18", "kind": "sward", "block": "upper", "height": "45 cm"}],
    )  # fmt: skip
    answer, made = planned(file, "2026-05-18")
    zone = answer.run.now.file.zone

    def said(change):
        turned = copy.deepcopy(json.loads(json.dumps(made)))
        change(turned["this_week"]["jobs"])
        return " ".join(plan_orchards.broken(turned, answer, file, zone, None, RE_ENTRY))

    assert said(lambda jobs: None) == ""
    advised = next(n for n, j in enumerate(made["this_week"]["jobs"]) if j["closes"])
    assert "outside its w" in said(lambda jobs: jobs[advised]["days"][0].update(day="2026-07-30"))
    assert "of one's own" in said(lambda jobs: jobs[0]["days"][0].update(own=9.0))
    assert "and there are" in said(lambda jobs: [j["days"][0].update(own=7.0, day=f"2026-05-{18 + n:02}")
                                                 for n, j in enumerate(jobs[:3])])  # fmt: skip
    assert "of one's own on 2026-05-24" in said(lambda jobs: jobs[0]["days"][0].update(day="2026-05-24"))
    assert "not there" in said(lambda jobs: jobs[0].update(tool="scythe"))


def test_the_same_inputs_give_the_same_bytes():
    file, on, forecast = plan_orchards.orchard(random.Random(4))
    assert json.dumps(planned(file, on, forecast)[1]) == json.dumps(planned(file, on, forecast)[1])


VOLES = {"date": "2026-05-18", "kind": "vole-sign", "block": "upper", "runways": "fresh"}
STAGE = {"date": "2026-05-17", "kind": "tree-stage", "block": "upper", "stage": "petal-fall"}


def jobs_of(made):
    return {j["practice"]: j for week in (made["this_week"], *made["next_weeks"]) for j in week["jobs"]}


def test_hours_that_are_not_given_are_not_taken_as_none():
    _, made = planned(orchard(observations=[STAGE, VOLES]), "2026-05-18")
    assert made["this_week"]["hours"] is None
    assert made["this_week"]["planned"] > 0
    assert any("hours_per_week" in note for note in made["notes"])


def test_no_hours_leave_everything_out_and_say_what_would_help():
    _, made = planned(orchard(observations=[STAGE, VOLES], hours_per_week=0), "2026-05-18")
    assert made["this_week"]["jobs"] == []
    trap = next(u for u in made["unplaced"] if u["practice"] == "trap-voles")
    assert trap["kept_out_by"] == "hours"
    assert trap["relief"]["more_hours"] == [{"week_from": "2026-05-18", "hours": 1.25}]  # an hour, and fetching the traps
    assert trap["relief"]["helper"]["people"] == 1
    slip = next(s for s in made["slips"] if s["practice"] == "trap-voles")
    assert slip["cost"] > 0


def test_a_helper_takes_the_thinning_evening():
    block = {**UPPER, "trees": 10}
    seen = [{"date": "2026-06-20", "kind": "tree-stage", "block": "upper", "stage": "june-drop"},
            {"date": "2026-06-20", "kind": "crop-count", "block": "upper", "fruit_per_tree": 400, "girth": "45 cm"}]  # fmt: skip
    alone = planned(orchard([block], seen, hours_per_week=1), "2026-06-21", weeks=0)[1]
    assert "hand-thin" not in jobs_of(alone)
    help_ = {"day": "2026-06-24", "hours": 3, "people": 2, "who": "neighbours", "practice": "hand-thin"}
    helped = planned(orchard([block], seen, hours_per_week=1, helpers=[help_]), "2026-06-21", weeks=0)[1]
    thin = jobs_of(helped)["hand-thin"]
    assert [d["day"] for d in thin["days"]] == ["2026-06-24"]
    assert thin["days"][0]["helpers"] == pytest.approx(thin["hours"])
    other = planned(orchard([block], seen, hours_per_week=1, helpers=[{**help_, "practice": "pick"}]), "2026-06-21", weeks=0)
    assert "hand-thin" not in jobs_of(other[1])


def test_rain_moves_a_job_to_a_dry_day():
    def sky(*rains):
        rows = [f"2026-05-{18 + d}T{h:02}:00-04:00,15,60,{rain},1" for d, rain in enumerate(rains) for h in range(24)]
        return "\n".join(["time,temp_c,humidity_pct,rain_mm,wind_ms", *rows])

    sward = {"date": "2026-05-18", "kind": "sward", "block": "upper", "height": "45 cm", "seed_heads": "emerging"}
    file = orchard(observations=[STAGE, sward], hours_per_week=20, tools=["flail-mower"])
    for rains, day in (((0, 0, 0, 0), "2026-05-18"), ((2, 2, 0, 0), "2026-05-20")):
        made = planned(file, "2026-05-18", sky(*rains))[1]
        assert jobs_of(made)["first-mow"]["days"][0]["day"] == day
    wet = planned(file, "2026-05-18", sky(*[2] * 12), weeks=0)[1]
    mow = next(u for u in wet["unplaced"] if u["practice"] == "first-mow")
    assert mow["kept_out_by"] == "weather"
    assert "dry" in mow["relief"]["text"]
    assert made["this_week"]["rain_days"] == ["2026-05-18", "2026-05-19"]


def test_own_records_take_over_from_the_third():
    def hours(records):
        works = [{"date": f"2025-06-{n + 1:02}", "kind": "work", "block": "upper", "practice": "mow-alleys", "hours": 2,
                  "area": "1000 m2"} for n in range(records)]  # fmt: skip
        made = planned(orchard(observations=works, tools=["scythe"]), "2026-07-01")[1]
        return next(d["by_place"]["upper"] for d in made["demand"] if d["practice"] == "mow-alleys"), made

    two, _ = hours(2)
    three, made = hours(3)
    assert two["own"] is None
    assert two["value"] == 20  # an acre of hay a day by scythe (scythe growers' answers), in hours a hectare
    assert three["own"] == {"value": 20.0, "records": 3, "before": 20.0, "change": 0.0}
    assert three["evidence"] == "own records"
    assert any("Your own rate" in note for note in made["notes"])


def test_the_year_is_divided_and_done_is_taken_off():
    prune = {"date": "2026-03-01", "kind": "work", "block": "upper", "practice": "dormant-prune", "hours": 9}
    bare = {"date": "2026-03-02", "kind": "work", "block": "upper", "practice": "scout"}
    before = planned(orchard(), "2026-03-05")[1]["budget"]
    after = planned(orchard(observations=[prune, bare]), "2026-03-05")[1]["budget"]
    lines = {line["kind"]: line for line in after["lines"]}
    assert [line["kind"] for line in after["lines"]] == ["pruning", "mulching and soil", "pests and disease", "thinning",
                                                         "harvest", "water, frost, planting, bees and habitat"]  # fmt: skip
    assert lines["pruning"]["done"] == 9
    assert lines["pruning"]["left"] == pytest.approx(before["lines"][0]["left"] - 9, abs=0.11)
    assert after["works_without_hours"] == 1
    assert sum(line["share"] for line in after["lines"]) == pytest.approx(1, abs=0.01)
    assert lines["harvest"]["why"].startswith("More than a fifth")
    guess = sum(line["planned"] for line in after["lines"][:5]) / 5  # a fifth each: common practice, no source
    assert lines["thinning"]["guess"] == pytest.approx(guess, abs=0.2)


def test_southern_years_are_dated_from_the_southern_spring():
    made = planned(orchard(latitude=-41.2, longitude=172.0, timezone="Pacific/Auckland"), "2026-08-01")[1]
    assert made["budget"]["year"] == "2026-27"
    assert "dormant-prune" in jobs_of(made)
    assert "dormant-prune" not in jobs_of(planned(orchard(), "2026-08-01")[1])


def test_trees_that_were_not_counted_are_not_taken_as_none():
    made = planned(orchard([{"id": "upper", "fruit": "apple"}]), "2026-03-05")[1]
    assert {"practice": "dormant-prune", "place": "upper"} in made["budget"]["not_counted"]
    assert any(w["practice"] == "dormant-prune" for w in made["without_hours"])


def test_weeks_out_of_all_measure_are_refused():
    with pytest.raises(InputError, match=r"Write 0 to 26\."):
        plan(orchard(), on="2026-05-18", weeks=60)


def test_by_rule_of_thumb_without_the_solver(monkeypatch):
    monkeypatch.setattr(exact, "available", lambda: False)
    _, made = planned(orchard(observations=[STAGE, VOLES], hours_per_week=2), "2026-05-18")
    assert made["gap"]["method"] == "greedy"
    assert made["gap"]["gap"] is None
    assert made["this_week"]["jobs"]
    assert any("underbough[scale]" in note for note in made["notes"])


def test_what_follows_a_walk_follows_the_next_one_only():
    """Walks are repeated all season: a spray that follows a look does not wait for the last of them."""
    seen = [STAGE, {"date": "2026-05-18", "kind": "ally-count", "block": "upper", "ally": "hover-fly", "abundance": "many"},
            {"date": "2026-05-18", "kind": "pest-count", "block": "upper", "pest": "green-apple-aphid", "infested": 0.3},
            {"date": "2026-05-18", "kind": "intent", "block": "upper", "practice": "insecticide", "day": "2026-05-19",
             "material": "pyrethrin", "target": "green-apple-aphid"}]  # fmt: skip
    answer, made = planned(orchard(observations=seen, hours_per_week=20, tools=["backpack-sprayer"]), "2026-05-18")
    waits = next(r for r in answer["recommendations"] if r["practice"] == "insecticide")
    assert waits["stance"] == "wait"
    weeks = [made["this_week"], *made["next_weeks"]]
    days = {job["practice"]: [] for week in weeks for job in week["jobs"]}
    for week in weeks:
        for job in week["jobs"]:
            days[job["practice"]] += [day["day"] for day in job["days"]]
    spray = dt.date.fromisoformat(min(days["insecticide"]))
    assert 0 <= (spray - dt.date.fromisoformat(waits["window"]["opens"])).days <= 7
    assert min(days["scout"]) <= spray.isoformat() < max(days["scout"])


def test_work_that_can_wait_waits_for_the_helpers():
    """Thinning that the grower could do alone and sooner is left for the evening that people come for it."""
    block = {**UPPER, "trees": 12}
    help_ = {"day": "2026-06-24", "hours": 3, "people": 2, "who": "neighbours", "practice": "hand-thin"}
    made = planned(orchard([block], [STAGE], hours_per_week=20, helpers=[help_]), "2026-05-18")[1]
    week = next(w for w in (made["this_week"], *made["next_weeks"]) if w["helper_hours"])
    assert week["helper_planned"] == pytest.approx(6)
    alone = planned(orchard([block], [STAGE], hours_per_week=20), "2026-05-18")[1]
    thinned = [d["day"] for w in (alone["this_week"], *alone["next_weeks"]) for j in w["jobs"]
               if j["practice"] == "hand-thin" for d in j["days"]]  # fmt: skip
    assert min(thinned) < "2026-06-24"
