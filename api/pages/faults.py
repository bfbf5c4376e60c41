"""Errors on a page: what went wrong, in words, and the way back. Requests for JSON keep their problem documents."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from http import HTTPStatus
from inspect import isawaitable
from typing import Any
from urllib.parse import quote

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse, Response
from starlette.exceptions import HTTPException

from advisor.api.pages.layout import render
from advisor.api.pages.visit import NotSignedIn
from advisor.errors import InputError

TITLES = {
    400: "That could not be read", 403: "That is not allowed here", 404: "There is no such page",
    409: "Somebody changed it meanwhile", 413: "That is too large", 422: "Something in it does not fit",
    429: "Too many requests at once",
}  # fmt: skip
ROOTS = ("/at/", "/read/", "/set-up", "/sign-in", "/sign-out", "/light")


def install(app: FastAPI) -> None:
    """Answer errors on pages with a page, and all others as before."""
    before = dict(app.exception_handlers)
    for kind in (HTTPException, InputError, RequestValidationError, NotSignedIn, Exception, *before):
        if isinstance(kind, type):
            app.add_exception_handler(kind, _either(before.get(kind)))


def _either(before: Callable[[Request, Any], Any] | None) -> Callable[[Request, Exception], Awaitable[Response]]:
    """Answers a fault with a page where a page was asked for, else with what answered it before."""

    async def handle(request: Request, fault: Exception) -> Response:
        if is_page(request) or before is None:
            return page_of(request, fault)
        found: Any = before(request, fault)
        answer: Response = await found if isawaitable(found) else found
        return answer

    return handle


def page_of(request: Request, fault: Exception) -> Response:
    """The page that says what went wrong."""
    if isinstance(fault, NotSignedIn):
        return to_sign_in(request)
    if isinstance(fault, HTTPException):
        if fault.status_code == 401:
            return to_sign_in(request)
        page = _page(request, fault.status_code, str(fault.detail))
        page.headers.update(fault.headers or {})
        return page
    if isinstance(fault, InputError):
        return _refusal(request, fault)
    if isinstance(fault, RequestValidationError):
        return _page(request, 422, "The address of this page holds something that does not fit.")
    return _page(request, 500, "Something went wrong inside the service. Nothing that you gave was at fault.")


def _refusal(request: Request, fault: InputError) -> Response:
    from advisor.journal import Conflict, Missing

    if isinstance(fault, Missing):
        return _page(request, 404, "Nothing is kept under this address.", fault)
    if isinstance(fault, Conflict):
        return _page(request, 409, "What you sent no longer fits what is kept.", fault)
    return _page(request, 422, "What was given was refused, and nothing was kept of it.", fault)


def is_page(request: Request) -> bool:
    """Whether a request wants a page: by its address, or, elsewhere, because a browser opens it to read."""
    path = request.url.path
    if path == "/" or path.startswith(ROOTS):
        return True
    return request.headers.get("sec-fetch-mode") == "navigate" and "text/html" in request.headers.get("accept", "")


def to_sign_in(request: Request) -> Response:
    here = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return RedirectResponse(f"/sign-in?next={quote(here if request.method == 'GET' else '/', safe='')}", 303)


def _page(request: Request, status: int, text: str, fault: InputError | None = None) -> Response:
    title = TITLES.get(status) or HTTPStatus(status).phrase
    problems = fault.problems if fault else []
    return render(request, "fault.html", status=status, title=title, text=text, problems=problems, back=_back(request))


def _back(request: Request) -> str:
    parts = request.url.path.split("/")
    return f"/at/{parts[2]}/this-week" if len(parts) > 3 and parts[1] == "at" else "/"
