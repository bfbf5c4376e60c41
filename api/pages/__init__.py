"""The pages, rendered on the server: `install(app)` adds them to a service.

Each subject has its module with a router and its templates. `layout.render` makes every page, `visit.Visitor` says who
comes (`visitor.demand("read", orchard)`), `forms.read_form` reads a posted form, `saying` has the words for dates,
hours and amounts, and `static_files` serves the stylesheet and the scripts of `static/`. A page works without script.
"""

from __future__ import annotations

from fastapi import FastAPI

__all__ = ["install"]


def install(app: FastAPI) -> None:
    """Add the pages, their files and their errors to an app. Needs the extra `server`."""
    from advisor.api.pages import (
        desk,
        faults,
        orchard_page,
        plan_page,
        reading,
        season_page,
        sign_in,
        static_files,
        understory,
        walk,
        what_if_page,
        why_not_page,
    )

    parts = (static_files, sign_in, desk, plan_page, season_page, why_not_page, what_if_page, walk, understory)
    for part in (*parts, orchard_page, reading):
        app.include_router(part.router)
    faults.install(app)
