"""The `underbough` command. Answers go to stdout, messages to stderr; exit 0 fine, 1 refused input, 2 wrong usage.

Everything heavy is imported inside the commands, so that `underbough --help` starts at once.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

if TYPE_CHECKING:
    from advisor.advice import Answer

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="Advice for fruit trees tended as an ecosystem: what to do, what to leave alone, what to look at, and why.",
)

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


@app.command()
def demo(json_: AsJson = False) -> None:
    """Advise the invented orchard Larkfield in the week after bloom."""
    from importlib.resources import as_file, files

    with as_file(files("advisor") / "demo") as folder:
        _print(_advise(folder / "orchard.yaml", "2026-05-18", None, None, None, None), json_)


@app.command()
def advise(
    file: File,
    on: On = None,
    weather: WeatherFile = None,
    forecast: ForecastFile = None,
    json_: AsJson = False,
    rules: RuleFolders = None,
    knowledge: KnowledgeFolders = None,
) -> None:
    """Say what to do, what to wait with, what to avoid and what to look at."""
    _print(_advise(file, on, weather, forecast, rules, knowledge), json_)


@app.command()
def check(rules: RuleFolders = None, knowledge: KnowledgeFolders = None, json_: AsJson = False) -> None:
    """Check rules and knowledge, and run the cases of every rule; exit 1 if anything is wrong."""
    from advisor.checking import check_all

    report = check_all(rules or [], knowledge or [])
    if json_:
        typer.echo(json.dumps(report.as_data(), indent=2))
    else:
        typer.echo(report.as_text())
    for problem in report.problems:
        typer.echo(str(problem), err=True)
    raise typer.Exit(1 if report.problems else 0)


@app.command()
def season(
    file: File,
    on: On = None,
    weather: WeatherFile = None,
    forecast: ForecastFile = None,
    json_: AsJson = False,
    knowledge: KnowledgeFolders = None,
) -> None:
    """Replay the whole season: every wetting that infected, and every day of bloom that came near fire blight."""
    from advisor import season_replay, words
    from advisor.checking import load_own

    _, known = load_own([], knowledge or [])
    with words.with_folders(knowledge or []):
        found = season_replay.replay(file, on, weather, forecast, knowledge=known)
    typer.echo(json.dumps(found, indent=2, ensure_ascii=False) if json_ else season_replay.write(found))


def _advise(
    file: Path,
    on: str | None,
    weather: Path | None,
    forecast: Path | None,
    rules: list[Path] | None,
    knowledge: list[Path] | None,
) -> Answer:
    from advisor import words
    from advisor.advice import advise
    from advisor.checking import load_own

    book, known = load_own(rules or [], knowledge or [])
    with words.with_folders(knowledge or []):
        return advise(file, on=on, weather=weather, forecast=forecast, rules=book, knowledge=known)


def _print(answer: Answer, as_json: bool) -> None:
    if as_json:
        typer.echo(json.dumps(answer, indent=2, ensure_ascii=False))
        return
    from advisor.terminal import write

    write(answer)


def main() -> NoReturn:
    """Run the command; a refused input is one clear message on stderr and exit 1."""
    from advisor.errors import InputError

    try:
        app()
    except InputError as refused:
        typer.echo(str(refused), err=True)
        sys.exit(1)
    sys.exit(0)


if __name__ == "__main__":
    main()
