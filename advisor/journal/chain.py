"""One chain of records: each holds the hash of the one before, so that a change anywhere shows.

Entry      one record, as it is stored
sealed     the next entry of a chain
faults_in  what is wrong with a chain: changed, missing, put in or out of place

There is one chain for the whole journal. So a whole orchard that vanished is found as surely as one record, and what
was known when (which observation came before which advice) can be read from the positions alone.

What it cannot see: somebody who cuts off the newest records and also mends the count and the head beside them. For that,
note the head elsewhere (`verify` prints it) and give it to a later `verify`.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from advisor.errors import Problem
from advisor.journal.faults import JOURNAL, refused

NOTHING = "0" * 64  # the hash before the first record
_TRIED = 200  # places that are tried for a record whose hash does not fit where it stands


@dataclass(frozen=True)
class Head:
    """How many records there are, and the hash of the last."""

    records: int = 0
    hash: str = NOTHING

    def __str__(self) -> str:
        return f"{self.records}:{self.hash}"

    @staticmethod
    def read(text: str) -> Head:
        """A head as it was printed: count, colon, hash."""
        count, _, mark = text.strip().partition(":")
        if not count.isdigit() or len(mark) != len(NOTHING):
            raise refused("head", "this is not the head of a journal", "Write it as `verify` printed it.", text)
        return Head(int(count), mark.lower())


@dataclass(frozen=True)
class Entry:
    """One record. position: from 1. ref: what it is about (an observation, an advice). body: canonical JSON."""

    position: int
    orchard: str
    kind: str
    ref: str
    at: str
    body: str
    previous: str
    hash: str

    @cached_property
    def content(self) -> Any:
        return json.loads(self.body)

    def hash_at(self, position: int) -> str:
        """The hash that this content has at a position."""
        sealed = [position, self.orchard, self.kind, self.ref, self.at, self.body, self.previous]
        return hashlib.sha256(canonical(sealed).encode()).hexdigest()

    @property
    def head(self) -> Head:
        return Head(self.position, self.hash)


def canonical(value: object) -> str:
    """JSON in one form only: keys sorted, no spaces. Refuses what is no text or no number."""
    try:
        text = json.dumps(
            value, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False, default=_as_text
        )
        text.encode()
    except UnicodeEncodeError:
        raise refused("text", "half a character stands in a text", "Write the text again.") from None
    except (TypeError, ValueError) as fault:
        raise refused(
            "value", f"this cannot be kept as JSON: {fault}", "Give plain words, numbers and lists."
        ) from None
    return text


def _as_text(value: object) -> str:
    if isinstance(value, dt.date):
        return value.isoformat()
    raise TypeError(f"{str(value)[:60]} is neither word, number, date nor list")


def digest(value: object) -> str:
    """SHA-256 of a value's canonical JSON."""
    return hashlib.sha256(canonical(value).encode()).hexdigest()


def sealed(head: Head, orchard: str, kind: str, ref: str, at: str, content: object) -> Entry:
    """The entry that follows a head."""
    open_entry = Entry(head.records + 1, orchard, kind, ref, at, canonical(content), head.hash, "")
    return Entry(**{**_fields(open_entry), "hash": open_entry.hash_at(open_entry.position)})


def _fields(entry: Entry) -> dict[str, Any]:
    return {name: getattr(entry, name) for name in Entry.__dataclass_fields__}


def as_line(entry: Entry) -> dict[str, Any]:
    """An entry for export: its body as plain JSON."""
    return {**_fields(entry), "body": entry.content}


def faults_in(entries: Iterable[Entry], head: Head | None, noted: Head | None = None) -> list[Problem]:
    """Everything wrong with a chain, in the order of positions.

    head: what the journal itself says of its end, if it still does. noted: a head that was written down elsewhere.
    """
    found: list[tuple[int, Problem]] = []
    after = {NOTHING: 1}  # hash of a record -> the position that follows it
    broken: list[Entry] = []
    gaps: list[int] = []
    before = Entry(0, "", "", "", "", "", "", NOTHING)

    def say(position: int, message: str, place: str = "") -> None:
        found.append((position, Problem(JOURNAL, place or f"record {position}", message, "Restore a backup.")))

    def say_missing(first: int, last: int) -> None:
        say(first, "missing", f"record {first}" if first == last else f"records {first} to {last}")
        gaps.extend(range(first, min(last, first + _TRIED) + 1))

    for entry in entries:
        if entry.position > before.position + 1:
            say_missing(before.position + 1, entry.position - 1)
        elif entry.position <= before.position:
            say(entry.position, f"it stands after record {before.position}, out of order or a second time")
        if entry.hash_at(entry.position) != entry.hash:
            broken.append(entry)
        elif head is not None and entry.position > head.records:
            say(entry.position, f"it stands after the end of the journal, which has {head.records} records")
        elif entry.position == before.position + 1 and entry.previous != before.hash:
            say(
                entry.position,
                f"it does not follow from record {before.position}: one of the two was put in or written again",
            )
        if noted is not None and entry.position == noted.records and entry.hash != noted.hash:
            say(entry.position, "it is not the record whose hash was noted: the journal was written again since")
        after[entry.hash] = entry.position + 1
        before = entry
    end = max((known.records for known in (head, noted) if known is not None), default=0)
    if before.position < end:
        say_missing(before.position + 1, end)
    elif head is not None and before.position == head.records and before.hash != head.hash and before not in broken:
        say(before.position, "it is not the last record that the journal knows of")
    free = [entry.position for entry in broken[:_TRIED]] + gaps[:_TRIED]
    for entry in broken:
        likely = (after.get(entry.previous, 0), entry.position - 1, entry.position + 1, *free)
        was = next((place for place in likely if place > 0 and entry.hash_at(place) == entry.hash), None)
        about = f"{entry.kind} of {entry.orchard}" if entry.orchard else entry.kind
        if was is not None:
            say(entry.position, f"it was record {was} when it was written, and was moved ({about})")
        else:
            say(entry.position, f"it was changed after it was written, or put in ({about})")
    return [problem for _, problem in sorted(found, key=lambda one: one[0])]
