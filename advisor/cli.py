"""The `underbough` command. Answers go to stdout, messages to stderr; exit 0 fine, 1 refused input, 2 wrong usage.

The commands stand in `advisor.commands`; everything heavy is imported inside them, so that `--help` starts at once.
"""

from __future__ import annotations

import sys
from typing import NoReturn

import typer

from advisor.commands import agents, asking, asking_otherwise, checking, explaining, habitat, journal, planning, serving

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="Advice for fruit trees tended as an ecosystem: what to do, what to leave alone, what to look at, and why.",
)

app.command()(asking.demo)
app.command()(asking.advise)
app.command()(asking.season)
app.command("as-json")(asking.as_json)
app.command()(habitat.bloom)
app.command()(explaining.why)
app.command()(asking_otherwise.why_not)
app.command()(asking_otherwise.what_if)
app.command()(asking_otherwise.look_next)
app.command()(planning.plan)
app.command()(serving.serve)
app.add_typer(serving.token, name="token")
app.add_typer(journal.app, name="journal")
app.command()(agents.mcp)
app.command()(checking.check)


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
