"""The whole rule stage against the same rules and facts in CLIPS (clipspy) and in the plain evaluator, in one run.

Run by hand: python tests/bench/rule_stage.py. Prints medians and ratios; all three must fire the same.
"""

from __future__ import annotations

import datetime as dt
import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable
from importlib.resources import as_file, files
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from advisor import load_orchard
from advisor.advice import default_rules
from advisor.ecosystem import knowledge
from advisor.fact import Fact
from advisor.facts import Situation, gather
from advisor.inference import considered_facts, run
from advisor.orchard import OrchardFile
from advisor.rulebook import Rulebook
from engine.clips_rules import ClipsRules
from engine.programs import plainly

RUNS = 9
SLOW_RUNS = 3


def demo() -> OrchardFile:
    with as_file(files("advisor") / "demo") as folder:
        return load_orchard(folder / "orchard.yaml")


def many_blocks(number: int) -> OrchardFile:
    """The demo's blocks over and over, each with its observations."""
    one = demo()
    given = {key: value for key, value in one.given.items() if key not in ("weather", "forecast")}
    blocks, observations = [], [o for o in given["observations"] if not o.get("block")]
    for turn in range(number):
        block = given["blocks"][turn % len(given["blocks"])]
        blocks.append({**block, "id": f"{block['id']}-{turn}"})
        own = [o for o in given["observations"] if o.get("block") == block["id"]]
        observations += [{**o, "block": f"{block['id']}-{turn}"} for o in own]
    return load_orchard({**given, "blocks": blocks, "observations": observations})


def facts_of(file: OrchardFile, weather: OrchardFile, book: Rulebook) -> tuple[tuple[Fact, ...], str]:
    now = Situation.of(file, dt.date(2026, 5, 18), weather.weather, weather.forecast, knowledge())
    return gather(now, book.kinds).facts, now.region


def timed(call: Callable[[], object]) -> float:
    begin = time.perf_counter()
    call()
    return time.perf_counter() - begin


def compare(name: str, file: OrchardFile, weather: OrchardFile) -> None:
    book = default_rules()
    facts, region = facts_of(file, weather, book)
    peer = ClipsRules(book, region=region)
    # CLIPS makes what a proposal is considered by; what an intent is considered by is handed to it.
    more = [*facts, *considered_facts([], facts)]
    ours = Counter(firing.rule.id for firing in run(book, facts, region).firings)
    theirs = Counter(name for name, _ in set(peer.run(more)))
    plain, _ = plainly(book, facts, region)
    same = ours == theirs == Counter(name for name, _, _ in plain)
    times: dict[str, list[float]] = {"engine": [], "clips": [], "plain": []}
    for turn in range(RUNS):
        times["engine"].append(timed(lambda: run(book, facts, region)))
        times["clips"].append(timed(lambda: peer.run(more)))
        if turn < SLOW_RUNS:
            times["plain"].append(timed(lambda: plainly(book, facts, region)))
    medians = {key: statistics.median(found) for key, found in times.items()}
    pairs = [a / b for a, b in zip(times["engine"], times["clips"], strict=True)]
    print(f"{name}: {len(book.rules)} rules, {len(facts)} facts, {ours.total()} firings, same in all three: {same}")
    print("  " + ", ".join(f"{key} {1000 * value:.1f} ms" for key, value in medians.items()))
    print(f"  engine to CLIPS {statistics.median(pairs):.2f} ({min(pairs):.2f} to {max(pairs):.2f}), "
          f"engine to plain evaluator {medians['engine'] / medians['plain']:.2f}")  # fmt: skip


def main() -> None:
    weather = demo()
    compare("demo", weather, weather)
    compare("48 blocks", many_blocks(48), weather)


if __name__ == "__main__":
    main()
