"""Signing in with a token, signing out, and choosing light or dark pages."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import urlsplit

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse

from advisor.api.asking import COOKIE, door
from advisor.api.pages.forms import read_form
from advisor.api.pages.layout import LIGHT_COOKIE, LIGHTS, render

A_YEAR = 365 * 24 * 3600

Form = Annotated[dict[str, str], Depends(read_form)]

router = APIRouter(include_in_schema=False)


@router.get("/sign-in")
def ask(request: Request, next: str = "/") -> Response:
    return render(request, "sign_in.html", next=inside(next), wrong=None)


@router.post("/sign-in")
def sign_in(request: Request, form: Form) -> Response:
    """Keep the token in a cookie that no script can read, if it is a good one."""
    here, token = door(request), form.get("token", "")
    here.take(request, None)  # so that nobody can try tokens quickly
    if not token or here.sign_in(token) is None:
        wrong = "This token is not known here, or was revoked. Check that all of it was pasted."
        return render(request, "sign_in.html", status=403, next=inside(form.get("next", "/")), wrong=wrong)
    response = RedirectResponse(inside(form.get("next", "/")), 303)
    secure = request.url.scheme == "https"
    response.set_cookie(COOKIE, token, max_age=A_YEAR, httponly=True, samesite="strict", secure=secure)
    return response


@router.post("/sign-out")
def sign_out(form: Form) -> Response:
    response = RedirectResponse("/sign-in", 303)
    response.delete_cookie(COOKIE, httponly=True, samesite="strict")
    response.headers["Clear-Site-Data"] = '"cache", "storage"'  # also what was kept for times without signal
    return response


@router.post("/light")
def light(form: Form) -> Response:
    """Light or dark pages, or as the device says."""
    response = RedirectResponse(inside(form.get("back", "/")), 303)
    chosen = form.get("light", "")
    if chosen in LIGHTS:
        response.set_cookie(LIGHT_COOKIE, chosen, max_age=A_YEAR, httponly=True, samesite="lax")
    return response


def inside(address: str) -> str:
    """The address if it leads to a page of this server, else the first page."""
    parts = urlsplit(address)
    safe = address.startswith("/") and not address.startswith(("//", "/\\")) and not (parts.scheme or parts.netloc)
    return address if safe and address.isprintable() and "\\" not in address else "/"
