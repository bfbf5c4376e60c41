"""The plan's two ways of solving: neither breaks a rule, the exact one is the best there is, and relief is true."""

import random
from dataclasses import replace

import plan_problems
import pytest

from advisor.hours import exact, greedy
from advisor.hours.model import Done, Keep, Order, Problem, Sitting, Solution, Visit, worth_of
from advisor.hours.relief import Loosening
from counts import count
from needs import lacking


@pytest.fixture(autouse=True)
def _solver():
    if not exact.available():
        lacking("highspy")


def sitting(name, hours=2.0, worth=1.0, days=range(7), fit=None, **more):
    return Sitting(name, name, hours, worth, tuple(days), fit or (None,) * 14, **more)


def problem(*sittings, week=8.0, **more):
    return Problem(tuple(sittings), (8.0,) * 14, (week, week), 8.0, **more)


def test_neither_way_breaks_a_rule():
    rnd = random.Random(7)
    for _ in range(count("plans of random problems")):
        made = plan_problems.problem(rnd, rnd.randrange(1, 40), rnd.choice((7, 14, 28)), rnd.choice((None, 6.0, 12.0)))
        quick = greedy.solve(made)
        assert plan_problems.broken(made, quick.placed) == []
        found = exact.solve(made, quick)
        assert plan_problems.broken(made, found.placed) == []
        assert quick.worth - 1e-6 <= found.worth <= found.bound + 1e-6
        assert found.worth == pytest.approx(worth_of(made, found.placed))


def test_exact_is_the_best_of_all_plans():
    rnd = random.Random(11)
    better = 0
    for _ in range(count("plans against trying everything")):
        made = plan_problems.problem(rnd, 5, 7, rnd.choice((3.0, 5.0)))
        made = replace(made, visits=(), sittings=tuple(replace(s, helps={}) for s in made.sittings))
        quick, found = greedy.solve(made), exact.solve(made)
        assert found.worth == pytest.approx(plan_problems.best(made), abs=1e-3)
        better += found.worth > quick.worth + 1e-6
    assert better > 0  # somewhere the rule of thumb is not the best


def test_the_checker_sees_what_is_broken():
    made = problem(
        sitting("a", 5, tool="scythe"), sitting("b", 5, tool="scythe", helps={"v": 1.0}), sitting("c", days=[3]),
        visits=(Visit("v", 0, 2, 3.0),), tools={"scythe": 1},
        orders=(Order("c", "a", 1, True, ""),), keeps=(Keep("a", "b", 0, ""),),
    )  # fmt: skip
    said = plan_problems.broken(made, {"a": Done(0, 5), "b": Done(0, 0.0, {"v": 5.0}), "c": Done(1, 1)})
    for words in ("c outside", "c not wholly", "twice at once", "beyond a day", "a too soon", "closed by a"):
        assert any(words in line for line in said), words
    assert any("without c" in line for line in plan_problems.broken(made, {"a": Done(0, 5)}))
    assert "week 0 over its hours" in plan_problems.broken(made, {"a": Done(0, 5), "b": Done(1, 5)})


def test_the_same_problem_gives_the_same_plan():
    made = plan_problems.problem(random.Random(3), 40, 28)
    assert exact.solve(made) == exact.solve(made)
    turned = replace(made, sittings=made.sittings[::-1])
    assert exact.solve(turned).placed == exact.solve(made).placed


def test_more_worth_goes_first_and_early():
    found = exact.solve(problem(sitting("dull", 4, 0.2), sitting("keen", 4, 0.9), sitting("fair", 4, 0.5)))
    assert set(found.placed) == {"keen", "fair"}
    assert found.placed["keen"].day == found.placed["fair"].day == 0


def test_long_work_goes_along_with_the_earlier():
    pick = [replace(sitting("pick", 4, 1.0), id=f"pick/{n}") for n in range(4)]
    store = [replace(sitting("store", 2, 0.9), id=f"store/{n}") for n in range(2)]
    made = problem(*pick, *store, week=13.0, orders=(Order("pick", "store", 1, False, "", True),))
    found = exact.solve(made)  # 3 pickings in the first week, so half of the storing and no more in it
    assert plan_problems.broken(made, found.placed) == []
    early = [d.day for name, d in found.placed.items() if name.startswith("store") and d.day < 7]
    assert len(early) <= 1


def test_two_jobs_share_one_spell_of_fit_weather():
    fit = (3.0,) + (0.0,) * 6 + (None,) * 7
    made = problem(sitting("a", 2, fit=fit), sitting("b", 2, fit=fit))
    assert len(exact.solve(made).placed) == len(greedy.solve(made).placed) == 1
    assert len(exact.solve(problem(sitting("a", 1.5, fit=fit), sitting("b", 1.5, fit=fit))).placed) == 2


def test_order_and_days_kept_off():
    made = problem(
        sitting("mow", 1, 0.1), sitting("spray", 1, 0.9), sitting("thin", 1, 0.8),
        orders=(Order("mow", "spray", 1, True, ""),), keeps=(Keep("spray", "thin", 2, ""),),
    )  # fmt: skip
    days = {name: done.day for name, done in exact.solve(made).placed.items()}
    assert days["spray"] >= days["mow"] + 1
    assert not 0 <= days["thin"] - days["spray"] <= 2
    no_mowing = replace(made, sittings=tuple(replace(s, days=()) if s.id == "mow" else s for s in made.sittings))
    assert set(exact.solve(no_mowing).placed) == {"thin"}


