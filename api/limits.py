"""What one asker may use up: the size of a body, and how many requests.

A token bucket for each asker fills steadily and empties by one with each request. The workers of one server share their
buckets through a file, so that the rate holds over all of them.
"""

from __future__ import annotations

import fcntl
import hashlib
import mmap
import os
import struct
import time
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Lock
from typing import Protocol

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from advisor.api.problems import problem

MOST_ASKERS = 10_000  # remembered at once; the one that asked longest ago is forgotten first


Bucket = tuple[float, float]  # what is left in it, and when that was so
Change = Callable[[Bucket | None], Bucket]


class Buckets(Protocol):
    """Where buckets stand. change: put what `make` makes of an asker's bucket, None for a new one, in its place."""

    def change(self, asker: str, make: Change) -> None: ...


class Rate:
    """Token buckets by asker. per_minute: how fast a bucket fills, None for no limit. burst: how much it holds."""

    def __init__(
        self,
        per_minute: float | None,
        burst: int = 60,
        clock: Callable[[], float] = time.monotonic,
        buckets: Buckets | None = None,
    ) -> None:
        self._per_second = None if per_minute is None else per_minute / 60
        self._burst = burst
        self._clock = clock
        self._buckets = buckets or Own()

    def wait(self, asker: str) -> float:
        """Take one request out of an asker's bucket: 0 if it may go on, else the seconds to wait."""
        if self._per_second is None:
            return 0.0
        per_second, left = self._per_second, 0.0

        def take(bucket: Bucket | None) -> Bucket:
            nonlocal left
            now = self._clock()
            held, then = bucket or (float(self._burst), now)
            left = min(float(self._burst), held + max(0.0, now - then) * per_second)
            return (left - 1 if left >= 1 else left, now)

        self._buckets.change(asker, take)
        return 0.0 if left >= 1 else (1 - left) / per_second


class Own:
    """The buckets of one process."""

    def __init__(self) -> None:
        self._held: OrderedDict[str, Bucket] = OrderedDict()
        self._lock = Lock()

    def change(self, asker: str, make: Change) -> None:
        with self._lock:
            self._held[asker] = make(self._held.pop(asker, None))
            if len(self._held) > MOST_ASKERS:
                self._held.popitem(last=False)


class Shared:
    """The buckets of several processes, in a file of fixed size that all of them map.

    An asker has a place in one row of eight; a ninth takes that of the one who asked longest ago. Time is the machine's
    monotonic clock, which is the same for all its processes.
    """

    _PLACE = struct.Struct("<16sdd")  # who, what is left, when
    _ROWS, _IN_A_ROW = 2048, 8

    def __init__(self, path: Path) -> None:
        self._lock = Lock()
        self._file = os.open(path, os.O_RDWR)
        size = self._ROWS * self._IN_A_ROW * self._PLACE.size
        with self._alone():
            if os.fstat(self._file).st_size < size:
                os.truncate(self._file, size)
        self._bytes = mmap.mmap(self._file, size)

    def close(self) -> None:
        self._bytes.close()
        os.close(self._file)

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """No other thread and no other process meanwhile."""
        with self._lock:
            fcntl.flock(self._file, fcntl.LOCK_EX)
            try:
                yield
            finally:
                fcntl.flock(self._file, fcntl.LOCK_UN)

    def change(self, asker: str, make: Change) -> None:
        who = hashlib.blake2b(asker.encode(), digest_size=16).digest()
        row = int.from_bytes(who[:4], "little") % self._ROWS
        offsets = [(row * self._IN_A_ROW + n) * self._PLACE.size for n in range(self._IN_A_ROW)]
        with self._alone():
            places = [(*self._PLACE.unpack_from(self._bytes, offset), offset) for offset in offsets]
            known = next((place for place in places if place[0] == who), None)
            offset = known[3] if known else min(places, key=lambda place: float(place[2]))[3]
            self._PLACE.pack_into(self._bytes, offset, who, *make((known[1], known[2]) if known else None))


class BodyLimit:
    """Refuses a request whose body is larger than `most` bytes, before it is kept in memory."""

    def __init__(self, app: ASGIApp, most: int) -> None:
        self.app = app
        self.most = most

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        refusal = problem(413, f"The body is larger than {self.most / 1_000_000:g} MB. Send it in parts.")
        told = dict(scope["headers"]).get(b"content-length", b"")
        if told.isdigit() and int(told) > self.most:
            await refusal(scope, receive, send)
            return
        size, begun = 0, False

        async def counted() -> Message:
            nonlocal size
            message = await receive()
            size += len(message.get("body", b""))
            if size > self.most:
                raise _TooLarge
            return message

        async def noted(message: Message) -> None:
            nonlocal begun
            begun = True
            await send(message)

        try:
            await self.app(scope, counted, noted)
        except _TooLarge:
            if begun:
                raise
            await refusal(scope, receive, send)


class _TooLarge(Exception):
    pass
