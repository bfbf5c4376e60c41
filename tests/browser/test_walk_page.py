"""Walk and record on a phone: three taps; without signal and back; refused and mended; opened again offline."""

from __future__ import annotations

import json
import re
import urllib.request
from collections.abc import Callable
from typing import Any

import pytest
from page_house import DEMO_DAY

WALK = f"/at/larkfield/walk?on={DEMO_DAY}"


def kept(house: str, kind: str, orchard: str = "larkfield") -> list[dict[str, Any]]:
    """The looks of a kind that the server holds for the day of these tests."""
    with urllib.request.urlopen(f"{house}/orchards/{orchard}/observations?limit=100&since={DEMO_DAY}") as answer:
        return [one for one in json.load(answer)["items"] if one["kind"] == kind]


def fold(page: Any, title: str) -> Any:
    return page.locator("details.look", has=page.locator("summary", has_text=re.compile(f"^{title}$"))).first


@pytest.mark.parametrize("script", [True, False])
def test_a_look_takes_three_taps(open_page: Callable[..., Any], house: str, script: bool) -> None:
    page = open_page(WALK, java_script_enabled=script, has_touch=True)
    look = fold(page, "Signs of voles, lower")
    before = len(kept(house, "vole-sign"))
    look.locator("summary").first.tap()
    look.locator(".pick", has_text="fresh" if script else "old").tap()
    look.get_by_role("button", name="Keep it").tap()
    page.locator("#said", has_text="Kept: Signs of voles, lower: runways").wait_for()
    assert len(kept(house, "vole-sign")) == before + 1
    assert page.locator("#kept li", has_text="Signs of voles, lower").count() >= 1


def test_large_things_to_press(open_page: Callable[..., Any]) -> None:
    page = open_page(WALK, has_touch=True)
    page.evaluate("() => document.querySelectorAll('details.look').forEach((one) => { one.open = true; })")
    low = page.evaluate(
        "() => [...document.querySelectorAll('.pick, .keep, .look > summary, .ask select, .ask input')]"
        ".filter((e) => e.checkVisibility() && e.getBoundingClientRect().height < 48).length"
    )
    assert low == 0


def test_a_choice_is_taken_back_by_a_second_tap(open_page: Callable[..., Any]) -> None:
    page = open_page(WALK, has_touch=True)
    look = fold(page, "Signs of voles, lower")
    look.locator("summary").first.tap()
    fresh = look.locator(".pick", has_text="fresh")
    fresh.tap()
    assert fresh.locator("input").is_checked()
    fresh.tap()
    assert not fresh.locator("input").is_checked()


def test_an_empty_form_is_not_kept(open_page: Callable[..., Any]) -> None:
    page = open_page(WALK)
    look = fold(page, "Grass and flowers below, plums")
    look.locator("summary").first.click()
    look.get_by_role("button", name="Keep it").click()
    assert look.locator("[data-says]").inner_text() == "Fill in at least one line, or there is nothing to keep."
    assert not page.locator("#waiting").is_visible()


def test_without_signal_looks_wait_and_are_sent_once_when_it_is_back(
    open_page: Callable[..., Any], house: str, complaints: list[str]
) -> None:
    page = open_page(WALK)
    before = len(kept(house, "sward"))
    page.context.set_offline(True)
    look = fold(page, "Grass and flowers below, plums")
    for height in ("31", "32"):
        look.locator("summary").first.click()
        look.get_by_label("Height").fill(height)
        look.get_by_role("button", name="Keep it").click()
        page.locator("#waiting li", has_text=f"height {height} cm").wait_for()
    page.locator(
        "#waiting [data-about]", has_text="2 kept in this browser and not yet sent. There is no signal."
    ).wait_for()
    assert page.locator("#said").inner_text() == "Kept in this browser. There is no signal."
    assert len(kept(house, "sward")) == before
    page.context.set_offline(False)
    page.locator("#waiting").wait_for(state="hidden")
    held = kept(house, "sward")
    assert len(held) == before + 2
    assert [one["height"] for one in held[-2:]] == ["31 cm", "32 cm"]
    assert complaints  # the browser itself complains of sending without signal
    assert all("ERR_INTERNET_DISCONNECTED" in one or "ERR_FAILED" in one for one in complaints)  # or its worker does
    complaints.clear()


