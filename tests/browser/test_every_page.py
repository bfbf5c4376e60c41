"""Every page on a phone and on a desk, in light and dark, on paper and by keyboard."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from browser_pages import PAGES, WIDTHS
from browser_waits import expect

EACH = pytest.mark.parametrize("name", list(PAGES))

# Reach of a finger: 44 px, what WCAG 2.2 asks for under 2.5.5 (AAA); links within sentences may be lower.
SMALL_TARGETS = """() => [...document.querySelectorAll('button, .button, summary, select, nav a, input:not([type=hidden])')]
    .filter((e) => e.checkVisibility()).map((e) => [e.tagName, e.textContent.trim().slice(0, 30), e.getBoundingClientRect()])
    .filter(([tag, text, box]) => box.height < 43.5 && !(tag === 'INPUT' && box.width < 30)).map(([tag, text, box]) =>
    `${tag} ${text} ${box.height}`)"""
ACROSS = "() => [document.documentElement.scrollWidth, innerWidth]"


@EACH
def test_a_page_is_open_to_all(open_page: Callable[..., Any], axe: Callable[..., list[str]], name: str) -> None:
    """On a phone and a desk, in light and dark, as it opens and with every fold open."""
    page = open_page(PAGES[name])
    expect(page.locator("h1")).to_have_count(1)
    for width, folds_open in (("phone", False), ("desk", False), ("phone", True), ("desk", True)):
        wide, high = WIDTHS[width]
        page.set_viewport_size({"width": wide, "height": high})
        page.evaluate(
            "(open) => document.querySelectorAll('details').forEach((one) => { one.open ||= open; })", folds_open
        )
        fits(page)
        if (width == "phone") == folds_open:
            page.emulate_media(color_scheme="light")
            assert axe(page) == [], width
            page.emulate_media(color_scheme="dark")
            assert axe(page, "color-contrast") == [], width


def fits(page: Any) -> None:
    """Nothing to scroll sideways, and everything to press within reach of a finger."""
    across, window = page.evaluate(ACROSS)
    assert across <= window
    assert page.evaluate(SMALL_TARGETS) == []


@EACH
def test_a_page_prints(open_page: Callable[..., Any], name: str) -> None:
    """On A4 (210 mm at 96 px to the inch, less margins) dark on white, without what a hand cannot press on paper."""
    page = open_page(PAGES[name], light="dark")
    page.set_viewport_size({"width": 718, "height": 1000})
    page.emulate_media(media="print", color_scheme="dark")
    across, window = page.evaluate(ACROSS)
    assert across <= window
    expect(page.locator("nav, button").filter(visible=True)).to_have_count(0)
    colours = page.evaluate(
        "() => [getComputedStyle(document.body).color, getComputedStyle(document.documentElement).backgroundColor]"
    )
    assert colours == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]


@EACH
def test_a_keyboard_reaches_everything_and_shows_where_it_is(open_page: Callable[..., Any], name: str) -> None:
    page = open_page(PAGES[name], "desk")
    # of a group of radio buttons the tabulator reaches one, the arrows the others
    wanted = page.evaluate(
        "() => [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary,"
        ' [tabindex="0"]\')]'
        ".filter((e) => e.checkVisibility()"
        " && (e.type !== 'radio' || e === e.form.querySelector(`input[type=radio][name=${e.name}]`))).length"
    )
    page.keyboard.press("Tab")
    expect(page.locator("a.skip")).to_be_focused()
    reached = 0
    for _ in range(wanted + 60):  # a date field has several stops
        where = page.evaluate(
            "() => { const e = document.activeElement; if (e === document.body) return null;"
            " const first = !e.dataset.reached; e.dataset.reached = '1'; const look = getComputedStyle(e);"
            " return [first, look.outlineStyle !== 'none' && parseFloat(look.outlineWidth) >= 2, e.outerHTML.slice(0, 80)]; }"
        )
        if where is None:
            break
        reached += where[0]
        assert where[1], f"no mark of the focus on {where[2]}"
        page.keyboard.press("Tab")
    assert reached == wanted
