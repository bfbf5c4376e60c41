"""Tokens: who may ask, for which orchards, and how much. Kept as hashes beside the journal, never as they were given.

A token's secret holds 256 random bits, so a plain SHA-256 of it cannot be guessed back; it is shown once, when made.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import re
import secrets
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Literal

from sqlalchemy import Column, Connection, Engine, MetaData, RowMapping, String, Table, Text, insert, select, update

from advisor.api.asking import EVERY, SCOPES
from advisor.errors import InputError, Problem

Purpose = Literal["requests", "calendar"]

_PREFIX = "ub_"

table = Table(
    "tokens",
    MetaData(),
    Column("id", String(16), primary_key=True),
    Column("hash", String(64), nullable=False, unique=True),
    Column("name", String(80), nullable=False),
    Column("grants", Text, nullable=False),
    Column("purpose", String(16), nullable=False),
    Column("created", String(32), nullable=False),
    Column("revoked", String(32)),
)


@dataclass(frozen=True)
class Token:
    """A token without its secret. grants: orchard id, or *, and the scope there."""

    id: str
    name: str
    grants: Mapping[str, str]
    purpose: Purpose
    created: str
    revoked: str | None = None


def grant(written: str) -> tuple[str, str]:
    """`larkfield:record` as (orchard, scope)."""
    orchard, _, scope = written.rpartition(":")
    if scope not in SCOPES or not (orchard == EVERY or re.fullmatch(r"[a-z0-9][a-z0-9-]{0,63}", orchard)):
        raise InputError(
            Problem(
                "request",
                "grant",
                f"{written[:60]!r} is not an orchard and a scope",
                f"Write larkfield:record, or *:read for every orchard; the scopes are {', '.join(SCOPES)}.",
            )
        )
    return orchard, scope


class Tokens:
    """The tokens of one journal."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def create(self, name: str, grants: Mapping[str, str], purpose: Purpose = "requests") -> tuple[Token, str]:
        """A new token and its secret, which nobody can read again."""
        secret = _PREFIX + secrets.token_urlsafe(32)
        token = Token(secrets.token_hex(6), name[:80], dict(grants), purpose, _now())
        row = {
            "id": token.id,
            "hash": _hash(secret),
            "name": token.name,
            "grants": json.dumps(token.grants, sort_keys=True),
            "purpose": purpose,
            "created": token.created,
        }
        with self._writing() as link:
            link.execute(insert(table).values(row))
        return token, secret

    def find(self, secret: str, purpose: Purpose = "requests") -> Token | None:
        """The token of a secret, unless it is unknown, revoked or made for something else."""
        query = select(table).where(
            table.c.hash == _hash(secret), table.c.purpose == purpose, table.c.revoked.is_(None)
        )
        with self._engine.connect() as link:
            row = link.execute(query).mappings().first()
        return _token(row) if row else None

    def all(self) -> list[Token]:
        """Every token ever made, oldest first."""
        with self._engine.connect() as link:
            rows = link.execute(select(table).order_by(table.c.created, table.c.id)).mappings().all()
        return [_token(row) for row in rows]

    def revoke(self, id_: str) -> bool:
        """End a token; False if there is none of that id that still holds."""
        with self._writing() as link:
            done = link.execute(
                update(table).where(table.c.id == id_, table.c.revoked.is_(None)).values(revoked=_now())
            )
        return bool(done.rowcount)

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        """A transaction that waits for its turn among the journal's writers."""
        with self._engine.connect().execution_options(writes=True) as link, link.begin():
            yield link

    def any(self) -> bool:
        """Whether some token opens the service."""
        return any(token.purpose == "requests" and token.revoked is None for token in self.all())


def _token(row: RowMapping) -> Token:
    purpose: Purpose = "calendar" if row["purpose"] == "calendar" else "requests"
    revoked = row["revoked"]
    return Token(
        str(row["id"]),
        str(row["name"]),
        json.loads(str(row["grants"])),
        purpose,
        str(row["created"]),
        None if revoked is None else str(revoked),
    )


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def _now() -> str:
    return dt.datetime.now(dt.UTC).isoformat(timespec="seconds")
