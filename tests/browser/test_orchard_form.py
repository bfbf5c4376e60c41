"""Setting up an orchard as its grower would, without script: rows come and go, errors stand beside their fields."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest


@pytest.mark.parametrize("script", [True, False])
def test_an_orchard_is_set_up_by_hand(open_page: Callable[..., Any], complaints: list[str], script: bool) -> None:
    page = open_page("/set-up", java_script_enabled=script)
    name = "Gate Field" if script else "Mill Field"
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Latitude").fill("-43.6")
    page.get_by_label("Units").select_option("us")
    page.get_by_label("Short name").fill("gate")
    page.get_by_label("Fruit", exact=True).select_option("quince")
    page.get_by_label("Row by tree").fill("14 ft x ten")
    page.get_by_role("button", name="Add a block").click()
    assert page.locator("legend", has_text="Block 2").count() == 1
    assert page.locator("[name='blocks.0.spacing']").input_value() == "14 ft x ten"  # nothing that was written is lost
    page.get_by_role("button", name="Take out this block").nth(1).click()
    assert page.locator("fieldset.row").count() == 1
    page.get_by_role("button", name="Add a habitat").click()
    page.locator("[name='habitats.0.id']").fill("hedge")
    page.locator("[name='habitats.0.kind']").select_option("hedge")
    page.locator("[name='habitats.0.plants']").fill("hazel, elder")
    page.locator(".keep").click()
    wrong = page.locator(".ask", has=page.locator("[name='blocks.0.spacing']"))
    assert "ten" in wrong.locator(".wrong").inner_text()
    assert page.locator(".ask .wrong").count() == 1
    page.locator("[name='blocks.0.spacing']").fill("14 ft x 10 ft")
    page.locator(".keep").click()
    assert page.locator("#said").inner_text() == "The orchard is kept."
    assert page.locator("h1").inner_text() == f"The orchard: {name}"
    assert page.locator("[name='habitats.0.plants']").input_value() == "hazel, elder"
    page.get_by_role("link", name="Walk").click()
    assert page.locator("h1").inner_text() == "Walk and record"
    complaints.clear()  # the browser logs the 422


def test_a_return_in_a_field_keeps_and_takes_nothing_out(open_page: Callable[..., Any]) -> None:
    page = open_page("/at/south-lark/orchard")
    rows = page.locator("fieldset.row").count()
    page.locator("[name='blocks.0.trees']").fill("13")
    page.locator("[name='blocks.0.trees']").press("Enter")
    assert page.locator("#said").inner_text() == "The orchard is kept."
    assert page.locator("fieldset.row").count() == rows
    assert page.locator("[name='blocks.0.trees']").input_value() == "13"


def test_a_file_is_carried_away_and_brought_back(open_page: Callable[..., Any], tmp_path: Path) -> None:
    page = open_page("/at/larkfield/orchard")
    with page.expect_download() as found:
        page.get_by_role("link", name="As YAML").click()
    assert found.value.suggested_filename == "larkfield.yaml"
    text = Path(found.value.path()).read_text()
    copy = tmp_path / "copy.yaml"
    copy.write_text(text.replace("id: larkfield", "id: larkfield-copy"))
    page.goto(page.url.replace("/at/larkfield/orchard", "/set-up"))
    page.get_by_label("File", exact=True).set_input_files(copy)
    page.get_by_role("button", name="Bring it").click()
    assert page.url.endswith("/at/larkfield-copy/orchard?kept=yes")
    assert page.locator("legend", has_text="Block 3: plums").count() == 1


def test_a_file_that_does_not_fit_says_where(
    open_page: Callable[..., Any], tmp_path: Path, complaints: list[str]
) -> None:
    page = open_page("/set-up")
    wrong = tmp_path / "orchard.yaml"
    wrong.write_text("orchard: {name: A, latitude: 50}\nblocks:\n  - {id: a, fruit: appel}\n")
    page.get_by_label("File", exact=True).set_input_files(wrong)
    page.get_by_role("button", name="Bring it").click()
    told = page.locator(".problems li").inner_text()
    assert told.startswith("orchard.yaml, line 3, blocks[0].fruit:")
    assert "Did you mean apple?" in told
    complaints.clear()  # the browser logs the 422


def test_a_wide_picture_moves_in_its_own_box(open_page: Callable[..., Any]) -> None:
    page = open_page("/at/larkfield/understory?on=2026-05-18")
    box = page.locator(".sideways")
    box.focus()
    before = box.evaluate("(e) => e.scrollLeft")
    page.keyboard.press("ArrowRight")
    page.wait_for_function("() => document.querySelector('.sideways').scrollLeft > 0")
    assert before == 0
    assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")


def test_the_graph_is_followed_by_its_picture(open_page: Callable[..., Any]) -> None:
    page = open_page("/read/knowledge/pests/codling-moth?orchard=larkfield")
    page.locator(".drawing a", has_text="bark crevices").click()
    assert page.locator("h1").inner_text() == "Bark crevices"
    page.get_by_role("link", name="Knowledge").click()
    page.get_by_label("Find a plant, creature, disease or work").fill("milfoil")
    page.get_by_role("button", name="Find").click()
    page.get_by_role("link", name="Yarrow").click()
    assert page.locator("h1").inner_text() == "Yarrow"
    page.get_by_role("link", name="This week").click()
    assert page.locator("h1").inner_text() == "This week at Larkfield"
