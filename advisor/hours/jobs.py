"""Jobs to be planned: what the advice says to do or look at, and the year's usual work that is due; cut into sittings."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from advisor.answer import Record
from advisor.facts import Situation
from advisor.hours import trade
from advisor.hours.model import Keep, Order, Problem, Sitting
from advisor.hours.standing import Usual
from advisor.hours.supply import Sky, Supply
from advisor.observation import Intent
from advisor.science import labour
from advisor.task_hours import Hours, hours_of, set_up

LEDGER_SHARE, LEDGER_MOST = 0.1, 5.0  # each point of what it gives over what it costs adds a tenth of the urgency
LEAST_URGENCY = 0.05
MOST_SITTINGS = 12
SMALL = 4.0  # hours of a usual job up to which it is not spread over weeks


@dataclass(frozen=True)
class Job:
    """One thing to do at one place. hours: without set-up. first, last: days of the plan that its window leaves."""

    id: str
    practice: str
    block: str | None
    habitat: str | None
    hours: float
    set_up: float
    by_place: Mapping[str, Hours]
    first: int
    last: int
    closes: dt.date | None
    urgency: float
    gives: float
    costs: float
    why: str
    origin: str  # advised, waits (from the day its wait ends), usual
    recommendations: tuple[str, ...] = ()
    target: str | None = None
    material: str | None = None
    cautions: tuple[str, ...] = ()

    @property
    def worth(self) -> float:
        """Urgency, raised by what the practice gives here over what it costs."""
        net = min(max(self.gives - self.costs, 0.0), LEDGER_MOST)
        return max(self.urgency, LEAST_URGENCY) * (1 + LEDGER_SHARE * net)

    @property
    def tool(self) -> str:
        return next((h.tool for h in self.by_place.values() if h.tool != "hand"), "hand")


@dataclass
class Jobs:
    """Everything that wants doing, and what was left out of the plan, each with its reason."""

    jobs: list[Job] = field(default_factory=list)
    without_hours: list[dict[str, Any]] = field(default_factory=list)
    held: list[dict[str, Any]] = field(default_factory=list)


def gather(now: Situation, answer: Record, usual: list[Usual], horizon: int) -> Jobs:
    """Jobs of the advice first; of the year's usual work what is due in these weeks and nothing else speaks for."""
    found = Jobs()
    for r in answer["recommendations"]:
        _from_advice(now, r, horizon, found)
    found.jobs = _walks_together(found.jobs)
    for one in usual:
        _from_the_year(now, one, answer["recommendations"], horizon, found)
    found.jobs.sort(key=lambda job: job.id)
    return found


def _from_advice(now: Situation, r: Record, horizon: int, found: Jobs) -> None:
    about = {"practice": r.practice, "block": r.block, "habitat": r.habitat, "recommendation": r.id}
    opens, closes = _date(r.window.opens), _date(r.window.closes)
    idle = r.stance == "wait" and (opens is None or (trade.is_spray(r.practice) and not r.answers))
    if r.stance == "avoid" or idle:  # the end of a wait is no reason to spray; only who means to may then
        found.held.append({**about, "stance": r.stance, "until": r.window.closes, "why": r.summary})
        return
    first = max(0, (opens - now.on).days if opens else 0)
    # the close of a wait is the end of the waiting, not of the work
    last = horizon - 1 if closes is None or r.stance == "wait" else min(horizon - 1, (closes - now.on).days)
    if first >= horizon:
        found.held.append({**about, "stance": r.stance, "until": r.window.opens, "why": r.summary})
        return
    if labour.WORK_OF.get(r.practice) in (None, "none"):
        return
    amount = (r.amount.value, r.amount.unit) if r.amount else None
    by_place = hours_of(now, r.practice, r.block, r.habitat, amount)
    if by_place is None:
        lack = "no rate, or the trees, the ground or the amount it is reckoned from"
        found.without_hours.append({**about, "why": f"Its hours are not known: what is lacking is {lack}."})
        return
    intents = {o.id: o for o in now.observations if isinstance(o, Intent)}
    intent = intents.get(r.answers or "")
    found.jobs.append(
        Job(
            r.id, r.practice, r.block, r.habitat, sum(h.hours for h in by_place.values()), set_up(now, r.practice),
            by_place, first, last, closes if r.stance != "wait" else None, r.urgency,
            sum(g.score for g in r.gains), sum(c.score for c in r.costs), r.summary,
            "waits" if r.stance == "wait" else "advised", (r.id,), r.target,
            intent.material if intent else None, tuple(r.cautions),
        )
    )  # fmt: skip


