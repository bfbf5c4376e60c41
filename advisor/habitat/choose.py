"""The least set of plants that fills every need: exact with highspy, greedy without it.

It is a covering problem: of the candidates, each with a cost, take as few or as cheap as will give every need as many
fillers as it asks for. This file knows nothing of plants.

exact     mixed-integer programme, solved to proof by HiGHS; None where no set will do
greedy    again and again the candidate that fills most for its cost, then those taken out that proved needless
nearly    the best set, and the best that differ from it and from one another in at least a third of their members
"""

from __future__ import annotations

import importlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from advisor import extras

Method = Literal["exact", "greedy"]


@dataclass(frozen=True)
class Need:
    """`least` of the candidates at these positions are wanted."""

    least: int
    filled_by: frozenset[int]


@dataclass(frozen=True)
class Covering:
    """costs: one whole number above 0 for each candidate. most: how many may be taken. must: positions to be taken."""

    costs: tuple[int, ...]
    needs: tuple[Need, ...]
    most: int | None = None
    must: frozenset[int] = frozenset()
    unlike: tuple[tuple[frozenset[int], int], ...] = field(default=())
    """Sets, each with how many of its members another answer must leave out."""

    def __post_init__(self) -> None:
        if any(cost <= 0 for cost in self.costs):
            raise ValueError("Every candidate costs something.")

    def cost(self, taken: frozenset[int]) -> int:
        return sum(self.costs[at] for at in taken)

    def holds(self, taken: frozenset[int]) -> bool:
        """Whether a set fills every need and keeps to every limit."""
        return (
            all(len(need.filled_by & taken) >= need.least for need in self.needs)
            and (self.most is None or len(taken) <= self.most)
            and self.must <= taken
            and all(len(taken & other) <= len(other) - apart for other, apart in self.unlike)
        )


def can_be_exact() -> bool:
    """Whether highspy is installed."""
    return extras.here("highspy")


def exact(problem: Covering) -> frozenset[int] | None:
    """The cheapest set that holds, proven so; None where none holds. Needs highspy (extra `scale`)."""
    if not problem.costs:
        return frozenset() if problem.holds(frozenset()) else None
    highspy: Any = importlib.import_module("highspy")
    solver = _quiet(highspy)
    for name, value in (("threads", 1), ("random_seed", 0), ("mip_rel_gap", 0.0), ("mip_abs_gap", 0.5)):
        solver.setOptionValue(name, value)  # one thread and one seed: the same answer every time
    take = [solver.addBinary(obj=float(cost)) for cost in problem.costs]

    def count(positions: frozenset[int]) -> Any:
        return solver.qsum([take[at] for at in sorted(positions)])

    for need in problem.needs:
        if len(need.filled_by) < need.least:
            return None
        if need.least > 0:
            solver.addConstr(count(need.filled_by) >= need.least)
    for at in sorted(problem.must):
        solver.addConstr(take[at] >= 1)
    if problem.most is not None:
        solver.addConstr(count(frozenset(range(len(take)))) <= problem.most)
    for other, apart in problem.unlike:
        if len(other) < apart:
            return None
        solver.addConstr(count(other) <= len(other) - apart)
    solver.minimize()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    return frozenset(at for at, one in enumerate(take) if solver.val(one) > 0.5)


def _quiet(highspy: Any) -> Any:
    """A solver that writes nothing: its banner comes with the callbacks, before `silent()` could be called."""

    class Quiet(highspy.Highs):  # type: ignore[misc]
        def enableCallbacks(self) -> None:
            self.setOptionValue("output_flag", False)
            super().enableCallbacks()

    return Quiet()


def greedy(problem: Covering) -> frozenset[int] | None:
    """A set that holds, often but not always the cheapest; None where it finds none."""
    taken = set(problem.must)
    while True:
        missing = [max(0, need.least - len(need.filled_by & taken)) for need in problem.needs]
        if not any(missing):
            break
        gains = [
            (sum(1 for need, lack in zip(problem.needs, missing, strict=True) if lack and at in need.filled_by), at)
            for at in range(len(problem.costs))
            if at not in taken and _allowed(problem, taken | {at})
        ]
        best = max(gains, key=lambda pair: (pair[0] / problem.costs[pair[1]], -pair[1]), default=(0, -1))
        if best[0] == 0:
            return None
        taken.add(best[1])
    for at in sorted(taken - problem.must, key=lambda at: (-problem.costs[at], at)):
        if problem.holds(frozenset(taken - {at})):
            taken.remove(at)
    found = frozenset(taken)
    return found if problem.holds(found) else None


def _allowed(problem: Covering, taken: set[int]) -> bool:
    return all(len(taken & other) <= len(other) - apart for other, apart in problem.unlike)


def solve(problem: Covering, method: Method) -> frozenset[int] | None:
    return exact(problem) if method == "exact" else greedy(problem)


def nearly(problem: Covering, method: Method, answers: int = 3) -> list[frozenset[int]]:
    """The best set first, then the best of those that leave out at least a third of every set before them."""
    found: list[frozenset[int]] = []
    unlike = list(problem.unlike)
    while len(found) < answers:
        one = solve(
            Covering(problem.costs, problem.needs, problem.most, problem.must, tuple(unlike)),
            method,
        )
        if one is None:
            break
        found.append(one)
        free = one - problem.must
        if not free:
            break
        unlike.append((free, max(1, math.ceil(len(free) / 3))))
    return found


def spare(problem: Covering, taken: Sequence[int] | frozenset[int]) -> list[int]:
    """Members of a set without which it would hold as well."""
    whole = frozenset(taken)
    return [at for at in sorted(whole) if problem.holds(whole - {at})]
