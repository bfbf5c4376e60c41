"""The week page as a grower uses it: ticking, refusing, asking why; with script and without; on a weak signal."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from browser_waits import Complaints, expect
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
    told = page.locator(".decided", has_text=said)
    expect(told).to_contain_text("2.5 h", use_inner_text=True)
    expect(page.locator("#said")).to_have_text("Noted as done.")
    expect(page.locator(f"li.entry[id^='{practice}.']")).to_have_count(0)
    page.goto(page.url)
    expect(told).to_have_count(1)


@pytest.mark.parametrize("script", [True, False])
def test_a_slip_of_the_thumb_is_taken_back(open_page: Callable[..., Any], script: bool) -> None:
    page = open_page(WEEK, java_script_enabled=script, has_touch=True)
    job = entry(page, "trap-voles")
    said = job.locator("h4").inner_text()
    hours = page.locator(".glance > p").last.inner_text()
    job.get_by_role("button", name="Done").tap()
    noted = page.locator(".decided", has_text=said)
    noted.get_by_role("button", name=f"Take back: {said}").tap()
    expect(page.locator("#said")).to_have_text("Taken back.")
    expect(noted).to_have_count(0)
    expect(job.locator("h4")).to_have_text(said)
    expect(page.locator(".glance > p", has_text=hours)).to_have_count(1)
    job.get_by_role("button", name="Done").tap()  # and may be ticked anew
    expect(noted).to_have_count(1)
    noted.get_by_role("button", name="Take back").tap()
    expect(noted).to_have_count(0)


def test_ticking_stays_in_place_and_keeps_the_keyboard_near(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK)
    page.evaluate("() => { window.here = true; }")
    entry(page, "stake-trees").get_by_role("button", name="Done").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".decided", has_text="dwarf tree")).to_be_visible()
    expect(page.locator("#at-lower")).to_be_focused()
    assert page.evaluate("() => window.here") is True


def test_a_refusal_takes_a_reason(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK)
    entry(page, "trap-voles").get_by_role("link", name="Not doing it").click()
    page.get_by_label("There was no time for it.").check()
    page.get_by_role("button", name="Note it").click()
    expect(page.locator(".decided", has_text="snap traps")).to_contain_text("There was no time for it.")


def test_own_words_will_do_as_a_reason(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK)
    entry(page, "mow-every-other-alley").get_by_role("link", name="Not doing it").click()
    page.get_by_label("For another reason").check()
    page.get_by_label("In your own words", exact=True).fill("The <b>ground</b> is too soft")
    page.get_by_role("button", name="Note it").click()
    expect(page.locator(".decided", has_text="second alley")).to_contain_text("The <b>ground</b> is too soft.")


def test_what_must_be_kept_for_safety_is_overridden_only_in_own_words(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK)
    entry(page, "insecticide").get_by_role("link", name="Doing it all the same").click()
    expect(page.locator("main")).to_contain_text("Take care.", use_inner_text=True)
    page.get_by_role("button", name="Note it").click()
    words = page.get_by_label("In your own words (needed")
    expect(words).to_be_focused()  # the browser asks for the words first
    assert "/refuse/" in page.url
    words.fill("Licensed adviser was here")
    page.get_by_role("button", name="Note it").click()
    told = page.locator(".decided", has_text="Mow what flowers")
    expect(told).to_have_text(re.compile(r"^\s*Done all the same"))
    expect(told).to_contain_text("Licensed adviser was here.", use_inner_text=True)


def test_without_signal_nothing_is_said_to_be_noted(open_page: Callable[..., Any]) -> None:
    page = open_page("/at/south-lark/this-week?on=2026-11-02")
    page.evaluate("() => { window.fetch = () => Promise.reject(new TypeError('no network')); }")
    button = page.get_by_role("button", name="Done").first
    button.click()
    expect(page.locator("#said")).to_contain_text("Not noted: no signal")
    expect(button).to_be_enabled()
    expect(page.locator(".decided")).to_have_count(0)


def test_hours_that_cannot_be_read_are_told_and_nothing_is_noted(
    open_page: Callable[..., Any], complaints: Complaints
) -> None:
    page = open_page("/at/south-lark/this-week?on=2026-11-02")
    page.locator("input[name=hours]").first.fill("some")
    page.get_by_role("button", name="Done").first.click()
    expect(page.locator("#said")).to_contain_text("Not noted: hours")
    expect(page.locator(".decided")).to_have_count(0)
    complaints.wait_for(page, "status of 422")
    page.locator("input[name=hours]").first.fill("1,5")
    page.get_by_role("button", name="Done").first.click()
    expect(page.locator(".decided", has_text="It took 1.5 h.")).to_be_visible()


def test_dates_lead_from_week_to_week(open_page: Callable[..., Any]) -> None:
    page = open_page(WEEK)
    page.get_by_role("link", name="A week on").click()
    expect(page.locator(".day")).to_have_text("Monday 25 May 2026")
    page.get_by_text("Another day").click()
    page.get_by_label("Day", exact=True).fill("2026-04-30")
    page.get_by_role("button", name="Show").click()
    expect(page.locator(".day")).to_have_text("Thursday 30 April 2026")


def test_the_south_reads_us_units(open_page: Callable[..., Any]) -> None:
    page = open_page("/at/south-lark/this-week?on=2026-11-02")
    text = page.locator("main").inner_text()
    assert re.search(r"\d in\b", text)
    assert not re.search(r"\d (cm|m|kg|°C)\b", text)


def test_the_week_is_light_on_a_weak_signal(fresh_browser: Callable[..., Any], house: str) -> None:
    page = fresh_browser().new_page()
    answers: list[Any] = []
    page.on("response", lambda answer: answers.append(answer))
    page.goto(house + WEEK, wait_until="networkidle")
    size = sum(len(answer.body()) for answer in answers)
    sent = sum(answer.request.sizes()["responseBodySize"] for answer in answers)
    assert 0 < len(answers) <= MOST_REQUESTS
    assert 10_000 < sent < size <= MOST_BYTES, (sent, size)  # also when nothing on the way packs it


def test_light_and_dark_are_chosen(open_page: Callable[..., Any], house: str) -> None:
    page = open_page(WEEK, light="light")
    ground = "() => getComputedStyle(document.documentElement).backgroundColor"
    paper = page.evaluate(ground)
    page.get_by_role("button", name="Dark").click()
    expect(page.get_by_role("button", name="Dark")).to_have_attribute("aria-pressed", "true")
    expect(page).to_have_url(house + WEEK)
    page.wait_for_load_state()  # with its style
    assert page.evaluate(ground) != paper
