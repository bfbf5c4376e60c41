"""Why something is not advised: asked by practice and place, with the smallest change that would bring it about."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request, Response

from advisor.advice import Answer
from advisor.api.exchange import in_turn
from advisor.api.pages import saying
from advisor.api.pages.layout import render
from advisor.api.pages.visit import Visitor
from advisor.api.shelf import journal
from advisor.ecosystem import Knowledge, Practice, knowledge

router = APIRouter(include_in_schema=False)

Shown = dict[str, Any]

STATUS = {
    "advised": "is advised",
    "asked-and-answered": "was asked about, and is not to be done now",
    "waiting-for-a-look": "waits for a look",
    "proposed-and-lost": "is proposed, and something outweighs it",
    "advised-against": "is advised against",
    "not-proposed": "is not proposed now",
    "impossible": "is not proposed here",
}
STATES = {True: "So it is", False: "Not so", "unknown": "Not known"}
WHAT = {"look": "If you saw", "say": "If you told", "have": "If you had", "work": "If you did first",
        "mean": "If you meant to do", "wait": "In time"}  # fmt: skip
GROUPS = {"floor": "The floor", "planting": "Planting", "soil": "The soil", "trees": "The trees", "crop": "The crop",
          "sprays": "Sprays", "watching": "Looking", "hours": "Hours", "other": "Other work"}  # fmt: skip


@router.get("/at/{orchard}/why-not")
async def why_not(
    request: Request, visitor: Visitor, orchard: str, practice: str = "", place: str = "", on: str | None = None
) -> Response:
    """Ask about a practice; without one, choose it."""
    visitor.demand("read", orchard)
    context = await in_turn(request, _why_not, request, orchard, practice, place, on)
    return render(request, "why_not.html", tab="this-week", **context)


def _why_not(request: Request, orchard: str, practice: str, place: str, on: str | None) -> Shown:
    kept = journal(request)
    advice = kept.advise(orchard, on)
    file = kept.file_of(orchard)
    found = told(kept.run_of(advice.id), practice, place or None, orchard) if practice else None
    return {
        "orchard": orchard,
        "name": file.orchard.name,
        "on": str(advice.answer.date),
        "choices": choices(knowledge()),
        "places": [*(block.id for block in file.blocks), *(habitat.id for habitat in file.habitats)],
        "practice": practice,
        "place": place,
        "found": found,
    }


def told(answer: Answer, practice: str, place: str | None, orchard: str) -> Shown:
    """What is known of why a practice is not advised, in words."""
    found = answer.why_not(practice, place)
    where = found["block"] or found["habitat"] or place
    change, brings = found["smallest_change"], None
    if change:
        brings = {**change["brings"], "window": _window(change["brings"], str(answer["date"]))}
    rid = next((r["id"] for r in answer["recommendations"] if _is(r, found)), None)
    return {
        "head": f"{saying.sentence(saying.name_of(found['practice']))}{f' in {where}' if where else ''} "
        f"{STATUS[found['status']]}.",
        "reason": found["reason"],
        "against": [one["text"] for one in found["lost_to"]],
        "changes": [{**one, "word": WHAT[one["what"]]} for one in change["changes"]] if change else [],
        "brings": brings,
        "rules": [_rule(rule) for rule in found["rules"]] if found["status"] != "advised" else [],
        "why_at": f"/at/{orchard}/why/{rid}?on={answer['date']}" if rid else None,
    }


def _is(r: Mapping[str, Any], found: Mapping[str, Any]) -> bool:
    """Whether a recommendation is what was asked about."""
    places = (found["block"], found["habitat"])
    return r["practice"] == found["practice"] and (places == (None, None) or (r["block"], r["habitat"]) == places)


def _window(brings: Mapping[str, Any], on: str) -> str:
    return saying.window(brings["window"], brings["stance"], on)


def _rule(rule: Mapping[str, Any]) -> Shown:
    """A rule with its conditions: those that hold it up first, each with the rules behind it."""
    order = {False: 0, "unknown": 1, True: 2}
    conditions = sorted(rule["conditions"], key=lambda one: order[one["state"]])
    return {
        "id": rule["id"],
        "conditions": [
            {"state": STATES[one["state"]], "text": one["text"], "below": [_rule(behind) for behind in one["from"]]}
            for one in conditions
        ],
    }


def choices(known: Knowledge) -> list[tuple[str, list[tuple[str, str]]]]:
    """The practices to ask about, by group and name."""
    by_group: dict[str, list[tuple[str, str]]] = {}
    for node in known.of_kind(Practice).values():
        by_group.setdefault(node.group, []).append((node.id, saying.sentence(node.name)))
    order = [*GROUPS, *sorted(group for group in by_group if group not in GROUPS)]
    return [(GROUPS.get(g, g), sorted(by_group[g], key=lambda one: one[1])) for g in order if g in by_group]
