"""A plan by rule of thumb: what is worth most for its hours first, each sitting on the first day that takes it.

It needs no solver, and it shows what the exact plan is better by. It is also how a single sitting is tried in a plan
that stands.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from advisor.hours.model import Done, Keep, Order, Problem, Sitting, Solution, worth_of

SLACK = 1e-9


class Board:
    """A plan that is being filled: what is placed, and what is left of each day, week, visit and tool."""

    def __init__(self, problem: Problem, placed: Mapping[str, Done] | None = None) -> None:
        self.problem = problem
        self.by_id = {s.id: s for s in problem.sittings}
        self.placed: dict[str, Done] = {}
        self.day_left = list(problem.day_hours)
        self.week_left = list(problem.week_hours)
        self.visit_left = {v.id: v.people * v.hours for v in problem.visits}
        self.tool_day: dict[tuple[str, int], float] = {}
        self.tool_visit: dict[tuple[str, str], float] = {}
        self.spells: dict[int, list[tuple[float, float]]] = {}  # by day: hours of fitting weather, own hours in them
        self.job_days: dict[str, list[int]] = {job: [] for job in problem.jobs}
        self._orders: dict[str, list[Order]] = {}
        self._keeps: dict[str, list[Keep]] = {}
        for order in problem.orders:
            for job in (order.first, order.then):
                self._orders.setdefault(job, []).append(order)
        for keep in problem.keeps:
            for job in (keep.first, keep.other):
                self._keeps.setdefault(job, []).append(keep)
        for name, done in (placed or {}).items():
            self._take(self.by_id[name], done)

    def place(self, sitting: Sitting) -> bool:
        """Put a sitting on the first day that takes it."""
        for day in self.problem.open_days(sitting):
            done = self._on(sitting, day)
            if done is not None:
                self._take(sitting, done)
                return True
        return False

    def _on(self, sitting: Sitting, day: int) -> Done | None:
        """How a sitting would stand on a day: helpers first, then the grower; None where it does not fit."""
        if not self._in_order(sitting.job, day):
            return None
        left, tool = sitting.hours, sitting.tool
        count = self.problem.tools.get(tool, 0) if tool else 0
        tool_left = count * self.problem.longest_day - self.tool_day.get((tool or "", day), 0.0) if count else None
        helped: dict[str, float] = {}
        for visit in self.problem.visits_on(day):
            rate = sitting.helps.get(visit.id, 0.0)
            if rate <= 0 or left <= SLACK:
                continue
            hours = min(self.visit_left[visit.id], left / rate)
            if tool and count:
                hours = min(hours, count * visit.hours - self.tool_visit.get((tool, visit.id), 0.0))
                hours = min(hours, max(0.0, tool_left or 0.0))
            if hours > SLACK:
                helped[visit.id] = hours
                left = max(0.0, left - hours * rate)
                tool_left = None if tool_left is None else tool_left - hours
        week = self.week_left[day // 7]
        room = min(r for r in (self.day_left[day], week, tool_left) if r is not None)
        fits = left <= room + SLACK and self._in_the_spell(sitting.fit[day], left, day)
        return Done(day, left, helped) if fits else None

    def _in_the_spell(self, fit: float | None, own: float, day: int) -> bool:
        """Whether the day's spells of fitting weather hold this much more work of one's own."""
        if fit is None:
            return True
        spells = [*self.spells.get(day, ()), (fit, own)]
        return all(sum(h for f, h in spells if f <= level) <= level + SLACK for level in {f for f, _ in spells if f >= fit})

    def _in_order(self, job: str, day: int) -> bool:
        days = self.job_days
        for order in self._orders.get(job, ()):
            first, then = days[order.first], days[order.then]
            if order.then == job:
                if order.along or order.must:
                    if not self._enough_done(order, day):
                        return False
                elif any(day < d + order.gap for d in first):
                    return False
            elif not order.along and any(d < day + order.gap for d in then):
                return False
        return not any(
            (keep.other == job and any(0 <= day - d <= keep.days for d in days[keep.first]))
            or (keep.first == job and any(0 <= d - day <= keep.days for d in days[keep.other]))
            for keep in self._keeps.get(job, ())
        )

    def _enough_done(self, order: Order, day: int) -> bool:
        """Whether enough of the earlier job is done for one more sitting of the later one on a day."""
        parts, of_then = len(self.problem.jobs[order.first]), len(self.problem.jobs[order.then])
        first, then = self.job_days[order.first], [*self.job_days[order.then], day]
        if not order.along:
            return len(first) == parts and all(d + order.gap <= day for d in first)
        return all(
            sum(d <= t for d in then) * parts <= sum(d <= t - order.gap for d in first) * of_then
            for t in range(day, self.problem.length)
        )

    def _take(self, sitting: Sitting, done: Done) -> None:
        self.placed[sitting.id] = done
        self.job_days[sitting.job].append(done.day)
        fit = sitting.fit[done.day]
        if fit is not None:
            self.spells.setdefault(done.day, []).append((fit, done.own))
        self.day_left[done.day] -= done.own
        week = self.week_left[done.day // 7]
        self.week_left[done.day // 7] = None if week is None else week - done.own
        tool = sitting.tool
        for visit, hours in done.helped.items():
            self.visit_left[visit] -= hours
            if tool:
                self.tool_visit[tool, visit] = self.tool_visit.get((tool, visit), 0.0) + hours
        if tool:
            used = done.own + sum(done.helped.values())
            self.tool_day[tool, done.day] = self.tool_day.get((tool, done.day), 0.0) + used


def solve(problem: Problem) -> Solution:
    """A plan by rule of thumb; the same problem always gives the same plan."""
    board = Board(problem)
    for sitting in _ranked(problem):
        board.place(sitting)
    return Solution(dict(sorted(board.placed.items())), worth_of(problem, board.placed))


def insert(problem: Problem, placed: Mapping[str, Done], more: Iterable[str]) -> dict[str, Done] | None:
    """The plan with some sittings put in as well and nothing else moved; None where they do not all fit."""
    board = Board(problem, placed)
    for name in more:
        if not board.place(board.by_id[name]):
            return None
    return board.placed


def _ranked(problem: Problem) -> list[Sitting]:
    """By worth for the hours, then by how soon it closes; what another sitting must follow comes before it."""
    firsts: dict[str, list[Sitting]] = {}
    for order in problem.orders:
        if order.must or order.along:
            firsts.setdefault(order.then, []).extend(problem.jobs.get(order.first, ()))
    ranked: dict[str, Sitting] = {}

    def take(sitting: Sitting, above: tuple[str, ...] = ()) -> None:
        if sitting.id in ranked or sitting.id in above:
            return
        for first in firsts.get(sitting.job, ()):
            take(first, (*above, sitting.id))
        ranked[sitting.id] = sitting

    for sitting in sorted(problem.sittings, key=lambda s: (-s.worth / s.hours, max(s.days, default=0), s.id)):
        take(sitting)
    return list(ranked.values())
