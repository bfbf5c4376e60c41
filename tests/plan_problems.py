"""Random planning problems, a checker that knows nothing of the solvers, and the best plan by trying everything."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterator, Mapping
from dataclasses import replace

from advisor.hours.model import Done, Keep, Order, Problem, Sitting, Visit, worth_of

TOOLS = (None, None, "scythe", "backpack-sprayer")


def problem(
    rnd: random.Random, sittings: int, days: int, week_hours: float | None = 12.0, alike: bool = True
) -> Problem:
    """Sittings with windows, weather, tools, helpers, orders and days kept off, at random."""
    visits = tuple(Visit(f"v{n}", rnd.randrange(days), rnd.choice((1, 2)), 3.0) for n in range(rnd.randrange(3)))
    made: list[Sitting] = []
    jobs = 0
    while len(made) < sittings:
        first = rnd.randrange(days)
        last = min(days - 1, first + rnd.choice((0, 2, 6, 13, 40)))
        one = Sitting(
            "", f"j{jobs:03}", rnd.choice((0.5, 0.75, 1.0, 2.0, 3.0, 4.0)), rnd.uniform(0.05, 1.2),
            tuple(range(first, last + 1)), tuple(rnd.choice((8.0, 8.0, 2.5, 0.0)) if d < 5 else None for d in range(days)),
            rnd.choice(TOOLS), frozenset(range(rnd.choice((0, 0, 0, 2)))),
            {v.id: rnd.choice((0.5, 1.0, 1.5)) for v in visits if rnd.random() < 0.4},
        )  # fmt: skip
        parts = min(rnd.choice((1, 1, 1, 2, 4)) if alike else 1, sittings - len(made))
        made += [replace(one, id=f"j{jobs:03}/{n}") for n in range(parts)]
        jobs += 1
    pairs = [sorted(rnd.sample(range(jobs), 2)) for _ in range(jobs // 2)] if jobs > 1 else []
    orders = []
    for a, b in pairs[::2]:
        kind = rnd.choice(("plain", "must", "along"))
        orders.append(Order(f"j{a:03}", f"j{b:03}", rnd.choice((0, 1, 3)), kind == "must", "", kind == "along"))
    keeps = [Keep(f"j{a:03}", f"j{b:03}", rnd.choice((0, 1, 2)), "") for a, b in pairs[1::2]]
    day_hours = tuple(0.0 if d % 7 == 6 else 8.0 for d in range(days))
    return Problem(
        tuple(made), day_hours, (week_hours,) * ((days + 6) // 7), 8.0, visits,
        {"scythe": 1, "backpack-sprayer": 1}, tuple(orders), tuple(keeps),
    )  # fmt: skip


def broken(problem: Problem, placed: Mapping[str, Done]) -> list[str]:
    """Everything that a plan breaks; read from the problem's own words, sum by sum."""
    by_id = {s.id: s for s in problem.sittings}
    found = []
    own_day: dict[int, float] = {}
    own_week: dict[int, float] = {}
    visit_hours: dict[str, float] = {}
    tool_day: dict[tuple[str, int], float] = {}
    tool_visit: dict[tuple[str, str], float] = {}
    for name, done in placed.items():
        s = by_id[name]
        if done.day not in s.days or done.day in s.shut:
            found.append(f"{name} outside its days")
        fit = s.fit[done.day]
        if fit is not None and fit < s.hours - 1e-6:
            found.append(f"{name} in bad weather")
        if abs(done.own + sum(h * s.helps[v] for v, h in done.helped.items()) - s.hours) > 1e-3 or done.own < -1e-9:
            found.append(f"{name} not wholly done")
        own_day[done.day] = own_day.get(done.day, 0) + done.own
        own_week[done.day // 7] = own_week.get(done.day // 7, 0) + done.own
        for visit, hours in done.helped.items():
            if next(v.day for v in problem.visits if v.id == visit) != done.day or hours < 0:
                found.append(f"{name} helped on another day")
            visit_hours[visit] = visit_hours.get(visit, 0) + hours
            if s.tool:
                tool_visit[s.tool, visit] = tool_visit.get((s.tool, visit), 0) + hours
        if s.tool:
            used = done.own + sum(done.helped.values())
            tool_day[s.tool, done.day] = tool_day.get((s.tool, done.day), 0) + used
    found += [f"day {d} over its hours" for d, h in own_day.items() if h > problem.day_hours[d] + 1e-3]
    for week, hours in own_week.items():
        most = problem.week_hours[week]
        if most is not None and hours > most + 1e-3:
            found.append(f"week {week} over its hours")
    for visit in problem.visits:
        if visit_hours.get(visit.id, 0) > visit.people * visit.hours + 1e-3:
            found.append(f"{visit.id} over its hours")
        for tool, count in problem.tools.items():
            if tool_visit.get((tool, visit.id), 0) > count * visit.hours + 1e-3:
                found.append(f"{tool} used twice at once by {visit.id}")
            if tool_day.get((tool, visit.day), 0) > count * problem.longest_day + 1e-3:
                found.append(f"{tool} used beyond a day")
    days: dict[str, list[int]] = {s.job: [] for s in problem.sittings}
    parts: dict[str, int] = {}
    for s in problem.sittings:
        parts[s.job] = parts.get(s.job, 0) + 1
        if s.id in placed:
            days[s.job].append(placed[s.id].day)
    for o in problem.orders:
        first, then = sorted(days[o.first]), sorted(days[o.then])
        if o.along:  # the n-th of the later work comes after as large a share of the earlier
            for n, day in enumerate(then, 1):
                needed = math.ceil(n * parts[o.first] / parts[o.then] - 1e-9)
                if len(first) < needed or first[needed - 1] + o.gap > day:
                    found.append(f"{o.then} before its share of {o.first}")
            continue
        if o.must and then and len(first) < parts[o.first]:
            found.append(f"{o.then} without {o.first}")
        if first and then and then[0] - first[-1] < o.gap:
            found.append(f"{o.then} too soon after {o.first}")
    for k in problem.keeps:
        if any(0 <= b - a <= k.days for a in days[k.first] for b in days[k.other]):
            found.append(f"{k.other} on a day closed by {k.first}")
    for day in own_day:
        in_spells = [(f, placed[s.id].own) for s in problem.sittings for f in [s.fit[day]]
                     if s.id in placed and placed[s.id].day == day and f is not None]  # fmt: skip
        for level, _ in in_spells:
            if sum(own for f, own in in_spells if f <= level) > level + 1e-3:
                found.append(f"day {day} over its spell of {level:g} h")
    return found


def best(problem: Problem) -> float:
    """The worth of the best plan without helpers, by trying every day of every sitting."""
    most = 0.0
    for days in itertools.product(*(_choices(problem, s) for s in problem.sittings)):
        placed = {
            s.id: Done(day, s.hours) for s, day in zip(problem.sittings, days, strict=True) if day is not None
        }  # fmt: skip
        worth = worth_of(problem, placed)
        if worth > most and not broken(problem, placed):
            most = worth
    return most


def _choices(problem: Problem, sitting: Sitting) -> Iterator[int | None]:
    yield None
    for day in sitting.days:
        fit = sitting.fit[day]
        if day not in sitting.shut and (fit is None or fit >= sitting.hours) and problem.day_hours[day] > 0:
            yield day
