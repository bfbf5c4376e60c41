"""The same answers in the forms that people keep and pass on: pictures, tables, text, PROV."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request, Response
from starlette.exceptions import HTTPException

from advisor.advice import Answer
from advisor.api.asking import Asking
from advisor.api.exchange import JSON, accepting, answer_bytes, in_turn, only_known
from advisor.api.problems import refusals
from advisor.api.queries import AdviceId, On, Readable
from advisor.api.remembered import following
from advisor.api.routes.explain import RecommendationId, recommended
from advisor.api.routes.seasons import MOST_WEEKS

TEXT, SVG, CSV = "text/plain", "image/svg+xml", "text/csv"
_REFUSALS = refusals(304, 401, 403, 404, 406, 422, 429, 501)
Weeks = Annotated[int, Query(ge=0, le=MOST_WEEKS, description="How many weeks after this one.")]


def _router(kind: str) -> APIRouter:
    return APIRouter(tags=["forms"], dependencies=[Depends(only_known), Depends(accepting(kind))])


def _form(kind: str) -> dict[str, Any]:
    """How a route of this form is documented."""
    said: dict[int | str, dict[str, Any]] = {200: {"content": {kind: {"schema": {"type": "string"}}}}}
    return {"response_class": Response, "responses": {**said, **_REFUSALS}}


texts, pictures, tables, proofs = (_router(kind) for kind in (TEXT, SVG, CSV, JSON))
ROUTERS = (texts, pictures, tables, proofs)
_WHY = "/advice/{advice}/recommendations/{recommendation}"


async def _of_why(
    request: Request, advice: str, recommendation: str, asker: Any, kind: str, make: Callable[[Answer], str]
) -> Response:
    shelf = request.app.state.shelf
    made = await in_turn(request, lambda: make(recommended(shelf, asker, advice, recommendation)))
    return answer_bytes(request, made.encode(), kind if kind == JSON else f"{kind}; charset=utf-8")


@texts.get(f"{_WHY}/why.txt", **_form(TEXT))
async def why_text(request: Request, advice: AdviceId, recommendation: RecommendationId, asker: Asking) -> Response:
    """Why it was recommended, as a grower reads it."""
    from advisor.explain import why_text

    return await _of_why(
        request, advice, recommendation, asker, TEXT, lambda one: why_text.write(one.why(recommendation)) + "\n"
    )


@pictures.get(f"{_WHY}/why.svg", **_form(SVG))
async def why_picture(request: Request, advice: AdviceId, recommendation: RecommendationId, asker: Asking) -> Response:
    """The tree of why, drawn."""
    from advisor.explain import why_picture

    return await _of_why(
        request, advice, recommendation, asker, SVG, lambda one: why_picture.tree_picture(one.why(recommendation))
    )


@pictures.get(f"{_WHY}/ecosystem.svg", **_form(SVG))
async def ecosystem(request: Request, advice: AdviceId, recommendation: RecommendationId, asker: Asking) -> Response:
    """What the practice gives and costs here and now along the paths of the ecosystem, drawn."""
    from advisor.explain import why_picture

    return await _of_why(
        request, advice, recommendation, asker, SVG, lambda one: why_picture.ecosystem_picture(one, recommendation)
    )


@proofs.get(
    f"{_WHY}/why.prov.json",
    response_class=Response,
    responses={200: {"content": {JSON: {"schema": {"type": "object"}}}}, **_REFUSALS},
)
async def why_prov(request: Request, advice: AdviceId, recommendation: RecommendationId, asker: Asking) -> Response:
    """The tree of why as W3C PROV (PROV-JSON): which observations, figures and rules it was derived from."""
    from advisor import extras
    from advisor.explain import prov_export

    if not extras.here("prov"):
        raise HTTPException(501, str(extras.lacking("prov")))
    return await _of_why(
        request, advice, recommendation, asker, JSON, lambda one: prov_export.prov_json(one, one.why(recommendation))
    )


async def _of_plan(request: Request, orchard: str, on: Any, weeks: int, kind: str, make: Callable[[Any], str]) -> Response:
    found = await in_turn(request, following, request, orchard, on, ("plan", weeks), lambda one: one.plan(weeks))
    return answer_bytes(request, make(json.loads(found)).encode(), f"{kind}; charset=utf-8")


@tables.get("/orchards/{orchard}/plan.csv", **_form(CSV))
async def plan_table(request: Request, orchard: Readable, on: On, weeks: Weeks = 8) -> Response:
    """The plan as a table for a spreadsheet: a row for each day of each job, and for each job that does not fit."""
    from advisor.hours import tables as hour_tables

    return await _of_plan(request, orchard, on, weeks, CSV, hour_tables.as_csv)


@pictures.get("/orchards/{orchard}/plan.svg", **_form(SVG))
async def plan_picture(request: Request, orchard: Readable, on: On, weeks: Weeks = 8) -> Response:
    """The hours of the weeks against those there are, and the year's budget, drawn."""
    from advisor.hours import picture

    return await _of_plan(request, orchard, on, weeks, SVG, picture.picture)


@pictures.get("/orchards/{orchard}/bloom.svg", **_form(SVG))
async def bloom_picture(request: Request, orchard: Readable, on: On) -> Response:
    """Who is in flower in which week, drawn."""
    from advisor.habitat import draw

    found = await in_turn(request, following, request, orchard, on, ("bloom",), lambda one: one.bloom())
    return answer_bytes(request, draw(json.loads(found)).encode(), f"{SVG}; charset=utf-8")
