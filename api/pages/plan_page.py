"""The plan: this week by day, to print and hang in the shed; the weeks to come; the year's hours; the calendar."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request, Response

from advisor.api.exchange import in_turn
from advisor.api.pages import saying
from advisor.api.pages.forms import read_form
from advisor.api.pages.layout import render
from advisor.api.pages.visit import Visitor
from advisor.api.pages.week import care
from advisor.api.remembered import following
from advisor.hours.picture import picture
from advisor.hours.trade import weather_words
from advisor.sentences import in_words

router = APIRouter(include_in_schema=False)

Shown = dict[str, Any]

WEEKS = 8


@router.get("/at/{orchard}/plan")
async def plan(request: Request, visitor: Visitor, orchard: str, on: str | None = None) -> Response:
    visitor.demand("read", orchard)
    context = await in_turn(request, _plan, request, orchard, on)
    return render(request, "plan.html", tab="plan", may_rule=visitor.may("admin", orchard), address="", **context)


@router.post("/at/{orchard}/plan", dependencies=[Depends(read_form)])
async def make_address(request: Request, visitor: Visitor, orchard: str, on: str | None = None) -> Response:
    """Make a key for the calendar, and show its address once."""
    from advisor.api.routes.seasons import make_calendar_key

    visitor.demand("admin", orchard)
    context = await in_turn(request, _plan, request, orchard, on)
    made = make_calendar_key(request, orchard, visitor)
    address = json.loads(bytes(made.body))["address"]
    return render(request, "plan.html", tab="plan", may_rule=True, address=address, **context)


def _plan(request: Request, orchard: str, on: str | None) -> Shown:
    def make(run: Any) -> Any:
        return run.plan(WEEKS)

    found = json.loads(following(request, orchard, on, ("plan", WEEKS), make))
    return {
        "orchard": orchard,
        "given_on": on or "",
        "drawn": picture(found),
        "calendar": f"/orchards/{orchard}/calendar.ics",
        **plan_page(found, orchard),
    }


def plan_page(found: Mapping[str, Any], orchard: str) -> Shown:
    """The context of the page for a plan."""
    week = found["this_week"]
    by_day: dict[str, list[Shown]] = {}
    for job in week["jobs"]:
        for day in job["days"]:
            by_day.setdefault(day["day"], []).append(_work(job, day, orchard, found["date"]))
    return {
        "name": found["orchard"],
        "on": found["date"],
        "from_": week["from"],
        "to": week["to"],
        "hours_words": _hours(week),
        "days": [
            {"day": day, "hours": sum(one["hours"] for one in work), "guests": _guests(week, day), "work": work}
            for day, work in sorted(by_day.items())
        ],
        "days_off": [saying.day(day) for day in week["days_off"]],
        "rain_days": None if week["rain_days"] is None else [saying.day(day) for day in week["rain_days"]],
        "cautions": list(dict.fromkeys(line for job in week["jobs"] for line in job["cautions"])),
        "unplaced": [_unplaced(one) for one in found["unplaced"]],
        "slips": [_slip(one) for one in found["slips"] if one["lost"]][:5],
        "held": [{**one, "place": _place(one), "name": saying.name_of(one["practice"]), "why_at": _why_at(
            orchard, one["recommendation"], found["date"])} for one in found["held"]],
        "without": [f"{_place(one)}: {saying.name_of(one['practice'])} is not in the plan. {one['why']}"
                    for one in found["without_hours"]],
        "next": [_next(one) for one in found["next_weeks"]],
        "budget": found["budget"],
        "lines": [_line(one) for one in found["budget"]["lines"]],
        "notes": found["notes"],
    }  # fmt: skip


def _place(one: Mapping[str, Any]) -> str:
    return str(one["block"] or one["habitat"] or "whole orchard")


def _why_at(orchard: str, recommendation: str | None, on: str) -> str:
    return f"/at/{orchard}/why/{quote(recommendation, safe='')}?on={on}" if recommendation else ""


def _work(job: Mapping[str, Any], day: Mapping[str, Any], orchard: str, on: str) -> Shown:
    facts = []
    if job["wants"]:
        doubt = "; look at the forecast first" if day["weather"] != "fits" else ""
        facts.append(f"Wants it {weather_words(job['wants'])}{doubt}.")
    if job["amount"]:
        facts.append(f"{job['amount']}{'' if job['tool'] == 'hand' else ', ' + in_words(job['tool'])}.")
    if job["closes"]:
        facts.append(f"By {saying.day(job['closes'])}.")
    if day["helpers"]:
        facts.append(f"Helpers {saying.hours(day['helpers'])}.")
    ids = job["recommendations"]
    return {
        "place": _place(job), "name": saying.sentence(job["name"]), "why": job["why"], "facts": " ".join(facts),
        "hours": day["hours"], "care": care(job["cautions"]), "why_at": _why_at(orchard, ids[0] if ids else None, on),
        "usual": job["origin"] == "usual",
    }  # fmt: skip


def _hours(week: Mapping[str, Any]) -> str:
    planned = saying.hours(week["planned"]) or "0 h"
    if week["planned"] == 0:
        planned = "nothing"
    own = "your hours a week are not given" if week["hours"] is None else f"of {saying.hours(week['hours'])} there are"
    helped = f"; helpers {saying.hours(week['helper_planned'])}" if week["helper_planned"] else ""
    return f"{saying.sentence(planned)} planned, {own}{helped}."


def _guests(week: Mapping[str, Any], day: str) -> list[str]:
    return [f"{one['who'] or 'helpers'}: {one['people']} for {saying.hours(one['hours'])}"
            for one in week["helpers"] if one["day"] == day]  # fmt: skip


def _unplaced(one: Mapping[str, Any]) -> Shown:
    part = "" if one["hours"] >= one["of_hours"] else f" of {saying.hours(one['of_hours'])}"
    return {
        "text": f"{_place(one)}: {one['name']}, {saying.hours(one['hours'])}{part}; kept out by {one['kept_out_by']}.",
        "relief": f"It would fit with {one['relief']['text']}." if one["relief"] else "",
    }


def _slip(one: Mapping[str, Any]) -> str:
    wait = "it can wait" if one["can_wait"] else "it cannot be made up later"
    lost = ", ".join(saying.name_of(name) for name in one["lost"][:3])
    return f"If {one['name']} slips: less for or against {lost}; {wait}."


def _next(week: Mapping[str, Any]) -> Shown:
    jobs = []
    for job in week["jobs"]:
        first, last = job["days"][0]["day"], job["days"][-1]["day"]
        when = saying.day(first) if first == last else f"{saying.day(first)} to {saying.day(last)}"
        jobs.append({"when": when, "text": f"{_place(job)}: {job['name']}", "hours": job["hours"]})
    return {"from_": week["from"], "hours_words": _hours(week), "jobs": jobs}


def _line(one: Mapping[str, Any]) -> Shown:
    return {**one, "shares": ", ".join(f"{p['share']:.0%} ({p['where']})" for p in one["published"])}
