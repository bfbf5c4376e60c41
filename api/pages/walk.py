"""Walk and record: what is worth a look today, each with a short form; what was recorded last; and the worker that
lets the page open again where there is no signal.

A form is sent as any form. With script it is kept in the browser first and sent from there, with an idempotency key, to
the same address: see static/waiting.js.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Header, Request, Response
from fastapi.responses import JSONResponse, RedirectResponse

from advisor import words
from advisor.api.asking import Asker
from advisor.api.exchange import in_turn
from advisor.api.pages import saying
from advisor.api.pages.forms import read_form
from advisor.api.pages.layout import HEADERS, render
from advisor.api.pages.look_form import Asked, look_form, observation_of, problems_by_field, type_of
from advisor.api.pages.looks import GROUPS, LOOKS, Look
from advisor.api.pages.static_files import content_of
from advisor.api.pages.visit import Visitor
from advisor.api.shelf import journal
from advisor.errors import InputError
from advisor.explain.wording import words_of
from advisor.journal import TAKEN_BACK, Journal, standing
from advisor.orchard import OrchardFile
from advisor.sentences import in_words

router = APIRouter(include_in_schema=False)

Shown = dict[str, Any]
Form = Annotated[dict[str, str], Depends(read_form)]

MOST_ASKED = 8  # looks put first
MOST_KEPT = 6  # looks recorded last that are shown


@router.get("/sw.js")
def worker() -> Response:
    """The worker that keeps pages for times without signal; at the root, so that it may answer for all of them."""
    return Response(content_of("sw.js"), media_type="text/javascript; charset=utf-8", headers=HEADERS)


@router.get("/at/{orchard}/walk")
async def walk(
    request: Request, visitor: Visitor, orchard: str, on: str | None = None, kept: str = "", kind: str = "",
    block: str = "", habitat: str = "", about: str = "",
) -> Response:  # fmt: skip
    visitor.demand("read", orchard)
    wanted = {"kind": kind, "place": block or habitat, "about": about}
    context = await in_turn(request, _walk, request, visitor, orchard, on, wanted)
    return render(request, "walk.html", tab="walk", kept=kept, **context)


@router.post("/at/{orchard}/walk")
async def record(
    request: Request, visitor: Visitor, orchard: str, form: Form, on: str | None = None,
    idempotency_key: Annotated[str | None, Header(pattern="^[!-~]{1,100}$")] = None,
) -> Response:  # fmt: skip
    """Keep one look, or take one back."""
    visitor.demand("record", orchard)
    by_script = "application/json" in request.headers.get("accept", "")
    key = f"{visitor.id}/{idempotency_key}" if idempotency_key else None
    try:
        id, said = await in_turn(request, _record, request, orchard, form, key, visitor.name)
    except InputError as fault:
        problems = problems_by_field(fault, form)
        if by_script:
            return JSONResponse({"problems": problems}, 422, headers=HEADERS)
        context = await in_turn(request, _walk, request, visitor, orchard, on, form, problems)
        return render(request, "walk.html", status=422, tab="walk", kept="", **context)
    if by_script:
        return JSONResponse({"id": id, "said": said}, 201, headers=HEADERS)
    back = urlencode({**({"on": on} if on else {}), "kept": said})
    return RedirectResponse(f"/at/{orchard}/walk?{back}#kept", 303)


def _record(request: Request, orchard: str, form: Mapping[str, str], key: str | None, by: str) -> tuple[str, str]:
    kept = journal(request)
    if "take_back" in form:
        _take_back(kept, orchard, form["take_back"], by)
        return form["take_back"], "taken back"
    given = observation_of(form, kept.file_of(orchard))
    id = kept.observe(orchard, [given], key=key, name="form")[0]
    return id, told(given)


def _take_back(kept: Journal, orchard: str, id: str, by: str) -> None:
    """Withdraw what was recorded. Work that was ticked off goes with its tick, or the week would still call it done; and
    what a second tap takes back again is taken back already."""
    ticks = [one for one in standing(kept.decisions(orchard)) if one.observation == id]
    for one in ticks:
        kept.decide(one.advice, one.recommendation, TAKEN_BACK, by=by)
    said = [] if ticks else kept.history(orchard, id)
    if not ticks and not (said and said[-1].kind == "withdrawal"):
        kept.withdraw(orchard, id)


def _walk(
    request: Request, visitor: Asker, orchard: str, on: str | None, wanted: Mapping[str, str],
    problems: Mapping[str, Sequence[str]] | None = None,
) -> Shown:  # fmt: skip
    kept = journal(request)
    advice = kept.advise(orchard, on)
    file, answer = kept.file_of(orchard), advice.answer
    day = str(answer.date)
    codes = {block.id: answer.conditions[block.id]["stage"]["bbch"] for block in file.blocks}
    first = _asked(answer["unknowns"], file)
    chosen = _wanted(wanted, file, first)
    asked = [*([chosen] if chosen else []), *(one for one in first if one is not chosen)][:MOST_ASKED]
    forms = [look_form(one, file, codes, n) for n, one in enumerate(asked)]
    likely, rest = _others(file, codes)
    if chosen:
        values = wanted if problems else {}
        forms[0] = {**look_form(chosen, file, codes, 0, values, problems), "open": True}
    number = len(forms)
    groups = []
    for group, looks in (*likely, *rest):
        groups.append((group, [look_form(Asked(one), file, codes, number + n) for n, one in enumerate(looks)]))
        number += len(looks)
    seen = kept.observations(orchard)[-MOST_KEPT:]
    return {
        "orchard": orchard,
        "name": file.orchard.name,
        "on": day,
        "today": on is None,
        "asked": forms,
        "likely": groups[: len(likely)],
        "rest": groups[len(likely) :],
        "materials": sorted(saying.name_of(id) for id in words.known("material")),
        "last": [{"id": one.id, "told": told(one.given), "day": str(one.given["date"])[:10]} for one in reversed(seen)],
        "wrong": [text for texts in problems.values() for text in texts] if problems and not chosen else [],
        "may_record": visitor.may("record", orchard),
        "send_to": f"/at/{orchard}/walk" + (f"?on={day}" if on else ""),
    }


def _asked(unknowns: Sequence[Mapping[str, Any]], file: OrchardFile) -> list[Asked]:
    """The looks that could change most, weather left out."""
    found = []
    for one in unknowns:
        look = LOOKS.get(one["look_at"])
        if look is None or one["look_at"] == "forecast":
            continue
        place = one["block"] or one["habitat"]
        found.append(
            Asked(look, one["about"], place if place and file.place(place) else None, one["why"], one["minutes"])
        )
    return found


def _wanted(wanted: Mapping[str, str], file: OrchardFile, asked: Sequence[Asked]) -> Asked | None:
    """The look that an address or a refused form names."""
    look = LOOKS.get(wanted.get("kind", ""))
    if look is None:
        return None
    place = wanted.get("place") or None
    about = wanted.get("about") or None
    place = place if place and file.place(place) else None
    same = [one for one in asked if (one.look, one.place, one.about) == (look, place, about)]
    return same[0] if same else Asked(look, about, place)


def _others(
    file: OrchardFile, codes: Mapping[str, int | None]
) -> tuple[list[tuple[str, list[Look]]], list[tuple[str, list[Look]]]]:
    """The looks by group: those likely at this stage of the trees, and the others."""
    likely: dict[str, list[Look]] = {}
    rest: list[Look] = []
    for look in LOOKS.values():
        if look.where == "habitats" and not file.habitats:
            continue
        if look.group != "tests" and any(_within(code, look.bbch) for code in codes.values()):
            likely.setdefault(GROUPS[look.group], []).append(look)
        else:
            rest.append(look)
    return list(likely.items()), [("At other times", rest)] if rest else []


def _within(code: int | None, span: tuple[int, int]) -> bool:
    """Whether a stage lies in a span, which may run through the winter; an unknown stage may be any."""
    low, high = span
    if code is None:
        return True
    return low <= code <= high if low <= high else code >= low or code <= high


def told(given: Mapping[str, Any]) -> str:
    """An observation in one line, as it was written: Sward, upper: height 14 in, seed heads emerging."""
    look = LOOKS.get(str(given.get("kind")))
    title = look.title if look else words_of(str(given.get("kind", ""))).capitalize()
    place = given.get("block") or given.get("habitat") or "whole orchard"
    said = [
        f"{words_of(name)} {_plain(value if not _is_share(given, name) else f'{value * 100:.3g} %')}"
        for name, value in given.items()
        if name not in ("id", "kind", "date", "block", "habitat") and value not in (None, "")
    ]
    return f"{title}, {place}: {', '.join(said) or 'seen'}"


def _is_share(given: Mapping[str, Any], name: str) -> bool:
    """Whether a bare number stands for a share, which people read in percent."""
    kind, value = str(given["kind"]), given[name]
    if isinstance(value, bool) or not isinstance(value, int | float) or kind not in LOOKS:
        return False
    return type_of(kind, name)[0] == "Share"


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {_plain(one)}" for name, one in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(
            " ".join(map(_plain, one.values())) if isinstance(one, Mapping) else _plain(one) for one in value
        )
    if isinstance(value, dt.date):
        return value.isoformat()
    return in_words(str(value)) if isinstance(value, str) and value.replace("-", "").isalpha() else str(value)
