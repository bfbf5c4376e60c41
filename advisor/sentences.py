"""Small parts of the sentences that people read, each in one place."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

WHOLE = "whole orchard"


def place_of(one: Mapping[str, Any]) -> str:
    """Where something is to be done or was seen: its block or habitat, or the whole orchard."""
    return str(one.get("block") or one.get("habitat") or WHOLE)


def listed(names: Sequence[str]) -> str:
    """One or more names as they are said: "a", "a and b", "a, b and c"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


# A count of no days or years as people say it; the longer phrases first.
_NO_TIME = (
    (re.compile(r"\b(?:was|were) planted 0 years ago"), "stand in their first year"),
    (re.compile(r"\bare 0 years old"), "stand in their first year"),
    (re.compile(r"\bof trees 0 years old"), "of trees in their first year"),
    (re.compile(r"\bis ready in 0 days at the earliest"), "may be ready now"),
    (re.compile(r"\b(?:in )?0 days? from now\b|\bin 0 days?\b|\b0 days? ago\b"), "today"),
)


def without_noughts(text: str) -> str:
    """A sentence in which no days and no years are said as people say them: "0 days from now" is today."""
    if "0 " not in text:
        return text
    for pattern, said in _NO_TIME:
        text = pattern.sub(said, text)
    return text


def in_words(id: str) -> str:
    """An id as it is said: apple-scab is said apple scab."""
    return id.replace("-", " ")
