"""The best plan, by mixed-integer programming with HiGHS: which sitting on which day, and which helpers at it.

Deterministic: one thread, a fixed seed, limits counted in nodes and never in seconds. Rows and columns stand in the
order of ids, and early days are worth a little more, so that of equal plans one is best.

    maximise   sum of worth(j, d) w[j, d] + HELPED y[j, v]
    where      w[j, d] counts the sittings of job j on day d, y[j, v] the hours that the helpers of visit v spend on it:
    no sitting twice; own hours of a day, a spell of weather, a week; helpers' hours; tools; order; days kept off.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from advisor import extras
from advisor.hours.model import HELPED, Done, Keep, Order, Problem, Solution, worth_of

# By the number of columns from which it holds: the share of the best that is near enough, and the nodes searched at most.
# A large plan stops at the root of the search, within 1 to 2 % of the best on 48 blocks and 300 jobs; the gap is said.
LIMITS = ((3_000, 0.01, 1), (400, 2e-3, 100), (0, 1e-6, 1_000))


def available() -> bool:
    """Whether the solver is installed (it comes with the extra `scale`)."""
    return extras.here("highspy")


@dataclass
class _Rows:
    """Linear rows being gathered: bounds, and each row's columns and numbers."""

    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    start: list[int] = field(default_factory=lambda: [0])
    column: list[int] = field(default_factory=list)
    number: list[float] = field(default_factory=list)

    def add(self, terms: Mapping[int, float], high: float, low: float = -np.inf) -> None:
        if terms:
            self.column += terms.keys()
            self.number += terms.values()
            self.start.append(len(self.column))
            self.low.append(low)
            self.high.append(high)


