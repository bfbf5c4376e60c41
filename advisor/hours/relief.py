"""What kept a job out of the plan, and the least that would let it in, found and proven by solving again.

Everything that the plan places stays placed. One kind of rule after another is loosened; the first that lets the job
in is the one that kept it out. Where the plan is large, or no solver is installed, the standing plan is kept as it is
and the job put in between; that shows a relief that works, and a smaller one may exist.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace

from advisor.hours import exact, greedy
from advisor.hours.model import Done, Problem, Sitting, Solution, Visit

EVENING = 3.0  # hours of a helper who comes for an evening (common practice)
STEP = 0.25  # of an hour, to which hours that are lacking are rounded up
SMALL = 1_500  # sittings times open days, up to which the plan is solved again from the ground up


@dataclass(frozen=True)
class Relief:
    """What kept sittings out (`hours`, `weather`, ...) and what would let them in.

    extra: the grower's own hours beyond those given, by week. helper: a visit that would do instead, its people and
    hours. days: days on which the work would then be done. proof: `solved again` or `put in between`.
    """

    kept_out_by: str
    extra: Mapping[int, float]
    helper: Visit | None
    days: tuple[int, ...]
    proof: str


class Loosening:
    """Tries reliefs for the sittings that a plan leaves out."""

    def __init__(self, problem: Problem, solution: Solution) -> None:
        self.problem, self.solution = problem, solution
        size = sum(len(s.days) for s in problem.sittings)
        self.again = exact.available() and size <= SMALL
        self.proof = "solved again" if self.again else "put in between"

    def of(self, missing: Collection[str]) -> Relief | None:
        """The least relief for these sittings together; None where no single kind lets them in."""
        hours = self._hours(missing)
        if hours is not None:
            return hours
        *kinds, late = self._kinds(missing)
        for some in (kinds, [late]):  # to do it after its time is the last resort
            for kind, loosened in some:
                placed = self._fits(loosened, missing)
                if placed is not None:
                    return Relief(kind, {}, None, _days(placed, missing), self.proof)
            for kind, loosened in some:
                both = Loosening(loosened, self.solution)._hours(missing)
                if both is not None:
                    return replace(both, kept_out_by=f"hours and {kind}", helper=None)
        return None

    def _fits(self, problem: Problem, missing: Collection[str]) -> Mapping[str, Done] | None:
        between = greedy.insert(problem, self.solution.placed, sorted(missing))
        if between is not None or not self.again:
            return between
        return exact.fits(problem, {*self.solution.placed, *missing})

    def _hours(self, missing: Collection[str]) -> Relief | None:
        """With the fewest hours more, all in one week or, solved again, in whichever weeks."""
        everything = {*self.solution.placed, *missing}
        found = exact.least_extra(self.problem, everything) if self.again else self._hours_between(missing)
        if found is None:
            return None
        placed, bought = found
        extra = {week: _up(h) for week, h in bought.items() if h > 1e-6}
        if not extra:  # nothing is lacking but a better place in the plan, which solving again has found
            return Relief("order of work", {}, None, _days(placed, missing), self.proof)
        return Relief("hours", extra, self._helper(missing, placed, extra), _days(placed, missing), self.proof)

    def _hours_between(self, missing: Collection[str]) -> tuple[Mapping[str, Done], Mapping[int, float]] | None:
        """The week in which the fewest hours more let all of them in, nothing else being moved."""
        best: tuple[float, int, Mapping[str, Done]] | None = None
        most = sum(s.hours for s in self.problem.sittings if s.id in missing)
        for week, given in enumerate(self.problem.week_hours):
            if given is None:
                continue
            low, high = 0, round(_up(most) / STEP)
            placed = self._with_hours(missing, week, high * STEP)
            if placed is None:
                continue
            while low < high:
                middle = (low + high) // 2
                tried = self._with_hours(missing, week, middle * STEP)
                low, high, placed = (low, middle, tried) if tried is not None else (middle + 1, high, placed)
            if best is None or high * STEP < best[0]:
                best = high * STEP, week, placed
        return None if best is None else (best[2], {best[1]: best[0]})

    def _with_hours(self, missing: Collection[str], week: int, hours: float) -> Mapping[str, Done] | None:
        weeks = tuple(h if w != week or h is None else h + hours for w, h in enumerate(self.problem.week_hours))
        return greedy.insert(replace(self.problem, week_hours=weeks), self.solution.placed, sorted(missing))

    def _helper(
        self, missing: Collection[str], placed: Mapping[str, Done], extra: Mapping[int, float]
    ) -> Visit | None:
        """One evening's visit that would do instead of the hours: as few people as it takes, at the grower's pace."""
        need = sum(extra.values())
        if any(s.alone for s in self.problem.sittings if s.id in missing):
            return None
        for day in sorted({placed[name].day for name in missing}):
            if self.problem.day_hours[day] <= 0:
                continue
            for people in range(1, 7):
                visit = Visit("new", day, people, EVENING)
                if people * EVENING < need - 1e-9:
                    continue
                if self._fits(self._with_visit(visit, missing), missing) is not None:
                    return visit
        return None

    def _with_visit(self, visit: Visit, missing: Collection[str]) -> Problem:
        jobs = {s.job for s in self.problem.sittings if s.id in missing}
        sittings = tuple(
            replace(s, helps={**s.helps, visit.id: 1.0}) if s.job in jobs else s for s in self.problem.sittings
        )
        return replace(self.problem, visits=(*self.problem.visits, visit), sittings=sittings)

    def _kinds(self, missing: Collection[str]) -> list[tuple[str, Problem]]:
        """The problem with one kind of rule loosened for these sittings."""
        p = self.problem
        jobs = {s.job for s in p.sittings if s.id in missing}

        def for_them(change: Callable[[Sitting], Sitting]) -> Problem:
            return replace(p, sittings=tuple(change(s) if s.job in jobs else s for s in p.sittings))

        def touches(first: str, then: str) -> bool:
            return first in jobs or then in jobs

        return [
            ("weather", for_them(lambda s: replace(s, fit=tuple(None for _ in s.fit)))),
            ("re-entry", replace(
                for_them(lambda s: replace(s, shut=frozenset())),
                keeps=tuple(k for k in p.keeps if not touches(k.first, k.other)),
            )),
            ("order", replace(p, orders=tuple(o for o in p.orders if not touches(o.first, o.then)))),
            ("tool", replace(p, tools={tool: count + 1 for tool, count in p.tools.items()})),
            ("day off", replace(p, day_hours=tuple(h or p.longest_day for h in p.day_hours))),
            ("window", for_them(lambda s: replace(s, days=tuple(range(min(s.days, default=0), p.length))))),
        ]  # fmt: skip


def _days(placed: Mapping[str, Done], missing: Collection[str]) -> tuple[int, ...]:
    return tuple(sorted({placed[name].day for name in missing}))


def _up(hours: float) -> float:
    return -(-round(hours, 6) // STEP) * STEP
