"""The plan: the advice and the year's usual work, put on days within the hours there are."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from advisor.advice import Answer, WeatherGiven, advise
from advisor.answer import Record
from advisor.ecosystem import Knowledge
from advisor.errors import InputError, Problem
from advisor.facts import Situation
from advisor.hours import exact, greedy, trade
from advisor.hours.budget import budget
from advisor.hours.jobs import Job, Jobs, gather, problem_of
from advisor.hours.model import Problem as Task
from advisor.hours.model import Solution
from advisor.hours.relief import Loosening, Relief
from advisor.hours.standing import bloom_day, standing
from advisor.hours.supply import Sky, Supply, supply
from advisor.orchard import OrchardFile
from advisor.quantity import show
from advisor.rulebook import Rulebook
from advisor.science import labour
from advisor.task_hours import Hours

MOST_WEEKS = 26


def plan(
    orchard: OrchardFile | str | Path | Mapping[str, Any],
    on: dt.date | dt.datetime | str | None = None,
    weather: WeatherGiven = None,
    forecast: WeatherGiven = None,
    *,
    weeks: int = 8,
    rules: Rulebook | None = None,
    knowledge: Knowledge | None = None,
) -> Record:
    """The plan for an orchard on a day: takes what `advise` takes, and returns what `plan_for` does."""
    return plan_for(advise(orchard, on, weather, forecast, rules=rules, knowledge=knowledge), weeks)


def plan_for(answer: Answer, weeks: int = 8) -> Record:
    """This week and the next `weeks`: what to do on which day, what does not fit, and the year's hours.

    Returns a JSON-ready record: weeks, demand, supply, budget, unplaced, slips, held, gap, notes. Hours are hours of
    one person. Raises InputError for a number of weeks that cannot be planned.
    """
    if not 0 <= weeks <= MOST_WEEKS:
        raise InputError(
            Problem(
                "request", "weeks", f"{weeks} weeks cannot be planned", f"Write 0 to {MOST_WEEKS}.", value=str(weeks)
            )
        )
    now = answer.run.now
    hours = supply(now, weeks)
    sky = Sky(now, hours.length)
    usual = standing(now)
    jobs = gather(now, answer, usual, hours.length)
    task = problem_of(now, answer, jobs.jobs, hours, sky)
    quick = greedy.solve(task)
    solution = exact.solve(task, quick) if exact.available() else quick
    view = _View(now, answer, jobs, task, solution, hours, sky)
    by_week = [view.week(n) for n in range(weeks + 1)]
    unplaced = view.unplaced()
    made = {
        "plan": answer["advice"],
        "orchard": answer["orchard"],
        "date": answer["date"],
        "until": hours.date(hours.length - 1).isoformat(),
        "edition": dict(answer["edition"]),
        "this_week": by_week[0],
        "next_weeks": by_week[1:],
        "demand": [_demand(job) for job in jobs.jobs],
        "supply": [_supply(week) for week in by_week],
        "budget": budget(now, usual, [job for job in jobs.jobs if job.origin != "usual"]),
        "unplaced": unplaced,
        "slips": view.slips(unplaced),
        "without_hours": jobs.without_hours,
        "held": jobs.held,
        "gap": _gap(quick, solution),
        "notes": _notes(now, hours, sky, jobs),
    }
    found: Record = Record.of(made)
    return found


class _View:
    """A solved plan, read as people read it."""

    def __init__(
        self, now: Situation, answer: Answer, jobs: Jobs, task: Task, solution: Solution, hours: Supply, sky: Sky
    ) -> None:
        self.now, self.answer, self.jobs, self.task, self.solution = now, answer, jobs, task, solution
        self.hours, self.sky = hours, sky
        self.sittings = {s.id: s for s in task.sittings}
        self.by_job: dict[str, list[str]] = {}
        for sitting in task.sittings:
            self.by_job.setdefault(sitting.job, []).append(sitting.id)

    def week(self, number: int) -> dict[str, Any]:
        days = range(7 * number, 7 * number + 7)
        jobs = [entry for job in self.jobs.jobs for entry in [self._in_week(job, days)] if entry is not None]
        jobs.sort(key=lambda e: (e["from"], -e["urgency"], e["job"]))
        own = sum(d.own for d in self.solution.placed.values() if d.day in days)
        helped = sum(h for d in self.solution.placed.values() if d.day in days for h in d.helped.values())
        wet = self.sky.wet_days(number)
        return {
            "week": number,
            "from": self.hours.date(days[0]).isoformat(),
            "to": self.hours.date(days[-1]).isoformat(),
            "hours": self.hours.week_hours[number],
            "planned": round(own, 2),
            "helper_hours": round(sum(v.people * v.hours for v in self.hours.visits if v.day in days), 2),
            "helper_planned": round(helped, 2),
            "days_off": [d.isoformat() for d in self.hours.off if 0 <= (d - self.hours.start).days - days[0] < 7],
            "rain_days": None if wet is None else [self.hours.date(d).isoformat() for d in wet],
            "helpers": [self._visit(name) for name, one in self.hours.helpers.items()
                        if 0 <= (one.day - self.hours.start).days - days[0] < 7],
            "jobs": jobs,
        }  # fmt: skip

    def _visit(self, name: str) -> dict[str, Any]:
        one = self.hours.helpers[name]
        return {"day": one.day.isoformat(), "who": one.who, "people": one.people, "hours": one.hours,
                "practice": list(one.practice or ())}  # fmt: skip

    def _in_week(self, job: Job, days: range) -> dict[str, Any] | None:
        by_day: dict[int, dict[str, Any]] = {}
        for name in self.by_job[job.id]:
            done = self.solution.placed.get(name)
            if done is None or done.day not in days:
                continue
            fit = self.sittings[name].fit[done.day]
            entry = by_day.setdefault(
                done.day,
                {"day": self.hours.date(done.day).isoformat(), "hours": 0.0, "own": 0.0, "helpers": 0.0,
                 "weather": "not known yet" if fit is None else "fits"},
            )  # fmt: skip
            entry["hours"] += self.sittings[name].hours
            entry["own"] += done.own
            entry["helpers"] += sum(done.helped.values())
        if not by_day:
            return None
        spans = [
            {**by_day[day], **{k: round(by_day[day][k], 2) for k in ("hours", "own", "helpers")}}
            for day in sorted(by_day)
        ]
        return {
            **self._about(job),
            "hours": round(sum(s["hours"] for s in spans), 2),
            "from": spans[0]["day"],
            "to": spans[-1]["day"],
            "days": spans,
            "wants": list(trade.needs_of(job.practice, job.tool)),
            "tool": job.tool,
            "amount": self._amount(job),
            "cautions": list(job.cautions),
        }

    def _amount(self, job: Job) -> str | None:
        """What the hours are reckoned from, as people read it: 24 trees, 3.5 m3."""
        by_unit: dict[str, float] = {}
        for hours in job.by_place.values():
            if hours.amount_unit != "visits":
                by_unit[hours.amount_unit] = by_unit.get(hours.amount_unit, 0.0) + hours.amount
        system = self.now.file.orchard.units
        return ", ".join(show(value, unit, system) for unit, value in sorted(by_unit.items())) or None

    def _about(self, job: Job) -> dict[str, Any]:
        return {
            "job": job.id,
            "practice": job.practice,
            "name": self.now.knowledge.node(job.practice, "practice").name,
            "block": job.block,
            "habitat": job.habitat,
            "origin": job.origin,
            "urgency": round(job.urgency, 3),
            "why": job.why,
            "recommendations": list(job.recommendations),
            "closes": None if job.closes is None else job.closes.isoformat(),
        }

    def unplaced(self) -> list[dict[str, Any]]:
        """What the plan leaves out, worth most first, each with what kept it out and the least that would let it in."""
        loosening = Loosening(self.task, self.solution)
        found = []
        for job in sorted(self.jobs.jobs, key=lambda j: (-j.worth, j.id)):
            missing = [name for name in self.by_job[job.id] if name not in self.solution.placed]
            if not missing:
                continue
            relief = loosening.of(missing)
            hours = sum(self.sittings[name].hours for name in missing)
            found.append(
                {
                    **self._about(job),
                    "hours": round(hours, 2),
                    "of_hours": round(sum(self.sittings[name].hours for name in self.by_job[job.id]), 2),
                    "kept_out_by": "several things at once" if relief is None else relief.kept_out_by,
                    "relief": None if relief is None else self._relief(job, relief, hours),
                }
            )
        return found

    def _relief(self, job: Job, relief: Relief, hours: float) -> dict[str, Any]:
        days = [self.hours.date(d).isoformat() for d in relief.days]
        helper = relief.helper
        return {
            "text": self._said(job, relief, days, hours),
            "more_hours": [
                {"week_from": self.hours.date(7 * week).isoformat(), "hours": more}
                for week, more in sorted(relief.extra.items())
            ],
            "helper": None if helper is None else
            {"day": self.hours.date(helper.day).isoformat(), "people": helper.people, "hours": helper.hours},
            "days": days,
            "proof": relief.proof,
        }  # fmt: skip

    def _said(self, job: Job, relief: Relief, days: list[str], hours: float) -> str:
        when = days[0] if len(days) == 1 else f"{days[0]} to {days[-1]}"
        wanted = trade.needs_of(job.practice, job.tool)
        needs = trade.weather_words(wanted) if wanted else "fit"
        words = {
            "weather": f"a spell of {hours:g} h that is {needs}, such as on {when}",
            "re-entry": f"the label's interval being over sooner, for work on {when}",
            "order": f"doing it out of its order on {when}, which the plan does not",
            "tool": f"a second {job.tool}, on {when}",
            "day off": f"working on {when}, a day off",
            "window": f"doing it on {when}, after its time",
            "order of work": f"room on {when}, with other work moved",
        }
        more = [f"{h:g} h more in the week of {self.hours.date(7 * w)}" for w, h in sorted(relief.extra.items())]
        if more:
            text = " and ".join(more)
            if relief.helper is not None:
                v = relief.helper
                who = "one helper" if v.people == 1 else f"{v.people} helpers"
                text += f", or {who} for {v.hours:g} h on {self.hours.date(v.day)}"
            other = relief.kept_out_by.removeprefix("hours and ")
            return text if other == "hours" else f"{text}, and {words.get(other, other)}"
        return words[relief.kept_out_by]

    def slips(self, unplaced: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """What not doing it costs: its urgency, and what the practice would have given and cost here."""
        jobs = {job.id: job for job in self.jobs.jobs}
        by_id = {r["id"]: r for r in self.answer["recommendations"]}
        found = []
        for entry in unplaced:
            job = jobs[entry["job"]]
            share = entry["hours"] / entry["of_hours"] if entry["of_hours"] else 1.0
            recommended = [by_id[name] for name in job.recommendations if name in by_id]
            gains = [line for r in recommended for line in r["gains"]]
            beyond = job.closes is None or job.closes > self.hours.date(self.hours.length - 1)
            found.append(
                {
                    **self._about(job),
                    "hours": entry["hours"],
                    "cost": round(job.worth * share, 3),
                    "lost": [line["what"] for line in gains[:5]],
                    "spared": [line["what"] for r in recommended for line in r["costs"]][:5],
                    "can_wait": beyond,
                }
            )
        return sorted(found, key=lambda s: (-s["cost"], s["job"]))


def _demand(job: Job) -> dict[str, Any]:
    return {
        "job": job.id,
        "practice": job.practice,
        "block": job.block,
        "habitat": job.habitat,
        "line": labour.kind_of(job.practice),
        "origin": job.origin,
        "hours": round(job.hours, 2),
        "set_up": job.set_up,
        "by_place": {place: _rate(hours) for place, hours in sorted(job.by_place.items())},
    }


def _rate(hours: Hours) -> dict[str, Any]:
    own = hours.own
    return {
        "hours": round(hours.hours, 2),
        "amount": round(hours.amount, 2),
        "amount_unit": hours.amount_unit,
        "rate": hours.rate,
        "value": round(hours.value, 4),
        "unit": hours.unit,
        "tool": hours.tool,
        "evidence": hours.evidence,
        "source": None if own else hours.source,
        "note": hours.note,
        "workings": hours.workings,
        "own": None if own is None else
        {"value": round(own.value, 4), "records": own.records, "before": own.before,
         "change": round(own.value / own.before - 1, 3)},
    }  # fmt: skip


def _supply(week: Mapping[str, Any]) -> dict[str, Any]:
    kept = ("week", "from", "to", "hours", "planned", "helper_hours", "helper_planned", "days_off", "rain_days")
    return {name: week[name] for name in kept}


def _gap(quick: Solution, best: Solution) -> dict[str, Any]:
    gap = best.gap
    return {
        "method": best.method,
        "worth": round(best.worth, 4),
        "greedy_worth": round(quick.worth, 4),
        "gain": round(best.worth / quick.worth - 1, 4) if quick.worth > 0 else 0.0,
        "bound": None if best.bound is None else round(best.bound, 4),
        "gap": None if gap is None else round(gap, 5),
    }


def _notes(now: Situation, hours: Supply, sky: Sky, jobs: Jobs) -> list[str]:
    notes = []
    if any(h is None for h in hours.week_hours):
        notes.append(
            "How many hours there are a week is not given for all of these weeks (hours_per_week): there the plan says "
            "when work fits, up to " + show(hours.longest_day, "h") + " a day, not whether the hours are enough."
        )
    known = sky.known_until
    if known < hours.length - 1:
        until = "is not known: all" if known < 0 else f"is known until {hours.date(known)} and not beyond: later"
        notes.append(f"The weather {until} days are provisional, look at the forecast before you start.")
    if any(trade.is_spray(job.practice) for job in jobs.jobs):
        notes.append(
            "Before any spray, read its label: rate, weather, days to entry and to picking; local codes come first. The "
            "intervals in this plan are usual ones."
        )
    if now.file.orchard.tools is None:
        notes.append("No tools are given: hours are those of the quickest tool, and any tool is taken to be at hand.")
    if now.bloom.date is None:
        notes.append(f"{bloom_day(now)[1]} The year's usual work is dated from it.")
    own = sorted({h.rate for job in jobs.jobs for h in job.by_place.values() if h.own is not None})
    for rate in own:
        one = next(h for job in jobs.jobs for h in job.by_place.values() if h.rate == rate)
        assert one.own is not None
        notes.append(
            f"Your own rate counts for {one.note or rate}: {one.own.value:.3g} {one.unit} from {one.own.records} records, "
            f"instead of {one.own.before:g}."
        )
    if not exact.available():
        notes.append("The solver is not installed (pip install 'underbough[scale]'): this plan goes by rule of thumb.")
    return notes
