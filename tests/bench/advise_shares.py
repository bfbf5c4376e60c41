"""Where the time of `advise` goes: a year of hourly weather for 12 blocks; and what `--help` takes beside it.

Run by hand: python tests/bench/advise_shares.py. Shares of one run, never compared with a clock elsewhere.
"""

from __future__ import annotations

import datetime as dt
import math
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from advisor import advice
from advisor.advice import advise
from advisor.facts import Situation

RUNS = 5
BLOCKS = 12


def weather_csv() -> str:
    """A year of hours: seasons, days and a shower every fourth day."""
    start = dt.datetime(2026, 1, 1, tzinfo=dt.timezone(dt.timedelta(hours=-5)))
    lines = ["time,temp_c,humidity_pct,rain_mm,wind_ms"]
    for hour in range(365 * 24):
        moment = start + dt.timedelta(hours=hour)
        season = -11 * math.cos(2 * math.pi * (hour / 24 - 15) / 365)
        day = 5 * math.sin(2 * math.pi * (moment.hour - 9) / 24)
        wet = (hour // 24) % 4 == 0 and moment.hour < 9
        lines.append(f"{moment.isoformat()},{9 + season + day:.1f},{95 if wet else 65},{0.8 if wet else 0},2.0")
    return "\n".join(lines)


def orchard() -> dict[str, object]:
    blocks = [
        {"id": f"b{n}", "fruit": ("apple", "pear", "plum")[n % 3], "trees": 30, "spacing": "6 m x 5 m",
         "floor": "meadow", "history": ["apple-scab", "voles"] if n % 3 == 0 else []}
        for n in range(BLOCKS)
    ]  # fmt: skip
    seen = [{"kind": "tree-stage", "date": "2026-10-20", "stage": "after-harvest"}]
    seen += [{"kind": "sward", "date": "2026-10-25", "block": f"b{n}", "height": "35 cm", "seed_heads": "set"}
             for n in range(BLOCKS)]  # fmt: skip
    head = {"name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York"}
    return {"orchard": head, "blocks": blocks, "observations": seen}


def main() -> None:
    text, given, on = weather_csv(), orchard(), "2026-10-28"
    advise(given, on=on, weather=text)  # rules and knowledge are loaded and compiled once
    spent: dict[str, list[float]] = {}

    def timed(name: str, module: object, function: str) -> None:
        plain = getattr(module, function)

        def wrapped(*args: object, **kwargs: object) -> object:
            begin = time.perf_counter()
            try:
                return plain(*args, **kwargs)
            finally:
                spent.setdefault(name, []).append(time.perf_counter() - begin)

        setattr(module, function, wrapped)

    timed("reading the weather", advice, "read_weather")
    timed("stages and season", Situation, "of")
    timed("facts, with all science", advice, "gather")
    timed("rule stage", advice, "run")
    timed("settling, with ledgers", advice, "settle")
    timed("recommendations", advice, "recommendations")
    timed("unknowns", advice, "unknowns")
    totals = []
    for _ in range(RUNS):
        begin = time.perf_counter()
        advise(given, on=on, weather=text)
        totals.append(time.perf_counter() - begin)
    whole = statistics.median(totals)
    print(f"advise, {BLOCKS} blocks, a year of hours: median {whole * 1000:.0f} ms of {RUNS} runs")
    for name, times in spent.items():
        share = statistics.median(times) * len(times) / RUNS / whole
        print(f"  {name:<26} {share:6.1%}")

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "orchard.json"
        import json

        path.write_text(json.dumps(given))
        (Path(folder) / "weather.csv").write_text(text)
        command = [sys.executable, "-m", "advisor.cli"]
        asked = [*command, "advise", str(path), "--on", on, "--weather", str(Path(folder) / "weather.csv"), "--json"]
        ratios = []
        for _ in range(RUNS):
            times = []
            for call in ([*command, "--help"], asked):
                begin = time.perf_counter()
                subprocess.run(call, check=True, capture_output=True)
                times.append(time.perf_counter() - begin)
            ratios.append(times[0] / times[1])
    print(f"--help to advise, whole process: {statistics.median(ratios):.2f} ({min(ratios):.2f} to {max(ratios):.2f})")


if __name__ == "__main__":
    main()
