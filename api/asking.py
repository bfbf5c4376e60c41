"""Who is asking: one place for the JSON routes and the pages.

A request says who it is by `Authorization: Bearer TOKEN`, or by the cookie that signing in on the pages set. It becomes
an `Asker`, who has a scope (read, record, admin) on each orchard that the token names:

    from advisor.api.asking import Asking

    @router.get("/orchards/{orchard}/advice")
    def advice(orchard: str, asker: Asking): ...
        asker.demand("read", orchard)       # 404 for an orchard that is not theirs, 403 for a scope that is too small

For pages: `door(request).sign_in(token)` gives the asker of a token that was typed in, or None; set the token as the
cookie `COOKIE` (HttpOnly, SameSite=Strict, Secure on https). `Maybe` is the asker or None, for pages that then show
the way to sign in. `form_value(request)` is the anti-forgery value to put into every form, `check_form(request, value)`
refuses a form without it. `asker.orchards` are the ids it names, None for all.

Without tokens (the default on loopback) everyone who reaches the service from this machine is the owner of all. So that
no web page elsewhere can use that, the request must come from this machine, name this machine as its host, and not
come from another origin.
"""

from __future__ import annotations

import hmac
import ipaddress
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from hashlib import sha256
from math import ceil
from typing import TYPE_CHECKING, Annotated
from urllib.parse import urlsplit

from fastapi import Depends, Request
from fastapi.security import HTTPBearer
from starlette.exceptions import HTTPException

from advisor.api.limits import Rate

if TYPE_CHECKING:
    from advisor.api.tokens import Tokens

COOKIE = "underbough"
SCOPES = ("read", "record", "admin")  # each may do what the ones before it may
EVERY = "*"  # the orchard name of a grant that holds for all, also for orchards still to come
_SAFE = ("GET", "HEAD", "OPTIONS")
_CHALLENGE = {"WWW-Authenticate": "Bearer"}


@dataclass(frozen=True)
class Asker:
    """Who asks. id: of the token, or "local". name: as the token was named. grants: orchard id, or *, and scope."""

    id: str
    name: str
    grants: Mapping[str, str]

    @property
    def orchards(self) -> frozenset[str] | None:
        """The orchards it may read; None for all."""
        return None if EVERY in self.grants else frozenset(self.grants)

    def may(self, scope: str, orchard: str) -> bool:
        """Whether it has at least this scope on an orchard."""
        held = [self.grants[name] for name in (orchard, EVERY) if name in self.grants]
        return any(SCOPES.index(one) >= SCOPES.index(scope) for one in held)

    def only(self, orchard: str) -> Asker:
        """The same asker, for one orchard alone."""
        held = {name: scope for name, scope in self.grants.items() if name in (orchard, EVERY)}
        best = max(held.values(), key=SCOPES.index, default=None)
        return replace(self, grants={orchard: best} if best else {})

    def demand(self, scope: str, orchard: str) -> None:
        """Refuse unless it may: an orchard that it may not even read is, for it, not there."""
        if self.may(scope, orchard):
            return
        if not self.may("read", orchard):
            raise missing_orchard(orchard)
        raise HTTPException(403, f"This token may not do that on {orchard!r}: it wants the scope {scope}.")


LOCAL = Asker("local", "this machine", {EVERY: "admin"})


def missing_orchard(orchard: str) -> HTTPException:
    """The refusal for an orchard that is not there, and for one that is another owner's: nobody can tell which."""
    return HTTPException(404, f"There is no orchard {orchard[:80]!r} here.")


