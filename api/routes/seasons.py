"""The week's plan, the calendar that shows it, and the succession of bloom of a kept orchard."""

from __future__ import annotations

import re
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from fastapi.security import APIKeyQuery
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from advisor.api.asking import Asker, Asking, Maybe, bearer, door, someone
from advisor.api.exchange import JSON, accepting, answer, answer_bytes, in_turn, only_known
from advisor.api.problems import refusals
from advisor.api.queries import On, OrchardId, Readable, Ruled
from advisor.api.remembered import following
from advisor.api.shelf import Shelf, journal
from advisor.errors import InputError, Problem
from advisor.habitat.terms import Terms, read_prices
from advisor.words import known

router = APIRouter(tags=["seasons"], dependencies=[Depends(only_known), Depends(accepting(JSON))])
calendar_router = APIRouter(tags=["seasons"], dependencies=[Depends(accepting("text/calendar"))])

_SOME: dict[int | str, dict[str, Any]] = {200: {"content": {JSON: {"schema": {"type": "object"}}}}}
_REFUSALS = refusals(304, 401, 403, 404, 406, 422, 429, 501)
MOST_WEEKS, MOST_WANTED, MOST_PRICES = 12, 20, 100
CALENDAR = "text/calendar"
_PLANTS = "|".join(sorted(known("plant")))
_PRICE = r"(0\.\d?[1-9]|[1-9]\d{0,5}(\.\d{1,2})?)"


@router.get("/orchards/{orchard}/plan", responses={**_SOME, **_REFUSALS})
async def plan(
    request: Request,
    orchard: Readable,
    on: On,
    weeks: Annotated[int, Query(ge=0, le=MOST_WEEKS, description="How many weeks after this one.")] = 8,
) -> Response:
    """This week and the weeks to come: jobs on days, what does not fit and why, the year's hours."""
    found = await in_turn(request, following, request, orchard, on, ("plan", weeks), lambda one: one.plan(weeks))
    return answer(request, found)


@router.get("/orchards/{orchard}/bloom", responses={**_SOME, **_REFUSALS})
async def bloom(
    request: Request,
    orchard: Readable,
    on: On,
    wanted: Annotated[
        str | None,
        Query(
            description="Plants that are asked about, parted by commas.",
            examples=["borage,yarrow"],
            json_schema_extra={"pattern": f"^({_PLANTS})(,({_PLANTS})){{0,{MOST_WANTED - 1}}}$"},
        ),
    ] = None,
    permanent: Annotated[bool, Query(description="Accept plants that stay for good or spread hard.")] = False,
    toxic: Annotated[bool, Query(description="Accept plants poisonous to people or stock; they say so.")] = True,
    annuals: Annotated[bool, Query(description="Accept plants that are sown anew each year.")] = True,
    grazed: Annotated[bool | None, Query(description="Animals graze there; as the orchard tells if left out.")] = None,
    nitrogen: Annotated[bool, Query(description="A plant that fixes nitrogen is wanted.")] = False,
    most: Annotated[int | None, Query(ge=1, le=40, description="Kinds to add at the most.")] = None,
    prices: Annotated[
        str | None,
        Query(
            description="What enough of a plant costs, in money or hours of work, as PLANT=PRICE parted by commas; then the "
            "cheapest set of those with a price is sought, not the fewest.",
            examples=["borage=4,yarrow=6.5"],
            json_schema_extra={"pattern": f"^({_PLANTS})={_PRICE}(,({_PLANTS})={_PRICE}){{0,{MOST_PRICES - 1}}}$"},
        ),
    ] = None,
) -> Response:
    """Who blooms when and for whom, where a week lacks food, and which plants would close the gaps."""
    names = [] if wanted is None else wanted.split(",")
    if len(names) > MOST_WANTED:
        raise InputError(
            Problem("request", "wanted", f"{len(names)} plants are asked about", f"Ask about {MOST_WANTED} at most.")
        )
    terms = {
        "permanent": permanent,
        "toxic": toxic,
        "annuals": annuals,
        "grazed": grazed,
        "nitrogen": nitrogen,
        "most": most,
    }
    usual = Terms().model_dump()
    asked: dict[str, Any] = {name: value for name, value in terms.items() if value != usual[name]}
    what: tuple[Any, ...] = ("bloom", *names, *asked.items())
    if prices is not None:
        asked["prices"] = _prices(prices)
        what = (*what, *sorted(asked["prices"].items()))
    found = await in_turn(
        request, following, request, orchard, on, what, lambda one: one.bloom(wanted=names, terms=asked)
    )
    return answer(request, found)


