"""journal ...: keep what was seen, advised and done, and show that nothing of it was changed."""

from __future__ import annotations

import sys
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from advisor.commands.options import AsJson, KnowledgeFolders, On, RuleFolders, own, put
from advisor.commands.serving import HERE, JournalAt

if TYPE_CHECKING:
    from advisor.journal import Journal

app = typer.Typer(no_args_is_help=True, help="Keep what was seen, advised and done, so that no change goes unseen.")

AdviceId = Annotated[str, typer.Argument(metavar="ADVICE", help="The id of an advice that is kept.")]


@contextmanager
def _opened(
    address: str, rules: list[Path] | None = None, knowledge: list[Path] | None = None, *, make: bool = False
) -> Iterator[Journal]:
    from advisor.journal import Journal

    with (
        own(rules, knowledge) as (book, known),
        Journal.open(address, rules=book, knowledge=known, make=make) as journal,
    ):
        yield journal


@app.command()
def record(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="An orchard file, observations or hourly weather: YAML, JSON or CSV.")
    ],
    orchard: Annotated[
        str | None, typer.Option(metavar="ID", help="The orchard it is for; an orchard file goes by its own name.")
    ] = None,
    forecast: Annotated[bool, typer.Option("--forecast", help="The weather in the file is a forecast.")] = False,
    journal: JournalAt = HERE,
    json_: AsJson = False,
    knowledge: KnowledgeFolders = None,
) -> None:
    """Keep an orchard, observations or weather. What is kept already is not kept twice."""
    from advisor.journal.recording import record

    with _opened(journal, None, knowledge, make=True) as opened:
        found = record(opened, file, orchard, forecast=forecast)
    put(found.as_data() if json_ else found, json_, lambda one: str(one.as_text()))


@app.command()
def advise(
    orchard: Annotated[str, typer.Argument(metavar="ORCHARD", help="The id of an orchard that is kept.")],
    on: On = None,
    journal: JournalAt = HERE,
    json_: AsJson = False,
    rules: RuleFolders = None,
    knowledge: KnowledgeFolders = None,
) -> None:
    """Advise an orchard that is kept, and keep the advice."""
    from advisor.terminal import write

    with _opened(journal, rules, knowledge) as opened:
        advice = opened.advise(orchard, on)
        units = opened.file_of(orchard).orchard.units
    if json_:
        put(advice.answer, True, str)
    else:
        write(advice.answer, units=units)
        typer.echo(f"\nKept as advice {advice.id}.")


@app.command()
def decide(
    advice: AdviceId,
    recommendation: Annotated[str, typer.Argument(metavar="RECOMMENDATION", help="The id of one of its lines.")],
    state: Annotated[
        str, typer.Argument(metavar="STATE", help="done, refused, overridden, or taken-back: undo the last.")
    ],
    reason: Annotated[str | None, typer.Option(help="One of the reasons offered, or your own words.")] = None,
    hours: Annotated[float | None, typer.Option(metavar="H", help="Hours that it took.")] = None,
    note: Annotated[str | None, typer.Option(help="Anything else worth keeping.")] = None,
    by: Annotated[str | None, typer.Option(metavar="NAME", help="Who did or decided it.")] = None,
    day: Annotated[str | None, typer.Option("--on", metavar="DATE", help="The day that it was done.")] = None,
    journal: JournalAt = HERE,
    json_: AsJson = False,
) -> None:
    """Keep what was done about a recommendation, or take it back; later advice knows of work that was done."""
    from dataclasses import asdict

    with _opened(journal) as opened:
        found = opened.decide(advice, recommendation, state, reason, hours=hours, note=note, by=by, on=day)
    put(asdict(found), json_, _decided)


def _decided(one: dict[str, Any]) -> str:
    """A decision in a line."""
    if one["state"] == "taken-back":
        return f"Taken back: nothing is decided about {one['recommendation']} now."
    return f"Kept: {one['recommendation']} {one['state']} on {one['on']}."


@app.command()
def show(
    orchard: Annotated[str | None, typer.Argument(metavar="ORCHARD", help="An orchard; all if left out.")] = None,
    journal: JournalAt = HERE,
    json_: AsJson = False,
) -> None:
    """List the orchards, or what was seen, advised and decided in one."""
    from dataclasses import asdict

    with _opened(journal) as opened:
        if orchard is None:
            listed = opened.orchards(limit=10_000)
            put([{"id": one.id, "version": one.number} for one in listed], json_,
                lambda all: "\n".join(f"{one['id']}, version {one['version']}" for one in all) or "No orchards yet.")  # fmt: skip
            return
        found: dict[str, Any] = {
            "observations": [dict(one.given) for one in opened.observations(orchard)],
            "advices": [{"id": one.id, "on": one.on, "at": one.at} for one in opened.advices(orchard)],
            "decisions": [asdict(one) for one in opened.decisions(orchard)],
        }
    put(found, json_, lambda all: "\n".join(_lines(all)))


def _lines(found: dict[str, Any]) -> Iterator[str]:
    from advisor.sentences import place_of

    yield f"Observations ({len(found['observations'])})"
    for one in found["observations"]:
        yield f"  {one['date']}  {one['kind']}, {place_of(one)}: {_told(one, ('date', 'block', 'habitat'))}  ({one['id']})"
    yield f"Advice, newest first ({len(found['advices'])})"
    for one in found["advices"]:
        yield f"  for {one['on']}  {one['id']}"
    yield f"Decisions ({len(found['decisions'])})"
    for one in found["decisions"]:
        yield f"  {one['on']}  {one['recommendation']}: {one['state']}{', ' + one['reason'] if one['reason'] else ''}"


