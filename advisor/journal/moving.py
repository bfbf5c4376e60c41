"""Carry a journal elsewhere: JSON Lines out and in, and a backup while others write."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any, TextIO

from advisor.errors import InputError, Problem
from advisor.journal.chain import Entry, Head, as_line, canonical, faults_in
from advisor.journal.faults import conflict
from advisor.journal.store import Reader, Store

FORMAT = 1
_TEXTS = ("orchard", "kind", "ref", "at", "previous", "hash")
_AT_ONCE = 500


def export(reader: Reader, stream: TextIO) -> Head:
    """Write everything: a line that says how many records follow and how they end, then a line for each."""
    head = reader.head
    stream.write(canonical({"journal": FORMAT, "records": head.records, "head": head.hash}) + "\n")
    for entry in reader.entries():
        stream.write(canonical(as_line(entry)) + "\n")
    return head


def import_(store: Store, stream: Iterable[str], name: str) -> Head:
    """Read what `export` wrote. The journal must be empty, or hold the beginning of the same records.

    Nothing is stored unless the whole chain is sound.
    """
    lines = iter(stream)
    promised = _promised(next(lines, ""), name)
    with store.writing() as writer:
        known = writer.head
        found = faults_in(_passing(lines, name, known, writer), promised)
        if found:
            raise InputError([replace(problem, file=name, mend="Export the journal again.") for problem in found])
        return writer.head


def _passing(lines: Iterable[str], name: str, known: Head, writer: Any) -> Iterator[Entry]:
    """Every entry of the lines, for checking; those that are new are stored on the way, within one transaction."""
    waiting: list[Entry] = []
    for number, line in enumerate(lines, 2):
        if not line.strip():
            continue
        entry = _entry(line, name, number)
        yield entry
        if entry.position == known.records and entry.hash != known.hash:
            raise _others(entry.position)
        if entry.position > known.records:
            waiting.append(entry)
        if len(waiting) == _AT_ONCE:
            writer.copy(waiting)
            waiting = []
    writer.copy(waiting)
    if writer.head.records < known.records:
        raise _others(known.records)


def _others(position: int) -> InputError:
    return conflict(
        f"record {position}",
        "the journal already holds other records than these",
        "Import into an empty journal, or into one that holds the beginning of the same records.",
    )


def _promised(line: str, name: str) -> Head:
    try:
        first = json.loads(line)
        if first["journal"] != FORMAT:
            raise InputError(
                Problem(
                    name, "line 1", f"a journal of form {first['journal']}; known is {FORMAT}", "Update the program."
                )
            )
        return Head(int(first["records"]), str(first["head"]))
    except (ValueError, TypeError, KeyError):
        message = "this does not begin as an exported journal"
        raise InputError(Problem(name, "line 1", message, "Give a file that `journal export` wrote.")) from None


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

    SQLite: a database file that opens like the journal itself. PostgreSQL: JSON Lines, to be read with `import`.
    """
    if path.exists():
        raise InputError(Problem(str(path), "", "something is there already", "Name a new file."))
    unfinished = path.with_name(path.name + ".unfinished")
    unfinished.unlink(missing_ok=True)
    try:
        if store.is_sqlite:
            _copy(str(store.url.database), unfinished)
        else:
            with store.reading() as reader, unfinished.open("w", encoding="utf-8") as stream:
                export(reader, stream)
        with unfinished.open("rb") as written:
            os.fsync(written.fileno())
        unfinished.rename(path)
    except OSError as fault:
        message = f"the backup cannot be written: {fault.strerror}"
        raise InputError(Problem(str(path), "", message, "Check the folder and its rights.")) from None
    finally:
        unfinished.unlink(missing_ok=True)
    return path


def _copy(source: str, target: Path) -> None:
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(target)) as new:
        old.backup(new)  # one read transaction: a whole state, however many write meanwhile
        new.execute("PRAGMA journal_mode = DELETE")  # one file, to be carried anywhere
