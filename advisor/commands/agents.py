"""mcp: answer software agents on standard input and output."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from advisor.commands.serving import HERE, JournalAt


def mcp(
    file: Annotated[
        Path | None,
        typer.Argument(metavar="FILE", help="The orchard file that is meant where an agent names none."),
    ] = None,
    journal: JournalAt = HERE,
) -> None:
    """Answer software agents over the Model Context Protocol: advise, why, why_not, what_if, look_next, plan, bloom, record."""
    from advisor.agents import Desk, serve

    serve(Desk(journal, file))
