"""Walk and record on a phone: three taps; without signal and back; refused and mended; opened again offline."""

from __future__ import annotations

import json
import re
import urllib.request
from collections.abc import Callable
from typing import Any

import pytest
from browser_waits import PATIENCE, Complaints, expect, until
from page_house import DEMO_DAY

WITHOUT_SIGNAL = ("ERR_INTERNET_DISCONNECTED", "ERR_FAILED")
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
    expect(page.locator("#said")).to_contain_text("Kept: Signs of voles, lower: runways")
    assert len(kept(house, "vole-sign")) == before + 1
    expect(page.locator("#kept li", has_text="Signs of voles, lower")).not_to_have_count(0)


@pytest.mark.parametrize("script", [True, False])
def test_what_was_just_kept_is_taken_back(open_page: Callable[..., Any], house: str, script: bool) -> None:
    page = open_page(WALK, java_script_enabled=script, has_touch=True)
    before = kept(house, "vole-sign")
    look = fold(page, "Signs of voles")
    look.locator("summary").first.tap()
    look.locator(".pick", has_text="upper").tap()
    look.locator(".pick", has_text="old").tap()
    look.get_by_role("button", name="Keep it").tap()
    page.locator("#kept li", has_text="Signs of voles, upper").first.get_by_role("button", name="Take back").tap()
    expect(page.locator("#said")).to_have_text("Taken back.")
    assert kept(house, "vole-sign") == before


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
    expect(fresh.locator("input")).to_be_checked()
    fresh.tap()
    expect(fresh.locator("input")).not_to_be_checked()


@pytest.mark.parametrize("script", [True, False])
def test_a_heap_is_kept_by_what_is_in_it(open_page: Callable[..., Any], house: str, script: bool) -> None:
    page = open_page(f"{WALK}&kind=heap", java_script_enabled=script)
    look = fold(page, "Heap of compost or chips")
    look.locator("summary", has_text="More").click()
    look.get_by_label("Stuff 1", exact=True).fill("straw")
    look.get_by_label("How much of stuff 1").fill("20" if script else "30")
    look.get_by_role("button", name="Keep it").click()
    expect(page.locator("#said")).to_contain_text("Kept: Heap of compost or chips, whole orchard: parts straw")
    assert ("20 kg" if script else "30 kg") in json.dumps(kept(house, "heap"))


def test_an_empty_form_is_not_kept(open_page: Callable[..., Any]) -> None:
    page = open_page(WALK)
    look = fold(page, "Grass and flowers below, plums")
    look.locator("summary").first.click()
    look.get_by_role("button", name="Keep it").click()
    expect(look.locator("[data-says]")).to_have_text("Fill in at least one line, or there is nothing to keep.")
    expect(page.locator("#waiting")).to_be_hidden()


def test_without_signal_looks_wait_and_are_sent_once_when_it_is_back(
    open_page: Callable[..., Any], house: str, complaints: Complaints
) -> None:
    page = open_page(WALK)
    before = len(kept(house, "sward"))
    page.context.set_offline(True)
    look = fold(page, "Grass and flowers below, plums")
    for height in ("31", "32"):
        look.locator("summary").first.click()
        look.get_by_label("Height").fill(height)
        look.get_by_role("button", name="Keep it").click()
        expect(page.locator("#waiting li", has_text=f"height {height} cm")).to_be_visible()
    about = page.locator("#waiting [data-about]")
    expect(about).to_have_text("2 kept in this browser and not yet sent. There is no signal.")
    expect(page.locator("#said")).to_have_text("Kept in this browser. There is no signal.")
    assert len(kept(house, "sward")) == before
    # the browser itself complains of sending without signal, or its worker does
    complaints.wait_for(page, *WITHOUT_SIGNAL)
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden()
    held = kept(house, "sward")
    assert len(held) == before + 2
    assert [one["height"] for one in held[-2:]] == ["31 cm", "32 cm"]


