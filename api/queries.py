"""What stands in addresses, queries and headers, the same for every route.

Readable, Recordable, Ruled   the orchard of the address, when the asker may read, record in, or administer it
On                            the day that is asked about
Key                           an idempotency key, made the asker's own
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Annotated

from fastapi import Depends, Header, Path, Query

from advisor.api.asking import Asking
from advisor.errors import InputError, Problem
from advisor.written_schema import DATE, MOMENT

FIRST, LAST = 1900, 2199  # years that the service answers for

OrchardId = Annotated[
    str, Path(pattern="^[a-z0-9][a-z0-9-]{0,63}$", description="The orchard's id.", examples=["larkfield"])
]
AdviceId = Annotated[str, Path(pattern="^[0-9a-f]{16}$", description="The advice's id.", examples=["0123456789abcdef"])]
IfMatch = Annotated[str | None, Header(description="The ETag of what is to be replaced.")]
IfNoneMatch = Annotated[str | None, Header(description="* : only if there is none yet.")]


def _may(scope: str) -> Callable[[OrchardId, Asking], str]:
    def check(orchard: OrchardId, asker: Asking) -> str:
        asker.demand(scope, orchard)
        return orchard

    return check


Readable = Annotated[str, Depends(_may("read"))]
Recordable = Annotated[str, Depends(_may("record"))]
Ruled = Annotated[str, Depends(_may("admin"))]


def _day(
    on: Annotated[
        str | None,
        Query(
            description="The day, or an ISO time; today in the orchard's zone if left out.",
            json_schema_extra={"pattern": f"^({DATE}|{MOMENT})$"},
            examples=["2026-05-18"],
        ),
    ] = None,
) -> dt.date | dt.datetime | None:
    if on is None:
        return None
    try:
        found = dt.date.fromisoformat(on) if len(on) <= 10 else dt.datetime.fromisoformat(on)
    except ValueError:
        found = None
    if found is None or not FIRST <= found.year <= LAST:
        raise InputError(
            Problem("request", "on", f"{on[:40]!r} is not a date or an ISO time", "Write it like 2026-05-18.")
        )
    return found


On = Annotated[dt.date | dt.datetime | None, Depends(_day)]


def _key(
    asker: Asking,
    idempotency_key: Annotated[
        str | None,
        Header(
            pattern="^[!-~]{1,100}$",
            description="A word of the asker's own: sent again with the same request it records nothing twice.",
        ),
    ] = None,
) -> str | None:
    return None if idempotency_key is None else f"{asker.id}/{idempotency_key}"


Key = Annotated[str | None, Depends(_key)]
