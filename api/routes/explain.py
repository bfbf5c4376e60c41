"""Why, why not, what if, and where to look next."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Request, Response
from starlette.exceptions import HTTPException

from advisor.advice import Answer
from advisor.api.asking import Asker, Asking
from advisor.api.exchange import JSON, accepting, answer, body_of, fields_of, in_turn, only_known
from advisor.api.problems import refusals
from advisor.api.queries import AdviceId, On
from advisor.api.routes.advice import advise_file, kept_advice
from advisor.api.shapes import EXAMPLE, body
from advisor.api.shelf import Shelf
from advisor.errors import InputError, Problem

router = APIRouter(tags=["explanations"], dependencies=[Depends(only_known), Depends(accepting(JSON))])
_SOME: dict[int | str, dict[str, Any]] = {200: {"content": {JSON: {"schema": {"type": "object"}}}}}
_LIST: dict[int | str, dict[str, Any]] = {
    200: {"content": {JSON: {"schema": {"type": "array", "items": {"type": "object"}}}}}
}
_REFUSALS = refusals(401, 403, 404, 406, 413, 415, 422, 429, 501)

RecommendationId = Annotated[str, Path(min_length=1, max_length=200, description="The recommendation's id.")]


@router.get(
    "/advice/{advice}/recommendations/{recommendation}/why",
    responses={**_SOME, **refusals(304, 401, 403, 404, 406, 422, 429, 501)},
)
async def why(request: Request, advice: AdviceId, recommendation: RecommendationId, asker: Asking) -> Response:
    """Why it was recommended: a tree from the recommendation down to what was seen, with figures and sources."""
    shelf = request.app.state.shelf

    def act() -> Any:
        return recommended(shelf, asker, advice, recommendation).why(recommendation)

    return answer(request, await in_turn(request, act))


@router.get("/advice/{advice}/look-next", responses={**_LIST, **refusals(304, 401, 403, 404, 406, 422, 429, 501)})
async def look_next(request: Request, advice: AdviceId, asker: Asking) -> Response:
    """The looks that could change most of the advice, the most decisive first."""
    shelf = request.app.state.shelf
    return answer(request, await in_turn(request, lambda: _run(shelf, asker, advice).look_next()))


@router.post(
    "/why-not",
    responses={**_SOME, **_REFUSALS},
    openapi_extra=body("WhyNotAsked", {"file": EXAMPLE, "practice": "first-mow", "block": "upper"}),
)
async def why_not(request: Request, asker: Asking, on: On) -> Response:
    """Why a practice was not advised, and the smallest change that would bring it about."""
    asked = fields_of(await body_of(request), ("file", "advice", "practice", "block"), ("practice",))
    for name in ("practice", "block"):
        if not isinstance(asked.get(name), str | None):
            raise InputError(Problem("request", name, f"{name} must be a word", f"Write the id of a {name}."))
    shelf = request.app.state.shelf
    return answer(
        request,
        await in_turn(request, lambda: _asked(shelf, asker, asked, on).why_not(asked["practice"], asked.get("block"))),
    )


@router.post(
    "/what-if",
    responses={**_SOME, **_REFUSALS},
    openapi_extra=body("WhatIfAsked", {"file": EXAMPLE, "changes": {"set": {"blocks.upper.floor": "turf"}}}),
)
async def what_if(request: Request, asker: Asking, on: On) -> Response:
    """What changed inputs would change in the advice: what appears, disappears and moves."""
    asked = fields_of(await body_of(request), ("file", "advice", "changes"), ("changes",))
    shelf = request.app.state.shelf
    return answer(
        request,
        await in_turn(request, lambda: _asked(shelf, asker, asked, on).what_if(asked["changes"], files=False)),
    )


def recommended(shelf: Shelf, asker: Asker, advice: str, recommendation: str) -> Answer:
    """A kept advice, run again; 404 if it holds no such recommendation."""
    kept = kept_advice(shelf, asker, advice)
    if all(one.id != recommendation for one in kept.answer.recommendations):
        raise HTTPException(404, f"There is no recommendation {recommendation[:80]!r} in this advice.")
    return shelf.journal().run_of(advice)


def _run(shelf: Shelf, asker: Asker, advice: str) -> Answer:
    """A kept advice, run again."""
    kept_advice(shelf, asker, advice)
    return shelf.journal().run_of(advice)


def _asked(shelf: Shelf, asker: Asker, asked: Any, on: dt.date | dt.datetime | None) -> Answer:
    """The answer that a question is about: of a kept advice, or of the orchard file that was sent along."""
    if ("file" in asked) == ("advice" in asked):
        raise InputError(
            Problem("request", "file", "either file or advice is wanted", "Send an orchard file, or an advice's id.")
        )
    if "file" in asked:
        return advise_file(asked["file"], on)
    advice = asked["advice"]
    if not isinstance(advice, str):
        raise InputError(Problem("request", "advice", "this is no id of an advice", "Write the 16 letters of its id."))
    run = _run(shelf, asker, advice)
    return run if on is None else run.run.inputs.again(day=on)
