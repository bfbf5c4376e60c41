"""What time would have to bring for a condition on the stage or the season to hold: a look, a wait, or that it is past."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from advisor.advice import Run
from advisor.comparisons import passes
from advisor.conditions import BIND, Condition, Test
from advisor.evaluate import TestState
from advisor.explain.plans import Fix, What
from advisor.fact import Value
from advisor.science.sun import sun_hours
from advisor.season import can_stand_at
from advisor.sentences import in_words
from advisor.stages import stage_name
from advisor.unknowns import SEASONS

if TYPE_CHECKING:
    from advisor.explain.fixes import Ask

# Codes on the scale of flower and fruit that a grower can see; those between tell of shoots.
CODES = (0, *range(51, 60), *range(60, 70), *range(71, 80), *range(81, 90), *range(91, 100))
_FRESH = ("seen", "at_least", "stale", "days_ago")
_WEEK = 7
MAY_HAVE_MOVED = 3  # days after which a stage may have moved on unseen (common practice, no source)


def in_season(run: Run, kind: str, block: object) -> list[Fix]:
    """What has to come first, so that a look of a kind can find anything in a block: nothing, or a stage."""
    stage = run.now.stages.get(str(block))
    low, high = SEASONS.get(kind, (0, 99))
    if stage is None or stage.bbch is None or low <= stage.bbch <= high:
        return []
    if stage.bbch > high:
        raise OutOfSeason
    return [replace(_seen(str(block), low, stage.bbch, "wait", (low - stage.bbch) / 10), first=True)]


class OutOfSeason(Exception):
    """The stages at which a look can be taken are past."""


def stage_fixes(run: Run, ask: Ask) -> Iterator[Fix | str]:
    """Stages of a block that make the condition hold (or fail); `fruit`, `past` or `time` where none can be seen."""
    tests = ask.tests
    asked_for = next((t.expected for t in tests if t.field == "block" and isinstance(t.expected, str)), None)
    block = asked_for or (ask.fact.fields.get("block") if ask.fact else None)
    if not isinstance(block, str) or block not in run.now.stages:
        yield "given"
        return
    if any(t.field == "fruit" and t.state is False for t in tests):
        yield "fruit"
        return
    stage, fruit = run.now.stages[block], next(b.fruit for b in run.now.blocks if b.id == block)
    asked = _plain(tests, ("bbch", *_FRESH, "fruit"))
    fitting = [
        code for code in CODES if (passes(Condition("stage", asked), _fresh(code, fruit), {}) is True) == ask.wanted
    ]
    if not fitting:
        yield "time"
        return
    old = stage.seen is None or run.now.days_ago(stage.seen) >= MAY_HAVE_MOVED
    loose = stage.estimated or stage.stale or stage.contradicted or old
    now = stage.bbch
    if now is None:
        today = [code for code in fitting if can_stand_at(code, fruit, run.now.on, run.now.latitude)]
        yield _seen(block, today[0], None, "look", 0.5) if today else "time"
        return
    past = True
    for code in _nearest(fitting, now):
        if code == now:
            if loose:
                yield _seen(block, code, now, "look", 0.0)
        elif code > now:
            past = False
            yield _seen(block, code, now, "look" if loose else "wait", (code - now) / 10)
        elif stage.estimated and not stage.seen:
            past = False
            yield _seen(block, code, now, "look", (now - code) / 10)
    if past and now not in fitting:
        yield "past"


def _fresh(code: int, fruit: str) -> Mapping[str, Value]:
    return {"bbch": code, "fruit": fruit, "seen": True, "at_least": False, "stale": False, "days_ago": 0}


def _nearest(fitting: Sequence[int], now: int) -> list[int]:
    """The nearest code at or above, and the nearest below."""
    above = [code for code in fitting if code >= now][:1]
    below = [code for code in fitting if code < now][-1:]
    return [*above, *below]


def _seen(block: str, code: int, now: int | None, what: What, margin: float) -> Fix:
    name = stage_name(code)
    text = f"{block} at {in_words(name)} (BBCH {code})" if name else f"{block} at BBCH {code}"
    if now is not None and now != code:
        text += f", now {in_words(stage_name(now))} (BBCH {now})"
    elif now is not None:
        text += ", seen again"
    return Fix(what, f"tree-stage:{block}", margin, text, seen={"kind": "tree-stage", "block": block, "bbch": code},
               told={"observed": now, "expected": code, "unit": "BBCH", "margin": None if now is None else now - code})  # fmt: skip


def season_fixes(run: Run, ask: Ask) -> Iterator[Fix | str]:
    """Days of the coming year on which the season is as wanted; a bloom date to tell where the weeks hang on it."""
    now = run.now
    asked = _plain(ask.tests, ("weeks_from_bloom", "day_length", "days_lengthen"))
    if any(t.field == "winter" and t.state is not True for t in ask.tests) or not asked:
        told = _winter_told(run, ask)
        yield told or "time"
        return
    by_weeks = any(test.field == "weeks_from_bloom" for test in asked)
    if by_weeks and now.weeks is None:
        yield from _bloom_told(run, ask, asked)
        return
    by_light = any(test.field != "weeks_from_bloom" for test in asked)
    for days in range(1 if by_weeks else _WEEK, 365, 1 if by_weeks and not by_light else _WEEK):
        fields: dict[str, Value] = _light(run, days) if by_light else {}
        if now.weeks is not None:
            fields["weeks_from_bloom"] = now.weeks + days / 7
        if (passes(Condition("season", asked), fields, {}) is True) == ask.wanted:
            on = now.on + dt.timedelta(days=days)
            yield Fix("wait", "on", 1 + days / 30, f"from {on} on, when the season is there", place="on", value=on)
            return
    yield "past"


def _winter_told(run: Run, ask: Ask) -> Fix | None:
    """The look at trees that tells whether they rest, where nobody has said: one block in leaf tells that they do not."""
    unknown = [block for block in run.now.blocks if run.now.stages[block.id].bbch is None]
    winter = next((t for t in ask.tests if t.field == "winter"), None)
    if winter is None or winter.observed is not None or not unknown or any(t.state is False for t in ask.tests):
        return None
    resting = bool(winter.expected) is ask.wanted
    if resting and len(unknown) > 1:
        return None
    for code in CODES:
        if (code == 0) is resting and can_stand_at(code, unknown[0].fruit, run.now.on, run.now.latitude):
            return _seen(unknown[0].id, code, None, "look", 0.5)
    return None


def _light(run: Run, days: int) -> dict[str, Value]:
    """Day length and whether days lengthen, so many days from now."""
    lengths = []
    for shift in (days, days + 1):
        day = run.now.on + dt.timedelta(days=shift)
        rise, sets = sun_hours(run.now.latitude, run.now.file.orchard.longitude, day)
        lengths.append(float(sets - rise))
    return {"day_length": lengths[0], "days_lengthen": lengths[1] > lengths[0]}


def _bloom_told(run: Run, ask: Ask, asked: Sequence[Test]) -> Iterator[Fix | str]:
    """When apples bloomed, told so that the weeks since then fit."""
    apples = next((block.id for block in run.now.blocks if block.fruit == "apple"), None)
    for weeks in range(30):
        fits = passes(Condition("season", tuple(asked)), {"weeks_from_bloom": float(weeks)}, {})
        if apples is not None and fits is not None and fits == ask.wanted:
            day = run.now.on - dt.timedelta(weeks=weeks)
            yield Fix("say", f"tree-stage:{apples}:bloom", 0.5, f"{apples} in full bloom on {day}, or about then",
                      seen={"kind": "tree-stage", "block": apples, "stage": "full-bloom", "date": day.isoformat()})  # fmt: skip
            return
    yield "time"


def _plain(tests: Sequence[TestState], fields: Sequence[str]) -> tuple[Test, ...]:
    """The tests on some fields, with plain bounds."""
    return tuple(Test(t.field, "is" if t.op == BIND else t.op, t.expected) for t in tests  # type: ignore[arg-type]
                 if t.field in fields and t.expected is not None and not (t.op == BIND and t.field != "fruit"))  # fmt: skip
