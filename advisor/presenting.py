"""Turn settled outcomes into recommendations, and the facts of each block into its conditions."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Literal

from advisor import quantity
from advisor.answer import Amount, Evidence, Figure, LedgerLine, Recommendation, Window
from advisor.conditions import EVIDENCE
from advisor.ecosystem import Consequence, Knowledge, Ledger, Practice
from advisor.fact import Value
from advisor.facts import Gathered, Situation
from advisor.inference import Inference
from advisor.meant_later import cautions_of_later_days
from advisor.outcome import Proposal, Reservation, Show
from advisor.season import stage_name
from advisor.sentences import in_words, listed, without_noughts
from advisor.task_hours import task_hours
from advisor.units_in_text import Telling, degrees_apart, in_us_units, tells_a_difference
from advisor.weighing import POINTS, Outcome

LONGEST_SUMMARY = 140
BLOOM = 60  # BBCH
REAL_TRADE = 2.0  # score that gain and cost must both have to be told as a trade-off: a fair link of its own

_WON_BY = {
    "safety": "Safety comes first",
    "strength": "The stronger reason decides",
    "ledger": "Of two equal reasons, what the practice gives and costs here decides",
}


# Units that texts name in words of their own.
_WITHOUT_UNIT = ("1", "any", "count", "ratio", "year", "ph")


# Fields of words that are no ids of the knowledge, even where they read like one.
_NO_IDS = ("block", "habitat", "id", "cultivar", "severity", "start", "verdict")


# Stages whose names are no things that trees can be "at".
_SAID_STAGES = {"dormant": "winter rest", "leafless": "bare wood", "after-harvest": "the time after harvest"}


def show_in(system: Literal["metric", "us"], knowledge: Knowledge) -> Show:
    """How values are printed in texts: metric or us, ids by their names, stages by the words of their fruit.

    A field that is the id of a figure asks for a round number; whoever wants the figure as it is leaves its id out.
    """

    def show(value: Value, unit: str, field: str, fruit: str | None = None) -> str:
        if isinstance(value, bool):
            return "yes" if value else "no"
        if field == "severity" and value == "infects":
            return "sure"  # the figures of this disease know one degree only
        if isinstance(value, str):
            node = None if field in _NO_IDS else knowledge.said_by(value, field)
            return node.name if node else value
        if unit == "bbch":
            stage = stage_name(round(value), fruit)
            return _SAID_STAGES.get(stage, in_words(stage))
        if tells_a_difference(unit, field):
            return degrees_apart(float(value), system)
        if field == "day_length":
            value = round(float(value), 1)  # nobody reads the length of a day to the minute
        tell = quantity.neatly if field in knowledge.figures else quantity.spoken
        return tell(float(value), "" if unit in _WITHOUT_UNIT else "%" if unit == "percent" else unit, system)

    return show


def recommendations(now: Situation, inference: Inference, outcomes: Iterable[Outcome]) -> list[Recommendation]:
    """The recommendations, by stance (do, wait, avoid, look), most urgent first."""
    return [_recommendation(now, inference, one, name) for name, one in named(now, outcomes).items()]


def named(now: Situation, outcomes: Iterable[Outcome]) -> dict[str, Outcome]:
    """The outcomes by the ids of their recommendations, in order; ids are stable from week to week."""
    taken: dict[str, int] = {}
    found = {}
    for one in sorted(outcomes, key=_order):
        stem = ".".join(w for w in (one.practice, one.target, one.block or one.habitat, now.year) if w)
        taken[stem] = taken.get(stem, 0) + 1
        found[stem if taken[stem] == 1 else f"{stem}-{taken[stem]}"] = one
    return found


def _order(one: Outcome) -> tuple[Any, ...]:
    stances = {"do": 0, "wait": 1, "avoid": 2, "look": 3}
    return (
        stances[one.stance], -one.urgency, one.practice, one.target or "", one.block or "", one.habitat or "",
        min((w.day for w in one.wishes), default=-1), [w.id for w in one.wishes],
    )  # fmt: skip


def _recommendation(now: Situation, inference: Inference, one: Outcome, name: str) -> Recommendation:
    practice = now.knowledge.node(one.practice, "practice")
    assert isinstance(practice, Practice)
    deciding = deciding_for(one)
    reasons = reasons_of(one)
    lead = next((p for p in deciding if isinstance(p, Proposal)), None)
    strength = one.strength
    turned = _in_units(now, "neat")
    trade_off = _trade_off(one, deciding)
    return Recommendation(
        id=name,
        stance=one.stance,
        practice=one.practice,
        target=one.target,
        block=one.block,
        habitat=one.habitat,
        window=Window(opens=_day(now, one.opens), closes=_day(now, one.closes)),
        urgency=round(one.urgency, 3),
        summary=_summary(now, one, practice, deciding, _lacking(inference, one)),
        because=_unique([*_told_once(reasons, turned), *_unlooked(inference, reasons), *_settling(one)])
        or _of_the_ledger(one, now.knowledge),
        # how to do a thing with care is no help where it is not to be done at all
        how=_unique(turned(line) for r in (decided_by(one) if one.stance == "avoid" else reasons) for line in r.how),
        amount=_amount(lead),
        hours=task_hours(now, one, lead) if one.stance in ("do", "look", "wait") else None,
        gains=_lines(one.ledger, "gains"),
        costs=_lines(one.ledger, "costs"),
        cautions=_unique(
            map(
                _in_units(now, "cautious"),
                [
                    *_look_first(now, inference, reasons, one),
                    *cautions_of_later_days(now, inference, one),
                    *(line for r in reasons for line in r.cautions),
                    *practice.cautions,
                ],
            )
        ),
        evidence=_evidence(decided_by(one) or reasons),
        strength=strength,
        sources=_unique(
            [*(s for r in reasons for s in r.rule.sources), *(s for line in _entries(one.ledger) for s in line.sources)]
        ),
        depends_on=_depends_on(now, inference, reasons, one),
        settled_against=_unique(lost.what for lost in one.lost),
        answers=one.wishes[0].intent if one.wishes else None,
        workings=_workings(now, inference, reasons),
        figures=_figures(reasons),
        trade_off=None if trade_off is None else turned(trade_off),
    )


def _look_first(
    now: Situation, inference: Inference, reasons: Sequence[Proposal | Reservation], one: Outcome
) -> list[str]:
    """What rests on a stage that cannot be right begins with a look; so does what rests on trees that nobody has seen for
    weeks: buds are reckoned to the last stage before bloom, which they may long have passed, and leaves may have fallen.
    """
    stage = now.stages.get(one.block or "")
    if one.stance != "do" or stage is None or stage.seen is None or stage.bbch is None:
        return []
    told = inference.facts.get(f"stage:{one.block}")
    if told is None or told.id not in _matched(inference, reasons):
        return []
    if stage.wrong:
        return [f"Look first: what was written of the stage of {one.block} cannot be right."]
    if not (stage.estimated and stage.stale):
        return []
    may_be = "bare" if told.fields.get("may_be_bare") else "past bloom" if stage.bbch < BLOOM else ""
    return (
        [f"Look first: {one.block} was last looked at on {stage.seen}, and may be {may_be} by now."] if may_be else []
    )


def reasons_of(one: Outcome) -> list[Proposal | Reservation]:
    """Everything that speaks in a recommendation: what decided, what it gave way to, what cautions."""
    told = decided_by(one)
    return [*told, *(r for r in one.cautions_from if r not in told)]


def decided_by(one: Outcome) -> list[Proposal | Reservation]:
    """What the recommendation claims: what decided, and what it gave way to."""
    return deciding_for(one) + (deciding_for(one.gives_way_to) if one.gives_way_to else [])


def deciding_for(one: Outcome) -> list[Proposal | Reservation]:
    """The proposals and reservations that speak for the stance that came out, the weightiest first."""
    if one.stance in ("wait", "avoid") and (
        one.reservations or any(p.stance in ("wait", "avoid") for p in one.proposals)
    ):
        against: list[Proposal | Reservation] = [
            *one.reservations,
            *(p for p in one.proposals if p.stance in ("wait", "avoid")),
        ]
        firm = "forbid" if one.stance == "avoid" else "hold"
        return sorted(
            against,
            key=lambda r: (-POINTS[r.strength], getattr(r, "effect", firm) != firm, r.rule.id),
        )
    if one.gives_way_to is not None:
        return []
    speaking = [p for p in one.proposals if p.stance in ("do", "look")]
    return [*sorted(speaking, key=lambda p: (-p.urgency, p.rule.id))]


# What is lacking, where the kind of fact is no word of growers.
_LOOKS = {"stage": "stage of the trees", "outlook": "forecast", "infection-outlook": "forecast",
          "blight-outlook": "forecast", "recent-weather": "weather of the last days"}  # fmt: skip


def _lacking(inference: Inference, one: Outcome) -> list[str]:
    """What nobody has noted, in words, that something meant hangs on; the first two."""
    waiting = [u for u in inference.held_for_a_look
               if u.considered and u.considered.removeprefix("considered:") in one.waits_for]  # fmt: skip
    return _unique(_LOOKS.get(missing.kind, in_words(missing.kind)) for u in waiting for missing in u.missing)[:2]


def _summary(now: Situation, one: Outcome, practice: Practice, deciding: Sequence[Proposal | Reservation],
             lacking: Sequence[str]) -> str:  # fmt: skip
    if one.waits_for:
        text = f"Look first: {practice.name} hangs on what nobody has noted lately: {listed(lacking or ['a look'])}."
    elif deciding:
        first = deciding[0]
        text = first.summary if isinstance(first, Proposal) else first.answer
    elif one.gives_way_to is not None:
        winner = now.knowledge.node(one.gives_way_to.practice, "practice")
        text = f"Leave out {practice.name} here: it goes against {winner.name}."
    elif one.ledger is not None and one.ledger.total < 0 and practice.group != "watching":  # a look is worth its answer
        text = f"No rule holds it, but it costs more than it gives here: {practice.name}."
    else:
        text = f"Nothing that is known here speaks against it: {practice.name}."
    text = _in_units(now, "neat")(text)
    return text if len(text) <= LONGEST_SUMMARY else text[: LONGEST_SUMMARY - 1].rstrip() + "…"


def _unlooked(inference: Inference, reasons: Sequence[Proposal | Reservation]) -> list[str]:
    """A sentence that names the looks without which the rules act all the same."""
    firings = {firing.id: firing for firing in inference.firings}
    facts = [inference.facts[name] for name in _matched(inference, reasons) if name in inference.facts]
    behind = [*(reason.firing for reason in reasons), *(o for fact in facts for o in fact.origin if o in firings)]
    assumed = _unique(in_words(kind) for id in behind for kind in firings[id].assumed)
    told = " ".join(reason.because for reason in reasons)  # what a rule says by itself need not be said again
    kinds = " and no ".join(kind for kind in assumed if kind not in told)
    return [f"Nobody has looked, or not lately: no {kinds} is noted that would say otherwise."] if kinds else []


def _told_once(reasons: Sequence[Proposal | Reservation], turned: Callable[[str], str]) -> list[str]:
    """Why, in order: where one rule spoke many times, the first and the last of its sentences; why tells them all."""
    by: dict[str, list[str]] = {}
    for reason in reasons:
        by.setdefault(reason.rule.id, []).append(turned(reason.because))
    return [line for told in by.values() for line in _unique((told[0], told[-1]))]


def _settling(one: Outcome) -> list[str]:
    """A sentence for each way in which something was outweighed."""
    if not one.lost:
        return []
    by: dict[str, list[str]] = {}
    for lost in one.lost:
        by.setdefault(lost.by, []).append(in_words(lost.what))
    return [f"{_WON_BY[reason]}; outweighed: {', '.join(sorted(set(what)))}." for reason, what in sorted(by.items())]


def _of_the_ledger(one: Outcome, knowledge: Knowledge) -> list[str]:
    """What is known of something meant that no rule speaks of: its strongest gain and cost, and whether it serves."""
    gains, costs = (one.ledger.gains, one.ledger.costs) if one.ledger else ((), ())
    told = ["You mean to do it, and no rule speaks for it or against it as things stand."]
    told += [f"For it: {_said(gains[0])}."] if gains else []
    told += [f"Against it: {_said(costs[0])}."] if costs else []
    if one.target is not None and one.target not in {line.what for line in (*gains, *costs)}:
        node = knowledge.nodes.get(one.target)
        told.append(f"Whether it does anything about {node.name if node else one.target} is not known here.")
    return told


def _amount(lead: Proposal | None) -> Amount | None:
    if lead is None or lead.amount is None:
        return None
    value, unit = lead.amount
    return Amount(value=round(value, 3), unit=unit)


def _lines(ledger: Ledger | None, side: str) -> list[LedgerLine]:
    entries: tuple[Consequence, ...] = getattr(ledger, side) if ledger else ()
    return [LedgerLine(what=e.what, path=list(e.path), score=round(e.score, 3)) for e in entries]


def _entries(ledger: Ledger | None) -> list[Consequence]:
    return [*ledger.gains, *ledger.costs] if ledger else []


def _evidence(reasons: Sequence[Proposal | Reservation]) -> Evidence:
    """The weakest evidence among rules: those that decide, or only caution; a bare wish rests on common practice."""
    grades: tuple[Evidence, ...] = ("published", "common-practice", "from-memory")
    weakest = max((EVIDENCE.index(r.rule.evidence) for r in reasons), default=grades.index("common-practice"))
    return grades[weakest]


def _figures(reasons: Sequence[Proposal | Reservation]) -> list[Figure]:
    found: dict[str, Figure] = {}
    for reason in reasons:
        for use in reason.figures:
            found[use.id] = Figure(id=use.id, region=use.region, value=use.value, unit=use.unit, source=use.source)
    return [found[name] for name in sorted(found)]


def _matched(inference: Inference, reasons: Sequence[Proposal | Reservation]) -> list[str]:
    """Ids of all facts behind the reasons, down to what was given."""
    firings = {firing.id: firing for firing in inference.firings}
    todo = [fact for reason in reasons for fact in firings[reason.firing].facts]
    found: list[str] = []
    while todo:
        name = todo.pop(0)
        if name in found:
            continue
        found.append(name)
        fact = inference.facts.get(name)
        if fact is not None:
            for origin in fact.origin:
                todo += firings[origin].facts if origin in firings else [origin]
    return found


def _depends_on(
    now: Situation, inference: Inference, reasons: Sequence[Proposal | Reservation], one: Outcome
) -> list[str]:
    observed = {o.id for o in now.observations}
    behind = set(_matched(inference, reasons)) | {w.intent for w in one.wishes}
    return sorted(behind & observed)


def _workings(now: Situation, inference: Inference, reasons: Sequence[Proposal | Reservation]) -> list[str]:
    texts = (inference.facts[name].text for name in _matched(inference, reasons) if name in inference.facts)
    turned = _in_units(now, "measured")
    return _unique(turned(text) for text in texts if text)


def _in_units(now: Situation, telling: Telling) -> Callable[[str], str]:
    """What turns the metric measures that stand in sentences into the units of the orchard, and no time into today."""
    us = now.file.orchard.units == "us"
    return lambda text: without_noughts(in_us_units(text, telling) if us else text)


def _trade_off(one: Outcome, deciding: Sequence[Proposal | Reservation]) -> str | None:
    """A rule's own sentence; otherwise the strongest gain beside the strongest cost, where both are more than slight."""
    own = next((p.trade_off for p in deciding if isinstance(p, Proposal) and p.trade_off), None)
    ledger = one.ledger
    if own or ledger is None or not ledger.gains or not ledger.costs or one.stance == "look":
        return own
    gain = next((line for line in ledger.gains if line.what == one.target), ledger.gains[0])
    cost = ledger.costs[0]
    return f"For: {_gained(gain)}. Against: {_said(cost)}." if min(gain.score, cost.score) >= REAL_TRADE else None


