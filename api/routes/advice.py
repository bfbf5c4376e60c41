"""Advice on an orchard that is sent with the request: nothing is kept."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request, Response

from advisor.advice import advise
from advisor.answer import AnswerShape
from advisor.api.asking import Asking
from advisor.api.exchange import JSON, accepting, answer, body_of, in_turn, only_known
from advisor.api.problems import refusals
from advisor.errors import InputError, Problem
from advisor.orchard import load_orchard

router = APIRouter(tags=["advice"], dependencies=[Depends(only_known), Depends(accepting(JSON))])

On = Annotated[str | None, Query(description="The day, such as 2026-05-18, or an ISO time; today if left out.")]


@router.post(
    "/advice",
    response_model=AnswerShape,
    responses=refusals(401, 406, 413, 415, 422, 429),
    openapi_extra={"requestBody": {"required": True, "content": {JSON: {"schema": {"type": "object"}}}}},
)
async def advice(request: Request, asker: Asking, on: On = None) -> Response:
    """Advice for the orchard in the body: the orchard file as JSON, with weather and forecast as hourly records."""
    return answer(request, await in_turn(request, _advise, await body_of(request), on))


def _advise(data: Any, on: str | None) -> dict[str, Any]:
    if not isinstance(data, dict):
        raise InputError(Problem("request", "", "the body is not an orchard file", "Send an object with `orchard`."))
    return advise(load_orchard(data, files=False), on=on)