class Door:
    """Tells who asks, and refuses those who may not.

    tokens: the tokens of the journal, or None where no journal can be opened. required: whether everyone needs one.
    mark: a secret of this service, the same in all its workers, for the forms of those who need no token.
    """

    def __init__(self, tokens: Callable[[], Tokens | None], required: bool, rate: Rate, mark: str) -> None:
        self._tokens = tokens
        self.required = required
        self.rate = rate
        self._mark = mark.encode()

    def asker(self, request: Request) -> Asker | None:
        """Who asks, or None if that is not said. A token that is not known is refused; nobody falls back to less."""
        token, from_cookie = self._token(request)
        if token is None:
            if not self.required and _from_here(request):
                _refuse_other_origins(request)
                return LOCAL
            return None
        found = self.sign_in(token)
        if found is None:
            if from_cookie:  # signed out by revoking: as if nobody had signed in
                return None
            raise HTTPException(401, "This token is not known here, or was revoked.", _CHALLENGE)
        if from_cookie:
            _refuse_other_origins(request)
        return found

    def sign_in(self, token: str) -> Asker | None:
        """The asker of a token, None if it is unknown or revoked."""
        tokens = self._tokens()
        found = tokens.find(token) if tokens else None
        return Asker(found.id, found.name, found.grants) if found else None

    def take(self, request: Request, asker: Asker | None) -> None:
        """Count a request; refuse it when the asker has asked too often of late."""
        client = request.client.host if request.client else "here"
        wait = self.rate.wait(asker.id if asker and asker is not LOCAL else f"address {client}")
        if wait:
            seconds = max(1, ceil(wait))
            detail = f"Too many requests. Ask again in {seconds} s."
            raise HTTPException(429, detail, {"Retry-After": str(seconds)})

    def form_value(self, request: Request) -> str:
        """What a form must carry so that no other site can send it: bound to the token, or to this service."""
        token, _ = self._token(request)
        return hmac.new(token.encode() if token else self._mark, b"form", sha256).hexdigest()

    @staticmethod
    def _token(request: Request) -> tuple[str | None, bool]:
        """The token, and whether the cookie brought it."""
        header = request.headers.get("authorization")
        if header is not None:
            kind, _, token = header.partition(" ")
            if kind.lower() != "bearer" or not token.strip():
                raise HTTPException(401, "Write the header as Authorization: Bearer TOKEN.", _CHALLENGE)
            return token.strip(), False
        return request.cookies.get(COOKIE), True


def door(request: Request) -> Door:
    """The door of the app that a request came to."""
    found: Door = request.app.state.door
    return found


def form_value(request: Request) -> str:
    """The anti-forgery value for the forms of a page."""
    return door(request).form_value(request)


def check_form(request: Request, value: object) -> None:
    """Refuse a form that does not carry the value which its page was given."""
    if not isinstance(value, str) or not hmac.compare_digest(value.encode(), form_value(request).encode()):
        raise HTTPException(403, "This form has grown old. Load the page again and repeat it.")


def maybe(request: Request) -> Asker | None:
    """Who asks, or None if nobody has signed in."""
    here = door(request)
    try:
        found = here.asker(request)
    except HTTPException:
        here.take(request, None)  # guessing is counted too
        raise
    here.take(request, found)
    request.state.asker = found.id if found else None
    return found


bearer = HTTPBearer(auto_error=False, description="A token made by `underbough token create`.")  # for the document


def someone(found: Annotated[Asker | None, Depends(maybe)], _: Annotated[object, Depends(bearer)]) -> Asker:
    """Who asks; 401 if that is not said."""
    if found is None:
        raise HTTPException(401, "This service asks for a token: Authorization: Bearer TOKEN.", _CHALLENGE)
    return found


Maybe = Annotated[Asker | None, Depends(maybe)]
Asking = Annotated[Asker, Depends(someone)]


def _from_here(request: Request) -> bool:
    """Whether a request comes from this machine and means it. In-process callers have a name instead of an address.

    A host with a dot that is no address could be a stranger's name that points at this machine, or a proxy's.
    """
    host = urlsplit(f"//{request.headers.get('host', '')}").hostname or ""
    return _is_here(request.client.host if request.client else "here") and _is_here(host)


def _is_here(name: str) -> bool:
    try:
        return ipaddress.ip_address(name).is_loopback
    except ValueError:
        return bool(name) and "." not in name


def _refuse_other_origins(request: Request) -> None:
    """A page of another site may not change anything with the cookie, or the place, of the one who looks at it."""
    origin = request.headers.get("origin")
    if request.method in _SAFE or origin is None:
        return
    if urlsplit(origin).netloc != request.headers.get("host"):
        raise HTTPException(403, "This request comes from another site.")
