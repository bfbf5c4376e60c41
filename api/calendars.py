"""The calendar that a service wrote last for each orchard: the next one numbers its changes from it (RFC 5545)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import Column, LargeBinary, MetaData, String, Table, delete, insert, select

from advisor.hours.calendar_out import calendar

if TYPE_CHECKING:
    from advisor.journal import Journal

table = Table(
    "calendars",
    MetaData(),
    Column("orchard", String(64), primary_key=True),
    Column("advice", String(16), nullable=False),
    Column("content", LargeBinary, nullable=False),
)


def calendar_of(journal: Journal, orchard: str) -> bytes:
    """Today's plan as a calendar; made anew only when what it rests on has changed."""
    advice = journal.advise(orchard).id
    with journal.engine.connect() as link:
        before = link.execute(select(table).where(table.c.orchard == orchard)).mappings().first()
    if before is not None and before["advice"] == advice:
        return bytes(before["content"])
    made = calendar(journal.run_of(advice).plan(), before["content"] if before else None)
    with journal.engine.connect().execution_options(writes=True) as link, link.begin():
        link.execute(delete(table).where(table.c.orchard == orchard))
        link.execute(insert(table).values(orchard=orchard, advice=advice, content=made))
    return made
