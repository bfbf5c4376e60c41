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
_ANCHORS = {53: "green-tip", 65: "full-bloom", 69: "petal-fall"}
_LEAVES_FALL, _WINTER_DAYS = 93, 120


def reached(now: Situation, block: Block, bbch: int) -> dt.date | None:
    """The day on which the block reached a stage, as well as it is known; None if it has not, or nothing tells it."""
    stage = now.stages[block.id]
    if stage.bbch is None or stage.bbch < bbch:
        return None
    seen = _seen(now, block)
    before = [day for day, code in seen if code < bbch]
    after = [(day, code) for day, code in seen if code >= bbch]
    exact = [day for day, code in after if code == bbch]
    anchor = stage.anchors.get(_ANCHORS.get(bbch, ""))
    if exact and (not before or (exact[0] - before[-1]).days <= 7):
        return exact[0]
    if anchor is not None and anchor.likely is not None and anchor.likely <= now.on:
        return max([anchor.likely, *(day + dt.timedelta(days=1) for day in before[-1:])])
    if not after:
        later = [a.likely for name, a in stage.anchors.items() if a.likely and season.STAGES.get(name, 0) >= bbch]
        return min((day for day in later if day <= now.on), default=None)
    day, code = after[0]
    back = day - dt.timedelta(days=max(0, round(_day_of(code) - _day_of(bbch))))
    return min(day, max([back, *(last + dt.timedelta(days=1) for last in before[-1:])]))


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
