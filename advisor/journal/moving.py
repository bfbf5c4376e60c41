"""Carry a journal elsewhere: JSON Lines out and in, and a backup while others write."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import TextIO

from advisor.errors import InputError, Problem
from advisor.journal.chain import NOTHING, Entry, Head, as_line, canonical, faults_in
from advisor.journal.faults import conflict
from advisor.journal.store import Reader, Store, Writer

FORMAT = 1
_TEXTS = ("orchard", "kind", "ref", "at", "previous", "hash")
_AT_ONCE = 500


def export(reader: Reader, stream: TextIO) -> Head:
    """Write every record: a line that says how many follow and how they end, then a line for each.

    Tokens and calendar keys stand beside the records and stay behind: whoever reads the export learns nothing of them.
    """
    head = reader.head
    stream.write(canonical({"journal": FORMAT, "records": head.records, "head": head.hash}) + "\n")
    for entry in reader.entries():
        stream.write(canonical(as_line(entry)) + "\n")
    return head


def import_(store: Store, stream: Iterable[str], name: str) -> Head:
    """Read what `export` wrote. The journal must be empty, or hold the same records as far as both go.

    Nothing is stored unless the whole chain is sound.
    """
    lines = iter(stream)
    promised = _promised(next(lines, ""), name)
    with store.writing() as writer:
        found = faults_in(_passing(lines, name, promised, writer), promised)
        if found:
            raise InputError([replace(problem, file=name, mend="Export the journal again.") for problem in found])
        return writer.head


def _passing(lines: Iterable[str], name: str, promised: Head, writer: Writer) -> Iterator[Entry]:
    """Every entry of the lines, for checking; those that are new are stored on the way, within one transaction."""
    known = writer.head
    common = min(known.records, promised.records)  # up to here both must say the same
    ours = next(writer.entries(after=common - 1, limit=1)).hash if common else NOTHING
    waiting: list[Entry] = []
    last = 0
    for number, line in enumerate(lines, 2):
        if not line.strip():
            continue
        entry = _entry(line, name, number)
        yield entry
        if entry.position == common and entry.hash != ours:
            raise _others(entry.position)
        if entry.position == last + 1:  # others are faults, and nothing will be kept
            last = entry.position
            if entry.position > known.records:
                waiting.append(entry)
        if len(waiting) == _AT_ONCE:
            writer.copy(waiting)
            waiting = []
    writer.copy(waiting)


def _others(position: int) -> InputError:
    return conflict(
        f"record {position}",
        "the journal already holds other records than these",
        "Import into an empty journal, or into one that holds the beginning of the same records.",
    )


def _promised(line: str, name: str) -> Head:
    try:
        first = json.loads(line)
        form, head = first["journal"], Head(int(first["records"]), str(first["head"]))
    except (ValueError, TypeError, KeyError):
        message = "this does not begin as an exported journal"
        raise InputError(Problem(name, "line 1", message, "Give a file that `journal export` wrote.")) from None
    if form != FORMAT:
        message = f"a journal of form {str(form)[:20]}, and known is {FORMAT}"
        raise InputError(Problem(name, "line 1", message, "Update the program."))
    return head


def _entry(line: str, name: str, number: int) -> Entry:
    try:
        data = json.loads(line)
        if not isinstance(data["position"], int) or not all(isinstance(data[key], str) for key in _TEXTS):
            raise TypeError
        return Entry(**{**data, "body": canonical(data["body"])})
    except (ValueError, TypeError, KeyError):
        message = "this is no record of a journal"
        raise InputError(Problem(name, f"line {number}", message, "Export the journal again.", number)) from None


def backup(store: Store, path: Path) -> Path:
    """A copy of the journal as it stands at one moment, while others go on writing.

    SQLite: a database file that opens like the journal itself, with the hashes of its tokens. PostgreSQL: the records as
    JSON Lines, to be read with `import`; its own tools back up the rest.
    """
    with new_file(path) as unfinished:
        if store.is_sqlite:
            _copy(str(store.url.database), unfinished)
        else:
            with store.reading() as reader, unfinished.open("w", encoding="utf-8") as stream:
                export(reader, stream)
    return path


@contextmanager
def new_file(path: Path) -> Iterator[Path]:
    """A file to write beside `path`, which gets that name only when it is whole and on the disk."""
    if path.exists():
        raise InputError(Problem(str(path), "", "something is there already", "Name a new file."))
    unfinished = path.with_name(path.name + ".unfinished")
    try:
        unfinished.unlink(missing_ok=True)
        yield unfinished
        with unfinished.open("rb") as written:
            os.fsync(written.fileno())
        unfinished.rename(path)
    except (OSError, sqlite3.Error) as fault:
        message = f"the file cannot be written: {getattr(fault, 'strerror', None) or fault}"
        raise InputError(Problem(str(path), "", message, "Check the folder and its rights.")) from None
    finally:
        with suppress(OSError):
            unfinished.unlink(missing_ok=True)


def _copy(source: str, target: Path) -> None:
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(target)) as new:
        old.backup(new)  # one read transaction: a whole state, however many write meanwhile
        new.execute("PRAGMA journal_mode = DELETE")  # one file, to be carried anywhere
