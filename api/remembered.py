"""Answers that cost much and follow from an advice: kept in memory until others are asked for more."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any

from fastapi import Request

from advisor.advice import Answer
from advisor.answer import Record
from advisor.api.exchange import written
from advisor.api.shelf import journal

MOST = 64


class Remembered:
    """The last answers, by what they follow from. An advice's id stands for everything it was asked with."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._answers: OrderedDict[Hashable, bytes] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Hashable, make: Callable[[], bytes]) -> bytes:
        """The answer for a key; made if it is not remembered. Two who ask at once may both make it."""
        with self._lock:
            if key in self._answers:
                self._answers.move_to_end(key)
                return self._answers[key]
        made = make()
        with self._lock:
            self._answers[key] = made
            while len(self._answers) > self._most:
                self._answers.popitem(last=False)
        return made


def following(request: Request, orchard: str, on: Any, what: Hashable, make: Callable[[Answer], Record]) -> bytes:
    """What `make` makes of an orchard's advice on a day, as JSON; remembered as long as that advice stands.

    what: its name, the same for the routes and the pages that show it.
    """
    kept = journal(request)
    advice = kept.advise(orchard, on).id
    remembered: Remembered = request.app.state.remembered
    return remembered.get((advice, what), lambda: written(make(kept.run_of(advice))))
