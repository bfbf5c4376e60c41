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

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from advisor.errors import Problem
from advisor.journal.faults import JOURNAL, refused

NOTHING = "0" * 64  # the hash before the first record


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
        text = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)
        text.encode()
    except UnicodeEncodeError:
        raise refused("text", "half a character stands in a text", "Write the text again.") from None
    except (TypeError, ValueError) as fault:
        raise refused(
            "value", f"this cannot be kept as JSON: {fault}", "Give plain words, numbers and lists."
        ) from None
    return text


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


def faults_in(entries: Iterable[Entry], head: Head, noted: Head | None = None) -> Iterator[Problem]:
    """Everything wrong with a chain, in the order of positions.

    head: what the journal itself says of its end. noted: a head that was written down elsewhere.
    """
    before = Entry(0, "", "", "", "", "", "", NOTHING)
    places = {NOTHING: 1}  # hash of a record -> position of the one after it
    for entry in entries:
        place = f"record {entry.position}"
        if entry.position > before.position + 1:
            yield _missing(before.position + 1, entry.position - 1)
        if entry.position > head.records:
            yield Problem(JOURNAL, place, f"the journal ends at record {head.records}, and this one stands after it",
                          "It was not written by this program. Restore a backup.")  # fmt: skip
        if entry.hash_at(entry.position) != entry.hash:
            was = places.get(entry.previous)
            if was is not None and was != entry.position and entry.hash_at(was) == entry.hash:
                yield Problem(JOURNAL, place, f"this is record {was}, moved here", "Restore a backup.")
            elif (now := _moved(entry)) is not None:
                yield Problem(JOURNAL, place, f"this is record {now}, moved here", "Restore a backup.")
            else:
                said = f"its content was changed after it was written ({_about(entry)})"
                yield Problem(JOURNAL, place, said, "Restore a backup.")
        elif entry.position == before.position + 1 and entry.previous != before.hash:
            yield Problem(JOURNAL, place, f"it does not follow from record {before.position} ({_about(entry)})",
                          "One of the two was put in or written again. Restore a backup.")  # fmt: skip
        if noted is not None and entry.position == noted.records and entry.hash != noted.hash:
            yield Problem(JOURNAL, place, "it is not the record whose hash was noted",
                          "The journal was written again since. Restore a backup.")  # fmt: skip
        places[entry.hash] = entry.position + 1
        before = entry
    if before.position < head.records:
        yield _missing(before.position + 1, head.records)
    elif before.position == head.records and before.hash != head.hash:
        yield Problem(JOURNAL, f"record {before.position}", "it is not the last record that the journal knows of",
                      "Restore a backup.")  # fmt: skip
    if noted is not None and noted.records > max(before.position, head.records):
        yield _missing(max(before.position, head.records) + 1, noted.records)


def _moved(entry: Entry, reach: int = 50) -> int | None:
    """The position nearby at which an entry's hash would be right, if its neighbours no longer tell."""
    near = (entry.position + step for distance in range(1, reach + 1) for step in (-distance, distance))
    return next((place for place in near if place > 0 and entry.hash_at(place) == entry.hash), None)


def _missing(first: int, last: int) -> Problem:
    place = f"record {first}" if first == last else f"records {first} to {last}"
    return Problem(JOURNAL, place, "missing", "Restore a backup.")


def _about(entry: Entry) -> str:
    return f"{entry.kind} of {entry.orchard}"
