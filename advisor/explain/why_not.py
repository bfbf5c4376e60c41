"""Why not: for a practice at a place the rules that come nearest, what it lost to, and the smallest change.

status  advised                 it is among the recommendations as something to do (or to look at)
        asked-and-answered      somebody means to do it, and the answer is wait or avoid
        waiting-for-a-look      nothing speaks against it but a look that nobody has taken
        proposed-and-lost       a rule proposes it, and something outweighs that
        advised-against         rules say wait or avoid, and none proposes it here today
        not-proposed            no rule that proposes it fires
        impossible              no rule could propose it here, whatever anybody sees
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from advisor import words
from advisor.advice import Run
from advisor.answer import Record
from advisor.conditions import Propose, Rule, Var
from advisor.errors import InputError, Problem
from advisor.explain.conditions_told import rule_told
from advisor.explain.nearest_change import MOST_SPENT, Found, Spot, nearest_change, state_of
from advisor.explain.plans import Fix
from advisor.explain.telling import Teller
from advisor.outcome import Proposal, Reservation
from advisor.presenting import named
from advisor.quantity import Unreadable
from advisor.sentences import in_words
from advisor.unknowns import MINUTES, ORDINARY_MINUTES
from advisor.weighing import Outcome

if TYPE_CHECKING:
    from advisor.advice import Answer

MOST_RULES = 5
MOST_PLACES = 3  # searched, where no place is named: those whose rules come nearest
MOST_HINDRANCES = 3  # told in a reason

# Why nothing brings it about, in the order in which it is told.
_SAID = {
    "past": "Its time is past, until another season",
    "time": "It is a matter of time",
    "done": "It is done already",
    "held": "No look that was tried lifts what holds it",
    "weather": "It hangs on the weather, or on what is worked out from it",
    "worked-out": "No look that was tried makes it so",
    "given": "It hangs on what stands in the orchard",
    "fruit": "It is for other fruit",
}


def why_not(answer: Answer, practice: str, block: str | None = None) -> Record:
    """{status, rules, lost_to, smallest_change, reason} for a practice, at a block or habitat or wherever it is nearest.

    rules: the nearest first, each with its conditions {text, state, observed, expected, unit, margin}; a condition on
    what other rules derive is followed down under `from`. lost_to: what outweighs or holds it. smallest_change: proven
    by the whole path, or null, and `reason` says why. Raises InputError for a practice or place that nobody knows.
    """
    run: Run = answer.run
    spots = _spots(run, _practice(run, practice), block)
    spot = next((one for one in spots if one.reached(run)), None)
    if spot is not None:
        return _told(answer, spot, "advised", Found())
    searched = [
        (one, nearest_change(answer, one, MOST_SPENT / len(spots[:MOST_PLACES]))) for one in spots[:MOST_PLACES]
    ]
    far = (float("inf"), 0.0, "")
    spot, found = min(searched, key=lambda one: one[1].plan.order if one[1].plan else far)
    return _told(answer, spot, _status(run, spot, found), found)


def _practice(run: Run, given: str) -> str:
    """The practice that a word stands for."""
    try:
        practice = words.resolve("practice", given)
    except Unreadable as fault:
        practice, mend = given, fault.mend
    else:
        mend = "Ask about a practice that the program knows."
    if run.now.knowledge.resolve(practice, kind="practice") is None:
        close = [name for name in sorted(words.known("practice")) if given[:3].lower() in name][:4]
        near = f"Did you mean {' or '.join(close)}?" if close else "See the practices of the knowledge."
        mend = mend.partition("Write other:")[0].strip() or near
        raise InputError(Problem("request", "practice", f"{given[:60]!r} is no practice that is known here", mend))
    return practice


def _spots(run: Run, practice: str, place: str | None) -> list[Spot]:
    """Where the practice could be wanted: the place named, or every place that a rule or an outcome speaks of."""
    proposing = [r for r in run.rulebook.rules if isinstance(r.output, Propose) and r.output.practice == practice]
    stances = {r.output.stance for r in proposing if isinstance(r.output, Propose)}
    wanted = frozenset({"look"} if "look" in stances and "do" not in stances else {"do"})
    blocks, habitats = [b.id for b in run.now.blocks], [h.id for h in run.now.file.habitats]
    if place is not None:
        if place not in (*blocks, *habitats):
            close = words.nearest(place, [*blocks, *habitats], 1)
            mend = f"Did you mean {close[0]}?" if close else f"Known: {', '.join([*blocks, *habitats])}."
            raise InputError(Problem("request", "block", f"no block or habitat has the id {place!r}", mend))
        return [Spot(practice, place if place in blocks else None, place if place in habitats else None, wanted)]
    here = {(o.block, o.habitat) for o in run.outcomes if o.practice == practice}
    for rule in proposing:
        assert isinstance(rule.output, Propose)
        if isinstance(rule.output.block, Var):
            here |= {(name, None) for name in blocks}
        if isinstance(rule.output.habitat, Var):
            here |= {(None, name) for name in habitats}
    spots = [Spot(practice, *one, wanted) for one in here or {(name, None) for name in blocks}]
    return sorted(spots, key=lambda spot: (_nearness(run, spot), str(spot)))


def _nearness(run: Run, spot: Spot) -> tuple[bool, tuple[float, float, float]]:
    """Places where something is said of it first, then those whose nearest rule lacks least."""
    states = [state_of(run, spot, rule, bindings) for rule, bindings in spot.rules(run)]
    return not spot.outcomes(run), min(states, default=(99, 0, 0.0))


def _status(run: Run, spot: Spot, found: Found) -> str:
    for one in spot.outcomes(run):
        if one.waits_for:
            return "waiting-for-a-look"
        if one.wishes:
            return "asked-and-answered"
        return "proposed-and-lost" if any(p.stance in spot.stances for p in one.proposals) else "advised-against"
    if _dropped(run, spot):
        return "proposed-and-lost"
    hopeless = found.plan is None and not found.spent_all
    return (
        "impossible" if hopeless and all(_for_other_fruit(run, *rule) for rule in spot.rules(run)) else "not-proposed"
    )


def _dropped(run: Run, spot: Spot) -> list[Proposal]:
    """Proposals that left no outcome of their own: something that excludes them is done instead."""
    if spot.outcomes(run):
        return []
    return [p for p in run.inference.proposals if p.practice == spot.practice and p.stance in spot.stances
            and (p.block, p.habitat) == (spot.block, spot.habitat)]  # fmt: skip


def _for_other_fruit(run: Run, rule: Rule, bindings: Mapping[str, str]) -> bool:
    states = run.inference.evaluator.explain(rule, bindings)
    return any(t.field == "fruit" and t.state is False for state in states if not state.negated for t in state.tests)


# --- what is told --------------------------------------------------------------------------------


def _told(answer: Answer, spot: Spot, status: str, found: Found) -> Record:
    run: Run = answer.run
    teller = Teller.of(run)
    rules = sorted(spot.rules(run), key=lambda one: (state_of(run, spot, *one), one[0].id))[:MOST_RULES]
    lost_to = list({(one["id"], one["text"]): one for one in _lost_to(run, spot)}.values())
    told: Record = Record.of({
        "practice": spot.practice,
        "block": spot.block,
        "habitat": spot.habitat,
        "status": status,
        "rules": [rule_told(run, teller, rule, bindings) for rule, bindings in rules],
        "lost_to": lost_to,
        "smallest_change": _change(spot, found),
        "reason": _reason(answer, spot, status, found, lost_to),
        "tried": found.tried,
        "searched_all": not found.spent_all,
    })  # fmt: skip
    return told


def _lost_to(run: Run, spot: Spot) -> Iterator[dict[str, Any]]:
    """What holds, forbids or outweighs it, with what decided: safety, strength, ledger, or a look that is lacking."""
    for one in spot.outcomes(run):
        if one.stance in spot.stances:
            continue
        by = next((lost.by for lost in one.lost), "strength" if one.reservations else "rule")
        against: list[Proposal | Reservation] = [*one.reservations]
        for speaks in [*against, *(p for p in one.proposals if p.stance in ("wait", "avoid"))]:
            yield _speaker(speaks, "safety" if speaks.strength == "must" else by)
        if one.gives_way_to is not None:
            yield from _winner(one.gives_way_to, one.practice)
        for waiting in run.inference.held_for_a_look:
            if waiting.considered and waiting.considered.removeprefix("considered:") in one.waits_for:
                lacking = sorted({in_words(m.kind) for m in waiting.missing})
                yield {"id": waiting.rule.id, "effect": "look", "strength": "", "by": "look", "until": None,
                       "text": f"Nobody has looked: {', '.join(lacking)}."}  # fmt: skip
    names = {p.rule.id for p in _dropped(run, spot)}
    for other in run.outcomes:
        for lost in other.lost:
            if lost.what in names:
                yield from _winner(other, lost.what)


def _speaker(speaks: Proposal | Reservation, by: str) -> dict[str, Any]:
    holds = isinstance(speaks, Reservation)
    text = speaks.answer if isinstance(speaks, Reservation) else speaks.summary
    return {"id": speaks.rule.id, "effect": speaks.effect if isinstance(speaks, Reservation) else speaks.stance,
            "strength": speaks.strength, "by": by, "text": f"{text} {speaks.because}",
            "until": speaks.until if isinstance(speaks, Reservation) and holds else None}  # fmt: skip


def _winner(other: Outcome, lost: str) -> Iterator[dict[str, Any]]:
    by = next((entry.by for entry in other.lost if entry.what == lost), "strength")
    for speaks in other.proposals:
        yield {**_speaker(speaks, by), "effect": f"{other.practice} instead"}


def _change(spot: Spot, found: Found) -> dict[str, Any] | None:
    if found.plan is None or found.answer is None or found.asked is None:
        return None
    outcome = spot.reached(found.answer.run)
    ids = named(found.answer.run.now, found.answer.run.outcomes)
    name = next(name for name, one in ids.items() if one is outcome)
    brought = next(r for r in found.answer["recommendations"] if r["id"] == name)
    count, margin, _ = found.plan.order
    return {
        "changes": [_one_change(fix) for fix in found.plan.fixes],
        "inputs": count,
        "margin": margin,
        "observable": all(fix.what == "look" for fix in found.plan.fixes),
        "ask": found.asked.asked(),
        "brings": {n: brought[n] for n in ("id", "stance", "target", "block", "habitat", "window", "summary")},
        "verified": True,
    }


def _one_change(fix: Fix) -> dict[str, Any]:
    kind = str((fix.seen or {}).get("kind", fix.kind.name if fix.kind else ""))
    return {
        "what": fix.what,
        "observable": fix.what == "look",
        "first": fix.first,
        "text": fix.text,
        "place": fix.place,
        "kind": kind or None,
        "minutes": MINUTES.get(kind, ORDINARY_MINUTES) if fix.what == "look" else None,
        **{name: fix.told.get(name) for name in ("observed", "expected", "unit", "margin")},
    }


def _reason(answer: Answer, spot: Spot, status: str, found: Found, lost_to: list[dict[str, Any]]) -> str:
    run: Run = answer.run
    if status == "advised":
        outcome = spot.reached(run)
        name = next(name for name, one in named(run.now, run.outcomes).items() if one is outcome)
        said = next(r["summary"] for r in answer["recommendations"] if r["id"] == name)
        return f"It is advised: {said}"
    held = next((one["text"] for one in lost_to if one["by"] == "safety"), None)
    safety = f"It is held for safety: {held} " if held else ""
    if found.plan is not None and found.answer is not None:
        outcome = spot.reached(found.answer.run)
        name = next(
            name for name, one in named(found.answer.run.now, found.answer.run.outcomes).items() if one is outcome
        )
        said = next(r["summary"] for r in found.answer["recommendations"] if r["id"] == name)
        needed = "; ".join(fix.text for fix in found.plan.fixes)
        return f"{safety}It would be advised with: {needed}. Run again so, the answer is: {said}"
    if found.spent_all:
        return f"{safety}No change was found in {found.tried} tries, where the search ended; there may be one that was not tried."
    if next(spot.rules(run), None) is None and not spot.outcomes(run):
        return ("No rule proposes it by itself. Write down that you mean to do it (an intent), and it is judged: "
                "do, wait or avoid.")  # fmt: skip
    parts: list[str] = []
    for why, said in _SAID.items():
        texts = [one.text for one in found.hindrances.values() if one.why == why][:2]
        if texts and len(parts) < MOST_HINDRANCES:
            parts.append(f"{said}: {'; '.join(texts)}.")
    return f"{safety}Nothing that you could observe today would bring this about. {' '.join(parts)}".strip()
