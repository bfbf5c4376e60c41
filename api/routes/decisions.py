"""What the grower did about a recommendation: done, refused or overridden, and why; and taking that back."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from fastapi import APIRouter, Depends, Request, Response
from pydantic import BaseModel, TypeAdapter, ValidationError

from advisor.api.asking import LOCAL, Asking
from advisor.api.exchange import JSON, accepting, answer, body_of, in_turn, only_known
from advisor.api.paging import After, Limit, Page, page, place
from advisor.api.problems import refusals
from advisor.api.queries import Key, Readable, Recordable
from advisor.api.routes.advice import kept_advice
from advisor.api.shapes import DecisionMade, body
from advisor.api.shelf import journal
from advisor.errors import InputError
from advisor.given import problems_of
from advisor.reading import Document

router = APIRouter(tags=["decisions"], dependencies=[Depends(only_known), Depends(accepting(JSON))])
_WORK = ("amount", "material", "area", "content")


class Kept(BaseModel):
    """A decision as it is kept; `observation` is the id of the work that it recorded."""

    position: int
    at: str
    orchard: str
    advice: str
    recommendation: str
    state: str
    reason: str | None
    hours: float | None
    note: str | None
    by: str | None
    on: str | None
    observation: str | None


_EXAMPLE = {
    "advice": "0123456789abcdef",
    "recommendation": "first-mow-feeder-roots-upper-2026",
    "state": "refused",
    "reason": "weather",
}


@router.post(
    "/orchards/{orchard}/decisions",
    status_code=201,
    response_model=Kept,
    responses=refusals(401, 403, 404, 406, 409, 413, 415, 422, 429, 501),
    openapi_extra=body("DecisionMade", _EXAMPLE),
)
async def decide(request: Request, orchard: Recordable, asker: Asking, key: Key) -> Response:
    """Record what was done about a recommendation. `done` also records the work, so that later advice knows of it;
    `taken-back` undoes what was decided last, and 409 says that nothing was."""
    given = await body_of(request)
    try:
        made = TypeAdapter(DecisionMade).validate_python(given)
    except ValidationError as fault:
        raise InputError(problems_of(fault, DecisionMade, Document(given, "request"))) from None
    kept_advice(request.app.state.shelf, asker.only(orchard), made.advice)
    name = made.by or (None if asker is LOCAL else asker.name)
    work = {field: given[field] for field in _WORK if given.get(field) is not None}
    decision = await in_turn(
        request,
        lambda: journal(request).decide(
            made.advice,
            made.recommendation,
            made.state,
            made.reason,
            hours=made.hours,
            note=made.note,
            by=name,
            on=made.on,
            work=work,
            key=key,
        ),
    )
    return answer(request, asdict(decision), status=201)


@router.get(
    "/orchards/{orchard}/decisions",
    response_model=Page,
    responses=refusals(304, 401, 403, 404, 406, 422, 429, 501),
)
def list_decisions(request: Request, orchard: Readable, limit: Limit = 50, after: After = None) -> Response:
    """What was decided and taken back, oldest first. On each recommendation of an advice the last counts."""
    since = place(after, int) or 0
    found = [one for one in journal(request).decisions(orchard) if one.position > since]
    return answer(request, page(found, limit, asdict, lambda one: one.position))


@router.get("/reasons", responses=refusals(304, 401, 403, 406, 422, 429))
def list_reasons(request: Request, asker: Asking) -> dict[str, Any]:
    """The reasons that are offered for each decision; own words are taken as well."""
    from advisor.journal.deciding import REASONS

    return answer(request, REASONS)  # type: ignore[return-value]
