"""How one service is set up: by whoever makes the app, or by environment variables for the workers of a server."""

from __future__ import annotations

import os
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from advisor.errors import InputError, Problem
from advisor.reading import MOST_BYTES

JOURNAL = "underbough.db"


@dataclass(frozen=True)
class Settings:
    """journal: a file or a database address. tokens: whether everyone needs one, also on this machine. most_bytes: of
    a body. per_minute: requests of one asker, None without limit; burst: how many at once; buckets: the file in which
    several workers count together. mark: signs forms."""

    journal: str = JOURNAL
    tokens: bool = False
    most_bytes: int = MOST_BYTES
    per_minute: float | None = 600
    burst: int = 120
    buckets: Path | None = None
    mark: str = field(default_factory=lambda: secrets.token_hex(32), repr=False)

    @staticmethod
    def from_environment(given: Mapping[str, str] = os.environ) -> Settings:
        """UNDERBOUGH_JOURNAL, _TOKENS (required or none), _RATE (requests a minute, 0 for no limit), _BUCKETS, _MARK."""
        per_minute = _rate(given.get("UNDERBOUGH_RATE", "600"))
        return Settings(
            journal=given.get("UNDERBOUGH_JOURNAL") or JOURNAL,
            tokens=_tokens(given.get("UNDERBOUGH_TOKENS", "none")),
            per_minute=per_minute,
            buckets=Path(given["UNDERBOUGH_BUCKETS"]) if given.get("UNDERBOUGH_BUCKETS") else None,
            mark=given.get("UNDERBOUGH_MARK") or secrets.token_hex(32),
        )


def _rate(written: str) -> float | None:
    try:
        rate = float(written)
        if rate >= 0:
            return rate or None
    except ValueError:
        pass
    raise _refused("UNDERBOUGH_RATE", written, "Write the requests a minute that one asker may send, 0 for no limit.")


def _tokens(written: str) -> bool:
    if written in ("required", "none"):
        return written == "required"
    raise _refused("UNDERBOUGH_TOKENS", written, "Write required or none.")


def _refused(name: str, written: str, mend: str) -> InputError:
    return InputError(Problem("environment", name, f"{written[:40]!r} is not a setting", mend, value=written[:40]))
