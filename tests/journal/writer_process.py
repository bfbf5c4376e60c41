"""A process that writes to a journal until it is killed; run by the tests of killing.

It imports everything once and then forks a writer for each line that it reads: an address and a number. A writer says
"pid N" first, and after each thing that the journal acknowledged one line of JSON.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile

from journal_orchards import ORCHARD, SWARD, hours

from advisor.journal import Journal


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def write(address: str, run: int) -> None:
    """Keep batches of three looks, and hours of weather, until the end."""
    _say(f"pid {os.getpid()}")
    with Journal.open(address) as journal:
        journal.put_orchard("south", ORCHARD)
        for turn in range(100_000):
            batch = [
                {"date": "2026-11-09", "kind": "sward", "block": "pips", "height": f"{length + 1} mm", "note": f"run {run}",
                 "id": f"{run}-{turn}-{length}"}
                for length in range(3)
            ]  # fmt: skip
            _say(json.dumps({"observed": journal.observe("south", batch, key=f"{run}-{turn}")}))
            if turn % 5 == 0:
                kept = journal.weather("south", hours("2026-11-01T00:00", 24, temp_c=run % 20 + turn / 10_000))
                _say(json.dumps({"hours": kept["new"] + kept["corrected"]}))


def _warm_up() -> None:
    """Read and import all that is needed, so that a writer gets to its work at once."""
    with tempfile.TemporaryDirectory() as folder, Journal.open(f"{folder}/warm.db") as journal:
        journal.put_orchard("south", ORCHARD)
        journal.observe("south", [SWARD])
        journal.weather("south", hours("2026-11-01T00:00", 24, temp_c=1))


def main() -> None:
    _warm_up()
    for line in sys.stdin:
        address, run = line.split()
        if os.fork() == 0:
            write(address, int(run))
            os._exit(0)
        os.wait()
        _say("over")


if __name__ == "__main__":
    main()
