"""What a journal refuses, besides input that cannot be read.

Missing      nothing is kept under that id
Conflict     somebody else wrote in between, or an id or key already stands for something else
Unavailable  the database does not answer; the same request may be fine later
"""

from __future__ import annotations

import datetime as dt

from advisor.errors import InputError, Problem

JOURNAL = "journal"


class Missing(InputError):
    """Nothing is kept under the id that was asked for."""


class Conflict(InputError):
    """What was asked for no longer fits what is kept."""


class Unavailable(InputError):
    """The database cannot be reached, or did not take what was to be written."""


def refused(place: str, message: str, mend: str, value: object = None) -> InputError:
    """An input that the journal does not take."""
    return InputError(Problem(JOURNAL, place, message, mend, None, None if value is None else str(value)[:60]))


def plain_day(given: dt.date | str, place: str = "date") -> dt.date:
    """A day that was asked for."""
    if isinstance(given, dt.date):
        return given
    try:
        return dt.date.fromisoformat(given)
    except ValueError:
        raise refused(place, f"{given[:40]!r} is not a date", "Write it like 2026-05-18.", given) from None


def missing(place: str, message: str, mend: str) -> Missing:
    return Missing(Problem(JOURNAL, place, message, mend))


def conflict(place: str, message: str, mend: str) -> Conflict:
    return Conflict(Problem(JOURNAL, place, message, mend))


def unavailable(place: str, message: str) -> Unavailable:
    return Unavailable(Problem(JOURNAL, place, message, "Check the address, the rights and the room on the disk."))
