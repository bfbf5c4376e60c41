"""The page that tells why: the tree opens in place, its numbers lead to the sources, and the way back is short."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from browser_pages import PAGES, WHY
from page_house import DEMO_DAY

WEEK = f"/at/larkfield/this-week?on={DEMO_DAY}"


def test_why_is_asked_from_the_week_and_leads_back(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK)
    page.locator(f"[id='{WHY}']").get_by_role("link", name="Why?").click()
    assert page.locator("h1").inner_text().startswith("Why: Cut the ring")
    page.get_by_role("link", name="Back to the week").click()
    assert page.locator(f"[id='{WHY}']").is_visible()


def test_the_tree_opens_down_to_what_was_seen(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["why"])
    seen = page.locator(".node.observation", has_text="sward of upper: height 45 cm").first
    assert not seen.is_visible()
    page.locator("summary", has_text="sward of upper: height 45 cm").first.click()
    assert seen.is_visible()
    assert "Without this the advice would not come back." in seen.inner_text()


def test_the_tree_opens_by_keyboard(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["why"])
    rule = page.locator(".tree.top > .node > details").first
    assert rule.get_attribute("open") is not None
    rule.locator("summary").first.focus()
    page.keyboard.press("Enter")
    assert rule.get_attribute("open") is None


def test_each_number_leads_to_its_source(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["why"])
    leading = page.eval_on_selector_all("a.source", "all => all.map(a => a.getAttribute('href'))")
    assert leading
    listed = page.eval_on_selector_all(".sources li", "all => all.map(li => '#' + li.id)")
    assert set(leading) == set(listed)
    page.locator("a.source").first.click()
    assert page.url.endswith("#source-1")


def test_what_it_touches_is_drawn_and_told(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["why"])
    picture = page.locator("svg[role=img]")
    assert picture.locator("title").first.text_content() == "What cutting the ring at petal fall gives and costs"
    page.get_by_text("The same as a table").click()
    assert page.locator("tbody th", has_text="Gain: feeder roots").count() == 1
    assert page.locator("tbody th", has_text="Cost: bumble bees").count() == 1


def test_what_would_change_it_is_said(open_page: Callable[..., Any]) -> None:
    text = open_page(PAGES["why"]).locator("section", has_text="What would change it").last.inner_text()
    assert "sward of upper" in text
    assert "20 cm" in text


def test_an_unknown_recommendation_is_refused_with_its_neighbours(house: str, browser: Any) -> None:
    page = browser.new_page()
    answer = page.goto(f"{house}/at/larkfield/why/first-mow.feeder-roots.uper.2026?on={DEMO_DAY}")
    assert answer is not None
    assert answer.status in (404, 422)
    assert WHY in page.locator("main").inner_text()
    page.close()
