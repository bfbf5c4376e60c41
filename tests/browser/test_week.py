"""The week page as a grower uses it: ticking, refusing, asking why; with script and without; on a weak signal."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from page_house import DEMO_DAY

WEEK = f"/at/larkfield/this-week?on={DEMO_DAY}"
MOST_BYTES, MOST_REQUESTS = 150_000, 6


def entry(page: Any, practice: str) -> Any:
    return page.locator(f"li.entry[id^='{practice}.']").first


@pytest.mark.parametrize(("script", "practice"), [(True, "guard-trunks"), (False, "draw-mulch-back")])
def test_what_is_done_is_ticked(open_page: Callable[..., Any], script: bool, practice: str) -> None:
    page = open_page(WEEK, java_script_enabled=script)
    said = entry(page, practice).locator("h4").inner_text()
    entry(page, practice).locator("input[name=hours]").fill("2.5")
    entry(page, practice).get_by_role("button", name="Done").click()
    page.locator(".decided", has_text=said).wait_for()
    assert "2.5 h" in page.locator(".decided", has_text=said).inner_text()
    assert page.locator("#said").inner_text() == "Noted as done."
    assert page.locator(f"li.entry[id^='{practice}.']").count() == 0
    page.goto(page.url)
    assert page.locator(".decided", has_text=said).count() == 1


def test_ticking_stays_in_place_and_keeps_the_keyboard_near(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK)
    page.evaluate("() => { window.here = true; }")
    entry(page, "stake-trees").get_by_role("button", name="Done").focus()
    page.keyboard.press("Enter")
    page.locator(".decided", has_text="dwarf tree").wait_for()
    assert page.evaluate("() => window.here") is True
    assert page.evaluate("() => document.activeElement.id") == "at-lower"


def test_a_refusal_takes_a_reason(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK)
    entry(page, "trap-voles").get_by_role("link", name="Not doing it").click()
    page.get_by_label("There was no time for it.").check()
    page.get_by_role("button", name="Note it").click()
    told = page.locator(".decided", has_text="snap traps")
    told.wait_for()
    assert "There was no time for it." in told.inner_text()


def test_own_words_will_do_as_a_reason(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK)
    entry(page, "mow-every-other-alley").get_by_role("link", name="Not doing it").click()
    page.get_by_label("For another reason").check()
    page.get_by_label("In your own words", exact=True).fill("The <b>ground</b> is too soft")
    page.get_by_role("button", name="Note it").click()
    told = page.locator(".decided", has_text="second alley")
    told.wait_for()
    assert "The <b>ground</b> is too soft." in told.inner_text()


def test_what_must_be_kept_for_safety_is_overridden_only_in_own_words(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK)
    entry(page, "insecticide").get_by_role("link", name="Doing it all the same").click()
    assert "Take care." in page.locator("main").inner_text()
    page.get_by_role("button", name="Note it").click()
    assert "/refuse/" in page.url  # the browser asks for the words first
    page.get_by_label("In your own words (needed").fill("Licensed adviser was here")
    page.get_by_role("button", name="Note it").click()
    told = page.locator(".decided", has_text="Mow what flowers").inner_text()
    assert told.startswith("Done all the same")
    assert "Licensed adviser was here." in told


def test_without_signal_nothing_is_said_to_be_noted(open_page: Callable[..., Any]) -> None:
    page = open_page("/at/south-lark/this-week?on=2026-11-02")
    page.evaluate("() => { window.fetch = () => Promise.reject(new TypeError('no network')); }")
    button = page.get_by_role("button", name="Done").first
    button.click()
    page.locator("#said", has_text="Not noted: no signal").wait_for()
    assert button.is_enabled()
    assert page.locator(".decided").count() == 0


def test_hours_that_cannot_be_read_are_told_and_nothing_is_noted(
    open_page: Callable[..., Any], complaints: list[str]
) -> None:
    page = open_page("/at/south-lark/this-week?on=2026-11-02")
    page.locator("input[name=hours]").first.fill("some")
    page.get_by_role("button", name="Done").first.click()
    page.locator("#said", has_text="Not noted: hours").wait_for()
    assert page.locator(".decided").count() == 0
    assert "status of 422" in complaints.pop()
    page.locator("input[name=hours]").first.fill("1,5")
    page.get_by_role("button", name="Done").first.click()
    page.locator(".decided", has_text="It took 1.5 h.").wait_for()


def test_dates_lead_from_week_to_week(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK)
    page.get_by_role("link", name="A week on").click()
    assert page.locator(".day").inner_text() == "Monday 25 May 2026"
    page.get_by_text("Another day").click()
    page.get_by_label("Day", exact=True).fill("2026-04-30")
    page.get_by_role("button", name="Show").click()
    assert page.locator(".day").inner_text() == "Thursday 30 April 2026"


def test_the_south_reads_us_units(open_page: Callable[..., Any]) -> None:
    page = open_page("/at/south-lark/this-week?on=2026-11-02")
    text = page.locator("main").inner_text()
    assert re.search(r"\d in\b", text)
    assert not re.search(r"\d (cm|m|kg|°C)\b", text)


def test_the_week_is_light_on_a_weak_signal(open_page: Callable[..., Any], browser: Any, house: str) -> None:
    context = browser.new_context()
    page = context.new_page()
    answers: list[Any] = []
    page.on("response", lambda answer: answers.append(answer))
    page.goto(house + WEEK, wait_until="networkidle")
    size = sum(len(answer.body()) for answer in answers)
    sent = sum(answer.request.sizes()["responseBodySize"] for answer in answers)
    context.close()
    assert 0 < len(answers) <= MOST_REQUESTS
    assert 10_000 < sent < size <= MOST_BYTES, (sent, size)  # also when nothing on the way packs it


def test_light_and_dark_are_chosen(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK, light="light")
    ground = "() => getComputedStyle(document.documentElement).backgroundColor"
    paper = page.evaluate(ground)
    page.get_by_role("button", name="Dark").click()
    page.wait_for_load_state()
    assert page.evaluate(ground) != paper
    assert page.get_by_role("button", name="Dark").get_attribute("aria-pressed") == "true"
    assert page.url.endswith(WEEK)
