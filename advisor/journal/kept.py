"""What is read back from the journal: an observation, an advice, a decision."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from advisor.answer import Record
from advisor.journal.chain import Entry


@dataclass(frozen=True)
class Observed:
    """An observation that stands, as it was given last. position: of the record that says so; listings follow it."""

    id: str
    position: int
    at: str
    given: Mapping[str, Any]


@dataclass(frozen=True)
class Advice:
    """An advice as it was given.

    on: the day or moment it is for. read: the position up to which the orchard's records were read for it.
    edition: hashes of rules, knowledge and inputs, and the program's version. text: the answer's own bytes, as JSON.
    """

    id: str
    orchard: str
    position: int
    at: str
    on: str
    read: int
    edition: Mapping[str, str]
    text: str = field(repr=False)

    @cached_property
    def answer(self) -> Any:
        """The answer, to be read with dots as well."""
        import json

        return Record.of(json.loads(self.text))

    @staticmethod
    def of(entry: Entry) -> Advice:
        body = entry.content
        return Advice(
            entry.ref,
            entry.orchard,
            entry.position,
            entry.at,
            body["on"],
            body["read"],
            body["edition"],
            body["answer"],
        )


@dataclass(frozen=True)
class Decision:
    """What a grower did about a recommendation. state: done, refused, overridden or taken-back, which undoes the one before.

    observation: the work that `done` recorded.
    """

    position: int
    at: str
    orchard: str
    advice: str
    recommendation: str
    state: str
    reason: str | None = None
    hours: float | None = None
    note: str | None = None
    by: str | None = None
    on: str | None = None
    observation: str | None = None

    @staticmethod
    def of(entry: Entry) -> Decision:
        return Decision(entry.position, entry.at, entry.orchard, entry.ref, **entry.content)
