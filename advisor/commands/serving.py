"""serve, token: answer over HTTP, and say who may ask."""

from __future__ import annotations

import ipaddress
import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from advisor.commands.options import AsJson, put

if TYPE_CHECKING:
    from advisor.api.tokens import Tokens

token = typer.Typer(no_args_is_help=True, help="Tokens: who may ask the service, for which orchards, and how much.")

JournalAt = Annotated[
    str,
    typer.Option(
        "--journal",
        envvar="UNDERBOUGH_JOURNAL",
        metavar="ADDRESS",
        help="A file, or a database address such as postgresql+psycopg://...",
    ),
]
HERE = "underbough.db"


def serve(
    host: Annotated[str, typer.Option(metavar="H", help="The address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(metavar="N", min=0, max=65_535, help="The port; 0 for any free one.")] = 8000,
    cert: Annotated[Path | None, typer.Option(metavar="FILE", help="The certificate, for https.")] = None,
    key: Annotated[Path | None, typer.Option(metavar="FILE", help="The key of the certificate.")] = None,
    journal: JournalAt = HERE,
    workers: Annotated[int, typer.Option(metavar="N", min=1, max=64, help="How many processes answer.")] = 1,
    tokens: Annotated[bool, typer.Option("--tokens", help="Ask for a token on this machine too.")] = False,
) -> None:
    """Answer over HTTP: the JSON service and the pages. Away from this machine, only with a token and best with https."""
    from advisor import extras

    extras.need("uvicorn", "sqlalchemy", "alembic")
    import secrets
    import tempfile

    import uvicorn

    here = _is_here(host)
    for file in (cert, key):
        if file is not None and not file.is_file():
            raise _refused(str(file), "there is no such file", "Name a certificate and its key, both in PEM.")
    if (cert is None) != (key is None):
        raise typer.BadParameter("--cert and --key go together")
    if not here and not _tokens(journal).any():
        raise _refused(
            f"--host {host}",
            "this would let others in, and no token is made yet",
            "Run: underbough token create NAME --grant larkfield:record",
        )
    if not here and cert is None:
        typer.echo("Without --cert, tokens can be read on the way: use https, or a proxy that does.", err=True)
    os.environ["UNDERBOUGH_JOURNAL"] = journal
    os.environ["UNDERBOUGH_TOKENS"] = "required" if tokens or not here else "none"
    os.environ.setdefault("UNDERBOUGH_MARK", secrets.token_hex(32))  # the same in all workers
    with tempfile.NamedTemporaryFile(prefix="underbough-") as buckets:  # in which all workers count the requests
        os.environ["UNDERBOUGH_BUCKETS"] = buckets.name if workers > 1 else ""
        uvicorn.run(
            "advisor.api.service:app",
            host=host,
            port=port,
            workers=workers,
            ssl_certfile=cert,
            ssl_keyfile=key,
            access_log=False,  # it would write the keys of calendars; the service writes its own
            log_config=LOGS,
            server_header=False,
        )


@token.command("create")
def create(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Whose it is, such as kitchen-tablet.")],
    grant: Annotated[
        list[str], typer.Option(metavar="ORCHARD:SCOPE", help="Such as larkfield:record, or *:read; repeat for more.")
    ],
    journal: JournalAt = HERE,
    json_: AsJson = False,
) -> None:
    """Make a token. It is shown this once and kept only as a hash. Scopes: read, record, admin."""
    from advisor.api.tokens import grant as read_grant

    made, secret = _tokens(journal).create(name, dict(map(read_grant, grant)))
    put({"id": made.id, "token": secret, "grants": dict(made.grants)}, json_, lambda _: secret)
    typer.echo(f"Token {made.id} of {made.name}. Keep it safe: it cannot be shown again.", err=True)


@token.command("list")
def list_(journal: JournalAt = HERE, json_: AsJson = False) -> None:
    """List tokens and keys, without their secrets."""
    found: list[dict[str, Any]] = [
        {
            "id": one.id,
            "name": one.name,
            "purpose": one.purpose,
            "grants": dict(one.grants),
            "created": one.created,
            "revoked": one.revoked,
        }
        for one in _tokens(journal).all()
    ]
    put(found, json_, lambda _: "\n".join(map(_line, found)) or "No token is made yet.")


@token.command("revoke")
def revoke(
    id_: Annotated[str, typer.Argument(metavar="ID", help="The token's id, as `underbough token list` shows it.")],
    journal: JournalAt = HERE,
) -> None:
    """End a token; whoever holds it is refused from then on."""
    if not _tokens(journal).revoke(id_):
        raise _refused("id", f"no token {id_[:40]!r} holds", "See underbough token list.")
    typer.echo(f"Token {id_} is revoked.", err=True)


def _line(one: dict[str, Any]) -> str:
    held = ", ".join(f"{orchard}:{scope}" for orchard, scope in one["grants"].items())
    ended = f", revoked {one['revoked']}" if one["revoked"] else ""
    return f"{one['id']}  {one['name']}  for {one['purpose']}  {held}  made {one['created']}{ended}"


def _tokens(journal: str) -> Tokens:
    from advisor import extras

    extras.need("sqlalchemy", "alembic")
    from advisor.api.tokens import Tokens
    from advisor.journal import Journal

    return Tokens(Journal.open(journal).engine)


def _refused(place: str, message: str, mend: str) -> Exception:
    from advisor.errors import InputError, Problem

    return InputError(Problem("command", place, message, mend))


def _is_here(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


LOGS = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "%(message)s"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "plain", "stream": "ext://sys.stderr"}},
    "loggers": {
        "uvicorn": {"handlers": ["stderr"], "level": "INFO", "propagate": False},
        "underbough": {"handlers": ["stderr"], "level": "INFO", "propagate": False},
    },
}
