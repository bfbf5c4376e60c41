"""Errors as RFC 9457 problem documents."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel
from starlette.exceptions import HTTPException
from starlette.routing import Match

from advisor.errors import InputError, Problem
from advisor.journal.faults import Conflict, Missing

MEDIA_TYPE = "application/problem+json"


class ErrorEntry(BaseModel):
    """One thing that is wrong: where, what, and how to mend it."""

    file: str
    place: str
    line: int | None = None
    value: str | None = None
    message: str
    mend: str


class ProblemDocument(BaseModel):
    """Why a request was refused (RFC 9457)."""

    type: str
    title: str
    status: int
    detail: str
    errors: list[ErrorEntry] | None = None


_SAID = {
    304: "Nothing has changed since the answer whose ETag was sent.",
    401: "No token was sent, or one that is not known.",
    403: "The token may not do this.",
    404: "There is no such thing here, or not for this token.",
    406: "The answer cannot be given in the form that Accept asks for.",
    409: "The request does not fit what is stored.",
    412: "It has changed since the ETag of If-Match.",
    413: "The body is too large.",
    415: "The body is in a form that is not read here.",
    422: "The input was refused: errors says what, where and how to mend it.",
    428: "If-Match is wanted: the ETag of what is to be replaced.",
    429: "Too many requests; Retry-After says when to go on.",
    501: "This part of the program is not installed.",
}


def refusals(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """What the document says of the errors of a route."""
    found: dict[int | str, dict[str, Any]] = {}
    for status in statuses:
        said: dict[str, Any] = {"description": _SAID[status]}
        if status != 304:
            said["content"] = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/ProblemDocument"}}}
        if status == 429:
            said["headers"] = {"Retry-After": {"description": "Seconds.", "schema": {"type": "integer"}}}
        if status == 401:
            said["headers"] = {"WWW-Authenticate": {"description": "How to ask.", "schema": {"type": "string"}}}
        found[status] = said
    return found


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


def refused(fault: InputError) -> JSONResponse:
    """The problem document of an input that was refused."""
    errors = [_entry(one) for one in fault.problems]
    return problem(422, str(fault.problems[0]), title="The input was refused", errors=errors)


def _entry(one: Problem) -> dict[str, Any]:
    return ErrorEntry(**{name: getattr(one, name) for name in ErrorEntry.model_fields}).model_dump()


def install(app: FastAPI) -> None:
    """Answer every error of the app with a problem document."""

    @app.exception_handler(InputError)
    def input_error(_: Request, fault: InputError) -> JSONResponse:
        return refused(fault)

    @app.exception_handler(Missing)
    def missing(_: Request, fault: InputError) -> JSONResponse:
        return problem(404, str(fault.problems[0]))

    @app.exception_handler(Conflict)
    def conflict(_: Request, fault: InputError) -> JSONResponse:
        return problem(409, str(fault.problems[0]))

    @app.exception_handler(RequestValidationError)
    def invalid(_: Request, fault: RequestValidationError) -> JSONResponse:
        return refused(InputError(_misfit(one) for one in fault.errors()))

    @app.exception_handler(HTTPException)
    def plain(request: Request, fault: HTTPException) -> JSONResponse:
        said, headers = str(fault.detail), dict(fault.headers or {})
        if fault.status_code == 405:  # the framework names the methods of the first route only
            headers["Allow"] = ", ".join(_methods(request)) or headers.get("Allow", "")
        if said == HTTPStatus(fault.status_code).phrase:  # the framework's own, which tells nothing
            allowed = headers.get("Allow")
            said = f"This address answers to {allowed}." if allowed else "There is nothing at this address."
        answer = problem(fault.status_code, said)
        answer.headers.update(headers)
        return answer

    @app.exception_handler(Exception)
    def unforeseen(_: Request, fault: Exception) -> JSONResponse:
        return problem(500, "Something went wrong inside the service; the request was not at fault.")


def _methods(request: Request) -> list[str]:
    """The methods that the address of a request answers to, over all its routes."""
    found: set[str] = set()
    for route in _routes(request.app.router.routes):
        if route.matches(request.scope)[0] is not Match.NONE:
            found |= set(getattr(route, "methods", None) or ())
    return sorted(found)


def _routes(routes: Iterable[Any]) -> Iterator[Any]:
    """All routes, those of included routers too (some versions of the framework keep them nested)."""
    for route in routes:
        if hasattr(route, "original_router"):
            yield from _routes(route.original_router.routes)
        else:
            yield route


def _misfit(error: Any) -> Problem:
    """A header, a part of the address or of its query that does not fit, as pydantic found it."""
    where, *place = error["loc"]
    value = error.get("input")
    text = value if isinstance(value, str) else json.dumps(value, default=str)
    shown = None if value is None or error["type"] == "missing" else text[:60]
    name = ".".join(map(str, place))
    return Problem(
        "request",
        f"{where} {name}".strip(),
        _lower(error["msg"]),
        f"What {name} may be stands in /openapi.json.",
        None,
        shown,
    )


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
