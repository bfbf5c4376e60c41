"""What stands on the season page: the long picture, and the table that says the same in words."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from fastapi import APIRouter, Request, Response

from advisor import quantity, season_replay
from advisor.advice import Answer
from advisor.api.exchange import in_turn
from advisor.api.pages import saying
from advisor.api.pages.layout import render
from advisor.api.pages.season_picture import season_picture
from advisor.api.pages.season_weeks import Job, Sky, Week, season_weeks
from advisor.api.pages.visit import Visitor
from advisor.api.shelf import journal
from advisor.errors import InputError
from advisor.sentences import in_words

router = APIRouter(include_in_schema=False)

Shown = dict[str, Any]


@router.get("/at/{orchard}/season")
async def season(request: Request, visitor: Visitor, orchard: str, on: str | None = None) -> Response:
    visitor.demand("read", orchard)
    context = await in_turn(request, _season, request, orchard, on)
    return render(request, "season.html", tab="season", **context)


def _season(request: Request, orchard: str, on: str | None) -> Shown:
    kept = journal(request)
    answer = kept.run_of(kept.advise(orchard, on).id)
    return {"orchard": orchard, **season_page(answer)}


def season_page(answer: Answer) -> Shown:
    """The context of the page for an answer."""
    inputs = answer.run.inputs
    plan = answer.plan()
    events, notes = _events(answer)
    weeks = season_weeks(answer, plan, events)
    words = _Words(inputs.file.orchard.units)
    name = inputs.file.orchard.name
    drawn = season_picture(weeks, name, words.degrees, words.tell)
    return {
        "name": name,
        "on": str(answer["date"]),
        "year": answer.run.now.year,
        "drawn": drawn,
        "rows": [words.row(week) for week in weeks],
        "notes": list(dict.fromkeys([*notes, *plan["notes"]])),
    }


def _events(answer: Answer) -> tuple[Sequence[Mapping[str, Any]], list[str]]:
    """The infections of the season, and what is not known of them."""
    inputs = answer.run.inputs
    if not (inputs.measured is not None and len(inputs.measured)):
        return [], ["No hourly weather was given: rain, heat, frost and infections are not known."]
    try:
        found = season_replay.replay(inputs.file, inputs.day, inputs.measured, inputs.forecast)
    except InputError as fault:
        return [], [str(fault)]
    return found["events"], list(found["notes"])


class _Words:
    """A week in words, in the orchard's units."""

    def __init__(self, units: str) -> None:
        self.units = units

    def degrees(self, value: float) -> str:
        return quantity.show(value, "degC", self.units).replace(" ", "").replace("-", "\u2212")

    def row(self, week: Week) -> Shown:
        """The cells of a row: each a list of lines, none where there is nothing to say."""
        return {
            "id": f"week-{week.start}",
            "week": f"{_short(week.start) if week.start.month != week.end.month else week.start.day} to {_short(week.end)}",
            "now": week.now,
            "cells": [
                ("Trees", self._trees(week)),
                ("Flowers", self._flowers(week)),
                ("Sky", self._sky(week.sky, week)),
                ("Infections", self._infections(week)),
                ("Work", [self._job(job) for job in week.jobs]),
                ("Hours", self._hours(week)),
            ],
        }

    def tell(self, week: Week) -> str:
        """The week in one line, as a picture's row is shown and read aloud."""
        parts = [f"{name}: {', '.join(lines)}" for name, lines in self.row(week)["cells"] if lines]
        return f"Week of {saying.day(week.start)}. " + ". ".join(parts) + "."

    @staticmethod
    def _trees(week: Week) -> list[str]:
        lines = [f"{block} {name}" for block, name in week.stages]
        return [*lines, *([f"in blossom: {', '.join(week.in_bloom)}"] if week.in_bloom else [])]

    @staticmethod
    def _flowers(week: Week) -> list[str]:
        if week.flowers is None:
            return ["not known: no day of bloom is known"]
        return [", ".join(week.flowers) or "nothing listed for bees", *week.lacks]

    def _sky(self, sky: Sky | None, week: Week) -> list[str]:
        if sky is None:
            return ["not known"] if week.past or week.now else []
        lines = [f"{self.degrees(sky.low)} to {self.degrees(sky.high)}"]
        if sky.rain is not None:
            lines.append(f"rain {quantity.show(sky.rain, 'mm', self.units)}")
        for word, days, worst in (("heat", sky.heat, max), ("frost", sky.frost, min)):
            if days:
                day, value = worst(days, key=lambda one: one[1])
                once = f"{word} {self.degrees(value)} on {_short(day)}"
                lines.append(
                    once if len(days) == 1 else f"{word} on {len(days)} days, {self.degrees(value)} on {_short(day)}"
                )
        if sky.days < 7:
            lines.append(f"{saying.count(sky.days, 'day')} known")
        return [*lines, *(["in part forecast"] if sky.forecast else [])]

    @staticmethod
    def _infections(week: Week) -> list[str]:
        lines: dict[tuple[str, str, str], list[str]] = {}
        for event in week.events:
            severity = {None: "not known", "near": "near"}.get(event["severity"], event["severity"])
            start = event["start"][:10]
            lines.setdefault((start, event["disease"], severity), []).append(f"{event['block']} {event['part']}")
        return [
            f"{_short(dt.date.fromisoformat(start))} {in_words(disease)}, {severity} ({', '.join(places)})"
            for (start, disease, severity), places in lines.items()
        ]

    @staticmethod
    def _job(job: Job) -> str:
        words = [job.name, *([job.place] if job.place else []), *([saying.hours(job.hours)] if job.hours else [])]
        return f"{'done' if job.done else 'planned'}: {', '.join(words)}"

    @staticmethod
    def _hours(week: Week) -> list[str]:
        lines = [f"{saying.hours(week.done)} done"] if week.done else []
        if week.planned:
            lines.append(f"{saying.hours(week.planned)} planned")
        if week.supply is not None:
            return [*lines, f"{saying.hours(week.supply)} there are"]
        return lines and [*lines, "hours there are: not given"]


def _short(day: dt.date) -> str:
    return f"{day.day} {day:%b}"
