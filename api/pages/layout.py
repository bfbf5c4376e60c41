"""One way to make a page: the templates, what every page knows, and the headers that keep it to this server.

`render` is called by every route. Pages hold no script and no style of their own: the policy below lets a browser load
only what `static_files` serves, so nothing that a grower writes into a field can ever run.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from advisor.api import asking
from advisor.api.pages import saying
from advisor.api.pages.static_files import address, pack
from advisor.sentences import in_words

POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; "
    "manifest-src 'self'; worker-src 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "private, no-cache",
}

LIGHT_COOKIE = "underbough-light"
LIGHTS = {"paper": "Light", "night": "Dark", "device": "As my device"}

# The tabs of the notebook: address below /at/{orchard}, or from the root, and the word on the tab.
TABS = (
    ("this-week", "This week"), ("plan", "Plan"), ("season", "Season"), ("walk", "Walk"), ("understory", "Understory"),
    ("orchard", "Orchard"), ("/read/rules", "Rules"), ("/read/knowledge", "Knowledge"),
)  # fmt: skip


def render(request: Request, template: str, *, status: int = 200, tab: str = "", **context: Any) -> HTMLResponse:
    """A page from a template. `tab`: the tab it stands under; `orchard`, an id, in the context turns the tabs on."""
    light = request.cookies.get(LIGHT_COOKIE, "device")
    orchard = context.get("orchard") or request.query_params.get("orchard")
    text = (
        _templates()
        .get_template(template)
        .render(
            tab=tab,
            tabs=[(place, _tab_address(place, orchard), words) for place, words in TABS if orchard or place[0] == "/"],
            light=light if light in LIGHTS else "device",
            lights=LIGHTS,
            check=asking.form_value(request),
            here=request.url.path + (f"?{request.url.query}" if request.url.query else ""),
            signed_in=asking.COOKIE in request.cookies,
            **{"orchard": orchard, **context},
        )
    )
    content, packed = pack(request, text.encode())
    return HTMLResponse(content, status_code=status, headers=HEADERS | packed)


def _tab_address(place: str, orchard: str | None) -> str:
    if place[0] != "/":
        return f"/at/{orchard}/{place}"
    return f"{place}?orchard={orchard}" if orchard else place


def picture(svg: str) -> Markup:
    """A drawing to stand in a page: its paints come from the stylesheet, so its own style is left out."""
    return Markup(re.sub(r"<style>.*?</style>", "", svg, count=1, flags=re.DOTALL))


@cache
def _templates() -> Environment:
    env = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.globals.update(static=address, picture=picture, STANCES=saying.STANCE_WORDS)
    env.filters.update(_filters())
    return env


def _filters() -> Mapping[str, Any]:
    return {
        "day": saying.day,
        "long_day": saying.long_day,
        "plain_days": saying.plain_days,
        "hours": saying.hours,
        "name_of": saying.name_of,
        "sentence": saying.sentence,
        "in_words": in_words,
        "stage": saying.stage,
        "strength": saying.STRENGTH_WORDS.__getitem__,
        "evidence": saying.EVIDENCE_WORDS.__getitem__,
    }
