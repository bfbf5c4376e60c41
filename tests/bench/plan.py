"""The exact plan beside the rule of thumb: worth gained, gap reached, and time, on 48 blocks and about 300 jobs.

Run by hand: python tests/bench/plan.py. Times are ratios of one run, never compared with a clock elsewhere.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

import plan_problems

from advisor.hours import exact, greedy
from advisor.hours.model import Keep, Order, Problem, Sitting, Visit

WEEKS = 9


def many_blocks(rnd: random.Random, blocks: int = 48, jobs: int = 300, week_hours: float = 60.0) -> Problem:
    """Jobs as an orchard of many blocks has them: most short and soon, some long; sprays that close their block."""
    days = 7 * WEEKS
    visits = tuple(Visit(f"v{n}", rnd.randrange(days), 2, 3.0) for n in range(3))
    made: list[Sitting] = []
    at: dict[int, list[tuple[str, str]]] = {}
    for n in range(jobs):
        block, kind = rnd.randrange(blocks), rnd.choice(("look", "mow", "spray", "soil", "thin", "prune"))
        long = kind in ("thin", "prune")
        first = rnd.randrange(21) if kind != "prune" else 0
        last = min(days - 1, first + rnd.choice((4, 7, 14)) * (4 if long else 1))
        wants = kind in ("mow", "spray", "thin")
        fit = tuple((rnd.choice((12.0, 6.0, 2.0, 0.0)) if wants else 14.0) if d < 7 else None for d in range(days))
        parts = rnd.randrange(1, 7) if long else 1
        job = f"{kind}-{n:03}"
        at.setdefault(block, []).append((kind, job))
        one = Sitting(
            "", job, round(rnd.uniform(2, 4) if long else rnd.uniform(0.4, 2.5), 2), rnd.uniform(0.1, 1.2) / parts,
            tuple(range(first, last + 1)), fit, {"mow": "flail-mower", "spray": "backpack-sprayer"}.get(kind),
            frozenset(), {v.id: 1.0 for v in visits if kind == "thin"},
        )  # fmt: skip
        made += [Sitting(f"{job}/{part}", *list(vars(one).values())[1:]) for part in range(parts)]
    orders, keeps = [], []
    for here in at.values():
        for kind, job in here:
            for other_kind, other in here:
                if kind == "spray" and other_kind != "spray":
                    keeps.append(Keep(job, other, 0, ""))
                if kind == "mow" and other_kind == "soil":
                    orders.append(Order(job, other, 0, False, ""))
    return Problem(
        tuple(made), tuple(0.0 if d % 7 == 6 else 8.0 for d in range(days)), (week_hours,) * WEEKS, 8.0, visits,
        {"flail-mower": 1, "backpack-sprayer": 1}, tuple(orders), tuple(keeps),
    )  # fmt: skip


def compare(name: str, problems: list[Problem]) -> None:
    gains, gaps, ratios, quick_times = [], [], [], []
    for problem in problems:
        begin = time.perf_counter()
        quick = greedy.solve(problem)
        middle = time.perf_counter()
        best = exact.solve(problem, quick)
        end = time.perf_counter()
        broken = [*plan_problems.broken(problem, quick.placed), *plan_problems.broken(problem, best.placed)]
        assert not broken, broken
        gains.append(best.worth / quick.worth - 1)
        gaps.append(best.gap or 0.0)
        ratios.append((end - middle) / (middle - begin))
        quick_times.append(middle - begin)
    sittings = statistics.mean(len(p.sittings) for p in problems)
    print(
        f"{name}: {len(problems)} problems of {sittings:.0f} sittings; gain over the rule of thumb "
        f"{statistics.median(gains):.1%} ({min(gains):.1%} to {max(gains):.1%}); gap {statistics.median(gaps):.2%} "
        f"(most {max(gaps):.2%}); time {statistics.median(ratios):.0f} times the rule of thumb's "
        f"{1000 * statistics.median(quick_times):.1f} ms ({min(ratios):.0f} to {max(ratios):.0f})"
    )


def main() -> None:
    rnd = random.Random(1)
    compare("small", [plan_problems.problem(rnd, 30, 14, 10.0) for _ in range(20)])
    compare("48 blocks, 300 jobs, hours enough for most", [many_blocks(rnd) for _ in range(3)])
    compare("48 blocks, 300 jobs, hours short", [many_blocks(rnd, week_hours=30.0) for _ in range(3)])


if __name__ == "__main__":
    main()
