"""What if: a setting, the weather, the hours otherwise, or a look left out, and what of the advice would change with it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from fastapi import APIRouter, Request, Response

from advisor.api.exchange import in_turn
from advisor.api.pages import saying
from advisor.api.pages.layout import render
from advisor.api.pages.orchard_form import BLOCK, HABITAT, ORCHARD, Ask, number_of, value_of
from advisor.api.pages.visit import Visitor
from advisor.api.pages.walk import told
from advisor.api.shelf import journal
from advisor.errors import InputError, Problem
from advisor.orchard import OrchardFile
from advisor.sentences import in_words, place_of

router = APIRouter(include_in_schema=False)

Shown = dict[str, Any]

MOST_LOOKS = 60  # those made last, any of which may be left out
MOST_WORDS = 5  # of a setting that knows few words, told beside its name
KEPT = (
    "id",
    "name",
    "kind",
    "fruit",
    "latitude",
    "longitude",
    "timezone",
    "units",
    "hours_per_week",
    "note",
)  # not asked here
DEGREES = {"metric": ("°C", 1.0), "us": ("°F", 1 / 1.8)}  # what warmth is asked in, and how many °C one of them is
MOVES = {"stance": "", "window": "Time", "strength": "Strength", "amount": "How much", "hours": "Hours"}


@router.get("/at/{orchard}/what-if")
async def what_if(
    request: Request, visitor: Visitor, orchard: str, on: str | None = None, place: str = "", value: str = "",
    warmer: str = "", rain: str = "", drop: str = "", hours: str = "",
) -> Response:  # fmt: skip
    """Ask what would change; without a question, put one. Nothing is kept of it."""
    visitor.demand("read", orchard)
    asked = {"place": place, "value": value, "warmer": warmer, "rain": rain, "drop": drop, "hours": hours}
    asked = {name: text.strip() for name, text in asked.items()}
    context = await in_turn(request, _what_if, request, orchard, on, asked)
    return render(request, "what_if.html", status=422 if context["wrong"] else 200, tab="this-week", **context)


def _what_if(request: Request, orchard: str, on: str | None, asked: Mapping[str, str]) -> Shown:
    kept = journal(request)
    advice = kept.advise(orchard, on)
    file, day = kept.file_of(orchard), str(advice.answer.date)
    found, wrong = None, {}
    if any(asked.values()):
        try:
            changes = changes_of(asked, file)
            found = changed(kept.run_of(advice.id).what_if(changes, files=False), file.orchard.units)
        except InputError as fault:
            wrong = by_field(fault)
    looks = [one for one in kept.observations(orchard) if str(one.given["date"])[:10] <= day]
    return {
        "orchard": orchard,
        "name": file.orchard.name,
        "on": day,
        "asked": asked,
        "settings": [(title, [(id, _named(ask)) for id, ask in those]) for title, those in settings(file)],
        "looks": [(one.id, f"{saying.day(str(one.given['date']))}. {told(one.given)}") for one in looks[: -MOST_LOOKS - 1 : -1]],
        "degrees": DEGREES[file.orchard.units][0],
        "found": found,
        "wrong": wrong,
    }  # fmt: skip


def settings(file: OrchardFile) -> list[tuple[str, list[tuple[str, Ask]]]]:
    """What can be set otherwise, by place: each with its place in an orchard file and how it is asked for."""
    rooms: list[tuple[str, str, tuple[Ask, ...]]] = [("Whole orchard", "orchard", ORCHARD)]
    rooms += [(one.id, f"blocks.{one.id}", BLOCK) for one in file.blocks]
    rooms += [(one.id, f"habitats.{one.id}", HABITAT) for one in file.habitats]
    return [(title, [(f"{at}.{ask.name}", ask) for ask in asks if ask.name not in KEPT]) for title, at, asks in rooms]


def _named(ask: Ask) -> str:
    few = 0 < len(ask.options) <= MOST_WORDS
    return f"{ask.asks} ({', '.join(map(in_words, ask.options))})" if few else ask.asks


def changes_of(asked: Mapping[str, str], file: OrchardFile) -> Shown:
    """The posted texts as changes; InputError where a setting is not known or a value has none."""
    found: Shown = {"set": {}, "drop": [asked["drop"]] if asked["drop"] else []}
    place, value = asked["place"], asked["value"]
    if place:
        asks = {id: ask for _, those in settings(file) for id, ask in those}
        if place not in asks:
            said = f"{place[:60]!r} is no setting that can be changed here"
            raise InputError(Problem("form", "place", said, "Choose one from the list."))
        ask = asks[place]
        several = replace(ask, widget="list") if ask.widget == "tools" else ask
        found["set"][place] = value_of(several, {ask.name: value})
    elif value:
        raise InputError(Problem("form", "place", "a value is given and no setting", "Choose what it is to be of."))
    if asked["hours"]:
        found["set"]["orchard.hours_per_week"] = number_of(asked["hours"])
    if asked["warmer"]:
        degrees = number_of(asked["warmer"])
        each = DEGREES[file.orchard.units][1]
        found["warmer"] = degrees if isinstance(degrees, str) else degrees * each
    if asked["rain"]:
        found["rain"] = number_of(asked["rain"])
    return found


def by_field(fault: InputError) -> dict[str, list[str]]:
    """What is wrong, by the line of the form that it was written in."""
    found: dict[str, list[str]] = {}
    for one in fault.problems:
        place = "hours" if one.place.startswith("orchard.hours_per_week") else one.place
        name = place if place in ("place", "warmer", "rain", "drop", "hours") else "value"
        found.setdefault(name, []).append(f"{saying.sentence(one.message)}. {one.mend}".strip())
    return found


def changed(found: Mapping[str, Any], units: str) -> Shown:
    """What would change, in words."""
    day = str(found["date"])
    parts = [
        ("What would be advised besides", [_one(r, day) for r in found["appears"]]),
        ("What would no longer be advised", [_one(r, day) for r in found["disappears"]]),
        ("What would change", [{**_one(r, day), "moves": _moves(r, day, units)} for r in found["moves"]]),
    ]
    return {
        "parts": [(title, ones) for title, ones in parts if ones],
        "plan": _plan(found["plan"]) if found["plan"] is not None else None,
        "notes": found["notes"],
    }


def _one(r: Mapping[str, Any], on: str) -> Shown:
    return {
        "place": place_of(r),
        "stance": r["stance"],
        "summary": r["summary"],
        "window": saying.window(r["window"], r["stance"], on),
        "why": r["why"],
        "moves": [],
    }


def _moves(r: Mapping[str, Any], on: str, units: str) -> list[str]:
    """What of it changes, before and now; of reasons, those that fall away."""
    said = []
    for name in r["changed"]:
        if name in MOVES:
            was, now = (_said(name, r[side], r["stance"], on, units) for side in ("before", "now"))
            if was != now:
                said.append(f"{MOVES[name]}: {was} before, {now} now" if MOVES[name] else f"{was} before, {now} now")
        elif name == "urgency":
            said.append("More pressing" if r["now"][name] > r["before"][name] else "Less pressing")
        elif name == "because":
            said += [f"No longer: {text}" for text in r["before"][name]]
    return said


def _said(name: str, side: Mapping[str, Any], stance: str, on: str, units: str) -> str:
    value = side[name]
    if name == "stance":
        return saying.STANCE_WORDS[value].lower()
    if name == "window":
        return saying.window(value, side.get("stance", stance), on)
    if name == "strength":
        return saying.STRENGTH_WORDS[value]
    return (saying.amount(value, units) if name == "amount" else saying.hours(value)) or "not known"


def _plan(found: Mapping[str, Sequence[Mapping[str, Any]]]) -> list[str]:
    """What fits into the hours then, and what no longer does."""
    lines = [f"Would no longer fit: {_job(one)}{_relief(one)}" for one in found["disappears"]]
    lines += [f"Would fit: {_job(one)}" for one in found["appears"]]
    lines += [f"Other days: {place_of(one)}: {one['name']}, {_days(one['before'])} before, {_days(one['now'])} now"
              for one in found["moves"]]  # fmt: skip
    return lines


def _job(one: Mapping[str, Any]) -> str:
    return f"{place_of(one)}: {one['name']}, {_days(one)}"


def _days(one: Mapping[str, Any]) -> str:
    first, last = saying.day(one["days"][0]), saying.day(one["days"][-1])
    return f"{saying.hours(one['hours'])}, {first if first == last else f'{first} to {last}'}"


def _relief(one: Mapping[str, Any]) -> str:
    kept_out = f"; kept out by {one['kept_out_by']}" if one["kept_out_by"] else ""
    return kept_out + (f"; would fit with {one['relief']}" if one["relief"] else "")