def test_an_answer_that_was_lost_doubles_nothing(
    open_page: Callable[..., Any], house: str, complaints: Complaints
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
            route.fetch(timeout=PATIENCE)
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
    expect(page.locator("#waiting")).to_contain_text("There is no signal.")  # it has been tried
    page.get_by_role("button", name="Send now").click()
    expect(page.locator("#waiting")).to_be_hidden()
    assert len(keys) == 2
    assert len(set(keys)) == 1
    assert [one["pest"] for one in kept(house, "pest-count")].count("codling-moth") == 1
    complaints.expect("ERR_FAILED")  # of the request that was cut off


def test_what_is_refused_says_why_and_is_mended(
    open_page: Callable[..., Any], house: str, complaints: Complaints
) -> None:
    page = open_page(WALK)
    look = fold(page, "Grass and flowers below, plums")
    look.locator("summary").first.click()
    look.get_by_label("Height").fill("knee high")
    look.get_by_role("button", name="Keep it").click()
    refused = page.locator("#waiting li", has_text="knee high")
    expect(refused.locator(".wrong")).to_be_visible()
    expect(page.locator("#waiting")).to_contain_text("1 refused: mend it or drop it.", use_inner_text=True)
    page.reload()  # still there
    refused.get_by_role("button", name="Mend it").click()
    expect(look.get_by_label("Height")).to_have_value("knee high")
    look.get_by_label("Height").fill("41")
    look.get_by_role("button", name="Keep it").click()
    expect(page.locator("#waiting")).to_be_hidden()
    assert "41 cm" in [one.get("height") for one in kept(house, "sward")]
    complaints.expect("status of 422")


def test_what_waits_is_sent_from_any_page(open_page: Callable[..., Any], house: str, complaints: Complaints) -> None:
    page = open_page(WALK)
    page.context.set_offline(True)
    look = fold(page, "Birds and other animals")
    look.locator("summary").first.click()
    look.locator(".picks").first.get_by_text("whole orchard").click()
    look.get_by_label("Who", exact=True).select_option("owls")
    look.get_by_role("button", name="Keep it").click()
    expect(page.locator("#waiting li")).to_be_visible()
    page.context.set_offline(False)
    page.goto(f"{house}/at/larkfield/this-week?on={DEMO_DAY}")
    page.wait_for_function("() => waiting.all().length === 0")
    assert [one["who"] for one in kept(house, "wildlife-sign")].count("owls") == 1
    complaints.expect(*WITHOUT_SIGNAL)


IS_KEPT = """async () => {  // the page itself, and each of its files
    const shelf = await caches.open('underbough');
    const files = performance.getEntriesByType('resource').map((one) => one.name)
        .filter((one) => one.includes('/static/'));
    const kept = await Promise.all([location.pathname, ...files].map((one) => shelf.match(one, {ignoreVary: true})));
    return kept.every((one) => one !== undefined);
}"""


def test_the_page_opens_again_without_signal_and_records(
    open_page: Callable[..., Any], house: str, complaints: Complaints
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
    expect(again.locator("h1")).to_have_text("Walk and record")
    expect(again.locator(".keep").first).to_have_css("font-weight", "600")  # with its style
    look = fold(again, "Signs of voles")
    look.locator("summary").first.click()
    look.locator(".pick", has_text="upper").click()
    look.locator(".pick", has_text="none").click()
    look.get_by_role("button", name="Keep it").click()
    expect(again.locator("#waiting li", has_text="runways none")).to_be_visible()
    again.context.set_offline(False)
    expect(again.locator("#waiting")).to_be_hidden()
    complaints.expect(*WITHOUT_SIGNAL)


def test_signing_out_asks_before_it_loses_what_waits(open_page: Callable[..., Any], complaints: Complaints) -> None:
    page = open_page(WALK)
    page.context.set_offline(True)
    look = fold(page, "Signs of voles, lower")
    look.locator("summary").first.click()
    look.locator(".pick", has_text="none").click()
    look.get_by_role("button", name="Keep it").click()
    expect(page.locator("#waiting li")).to_be_visible()
    asked: list[str] = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    page.evaluate(
        "() => { const form = document.createElement('form'); form.action = '/sign-out'; form.method = 'post';"
        " document.body.append(form); form.requestSubmit(); }"
    )
    assert asked == ["1 recorded here is not yet sent, and would be lost. Sign out all the same?"]
    expect(page.locator("#waiting li")).to_have_count(1)
    complaints.expect(*WITHOUT_SIGNAL)


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
    expect(page.locator("#said")).to_contain_text("Kept: How the trees look")
    expect(look.locator("summary").first).to_be_focused()
    assert kept(house, "tree-sign")[-1]["sign"] == "wilting"


def test_one_that_the_server_cannot_take_holds_up_no_other(
    open_page: Callable[..., Any], house: str, complaints: Complaints
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
    expect(page.locator("#waiting li", has_text="Mummies, plums")).to_be_visible()
    other = fold(page, "Fallen leaves")
    other.locator("summary").first.click()
    other.locator(".pick", has_text="plums").click()
    other.get_by_label("Share fallen").fill("10")
    other.get_by_role("button", name="Keep it").click()
    expect(page.locator("#kept li", has_text="Fallen leaves, plums: fallen 10 %")).to_be_visible()
    expect(page.locator("#waiting li")).to_have_count(1)
    assert kept(house, "mummies") == []
    complaints.expect("status of 500")
