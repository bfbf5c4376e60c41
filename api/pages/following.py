"""What follows from an orchard's advice and costs much, shared with the JSON routes: made once while an advice stands."""

from __future__ import annotations

import json
from collections.abc import Callable, Hashable, Mapping
from typing import Any

from fastapi import Request

from advisor.advice import Answer
from advisor.answer import Record
from advisor.api.exchange import written
from advisor.api.shelf import journal


def following(
    request: Request, orchard: str, on: str | None, what: tuple[Hashable, ...], make: Callable[[Answer], Record]
) -> Mapping[str, Any]:
    """What `make` makes of the run of an orchard's advice; `what` names it, as the JSON routes do."""
    kept = journal(request)
    advice = kept.advise(orchard, on).id
    found: bytes = request.app.state.remembered.get((advice, what), lambda: written(make(kept.run_of(advice))))
    told: Mapping[str, Any] = json.loads(found)
    return told
