"""How pages say dates, windows, hours, amounts and names: a grower's words, in the orchard's units."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from typing import Any

from advisor import quantity
from advisor.ecosystem import knowledge
from advisor.sentences import in_words

STANCE_WORDS = {"do": "Do", "wait": "Wait", "avoid": "Leave alone", "look": "Go and see"}
# What each strength tells a grower about how hard to lean on the advice.
STRENGTH_WORDS = {
    "must": "must be kept: safety",
    "strong": "strong advice",
    "fair": "fair advice",
    "weak": "weak advice",
}
EVIDENCE_WORDS = {
    "published": "published",
    "common-practice": "common practice, no source",
    "from-memory": "from memory, not checked",
}


def day(when: dt.date | str, year: bool = False) -> str:
    """A day as people write it: Mon 18 May, with the year where asked."""
    date = dt.date.fromisoformat(when[:10]) if isinstance(when, str) else when
    return f"{date:%a} {date.day} {date:%b}{f' {date.year}' if year else ''}"


def long_day(when: dt.date | str) -> str:
    """A day written out: Monday 18 May 2026."""
    date = dt.date.fromisoformat(when[:10]) if isinstance(when, str) else when
    return f"{date:%A} {date.day} {date:%B} {date.year}"


def plain_days(text: str, on: str = "") -> str:
    """A sentence of the advice with its days as people write them: Mon 4 May, 14:00 for 2026-05-04 14:00.

    on: an ISO date; days of its year are written without the year.
    """

    def plain(found: re.Match[str]) -> str:
        try:
            date = dt.date.fromisoformat(found[1])
        except ValueError:
            return found[0]
        return day(date, year=found[1][:4] != on[:4]) + (f", {found[2]}" if found[2] else "")

    return re.sub(r"(?<![\w-])(\d{4}-\d\d-\d\d)(?:[ T](\d\d:\d\d)\b)?(?![\w-])", plain, text)


def window(given: Mapping[str, str | None], stance: str, on: str) -> str:
    """When a recommendation holds, seen from the day of the advice; ISO dates in, words out."""
    opens, closes = given["opens"], given["closes"]
    if stance == "wait":
        return f"not before {_near(opens, on)}" if opens else "no date yet"
    if stance == "avoid":
        start = f"from {_near(opens, on)}" if opens and opens > on else "now"
        return f"{start} until {_near(closes, on)}" if closes else f"{start}, no end in sight"
    if opens and opens > on:
        if closes == opens:
            return f"on {_near(opens, on)}"
        return f"{_near(opens, on)} to {_near(closes, on)}" if closes else f"from {_near(opens, on)}"
    if closes == on:
        return "today"
    return f"by {_near(closes, on)}" if closes else "from now on"


def _near(when: str | None, on: str) -> str:
    if when is None:
        return "later"
    date, today = dt.date.fromisoformat(when), dt.date.fromisoformat(on)
    if date == today:
        return "today"
    if date == today + dt.timedelta(days=1):
        return "tomorrow"
    return day(date, year=date.year != today.year)


def hours(value: float | None) -> str:
    """Working time: minutes below an hour, else hours to the half or tenth."""
    if value is None:
        return ""
    if value < 0.95:
        return f"{max(1, round(value * 12) * 5 if value > 0.08 else round(value * 60))} min"
    return f"{value:.1f}".rstrip("0").rstrip(".") + " h"


def amount(given: Mapping[str, Any] | None, units: str) -> str:
    """An amount in the orchard's units; words of counting (fruit per tree) stay as they are."""
    return quantity.spoken(float(given["value"]), str(given["unit"]), units) if given else ""


def name_of(id: str | None) -> str:
    """The plain name of a practice, pest, plant or ally; the id with spaces where it has no entry."""
    if id is None:
        return ""
    node = knowledge().nodes.get(id)
    return node.name if node else in_words(id.removeprefix("other:"))


def sentence(text: str) -> str:
    """The text with a capital at its start."""
    return text[:1].upper() + text[1:]


def stage(state: Mapping[str, Any]) -> str:
    """The stage of a block and how it is known: petal fall (seen Sun 17 May)."""
    if not state["name"]:
        return "stage not known"
    known = f"seen {day(state['seen'])}" if state["seen"] and not state["estimated"] else "estimated"
    further = ", may be further on by now" if state["at_least"] and state["stale"] else ""
    further = ", which cannot be right: look again" if state.get("wrong") else further
    return f"{in_words(state['name'])} ({known}{further})"


def count(items: int, one: str, many: str | None = None) -> str:
    """A count with its noun: 1 thing, 3 things."""
    return f"{items} {one if items == 1 else many or one + 's'}"
