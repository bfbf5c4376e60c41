"""The whole rule stage against the same rules and facts in CLIPS (clipspy) and in the plain evaluator, in one run.

Run by hand: python tests/bench/rule_stage.py [ROUNDS]. All must fire each rule with the same facts, or it stops.

What is timed: facts as Python objects go in, all layers run, what a rule asserts is read by later layers, and each firing
comes out as our engine gives it, with its bindings, what it derives or proposes, amounts and days. CLIPS does so in
`stage`, its rules calling what ours calls. Beside it is `told`: CLIPS tells of each firing only the rule and the ids of
its facts, which is less than the stage, and what an intent is considered by is handed to it.

Rules are compiled beforehand on all sides, and all have run often enough for Python to have settled and to have learnt
the words and numbers of these facts. CLIPS gets its facts the quickest way that clipspy has, by template: as text they
take it seven times as long. A CLIPS environment slows with use (twice as slow after 600 runs was seen), so each round has
new ones.

Times are of the processor, not of the clock. Two ways:
in an advice  the facts are gathered anew before each run, as for an advice, so each side finds the processor's caches
              full of that; the sides take turns
back to back  three of ours, then three of CLIPS; the first of each three is not counted
Each ratio is told of the two fastest and of the two medians. The plain evaluator is run a few times only.
"""

from __future__ import annotations

import datetime as dt
import statistics
import sys
import time
from collections.abc import Callable, Sequence
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
from engine.clips_rules import ClipsRules, ClipsStage
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


def spent(call: Callable[..., object], *given: object) -> int:
    """Nanoseconds of the processor."""
    begin = time.process_time_ns()
    call(*given)
    return time.process_time_ns() - begin


Gathering = Callable[[], Sequence[Fact]]
Side = Callable[[Sequence[Fact]], object]
Times = dict[str, list[int]]  # of each side


def in_an_advice(sides: dict[str, Side], gathering: Gathering, times: Times) -> None:
    for _ in range(RUNS):
        for name, side in sides.items():
            times[name].append(spent(side, gathering()))


def back_to_back(sides: dict[str, Side], gathering: Gathering, times: Times) -> None:
    facts = gathering()
    for _ in range(RUNS // 2):
        for name, side in sides.items():
            times[name] += [spent(side, facts) for _ in range(3)][1:]


def tell(way: str, times: Times) -> None:
    for told, of in (("fastest", min), ("median", statistics.median)):
        mine, *peers = [(name, of(spent)) for name, spent in times.items()]
        ratios = ", ".join(f"to CLIPS {name} {mine[1] / other:.2f} ({other / 1e6:.2f} ms)" for name, other in peers)
        print(f"  {way}, {told}: ours {mine[1] / 1e6:.2f} ms, {ratios}")


def sides_of(book: Rulebook, region: str) -> dict[str, Side]:
    stage, told = ClipsStage(book, region), ClipsRules(book, region)
    return {
        "ours": lambda facts: run(book, facts, region),
        "stage": stage.stage,
        "told": lambda facts: told.run([*facts, *considered_facts([], facts)]),
    }


def compare(name: str, file: OrchardFile, weather: OrchardFile, rounds: int) -> None:
    book = default_rules()
    facts, region = facts_of(file, weather, book)
    fired = sorted((firing.rule.id, firing.facts) for firing in run(book, facts, region).firings)
    plain, _ = plainly(book, facts, region)
    assert fired == sorted((rule, ids) for rule, ids, _ in plain)
    assert fired == sorted((firing.rule.id, firing.facts) for firing in ClipsStage(book, region).stage(facts))
    print(f"{name}: {len(book.rules)} rules, {len(facts)} facts, {len(fired)} firings, the same on all sides")
    ways = {"in an advice": in_an_advice, "back to back": back_to_back}
    spent_by: dict[str, Times] = {way: {"ours": [], "stage": [], "told": []} for way in ways}
    for _ in range(rounds):
        sides = sides_of(book, region)
        for side in sides.values():
            for _ in range(WARM):
                side(facts)
        for way, measure in ways.items():
            measure(sides, lambda: facts_of(file, weather, book)[0], spent_by[way])
    for way, times in spent_by.items():
        tell(way, times)
    slow = min(spent(plainly, book, facts, region) for _ in range(SLOW_RUNS))
    print(f"  ours to the plain evaluator: {min(spent_by['in an advice']['ours']) / slow:.2f}")


def main(rounds: int = ROUNDS) -> None:
    weather = demo()
    compare("demo", weather, weather, rounds)
    compare("48 blocks", many_blocks(48), weather, max(1, rounds // 5))


if __name__ == "__main__":
    main(*(int(given) for given in sys.argv[1:2]))
