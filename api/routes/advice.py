"""Advice: on an orchard that is sent along, which keeps nothing, and on one that is kept, which keeps the advice."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fastapi import APIRouter, Depends, Request, Response
from starlette.exceptions import HTTPException

from advisor.advice import Answer, advise
from advisor.answer import AnswerShape
from advisor.api.asking import Asker, Asking
from advisor.api.exchange import JSON, accepting, answer, body_of, in_turn, only_known
from advisor.api.paging import After, Limit, Page, page, place
from advisor.api.problems import refusals
from advisor.api.queries import AdviceId, On, Readable
from advisor.api.shapes import EXAMPLE, body
from advisor.api.shelf import Shelf, journal
from advisor.errors import InputError, Problem
from advisor.orchard import load_orchard

router = APIRouter(tags=["advice"], dependencies=[Depends(only_known), Depends(accepting(JSON))])


@router.post(
    "/advice",
    response_model=AnswerShape,
    responses=refusals(401, 403, 406, 413, 415, 422, 429),
    openapi_extra=body("OrchardFile", EXAMPLE),
)
async def advise_on_file(request: Request, asker: Asking, on: On) -> Response:
    """Advice for the orchard in the body: the orchard file as JSON, with weather and forecast as hourly records."""
    return answer(request, await in_turn(request, advise_file, await body_of(request), on))


@router.get(
    "/orchards/{orchard}/advice",
    response_model=AnswerShape,
    responses=refusals(304, 401, 403, 404, 406, 422, 429, 501),
)
async def advise_on_orchard(request: Request, orchard: Readable, on: On) -> Response:
    """Advice for a kept orchard on a day. It is kept, once for the same inputs, and found again by its id."""
    kept = await in_turn(request, lambda: journal(request).advise(orchard, on))
    return answer(request, kept.text.encode(), headers={"Content-Location": f"/advice/{kept.id}"})


@router.get(
    "/orchards/{orchard}/advices",
    response_model=Page,
    responses=refusals(304, 401, 403, 404, 406, 422, 429, 501),
)
def list_advices(request: Request, orchard: Readable, limit: Limit = 50, after: After = None) -> Response:
    """The advices given for an orchard, the newest first."""
    found = journal(request).advices(orchard, place(after, int) or 0, limit + 1)
    return answer(
        request,
        page(found, limit, lambda one: {"advice": one.id, "on": one.on, "at": one.at}, lambda one: one.position),
    )


@router.get("/advice/{advice}", response_model=AnswerShape, responses=refusals(304, 401, 403, 404, 406, 422, 429, 501))
def read_advice(request: Request, advice: AdviceId, asker: Asking) -> Response:
    """An advice that was given, as it was given."""
    return answer(request, kept_advice(request.app.state.shelf, asker, advice).text.encode())


def advise_file(data: Any, on: dt.date | dt.datetime | None) -> Answer:
    """The answer for an orchard file that came as JSON."""
    if not isinstance(data, dict):
        raise InputError(Problem("request", "", "the body is not an orchard file", "Send an object with `orchard`."))
    return advise(load_orchard(data, files=False), on=on)


def kept_advice(shelf: Shelf, asker: Asker, advice: str) -> Any:
    """An advice of the journal; 404 if there is none, or if it is for an orchard that the asker may not read."""
    from advisor.journal import Missing

    try:
        kept = shelf.journal().advice(advice)
    except Missing:
        kept = None
    if kept is None or not asker.may("read", kept.orchard):
        raise HTTPException(404, f"There is no advice {advice!r} here.")
    return kept