def _walks_together(jobs: list[Job]) -> list[Job]:
    """Looks at one block are one walk: the same hours serve them all, within the days that all leave open."""
    kept: list[Job] = []
    walks: dict[str | None, int] = {}
    for job in jobs:
        if job.practice != "scout" or job.habitat:
            kept.append(job)
            continue
        at = walks.get(job.block)
        if at is None or max(kept[at].first, job.first) > min(kept[at].last, job.last):
            walks[job.block] = len(kept)
            kept.append(job)
            continue
        walk = kept[at]
        first, last = max(walk.first, job.first), min(walk.last, job.last)
        closes = min((d for d in (walk.closes, job.closes) if d is not None), default=None)
        kept[at] = Job(
            walk.id, walk.practice, walk.block, None, walk.hours, walk.set_up, walk.by_place, first, last, closes,
            max(walk.urgency, job.urgency), walk.gives + job.gives, walk.costs + job.costs, walk.why, walk.origin,
            (*walk.recommendations, *job.recommendations), None, None, walk.cautions,
        )  # fmt: skip
    return kept


def _from_the_year(now: Situation, one: Usual, advised: list[Record], horizon: int, found: Jobs) -> None:
    if not one.planned:
        return
    begins, ends = (one.opens - now.on).days, (one.closes - now.on).days
    about = {"practice": one.practice, "block": one.block, "habitat": one.habitat, "recommendation": None}
    if ends < 0 or begins >= horizon:
        return
    if one.left is None:
        found.without_hours.append({**about, "why": "Its hours are not known: trees, spacing or tools are not given."})
        return
    family = trade.MOWN if one.practice in trade.MOWN or labour.WORK_OF[one.practice] in trade.MOWN else {one.practice}
    turn_days = max(1, (one.closes - one.opens).days // one.times)
    rivals = [r for r in advised if _same_place(r, one) and _is_same(r.practice, one.practice, family)]
    first, last = max(0, begins), min(horizon - 1, ends)
    for r in rivals:
        if r.stance in ("do", "look") and r.practice == one.practice:
            closes = _date(r.window.closes)
            if one.times == 1 or closes is None:
                return
            first = max(first, (closes - now.on).days + turn_days)  # the next turn, after the one that is advised
    if first > last:
        return
    for r in rivals:
        if r.stance == "wait" and r.practice == one.practice:
            return  # the job that waits stands in its place, or it is held
        if r.stance in ("avoid", "wait"):
            closes = _date(r.window.closes)
            first = horizon if closes is None else max(first, (closes - now.on).days + 1)
            if first > last:
                found.held.append({**about, "stance": r.stance, "until": r.window.closes, "why": r.summary})
                return
    assert one.each is not None
    assert one.hours is not None
    open_days = max(ends, 0) - max(begins, 0) + 1
    due = one.left * min(1.0, (last - max(0, begins) + 1) / open_days)
    per_time = one.hours / one.times
    times = 1 if one.times == 1 else round(due / per_time)
    if one.times > 1:
        hours = one.each.hours
    elif one.left <= SMALL:  # a small job is done whole, and not before half of its time is at hand
        hours = max(one.left - one.set_up, one.left / 2) if due >= one.left / 2 else 0.0
    else:
        hours = due - one.set_up
    if times == 0 or hours <= 0.01:
        return
    place = one.block or one.habitat or ""
    for turn in range(times):  # repeated work is spread over its weeks
        a = first + round((last - first + 1) * turn / times)
        b = max(a, first + round((last - first + 1) * (turn + 1) / times) - 1)
        name = ".".join(w for w in ("usual", one.practice, place, now.year, str(turn + 1) if times > 1 else "") if w)
        found.jobs.append(
            Job(
                name, one.practice, one.block, one.habitat, hours, one.set_up, {place: one.each},
                a, b, one.closes, one.urgency, 0.0, 0.0, f"The year's usual work: {one.why}.", "usual",
            )
        )  # fmt: skip


def _is_same(practice: str, usual: str, family: Any) -> bool:
    return practice == usual or (family is trade.MOWN and labour.WORK_OF.get(practice) in trade.MOWN)


def _same_place(r: Record, one: Usual) -> bool:
    if one.habitat:
        return bool(r.habitat == one.habitat)
    return r.habitat is None and r.block in (None, one.block)


def problem_of(now: Situation, answer: Record, jobs: list[Job], supply: Supply, sky: Sky) -> Problem:
    """The jobs as sittings, with the weather, the closed days, the helpers and the order that they must keep."""
    sittings = [sitting for job in jobs for sitting in _cut(now, job, answer, supply, sky)]
    orders, keeps = _order(now, jobs)
    return Problem(
        tuple(sorted(sittings, key=lambda s: s.id)), supply.day_hours, supply.week_hours, supply.longest_day,
        supply.visits, supply.tools, tuple(orders), tuple(keeps),
    )  # fmt: skip


def _cut(now: Situation, job: Job, answer: Record, supply: Supply, sky: Sky) -> list[Sitting]:
    rate = "labour.sitting-spray" if trade.is_spray(job.practice) else "labour.sitting"
    longest = float(now.knowledge.figure(rate).value(now.region).value)
    parts = max(1, math.ceil(job.hours / longest - 1e-9))
    if parts > MOST_SITTINGS and not trade.is_spray(job.practice):  # long work goes by longer days
        parts = max(MOST_SITTINGS, math.ceil(job.hours / (supply.longest_day - job.set_up)))
    hours = round(job.hours / parts + job.set_up, 2)
    days = tuple(range(job.first, job.last + 1))
    fit = sky.fit(trade.needs_of(job.practice, job.tool))
    shut = _shut(job, answer, supply.length)
    tool = job.tool if job.tool in supply.tools else None
    helps = _helps(job, answer, supply)
    return [
        Sitting(
            f"{job.id}/{n:02}", job.id, hours, job.worth / parts, days, fit, tool, shut, helps,
            trade.is_spray(job.practice),
        )
        for n in range(1, parts + 1)
    ]


def _shut(job: Job, answer: Record, length: int) -> frozenset[int]:
    """Days on which a spray that is on keeps people out of the block, or fruit from being picked."""
    blocks = [job.block] if job.block else [] if job.habitat else sorted(answer["conditions"])
    left = [
        entry["picking"] if job.practice == "pick" else entry["entry"]
        for block in blocks
        for entry in answer["conditions"].get(block, {}).get("label-interval", [])
    ]
    return frozenset(range(min(length, math.ceil(max(left, default=0)))))


def _helps(job: Job, answer: Record, supply: Supply) -> dict[str, float]:
    """How much of the grower's hour an hour of each helper is worth at this job; sprays are the grower's own."""
    found = {}
    for name, helpers in supply.helpers.items():
        if job.practice not in (helpers.practice or ()) and (helpers.practice or trade.is_spray(job.practice)):
            continue
        rate = 1.0
        fruit, kilos = _fruit_off(job, answer), _kilos(job)
        if helpers.fruit_per_hour and fruit:
            rate = helpers.fruit_per_hour / (fruit / job.hours)
        elif helpers.kg_per_hour and kilos:
            rate = helpers.kg_per_hour / (kilos / job.hours)
        found[name] = rate
    return found


def _fruit_off(job: Job, answer: Record) -> float | None:
    """Fruit that come off when a block is thinned, where its crop was counted."""
    if labour.WORK_OF.get(job.practice) != "thin" or not job.block:
        return None
    loads = answer["conditions"].get(job.block, {}).get("crop-load", [])
    trees = [h.amount for h in job.by_place.values() if h.amount_unit == "trees"]
    surplus = [load["surplus"] for load in loads if load.get("surplus")]
    return trees[0] * sum(surplus) / len(surplus) if trees and surplus else None


def _kilos(job: Job) -> float | None:
    kilos = [h.amount for h in job.by_place.values() if h.amount_unit == "kg"]
    return sum(kilos) if labour.WORK_OF.get(job.practice) == "pick" and kilos else None


def _order(now: Situation, jobs: list[Job]) -> tuple[list[Order], list[Keep]]:
    orders, keeps = [], []
    again = _repeats(jobs)
    for a in jobs:
        for b in jobs:
            if a.id == b.id or not _meet(a, b):
                continue
            for row in trade.ORDERS:
                if a.practice in row.first and b.practice in row.then and a.id not in again:
                    orders.append(Order(a.id, b.id, row.gap, row.must, row.why, row.along))
            if trade.is_spray(a.practice):
                days, why = _entry(now, a)
                if not trade.is_spray(b.practice):
                    keeps.append(Keep(a.id, b.id, days, why))
                elif b.practice != a.practice:
                    mix = "Two sprays are kept to different days: no tank mix but by the label."
                    keeps.append(Keep(a.id, b.id, days, mix))
    return orders, keeps


def _repeats(jobs: list[Job]) -> set[str]:
    """Later turns of the year's repeated work: what is to follow a walk follows the next one, not all of the season's."""
    seen: set[tuple[str, str | None, str | None]] = set()
    found = set()
    for job in sorted(jobs, key=lambda one: (one.first, one.id)):
        work = (job.practice, job.block, job.habitat)
        if job.origin == "usual" and work in seen:
            found.add(job.id)
        seen.add(work)
    return found


def _meet(a: Job, b: Job) -> bool:
    """Whether two jobs are about the same ground; what is for the whole orchard meets every block."""
    if a.habitat or b.habitat:
        return a.habitat == b.habitat
    return a.block == b.block or a.block is None or b.block is None


def _entry(now: Situation, job: Job) -> tuple[int, str]:
    """Days after a spray that the block stays closed, by usual labels; the rest of the day where none is known."""
    for name in (job.material, job.practice):
        figure = now.knowledge.figures.get(f"{name}.re-entry")
        if figure is not None:
            hours = float(figure.value(now.region).value)
            return math.ceil(hours / 24) - 1, f"Usual labels of {name} keep people out for {hours:g} h; yours decides."
    return 0, f"Ask the label of {job.practice} when the block may be entered again; the day of the spray is kept free."


def _date(value: str | dt.date | None) -> dt.date | None:
    return dt.date.fromisoformat(value) if isinstance(value, str) else value
