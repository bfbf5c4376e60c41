"""The JSON service: parse, call the advisor, answer. Run it with any ASGI server: `advisor.api.service:app`."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import FastAPI, Query, Request
from fastapi.responses import JSONResponse
from starlette.concurrency import run_in_threadpool

from advisor.advice import advise, default_rules
from advisor.answer import AnswerShape
from advisor.api.problems import MEDIA_TYPE, install, problem
from advisor.ecosystem import knowledge
from advisor.errors import InputError, Problem
from advisor.orchard import load_orchard
from advisor.reading import MOST_BYTES, parse_json

_REFUSED = {"description": "The input was refused, and why.", "content": {MEDIA_TYPE: {"schema": {"type": "object"}}}}


def make_app() -> FastAPI:
    app = FastAPI(
        title="Underbough",
        summary="Advice for fruit trees tended as an ecosystem.",
        version="0.1.0",
        openapi_url="/openapi.json",
    )
    install(app)

    @app.get("/health")
    def health() -> dict[str, Any]:
        """Whether the service can answer, and the edition of rules and knowledge that it answers with."""
        return {
            "status": "ok",
            "rules": default_rules().edition,
            "knowledge": knowledge().edition,
        }

    @app.post(
        "/advice",
        response_model=AnswerShape,
        responses={413: _REFUSED, 422: _REFUSED},
        openapi_extra={
            "requestBody": {"required": True, "content": {"application/json": {"schema": {"type": "object"}}}}
        },
    )
    async def advice(
        request: Request,
        on: Annotated[str | None, Query(description="The day, such as 2026-05-18, or an ISO time.")] = None,
    ) -> JSONResponse:
        """Advice for the orchard in the body: the orchard file as JSON, with weather and forecast as hourly records."""
        body = await _read(request)
        if body is None:
            return problem(413, f"The body is larger than {MOST_BYTES // 1_000_000} MB.")
        return JSONResponse(await run_in_threadpool(_advise, body, on))

    return app


async def _read(request: Request) -> bytes | None:
    """The body, or None once it grows too large."""
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        if size > MOST_BYTES:
            return None
        parts.append(part)
    return b"".join(parts)


def _advise(body: bytes, on: str | None) -> dict[str, Any]:
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise InputError(Problem("request", f"byte {fault.start}", "the body is not UTF-8", "Send UTF-8.")) from None
    data = parse_json(text, "request").data
    if not isinstance(data, dict):
        raise InputError(Problem("request", "", "the body is not an orchard file", "Send an object with `orchard`."))
    return advise(load_orchard(data, files=False), on=on)


app = make_app()
