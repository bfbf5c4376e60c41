"""The whole rule stage against the same rules and facts in CLIPS (clipspy) and in the plain evaluator, in one run.

Run by hand: python tests/bench/rule_stage.py [ROUNDS]. All three must fire each rule as often, or it stops.

What is timed, on each side: facts as Python objects go in, all layers run, what a rule asserts is read by later layers,
and each firing comes out with its rule and the ids of its facts. Ours gives bindings, amounts and days besides, and
makes what an intent is considered by, which CLIPS is handed. Rules are compiled beforehand on both sides, and both have
run often enough for Python to have settled. CLIPS gets its facts the quickest way that clipspy has, by template: as text
they take it seven times as long. Both have learnt the words and numbers of these facts in the runs before. A CLIPS
environment slows with use (twice as slow after 600 runs was seen), so each round has a new one.

Times are of the processor, not of the clock. Two ways:
alternating   one run of ours, one of CLIPS, and so on: each finds the processor's caches full of the other
back to back  three of ours, then three of CLIPS; the first of each three is not counted
Each ratio is told of the two fastest and of the two medians. The plain evaluator is run a few times only.
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

ROUNDS = 10
RUNS = 20  # of each way in a round
WARM = 3
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


def spent(call: Callable[[], object]) -> int:
    """Nanoseconds of the processor."""
    begin = time.process_time_ns()
    call()
    return time.process_time_ns() - begin


def ratios(name: str, pairs: list[tuple[int, int]]) -> None:
    ours, theirs = zip(*pairs, strict=True)
    for told, of in (("fastest", min), ("median", statistics.median)):
        mine, other = of(ours), of(theirs)
        print(f"  {name}, {told}: engine to CLIPS {mine / other:.2f} ({mine / 1e6:.2f} ms to {other / 1e6:.2f})")


def compare(name: str, file: OrchardFile, weather: OrchardFile, rounds: int) -> None:
    book = default_rules()
    facts, region = facts_of(file, weather, book)
    peer = ClipsRules(book, region=region)
    # CLIPS makes what a proposal is considered by; what an intent is considered by is handed to it.
    more = [*facts, *considered_facts([], facts)]

    def ours() -> object:
        return run(book, facts, region)

    fired = Counter(firing.rule.id for firing in run(book, facts, region).firings)
    plain, _ = plainly(book, facts, region)
    assert fired == Counter(rule for rule, _, _ in plain) == Counter(rule for rule, _ in set(peer.run(more)))
    print(f"{name}: {len(book.rules)} rules, {len(facts)} facts, {fired.total()} firings, the same in all three")
    alternating, in_blocks = [], []
    for _ in range(rounds):
        peer = ClipsRules(book, region=region)

        def theirs(peer: ClipsRules = peer) -> object:
            return peer.run(more)

        for _ in range(WARM):
            ours()
            theirs()
        alternating += [(spent(ours), spent(theirs)) for _ in range(RUNS)]
        for _ in range(RUNS // 2):
            mine, other = [spent(ours) for _ in range(3)], [spent(theirs) for _ in range(3)]
            in_blocks += zip(mine[1:], other[1:], strict=True)
    ratios("alternating", alternating)
    ratios("back to back", in_blocks)
    slow = min(spent(lambda: plainly(book, facts, region)) for _ in range(SLOW_RUNS))
    print(f"  engine to plain evaluator: {min(mine for mine, _ in alternating) / slow:.2f}")


def main(rounds: int = ROUNDS) -> None:
    weather = demo()
    compare("demo", weather, weather, rounds)
    compare("48 blocks", many_blocks(48), weather, max(1, rounds // 5))


if __name__ == "__main__":
    main(*(int(given) for given in sys.argv[1:2]))
