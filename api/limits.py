"""What one asker may use up: the size of a body, and how many requests.

A token bucket for each asker fills steadily and empties by one with each request. It counts within one process: with
several workers each has its own, so the rate holds for each of them.
"""

from __future__ import annotations

import time
from collections import OrderedDict
from collections.abc import Callable
from threading import Lock

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from advisor.api.problems import problem

MOST_ASKERS = 10_000  # remembered at once; the one that asked longest ago is forgotten first


class Rate:
    """Token buckets by asker. per_minute: how fast a bucket fills, None for no limit. burst: how much it holds."""

    def __init__(self, per_minute: float | None, burst: int = 60, clock: Callable[[], float] = time.monotonic) -> None:
        self._per_second = None if per_minute is None else per_minute / 60
        self._burst = burst
        self._clock = clock
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()
        self._lock = Lock()

    def wait(self, asker: str) -> float:
        """Take one request out of an asker's bucket: 0 if it may go on, else the seconds to wait."""
        if self._per_second is None:
            return 0.0
        with self._lock:
            now = self._clock()
            left, then = self._left.pop(asker, (float(self._burst), now))
            left = min(float(self._burst), left + (now - then) * self._per_second)
            allowed = left >= 1
            self._left[asker] = (left - 1 if allowed else left, now)
            if len(self._left) > MOST_ASKERS:
                self._left.popitem(last=False)
        return 0.0 if allowed else (1 - left) / self._per_second


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
