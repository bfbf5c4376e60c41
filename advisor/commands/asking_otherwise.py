"""why-not, what-if, look-next: why something is not advised, what other inputs would change, what to look at."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from advisor.commands.options import asked_of_an_orchard, put

Sets = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="PLACE=VALUE",
        help="A field otherwise, such as blocks.upper.floor=turf or orchard.hours_per_week=10; null drops it. Also another "
        "day (on=2026-06-01) or another sky (forecast=wet.csv, weather=dry.csv).",
    ),
]
Adds = Annotated[
    list[str] | None,
    typer.Option("--add", metavar="JSON", help='An observation more, such as {"kind": "snow", "depth": "20 cm"}.'),
]
Drops = Annotated[list[str] | None, typer.Option("--drop", metavar="ID", help="An observation less, by its id.")]


@asked_of_an_orchard
def why_not(
    answer: Any,
    json_: bool,
    practice: Annotated[str, typer.Argument(metavar="PRACTICE", help="Such as first-mow or sulphur.")],
    block: Annotated[str | None, typer.Option("--block", metavar="B", help="A block or habitat; default any.")] = None,
) -> None:
    """Say why a practice is not advised, and the smallest change that would bring it about."""
    from advisor.explain.otherwise_text import write_why_not

    put(answer.why_not(practice, block), json_, write_why_not)


@asked_of_an_orchard
def what_if(
    answer: Any,
    json_: bool,
    set_: Sets = None,
    add: Adds = None,
    drop: Drops = None,
    warmer: Annotated[float | None, typer.Option(metavar="C", help="All weather warmer by so many °C.")] = None,
    rain: Annotated[float | None, typer.Option(metavar="FACTOR", help="All rain times a factor; 0 is dry.")] = None,
) -> None:
    """Say what other inputs would change in the advice: what appears, disappears and moves."""
    from advisor.explain.otherwise_text import write_what_if

    asked = {
        "set": _settings(set_ or []),
        "add": _observations(add or []),
        "drop": drop or [],
        "warmer": warmer,
        "rain": rain,
    }
    put(answer.what_if(asked), json_, write_what_if)


@asked_of_an_orchard
def look_next(answer: Any, json_: bool) -> None:
    """Say which looks could change most of the advice, found by trying what each may find."""
    from advisor.explain.otherwise_text import write_look_next

    put(answer.look_next(), json_, write_look_next)


def _settings(given: list[str]) -> dict[str, Any]:
    """PLACE=VALUE, the value as YAML."""
    from advisor.errors import InputError, Problem
    from advisor.reading import parse_yaml

    found: dict[str, Any] = {}
    for one in given:
        place, equals, value = one.partition("=")
        if not equals:
            raise InputError(
                Problem("--set", one, "this sets no value", "Write --set PLACE=VALUE, as in orchard.standard=none.")
            )
        found[place.strip()] = parse_yaml(value, f"--set {place.strip()}").data
    return found


def _observations(given: list[str]) -> list[Any]:
    """Each a JSON object, or @FILE that holds one or a list of them."""
    from advisor.errors import InputError, Problem
    from advisor.reading import parse_json, read_document

    found: list[Any] = []
    for one in given:
        document = read_document(Path(one[1:])) if one.startswith("@") else parse_json(one, "--add")
        records = document.data if isinstance(document.data, list) else [document.data]
        if not all(isinstance(record, dict) for record in records):
            raise InputError(
                Problem("--add", "", "an observation must hold named fields", 'Write {"kind": "sward", ...}.')
            )
        found += records
    return found
