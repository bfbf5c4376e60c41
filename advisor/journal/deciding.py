"""What was done about a recommendation, and why not: the reasons offered, the work that follows, and taking it back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any

from advisor.ecosystem import Knowledge, Practice
from advisor.journal.faults import missing, plain_day, refused
from advisor.journal.kept import Decision
from advisor.words import nearest

TAKEN_BACK = "taken-back"  # what was decided last no longer stands: nothing is decided then
STATES = ("done", "refused", "overridden", TAKEN_BACK)
NEED_REASON = ("refused", "overridden")

# What may be chosen as a reason; own words are taken as well.
REASONS: dict[str, dict[str, str]] = {
    "done": {
        "as-advised": "Done as advised.",
        "in-part": "Done in part.",
        "otherwise": "Done, but in another way.",
    },
    "refused": {
        "no-time": "There was no time for it.",
        "no-tool": "The tool is lacking or broken.",
        "no-material": "The material is lacking.",
        "weather": "The weather or the ground did not allow it.",
        "not-as-seen": "What is said here is not what is seen in the orchard.",
        "too-dear": "It costs more than it is worth here.",
        "too-dangerous": "It cannot be done safely here.",
        "not-my-way": "It does not fit the way this orchard is tended.",
        "already-done": "It was done before.",
    },
    "overridden": {
        "know-better": "Experience on this ground says otherwise.",
        "local-advice": "A local adviser or licensed person says otherwise.",
        "rule-or-label": "The law, the label or a standard says otherwise.",
        "cannot-wait": "It could not wait any longer.",
        "trial": "It is a trial, to see what comes of it.",
    },
    TAKEN_BACK: {
        "by-mistake": "It was noted by mistake.",
        "not-finished": "It is not done yet.",
        "otherwise-now": "It was thought over.",
    },
}
MOST_HOURS = 10_000
MOST_LETTERS = 2_000
CURRENT = dt.timedelta(
    days=14
)  # so long after its day an advice is taken to be acted on today; common practice, no source


def recommendation_of(answer: Any, id: str) -> Any:
    """The recommendation of an id; Missing, with the nearest ids, if the answer has none."""
    found = next((one for one in answer.recommendations if one.id == id), None)
    if found is None:
        close = nearest(id, [one.id for one in answer.recommendations], 2)
        mend = f"Did you mean {' or '.join(close)}?" if close else "Read the advice for the ids of its recommendations."
        raise missing(f"recommendation {id[:80]}", "the advice has no such recommendation", mend)
    return found


def checked(
    recommendation: Any, state: str, reason: str | None, hours: float | None, note: str | None, by: str | None
) -> None:
    """Refuse a decision that says too little, or what cannot be."""
    if hours is not None and not 0 <= hours <= MOST_HOURS:
        raise refused("hours", "so many hours cannot be", f"Write 0 to {MOST_HOURS}, or leave them out.", hours)
    for name, text in (("reason", reason), ("note", note), ("by", by)):
        if text is not None and len(text) > MOST_LETTERS:
            raise refused(name, f"{len(text)} letters are too many", f"Say it in {MOST_LETTERS:,} at most.")
    if state not in STATES:
        raise refused("state", f"{state[:40]!r} is no decision", f"Write one of: {', '.join(STATES)}.", state)
    if state == TAKEN_BACK and hours is not None:
        raise refused("hours", "taking back is no work", "Leave the hours out.", hours)
    if state in NEED_REASON and not (reason and reason.strip()):
        offered = ", ".join(REASONS[state])
        raise refused("reason", f"{state} needs a reason", f"Give one of {offered}, or your own words.")
    if state == "overridden" and recommendation.strength == "must" and reason in REASONS[state] and not note:
        raise refused("note", "this recommendation is for safety; to override it, say why in your own words",
                      "Write the reason in your own words, or give a note.", reason)  # fmt: skip


def standing(decisions: Iterable[Decision]) -> list[Decision]:
    """Of decisions, oldest first, those that stand: the last on each recommendation of an advice, unless it was taken back.

    In the order in which they were made.
    """
    last: dict[tuple[str, str], Decision] = {}
    for one in decisions:
        about = (one.advice, one.recommendation)
        last.pop(about, None)
        if one.state != TAKEN_BACK:
            last[about] = one
    return list(last.values())


def day_of_decision(on: str | dt.date | None, advised: dt.date, today: dt.date) -> dt.date:
    """The day that a decision is for: as given; else today while the advice is current, and after that its own day."""
    if on is not None:
        return plain_day(on, "on")
    return today if advised <= today <= advised + CURRENT else advised


def work_of(
    recommendation: Any, day: dt.date, knowledge: Knowledge, extra: Mapping[str, Any], **said: Any
) -> dict[str, Any] | None:
    """The `work` observation that a decision `done` amounts to; None where heeding it was no work.

    Heeding a `wait` or an `avoid` is no work, and a `look` is the work itself only for a practice of watching.
    """
    node = knowledge.resolve(recommendation.practice, "practice")
    watching = isinstance(node, Practice) and node.group == "watching"
    if recommendation.stance != "do" and not (recommendation.stance == "look" and watching):
        return None
    work = {
        "date": day.isoformat(),
        "kind": "work",
        "practice": recommendation.practice,
        "block": recommendation.block,
        "habitat": recommendation.habitat,
        "target": recommendation.target,
        **said,
        **extra,
    }
    return {name: value for name, value in work.items() if value is not None}
