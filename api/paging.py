"""Pages of a listing: so many entries, and an opaque cursor to those that follow."""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Callable, Sequence
from typing import Annotated, Any, TypeVar

from fastapi import Query
from pydantic import BaseModel
from starlette.exceptions import HTTPException

MOST = 200
_T = TypeVar("_T")

Limit = Annotated[int, Query(ge=1, le=MOST, description="How many entries.")]
After = Annotated[
    str | None, Query(pattern="^[A-Za-z0-9_-]{1,300}$", description="The `next` of the page before; opaque.")
]


class Page(BaseModel):
    """Some entries of a listing; `next` leads on, null at the end."""

    items: list[dict[str, Any]]
    next: str | None


def cursor(place: str | int) -> str:
    """A place in a listing, in a form that nobody needs to read."""
    return base64.urlsafe_b64encode(json.dumps(place).encode()).decode().rstrip("=")


def place(after: str | None, kind: type[_T]) -> _T | None:
    """The place of a cursor; 404 for a text that is none, since no page begins there."""
    if after is None:
        return None
    try:
        found = json.loads(base64.urlsafe_b64decode(after + "=" * (-len(after) % 4)))
    except (binascii.Error, ValueError):
        found = None
    if type(found) is not kind or (isinstance(found, int) and not 0 <= found < 2**53):
        raise HTTPException(404, "No page begins there. Use the `next` of the page before as it is.")
    return found


def page(found: Sequence[_T], limit: int, shown: Callable[[_T], Any], at: Callable[[_T], str | int]) -> dict[str, Any]:
    """One page of what was found, when one entry more than `limit` was asked for."""
    more = len(found) > limit
    items = found[:limit]
    return {"items": [shown(one) for one in items], "next": cursor(at(items[-1])) if more else None}
