"""Where records are kept: one table in SQLite or PostgreSQL, written by one writer at a time.

Store    opens a database and brings its tables up to date
Reader   queries within one consistent view
Writer   a reader that holds the lock and may append; what it appended is kept whole or not at all
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from advisor import extras
from advisor.errors import InputError
from advisor.journal.chain import Entry, Head, sealed
from advisor.journal.faults import missing, refused, unavailable

NEWEST = "0003"  # the revision of the tables that this program reads and writes
BUSY_SECONDS = 60  # how long a writer waits for another before it gives up
_LOCK = 0x0BC4A2D  # names the lock under which PostgreSQL's tables are brought up to date

_tables = sa.MetaData()
RECORDS = sa.Table(
    "records",
    _tables,
    sa.Column("position", sa.BigInteger, primary_key=True, autoincrement=False),
    sa.Column("orchard", sa.Text, nullable=False),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("ref", sa.Text, nullable=False),
    sa.Column("at", sa.Text, nullable=False),
    sa.Column("body", sa.Text, nullable=False),
    sa.Column("previous", sa.Text, nullable=False),
    sa.Column("hash", sa.Text, nullable=False),
)
HEAD = sa.Table(
    "head",
    _tables,
    sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("records", sa.BigInteger, nullable=False),
    sa.Column("hash", sa.Text, nullable=False),
)

_FIELDS = tuple(Entry.__dataclass_fields__)


def _entry(row: Any) -> Entry:
    position, *texts = (getattr(row, name) for name in _FIELDS)
    if not isinstance(position, int) or not all(isinstance(text, str) for text in texts):
        # SQLite takes anything in any column; such a row was not written here, and verify shall say so
        return Entry(position if isinstance(position, int) else -1, *map(str, texts))
    return Entry(position, *texts)


def _head(rows: Sequence[Any]) -> Head:
    if len(rows) != 1:
        raise refused("head", "the journal's own note of its end is gone, or stands twice", "Restore a backup.")
    return Head(rows[0].records, rows[0].hash)


class Reader:
    """Queries within one view of the journal."""

    def __init__(self, connection: sa.Connection) -> None:
        self.connection = connection

    @property
    def head(self) -> Head:
        return _head(self.connection.execute(sa.select(HEAD)).all())

    def entries(
        self,
        orchard: str | None = None,
        kinds: Sequence[str] = (),
        ref: str | None = None,
        *,
        after: int = 0,
        upto: int | None = None,
        newest: bool = False,
        limit: int | None = None,
    ) -> Iterator[Entry]:
        """Records that fit, by position. newest: the last first; `after` is then the position to go on below."""
        asked = sa.select(RECORDS)
        if orchard is not None:
            asked = asked.where(RECORDS.c.orchard == orchard)
        if kinds:
            asked = asked.where(RECORDS.c.kind.in_(kinds))
        if ref is not None:
            asked = asked.where(RECORDS.c.ref == ref)
        if after:
            asked = asked.where(RECORDS.c.position < after if newest else RECORDS.c.position > after)
        if upto is not None:
            asked = asked.where(RECORDS.c.position <= upto)
        asked = asked.order_by(RECORDS.c.position.desc() if newest else RECORDS.c.position).limit(limit)
        if limit is None:  # a whole journal is read in parts
            asked = asked.execution_options(yield_per=500)
        return map(_entry, self.connection.execute(asked))

    def latest(self, orchard: str | None, kinds: Sequence[str], ref: str | None = None) -> Entry | None:
        """The newest record that fits."""
        return next(self.entries(orchard, kinds, ref, newest=True, limit=1), None)

    def last_position(self, orchard: str, kinds: Sequence[str], upto: int | None = None) -> int:
        """The position of the newest record of these kinds; 0 if there is none."""
        asked = sa.select(sa.func.max(RECORDS.c.position)).where(
            RECORDS.c.orchard == orchard, RECORDS.c.kind.in_(kinds)
        )
        if upto is not None:
            asked = asked.where(RECORDS.c.position <= upto)
        return int(self.connection.execute(asked).scalar() or 0)

    def orchards(self, after: str | None, limit: int) -> list[str]:
        """Ids of orchards, in the order of their letters."""
        asked = sa.select(RECORDS.c.orchard).where(RECORDS.c.kind == "orchard").distinct()
        if after is not None:
            asked = asked.where(RECORDS.c.orchard > after)
        return list(self.connection.execute(asked.order_by(RECORDS.c.orchard).limit(limit)).scalars())


class Writer(Reader):
    """The one writer of the moment."""

    def __init__(self, connection: sa.Connection, clock: Callable[[], dt.datetime]) -> None:
        super().__init__(connection)
        self.clock = clock
        locked = sa.select(HEAD).with_for_update()  # on SQLite the whole file is locked already
        self._head = self._first = _head(connection.execute(locked).all())

    @property
    def head(self) -> Head:
        return self._head

    def append(self, orchard: str, kind: str, ref: str, content: object) -> Entry:
        """Add a record at the end of the chain."""
        at = self.clock().astimezone(dt.UTC).isoformat(timespec="microseconds")
        entry = sealed(self._head, orchard, kind, ref, at, content)
        self.copy([entry])
        return entry

    def copy(self, entries: Sequence[Entry]) -> None:
        """Add records as they are; their hashes must follow from the head."""
        if entries:
            rows = [{name: getattr(entry, name) for name in _FIELDS} for entry in entries]
            self.connection.execute(sa.insert(RECORDS), rows)
            self._head = entries[-1].head

    def close(self) -> None:
        """Note the new end of the chain."""
        if self._head != self._first:
            self.connection.execute(sa.update(HEAD).values(records=self._head.records, hash=self._head.hash))


class Store:
    """A database of records. Threads may share it; so may processes, each with its own."""

    def __init__(self, address: str | Path, clock: Callable[[], dt.datetime], *, make: bool = True) -> None:
        self.url = url_of(address)
        self._make = make
        if not make and self.is_sqlite and not Path(str(self.url.database)).exists():
            raise self._none_there()
        self._clock = clock
        try:
            self.engine = sa.create_engine(self.url, json_serializer=json.dumps, **_options(self.url))
        except ModuleNotFoundError as fault:
            raise extras.lacking(str(fault.name)) from None
        if self.is_sqlite:
            _tame(self.engine)
        try:
            self._bring_up_to_date()
        except sa.exc.DBAPIError as fault:
            self.close()
            raise unavailable(str(self), f"the journal cannot be opened: {_first_line(fault)}") from fault
        except InputError:
            self.close()
            raise

    def __str__(self) -> str:
        return self.url.database or "" if self.is_sqlite else self.url.render_as_string(hide_password=True)

    @property
    def is_sqlite(self) -> bool:
        return self.url.get_backend_name() == "sqlite"

    @contextmanager
    def reading(self) -> Iterator[Reader]:
        """One consistent view, however long it is looked at."""
        options = {} if self.is_sqlite else {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        with self._connected(**options) as connection:
            yield Reader(connection)

    @contextmanager
    def writing(self) -> Iterator[Writer]:
        """The lock of the one writer; all that was appended is kept when the block ends, nothing if it fails."""
        with self._connected(writes=True) as connection:
            writer = Writer(connection, self._clock)
            yield writer
            writer.close()

    @contextmanager
    def _connected(self, **options: Any) -> Iterator[sa.Connection]:
        try:
            with self.engine.connect().execution_options(**options) as connection, connection.begin():
                yield connection
        except sa.exc.DBAPIError as fault:
            raise unavailable(str(self), f"the journal does not answer: {_first_line(fault)}") from fault

    def close(self) -> None:
        self.engine.dispose()

    def _bring_up_to_date(self) -> None:
        with self.engine.connect() as connection:
            if self._revision(connection) == NEWEST:
                return
        extras.need("alembic")
        from advisor.journal.migrating import upgrade

        with self.engine.connect().execution_options(writes=True) as connection, connection.begin():
            if not self.is_sqlite:
                connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_LOCK)))
            revision = self._revision(connection)
            if revision is None and not self._make:
                raise self._none_there()
            if revision is None or revision < NEWEST:  # another process may have been first
                upgrade(connection)
            elif revision > NEWEST:
                raise refused(
                    str(self),
                    f"the journal was written by a newer Underbough (its tables are at {revision}, known is {NEWEST})",
                    "Install the newer one.",
                )

    def _none_there(self) -> InputError:
        return missing(str(self), "there is no journal here", "Check --journal, or begin one with `journal record`.")

    def _revision(self, connection: sa.Connection) -> str | None:
        if not sa.inspect(connection).has_table("alembic_version"):
            return None
        return connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar()


def url_of(address: str | Path) -> sa.URL:
    """A database's address, or the path of an SQLite file."""
    text = str(address)
    if "://" not in text:
        return sa.URL.create("sqlite", database=text)
    try:
        url = sa.make_url(text)
        backend = url.get_backend_name()
    except sa.exc.ArgumentError:
        raise refused("address", "this is no address", "Write a file name, or postgresql+psycopg://...") from None
    if backend == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    if backend != "sqlite" or url.database in (None, "", ":memory:"):
        raise refused(
            "address",
            f"a journal is kept in an SQLite file or in PostgreSQL, not in {url.render_as_string()}",
            "Write a file name, or postgresql+psycopg://...",
        )
    return url


def _options(url: sa.URL) -> dict[str, Any]:
    if url.get_backend_name() == "sqlite":
        return {"connect_args": {"timeout": BUSY_SECONDS}}
    return {"pool_pre_ping": True}


def _tame(engine: sa.Engine) -> None:
    """SQLite as a journal needs it: written through to the disk, read while written, transactions begun by us."""

    @sa.event.listens_for(engine, "connect")
    def connected(raw: Any, _: Any) -> None:
        raw.isolation_level = None  # the driver would otherwise begin transactions of its own, too late to lock
        raw.execute("PRAGMA journal_mode = WAL")  # readers see a whole state while another process writes
        raw.execute("PRAGMA synchronous = FULL")  # what is acknowledged is on the disk

    @sa.event.listens_for(engine, "begin")
    def begun(connection: sa.Connection) -> None:
        writes = connection.get_execution_options().get("writes")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _first_line(fault: sa.exc.DBAPIError) -> str:
    return str(fault.orig).strip().splitlines()[0]