def test_an_answer_that_was_lost_doubles_nothing(
    open_page: Callable[..., Any], house: str, complaints: list[str]
) -> None:
    """The server keeps the look, and its answer never arrives: the same key goes again."""
    page = open_page(WALK, service_workers="block")  # a worker would pass by what this test puts in the way
    keys = []

    def lose(route: Any) -> None:
        if route.request.method != "POST":
            route.continue_()
            return
        keys.append(route.request.headers["idempotency-key"])
        if len(keys) == 1:
            route.fetch()
            route.abort()
        else:
            route.continue_()

    page.route("**/at/larkfield/walk**", lose)
    look = fold(page, "Count of a pest")
    look.locator("summary").first.click()
    look.locator(".picks").first.get_by_text("upper").click()
    look.get_by_label("Pest").select_option("codling-moth")
    look.get_by_label("How many", exact=True).fill("7")
    look.get_by_role("button", name="Keep it").click()
    page.locator("#waiting").wait_for()
    page.get_by_role("button", name="Send now").click()
    page.locator("#waiting").wait_for(state="hidden")
    assert len(keys) == 2
    assert len(set(keys)) == 1
    assert [one["pest"] for one in kept(house, "pest-count")].count("codling-moth") == 1
    complaints.clear()  # of the request that was cut off


def test_what_is_refused_says_why_and_is_mended(
    open_page: Callable[..., Any], house: str, complaints: list[str]
) -> None:
    page = open_page(WALK)
    look = fold(page, "Grass and flowers below, plums")
    look.locator("summary").first.click()
    look.get_by_label("Height").fill("knee high")
    look.get_by_role("button", name="Keep it").click()
    refused = page.locator("#waiting li", has_text="knee high")
    refused.locator(".wrong").wait_for()
    assert "1 refused: mend it or drop it." in page.locator("#waiting").inner_text()
    page.reload()  # still there
    refused.get_by_role("button", name="Mend it").click()
    assert look.get_by_label("Height").input_value() == "knee high"
    look.get_by_label("Height").fill("41")
    look.get_by_role("button", name="Keep it").click()
    page.locator("#waiting").wait_for(state="hidden")
    assert "41 cm" in [one.get("height") for one in kept(house, "sward")]
    complaints.clear()  # the browser logs the 422


def test_what_waits_is_sent_from_any_page(open_page: Callable[..., Any], house: str, complaints: list[str]) -> None:
    page = open_page(WALK)
    page.context.set_offline(True)
    look = fold(page, "Birds and other animals")
    look.locator("summary").first.click()
    look.locator(".picks").first.get_by_text("whole orchard").click()
    look.get_by_label("Who", exact=True).select_option("owls")
    look.get_by_role("button", name="Keep it").click()
    page.locator("#waiting li").wait_for()
    page.context.set_offline(False)
    page.goto(f"{house}/at/larkfield/this-week?on={DEMO_DAY}")
    page.wait_for_function("() => waiting.all().length === 0")
    assert [one["who"] for one in kept(house, "wildlife-sign")].count("owls") == 1
    complaints.clear()


IS_KEPT = """async () => {  // the page itself, and each of its files
    const shelf = await caches.open('underbough');
    const files = performance.getEntriesByType('resource').map((one) => one.name)
        .filter((one) => one.includes('/static/'));
    const kept = await Promise.all([location.pathname, ...files].map((one) => shelf.match(one, {ignoreVary: true})));
    return kept.every((one) => one !== undefined);
}"""


def until(page: Any, holds: str) -> None:
    """Wait until a promise of the page comes true."""
    for _ in range(100):
        if page.evaluate(holds):
            return
        page.wait_for_timeout(100)
    pytest.fail(f"never came true: {holds}")


