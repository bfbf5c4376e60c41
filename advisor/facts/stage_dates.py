"""When a block reached a stage this season: by heat where the season tells it, otherwise about, from what was seen."""

from __future__ import annotations

import datetime as dt

import numpy as np

from advisor import season
from advisor.facts.situation import Situation
from advisor.observation import TreeStage
from advisor.orchard import Block

# Usual days from green tip to a stage (handbook knowledge, from memory; in a warm spring fewer, in a cool one more), to
# reckon back from a stage that was seen to one that nobody wrote down.
_STEPS = ((0, -40), (51, -8), (53, 0), (54, 5), (56, 10), (57, 15), (59, 19), (60, 20), (65, 24), (69, 33), (71, 40),
          (73, 55), (75, 70), (81, 110), (87, 135), (91, 150), (93, 170), (97, 190))  # fmt: skip
_LEAVES_FALL, _WINTER_DAYS = 93, 120


def reached(now: Situation, block: Block, bbch: int) -> dt.date | None:
    """The day on which the block reached a stage, as well as it is known; None if it has not, or nothing tells it."""
    stage = now.stages[block.id]
    if stage.bbch is None or stage.bbch < bbch:
        return None
    seen = _seen(now, block)
    for day, code in seen:
        if code == bbch:
            return day
    by_heat = [
        (anchor.likely, season.STAGES[name])
        for name, anchor in stage.anchors.items()
        if anchor.likely is not None and anchor.likely <= now.on
    ]
    known = sorted({*seen, *((day, code) for day, code in by_heat if _fits(seen, day, code))})
    before = [(day, code) for day, code in known if code < bbch]
    after = [(day, code) for day, code in known if code >= bbch]
    if not after:  # moved on from what was seen: about as many days as usual after it
        if not before:
            return None
        day, code = before[-1]
        return min(day + dt.timedelta(days=round(_day_of(bbch) - _day_of(code))), now.on)
    day, code = after[0]
    steps = max(0.0, _day_of(code) - _day_of(bbch))
    if not before or before[-1][0] >= day:
        return day - dt.timedelta(days=round(steps))
    last, past = before[-1]
    usual, took = _day_of(code) - _day_of(past), (day - last).days
    if took < usual:  # a spring faster than usual: in proportion
        steps = took * steps / usual
    return max(day - dt.timedelta(days=round(steps)), last + dt.timedelta(days=1))


def _fits(seen: list[tuple[dt.date, int]], day: dt.date, code: int) -> bool:
    """Whether a stage told by heat fits what was seen: no later stage before it or that day, no earlier one after."""
    return not any(
        (look < day and stage >= code) or (look == day and stage > code) or (look > day and stage < code)
        for look, stage in seen
    )


def _seen(now: Situation, block: Block) -> list[tuple[dt.date, int]]:
    start = season.season_start(now.on, now.latitude)
    found = []
    for look in now.observations:
        if not isinstance(look, TreeStage) or look.date < start:
            continue
        if look.habitat is None and look.block in (None, block.id):
            code = look.code(block.fruit)
            if code is not None and not (code >= _LEAVES_FALL and (look.date - start).days <= _WINTER_DAYS):
                found.append((look.date, code))
    return sorted(found)


def _day_of(bbch: int) -> float:
    codes, days = zip(*_STEPS, strict=True)
    return float(np.interp(bbch, codes, days))
