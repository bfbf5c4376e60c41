"""What the commands share: their arguments, how an orchard file is advised on, and how what was found is written."""

from __future__ import annotations

import inspect
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import update_wrapper
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from advisor.advice import Answer
    from advisor.ecosystem import Knowledge
    from advisor.rulebook import Rulebook

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


@contextmanager
def own(rules: list[Path] | None, knowledge: list[Path] | None) -> Iterator[tuple[Rulebook | None, Knowledge | None]]:
    """A grower's own rules and knowledge over the program's; inside this block their words are known as well."""
    from advisor import words
    from advisor.checking import load_own

    with words.with_folders(knowledge or []):
        yield load_own(rules or [], knowledge or [])


@contextmanager
def advised(
    file: Path,
    on: str | None,
    weather: Path | None,
    forecast: Path | None,
    rules: list[Path] | None = None,
    knowledge: list[Path] | None = None,
) -> Iterator[Answer]:
    """The answer for an orchard file, to be asked further inside this block."""
    from advisor.advice import advise

    with own(rules, knowledge) as (book, known):
        yield advise(file, on=on, weather=weather, forecast=forecast, rules=book, knowledge=known)


def asked_of_an_orchard(question: Callable[..., None]) -> Callable[..., None]:
    """A command that puts a question to the answer for an orchard file; FILE and the options of all such commands come by
    themselves. question: takes the answer, whether JSON is wanted, and arguments of its own.
    """

    def command(
        file: File,
        on: On = None,
        weather: WeatherFile = None,
        forecast: ForecastFile = None,
        json_: AsJson = False,
        rules: RuleFolders = None,
        knowledge: KnowledgeFolders = None,
        **its_own: Any,
    ) -> None:
        with advised(file, on, weather, forecast, rules, knowledge) as answer:
            question(answer, json_, **its_own)

    first, *shared, _ = inspect.signature(command, eval_str=True).parameters.values()
    _, _, *its_own = inspect.signature(question, eval_str=True).parameters.values()
    parameters = [first, *its_own, *shared]
    update_wrapper(command, question)
    command.__annotations__ = {one.name: one.annotation for one in parameters}
    command.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    return command


def put(found: Any, as_json: bool, write: Callable[[Any], str]) -> None:
    """Write what was found to stdout: as JSON, or in words."""
    typer.echo(json.dumps(found, indent=2, ensure_ascii=False) if as_json else write(found))


def write_file(path: Path, content: str | bytes) -> None:
    """Write a file that was asked for beside the answer, and say so; refuse clearly what cannot be written."""
    from advisor.errors import InputError, Problem

    try:
        path.write_bytes(content.encode() if isinstance(content, str) else content)
    except OSError as fault:
        raise InputError(
            Problem(str(path), "", f"cannot be written: {fault.strerror}", "Name a file in a folder that is there.")
        ) from None
    typer.echo(f"Written: {path}", err=True)
