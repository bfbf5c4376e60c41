"""The bloom ribbon as a picture, and the command that draws it."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from advisor.habitat import bloom, draw
from scenarios.orchards import UPPER, orchard

SVG = "{http://www.w3.org/2000/svg}"
DEMO = Path(__file__).parents[2] / "advisor" / "demo" / "orchard.yaml"


@pytest.fixture(scope="module")
def demo() -> Mapping[str, Any]:
    return bloom(DEMO, on="2026-05-18")


@pytest.fixture(scope="module")
def picture(demo: Mapping[str, Any]) -> ElementTree.Element:
    return ElementTree.fromstring(draw(demo))


def words(picture: ElementTree.Element) -> list[str]:
    return [text.text or "" for text in picture.iter(f"{SVG}text")]


def test_it_can_be_read_aloud(demo: Mapping[str, Any], picture: ElementTree.Element) -> None:
    """The title and the description say what the bars say: every plant with its weeks, and every gap."""
    assert picture.findtext(f"{SVG}title") == "Bloom at Larkfield, week by week"
    said = picture.findtext(f"{SVG}desc") or ""
    for row in demo["ribbon"]:
        assert f"{row['name']} at {row['place']} weeks {row['first_week']:g} to {row['last_week']:g}" in said
    assert "No nectar in week -5" in said


def test_every_plant_has_its_name_and_its_bar(demo: Mapping[str, Any], picture: ElementTree.Element) -> None:
    labels = words(picture)
    tips = [tip.text or "" for tip in picture.iter(f"{SVG}title")]
    for row in demo["ribbon"]:
        assert f"{row['name']} ({row['place']})" in labels
        assert any(tip.startswith(f"{row['name']}, {row['place']}:") for tip in tips)


def test_bars_stand_by_their_weeks(demo: Mapping[str, Any], picture: ElementTree.Element) -> None:
    """Equal weeks take equal room: the width of every bar over its weeks is the same."""
    bars = {}
    for rect in picture.iter(f"{SVG}rect"):
        tip = rect.findtext(f"{SVG}title")
        if tip:
            bars[tip.split(":")[0]] = (float(rect.get("x", "nan")), float(rect.get("width", "nan")))
    rows = [row for row in demo["ribbon"] if row["feeds_bees"]]
    assert len(rows) > 10
    per_week = {round(bars[f"{r['name']}, {r['place']}"][1] / (r["last_week"] - r["first_week"]), 2) for r in rows}
    assert len(per_week) == 1
    (wide,) = per_week
    starts = {round(bars[f"{r['name']}, {r['place']}"][0] - wide * r["first_week"], 1) for r in rows}
    assert max(starts) - min(starts) <= 0.11


def test_kinds_are_told_apart_without_colour(picture: ElementTree.Element) -> None:
    """Each pattern stands in the key with its words, and every bar has its own words beside it."""
    labels = words(picture)
    for kind in ("trees", "open flowers: all tongues", "deep flowers: long tongues", "pollen only", "nothing for bees"):
        assert kind in labels
    assert "long tongues" in labels
    assert "no nectar listed" in labels  # the gap, in words


def test_nothing_listed_draws_an_honest_blank() -> None:
    file = orchard([{**UPPER, "fruit": "quince", "floor": "bare"}], latitude=-33.0)
    found = bloom(file, on="2026-02-01")
    root = ElementTree.fromstring(draw(found))
    assert "quince (upper)" in words(root)


# --- the command ------------------------------------------------------------------------------


def underbough(*arguments: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "advisor.cli", "bloom", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_json_stands_alone_on_stdout_and_the_picture_in_its_file(tmp_path: Path) -> None:
    told = underbough(DEMO, "--on", "2026-05-18", "--json", "--svg", tmp_path / "b.svg", "--wanted", "hawthorn")
    assert told.returncode == 0
    found = json.loads(told.stdout)
    assert found["left_out"][0]["plant"] == "hawthorn"
    assert "b.svg" in told.stderr
    assert ElementTree.fromstring((tmp_path / "b.svg").read_text()).tag == f"{SVG}svg"


def test_it_reads_as_text() -> None:
    told = underbough(DEMO, "--on", "2026-05-18", "--wanted", "aster", "--quick")
    assert told.returncode == 0
    assert told.stderr == ""
    for heading in ("in flower", "Lacking", "Winter shelter", "What to plant", "Asked about", "Keep in mind"):
        assert heading in told.stdout


@pytest.mark.parametrize(("arguments", "said"), [
    (["--wanted", "hawthorm"], "hawthorn"),
    (["--price", "aster"], "--price aster=12"),
    (["--price", "aster=cheap"], "terms.prices.aster"),
    (["--spot", "roof"], "under-trees"),
    (["--svg", "no/such/folder/b.svg"], "Name a file in a folder that is there"),
])  # fmt: skip
def test_what_cannot_be_read_is_refused_in_words(arguments: list[str], said: str) -> None:
    told = underbough(DEMO, "--on", "2026-05-18", *arguments)
    assert told.returncode == 1
    assert told.stdout == ""
    assert said in told.stderr
    assert "Traceback" not in told.stderr


def test_wrong_usage_is_exit_2() -> None:
    assert underbough().returncode == 2
    assert underbough(DEMO, "--most", "0.5").returncode == 2
