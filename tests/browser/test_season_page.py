"""The season page: a week of the picture gives its figures by a tap, by keyboard and without script."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from browser_pages import PAGES
from browser_waits import expect


def test_a_tap_on_a_week_shows_its_figures(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["season"], has_touch=True)
    page.locator(".drawing a[href='#week-2026-05-11']").tap()
    said = page.locator("#said")
    expect(said).to_have_text(re.compile(r"^\s*Week of Mon 11 May\."))
    expect(said).to_contain_text("lower full bloom")
    page.keyboard.press("Escape")
    expect(said).to_have_text("")


def test_a_week_is_reached_by_keyboard(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["season"], "desk")
    page.locator(".drawing a[href='#week-2026-05-04']").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_have_text(re.compile(r"^\s*Week of Mon 4 May\."))


def test_without_script_a_week_leads_to_its_row(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["season"], java_script_enabled=False)
    page.locator(".drawing a[href='#week-2026-05-11']").click()
    expect(page).to_have_url(re.compile("#week-2026-05-11$"))
    expect(page.locator("#week-2026-05-11")).to_contain_text("lower full bloom", use_inner_text=True)


def test_the_picture_and_the_table_say_the_same(open_page: Callable[..., Any]) -> None:
    page = open_page(PAGES["season"])
    drawn = page.eval_on_selector_all(".drawing a", "all => all.map(a => a.getAttribute('href').slice(1))")
    rows = page.eval_on_selector_all(".weeks tbody tr", "all => all.map(row => row.id)")
    assert drawn == rows
    assert len(rows) > 20
    for week in ("week-2026-05-04", "week-2026-05-18"):
        told = page.locator(f".drawing a[href='#{week}']").get_attribute("data-tells")
        lines = page.eval_on_selector_all(f"#{week} .line", "all => all.map(line => line.textContent)")
        assert lines
        assert all(line in told for line in lines)


def test_the_south_says_what_is_not_known(open_page: Callable[..., Any]) -> None:
    text = open_page(PAGES["season in the south"]).locator("main").inner_text()
    assert "2026-27" in text
    assert "No hourly weather was given" in text
    assert "rain 0" not in text
