"""demo, advise, season, as-json: ask what to do, and what the season was; an orchard file as the service is sent it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from advisor.commands.options import (
    AsJson,
    File,
    ForecastFile,
    KnowledgeFolders,
    On,
    WeatherFile,
    asked_of_an_orchard,
    own,
    put,
    write_file,
)


def demo(
    json_: AsJson = False,
    into: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Put its files there to try things with: orchard.yaml and its weather."),
    ] = None,
) -> None:
    """Advise the invented orchard Larkfield in the week after bloom."""
    from importlib.resources import as_file, files

    with as_file(files("advisor") / "demo") as folder:
        if into is not None:
            _copy(folder, into)
            return
        advise(folder / "orchard.yaml", "2026-05-18", json_=json_)


def _copy(folder: Path, into: Path) -> None:
    """The files of the demo, beside nothing of theirs that is there already."""
    from advisor.errors import InputError, Problem

    names = ("orchard.yaml", "weather.csv", "forecast.csv")
    there = [Problem(str(into / name), "", "something is there already", "Name another folder.") for name in names
             if (into / name).exists()]  # fmt: skip
    if there:
        raise InputError(there)
    try:
        into.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise InputError(Problem(str(into), "", f"no folder can be made there: {fault.strerror}",
                                 "Name another folder.")) from None  # fmt: skip
    for name in names:
        write_file(into / name, (folder / name).read_bytes())


def as_json(file: File) -> None:
    """Write an orchard file as JSON with its observations, weather and forecast in it, as the service is sent it."""
    from advisor.orchard import load_orchard

    given = dict(load_orchard(file).given)
    for name in ("weather", "forecast"):
        if isinstance(given.get(name), str):
            given[name] = _hours(given[name])
    put(given, True, str)


def _hours(text: str) -> list[dict[str, Any]]:
    """The rows of an hourly table that was read; an empty cell is not known, and left out."""
    import csv

    rows = csv.DictReader(text.splitlines())
    return [
        {name.strip(): cell.strip() if name.strip() == "time" else float(cell) for name, cell in row.items()
         if name and cell and cell.strip()}
        for row in rows
    ]  # fmt: skip


@asked_of_an_orchard
def advise(answer: Any, json_: bool) -> None:
    """Say what to do, what to wait with, what to avoid and what to look at."""
    from advisor.terminal import write

    if json_:
        put(answer, True, str)
    else:
        write(answer, units=answer.run.inputs.file.orchard.units)


def season(
    file: File,
    on: On = None,
    weather: WeatherFile = None,
    forecast: ForecastFile = None,
    json_: AsJson = False,
    sheet: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw the season on a sheet to print as well: .pdf, .png or .svg.")
    ] = None,
    knowledge: KnowledgeFolders = None,
) -> None:
    """Replay the whole season: wettings that infected, days of bloom near fire blight, and the ledger of sprays."""
    from advisor import season_replay, season_sheet

    if sheet is not None:
        season_sheet.ending_fits(sheet)
    with own(None, knowledge) as (_, known):
        now, notes = season_replay.seen(file, on, weather, forecast, knowledge=known)
        found = season_replay.told(now, notes)
        if sheet is not None:
            season_sheet.draw(now, found, sheet)
    put(found, json_, season_replay.write)
