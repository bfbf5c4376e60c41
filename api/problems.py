"""Errors as RFC 9457 problem documents."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from advisor.errors import InputError, Problem

MEDIA_TYPE = "application/problem+json"


def problem(status: int, detail: str, *, title: str | None = None, errors: Sequence[Any] = ()) -> JSONResponse:
    """A problem document; `errors` lists each thing that is wrong, where, and how to mend it."""
    body: dict[str, Any] = {
        "type": "about:blank",
        "title": title or HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
    }
    if errors:
        body["errors"] = list(errors)
    return JSONResponse(body, status_code=status, media_type=MEDIA_TYPE)


def _entry(one: Problem) -> dict[str, Any]:
    return {
        "file": one.file,
        "place": one.place,
        "line": one.line,
        "value": one.value,
        "message": one.message,
        "mend": one.mend,
    }


def install(app: FastAPI) -> None:
    """Answer every error of the app with a problem document."""

    @app.exception_handler(InputError)
    def refused(_: Request, fault: InputError) -> JSONResponse:
        errors = [_entry(one) for one in fault.problems]
        return problem(422, str(fault.problems[0]), title="The input was refused", errors=errors)

    @app.exception_handler(RequestValidationError)
    def invalid(_: Request, fault: RequestValidationError) -> JSONResponse:
        errors = [{"place": ".".join(map(str, e["loc"])), "message": e["msg"]} for e in fault.errors()]
        return problem(422, "The request does not fit.", title="The request was refused", errors=errors)

    @app.exception_handler(HTTPException)
    def plain(_: Request, fault: HTTPException) -> JSONResponse:
        answer = problem(fault.status_code, str(fault.detail))
        answer.headers.update(fault.headers or {})
        return answer

    @app.exception_handler(Exception)
    def unforeseen(_: Request, fault: Exception) -> JSONResponse:
        return problem(500, "Something went wrong inside the service; the request was not at fault.")
