"""The journal of a service, opened when it is first needed, so that what needs none works without it."""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING

from fastapi import Request
from starlette.exceptions import HTTPException

from advisor import extras
from advisor.errors import InputError

if TYPE_CHECKING:
    from advisor.api.tokens import Tokens
    from advisor.journal import Journal


class Shelf:
    """address: a file or a database address."""

    def __init__(self, address: str) -> None:
        self.address = address
        self._journal: Journal | None = None
        self._lock = Lock()

    def journal(self) -> Journal:
        """The journal; 501 where the extra that it needs is lacking."""
        with self._lock:
            if self._journal is None:
                try:
                    extras.need("sqlalchemy", "alembic")
                except InputError as lacking:
                    raise HTTPException(501, f"Nothing is kept here. {lacking}") from None
                from advisor.journal import Journal

                self._journal = Journal.open(self.address)
            return self._journal

    def tokens(self) -> Tokens | None:
        """The tokens of the journal; None without one."""
        try:
            journal = self.journal()
        except HTTPException:
            return None
        from advisor.api.tokens import Tokens

        return Tokens(journal.engine)

    def close(self) -> None:
        with self._lock:
            if self._journal is not None:
                self._journal.close()
                self._journal = None


def journal(request: Request) -> Journal:
    """The journal of the app that a request came to."""
    shelf: Shelf = request.app.state.shelf
    return shelf.journal()
