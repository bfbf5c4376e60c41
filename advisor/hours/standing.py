"""The work that every year brings to each block and habitat: how much, and between which days.

It fills the year's budget, and the weeks that no advice speaks for yet. Nothing of it is advice: a job that the rules
propose, hold or forbid takes the place of the year's usual one.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from advisor import season
from advisor.facts import Situation
from advisor.facts.given import bearing
from advisor.hours import trade
from advisor.observation import Work
from advisor.orchard import Block
from advisor.task_hours import Hours, crop_to_pick, hours_of, set_up


@dataclass(frozen=True)
class Usual:
    """One kind of work at one place in this orchard year.

    hours: of the whole year, set-up included; None where they cannot be told. each: of one time, without set-up.
    """

    practice: str
    block: str | None
    habitat: str | None
    opens: dt.date
    closes: dt.date
    times: int
    urgency: float
    planned: bool
    why: str
    each: Hours | None
    set_up: float
    done: float
    done_times: int

    @property
    def hours(self) -> float | None:
        return None if self.each is None else self.times * (self.each.hours + self.set_up)

    @property
    def left(self) -> float | None:
        """Hours still to do this year: what was done is taken off by the hours written, otherwise by how often."""
        if self.hours is None:
            return None
        by_times = self.hours * max(0, self.times - self.done_times) / self.times
        return max(0.0, self.hours - self.done) if self.done else by_times


def bloom_day(now: Situation) -> tuple[dt.date, str]:
    """Full bloom of apple of this orchard year, and how it is known: seen or reckoned, otherwise as usual here."""
    if now.bloom.date is not None:
        return now.bloom.date, now.bloom.why
    southern = season.southern(now.latitude)
    usual = trade.USUAL_BLOOM.get(
        now.file.guidance or "", trade.USUAL_BLOOM_SOUTH if southern else trade.USUAL_BLOOM_NORTH
    )
    if (usual[0] >= 7) != southern:  # guidance of the other hemisphere says nothing of dates here
        usual = trade.USUAL_BLOOM_SOUTH if southern else trade.USUAL_BLOOM_NORTH
    year = season.season_start(now.on, now.latitude).year
    day = dt.date(year, *usual)
    return day, f"Full bloom of apple is not known yet; the usual day of the region is taken, {day} (from memory)."


def standing(now: Situation) -> list[Usual]:
    """All that the year brings, by place and time."""
    bloom, _ = bloom_day(now)
    found = [_usual(now, bloom, row, block, None) for block in now.blocks for row in _rows(now, block)]
    for habitat in now.file.habitats:
        row = trade.HABITAT.get(habitat.kind)
        if row is not None:
            found.append(_usual(now, bloom, row, None, habitat.id))
    return sorted(found, key=lambda u: (u.opens, u.practice, u.block or "", u.habitat or ""))


def _rows(now: Situation, block: Block) -> Iterator[trade.Standing]:
    yield from trade.TREES
    if block.floor not in ("bare", "mulched"):
        yield from trade.FLOOR
    if block.mulch is None:
        yield trade.NO_MULCH
    else:
        yield trade.MULCH["hay" if block.mulch.material in ("hay", "legume-hay", "straw", "meadow-cut") else "chips"]
    if block.fruit in ("apple", "pear"):
        yield trade.LITTER
    yield from trade.WATCH
    yield from trade.SET_ASIDE
    if block.irrigation is not None and block.irrigation.kind != "none":
        yield trade.WATER
    if block.lie == "hollow":
        yield trade.FROST
    if bearing(now, block) is False:
        return
    if block.use != "cider" and block.fruit in trade.THINNED:
        yield trade.THIN
    weeks = trade.PICKED[block.fruit]
    yield trade.Standing("pick", weeks, 1, 0.8, "harvest", evidence="from-memory")
    if block.use != "cider":
        yield trade.Standing("store", weeks, 1, 0.6, "sorting and storing")


def _usual(
    now: Situation, bloom: dt.date, row: trade.Standing, block: Block | None, habitat: str | None
) -> Usual:
    opens, closes = (bloom + dt.timedelta(days=round(7 * weeks)) for weeks in row.weeks)
    place = block.id if block else habitat
    hours = hours_of(now, row.practice, block.id if block else None, habitat, _amount(now, row.practice, block))
    each = None if hours is None else hours[place or ""]
    records = [
        o for o in now.observations
        if isinstance(o, Work) and o.practice == row.practice and now.this_season(o.date)
        and (o.block == block.id if block else o.habitat == habitat)
    ]  # fmt: skip
    return Usual(
        row.practice, block.id if block else None, habitat, opens, closes, row.times, row.urgency, row.planned, row.why,
        each, set_up(now, row.practice), sum(o.hours or 0.0 for o in records), len(records),
    )  # fmt: skip


def _amount(now: Situation, practice: str, block: Block | None) -> tuple[float, str] | None:
    """The amount of the year's usual work, where it is not the whole of the place."""
    if block is not None and practice in ("spread-ramial-chips", "lay-hay-ring"):
        if not block.trees or block.spacing is None:
            return None
        ring = block.trees * 3.1416 * (block.spacing.tree / 2) ** 2
        return ring * trade.RENEWED_DEPTH, "m3"
    if block is not None and practice == "store":
        crop = crop_to_pick(now, block)
        return None if crop is None else (crop[0], "kg")
    return None
