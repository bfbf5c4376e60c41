"""Every test of the journal runs on an SQLite file and on PostgreSQL."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import postgres
import pytest
from journal_orchards import ORCHARD, STAGE, SWARD

from advisor.journal import Journal


@pytest.fixture(scope="session")
def cluster() -> Iterator[str]:
    with postgres.cluster() as folder:
        yield folder


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A new, empty database."""
    if request.param == "sqlite":
        return str(tmp_path / "journal.db")
    return postgres.emptied(request.getfixturevalue("cluster"))


@pytest.fixture
def clock() -> list[dt.datetime]:
    """The moment that the journal takes it to be; tests move it on."""
    return [dt.datetime(2026, 11, 10, 6, tzinfo=dt.UTC)]


@pytest.fixture
def journal(address: str, clock: list[dt.datetime]) -> Iterator[Journal]:
    with Journal.open(address, clock=lambda: clock[0]) as opened:
        yield opened


@pytest.fixture
def kept(journal: Journal) -> Journal:
    """A journal that holds the small orchard, with two looks at it."""
    journal.put_orchard("south", ORCHARD)
    journal.observe("south", [STAGE, SWARD])
    return journal
