"""What explanations take beside one `advise` of the same inputs, in one run.

Run by hand: python tests/bench/explain_shares.py. Ratios, never compared with a clock elsewhere.

why        the tree with its proof, for every recommendation: at most 2 wanted
why-not    with its search, for every practice that rules propose, at any place: at most 30 wanted
look-next  once: at most 20 wanted
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

from advisor import advise
from advisor.advice import Answer
from advisor.conditions import Propose

RUNS = 5


def answers() -> dict[str, Answer]:
    """Orchards of several sizes."""
    sys.path.append(str(Path(__file__).parents[1]))  # for what the tests share
    import advise_shares

    from scenarios.orchards import orchard

    small = [
        {"kind": "tree-stage", "date": "2026-05-18", "stage": "petal-fall"},
        {"kind": "sward", "date": "2026-05-18", "block": "upper", "height": "45 cm", "seed_heads": "set"},
        {"kind": "intent", "date": "2026-05-18", "block": "upper", "practice": "mow-alleys"},
    ]
    larkfield = str(files("advisor") / "demo" / "orchard.yaml")
    return {
        "one block, no weather": advise(orchard(observations=small), on="2026-05-18"),
        "Larkfield, three blocks, a spring of hours": advise(larkfield, on="2026-05-18"),
        "12 blocks, a year of hours": advise(advise_shares.orchard(), on="2026-10-28",
                                             weather=advise_shares.weather_csv()),
    }  # fmt: skip


def taken(call: Callable[[], object], runs: int = RUNS) -> float:
    """Median seconds of a call."""
    times = []
    for _ in range(runs):
        begin = time.perf_counter()
        call()
        times.append(time.perf_counter() - begin)
    return statistics.median(times)


def why_ratios(answer: Answer) -> list[float]:
    """Each recommendation's why to one advise."""
    whole = taken(answer.run.inputs.again)
    return sorted(taken(lambda id=one["id"]: answer.why(id), 3) / whole for one in answer["recommendations"])


def why_not_ratios(answer: Answer) -> list[tuple[float, str]]:
    """Each proposed practice's why-not to one advise."""
    whole = taken(answer.run.inputs.again)
    rules = answer.run.rulebook.rules
    practices = sorted({str(rule.output.practice) for rule in rules if isinstance(rule.output, Propose)})
    return sorted((taken(lambda name=name: answer.why_not(name), 1) / whole, name) for name in practices)


def look_next_ratio(answer: Answer) -> float:
    """One look_next to one advise."""
    return taken(answer.look_next, 1) / taken(answer.run.inputs.again)


def main() -> None:
    for name, answer in answers().items():
        found = why_ratios(answer)
        print(f"{name}: {len(found)} recommendations")
        print(f"  why, proven:  median {statistics.median(found):.2f} of one advise, most {found[-1]:.2f}, "
              f"above 2: {sum(ratio > 2 for ratio in found)}")  # fmt: skip
        asked = why_not_ratios(answer)
        print(f"  why-not, searched: median {statistics.median(ratio for ratio, _ in asked):.1f}, "
              f"most {asked[-1][0]:.1f} ({asked[-1][1]}), above 30: {sum(ratio > 30 for ratio, _ in asked)}")  # fmt: skip
        print(f"  look-next:    {look_next_ratio(answer):.1f}")


if __name__ == "__main__":
    main()
