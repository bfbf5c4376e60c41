"""The plan as a table for a spreadsheet: a row for each day of each job, then what did not fit."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

from advisor.sentences import place_of

COLUMNS = (
    "week_from", "day", "place", "job", "practice", "name", "hours", "own_hours", "helper_hours", "weather", "wants",
    "tool", "amount", "closes", "origin", "why", "kept_out_by", "relief",
)  # fmt: skip


def as_csv(plan: Mapping[str, Any]) -> str:
    """CSV text with a header; a job that did not fit has no day, and says what kept it out."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for week in (plan["this_week"], *plan["next_weeks"]):
        for job in week["jobs"]:
            for day in job["days"]:
                writer.writerow(_safe({
                    **_about(job), "week_from": week["from"], "day": day["day"], "hours": day["hours"],
                    "own_hours": day["own"], "helper_hours": day["helpers"], "weather": day["weather"],
                    "wants": " ".join(job["wants"]), "tool": job["tool"], "amount": job["amount"],
                }))  # fmt: skip
    for job in plan["unplaced"]:
        relief = job["relief"]["text"] if job["relief"] else ""
        writer.writerow(_safe({**_about(job), "hours": job["hours"], "kept_out_by": job["kept_out_by"], "relief": relief}))
    return out.getvalue()


def _about(job: Mapping[str, Any]) -> dict[str, Any]:
    return {"place": place_of(job), **{name: job[name] for name in ("job", "practice", "name", "closes", "origin", "why")}}


def _safe(row: dict[str, Any]) -> dict[str, Any]:
    """Words that a spreadsheet would run as a formula are written as words."""
    return {
        name: f"'{value}" if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r") else value
        for name, value in row.items()
    }
