"""The week's plan and the succession of bloom of a kept orchard."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request, Response

from advisor.api.exchange import JSON, accepting, answer, in_turn, only_known
from advisor.api.problems import refusals
from advisor.api.queries import On, Readable
from advisor.api.shelf import journal

router = APIRouter(tags=["seasons"], dependencies=[Depends(only_known), Depends(accepting(JSON))])
_SOME: dict[int | str, dict[str, Any]] = {200: {"content": {JSON: {"schema": {"type": "object"}}}}}
_REFUSALS = refusals(304, 401, 403, 404, 406, 422, 429, 501)
MOST_WEEKS, MOST_WANTED = 26, 20


@router.get("/orchards/{orchard}/plan", responses={**_SOME, **_REFUSALS})
async def plan(
    request: Request,
    orchard: Readable,
    on: On,
    weeks: Annotated[int, Query(ge=0, le=MOST_WEEKS, description="How many weeks after this one.")] = 8,
) -> Response:
    """This week and the weeks to come: jobs on days, what does not fit and why, the year's hours."""

    def act() -> Any:
        from advisor.hours import plan

        return plan(journal(request).file_of(orchard), on, weeks=weeks)

    return answer(request, await in_turn(request, act))


@router.get("/orchards/{orchard}/bloom", responses={**_SOME, **_REFUSALS})
async def bloom(
    request: Request,
    orchard: Readable,
    on: On,
    wanted: Annotated[
        str | None,
        Query(max_length=500, description="Plants that are asked about, parted by commas.", examples=["borage,yarrow"]),
    ] = None,
) -> Response:
    """Who blooms when and for whom, where a week lacks food, and which plants would close the gaps."""

    def act() -> Any:
        from advisor.habitat import bloom

        names = [name.strip() for name in (wanted or "").split(",") if name.strip()]
        return bloom(journal(request).file_of(orchard), on, wanted=names[:MOST_WANTED])

    return answer(request, await in_turn(request, act))
