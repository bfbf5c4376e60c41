"""How the service fares: health and counts."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Depends, Request, Response

from advisor.advice import default_rules
from advisor.api import metrics
from advisor.api.asking import Asking
from advisor.api.exchange import JSON, accepting, answer, only_known
from advisor.api.problems import refusals
from advisor.ecosystem import knowledge

router = APIRouter(tags=["state"], dependencies=[Depends(only_known)])


@router.get("/health", dependencies=[Depends(accepting(JSON))], responses=refusals(304, 406, 422))
def health(request: Request) -> dict[str, Any]:
    """Whether the service can answer, and the edition of rules and knowledge that it answers with."""
    return answer(  # type: ignore[return-value]
        request, {"status": "ok", "rules": default_rules().edition, "knowledge": knowledge().edition}
    )


@router.get(
    "/metrics",
    response_class=Response,
    dependencies=[Depends(accepting("text/plain"))],
    responses={200: {"content": {"text/plain": {"schema": {"type": "string"}}}}, **refusals(401, 406, 422, 429)},
)
def counts(request: Request, asker: Asking) -> Response:
    """Requests and times since this process began, in Prometheus' text format."""
    return Response(request.app.state.metrics.text(), media_type=metrics.MEDIA_TYPE)
