"""Two plans side by side: what fits now, what no longer does, and what is done on other days."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

# Places of an orchard file that the hours hang on: where one of them is set, people ask about the plan as well.
OF_HOURS = ("orchard.hours_per_week", "orchard.days_off", "orchard.helpers", "orchard.tools")

_KEPT = ("job", "practice", "name", "block", "habitat", "urgency", "why")


def bears_on_hours(places: Mapping[str, Any]) -> bool:
    """Whether the places that are set change what hours, people or tools there are."""
    return any(place == one or place.startswith(f"{one}.") for place in places for one in OF_HOURS)


def compare_plans(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, list[dict[str, Any]]]:
    """{appears, disappears, moves} from one plan to another, by job.

    A job moves when its days or the hours put to it do: `before` and `now` tell both. One that no longer fits tells what
    keeps it out and the least relief that was verified.
    """
    old, new = _jobs(before), _jobs(after)
    out = {one["job"]: one for one in after["unplaced"]}
    uncounted = {one["recommendation"] for one in after["without_hours"]}
    found: dict[str, list[dict[str, Any]]] = {"appears": [], "disappears": [], "moves": []}
    for job in sorted(old.keys() | new.keys()):
        was, now = old.get(job), new.get(job)
        if was is None and now is not None:
            found["appears"].append(now)
        elif now is None and was is not None:
            lack = out.get(job)
            relief = lack["relief"]["text"] if lack and lack["relief"] else None
            kept_out_by = lack["kept_out_by"] if lack else "hours that cannot be reckoned" if job in uncounted else None
            found["disappears"].append({**was, "kept_out_by": kept_out_by, "relief": relief})
        elif was is not None and now is not None and (was["days"], was["hours"]) != (now["days"], now["hours"]):
            sides = {name: {"days": one["days"], "hours": one["hours"]} for name, one in (("before", was), ("now", now))}
            found["moves"].append({**{name: now[name] for name in _KEPT}, **sides})
    return found


def _jobs(plan: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Each job that a plan places, with its days and hours over all weeks."""
    found: dict[str, dict[str, Any]] = {}
    for week in (plan["this_week"], *plan["next_weeks"]):
        for job in week["jobs"]:
            one = found.setdefault(job["job"], {**{name: job[name] for name in _KEPT}, "days": [], "hours": 0.0})
            one["days"] += [day["day"] for day in job["days"]]
            one["hours"] = round(one["hours"] + job["hours"], 2)
    return found