def test_the_page_opens_again_without_signal_and_records(
    open_page: Callable[..., Any], house: str, complaints: list[str]
) -> None:
    page = open_page("/at/larkfield/walk")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    until(page, IS_KEPT)
    page.evaluate(  # as if the server had been given a newer stylesheet since: a page that was kept still has its look
        """async () => {
            const shelf = await caches.open('underbough');
            const old = (await shelf.keys()).find((one) => one.url.includes('forms.css'));
            const file = await shelf.match(old, {ignoreVary: true});
            await shelf.put('/static/forms.css?v=newer', file);
            await shelf.delete(old, {ignoreVary: true});
        }"""
    )
    page.context.set_offline(True)
    page.close()
    again = page.context.new_page()
    again.goto(f"{house}/at/larkfield/walk")
    assert again.locator("h1").inner_text() == "Walk and record"
    assert (
        again.evaluate("() => getComputedStyle(document.querySelector('.keep')).fontWeight") == "600"
    )  # with its style
    look = fold(again, "Signs of voles")
    look.locator("summary").first.click()
    look.locator(".pick", has_text="upper").click()
    look.locator(".pick", has_text="none").click()
    look.get_by_role("button", name="Keep it").click()
    again.locator("#waiting li", has_text="runways none").wait_for()
    again.context.set_offline(False)
    again.locator("#waiting").wait_for(state="hidden")
    complaints.clear()


def test_signing_out_asks_before_it_loses_what_waits(open_page: Callable[..., Any], complaints: list[str]) -> None:
    page = open_page(WALK)
    page.context.set_offline(True)
    look = fold(page, "Signs of voles, lower")
    look.locator("summary").first.click()
    look.locator(".pick", has_text="none").click()
    look.get_by_role("button", name="Keep it").click()
    page.locator("#waiting li").wait_for()
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    page.evaluate(
        "() => { const form = document.createElement('form'); form.action = '/sign-out'; form.method = 'post';"
        " document.body.append(form); form.requestSubmit(); }"
    )
    assert asked == ["1 recorded here is not yet sent, and would be lost. Sign out all the same?"]
    assert page.locator("#waiting li").count() == 1
    complaints.clear()


def test_the_light_goes_with_the_keyboard(open_page: Callable[..., Any], house: str) -> None:
    """A look by keyboard alone; afterwards the focus stands on the look's line."""
    page = open_page(WALK, "desk")
    look = fold(page, "How the trees look")
    look.locator("summary").first.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")  # the first place
    page.keyboard.press("Tab")
    page.keyboard.press("Space")  # the first sign
    look.get_by_role("button", name="Keep it").focus()
    page.keyboard.press("Enter")
    page.locator("#said", has_text="Kept: How the trees look").wait_for()
    assert page.evaluate("() => document.activeElement.textContent") == "How the trees look"
    assert kept(house, "tree-sign")[-1]["sign"] == "wilting"


def test_one_that_the_server_cannot_take_holds_up_no_other(
    open_page: Callable[..., Any], house: str, complaints: list[str]
) -> None:
    page = open_page(WALK, service_workers="block")
    page.route(
        "**/at/larkfield/walk**",
        lambda route: (
            route.fulfill(status=500, body="") if "mummies" in (route.request.post_data or "") else route.continue_()
        ),
    )
    look = fold(page, "Mummies")
    look.locator("summary").first.click()
    look.locator(".pick", has_text="plums").click()
    look.get_by_label("On a tree", exact=True).fill("3")
    look.get_by_role("button", name="Keep it").click()
    page.locator("#waiting li", has_text="Mummies, plums").wait_for()
    other = fold(page, "Fallen leaves")
    other.locator("summary").first.click()
    other.locator(".pick", has_text="plums").click()
    other.get_by_label("Share fallen").fill("10")
    other.get_by_role("button", name="Keep it").click()
    page.locator("#kept li", has_text="Fallen leaves, plums: fallen 10 %").wait_for()
    assert page.locator("#waiting li").count() == 1
    assert kept(house, "mummies") == []
    complaints.clear()  # the browser logs the 500