def test_helpers_count_at_their_own_pace():
    visit = Visit("v", 3, 2, 3.0)
    made = problem(sitting("thin", 8, days=[3], helps={"v": 0.5}), sitting("own", 5, 2.0, days=[2]), visits=(visit,))
    found = exact.solve(made)  # 6 h of helpers are worth 3 of the grower's 8, and 5 + 5 are more than 8
    assert set(found.placed) == {"own"}
    quick = replace(made, sittings=(replace(made.sittings[0], helps={"v": 1.0}), made.sittings[1]))
    done = exact.solve(quick).placed["thin"]
    assert done.own == pytest.approx(2)
    assert done.helped == {"v": pytest.approx(6)}


# --- Relief -----------------------------------------------------------------------------------


def relief_of(made, missing):
    return Loosening(made, exact.solve(made)).of(missing)


def test_hours_that_are_lacking_are_the_fewest():
    made = problem(sitting("keen", 7, 2.0), sitting("dull", 3, 0.1), week=8.0)
    assert set(exact.solve(made).placed) == {"keen"}
    found = relief_of(made, ["dull"])
    assert found.kept_out_by == "hours"
    assert found.extra == {0: 2.0}  # 7 + 3 are 10, two more than 8
    assert found.helper == Visit("new", found.days[0], 1, 3.0)
    assert found.proof == "solved again"
    enough = replace(made, week_hours=(10.0, 8.0))
    assert set(exact.solve(enough).placed) == {"keen", "dull"}
    short = replace(made, week_hours=(9.9, 8.0))
    assert set(exact.solve(short).placed) == {"keen"}


def test_a_spray_is_no_work_for_helpers():
    found = relief_of(problem(sitting("keen", 7, 2.0), sitting("spray", 3, 0.1, alone=True)), ["spray"])
    assert found.kept_out_by == "hours"
    assert found.helper is None


@pytest.mark.parametrize(
    ("made", "missing", "kind"),
    [
        (problem(sitting("spray", fit=(0.0,) * 7 + (None,) * 7)), "spray", "weather"),
        (problem(sitting("pick", shut=frozenset(range(7)))), "pick", "re-entry"),
        (problem(sitting("mow", days=[5]), sitting("spray", 2, 0.1, days=[3]), orders=(Order("mow", "spray", 1, True, ""),)),
         "spray", "order"),
        (problem(sitting("late", days=())), "late", "window"),
        (replace(problem(sitting("rest", days=[0])), day_hours=(0.0,) + (8.0,) * 13), "rest", "day off"),
        (problem(sitting("a", 6, days=[0], tool="scythe", helps={"v": 1.0}),
                 sitting("b", 6, 0.1, days=[0], tool="scythe", helps={"v": 1.0}), week=None,
                 visits=(Visit("v", 0, 2, 4.0),), tools={"scythe": 1}), "b", "tool"),
    ],
)  # fmt: skip
def test_what_kept_a_job_out(made, missing, kind):
    assert missing not in exact.solve(made).placed
    found = relief_of(made, [missing])
    assert found.kept_out_by == kind
    assert found.days


def test_both_hours_and_weather():
    made = problem(sitting("keen", 7, 2.0), sitting("spray", 3, 0.1, days=range(4), fit=(0.0,) * 4 + (None,) * 10))
    found = relief_of(made, ["spray"])
    assert found.kept_out_by == "hours and weather"
    assert found.extra == {0: 2.0}


def test_relief_without_the_solver_puts_the_job_in_between(monkeypatch):
    made = problem(sitting("keen", 7, 2.0), sitting("dull", 3, 0.1))
    monkeypatch.setattr(exact, "available", lambda: False)
    found = Loosening(made, greedy.solve(made)).of(["dull"])
    assert (found.kept_out_by, found.proof, dict(found.extra)) == ("hours", "put in between", {0: 2.0})


def test_relief_lets_in_what_it_says():
    """Given what the relief asks for, a plan stands that has everything placed before and the job as well."""
    rnd = random.Random(5)
    tried = 0
    for _ in range(count("plans of random problems") // 4):
        made = plan_problems.problem(rnd, 25, 14, 8.0)
        found = exact.solve(made)
        loosening = Loosening(made, found)
        for parts in made.jobs.values():
            missing = {s.id for s in parts if s.id not in found.placed}
            relief = loosening.of(missing) if missing else None
            if relief is None or relief.kept_out_by != "hours":
                continue
            tried += 1
            weeks = tuple(h + relief.extra.get(w, 0.0) for w, h in enumerate(made.week_hours))
            again = exact.fits(replace(made, week_hours=weeks), {*found.placed, *missing})
            assert again is not None
            assert plan_problems.broken(replace(made, week_hours=weeks), again) == []
            less = {w: h - 0.25 for w, h in relief.extra.items()}
            if len(less) == 1:
                weeks = tuple(h + less.get(w, 0.0) for w, h in enumerate(made.week_hours))
                assert exact.fits(replace(made, week_hours=weeks), {*found.placed, *missing}) is None
    assert tried > 10


def test_gap_says_how_far_the_best_may_be():
    assert Solution({}, 10.0, 11.0).gap == pytest.approx(0.1)
    assert Solution({}, 10.0).gap is None
    assert Solution({}, 0.0, 0.0).gap == 0.0
