"""Setting up an orchard as its grower would, without script: rows come and go, errors stand beside their fields."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from browser_waits import Complaints, expect


@pytest.mark.parametrize("script", [True, False])
def test_an_orchard_is_set_up_by_hand(open_page: Callable[..., Any], complaints: Complaints, script: bool) -> None:
    page = open_page("/set-up", java_script_enabled=script)
    name = "Gate Field" if script else "Mill Field"
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Latitude").fill("-43.6")
    page.get_by_label("Units").select_option("us")
    page.get_by_label("Short name").fill("gate")
    page.get_by_label("Fruit", exact=True).select_option("quince")
    page.get_by_label("Row by tree").fill("14 ft x ten")
    page.get_by_role("button", name="Add a block").click()
    expect(page.locator("legend", has_text="Block 2")).to_have_count(1)
    expect(page.locator("[name='blocks.0.spacing']")).to_have_value("14 ft x ten")  # nothing that was written is lost
    page.get_by_role("button", name="Take out this block").nth(1).click()
    expect(page.locator("fieldset.row")).to_have_count(1)
    page.get_by_role("button", name="Add a habitat").click()
    page.locator("[name='habitats.0.id']").fill("hedge")
    page.locator("[name='habitats.0.kind']").select_option("hedge")
    page.locator("[name='habitats.0.plants']").fill("hazel, elder")
    complaints.expect("status of 422")
    page.locator(".keep").click()
    wrong = page.locator(".ask", has=page.locator("[name='blocks.0.spacing']"))
    expect(wrong.locator(".wrong")).to_contain_text("ten", use_inner_text=True)
    expect(page.locator(".ask .wrong")).to_have_count(1)
    page.locator("[name='blocks.0.spacing']").fill("14 ft x 10 ft")
    page.locator(".keep").click()
    expect(page.locator("#said")).to_have_text("The orchard is kept.")
    expect(page.locator("h1")).to_have_text(f"The orchard: {name}")
    expect(page.locator("[name='habitats.0.plants']")).to_have_value("hazel, elder")
    page.get_by_role("link", name="Walk").click()
    expect(page.locator("h1")).to_have_text("Walk and record")


def test_a_return_in_a_field_keeps_and_takes_nothing_out(open_page: Callable[..., Any]) -> None:
    page = open_page("/at/south-lark/orchard")
    rows = page.locator("fieldset.row").count()
    page.locator("[name='blocks.0.trees']").fill("13")
    page.locator("[name='blocks.0.trees']").press("Enter")
    expect(page.locator("#said")).to_have_text("The orchard is kept.")
    expect(page.locator("fieldset.row")).to_have_count(rows)
    expect(page.locator("[name='blocks.0.trees']")).to_have_value("13")


def test_a_file_is_carried_away_and_brought_back(open_page: Callable[..., Any], house: str, tmp_path: Path) -> None:
    page = open_page("/at/larkfield/orchard")
    with page.expect_download() as found:
        page.get_by_role("link", name="As YAML").click()
    assert found.value.suggested_filename == "larkfield.yaml"
    text = Path(found.value.path()).read_text()
    copy = tmp_path / "copy.yaml"
    copy.write_text(text.replace("id: larkfield", "id: larkfield-copy"))
    page.goto(f"{house}/set-up")
    page.get_by_label("File", exact=True).set_input_files(copy)
    page.get_by_role("button", name="Bring it").click()
    expect(page).to_have_url(f"{house}/at/larkfield-copy/orchard?kept=yes")
    expect(page.locator("legend", has_text="Block 3: plums")).to_have_count(1)


def test_a_file_that_does_not_fit_says_where(
    open_page: Callable[..., Any], tmp_path: Path, complaints: Complaints
) -> None:
    page = open_page("/set-up")
    wrong = tmp_path / "orchard.yaml"
    wrong.write_text("orchard: {name: A, latitude: 50}\nblocks:\n  - {id: a, fruit: appel}\n")
    page.get_by_label("File", exact=True).set_input_files(wrong)
    complaints.expect("status of 422")
    page.get_by_role("button", name="Bring it").click()
    told = page.locator(".problems li")
    expect(told).to_have_text(re.compile(r"^\s*orchard\.yaml, line 3, blocks\[0\]\.fruit:"))
    expect(told).to_contain_text("Did you mean apple?", use_inner_text=True)


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
    expect(page.locator("h1")).to_have_text("Bark crevices")
    page.get_by_role("link", name="Knowledge").click()
    expect(page).to_have_url(re.compile(r"/read/knowledge(\?|$)"))
    page.get_by_label("Find a plant, creature, disease or work").fill("milfoil")
    page.get_by_role("button", name="Find").click()
    page.get_by_role("link", name="Yarrow").click()
    expect(page.locator("h1")).to_have_text("Yarrow")
    page.get_by_role("link", name="This week").click()
    expect(page.locator("h1")).to_have_text("This week at Larkfield")
