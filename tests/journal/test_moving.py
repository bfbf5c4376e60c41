"""Carrying a journal elsewhere: out and in as JSON Lines, and a backup while others write."""

from __future__ import annotations

import io
import json
import threading
from pathlib import Path

import pytest
import sqlalchemy as sa
from journal_orchards import ON, ORCHARD, STAGE, SWARD, VOLES, hours

from advisor.errors import InputError
from advisor.journal import Conflict, Journal


@pytest.fixture
def lived(kept: Journal) -> Journal:
    """A journal in which a bit of everything happened."""
    kept.weather("south", hours("2026-11-01T00:00", 48, temp_f=55, rain_in=0.01))
    (id,) = kept.observe("south", [VOLES], key="k")
    kept.correct("south", id, {**VOLES, "runways": "old"})
    advice = kept.advise("south", ON)
    kept.decide(advice.id, advice.answer.recommendations[0].id, "refused", "no-time", note="Äpfel, 苹果")
    return kept


def exported(journal: Journal) -> list[str]:
    stream = io.StringIO()
    head = journal.export(stream)
    lines = stream.getvalue().splitlines()
    assert len(lines) == head.records + 1
    return lines


def test_everything_goes_out_and_comes_in_again(lived: Journal, tmp_path: Path) -> None:
    lines = exported(lived)
    with Journal.open(tmp_path / "other.db") as other:
        assert other.import_(lines) == lived.head
        assert other.verify() == []
        assert exported(other) == lines
        assert other.orchards() == lived.orchards()
        assert other.observations("south") == lived.observations("south")
        assert other.advices("south") == lived.advices("south")
        assert other.decisions("south") == lived.decisions("south")
        assert other.replay(lived.advices("south")[0].id).equal
        assert other.observe("south", [VOLES], key="k") == [lived.observations("south")[-1].id]  # keys are known too


def test_every_line_is_plain_json(lived: Journal) -> None:
    first, *records = map(json.loads, exported(lived))
    assert first == {"journal": 1, "records": len(records), "head": lived.head.hash}
    assert [one["position"] for one in records] == list(range(1, len(records) + 1))
    assert {one["kind"] for one in records} == {
        "orchard", "observation", "weather", "correction", "receipt", "edition", "advice", "decision",
    }  # fmt: skip
    assert records[0]["body"]["content"]["blocks"] == ORCHARD["blocks"]


def test_a_journal_that_holds_the_beginning_takes_the_rest(lived: Journal, tmp_path: Path) -> None:
    with Journal.open(tmp_path / "other.db") as other:
        other.import_(exported(lived))
        lived.observe("south", [{**SWARD, "height": "2 ft"}])
        assert other.import_(exported(lived)) == lived.head
        assert other.import_(exported(lived)) == lived.head
        assert len(other.observations("south")) == len(lived.observations("south"))


def test_a_journal_that_holds_something_else_takes_nothing(lived: Journal, tmp_path: Path) -> None:
    with Journal.open(tmp_path / "other.db") as other:
        other.put_orchard("north", ORCHARD)
        before = other.head
        with pytest.raises(Conflict, match="already holds other records"):
            other.import_(exported(lived))
        assert other.head == before


def test_an_older_export_of_the_same_journal_adds_nothing(lived: Journal) -> None:
    older = exported(lived)
    lived.observe("south", [{**SWARD, "height": "2 ft"}])
    before = lived.head
    assert lived.import_(older) == before


def _changed(line: str) -> str:
    return line.replace('"20 in"', '"21 in"')


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda lines: [*lines[:3], *map(_changed, lines[3:])], "record 3: it was changed"),
        (lambda lines: [*lines[:2], *lines[3:]], "record 2: missing"),
        (lambda lines: lines[:-1], "missing"),
        (lambda lines: [*lines, lines[-1]], "out of order or a second time"),
        (lambda lines: lines[1:], "line 1: this does not begin as an exported journal"),
        (lambda lines: [], "line 1"),
        (lambda lines: ['{"journal": 9, "records": 0, "head": ""}'], "form 9"),
        (lambda lines: [lines[0], "{}"], "line 2: this is no record"),
        (lambda lines: [lines[0], "not json"], "line 2"),
        (lambda lines: [lines[0], '{"position": true, "body": 1}'], "line 2"),
    ],
)
def test_a_spoiled_export_is_refused_whole(lived: Journal, tmp_path: Path, spoil: object, said: str) -> None:
    lines = spoil(exported(lived))  # type: ignore[operator]
    with Journal.open(tmp_path / "other.db") as other:
        with pytest.raises(InputError, match=said):
            other.import_(lines, "a.jsonl")
        assert other.head.records == 0
        assert other.entries() == []
        assert other.import_(exported(lived)) == lived.head


def test_a_backup_opens_as_a_journal(lived: Journal, tmp_path: Path) -> None:
    path = lived.backup(tmp_path / "backup")
    with Journal.open(tmp_path / "again.db" if "postgresql" in str(lived.engine.url) else path) as again:
        if "postgresql" in str(lived.engine.url):
            with path.open(encoding="utf-8") as stream:
                again.import_(stream)
        assert again.head == lived.head
        assert again.verify() == []
        assert again.replay(lived.advices("south")[0].id).equal
    assert sorted(one.name for one in tmp_path.iterdir() if one.name.startswith("backup")) == ["backup"]


def test_a_backup_overwrites_nothing(lived: Journal, tmp_path: Path) -> None:
    (tmp_path / "there").write_text("mine")
    with pytest.raises(InputError, match="something is there already"):
        lived.backup(tmp_path / "there")
    with pytest.raises(InputError, match="cannot be written"):
        lived.backup(tmp_path / "no" / "folder")
    assert (tmp_path / "there").read_text() == "mine"


def test_backups_are_whole_while_another_writes(kept: Journal, tmp_path: Path) -> None:
    enough = threading.Event()
    written: list[str] = []

    def write() -> None:
        number = 0
        while not enough.is_set():
            number += 1
            batch = [{**STAGE, "id": f"{number}-{part}", "note": f"{number}"} for part in range(3)]
            written.extend(kept.observe("south", batch))

    thread = threading.Thread(target=write)
    thread.start()
    try:
        paths = [kept.backup(tmp_path / f"backup-{number}") for number in range(6)]
    finally:
        enough.set()
        thread.join()
    lengths = []
    for number, path in enumerate(paths):
        if kept.engine.url.get_backend_name() == "postgresql":
            with Journal.open(tmp_path / f"again-{number}") as again, path.open(encoding="utf-8") as stream:
                again.import_(stream)
            path = tmp_path / f"again-{number}"
        with Journal.open(path) as again:
            assert again.verify() == []
            assert again.head.records % 3 == 0  # an orchard, two looks, and whole batches of three
            lengths.append(again.head.records)
    assert lengths == sorted(lengths)
    assert lengths[0] < lengths[-1] <= kept.head.records, "nothing was written while the backups ran"


def test_the_tables_are_brought_up_to_date_once_and_a_newer_journal_is_left_alone(address: str) -> None:
    from alembic.script import ScriptDirectory

    from advisor.journal.migrating import config
    from advisor.journal.store import NEWEST

    assert ScriptDirectory.from_config(config()).get_current_head() == NEWEST
    with Journal.open(address) as journal, journal.engine.begin() as connection:
        connection.execute(sa.text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(InputError, match="written by a newer Underbough"):
        Journal.open(address)
