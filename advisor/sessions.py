"""Sessions of durable-rules. Nothing else calls the engine.

Rules whose conditions join alike share one ruleset. Each message says by its mark which condition of which rule it is
for, and every condition asks for the rule of the first, so the rules do not meet. The engine has sharp edges:

- every session begins with a guard that fires, because the engine must not end a session in which nothing fired;
- what a negated condition looks for is sent before the rest, because the engine looks as soon as it can;
- the ids of messages are compared by the engine as 32-bit hashes, so they are chosen unlike;
- a message takes nine kilobytes while a session lasts, so a session is kept short enough for the processor's cache.
"""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Any

import durable_rules_engine as engine

MOST_AT_ONCE = 1_000  # firings handed over together
MOST_TOGETHER = 30  # messages in a session that is shared; a rule that has more gets its own

FIRST = "c0"  # the name of a rule's first condition

_SID = "0"  # the engine's own name for a session that is not named
_GUARD = '{"id":"0","guard":1}'
_RULE = '{"rule"'  # how a firing of a rule begins, and one of the guard does not
_IDS = re.compile(r'"id":"(\d+)"').findall  # of the messages in a firing; inside a text the quotes would be escaped


def fnv1a(text: str) -> int:
    """The engine's 32-bit hash of a name or id."""
    value = 2166136261
    for byte in text.encode():
        value = ((value ^ byte) * 16777619) & 0xFFFFFFFF
    return value


class Unlike:
    """Numbers as ids whose hashes all differ, from each other and from the words taken; `place` tells which is which."""

    def __init__(self, *taken: str) -> None:
        self._hashes = {fnv1a(word) for word in taken}
        self._ids: list[str] = []
        self._next = 1
        self._growing = threading.Lock()
        self.place: dict[str, int] = {}

    def first(self, count: int) -> list[str]:
        """So many of them, always the same ones in the same order."""
        if len(self._ids) < count:
            with self._growing:
                self._grow(count)
        return self._ids[:count]

    def _grow(self, count: int) -> None:
        while len(self._ids) < count:
            word = str(self._next)
            self._next += 1
            if (code := fnv1a(word)) not in self._hashes:
                self._hashes.add(code)
                self.place[word] = len(self._ids)
                self._ids.append(word)


MESSAGE_IDS = Unlike("0", f"sid-{_SID}")  # the guard's id, and that of the engine's own message


class Ruleset:
    """The rules of one shape. shape: the conditions of a rule in the engine's language; there: how many of them, from
    the first, must be there."""

    def __init__(self, shape: list[dict[str, Any]], there: int) -> None:
        self._shape = shape
        self._there = there
        self._lock = threading.Lock()

    def firings(self, texts: Sequence[str]) -> Iterator[tuple[int, ...]]:
        """Every firing that these messages, each written after its id, bring about.

        A firing is told by the places of its messages among the texts, one for each condition that must be there.
        """
        ids, place = MESSAGE_IDS.first(len(texts)), MESSAGE_IDS.place
        messages = ",".join([f'{{"id":"{id}"{text}' for id, text in zip(ids, texts, strict=True)])
        with self._lock:
            fired = self._fired(f"[{messages}]")
        # The engine tells the conditions of a firing in their order, and so one firing after another.
        return zip(*[iter([place[id] for id in fired])] * self._there, strict=True)

    def _fired(self, messages: str) -> list[str]:
        """One session of the engine: everything sent, and the ids in every firing, one after another."""
        handle = self._handle
        _, state = engine.assert_fact(handle, _GUARD)
        fired: list[str] = []
        try:
            engine.assert_facts(handle, messages)
        finally:
            started = engine.start_action_for_state(handle, state)
            text = started[1] if started else None
            while text:
                if text.startswith(_RULE):
                    fired += _IDS(text)
                text = engine.complete_and_start_action(handle, state)
            engine.delete_state(handle, _SID)
        return fired

    @cached_property
    def _handle(self) -> int:
        guard = {"all": [{"m": {"$ex": {"guard": 1}}}]}
        rule = {"all": self._shape, "cap": MOST_AT_ONCE}
        handle: int = engine.create_ruleset("rule", json.dumps({"guard": guard, "rule": rule}))
        return handle

    def close(self) -> None:
        if "_handle" in self.__dict__:
            engine.delete_ruleset(self._handle)
