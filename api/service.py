"""The JSON service: parse, call the advisor, answer. Run it with any ASGI server: `advisor.api.service:app`.

The base install answers what needs no memory; what is kept between requests needs the extra `server`.
"""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.metadata import version

from anyio import CapacityLimiter
from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool

from advisor import extras
from advisor.advice import default_rules
from advisor.api import document, problems
from advisor.api.asking import Door
from advisor.api.limits import BodyLimit, Rate, Shared
from advisor.api.logs import Watch
from advisor.api.metrics import Metrics
from advisor.api.remembered import Remembered
from advisor.api.routes import ROUTERS
from advisor.api.settings import Settings
from advisor.api.shelf import Shelf

TURNS = 2  # calculations at once in one process: they are bound by the processor, more would only slow each other


@asynccontextmanager
async def _life(app: FastAPI) -> AsyncIterator[None]:
    """Read rules and knowledge before the first request, and close the journal after the last."""
    await run_in_threadpool(default_rules)
    yield
    app.state.shelf.close()


def make_app(settings: Settings | None = None) -> FastAPI:
    """The service; set up by the environment if no settings are given."""
    settings = settings or Settings.from_environment()
    app = FastAPI(
        title="Underbough",
        summary="Advice for fruit trees tended as an ecosystem.",
        version=version("underbough"),
        openapi_url="/openapi.json",
        docs_url=None,  # the browsers of interfaces load from elsewhere, and this service names no other address
        redoc_url=None,
        lifespan=_life,
    )
    shelf = Shelf(settings.journal)
    app.state.shelf = shelf
    app.state.metrics = Metrics()
    app.state.remembered = Remembered()
    app.state.turns = CapacityLimiter(TURNS)
    buckets = Shared(settings.buckets) if settings.buckets else None
    rate = Rate(settings.per_minute, settings.burst, buckets=buckets)
    app.state.door = Door(shelf.tokens, settings.tokens, rate, settings.mark)
    app.add_middleware(BodyLimit, most=settings.most_bytes)
    app.add_middleware(Watch, metrics=app.state.metrics)
    problems.install(app)
    for router in ROUTERS:
        app.include_router(router)
    document.install(app)
    if extras.here("jinja2"):
        from advisor.api import pages

        pages.install(app)
    return app


app = make_app()
