"""A visit to the pages of an orchard: who comes, on which day they look, and which orchards they may open."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Depends, Request

from advisor.api.asking import Asker, Maybe
from advisor.api.shelf import journal

PAGE = 200  # orchards asked for at once


class NotSignedIn(Exception):
    """Nobody has signed in; the pages show where to."""


def visitor(found: Maybe) -> Asker:
    """Who comes; the way to sign in for one who has not."""
    if found is None:
        raise NotSignedIn
    return found


Visitor = Annotated[Asker, Depends(visitor)]


def orchards_of(request: Request, asker: Asker) -> list[dict[str, Any]]:
    """Id and name of each orchard that one may read, by id."""
    kept, found, after = journal(request), [], None
    while page := kept.orchards(after=after, limit=PAGE):
        found += [{"id": one.id, "name": one.content["orchard"]["name"]} for one in page if asker.may("read", one.id)]
        after = page[-1].id
    return found
