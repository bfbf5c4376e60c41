"""The plan as a calendar (RFC 5545): an all-day entry for each day of each job.

An entry's UID comes from the orchard, the job and the how-manieth day of the job it is, so that a plan made anew moves
entries instead of adding to them. SEQUENCE is kept without a memory of our own: the calendar written before is handed
in, and an entry whose content changed gets the next number; one that is no longer planned is written once more as
cancelled. DTSTAMP is the day the content is from, never the clock, so that the same inputs give the same bytes.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Mapping
from typing import Any

from advisor import extras
from advisor.errors import InputError, Problem
from advisor.hours.trade import weather_words
from advisor.sentences import place_of

_SPACE = uuid.uuid5(uuid.NAMESPACE_URL, "urn:underbough:plan")


def calendar(plan: Mapping[str, Any], previous: bytes | str | None = None, file: str = "calendar") -> bytes:
    """The plan's weeks as an iCalendar file.

    previous: the calendar written before, if there is one. Raises InputError where that cannot be read, or where
    icalendar is not installed (the extra `server`).
    """
    ical = _library()
    made = ical.Calendar()
    for name, value in (("prodid", "-//Underbough//plan of hours//EN"), ("version", "2.0"), ("method", "PUBLISH"),
                        ("x-wr-calname", f"{plan['orchard']}: work")):  # fmt: skip
        made.add(name, value)
    before = _before(ical, previous, file)
    stamp = dt.datetime.combine(dt.date.fromisoformat(plan["date"]), dt.time(), dt.UTC)
    kept = set()
    for entry in _entries(plan):
        event, old = _event(ical, entry), before.get(entry["uid"])
        kept.add(entry["uid"])
        same = old is not None and _content(old) == _content(event)
        event.add("sequence", 0 if old is None else _sequence(old) + (not same))
        event.add("dtstamp", old.decoded("dtstamp") if old is not None and same and "dtstamp" in old else stamp)
        made.add_component(event)
    for uid, old in sorted(before.items()):
        if uid not in kept and _planned_ahead(old, plan):
            made.add_component(_cancelled(ical, old, stamp))
    text: bytes = made.to_ical()
    return text


def _library() -> Any:
    extras.need("icalendar")
    import icalendar

    return icalendar


def _entries(plan: Mapping[str, Any]) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    turn: dict[str, int] = {}
    for week in (plan["this_week"], *plan["next_weeks"]):
        for job in week["jobs"]:
            for day in job["days"]:
                turn[job["job"]] = turn.get(job["job"], 0) + 1
                place = place_of(job)
                name = f"{plan['orchard']}|{job['job']}|{turn[job['job']]}"
                wants = f"Wants it {weather_words(job['wants'])}. " if job["wants"] else ""
                helped = f" {day['helpers']:g} h of helpers." if day["helpers"] else ""
                found.append(
                    {
                        "uid": f"{uuid.uuid5(_SPACE, name)}@underbough",
                        "day": dt.date.fromisoformat(day["day"]),
                        "summary": f"{place}: {job['name']}, {day['hours']:g} h",
                        "description": f"{job['why']} {wants}Weather: {day['weather']}.{helped} "
                        + " ".join(job["cautions"][:2]),
                        "location": place,
                        "categories": [job["practice"]],
                    }
                )
    return sorted(found, key=lambda e: (e["day"], e["uid"]))


def _event(ical: Any, entry: Mapping[str, Any]) -> Any:
    event = ical.Event()
    event.add("uid", entry["uid"])
    event.add("dtstart", entry["day"])
    event.add("dtend", entry["day"] + dt.timedelta(days=1))
    for name in ("summary", "description", "location", "categories"):
        event.add(name, entry[name].strip() if isinstance(entry[name], str) else entry[name])
    event.add("status", "CONFIRMED")
    event.add("transp", "TRANSPARENT")
    return event


def _content(event: Any) -> list[bytes]:
    """Everything an entry says, without its number and stamp."""
    lines = event.to_ical().replace(b"\r\n ", b"").split(b"\r\n")
    return sorted(line for line in lines if not line.startswith((b"SEQUENCE", b"DTSTAMP")))


def _sequence(event: Any) -> int:
    return int(event.get("sequence", 0))


def _before(ical: Any, previous: bytes | str | None, file: str) -> dict[str, Any]:
    if previous is None:
        return {}
    try:
        read = ical.Calendar.from_ical(previous)
        return {str(event["uid"]): event for event in read.walk("VEVENT")}
    except (ValueError, KeyError, IndexError, AttributeError) as fault:
        raise InputError(
            Problem(file, "", f"not a calendar that can be read: {str(fault)[:80]}",
                    "Name another file, or delete this one; numbers of changes then begin anew.")
        ) from None  # fmt: skip


def _planned_ahead(old: Any, plan: Mapping[str, Any]) -> bool:
    """Whether an entry that is gone lay ahead; one of days that are past stays as it is, in people's calendars."""
    start = old.decoded("dtstart", None)
    day = start.date() if isinstance(start, dt.datetime) else start
    ours = str(old.get("uid", "")).endswith("@underbough")
    return ours and day is not None and day.isoformat() >= plan["date"] and str(old.get("status")) != "CANCELLED"


def _cancelled(ical: Any, old: Any, stamp: dt.datetime) -> Any:
    event = ical.Event()
    for name, value in old.items():
        if name not in ("SEQUENCE", "DTSTAMP", "STATUS"):
            event[name] = value
    event.add("status", "CANCELLED")
    event.add("sequence", _sequence(old) + 1)
    event.add("dtstamp", stamp)
    return event
