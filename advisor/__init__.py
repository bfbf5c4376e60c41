"""Advice for fruit trees tended as an ecosystem.

    from advisor import advise, load_orchard
    answer = advise(load_orchard("orchard.yaml"), on="2026-05-18")
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from advisor.advice import Answer, advise
    from advisor.errors import InputError
    from advisor.orchard import OrchardFile, load_orchard

__all__ = ["Answer", "InputError", "OrchardFile", "advise", "load_orchard"]

_HOMES = {
    "Answer": "advisor.advice",
    "InputError": "advisor.errors",
    "OrchardFile": "advisor.orchard",
    "advise": "advisor.advice",
    "load_orchard": "advisor.orchard",
}


def __getattr__(name: str) -> Any:
    """Import the public names when they are first asked for, so that the command starts at once."""
    if name in _HOMES:
        import importlib

        return getattr(importlib.import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'advisor' has no attribute {name!r}")
