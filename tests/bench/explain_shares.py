"""What explanations take beside one `advise` of the same inputs, in one run.

Run by hand: python tests/bench/explain_shares.py. Ratios, never compared with a clock elsewhere.

why      the tree with its proof, for every recommendation: at most 2 wanted
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


def main() -> None:
    for name, answer in answers().items():
        found = why_ratios(answer)
        print(f"{name}: {len(found)} recommendations")
        print(f"  why, proven:  median {statistics.median(found):.2f} of one advise, most {found[-1]:.2f}, "
              f"above 2: {sum(ratio > 2 for ratio in found)}")  # fmt: skip


if __name__ == "__main__":
    main()
