"""The best plan, by mixed-integer programming with HiGHS: which sitting on which day, and which helpers at it.

Deterministic: one thread, a fixed seed, limits counted in nodes and never in seconds. Rows and columns stand in the
order of ids, and early days are worth a little more, so that of equal plans one is best.

    maximise   sum of worth(s, d) w[s, d]
    where      w[s, d] is 1 if sitting s is done on day d, y[s, v] the hours that the helpers of visit v spend on it,
    each sitting once at most; own hours of a day, a week; helpers' hours; tools; order; days kept off.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from advisor.hours.model import Done, Problem, Sitting, Solution, worth_of

GAP = 1e-4
LARGE, LARGE_GAP = 3_000, 0.01  # from so many columns on, a plan within 1 % of the best is good enough
NODES = 2_000
HELP_FIRST = 1e-6  # worth of an hour that a helper does, so that helpers who come are put to use


def available() -> bool:
    """Whether the solver is installed (it comes with the extra `scale`)."""
    try:
        import highspy  # noqa: F401
    except ImportError:
        return False
    return True


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
    """A problem written out for the solver. `extra`: may buy hours beyond each week's, and pays only for those."""

    def __init__(self, problem: Problem, forced: Collection[str] = (), extra: bool = False) -> None:
        self.problem = problem
        self.sittings = sorted(problem.sittings, key=lambda s: s.id)
        self.cost: list[float] = []
        self.upper: list[float] = []
        self.whole: list[bool] = []
        self.rows = _Rows()
        self.extra = extra
        opened = self._with_more_hours() if extra else problem
        self.work = {s.id: {d: self._column(problem.worth(s, d), 1, True) for d in opened.open_days(s)}
                     for s in self.sittings}  # fmt: skip
        self.help = {
            (s.id, v.id): self._column(HELP_FIRST, min(v.people * v.hours, s.hours / s.helps[v.id]), False)
            for s in self.sittings
            for v in problem.visits
            if s.helps.get(v.id, 0) > 0 and v.day in self.work[s.id]
        }
        self.bought = {
            week: self._column(-1, np.inf, False)
            for week, hours in enumerate(problem.week_hours)
            if extra and hours is not None
        }
        if extra:  # only what is bought counts
            kept = set(self.bought.values())
            self.cost = [c if n in kept else 1e-4 * c for n, c in enumerate(self.cost)]
        self.impossible = any(not self.work[name] for name in forced)
        for sitting in self.sittings:
            terms = dict.fromkeys(self.work[sitting.id].values(), 1.0)
            needed = sitting.id in forced
            self.rows.add(terms, 1, 1 if needed else -np.inf)
        self._hours()
        self._helpers_and_tools()
        self._order()

    def _with_more_hours(self) -> Problem:
        return replace(self.problem, week_hours=tuple(None for _ in self.problem.week_hours))

    def _column(self, cost: float, upper: float, whole: bool) -> int:
        self.cost.append(cost)
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.cost) - 1

    def _own(self, sitting: Sitting, day: int) -> dict[int, float]:
        """The grower's own hours at a sitting on a day, as a sum over columns."""
        column = self.work[sitting.id].get(day)
        if column is None:
            return {}
        terms = {column: sitting.hours}
        for visit in self.problem.visits_on(day):
            helped = self.help.get((sitting.id, visit.id))
            if helped is not None:
                terms[helped] = -sitting.helps[visit.id]
        return terms

    def _hours(self) -> None:
        weeks: dict[int, dict[int, float]] = {}
        for day, most in enumerate(self.problem.day_hours):
            terms: dict[int, float] = {}
            for sitting in self.sittings:
                own = self._own(sitting, day)
                terms.update(own)
                if len(own) > 1:
                    self.rows.add(own, np.inf, 0)  # helpers do no more than there is to do
            self.rows.add(terms, most)
            weeks.setdefault(day // 7, {}).update(terms)
        for week, terms in weeks.items():
            hours = self.problem.week_hours[week]
            if hours is not None:
                bought = {self.bought[week]: -1.0} if week in self.bought else {}
                self.rows.add({**terms, **bought} if terms else {}, hours)

    def _helpers_and_tools(self) -> None:
        for visit in self.problem.visits:
            at = {s.id: self.help[s.id, visit.id] for s in self.sittings if (s.id, visit.id) in self.help}
            self.rows.add(dict.fromkeys(at.values(), 1.0), visit.people * visit.hours)
            for tool, count in sorted(self.problem.tools.items()):
                users = [s for s in self.sittings if s.tool == tool]
                self.rows.add({at[s.id]: 1.0 for s in users if s.id in at}, count * visit.hours)
                terms: dict[int, float] = {}
                for s in users:
                    terms.update(self._own(s, visit.day))
                    for other in self.problem.visits_on(visit.day):
                        column = self.help.get((s.id, other.id))
                        if column is not None:
                            terms[column] += 1.0
                self.rows.add(terms, count * self.problem.longest_day)

    def _order(self) -> None:
        for order in self.problem.orders:
            first, then = self.work[order.first], self.work[order.then]
            if order.must:
                self.rows.add({**dict.fromkeys(then.values(), 1.0), **dict.fromkeys(first.values(), -1.0)}, 0)
            for day in sorted({d - order.gap + 1 for d in then} & set(range(-order.gap, self.problem.length + 1))):
                late = [column for d, column in first.items() if d >= day]
                early = [column for d, column in then.items() if d < day + order.gap]
                if late and early:
                    self.rows.add(dict.fromkeys((*late, *early), 1.0), 1)
        for keep in self.problem.keeps:
            for day, column in self.work[keep.first].items():
                off = [c for d, c in self.work[keep.other].items() if 0 <= d - day <= keep.days]
                if off:
                    self.rows.add({column: 1.0, **dict.fromkeys(off, 1.0)}, 1)

    def values_of(self, placed: Mapping[str, Done]) -> np.ndarray[Any, Any]:
        """The columns of a plan, to start from."""
        values = np.zeros(len(self.cost))
        for name, done in placed.items():
            values[self.work[name][done.day]] = 1
            for visit, hours in done.helped.items():
                values[self.help[name, visit]] = hours
        return values

    def read(self, values: Any) -> dict[str, Done]:
        """The plan that columns stand for."""
        placed: dict[str, Done] = {}
        for s in self.sittings:
            for day, column in self.work[s.id].items():
                if values[column] > 0.5:
                    helped = {
                        v.id: round(float(values[self.help[s.id, v.id]]), 6)
                        for v in self.problem.visits_on(day)
                        if (s.id, v.id) in self.help and values[self.help[s.id, v.id]] > 1e-6
                    }
                    own = s.hours - sum(h * s.helps[v] for v, h in helped.items())
                    placed[s.id] = Done(day, round(max(0.0, own), 6), helped)
        return placed


def solve(problem: Problem, start: Solution | None = None, nodes: int = NODES) -> Solution:
    """The best plan, or one as near to it as the nodes allowed: `bound` says how near."""
    program = Program(problem)
    if not program.cost or not program.rows.low:
        return Solution({}, 0.0, 0.0, "exact")
    gap = LARGE_GAP if len(program.cost) >= LARGE else GAP
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
    values, _ = _run(program, GAP, NODES, None)
    if values is None:
        return None, {}
    bought = {week: round(float(values[c]), 3) for week, c in program.bought.items() if values[c] > 1e-6}
    return program.read(values), bought


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
