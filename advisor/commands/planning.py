"""plan: this week and the next ones, within the hours there are."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from advisor.commands.options import asked_of_an_orchard, put, write_file

Weeks = Annotated[int, typer.Option(min=0, max=26, help="Weeks to plan after this one.")]
CsvFile = Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="Also write the plan as a table.")]
IcsFile = Annotated[
    Path | None,
    typer.Option("--ics", metavar="FILE", help="Also write a calendar; one that stands there is brought up to date."),
]
SheetFile = Annotated[Path | None, typer.Option("--sheet", metavar="FILE", help="Also write the week to print, HTML.")]
SvgFile = Annotated[Path | None, typer.Option("--svg", metavar="FILE", help="Also write a picture of the hours.")]


@asked_of_an_orchard
def plan(
    answer: Any,
    json_: bool,
    weeks: Weeks = 8,
    csv: CsvFile = None,
    ics: IcsFile = None,
    sheet: SheetFile = None,
    svg: SvgFile = None,
) -> None:
    """Say what to do on which day, what does not fit and what would let it in, and how the year's hours stand."""
    from advisor.hours import calendar_out, picture, tables, terminal
    from advisor.hours.sheet import sheet as week_sheet

    made = answer.plan(weeks)
    if csv:
        write_file(csv, tables.as_csv(made))
    if ics:
        before = ics.read_bytes() if ics.is_file() else None
        write_file(ics, calendar_out.calendar(made, before, str(ics)))
    if sheet:
        write_file(sheet, week_sheet(made))
    if svg:
        write_file(svg, picture.picture(made))
    if json_:
        put(made, True, str)
    else:
        terminal.write(made)