def _prices(written: str) -> dict[str, str]:
    each = written.split(",")
    if len(each) > MOST_PRICES:
        raise InputError(Problem("request", "prices", f"{len(each)} prices are given", f"Give {MOST_PRICES} at most."))
    found = read_prices(each, "request", "prices=")
    for plant, price in found.items():
        if not re.fullmatch(_PRICE, price):
            mend = "Write more than 0 and less than a million, such as 4 or 6.50."
            raise InputError(
                Problem("request", "prices", f"{plant} has no price that can be read", mend, value=price[:60])
            )
    return found


# --- the calendar -----------------------------------------------------------------------------

_key = APIKeyQuery(name="key", scheme_name="CalendarKey", auto_error=False, description="The key of a calendar.")


class CalendarKey(BaseModel):
    """A key that opens one orchard's calendar and nothing else. `address` is for a calendar program; shown this once."""

    id: str
    key: str
    address: str


class KnownKey(BaseModel):
    """A key of a calendar, without its secret."""

    id: str
    name: str
    created: str


def _subscriber(
    request: Request,
    orchard: OrchardId,
    asker: Maybe,
    key: Annotated[str | None, Depends(_key)],
    _: Annotated[object, Depends(bearer)],
) -> str:
    """The orchard whose calendar may be read: by its key, or as any reader of the orchard."""
    if key is None:
        someone(asker, _).demand("read", orchard)
        return orchard
    shelf: Shelf = request.app.state.shelf
    tokens = shelf.tokens()
    found = tokens.find(key, "calendar") if tokens else None
    door(request).take(request, Asker(found.id, found.name, found.grants) if found else None)
    if found is None:
        raise HTTPException(401, "This key opens no calendar, or was revoked.", {"WWW-Authenticate": "Bearer"})
    Asker(found.id, found.name, found.grants).demand("read", orchard)
    request.state.asker = found.id
    return orchard


@calendar_router.get(
    "/orchards/{orchard}/calendar.ics",
    response_class=Response,
    responses={200: {"content": {CALENDAR: {"schema": {"type": "string"}}}}, **_REFUSALS},
)
async def calendar(request: Request, orchard: Annotated[str, Depends(_subscriber)]) -> Response:
    """The planned work as a calendar to subscribe to (RFC 5545): by a key of its own, or by a token."""

    def act() -> bytes:
        kept = journal(request)
        from advisor.api.calendars import calendar_of

        return calendar_of(kept, orchard)

    return answer_bytes(request, await in_turn(request, act), f"{CALENDAR}; charset=utf-8")


@router.post(
    "/orchards/{orchard}/calendar-keys",
    status_code=201,
    response_model=CalendarKey,
    responses=refusals(401, 403, 404, 406, 422, 429, 501),
)
def make_calendar_key(request: Request, orchard: Ruled, asker: Asking) -> Response:
    """Make a key for the orchard's calendar, which only reads it and can be revoked by itself."""
    journal(request).orchard(orchard)
    made, secret = _tokens(request).create(f"calendar of {orchard}"[:80], {orchard: "read"}, "calendar")
    path = f"/orchards/{orchard}/calendar.ics?key={secret}"
    found = {"id": made.id, "key": secret, "address": f"{str(request.base_url).rstrip('/')}{path}"}
    return answer(request, found, status=201)


@router.get(
    "/orchards/{orchard}/calendar-keys",
    response_model=list[KnownKey],
    responses=refusals(304, 401, 403, 404, 406, 422, 429, 501),
)
def list_calendar_keys(request: Request, orchard: Ruled) -> Response:
    """The keys of the orchard's calendar that hold."""
    found = [
        {"id": one.id, "name": one.name, "created": one.created}
        for one in _tokens(request).all()
        if one.purpose == "calendar" and one.revoked is None and orchard in one.grants
    ]
    return answer(request, found)


@router.delete(
    "/orchards/{orchard}/calendar-keys/{key}",
    status_code=204,
    response_class=Response,
    responses=refusals(401, 403, 404, 406, 422, 429, 501),
)
def revoke_calendar_key(
    request: Request, orchard: Ruled, key: Annotated[str, Path(pattern="^[0-9a-f]{12}$", description="The key's id.")]
) -> Response:
    """Revoke a key; calendars that use it are refused from then on."""
    tokens = _tokens(request)
    mine = any(one.id == key and one.purpose == "calendar" and orchard in one.grants for one in tokens.all())
    if not mine or not tokens.revoke(key):
        raise HTTPException(404, f"No key {key!r} of this calendar holds.")
    return Response(status_code=204)


def _tokens(request: Request) -> Any:
    journal(request)  # 501 where nothing can be kept
    return request.app.state.shelf.tokens()