def _gained(entry: Consequence) -> str:
    """The gain, without the practice where both have one name: more nitrogen, not: feeding nitrogen favours nitrogen."""
    said = _said(entry)
    return f"more {entry.name}" if said.count(entry.name) > 1 and len(entry.path) == 1 else said


def _said(entry: Consequence) -> str:
    return "; ".join(entry.path)


def conditions(now: Situation, gathered: Gathered) -> dict[str, dict[str, Any]]:
    """For each block its stage, and every fact about it that was seen or computed."""
    found: dict[str, dict[str, Any]] = {}
    for block in now.blocks:
        stage = now.stages[block.id]
        found[block.id] = {
            "stage": {
                "bbch": stage.bbch,
                "name": stage.name,
                "seen": stage.seen.isoformat() if stage.seen else None,
                "estimated": stage.estimated,
                "at_least": stage.at_least,
                "stale": stage.stale,
                "wrong": stage.wrong,
                "why": stage.why,
            }
        }
    skip = {"stage", "block", "cultivar", "tool", "orchard", "intent", "tank-mate", "disagreement", "history"}
    for fact in sorted(gathered.facts, key=lambda f: f.id):
        place = fact.fields.get("block")
        if fact.kind not in skip and place in found:
            entry = {k: v for k, v in sorted(fact.fields.items()) if k != "block"}
            found[str(place)].setdefault(fact.kind, []).append(entry)
    return found


def _day(now: Situation, days: float | None) -> dt.date | None:
    return None if days is None else now.on + dt.timedelta(days=round(days))


def _unique(items: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(items))
