"""The understory: who is in flower when and for whom, what is lacking, what to add and why, and plants asked about."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response

from advisor import habitat
from advisor.api.exchange import in_turn
from advisor.api.pages import saying
from advisor.api.pages.layout import render
from advisor.api.pages.visit import Visitor
from advisor.api.remembered import following
from advisor.ecosystem import Plant, knowledge
from advisor.errors import InputError, Problem
from advisor.habitat.text import distance_lines, gap_lines, shelter_lines, short_day, short_whom, variety_lines

router = APIRouter(include_in_schema=False)

Shown = dict[str, Any]

# What a grower accepts of new plants: a box to tick, and what it means for the terms.
ACCEPTS: dict[str, tuple[str, dict[str, Any]]] = {
    "permanent": ("Plants that stay for good or spread hard are welcome", {"permanent": True}),
    "no_toxic": ("No plant that is poisonous to people or stock", {"toxic": False}),
    "no_annuals": ("No plant that must be sown anew each year", {"annuals": False}),
    "grazed": ("Animals graze among the plants", {"grazed": True}),
    "nitrogen": ("One that fixes nitrogen is wanted", {"nitrogen": True}),
}


@router.get("/at/{orchard}/understory")
async def understory(
    request: Request, visitor: Visitor, orchard: str, on: str | None = None, wanted: str = "", costs: str = ""
) -> Response:
    visitor.demand("read", orchard)
    ticked = [name for name in ACCEPTS if name in request.query_params]
    context = await in_turn(request, _understory, request, orchard, on, wanted.strip(), ticked, costs.strip())
    return render(request, "understory.html", tab="understory", **context)


def _understory(
    request: Request, orchard: str, on: str | None, wanted: str, ticked: Sequence[str], costs: str
) -> Shown:
    names = [wanted] if wanted else []
    terms = {name: value for one in ticked for name, value in ACCEPTS[one][1].items()}
    if costs:
        terms["prices"] = _prices(costs)

    what = ("bloom", *names, *(("terms", *ticked) if ticked else ()), *(("costs", costs) if costs else ()))
    made = following(request, orchard, on, what, lambda answer: answer.bloom(wanted=names, terms=terms or None))
    found = json.loads(made)
    return {
        "orchard": orchard,
        "name": found["orchard"],
        "on": found["date"],
        "given_on": on or "",
        "wanted": wanted,
        "costs": costs,
        "accepts": [(name, words, name in ticked) for name, (words, _) in ACCEPTS.items()],
        "plants": _named(knowledge().of_kind(Plant)),
        "drawn": habitat.draw(found) if found["ribbon"] else "",
        **understory_page(found, orchard),
    }


def _prices(costs: str) -> dict[str, str]:
    """What plants cost, from `aster 12, pussy willow 30`; names and numbers are read later, where all terms are."""
    found = {}
    for one in costs.split(","):
        parts = re.fullmatch(r"\s*(.*?\S)[\s=:]+(\S+)\s*", one)
        if parts is None:
            raise InputError(
                Problem(
                    "request", "costs", "a plant or its cost is lacking", "Write aster 12, willow 30.", value=one[:60]
                )
            )
        found[parts[1].lower().replace(" ", "-")] = parts[2]
    return found


def understory_page(found: Mapping[str, Any], orchard: str) -> Shown:
    """The context of the page for a record from `advisor.habitat.bloom`."""
    places: dict[str, list[Shown]] = {}
    for row in found["ribbon"]:
        places.setdefault(row["place"], []).append({
            "name": row["name"],
            "latin": row["latin"],
            "at": f"/read/knowledge/plants/{row['plant']}?{urlencode({'orchard': orchard})}",
            "when": f"{short_day(row['from'])} to {short_day(row['to'])}" if row["from"] else
                    f"weeks {row['first_week']:.3g} to {row['last_week']:.3g}",
            "whom": short_whom(row["for_whom"]),
            "seen": row["seen"],
        })  # fmt: skip
    return {
        "full_bloom": found["full_bloom"]["text"],
        "dated": found["full_bloom"]["date"] is not None,
        "gaps": gap_lines(found),
        "lacks": found["lacks"],
        "choices": [_choice(one, orchard) for one in found["choices"]],
        "method": found["choosing"]["method"],
        "beyond": found["beyond"],
        "asked": [saying.sentence(f"{one['status']}: {' '.join(one['reasons'])}") for one in found["left_out"]],
        "places": list(places.items()),
        "competition": [one["text"] for one in found["competition"]],
        "meetings": [one["text"] for one in found["spray_meetings"]],
        "shelter": shelter_lines(found),
        "taken": [one["text"] for one in found["shelter"]["taken"]],
        "distances": distance_lines(found),
        "variety": variety_lines(found["diversity"]),
        "notes": found["notes"],
    }


def _choice(one: Mapping[str, Any], orchard: str) -> Shown:
    return {
        "text": one["text"] + ("" if one["price"] is None else f" It costs {one['price']:g}."),
        "first_know": one["first_know"],
        "plants": [
            {
                **plant,
                "at": f"/read/knowledge/plants/{plant['plant']}?{urlencode({'orchard': orchard})}",
                "evidence": saying.EVIDENCE_WORDS[plant["evidence"]],
            }
            for plant in one["plants"]
        ],
    }


def _named(plants: Mapping[str, Plant]) -> list[tuple[str, str]]:
    return sorted(((id, plant.name) for id, plant in plants.items()), key=lambda pair: pair[1].lower())
