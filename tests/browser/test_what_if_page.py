"""Asking what would change if something were otherwise: from the week, with the answer above the form."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from browser_pages import PAGES
from browser_waits import expect


@pytest.mark.parametrize("script", [True, False])
def test_it_is_asked_from_the_week(open_page: Callable[..., Any], script: bool) -> None:
    page = open_page(PAGES["week"], java_script_enabled=script)
    page.get_by_role("link", name="Ask what would change if").click()
    expect(page).to_have_url(re.compile("/what-if"))
    page.get_by_label("A setting", exact=True).select_option("blocks.upper.floor")
    page.get_by_label("That setting would be").fill("turf")
    page.get_by_label("All rain so many times").fill("0")
    page.get_by_role("button", name="Try it").click()
    change = page.locator("section", has_text="What would no longer be advised")
    expect(change).to_contain_text("apple scab", use_inner_text=True)  # no rain, no infection
    expect(page.get_by_label("A setting", exact=True)).to_have_value("blocks.upper.floor")
