"""The year's hours in five kinds and a sixth line: planned, done and left, by block, beside what others published."""

from __future__ import annotations

from typing import Any

from advisor.facts import Situation
from advisor.facts.given import bearing
from advisor.hours.jobs import Job
from advisor.hours.standing import Usual
from advisor.observation import Work
from advisor.science import labour
from advisor.sentences import WHOLE

LINES = (*labour.FIFTHS, labour.OTHER)
_SMALL = labour.PUBLISHED_YEARS["small ecological orchard"]
_NAMES = {"pruning": "pruning", "floor": "mulching and soil", "spray": "pests and disease", "thinning": "thinning",
          "harvest": "harvest"}  # fmt: skip
DIFFERS = 0.05  # of the year's hours from a fifth, from which a line is worth a word


def budget(now: Situation, usual: list[Usual], advised: list[Job]) -> dict[str, Any]:
    """The year against the first guide of a fifth each (common practice, no source).

    planned: the year's usual work, and what the advice asks beyond it. done: hours written in `work` this year. left:
    still to do in its time. past: its time is over, and no work is written for it.
    """
    blocks = [b.id for b in now.blocks] + [h.id for h in now.file.habitats] + [WHOLE]
    planned = {line: dict.fromkeys(blocks, 0.0) for line in LINES}
    done = {line: dict.fromkeys(blocks, 0.0) for line in LINES}
    left = {line: dict.fromkeys(blocks, 0.0) for line in LINES}
    past = {line: dict.fromkeys(blocks, 0.0) for line in LINES}
    lacking, seen = [], set()
    for one in usual:
        place = one.block or one.habitat or WHOLE
        line = labour.kind_of(one.practice)
        seen.add((one.practice, place))
        if one.hours is None or one.left is None:
            lacking.append({"practice": one.practice, "place": place})
            continue
        planned[line][place] += one.hours
        (left if one.closes >= now.on else past)[line][place] += one.left
    for job in advised:
        places = job.by_place if job.block is None and job.habitat is None else {job.block or job.habitat or "": None}
        for place in places:
            if (job.practice, place) not in seen:
                hours = job.by_place[place].hours + job.set_up if place in job.by_place else job.hours + job.set_up
                planned[labour.kind_of(job.practice)][place] += hours
                left[labour.kind_of(job.practice)][place] += hours
    without = 0
    for work in now.observations:
        if isinstance(work, Work) and now.this_season(work.date):
            place = work.block or work.habitat or WHOLE
            if work.hours is None:
                without += 1
            elif place in blocks:
                line = labour.kind_of(work.practice)
                done[line][place] += work.hours
                if (work.practice, place) not in seen:  # nothing was planned for it
                    planned[line][place] += work.hours
    totals = {line: sum(planned[line].values()) for line in LINES}
    against = labour.against_fifths(totals) if sum(totals.values()) > 0 else None
    return {
        "year": now.year,
        "guide": "A fifth each for pruning, mulching and soil, pests and disease, thinning and harvest is a first "
        "guess (common practice, no source); the sixth line has no guess.",
        "lines": [_line(now, name, planned[name], done[name], left[name], past[name], against) for name in LINES],
        "planned": round(sum(totals.values()), 1),
        "done": round(sum(sum(d.values()) for d in done.values()), 1),
        "left": round(sum(sum(v.values()) for v in left.values()), 1),
        "past": round(sum(sum(v.values()) for v in past.values()), 1),
        "works_without_hours": without,
        "not_counted": sorted(lacking, key=lambda w: (w["place"], w["practice"])),
    }


def _line(
    now: Situation, name: str, planned: dict[str, float], done: dict[str, float], left: dict[str, float],
    past: dict[str, float], against: dict[str, dict[str, float]] | None,
) -> dict[str, Any]:  # fmt: skip
    guess = None if against is None or name == labour.OTHER else against[name]["guess"]
    share = None if against is None else against[name]["share"]
    return {
        "kind": name,
        "planned": round(sum(planned.values()), 1),
        "done": round(sum(done.values()), 1),
        "left": round(sum(left.values()), 1),
        "past": round(sum(past.values()), 1),
        "share": None if share is None else round(share, 3),
        "guess": None if guess is None else round(guess, 1),
        "published": _published(name),
        "why": None if share is None or name == labour.OTHER else _why(now, name, share),
        "by_place": {
            place: {"planned": round(planned[place], 1), "done": round(done[place], 1), "left": round(left[place], 1),
                    "past": round(past[place], 1)}
            for place in planned
            if planned[place] or done[place]
        },
    }


def _published(name: str) -> list[dict[str, Any]]:
    """Shares of the year that were published or are told by growers for this kind of work."""
    found = []
    task = next((task for task, line in _NAMES.items() if line == name), None)
    if task is not None:
        share = _SMALL.tasks[task][0] / _SMALL.total[0]
        found.append({"where": "small ecological orchard, by hand", "share": round(share, 3), "source": _SMALL.source})
    if name in labour.SWISS_SHARES:
        source = "Bravin, Dietiker and Hanhart, Agroscope, 2016"
        found.append({"where": "Swiss dessert apples", "share": labour.SWISS_SHARES[name], "source": source})
    return found


def _why(now: Situation, name: str, share: float) -> str | None:
    """Where a line is far from a fifth: the likely reasons, from what the orchard is."""
    more = share - labour.FIFTH_SHARE
    if abs(more) < DIFFERS:
        return None
    blocks = now.blocks
    reasons: list[str] = []
    if name == "harvest" and more > 0:
        reasons.append("bearing trees take most of their hours at harvest: published shares are 44 to 52 %")
    if name == "harvest" and more < 0:
        young = [b.id for b in blocks if bearing(now, b) is False]
        reasons.append(f"{', '.join(young)} not bearing yet" if young else "the crop is small for the trees")
        if any(b.use == "cider" for b in blocks):
            reasons.append("fruit for pressing is shaken and gathered, not picked")
    if name == "pests and disease" and more < 0:
        reasons.append("few sprays are planned: published shares are 4 to 7 %")
    if name == "pests and disease" and more > 0:
        reasons.append("walks, traps and sprays cost a visit each, however few the trees")
    if name == "thinning" and more < 0:
        not_thinned = [b.id for b in blocks if b.fruit in ("sweet-cherry", "tart-cherry", "quince")]
        young = [b.id for b in blocks if bearing(now, b) is False]
        pressed = [b.id for b in blocks if b.use == "cider"]
        reasons += [f"{', '.join(ids)} {words}" for ids, words in (
            (not_thinned, "is a fruit that is not thinned by hand"), (young, "not bearing yet"),
            (pressed, "for pressing, and not thinned"),
        ) if ids]  # fmt: skip
        reasons = reasons or ["thinning is done once, harvest takes the longer part of the year"]
    if name == "thinning" and more > 0:
        reasons.append("each tree is thinned by hand; what was counted on the trees may ask for less")
    if name == "pruning":
        reasons.append("the trees are many or tall for their crop" if more > 0 else
                       "the trees are small, or young, and quickly pruned")  # fmt: skip
    if name == "mulching and soil":
        machines = {"flail-mower", "lawn-mower", "sickle-bar"} & set(now.file.orchard.tools or ())
        few = "machines cut the floor" if machines else "little ground is cut, and little mulch spread"
        reasons.append("mulch by barrow is slow" if more > 0 else
                       f"{few}; a small ecological orchard by hand has 11 % (common practice)")  # fmt: skip
    return f"{'More' if more > 0 else 'Less'} than a fifth, and that may be right: {'; '.join(reasons)}."
