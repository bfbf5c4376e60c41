"""Asking why something is not advised: chosen from a list, answered with the smallest change that is proven."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from browser_pages import PAGES
from browser_waits import expect
from page_house import DEMO_DAY


def test_it_is_asked_from_the_week(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["week"])
    page.get_by_role("link", name="Ask why something is not advised").click()
    expect(page).to_have_url(re.compile("/why-not"))
    page.get_by_label("Work").select_option("mow-alleys")
    page.get_by_label("Where").select_option("upper")
    page.get_by_role("button", name="Ask").click()
    expect(page.locator("h1")).to_have_text("Mowing the alleys in upper is not proposed now.")
    change = page.locator("section", has_text="The smallest change").first
    expect(change).to_contain_text("in flower", use_inner_text=True)  # the demo's sward flowers, and bees work it
    expect(change).to_contain_text("Mow the alleys of upper", use_inner_text=True)


def test_the_nearest_rules_open_down_to_what_does_not_hold(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["why not mow"])
    rule = page.locator(".tree.top > .node > details").first
    rule.locator("summary").first.click()
    states = rule.locator(".kind").all_text_contents()[1:]
    assert set(states) <= {"So it is", "Not so", "Not known", "Rule"}
    assert "Not so" in states


def test_what_is_held_leads_to_what_would_bring_it_about(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["why wait"])
    page.get_by_role("link", name="What would bring it about?").click()
    expect(page.locator("h1")).to_contain_text("was asked about, and is not to be done now")
    against = page.locator("section", has_text="What speaks against it").first
    expect(against).to_contain_text("bees work it", use_inner_text=True)
    page.get_by_role("link", name="What that rests on").click()
    expect(page).to_have_url(re.compile(r"/why/insecticide\."))


def test_what_nobody_knows_is_refused_in_words(house: str, fresh_browser: Callable[..., Any]) -> None:
    page = fresh_browser().new_page()
    answer = page.goto(f"{house}/at/larkfield/why-not?practice=mov-aleys&on={DEMO_DAY}")
    assert answer is not None
    assert answer.status == 422
    expect(page.locator("main")).to_contain_text("mow-alleys", use_inner_text=True)
