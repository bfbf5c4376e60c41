"""Two answers side by side: what appears, disappears and moves, and which changed facts it hangs on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from advisor.advice import Run
from advisor.answer import Record
from advisor.conditions import CONSIDERED, INTENT, PLACES, Rule
from advisor.explain.telling import UNKNOWN, Teller, words
from advisor.fact import Fact
from advisor.inference import Inference
from advisor.presenting import named, reasons_of
from advisor.task_hours import hours_of
from advisor.weighing import Outcome

# What of a recommendation may move.
MOVES = ("stance", "window", "urgency", "strength", "amount", "hours")
LONGEST_WHY = 4  # sentences on changed facts

Key = tuple[str, str | None, str | None, str | None, int]


@dataclass(frozen=True)
class Side:
    """One of the two answers: its run, and each recommendation with the outcome behind it, by what it is about."""

    run: Run
    found: Mapping[Key, tuple[Mapping[str, Any], Outcome]]

    @staticmethod
    def of(answer: Any) -> Side:
        run: Run = answer.run
        outcomes = named(run.now, run.outcomes)
        return Side(run, keyed((r, outcomes[r["id"]]) for r in answer["recommendations"]))


def keyed(
    entries: Iterable[tuple[Mapping[str, Any], Outcome]],
) -> dict[Key, tuple[Mapping[str, Any], Outcome]]:
    """By practice, target and place, and their number where there are several: the same from one year to the next."""
    found: dict[Key, tuple[Mapping[str, Any], Outcome]] = {}
    for entry, outcome in entries:
        stem = (outcome.practice, outcome.target, outcome.block, outcome.habitat)
        number = 0
        while (*stem, number) in found:
            number += 1
        found[(*stem, number)] = (entry, outcome)
    return found


def moved(old: Mapping[str, Any], new: Mapping[str, Any], days: tuple[str, str]) -> list[str]:
    """Which of MOVES differ. days: the days of the two answers; a window so many days from each has not moved."""
    changed = [name for name in MOVES if old.get(name) != new.get(name)]
    if "window" in changed and days[0] != days[1] and _away(old["window"], days[0]) == _away(new["window"], days[1]):
        changed.remove("window")
    return changed


def _away(window: Mapping[str, str | None], day: str) -> tuple[int | None, ...]:
    today = dt.date.fromisoformat(day)
    return tuple(None if end is None else (dt.date.fromisoformat(end) - today).days for end in window.values())


def compare(before: Any, after: Any) -> Record:
    """{appears, disappears, moves} from one answer to another, each with why."""
    old, new = Side.of(before), Side.of(after)
    teller = Teller.of(new.run)
    changed = changed_facts(old.run.inference, new.run.inference)
    days = (before["date"], after["date"])
    appears, disappears, moves = [], [], []
    for key in sorted(old.found.keys() | new.found.keys(), key=str):
        was, now = old.found.get(key), new.found.get(key)
        if was is None and now is not None:
            appears.append(_entry(now[0], [*now[0]["because"], *_hangs_on(new.run, now[1], changed, teller)]))
        elif now is None and was is not None:
            hangs = _hangs_on(old.run, was[1], changed, teller)
            gone = [*_why_gone(old.run, new.run, was[1], teller), *hangs]
            if any(text.endswith(": no longer so.") for text in hangs):  # which says it, and shorter
                gone = [text for text in gone if ": none; wanted" not in text]
            disappears.append(_entry(was[0], gone or ["What it rested on is no longer so."]))
        elif was is not None and now is not None:
            differing = moved(was[0], now[0], days)
            because = [text for text in now[0]["because"] if text not in was[0]["because"]]
            sides = {"before": {n: was[0][n] for n in differing}, "now": {n: now[0][n] for n in differing}}
            if _speaking(was[1]) != _speaking(now[1]):  # a reason came or went, even where nothing else moves
                gone = [text for text in was[0]["because"] if text not in now[0]["because"]]
                if gone or because:
                    differing.append("because")
                    sides["before"]["because"], sides["now"]["because"] = gone, because
            if differing:
                why = [*because, *_hangs_on(new.run, now[1], changed, teller)]
                tools = _tools(old.run, was) | _tools(new.run, now)
                why = why or _hangs_on(old.run, was[1], changed, teller) or _given_otherwise(changed, teller, tools)
                entry = _entry(now[0], why or now[0]["because"][:1])
                moves.append({**entry, "changed": differing, **sides})
    found: Record = Record.of({"appears": appears, "disappears": disappears, "moves": moves})
    return found


def _entry(r: Mapping[str, Any], why: Iterable[str]) -> dict[str, Any]:
    kept = ("id", "stance", "practice", "target", "block", "habitat", "window", "urgency", "summary")
    return {**{name: r[name] for name in kept}, "why": list(dict.fromkeys(why))}


def _speaking(outcome: Outcome) -> set[str]:
    """The rules that speak for or about an outcome."""
    return {one.rule.id for one in reasons_of(outcome)}


def _tools(run: Run, one: tuple[Mapping[str, Any], Outcome]) -> set[str]:
    """The tools that the hours of a recommendation are reckoned with."""
    r, outcome = one
    amount = (r["amount"]["value"], r["amount"]["unit"]) if r["amount"] else None
    hours = hours_of(run.now, outcome.practice, outcome.block, outcome.habitat, amount)
    return {place.tool for place in (hours or {}).values()}


# --- what it hangs on ----------------------------------------------------------------------------


def changed_facts(old: Inference, new: Inference) -> dict[str, tuple[Fact | None, Fact | None]]:
    """Facts that are given, seen or computed and differ between two runs: id -> (old, new)."""
    found = {}
    for id in sorted(old.facts.keys() | new.facts.keys()):
        was, now = old.facts.get(id), new.facts.get(id)
        one = now or was
        assert one is not None
        if old.rulebook.kinds[one.kind].of in ("derived",) or one.kind == "considered":
            continue
        if was is None or now is None or was.fields != now.fields:
            found[id] = (was, now)
    return found


def facts_behind(run: Run, outcome: Outcome) -> list[str]:
    """Ids of all facts behind an outcome, the nearest first, down to what was given."""
    firings = {firing.id: firing for firing in run.inference.firings}
    todo = [fact for one in (*outcome.proposals, *outcome.reservations) for fact in firings[one.firing].facts]
    todo += [f"considered:{wish.id}" for wish in outcome.wishes]
    found: dict[str, None] = {}
    while todo:
        name = todo.pop(0)
        fact = run.inference.facts.get(name)
        if name in found or fact is None:
            continue
        found[name] = None
        for origin in fact.origin:
            todo += firings[origin].facts if origin in firings else [origin]
    return list(found)


def _hangs_on(
    run: Run, outcome: Outcome, changed: Mapping[str, tuple[Fact | None, Fact | None]], teller: Teller
) -> list[str]:
    """A sentence for each changed fact behind an outcome, on those of its fields that the rules behind it read."""
    behind = facts_behind(run, outcome)
    read: dict[str, set[str]] = {}
    for rule in rules_behind(run, outcome, behind):
        for condition in rule.conditions():
            read.setdefault(condition.kind, set()).update(test.field for test in condition.tests)
    texts = []
    for name in behind:
        if name in changed:
            was, now = changed[name]
            one = now or was
            assert one is not None
            texts.append(_change(was, now, read.get(one.kind, set()), teller))
    return [text for text in texts if text][:LONGEST_WHY]


def _given_otherwise(
    changed: Mapping[str, tuple[Fact | None, Fact | None]], teller: Teller, tools: Collection[str]
) -> list[str]:
    """What is given otherwise than before: what hours, for one, hang on; of tools only those of this work."""
    texts = []
    for was, now in changed.values():
        one = now or was
        assert one is not None
        kind = teller.resolver.kinds[one.kind]
        if one.kind == "tool" and one.fields["tool"] not in tools:
            continue
        if kind.of == "given":
            texts.append(_change(was, now, set(kind.fields) - {"days_ago"}, teller))
    return [text for text in texts if text][:LONGEST_WHY]


def rules_behind(run: Run, outcome: Outcome, facts: Iterable[str]) -> list[Rule]:
    """The rules that speak for an outcome, and those that derived the facts behind it."""
    firings = {firing.id: firing.rule for firing in run.inference.firings}
    origins = [origin for name in facts for origin in run.inference.facts[name].origin]
    return [*(one.rule for one in (*outcome.proposals, *outcome.reservations)),
            *(firings[origin] for origin in origins if origin in firings)]  # fmt: skip


def _change(was: Fact | None, now: Fact | None, read: set[str], teller: Teller) -> str:
    """Sward in upper: height 10 cm instead of 45 cm."""
    if now is None:
        assert was is not None
        return sentence(f"{teller.fact(was, sorted(read))}: no longer so")
    if was is None:
        return sentence(f"{teller.fact(now, sorted(read))}: new")
    kind = teller.resolver.kinds[now.kind]
    parts = []
    for name in sorted(read & (was.fields.keys() | now.fields.keys())):
        old, new = was.fields.get(name), now.fields.get(name)
        if old != new:
            said = "not known" if new is None else teller.value(new, kind.fields[name].unit, name)
            before = "not known" if old is None else teller.value(old, kind.fields[name].unit, name)
            parts.append(f"{words(name)} {said} instead of {before}")
    return sentence(f"{teller.about(now.kind, now.fields)}: {', '.join(parts)}") if parts else ""


def _why_gone(old: Run, new: Run, outcome: Outcome, teller: Teller) -> list[str]:
    """What the rules that spoke for something ask and no longer find, or what now outweighs them."""
    bindings = {firing.id: firing.bindings for firing in old.inference.firings}
    meant = {str(fact.fields["id"]) for fact in new.inference.facts.values() if fact.kind == INTENT}
    gone = [wish.intent for wish in outcome.wishes if wish.intent not in meant]
    if gone and not any(p.stance == "do" for p in outcome.proposals):
        return [f"Nobody means to do it any more, or its day is past ({', '.join(gone)})."]
    false: list[str] = []
    unknown: list[str] = []
    for one in (*outcome.proposals, *outcome.reservations):
        known = {name: value for name, value in bindings[one.firing].items() if isinstance(value, str)}
        for state in new.inference.evaluator.explain(one.rule, known):
            if state.state is True or state.condition.kind in (CONSIDERED, *one.rule.even_if_not_seen):
                continue
            for told in teller.conditions(state, {name: known[name] for name in PLACES if name in known}):
                if told["state"] is not True:
                    (unknown if told["state"] == UNKNOWN else false).append(sentence(told["text"]))
        winners = [o for o in new.outcomes if any(lost.what == one.rule.id for lost in o.lost)]
        false += [f"Outweighed by {winner.practice} ({_by(winner, one.rule.id)})." for winner in winners]
    return (false or unknown)[:LONGEST_WHY]


def _by(winner: Outcome, rule: str) -> str:
    return next(lost.by for lost in winner.lost if lost.what == rule)


def sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")