@app.command()
def history(
    orchard: Annotated[str, typer.Argument(metavar="ORCHARD", help="The id of an orchard that is kept.")],
    what: Annotated[str, typer.Argument(metavar="WHAT", help="An observation's id, or an hour: 2026-05-18T06:00.")],
    forecast: Annotated[bool, typer.Option("--forecast", help="What was forecast for the hour, not measured.")] = False,
    journal: JournalAt = HERE,
    json_: AsJson = False,
) -> None:
    """Show what was said of one observation or hour, in turn: each correction stays on record."""
    from contextlib import suppress
    from datetime import datetime

    is_hour = False
    with suppress(ValueError):
        is_hour = bool(datetime.fromisoformat(what))
    with _opened(journal) as opened:
        found = (
            opened.weather_history(orchard, what, forecast=forecast)
            if is_hour
            else [{"at": one.at, "kind": one.kind, **one.content} for one in opened.history(orchard, what)]
        )
    put(found, json_, lambda all: "\n".join(map(_said, all)) or f"Nothing is kept of {what}.")


def _said(one: dict[str, Any]) -> str:
    """One line of a history."""
    given = one.get("given", {name: value for name, value in one.items() if name not in ("at", "kind", "position")})
    return f"{one['at'][:16]}Z  {one.get('kind', 'weather')}: {_told(given)}"


def _told(given: Mapping[str, Any], without: Collection[str] = ()) -> str:
    """What was said, field by field."""

    def said(value: object) -> str:
        if isinstance(value, bool):
            return "yes" if value else "no"
        return f"{value:.4g}" if isinstance(value, float) else str(value)

    return ", ".join(
        f"{name} {said(value)}"
        for name, value in given.items()
        if name not in ("id", "kind", *without) and value is not None
    )


@app.command()
def verify(
    head: Annotated[
        str | None,
        typer.Option(metavar="HEAD", help="The end of the journal as it was printed before, noted elsewhere."),
    ] = None,
    journal: JournalAt = HERE,
    json_: AsJson = False,
) -> None:
    """Find every record that was changed, is missing or stands out of place; exit 1 if there is any."""
    with _opened(journal) as opened:
        problems = opened.verify(head)
        end = None if problems else opened.head
    found = {
        "sound": not problems,
        "head": str(end) if end else None,
        "problems": [{"place": one.place, "message": one.message, "mend": one.mend} for one in problems],
    }
    if json_:
        put(found, True, str)
    elif end is not None:
        typer.echo(
            f"All {end.records} records are as they were written.\nThe end of the journal, to note elsewhere: {end}"
        )
    else:
        typer.echo("\n".join(f"{one.place}: {one.message}." for one in problems[:50]))
        rest = f", {len(problems) - 50} of them not listed" if len(problems) > 50 else ""
        faults = "one fault" if len(problems) == 1 else f"{len(problems)} faults"
        typer.echo(f"The journal was tampered with or damaged: {faults}{rest}. Restore a backup.", err=True)
    if problems:
        raise typer.Exit(1)


@app.command()
def replay(
    advice: AdviceId,
    journal: JournalAt = HERE,
    json_: AsJson = False,
    rules: RuleFolders = None,
    knowledge: KnowledgeFolders = None,
) -> None:
    """Run an old advice again: the same bytes, or what changed since and which recommendations differ for it."""
    with _opened(journal, rules, knowledge) as opened:
        found = opened.replay(advice)
    put(found.as_data() if json_ else found, json_, lambda one: str(one.as_text()))


@app.command()
def export(
    file: Annotated[Path | None, typer.Argument(metavar="FILE", help="A new file; stdout if left out.")] = None,
    journal: JournalAt = HERE,
) -> None:
    """Write everything as JSON Lines."""
    from advisor.journal.moving import new_file

    with _opened(journal) as opened:
        if file is None:
            opened.export(sys.stdout)
            return
        with new_file(file) as path, path.open("w", encoding="utf-8") as stream:
            head = opened.export(stream)
    typer.echo(f"{head.records} records written to {file}.", err=True)


@app.command("import")
def import_(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="What `journal export` wrote.")],
    journal: JournalAt = HERE,
) -> None:
    """Read what `journal export` wrote, all or nothing, into a journal that is empty or holds the beginning of it."""
    from advisor.errors import InputError, Problem

    with _opened(journal, make=True) as opened:
        try:
            with file.open(encoding="utf-8") as stream:
                head = opened.import_(stream, str(file))
        except (OSError, UnicodeDecodeError) as fault:
            message = f"cannot be read: {getattr(fault, 'strerror', None) or 'it is not UTF-8 text'}"
            raise InputError(Problem(str(file), "", message, "Check the name and that it is a file.")) from None
    typer.echo(f"The journal holds {head.records} records.")


@app.command()
def backup(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A new file.")],
    journal: JournalAt = HERE,
) -> None:
    """Copy the journal as it stands at one moment, while others may go on writing."""
    with _opened(journal) as opened:
        path = opened.backup(file)
        kind = "JSON Lines, to be read with `journal import`" if not opened.is_file else "a journal of its own"
    typer.echo(f"Backup written to {path}: {kind}.")
