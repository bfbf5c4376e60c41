"""The page that tells why: the tree opens in place, its numbers lead to the sources, and the way back is short."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from browser_pages import PAGES, WHY
from browser_waits import expect
from page_house import DEMO_DAY

WEEK = f"/at/larkfield/this-week?on={DEMO_DAY}"


def test_why_is_asked_from_the_week_and_leads_back(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK)
    page.locator(f"[id='{WHY}']").get_by_role("link", name="Why?").click()
    expect(page.locator("h1")).to_have_text(re.compile(r"^\s*Why: Cut the ring"))
    page.get_by_role("link", name="Back to the week").click()
    expect(page.locator(f"[id='{WHY}']")).to_be_visible()


def test_the_tree_opens_down_to_what_was_seen(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["why"])
    seen = page.locator(".node.observation", has_text="sward of upper: height 45 cm").first
    expect(seen).to_be_hidden()
    page.locator("summary", has_text="sward of upper: height 45 cm").first.click()
    expect(seen).to_be_visible()
    expect(seen).to_contain_text("Without this the advice would not come back.", use_inner_text=True)


def test_the_tree_opens_by_keyboard(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["why"])
    rule = page.locator(".tree.top > .node > details").first
    expect(rule).to_have_attribute("open", "")
    rule.locator("summary").first.focus()
    page.keyboard.press("Enter")
    expect(rule).not_to_have_attribute("open", "")


def test_each_number_leads_to_its_source(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["why"])
    leading = page.eval_on_selector_all("a.source", "all => all.map(a => a.getAttribute('href'))")
    assert leading
    listed = page.eval_on_selector_all(".sources li", "all => all.map(li => '#' + li.id)")
    assert set(leading) == set(listed)
    page.locator("a.source").first.click()
    expect(page).to_have_url(re.compile("#source-1$"))


def test_what_it_touches_is_drawn_and_told(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["why"])
    picture = page.locator("svg[role=img]")
    expect(picture.locator("title").first).to_have_text("What cutting the ring at petal fall gives and costs")
    page.get_by_text("The same as a table").click()
    expect(page.locator("tbody th", has_text="Gain: feeder roots")).to_have_count(1)
    expect(page.locator("tbody th", has_text="Cost: bumble bees")).to_have_count(1)


def test_what_would_change_it_is_said(open_page: Callable[..., Any]) -> None:
    told = open_page(PAGES["why"]).locator("section", has_text="What would change it").last
    expect(told).to_contain_text("sward of upper", use_inner_text=True)
    expect(told).to_contain_text("20 cm", use_inner_text=True)


def test_an_unknown_recommendation_is_refused_with_its_neighbours(
    house: str, fresh_browser: Callable[..., Any]
) -> None:
    page = fresh_browser().new_page()
    answer = page.goto(f"{house}/at/larkfield/why/first-mow.feeder-roots.uper.2026?on={DEMO_DAY}")
    assert answer is not None
    assert answer.status in (404, 422)
    expect(page.locator("main")).to_contain_text(WHY, use_inner_text=True)
