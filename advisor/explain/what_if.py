"""What if: the same path on changed inputs, beside the answer as it was."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from advisor.answer import Record
from advisor.explain.changes import Changes, changed, read_changes
from advisor.explain.comparing import compare
from advisor.explain.plan_otherwise import bears_on_hours, compare_plans

if TYPE_CHECKING:
    from advisor.advice import Answer


def what_if(answer: Answer, changes: Mapping[str, Any] | Changes, *, files: bool = True) -> Record:
    """{appears, disappears, moves}: the recommendations that other inputs would bring, take away or move, with why.

    changes, files: see `advisor.explain.changes`. A recommendation moves when its stance, window, urgency, strength, amount or
    hours do, or a reason for or against it comes or goes (`changed`, `before`, `now`). `plan` holds the same three of the
    jobs of the plan, where hours, helpers, days off or tools were set, else None. `changes` says what was changed, `notes`
    what was kept as it was.
    Raises InputError when the changes cannot be read or made.
    """
    asked = read_changes(changes, files=files)
    other = answer.run.inputs.again(**changed(asked, answer.run.inputs))
    notes = []
    if asked.warmer or asked.rain != 1:
        inputs = other.run.inputs
        if inputs.measured is None and inputs.forecast is None:
            notes.append("No hourly weather is given here, so there is none to be warmer or wetter.")
        else:
            notes.append("Relative humidity, dew point, wind and leaf wetness are kept as they were given.")
    dates = [str(one.get("date", ""))[:10] for one in asked.add]
    if any(date > other["date"] for date in dates):
        notes.append("An observation dated after the day that is asked about counts only from its own day on.")
    plan = compare_plans(answer.plan(), other.plan()) if bears_on_hours(asked.set) else None
    found = {**compare(answer, other), "plan": plan, "date": other["date"], "changes": asked.asked(), "notes": notes}
    return Record(found)