class Program:
    """A problem written out for the solver, the sittings of a job being counted, since they are alike.

    forced: sittings that must be done. extra: hours beyond each week's may be bought, and only they are counted.
    """

    def __init__(self, problem: Problem, forced: Collection[str] = (), extra: bool = False) -> None:
        self.problem, self.extra = problem, extra
        self.cost: list[float] = []
        self.upper: list[float] = []
        self.whole: list[bool] = []
        self.rows = _Rows()
        self.until: dict[str, list[int]] = {}
        self.kept_free: dict[tuple[str, int], int] = {}
        self.jobs = {job: (sittings[0], len(sittings)) for job, sittings in sorted(problem.jobs.items())}
        days = replace(problem, week_hours=(None,) * len(problem.week_hours)) if extra else problem
        self.work = {
            job: {day: self._column(problem.worth(one, day), many, True) for day in days.open_days(one)}
            for job, (one, many) in self.jobs.items()
        }
        self.help = {
            (job, v.id): self._column(HELPED, min(v.people * v.hours, many * one.hours / one.helps[v.id]), False)
            for job, (one, many) in self.jobs.items()
            for v in problem.visits
            if one.helps.get(v.id, 0) > 0 and v.day in self.work[job]
        }
        self.bought: dict[int, int] = {}
        if extra:
            self.cost = [0.0] * len(self.cost)
            weeks = enumerate(problem.week_hours)
            self.bought = {week: self._column(-1, np.inf, False) for week, hours in weeks if hours is not None}
        wanted = Counter(sitting.job for sitting in problem.sittings if sitting.id in set(forced))
        self.impossible = any(not self.work[job] for job in wanted)
        for job, (_, many) in self.jobs.items():
            self.rows.add(dict.fromkeys(self.work[job].values(), 1.0), many, wanted.get(job, -np.inf))
        self._hours()
        self._helpers_and_tools()
        for order in problem.orders:
            if order.first in self.jobs and order.then in self.jobs and self.work[order.then]:
                self._order(order)
        for keep in problem.keeps:
            if keep.first in self.jobs and keep.other in self.jobs:
                self._keep(keep)

    def _column(self, cost: float, upper: float, whole: bool) -> int:
        self.cost.append(cost)
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.cost) - 1

    def _own(self, job: str, day: int) -> dict[int, float]:
        """The grower's own hours at a job on a day, as a sum over columns."""
        column = self.work[job].get(day)
        if column is None:
            return {}
        one, _ = self.jobs[job]
        terms = {column: one.hours}
        for visit in self.problem.visits_on(day):
            helped = self.help.get((job, visit.id))
            if helped is not None:
                terms[helped] = -one.helps[visit.id]
        return terms

    def _hours(self) -> None:
        """The grower's hours by day, by spell of weather and by week."""
        weeks: dict[int, dict[int, float]] = {}
        for day, most in enumerate(self.problem.day_hours):
            terms: dict[int, float] = {}
            spells: dict[float, dict[int, float]] = {}
            for job, (one, _) in self.jobs.items():
                own, fit = self._own(job, day), one.fit[day]
                terms.update(own)
                if fit is not None and own:
                    spells.setdefault(fit, {}).update(own)
                if len(own) > 1:
                    self.rows.add(own, np.inf, 0)  # helpers do no more than there is to do
            self.rows.add(terms, most)
            within: dict[int, float] = {}
            for fit, own in sorted(spells.items()):
                within.update(own)
                if fit < most:
                    self.rows.add(dict(within), fit)
            weeks.setdefault(day // 7, {}).update(terms)
        for week, terms in weeks.items():
            hours = self.problem.week_hours[week]
            if hours is not None and terms:
                self.rows.add({**terms, **({self.bought[week]: -1.0} if self.extra else {})}, hours)

    def _helpers_and_tools(self) -> None:
        for visit in self.problem.visits:
            at = {job: self.help[job, visit.id] for job in self.jobs if (job, visit.id) in self.help}
            self.rows.add(dict.fromkeys(at.values(), 1.0), visit.people * visit.hours)
            for tool, count in sorted(self.problem.tools.items()):
                users = [job for job, (one, _) in self.jobs.items() if one.tool == tool]
                self.rows.add({at[job]: 1.0 for job in users if job in at}, count * visit.hours)
                terms: dict[int, float] = {}
                for job in users:
                    terms.update(self._own(job, visit.day))
                    for other in self.problem.visits_on(visit.day):
                        column = self.help.get((job, other.id))
                        if column is not None:
                            terms[column] += 1.0
                self.rows.add(terms, count * self.problem.longest_day)

    def _done_by(self, job: str) -> list[int]:
        """Columns that count, for each day, the sittings of a job done by its end."""
        if job not in self.until:
            many = self.jobs[job][1]
            columns = [self._column(0, many, False) for _ in range(self.problem.length)]
            for day, column in enumerate(columns):
                before = {columns[day - 1]: -1.0} if day else {}
                now = {self.work[job][day]: -1.0} if day in self.work[job] else {}
                self.rows.add({column: 1.0, **before, **now}, 0, 0)
            self.until[job] = columns
        return self.until[job]

    def _begun_by(self, job: str) -> list[int]:
        """Columns that say, for each day, whether any sitting of a job is done by its end: 1 if so."""
        done, many = self._done_by(job), self.jobs[job][1]
        if many == 1:
            return done
        name = f"{job} begun"
        if name not in self.until:
            self.until[name] = [self._column(0, 1, True) for _ in done]
            for by_then, begun in zip(done, self.until[name], strict=True):
                self.rows.add({by_then: 1.0, begun: -float(many)}, 0)
        return self.until[name]

    def _order(self, order: Order) -> None:
        first, parts = self._done_by(order.first), self.jobs[order.first][1]
        many = self.jobs[order.then][1]
        then = self._done_by(order.then) if order.along else self._begun_by(order.then)
        for day, column in enumerate(then):
            before = {first[day - order.gap]: -1.0} if day >= order.gap else {}
            if order.along:
                self.rows.add({column: float(parts), **{c: -float(many) for c in before}}, 0)
            elif order.must:
                self.rows.add({column: float(parts), **before}, 0)
            elif order.gap or day < len(then) - 1:  # all of `first` that is placed is done by then
                self.rows.add({column: float(parts), first[-1]: 1.0, **before}, parts)

    def _keep(self, keep: Keep) -> None:
        many, others = self.jobs[keep.first][1], self.jobs[keep.other][1]
        for day, column in self.work[keep.first].items():
            off = [c for d, c in self.work[keep.other].items() if 0 <= d - day <= keep.days]
            if not off:
                continue
            if many > 1:
                if (keep.first, day) not in self.kept_free:
                    self.kept_free[keep.first, day] = self._column(0, 1, True)
                    self.rows.add({column: 1.0, self.kept_free[keep.first, day]: -float(many)}, 0)
                column = self.kept_free[keep.first, day]
            self.rows.add({column: float(others), **dict.fromkeys(off, 1.0)}, others)

    def values_of(self, placed: Mapping[str, Done]) -> np.ndarray[Any, Any]:
        """The columns of a plan, to start from."""
        values = np.zeros(len(self.cost))
        job_of = {s.id: s.job for s in self.problem.sittings}
        for name, done in placed.items():
            job = job_of[name]
            values[self.work[job][done.day]] += 1
            for visit, hours in done.helped.items():
                values[self.help[job, visit]] += hours
            if (job, done.day) in self.kept_free:
                values[self.kept_free[job, done.day]] = 1
            if job in self.until:
                values[self.until[job][done.day] : self.until[job][-1] + 1] += 1
            begun = self.until.get(f"{job} begun")
            if begun:
                values[begun[done.day] : begun[-1] + 1] = 1
        return values

    def read(self, values: Any) -> dict[str, Done]:
        """The plan that columns stand for: the sittings of a job in turn, helpers' hours given to the first of a day."""
        placed: dict[str, Done] = {}
        for job, (one, _) in self.jobs.items():
            names = iter(sitting.id for sitting in self.problem.jobs[job])
            for day, column in sorted(self.work[job].items()):
                visits = [v.id for v in self.problem.visits_on(day) if (job, v.id) in self.help]
                hours = {visit: float(values[self.help[job, visit]]) for visit in visits}
                for _ in range(round(float(values[column]))):
                    helped: dict[str, float] = {}
                    left = one.hours
                    for visit in visits:
                        some = min(hours[visit], left / one.helps[visit])
                        if some > 1e-6:
                            hours[visit] -= some
                            left = max(0.0, left - some * one.helps[visit])
                            helped[visit] = round(some, 6)
                    placed[next(names)] = Done(day, round(left, 6), helped)
        return dict(sorted(placed.items()))


def solve(problem: Problem, start: Solution | None = None) -> Solution:
    """The best plan, or one as near to it as the nodes allowed: `bound` says how near."""
    program = Program(problem)
    if not program.cost or not program.rows.low:
        return Solution({}, 0.0, 0.0, "exact")
    gap, nodes = _limits(program)
    values, bound = _run(program, gap, nodes, None if start is None else program.values_of(start.placed))
    placed = {} if values is None else program.read(values)
    worth = worth_of(problem, placed)
    if start is not None and worth < start.worth - 1e-9:
        placed, worth = dict(start.placed), start.worth
    return Solution(placed, worth, max(bound, worth), "exact")


def fits(problem: Problem, forced: Collection[str]) -> dict[str, Done] | None:
    """A plan that places all of these; None where none was found."""
    return _forced(problem, forced, extra=False)[0]


def least_extra(problem: Problem, forced: Collection[str]) -> tuple[dict[str, Done], dict[int, float]] | None:
    """The plan that places all of these with the fewest hours beyond those given, and those hours by week."""
    placed, bought = _forced(problem, forced, extra=True)
    return None if placed is None else (placed, bought)


def _forced(problem: Problem, forced: Collection[str], extra: bool) -> tuple[dict[str, Done] | None, dict[int, float]]:
    program = Program(problem, forced, extra)
    if program.impossible:
        return None, {}
    values, _ = _run(program, LIMITS[-1][1], _limits(program)[1], None)
    if values is None:
        return None, {}
    bought = {week: round(float(values[c]), 3) for week, c in program.bought.items() if values[c] > 1e-6}
    return program.read(values), bought


def _limits(program: Program) -> tuple[float, int]:
    return next((share, nodes) for least, share, nodes in LIMITS if len(program.cost) >= least)


def _run(program: Program, gap: float, nodes: int, start: Any) -> tuple[Any, float]:
    """The solver's columns and its bound; None where no plan was found."""
    import highspy

    rows, many = program.rows, len(program.cost)
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = many, len(rows.low)
    lp.sense_ = highspy.ObjSense.kMaximize
    lp.col_cost_ = np.array(program.cost)
    lp.col_lower_, lp.col_upper_ = np.zeros(many), np.array(program.upper, float)
    lp.row_lower_, lp.row_upper_ = np.array(rows.low, float), np.array(rows.high, float)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.array(rows.start, np.int32)
    lp.a_matrix_.index_ = np.array(rows.column, np.int32)
    lp.a_matrix_.value_ = np.array(rows.number, float)
    kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
    lp.integrality_ = [kinds[whole] for whole in program.whole]
    solver = _quiet_solver(highspy)
    for option, value in (("threads", 1), ("random_seed", 0), ("parallel", "off"),
                          ("mip_rel_gap", gap), ("mip_abs_gap", 1e-7), ("mip_max_nodes", nodes)):  # fmt: skip
        solver.setOptionValue(option, value)
    solver.passModel(lp)
    if start is not None:
        solution = highspy.HighsSolution()
        solution.col_value = list(start)
        solver.setSolution(solution)
    solver.run()
    info = solver.getInfo()
    if info.primal_solution_status != 2:  # no plan that keeps all rows
        return None, float("inf")
    return np.array(solver.getSolution().col_value), float(info.mip_dual_bound)


def _quiet_solver(highspy: Any) -> Any:
    """A solver that writes nothing, not even its greeting: stdout may be somebody's JSON."""

    class Quiet(highspy.Highs):  # type: ignore[misc]
        def enableCallbacks(self) -> None:  # the library greets when this is called
            self.setOptionValue("output_flag", False)
            super().enableCallbacks()

    return Quiet()
