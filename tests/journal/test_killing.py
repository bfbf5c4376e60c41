"""A writer killed at any moment loses nothing that was acknowledged, and leaves nothing half kept."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from journal_orchards import SWARD

from advisor.journal import Journal, Missing
from counts import count

HERE = Path(__file__).parent


class Writers:
    """Starts writers one after another and kills each."""

    def __init__(self) -> None:
        self.process = subprocess.Popen(
            [sys.executable, str(HERE / "writer_process.py")],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(HERE.parent)},
        )

    def kill_one(self, address: str, run: int, acknowledged: int, delay: float) -> list[dict[str, list[str]]]:
        """Start a writer, and kill it so many seconds after so many acknowledgements; what it was told is kept."""
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.write(f"{address} {run}\n")
        self.process.stdin.flush()
        pid = int(self.process.stdout.readline().split()[1])
        lines = [self.process.stdout.readline() for _ in range(acknowledged)]
        time.sleep(delay)
        os.kill(pid, signal.SIGKILL)
        for line in self.process.stdout:
            if line.endswith("over\n"):  # the end of a line that the killed one had begun may stand before it
                lines.append(line.removesuffix("over\n"))
                break
            lines.append(line)
        return [json.loads(line) for line in lines if line.endswith("}\n")]

    def close(self) -> None:
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.close()
        self.process.wait(timeout=300)
        self.process.stdout.close()


@pytest.fixture
def writers() -> Iterator[Writers]:
    started = Writers()
    yield started
    started.close()


def test_nothing_acknowledged_is_lost_and_nothing_is_half_kept(address: str, writers: Writers) -> None:
    chance = random.Random(11)
    acknowledged: set[str] = set()
    for run in range(count("kills of a writing journal")):
        turns = run % 5  # with none, it may be killed while it opens the journal
        said = writers.kill_one(address, run, turns, chance.uniform(0.0, 0.05 if turns else 0.4))
        assert len(said) >= turns
        acknowledged |= {id for one in said for id in one.get("observed", ())}
        with Journal.open(address) as journal:
            assert journal.verify() == []
            try:
                kept = {one.id for one in journal.observations("south")}
            except Missing:
                kept = set()  # killed before the orchard itself was acknowledged
            assert acknowledged <= kept
            batches: dict[str, int] = {}
            for id in kept:
                batches[id.rpartition("-")[0]] = batches.get(id.rpartition("-")[0], 0) + 1
            assert set(batches.values()) <= {3}
            receipts = {entry.ref.split()[1] for entry in journal.entries("south") if entry.kind == "receipt"}
            assert receipts == set(batches)  # a batch and the answer to its key are kept together
    assert acknowledged
    with Journal.open(address) as journal:  # and it can be written on
        assert journal.observe("south", [SWARD])
        assert journal.verify() == []


def test_a_journal_killed_while_it_was_being_made_can_be_opened(tmp_path: Path, writers: Writers) -> None:
    chance = random.Random(5)
    for run in range(count("kills of a writing journal") // 4):
        path = tmp_path / f"{run}.db"
        writers.kill_one(str(path), run, 0, chance.uniform(0.0, 0.12))
        with Journal.open(path) as journal:
            assert journal.verify() == []


def test_a_writer_that_waits_for_a_killed_one_goes_on(address: str, writers: Writers) -> None:
    """The lock of a killed writer is let go: one that is held is refused after a while, with an error."""
    writers.kill_one(address, 1, 1, 0.01)
    with Journal.open(address) as journal:
        assert journal.observe("south", [SWARD])
