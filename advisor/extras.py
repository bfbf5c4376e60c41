"""Libraries that only an extra brings: which extra, whether they are here, and the one sentence where they are not."""

from __future__ import annotations

from importlib.util import find_spec

from advisor.errors import InputError, Problem

EXTRAS = {
    "uvicorn": "server", "jinja2": "server", "sqlalchemy": "server", "alembic": "server", "icalendar": "server",
    "matplotlib": "plots", "highspy": "scale", "psycopg": "scale", "mcp": "agents", "prov": "all",
}  # fmt: skip


def here(*libraries: str) -> bool:
    """Whether all of these are installed."""
    return all(find_spec(library) is not None for library in libraries)


def need(*libraries: str) -> None:
    """Go on only where all of these are installed; InputError names the first that is not, and its extra."""
    for library in libraries:
        if not here(library):
            raise lacking(library)


def lacking(library: str) -> InputError:
    """What is said where a library of an extra is not installed."""
    mend = f"Install it with: python3 -m pip install 'underbough[{EXTRAS.get(library, 'all')}]'."
    return InputError(Problem("install", "", f"this needs {library}, which is not installed", mend))
