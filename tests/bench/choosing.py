"""Choosing plants: the exact way against trying every subset, and against the greedy way, in one run.

Run by hand: python tests/bench/choosing.py. Prints medians, ratios and how often and how far greedy falls behind. Costs
of the exact way and of every subset must be equal.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from collections.abc import Callable
from itertools import combinations
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent))

from advisor.habitat import bloom
from advisor.habitat.choose import Covering, Need, exact, greedy
from scenarios.orchards import orchard

RUNS = 15
SMALL = 14
PLANTS = ["chives", "white-clover", "dandelion", "yarrow", "goldenrod", "aster", "willow", "hazel", "elder", "phacelia"]


def every_subset(problem: Covering) -> int | None:
    """By size, so that the first size that holds needs no larger ones when every cost is the same."""
    for size in range(len(problem.costs) + 1):
        costs = [
            problem.cost(frozenset(taken))
            for taken in combinations(range(len(problem.costs)), size)
            if problem.holds(frozenset(taken))
        ]
        if costs:
            return min(costs)
    return None


def instances(number: int, candidates: int, chance: random.Random) -> list[Covering]:
    """Weeks to cover, each candidate open in a run of them, as plants are; every kind costs the same."""
    found = []
    for _ in range(number):
        spans = [(begin := chance.randint(0, 27), begin + chance.randint(1, 9)) for _ in range(candidates)]
        fillers = [frozenset(at for at, (begin, end) in enumerate(spans) if begin <= week < end) for week in range(28)]
        found.append(Covering((1,) * candidates, tuple(Need(1, one) for one in fillers if one)))
    return found


def timed(work: Callable[[Covering], Any], problems: list[Covering]) -> float:
    """Median milliseconds a problem."""
    took = []
    for problem in problems:
        begun = time.perf_counter()
        work(problem)
        took.append((time.perf_counter() - begun) * 1000)
    return statistics.median(took)


def compare(candidates: int, subsets: bool) -> None:
    problems = instances(RUNS, candidates, random.Random(candidates))
    best, quick = timed(exact, problems), timed(greedy, problems)
    line = f"{candidates:4d} candidates: exact {best:8.2f} ms, greedy {quick:8.2f} ms ({best / quick:.1f} to 1)"
    if subsets:
        slow = timed(every_subset, problems)
        line += f", every subset {slow:8.2f} ms (exact takes {best / slow:.3f} of it)"
        for problem in problems:
            found = exact(problem)
            assert found is not None
            assert problem.cost(found) == every_subset(problem)
    print(line)
    gaps = []
    for problem in problems:
        least, fast = exact(problem), greedy(problem)
        assert least is not None
        assert fast is not None
        gaps.append(problem.cost(fast) - problem.cost(least))
    print(f"      greedy takes more in {sum(gap > 0 for gap in gaps)} of {len(gaps)}, at most {max(gaps)} more")


def orchards() -> None:
    """Whole orchards with a few plants each, as growers have them."""
    chance, gaps, took = random.Random(7), [], []
    for _ in range(RUNS):
        block = {"id": "a", "fruit": "apple", "floor": "turf", "understory": chance.sample(PLANTS, 3)}
        file = orchard([block], guidance="new-york")
        begun = time.perf_counter()
        found = bloom(file, on="2026-05-20")
        took.append((time.perf_counter() - begun) * 1000)
        gaps.append(found["choosing"]["gap"])
    known = [gap for gap in gaps if gap is not None]
    print(f"whole record of an orchard: {statistics.median(took):.0f} ms; greedy takes more kinds in "
          f"{sum(gap > 0 for gap in known)} of {len(known)}, at most {max(known, default=0):g} more")  # fmt: skip


if __name__ == "__main__":
    compare(SMALL, subsets=True)
    compare(40, subsets=False)
    compare(120, subsets=False)
    orchards()
