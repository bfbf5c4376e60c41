"""What is seen in a kept orchard: observations and weather."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from advisor.api.exchange import (
    JSON,
    accepting,
    answer,
    body_of,
    demand_type,
    in_turn,
    names,
    only_known,
    tag_of,
    text_of,
    written,
)
from advisor.api.paging import After, Limit, Page, page, place
from advisor.api.problems import refusals
from advisor.api.queries import IfMatch, Key, Readable, Recordable
from advisor.api.shapes import EXAMPLE, HOUR, body, ref
from advisor.api.shelf import Shelf, journal
from advisor.errors import InputError, Problem
from advisor.reading import parse_json
from advisor.written_schema import DATE

CSV = "text/csv"
router = APIRouter(tags=["records"], dependencies=[Depends(only_known), Depends(accepting(JSON))])

ObservationId = Annotated[str, Path(min_length=1, max_length=200, description="The observation's id.")]
_SEEN: dict[str, Any] = {
    "description": "The observation, with its id.",
    "content": {JSON: {"schema": ref("Observation")}},
}


class Recorded(BaseModel):
    """The ids of what was recorded, in the order given."""

    ids: list[str]


class Merged(BaseModel):
    """How many hours an upload of weather made known, corrected, or said again."""

    new: int
    corrected: int
    unchanged: int


@router.post(
    "/orchards/{orchard}/observations",
    status_code=201,
    response_model=Recorded,
    responses=refusals(401, 403, 404, 406, 409, 413, 415, 422, 429, 501),
    openapi_extra=body("Observations", EXAMPLE["observations"], text_csv={"type": "string"}),
)
async def record_observations(request: Request, orchard: Recordable, key: Key) -> Response:
    """Record observations, all or none: as JSON, or as CSV with one row each."""
    kind = demand_type(request, JSON, CSV)
    text = await text_of(request)
    given = text if kind == CSV else _listed(parse_json(text, "request").data)
    name = "request" if kind == CSV else "observations"
    ids = await in_turn(request, lambda: journal(request).observe(orchard, given, key=key, name=name))
    return answer(request, {"ids": ids}, status=201)


@router.get(
    "/orchards/{orchard}/observations",
    response_model=Page,
    responses=refusals(304, 401, 403, 404, 406, 422, 429, 501),
)
def list_observations(
    request: Request,
    orchard: Readable,
    since: Annotated[str | None, Query(pattern=f"^{DATE}$", description="Only those of this day or later.")] = None,
    limit: Limit = 50,
    after: After = None,
) -> Response:
    """The observations that stand, in the order in which they were recorded."""
    found = journal(request).observations(orchard, since, place(after, int) or 0, limit + 1)
    return answer(request, page(found, limit, lambda one: one.given, lambda one: one.position))


@router.get(
    "/orchards/{orchard}/observations/{observation}",
    responses={200: _SEEN, **refusals(304, 401, 403, 404, 406, 422, 429, 501)},
)
def read_observation(request: Request, orchard: Readable, observation: ObservationId) -> Response:
    """One observation as it stands. Its ETag is wanted for correcting or withdrawing it."""
    return answer(request, _standing(request.app.state.shelf, orchard, observation))


@router.put(
    "/orchards/{orchard}/observations/{observation}",
    responses={200: _SEEN, **refusals(401, 403, 404, 406, 412, 413, 415, 422, 428, 429, 501)},
    openapi_extra=body("Observation", EXAMPLE["observations"][1]),  # type: ignore[index]
)
async def correct_observation(
    request: Request, orchard: Recordable, observation: ObservationId, if_match: IfMatch = None
) -> Response:
    """Correct an observation; what it said before stays on record."""
    given = await body_of(request)
    if not isinstance(given, dict):
        raise _not_an_observation()
    shelf = request.app.state.shelf

    def act() -> Any:
        _match(_standing(shelf, orchard, observation), if_match)
        journal(request).correct(orchard, observation, given)
        return _standing(shelf, orchard, observation)

    said = await in_turn(request, act)
    return answer(request, said, tag=tag_of(written(said)))


@router.delete(
    "/orchards/{orchard}/observations/{observation}",
    status_code=204,
    response_class=Response,
    responses=refusals(401, 403, 404, 406, 412, 422, 428, 429, 501),
)
def withdraw_observation(
    request: Request, orchard: Recordable, observation: ObservationId, if_match: IfMatch = None
) -> Response:
    """Take back an observation; that it was made, and taken back, stays on record."""
    _match(_standing(request.app.state.shelf, orchard, observation), if_match)
    journal(request).withdraw(orchard, observation)
    return Response(status_code=204)


@router.post(
    "/orchards/{orchard}/weather",
    response_model=Merged,
    responses=refusals(401, 403, 404, 406, 409, 413, 415, 422, 429, 501),
    openapi_extra=body("Hours", [HOUR], text_csv={"type": "string"}),
)
async def record_weather(
    request: Request,
    orchard: Recordable,
    key: Key,
    forecast: Annotated[bool, Query(description="Whether it is a forecast.")] = False,
) -> Response:
    """Lay hourly weather over what is known, as CSV or as a list of hours. What a correction replaces stays on record."""
    kind = demand_type(request, JSON, CSV)
    text = await text_of(request)
    rows = text if kind == CSV else parse_json(text, "request").data
    if kind == JSON and not isinstance(rows, list):
        raise InputError(Problem("request", "", "weather must be a list of hours", "Send [{time: ..., temp_c: ...}]."))
    counts = await in_turn(request, lambda: journal(request).weather(orchard, rows, forecast=forecast, key=key))
    return answer(request, counts)


def _listed(data: Any) -> list[Any]:
    """The observations of a body: a list, one alone, or an observations file."""
    if isinstance(data, dict) and "kind" not in data and set(data) == {"observations"}:
        data = data["observations"]
    if isinstance(data, dict):
        return [data]
    if not isinstance(data, list):
        raise _not_an_observation()
    return data


def _not_an_observation() -> InputError:
    return InputError(
        Problem("request", "", "this is no observation", "Send {date: ..., kind: ...}, or a list of them.")
    )


def _standing(shelf: Shelf, orchard: str, observation: str) -> Any:
    found = next((one for one in shelf.journal().observations(orchard) if one.id == observation), None)
    if found is None:
        raise HTTPException(404, f"There is no observation {observation[:80]!r} in this orchard.")
    return found.given


def _match(said: Any, if_match: str | None) -> None:
    if if_match is None:
        raise HTTPException(428, "Send If-Match with the ETag that GET gives, so that nobody's change is lost.")
    if not names(if_match, tag_of(written(said))):
        raise HTTPException(412, "The observation was changed since. Read it again.")
