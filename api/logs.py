"""One line of JSON for each request, and its count: what was asked, by whom, how it went and how long it took.

A line holds the id of a token, never the token, and no header, query or body: the key of a calendar stands in a query.
"""

from __future__ import annotations

import datetime as dt
import json
import logging
import secrets
import time

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from advisor.api.metrics import Metrics

log = logging.getLogger("underbough.requests")


class Watch:
    """Writes a line and counts for each request that passes."""

    def __init__(self, app: ASGIApp, metrics: Metrics) -> None:
        self.app = app
        self.metrics = metrics

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        name, begun, status, size = secrets.token_hex(8), time.perf_counter(), 500, 0
        fault: str | None = None

        async def noted(message: Message) -> None:
            nonlocal status, size
            if message["type"] == "http.response.start":
                status = message["status"]
                message["headers"] = [*message["headers"], (b"x-request-id", name.encode())]
            else:
                size += len(message.get("body", b""))
            await send(message)

        self.metrics.begin()
        try:
            await self.app(scope, receive, noted)
        except BaseException as error:
            fault = type(error).__name__
            raise
        finally:
            seconds = time.perf_counter() - begun
            route = _route(scope)
            self.metrics.end(_method(scope), route, status, seconds)
            line = {
                "time": dt.datetime.now(dt.UTC).isoformat(timespec="milliseconds"),
                "request": name,
                "method": scope["method"],
                "path": scope["path"],
                "route": route,
                "status": status,
                "milliseconds": round(seconds * 1000, 1),
                "bytes": size,
                "asker": scope.get("state", {}).get("asker"),
            }
            log.info(json.dumps(line if fault is None else {**line, "fault": fault}, ensure_ascii=False))


def _route(scope: Scope) -> str:
    """The pattern of the route that answered; one name for all that met none, so that counts stay few."""
    return getattr(scope.get("route"), "path", "nowhere")


def _method(scope: Scope) -> str:
    """The method, if it is one of HTTP's; anybody can make up others."""
    return (
        scope["method"] if scope["method"] in ("GET", "HEAD", "POST", "PUT", "DELETE", "PATCH", "OPTIONS") else "other"
    )
