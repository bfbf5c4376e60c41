"""What the commands share: their arguments, how an orchard file is advised on, and how an answer is written."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from advisor.advice import Answer

File = Annotated[Path, typer.Argument(metavar="FILE", help="The orchard file, YAML or JSON.")]
On = Annotated[
    str | None, typer.Option(metavar="DATE", help="The day, such as 2026-05-18, or an ISO time; default today.")
]
WeatherFile = Annotated[
    Path | None, typer.Option("--weather", metavar="CSV", help="Hourly weather, instead of the file's.")
]
ForecastFile = Annotated[Path | None, typer.Option("--forecast", metavar="CSV", help="Hourly forecast.")]
AsJson = Annotated[bool, typer.Option("--json", help="Write the whole answer as JSON.")]
RuleFolders = Annotated[
    list[Path] | None,
    typer.Option("--rules", metavar="FOLDER", help="Your own rule packs; may be given several times."),
]
KnowledgeFolders = Annotated[
    list[Path] | None,
    typer.Option("--knowledge", metavar="FOLDER", help="Your own knowledge; may be given several times."),
]


def advise_file(
    file: Path,
    on: str | None,
    weather: Path | None,
    forecast: Path | None,
    rules: list[Path] | None = None,
    knowledge: list[Path] | None = None,
) -> Answer:
    """Advice for an orchard file, with a grower's own rules and knowledge where there are any."""
    from advisor import words
    from advisor.advice import advise
    from advisor.checking import load_own

    book, known = load_own(rules or [], knowledge or [])
    with words.with_folders(knowledge or []):
        return advise(file, on=on, weather=weather, forecast=forecast, rules=book, knowledge=known)


def put(found: Any, as_json: bool, write: Callable[[Any], str]) -> None:
    """Write what was found to stdout: as JSON, or in words."""
    typer.echo(json.dumps(found, indent=2, ensure_ascii=False) if as_json else write(found))
