"""What is held in memory of a journal, so that reading an orchard again costs one small question to the database."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from advisor.advice import Answer
from advisor.journal.faults import missing
from advisor.journal.state import GIVEN, State
from advisor.orchard import OrchardFile

if TYPE_CHECKING:
    from advisor.journal.store import Reader

_K = TypeVar("_K")
_V = TypeVar("_V")

MOST_FILES = 64
MOST_IDS = 1_000
MOST_RUNS = 16  # a run holds everything along the path to an answer, a few MB


class Holding:
    """States, orchard files and runs of a journal. Safe among threads; the records in the database always decide."""

    def __init__(self) -> None:
        self._lock = threading.RLock()
        self._states: dict[str, State] = {}
        self._files: OrderedDict[tuple[str, int], OrchardFile] = OrderedDict()
        self._runs: OrderedDict[str, Answer] = OrderedDict()
        self._ids: OrderedDict[tuple[str, int, str], str] = OrderedDict()

    def forget(self) -> None:
        """Hold nothing any more."""
        with self._lock:
            self._states.clear()
            self._files.clear()
            self._runs.clear()
            self._ids.clear()

    def state(self, reader: Reader, orchard: str) -> State:
        """The orchard as it now is, brought up to date by the records since; not for changing.

        Only to be asked before the asker appends records of its own, which might yet come to nothing.
        """
        with self._lock:
            state = self._states.get(orchard) or State()
            state.take(reader.entries(orchard, GIVEN, after=state.position))
            if state.version is not None:
                self._states[orchard] = state
            return state

    def known(self, reader: Reader, orchard: str) -> State:
        """The same; Missing if nothing is kept of that orchard."""
        state = self.state(reader, orchard)
        if state.version is None:
            raise missing(f"orchard {orchard[:64]}", "no orchard of that id is kept", "Put it first, or check the id.")
        return state

    def file(self, reader: Reader, orchard: str, upto: int | None = None) -> tuple[OrchardFile, int]:
        """The orchard file as of a position (None: the newest), and the position of the last record in it."""
        with self._lock:
            if upto is None:
                state = self.known(reader, orchard)
                last = state.position
            else:
                last = reader.last_position(orchard, GIVEN, upto)
            if (orchard, last) not in self._files:
                if upto is not None:
                    state = State()
                    state.take(reader.entries(orchard, GIVEN, upto=last))
                self._files[orchard, last] = state.file()
            return _touched(self._files, (orchard, last), MOST_FILES), last

    def id(self, asked: tuple[str, int, str], work_out: Callable[[], str]) -> str:
        """The id of the advice for an orchard as of a position and day; to hash a season's weather takes a while."""
        with self._lock:
            if asked not in self._ids:
                self._ids[asked] = work_out()
            return _touched(self._ids, asked, MOST_IDS)

    def run(self, advice: str) -> Answer | None:
        """The run of an advice, if it is held."""
        with self._lock:
            return _touched(self._runs, advice, MOST_RUNS) if advice in self._runs else None

    def hold_run(self, advice: str, answer: Answer) -> None:
        with self._lock:
            self._runs[advice] = answer
            _touched(self._runs, advice, MOST_RUNS)


def _touched(held: OrderedDict[_K, _V], key: _K, most: int) -> _V:
    """What is held under a key, now the youngest; the oldest is let go when there are too many."""
    held.move_to_end(key)
    while len(held) > most:
        held.popitem(last=False)
    return held[key]
