"""Week by week: who finds food, where it is lacking, which seasons are thin, and where sward and trees compete.

A gap is a week of the season in which nothing feeds the one that it is counted for; gaps are counted each for itself,
so that one more plant can never make one.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from advisor.ecosystem import Knowledge
from advisor.facts.situation import Situation
from advisor.habitat.ribbon import InBloom, SiteBloom, day_of_week
from advisor.science.bloom import open_weeks, runs
from advisor.sentences import listed

# What a week can lack: id, words, and which flowers fill it.
FOODS: tuple[tuple[str, str, Callable[[InBloom], bool]], ...] = (
    ("flowers", "no flower that feeds bees", lambda one: one.feeds),
    ("nectar", "no nectar", lambda one: one.nectar),
    ("short-tongues", "no nectar that short tongues reach", lambda one: one.short_tongues),
    ("pollen", "no pollen to speak of", lambda one: one.pollen),
)


@dataclass(frozen=True)
class Parts:
    """The season of bloom in three parts [weeks from apple full bloom], and the kinds that each should have in flower."""

    early: int
    mid: int
    late: int
    ends: int
    wanted: dict[str, int]
    sources: tuple[str, ...]

    @staticmethod
    def of(knowledge: Knowledge, region: str) -> Parts:
        rows = {
            name: knowledge.figure(f"flower-succession.{name}").value(region)
            for name in ("early-opens-weeks", "mid-opens-weeks", "late-opens-weeks", "late-closes-weeks",
                         "kinds-early", "kinds-mid", "kinds-late")
        }  # fmt: skip
        number = {name: float(row.value) for name, row in rows.items()}
        return Parts(
            early=math.floor(number["early-opens-weeks"]),
            mid=math.floor(number["mid-opens-weeks"]),
            late=math.floor(number["late-opens-weeks"]),
            ends=math.floor(number["late-closes-weeks"]),
            wanted={part: math.ceil(number[f"kinds-{part}"]) for part in ("early", "mid", "late")},
            sources=tuple(sorted({row.source for row in rows.values() if row.source})),
        )

    @property
    def weeks(self) -> range:
        return range(self.early, self.ends)

    def spans(self) -> dict[str, range]:
        return {
            "early": range(self.early, self.mid),
            "mid": range(self.mid, self.late),
            "late": range(self.late, self.ends),
        }

    def part_of(self, week: int) -> str | None:
        return next((part for part, span in self.spans().items() if week in span), None)


def opens_in(one: InBloom, weeks: range) -> list[bool]:
    """Whether a flower is open in each of these weeks."""
    return [bool(shut) for shut in open_weeks([one.begin], [one.end], weeks.start, weeks.stop - 1)[0]]


def table(flowers: Sequence[InBloom], site: SiteBloom, parts: Parts) -> list[dict[str, Any]]:
    """Every week from the first flower to the last, and all of the season: who is open, and for whom."""
    first = min([parts.early, *(math.floor(one.begin) for one in flowers)])
    last = max([parts.ends - 1, *(math.ceil(one.end) - 1 for one in flowers)])
    weeks = range(first, last + 1)
    grid = [opens_in(one, weeks) for one in flowers]
    rows = []
    for column, week in enumerate(weeks):
        here = [one for one, row in zip(flowers, grid, strict=True) if row[column]]
        fed = {food: _kinds(one for one in here if fills(one)) for food, _, fills in FOODS}
        part = parts.part_of(week)
        rows.append(
            {
                "week": week,
                "from": _iso(day_of_week(site, week)),
                "to": _iso(day_of_week(site, week + 1), less=1),
                "part": part,
                "kinds": fed["flowers"],
                "nectar": fed["nectar"],
                "short_tongues": fed["short-tongues"],
                "pollen": fed["pollen"],
                "trees": sorted({one.place for one in here if one.role == "tree"}),
                "thin": part is not None and len(fed["flowers"]) < parts.wanted[part],
            }
        )
    return rows


def gaps(flowers: Sequence[InBloom], site: SiteBloom, parts: Parts, sure: bool) -> list[dict[str, Any]]:
    """Runs of weeks in the season that lack a food; `sure` is false where plants of a place are not listed."""
    found = []
    for food, words, _ in FOODS:
        for first, last in runs(lacking(flowers, parts, food), parts.early):
            found.append(
                {
                    "lacks": food,
                    "first_week": first,
                    "last_week": last,
                    "from": _iso(day_of_week(site, first)),
                    "to": _iso(day_of_week(site, last + 1), less=1),
                    "sure": sure,
                    "text": f"{words[0].upper()}{words[1:]} in {span_text(first, last, site)}.",
                }
            )
    return found


def lacking(flowers: Sequence[InBloom], parts: Parts, food: str) -> list[bool]:
    """For each week of the season, whether a food is lacking."""
    fills = next(test for name, _, test in FOODS if name == food)
    rows = [opens_in(one, parts.weeks) for one in flowers if fills(one)]
    if not rows:
        return [True] * len(parts.weeks)
    return [not there for there in np.any(np.asarray(rows, dtype=np.bool_), axis=0)]


def seasons(flowers: Sequence[InBloom], parts: Parts, sure: bool) -> list[dict[str, Any]]:
    """Early, mid and late: the kinds in flower, how many there should be, and whether that is thin."""
    found = []
    for part, span in parts.spans().items():
        kinds = _kinds(one for one in flowers if one.feeds and any(opens_in(one, span)))
        wanted = parts.wanted[part]
        found.append(
            {
                "part": part,
                "first_week": span.start,
                "last_week": span.stop - 1,
                "kinds": kinds,
                "wanted": wanted,
                "thin": len(kinds) < wanted,
                "sure": sure or len(kinds) >= wanted,
            }
        )
    return found


def competition(flowers: Sequence[InBloom], site: SiteBloom, now: Situation) -> list[dict[str, Any]]:
    """Weeks in which a block's trees and its own sward are open at once and call the same bees."""
    found = []
    for tree in (one for one in flowers if one.role == "tree"):
        first, last = math.floor(tree.begin), math.ceil(tree.end) - 1
        weeks = range(first, last + 1)
        rows = [(one, opens_in(one, weeks)) for one in flowers if one.place == tree.place and one.role == "understory"]
        below = {one.plant.id: row for one, row in rows if one.feeds}
        shared = [week for at, week in enumerate(weeks) if any(row[at] for row in below.values())]
        if not shared:
            continue
        named = {one.plant.id: one.plant for one, row in rows if one.feeds and any(row)}
        richer = [name for name, plant in named.items() if (plant.nectar or 0) > (tree.plant.nectar or 0)]
        names = listed([plant.name for plant in named.values()])
        draw = (
            f"{listed([named[name].name for name in richer])} {'gives' if len(richer) == 1 else 'give'} more nectar "
            f"than {tree.plant.name} and may draw bees down"
            if richer
            else f"no richer in nectar than {tree.plant.name}"
        )
        found.append(
            {
                "block": tree.place,
                "fruit": tree.plant.id,
                "plants": sorted(named),
                "richer": sorted(richer),
                "weeks": shared,
                "from": _iso(day_of_week(site, shared[0])),
                "to": _iso(day_of_week(site, shared[-1] + 1), less=1),
                "text": f"{tree.place}: {names} below the trees while they bloom; {draw}. Whether that costs fruit set "
                "is disputed; bees that live here need both.",
                "evidence": "from-memory",
            }
        )
    return found


def span_text(first: int, last: int, site: SiteBloom) -> str:
    """A run of weeks in words, with its dates where they are known."""
    said = f"week {first}" if first == last else f"weeks {first} to {last}"
    begins, ends = day_of_week(site, first), day_of_week(site, last + 1)
    if begins is None or ends is None:
        return said
    return f"{said} ({begins} to {ends - dt.timedelta(days=1)})"


def _kinds(flowers: Any) -> list[str]:
    return sorted({one.plant.id for one in flowers})


def _iso(day: dt.date | None, less: int = 0) -> str | None:
    return None if day is None else (day - dt.timedelta(days=less)).isoformat()
