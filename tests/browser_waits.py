"""What the tests of the pages wait with: a busy machine makes them slow, never red.

A click returns before the page that it leads to is there. So nothing is read at once after an act: `expect` asks again
until what is asserted is so, and only then gives up after `PATIENCE`.
"""

from __future__ import annotations

import time
from typing import Any

import pytest

PATIENCE = 60_000  # ms, for opening a page, for finding a thing to press, and for an assertion to come true


def expect(what: Any) -> Any:
    """Assertions on a page or on what it holds that wait until they are so."""
    from playwright.sync_api import expect as of_playwright  # here, so that modules of tests open where it is lacking

    of_playwright.set_options(timeout=PATIENCE)
    return of_playwright(what)


def until(page: Any, holds: str) -> None:
    """Wait until a promise of the page comes true; `page.wait_for_function` does not await one."""
    give_up = time.monotonic() + PATIENCE / 1000
    while not page.evaluate(holds):
        if time.monotonic() > give_up:
            pytest.fail(f"never came true: {holds}")
        page.wait_for_timeout(100)


class Complaints:
    """What the browser complained of. A test says what it brings about; anything else fails it."""

    def __init__(self) -> None:
        self.heard: list[str] = []
        self._expected: list[str] = []

    def expect(self, *words: str) -> None:
        """Complaints with any of these words in them are no fault."""
        self._expected += words

    def wait_for(self, page: Any, *words: str) -> None:
        """Wait until at least one with any of these words was heard: it may come after what the page shows."""
        self.expect(*words)
        give_up = time.monotonic() + PATIENCE / 1000
        while not any(word in one for one in self.heard for word in words):
            if time.monotonic() > give_up:
                pytest.fail(f"the browser never complained of {' or '.join(words)}")
            page.wait_for_timeout(50)

    def unexpected(self) -> list[str]:
        return [one for one in self.heard if not any(word in one for word in self._expected)]
