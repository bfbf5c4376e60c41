"""Many who write and read at once: one chain, nothing lost, nobody refused."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from journal_orchards import ON, ORCHARD, SWARD

from advisor.errors import InputError
from advisor.journal import Conflict, Journal, store

WRITE = """
import sys
from advisor.journal import Journal
address, who = sys.argv[1:]
with Journal.open(address) as journal:
    for turn in range(25):
        journal.observe("south", [{"date": "2026-11-09", "kind": "sward", "block": "pips", "height": "1 ft",
                                   "note": f"{who} {turn} {part}"} for part in range(2)])
"""


def test_processes_write_one_chain(kept: Journal, address: str) -> None:
    running = [subprocess.Popen([sys.executable, "-c", WRITE, address, str(who)]) for who in range(3)]
    assert [process.wait(timeout=300) for process in running] == [0, 0, 0]
    assert len(kept.observations("south")) == 2 + 3 * 25 * 2
    assert len(kept.file_of("south").observations) == 2 + 3 * 25 * 2
    assert kept.verify() == []


def test_processes_may_open_a_new_journal_at_once(address: str) -> None:
    code = "import sys; from advisor.journal import Journal; Journal.open(sys.argv[1]).close()"
    running = [subprocess.Popen([sys.executable, "-c", code, address]) for _ in range(3)]
    assert [process.wait(timeout=300) for process in running] == [0, 0, 0]
    with Journal.open(address) as journal:
        assert journal.verify() == []


def test_threads_share_a_journal(kept: Journal) -> None:
    def write(number: int) -> list[str]:
        kept.file_of("south")
        return kept.observe("south", [{**SWARD, "note": str(number)}], key=f"t-{number % 20}x{number // 20}")

    with ThreadPoolExecutor(8) as pool:
        ids = [id for found in pool.map(write, range(40)) for id in found]
    assert len(set(ids)) == 40
    assert {one.id for one in kept.file_of("south").observations} >= set(ids)
    assert kept.verify() == []


def test_the_same_key_at_once_is_taken_once(kept: Journal) -> None:
    with ThreadPoolExecutor(6) as pool:
        found = list(pool.map(lambda _: kept.observe("south", [{**SWARD, "height": "9 in"}], key="same"), range(6)))
    assert len({tuple(ids) for ids in found}) == 1
    assert len([entry for entry in kept.entries("south") if entry.kind == "receipt"]) == 1


def test_of_two_who_write_on_the_same_version_one_is_refused(kept: Journal) -> None:
    def write(trees: int) -> bool:
        try:
            kept.put_orchard("south", {**ORCHARD, "blocks": [{**ORCHARD["blocks"][0], "trees": trees}]}, version=1)
        except Conflict:
            return False
        return True

    with ThreadPoolExecutor(5) as pool:
        assert sorted(pool.map(write, range(10, 15))) == [False, False, False, False, True]
    assert kept.orchard("south").number == 2


def test_the_same_advice_asked_at_once_is_kept_once(kept: Journal) -> None:
    with ThreadPoolExecutor(3) as pool:
        found = list(pool.map(lambda _: kept.advise("south", ON), range(3)))
    assert len({one.position for one in found}) == 1
    assert len(kept.advices("south")) == 1


def test_a_file_held_in_memory_is_never_older_than_the_records(kept: Journal, address: str) -> None:
    held = kept.file_of("south")
    assert kept.file_of("south") is held
    with Journal.open(address) as other:
        other.observe("south", [{**SWARD, "height": "3 ft"}])
    assert len(kept.file_of("south").observations) == len(held.observations) + 1


def test_a_writer_who_waits_too_long_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "BUSY_SECONDS", 0.2)
    with Journal.open(tmp_path / "j.db") as one, Journal.open(tmp_path / "j.db") as other:
        one.put_orchard("south", ORCHARD)
        with one._store.writing(), pytest.raises(InputError, match="does not answer: database is locked"):
            other.observe("south", [SWARD])


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("mysql://x/y", "SQLite file or in PostgreSQL"),
        ("sqlite://", "SQLite file or in PostgreSQL"),
        ("://", "no address"),
        ("postgresql+psycopg://nobody@/none?host=/nowhere", "cannot be opened"),
        ("/nowhere/at/all.db", "cannot be opened"),
    ],
)
def test_an_address_that_leads_nowhere_is_refused_with_a_sentence(address: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        Journal.open(address)


def test_a_file_that_is_no_journal_is_refused_with_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("Not a database at all, but long enough to be looked at as one. " * 20)
    with pytest.raises(InputError, match="file is not a database"):
        Journal.open(tmp_path / "notes.txt")


@pytest.mark.parametrize(
    ("module", "address", "extra"),
    [
        ("sqlalchemy", "j.db", "server"),
        ("alembic", "j.db", "server"),
        ("psycopg", "postgresql+psycopg://x@/y?host=/nowhere", "scale"),
    ],
)
def test_a_lacking_library_is_named_with_its_extra(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, module: str, address: str, extra: str
) -> None:
    monkeypatch.chdir(tmp_path)
    for name in [name for name in sys.modules if name.partition(".")[0] == module]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, module, None)  # what importing it does where it is not installed
    for ours in ("store", "migrating", "moving"):
        monkeypatch.delitem(sys.modules, f"advisor.journal.{ours}", raising=False)
    with pytest.raises(InputError, match=rf"{module}.*not installed.*underbough\[{extra}\]"):
        Journal.open(address)
