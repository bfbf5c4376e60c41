"""The journal itself: see `advisor.journal` for what it keeps and how it is used."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from advisor import extras
from advisor.ecosystem import Knowledge
from advisor.errors import InputError, Problem
from advisor.journal.advising import Advising
from advisor.journal.chain import Entry, Head, faults_in
from advisor.rulebook import Rulebook

if TYPE_CHECKING:
    from sqlalchemy import Engine


class Journal(Advising):
    """Keeps orchards, what was seen, advised and done. Threads may share one; processes each open their own."""

    @classmethod
    def open(
        cls,
        address: str | Path,
        *,
        rules: Rulebook | None = None,
        knowledge: Knowledge | None = None,
        make: bool = True,
        clock: Callable[[], dt.datetime] = lambda: dt.datetime.now(dt.UTC),
    ) -> Journal:
        """Open a journal; where there is none yet it is made, or with `make` false refused.

        address: path of an SQLite file, or "sqlite:///...", or "postgresql+psycopg://...". rules, knowledge: those to
        advise with, where they are not the program's own. clock: gives the moment at which a record is written.
        """
        extras.need("sqlalchemy")
        from advisor.journal.store import Store

        return cls(Store(address, clock, make=make), rules, knowledge)

    def close(self) -> None:
        self._store.close()

    @property
    def engine(self) -> Engine:
        """The database, for tables that stand beside the records."""
        return self._store.engine

    @property
    def is_file(self) -> bool:
        """Whether it is kept in an SQLite file."""
        return self._store.is_sqlite

    def __enter__(self) -> Journal:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def head(self) -> Head:
        """How many records there are, and the hash of the last: note it elsewhere for a later `verify`."""
        with self._store.reading() as reader:
            return reader.head

    def verify(self, noted: Head | str | None = None) -> list[Problem]:
        """Every record that was changed, is missing, or stands out of place. noted: a head that was noted before."""
        known = Head.read(noted) if isinstance(noted, str) else noted
        with self._store.reading() as reader:
            try:
                head, found = reader.head, []
            except InputError as gone:
                head, found = None, list(gone.problems)
            return [*found, *faults_in(reader.entries(), head, known)]

    def entries(self, orchard: str | None = None, after: int = 0, limit: int | None = None) -> list[Entry]:
        """The records themselves."""
        with self._store.reading() as reader:
            return list(reader.entries(orchard, after=after, limit=limit))

    def export(self, stream: TextIO) -> Head:
        """Write everything as JSON Lines."""
        from advisor.journal import moving

        with self._store.reading() as reader:
            return moving.export(reader, stream)

    def import_(self, stream: Iterable[str], name: str = "import") -> Head:
        """Read what `export` wrote, into an empty journal or one that holds the beginning of it; all or nothing."""
        from advisor.journal import moving

        head = moving.import_(self._store, stream, name)
        self._held.forget()
        return head

    def backup(self, path: str | Path) -> Path:
        """A copy as of one moment, while others write: an SQLite file, or JSON Lines of a PostgreSQL journal."""
        from advisor.journal import moving

        return moving.backup(self._store, Path(path))
