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
    from advisor.api.pages import desk, faults, orchard_page, season_page, sign_in, static_files, walk, why_not_page

    for part in (static_files, sign_in, desk, season_page, why_not_page, walk, orchard_page):
        app.include_router(part.router)
    faults.install(app)
