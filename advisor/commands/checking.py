"""check: hold rules and knowledge to their own rules."""

from __future__ import annotations

import typer

from advisor.commands.options import AsJson, KnowledgeFolders, RuleFolders, put


def check(rules: RuleFolders = None, knowledge: KnowledgeFolders = None, json_: AsJson = False) -> None:
    """Check rules and knowledge, and run the cases of every rule; exit 1 if anything is wrong."""
    from advisor.checking import check_all

    report = check_all(rules or [], knowledge or [])
    put(report.as_data(), json_, lambda _: report.as_text())
    for problem in report.problems:
        typer.echo(str(problem), err=True)
    raise typer.Exit(1 if report.problems else 0)
