"""The first page, and the week of an orchard: read it, tick what is done, refuse what will not be, take back a slip."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse

from advisor import quantity
from advisor.api.asking import Asker, missing_orchard
from advisor.api.exchange import in_turn
from advisor.api.pages.forms import read_form
from advisor.api.pages.layout import render
from advisor.api.pages.visit import Visitor, orchards_of
from advisor.api.pages.week import REFUSE_WORDS, refusal_of, week
from advisor.api.pages.why_page import why_page
from advisor.api.shelf import journal
from advisor.errors import InputError, Problem
from advisor.explain.why_picture import ecosystem_picture
from advisor.journal import Decision
from advisor.journal.deciding import REASONS, recommendation_of
from advisor.quantity import Unreadable

router = APIRouter(include_in_schema=False)

Form = Annotated[dict[str, str], Depends(read_form)]


@router.get("/")
async def home(request: Request, visitor: Visitor) -> Response:
    """The orchards of the one who asks; with a single one, its week."""
    found = await in_turn(request, orchards_of, request, visitor)
    may_add = visitor.may("admin", "*")
    if len(found) == 1 and not may_add:
        return RedirectResponse(f"/at/{found[0]['id']}/this-week", 303)
    return render(request, "home.html", orchards=found, may_add=may_add)


@router.get("/at/{orchard}/this-week")
async def this_week(
    request: Request, visitor: Visitor, orchard: str, on: str | None = None, noted: str = ""
) -> Response:
    visitor.demand("read", orchard)
    context = await in_turn(request, _week, request, visitor, orchard, on)
    return render(request, "this_week.html", tab="this-week", noted=noted, **context)


@router.get("/at/{orchard}/refuse/{recommendation}")
async def refuse(
    request: Request, visitor: Visitor, orchard: str, recommendation: str, on: str | None = None
) -> Response:
    """Ask for the reason why a recommendation is not followed."""
    visitor.demand("record", orchard)
    context = await in_turn(request, _refuse, request, orchard, recommendation, on)
    return render(request, "refuse.html", tab="this-week", **context)


@router.get("/at/{orchard}/why/{recommendation}")
async def why(request: Request, visitor: Visitor, orchard: str, recommendation: str, on: str | None = None) -> Response:
    visitor.demand("read", orchard)
    context = await in_turn(request, _why, request, orchard, recommendation, on)
    return render(request, "why.html", tab="this-week", **context)


@router.post("/at/{orchard}/this-week")
async def decide(request: Request, visitor: Visitor, orchard: str, form: Form, on: str | None = None) -> Response:
    """Note a recommendation as done, refused or overridden, or take that back, and show the week that follows from it."""
    visitor.demand("record", orchard)
    state = await in_turn(request, _decide, request, visitor, orchard, form)
    back = {"on": on, "noted": state} if on else {"noted": state}
    return RedirectResponse(f"/at/{orchard}/this-week?{urlencode(back)}", 303)


def _week(request: Request, visitor: Asker, orchard: str, on: str | None) -> dict[str, Any]:
    kept = journal(request)
    file = kept.file_of(orchard)
    advice = kept.advise(orchard, on)
    answer = json.loads(advice.text)  # plain, which is quicker than with dots
    decisions = kept.decisions(orchard)
    context = week(answer, file, orchard, decisions, lambda id: kept.advice(id).answer)
    return {
        **context,
        "upto": _upto(decisions),
        "may_record": visitor.may("record", orchard),
        "decide_at": f"/at/{orchard}/this-week?on={context['on']}",
    }


def _upto(decisions: Sequence[Decision]) -> int:
    """The position of the last decision that a page knows of. It goes with each of its forms, so that the same tick sent
    twice is one, and a tick after taking back is another."""
    return decisions[-1].position if decisions else 0


def _why(request: Request, orchard: str, recommendation: str, on: str | None) -> dict[str, Any]:
    kept = journal(request)
    answer = kept.run_of(kept.advise(orchard, on).id)
    tree = answer.why(recommendation)
    told = recommendation_of(answer, recommendation)
    return {**why_page(tree, answer, told, orchard), "ecosystem": ecosystem_picture(answer, recommendation)}


def _refuse(request: Request, orchard: str, recommendation: str, on: str | None) -> dict[str, Any]:
    kept = journal(request)
    advice = kept.advise(orchard, on)
    told = recommendation_of(advice.answer, recommendation)
    state, week_at = refusal_of(told), f"/at/{orchard}/this-week?on={advice.answer.date}"
    return {
        "orchard": orchard,
        "on": str(advice.answer.date),
        "r": told,
        "where": told.block or told.habitat or "whole orchard",
        "advice_id": advice.id,
        "upto": _upto(kept.decisions(orchard)),
        "state": state,
        "words": REFUSE_WORDS[state],
        "reasons": REASONS[state],
        "needed": state == "overridden" and told.strength == "must",
        "decide_at": week_at,
        "back_to": f"{week_at}#{told.id}",
    }


def _decide(request: Request, visitor: Asker, orchard: str, form: Mapping[str, str]) -> str:
    """Keep a decision; what the form says of the reason is one of those offered, or own words. A form that is sent twice,
    by a second tap or after a lost answer, is kept once."""
    kept = journal(request)
    advice = kept.advice(form.get("advice", ""))
    if advice.orchard != orchard:
        raise missing_orchard(orchard)
    state, reason, own = form.get("state", ""), form.get("reason") or None, form.get("words") or None
    kept.decide(
        advice.id,
        form.get("rid", ""),
        state,
        reason=reason or own,
        note=own if reason else None,
        hours=_hours(form.get("hours", "")),
        by=visitor.name,
        key=f"page-{hashlib.sha256(json.dumps(form, sort_keys=True).encode()).hexdigest()}",
    )
    return state


def _hours(written: str) -> float | None:
    """The hours that somebody wrote beside a tick, with a point or a comma; None for none."""
    if not written:
        return None
    try:
        return quantity.read(written.replace(",", "."), "hours")
    except Unreadable as fault:
        raise InputError(Problem("form", "hours", fault.message, fault.mend, value=written[:20])) from None
