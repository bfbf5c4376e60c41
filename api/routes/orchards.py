"""Orchards: what is kept of them."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Depends, Request, Response
from starlette.exceptions import HTTPException

from advisor.api.asking import Asking
from advisor.api.exchange import JSON, accepting, answer, body_of, in_turn, names, only_known
from advisor.api.paging import After, Limit, Page, page, place
from advisor.api.problems import refusals
from advisor.api.queries import IfMatch, IfNoneMatch, Readable, Ruled
from advisor.api.shapes import EXAMPLE, body, ref
from advisor.api.shelf import Shelf, journal
from advisor.errors import InputError, Problem

router = APIRouter(tags=["orchards"], dependencies=[Depends(only_known), Depends(accepting(JSON))])

_FILE: dict[str, Any] = {
    "description": "The orchard file, without the observations and weather that are kept beside it.",
    "content": {JSON: {"schema": ref("OrchardFile")}},
    "headers": {"ETag": {"description": "The version.", "schema": {"type": "string"}}},
}


@router.get("/orchards", response_model=Page, responses=refusals(304, 401, 403, 404, 406, 422, 429, 501))
def list_orchards(request: Request, asker: Asking, limit: Limit = 50, after: After = None) -> Response:
    """The orchards that the asker may read, by id."""
    found = _visible(request.app.state.shelf, asker.orchards, place(after, str), limit + 1)
    return answer(request, page(found, limit, _shown, lambda one: str(one.id)))


@router.get("/orchards/{orchard}", responses={200: _FILE, **refusals(304, 401, 403, 404, 406, 422, 429, 501)})
def read_orchard(request: Request, orchard: Readable) -> Response:
    """The orchard file as it was put last. Its ETag is wanted for putting it again."""
    version = journal(request).orchard(orchard)
    return answer(request, version.content, tag=_tag(version))


@router.put(
    "/orchards/{orchard}",
    responses={200: _FILE, 201: _FILE, **refusals(401, 403, 404, 406, 412, 413, 415, 422, 428, 429, 501)},
    openapi_extra=body("OrchardFile", EXAMPLE),
)
async def put_orchard(
    request: Request,
    orchard: Ruled,
    if_match: IfMatch = None,
    if_none_match: IfNoneMatch = None,
) -> Response:
    """Keep an orchard file, new (201) or in place of the one whose ETag If-Match names (200).

    Observations and weather in it are kept as records of their own.
    """
    content = await body_of(request)
    if not isinstance(content, dict):
        raise InputError(Problem("request", "", "the body is not an orchard file", "Send an object with `orchard`."))
    version, new = await in_turn(request, _put, request.app.state.shelf, orchard, content, if_match, if_none_match)
    headers = {"Location": f"/orchards/{orchard}"} if new else None
    return answer(request, version.content, status=201 if new else 200, tag=_tag(version), headers=headers)


def _put(shelf: Shelf, orchard: str, content: Any, if_match: str | None, if_none_match: str | None) -> tuple[Any, bool]:
    from advisor.journal import Conflict, Missing

    kept = shelf.journal()
    try:
        now = kept.orchard(orchard)
    except Missing:
        now = None
    if now is None and if_match is not None:
        raise HTTPException(412, "There is no such orchard yet: put it without If-Match.")
    if now is not None and names(if_none_match, _tag(now)):
        raise HTTPException(412, "There is such an orchard already.")
    if now is not None and if_match is None:
        raise HTTPException(428, "Send If-Match with the ETag that GET gives, so that nobody's change is lost.")
    if now is not None and not names(if_match, _tag(now)):
        raise HTTPException(412, "The orchard was changed since. Read it again, then put it.")
    try:
        return kept.put_orchard(orchard, content, version=now.number if now else 0), now is None
    except Conflict:
        raise HTTPException(412, "The orchard was changed at the same moment. Read it again, then put it.") from None


def _visible(shelf: Shelf, allowed: frozenset[str] | None, after: str | None, most: int) -> list[Any]:
    from advisor.journal import Missing

    kept = shelf.journal()
    if allowed is None:
        return kept.orchards(after, most)
    found = []
    for id_ in sorted(one for one in allowed if after is None or one > after):
        try:
            found.append(kept.orchard(id_))
        except Missing:
            continue
        if len(found) == most:
            break
    return found


def _shown(version: Any) -> dict[str, Any]:
    return {"id": version.id, "name": str(version.content["orchard"]["name"]), "version": version.number}


def _tag(version: Any) -> str:
    return f'"{version.number}-{version.hash[:24]}"'
