"""A browser, a served pair of orchards, and the accessibility checks, for the tests of the pages."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from browser_pages import WIDTHS
from browser_waits import PATIENCE, Complaints
from page_house import furnish, serving, settings

from needs import lacking

CHROMIUM = "/usr/bin/chromium"
AXE = Path(os.environ.get("AXE_CORE", Path(__file__).parents[2] / "node_modules" / "axe-core" / "axe.min.js"))


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        lacking("playwright")
    if not Path(CHROMIUM).exists():
        lacking("Chromium")
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-dev-shm-usage"])
        yield found
        found.close()


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a service that keeps the two orchards; each module of tests has its own."""
    path = tmp_path_factory.mktemp("house") / "journal.db"
    furnish(path)
    with serving(settings(path)) as address:
        yield address


@pytest.fixture
def fresh_browser(browser: Any) -> Iterator[Callable[..., Any]]:
    """Makes a fresh browser, that knows no page yet and is as patient as all of these tests."""
    made = []

    def fresh(**more: Any) -> Any:
        context = browser.new_context(**more)
        made.append(context)
        context.set_default_timeout(PATIENCE)
        return context

    yield fresh
    for context in made:
        context.close()


@pytest.fixture
def complaints() -> Complaints:
    """What the browser complained of; a test says what it expects."""
    return Complaints()


@pytest.fixture
def open_page(fresh_browser: Callable[..., Any], house: str, complaints: Complaints) -> Iterator[Callable[..., Any]]:
    """Opens a path in a fresh browser; the test fails if a page complains, breaks the policy or leaves this server."""
    opened = []

    def open_(path: str, width: str = "phone", light: str = "light", **more: Any) -> Any:
        wide, high = WIDTHS[width]
        context = fresh_browser(viewport={"width": wide, "height": high}, color_scheme=light, **more)
        opened.append(context)
        page = context.new_page()
        page.on("console", lambda said: complaints.heard.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda fault: complaints.heard.append(str(fault)))
        page.on("request", lambda asked: None if asked.url.startswith(house) else complaints.heard.append(asked.url))
        answer = page.goto(house + path)
        assert answer is not None
        assert answer.status == 200, (path, answer.status)
        return page

    yield open_
    for context in opened:
        context.close()  # whatever is still to be heard is heard now
    assert complaints.unexpected() == []


@pytest.fixture(scope="session")
def axe() -> Callable[..., list[str]]:
    """Finds what hinders people on a page, by all checks or the named ones: each violation with its place."""
    if not AXE.exists():
        lacking("axe-core (npm install --no-save axe-core)")
    script = AXE.read_text()

    def check(page: Any, *rules: str) -> list[str]:
        only: list[str] = list(rules) or ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
        if page.evaluate("() => typeof axe") == "undefined":
            page.evaluate(script)  # not as a script of the page, which its policy refuses
        found = page.evaluate("(only) => axe.run(document, {runOnly: only})", only)
        assert found["passes"], "the checks did not run"
        return [
            f"{fault['id']}: {fault['help']} at {[node['target'] for node in fault['nodes']][:3]}"
            for fault in found["violations"]
        ]

    return check
