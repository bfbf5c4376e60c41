"""Small parts of the sentences that people read, each in one place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

WHOLE = "whole orchard"


def place_of(one: Mapping[str, Any]) -> str:
    """Where something is to be done or was seen: its block or habitat, or the whole orchard."""
    return str(one.get("block") or one.get("habitat") or WHOLE)


def listed(names: Sequence[str]) -> str:
    """One or more names as they are said: "a", "a and b", "a, b and c"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def in_words(id: str) -> str:
    """An id as it is said: apple-scab is said apple scab."""
    return id.replace("-", " ")
