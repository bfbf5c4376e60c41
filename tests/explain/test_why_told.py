"""Why as text, as PROV, as pictures and as a command."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from importlib.resources import files
from pathlib import Path
from xml.etree import ElementTree

import pytest
from prov.model import ProvDocument
from typer.testing import CliRunner

from advisor import advise
from advisor.advice import Answer
from advisor.cli import app
from advisor.errors import InputError
from advisor.explain import prov_export
from advisor.explain.nodes import titles, walk
from advisor.explain.why_picture import LETTER, WIDTH, ecosystem_picture, tree_picture
from advisor.explain.why_text import write
from scenarios.orchards import orchard

LARKFIELD = str(files("advisor") / "demo" / "orchard.yaml")
ON = "2026-05-18"
MOW = "first-mow.feeder-roots.upper.2026"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def larkfield() -> Answer:
    return advise(LARKFIELD, on=ON)


def test_the_text_tells_the_look_the_figure_and_the_source(larkfield: Answer) -> None:
    text = write(larkfield.why(MOW))
    assert text.startswith("do: Cut the ring under the trees of upper")
    assert "Seen 2026-05-18, sward of upper: height 45 cm" in text
    assert "height from which the sward is worth cutting for mulch: 20 cm; here height 45 cm" in text
    assert "Proof: Run again with only 2 observations" in text
    assert re.search(r"^\[1\] \S", text, re.M)
    assert max(len(line) for line in text.splitlines()) <= 100


def test_every_number_of_a_source_stands_in_the_list(larkfield: Answer) -> None:
    for one in larkfield["recommendations"]:
        body, _, listed = write(larkfield.why(one["id"])).partition("\n\nSources:\n")
        numbers = set(re.findall(r"\[(\d+)\]", body))
        assert numbers == set(re.findall(r"^\[(\d+)\]", listed, re.M)), one["id"]


def test_us_orchards_are_told_in_their_own_units() -> None:
    seen = [
        {"kind": "tree-stage", "date": ON, "stage": "petal-fall"},
        {"kind": "sward", "date": ON, "block": "upper", "height": "18 in", "seed_heads": "emerging"},
    ]
    answer = advise(orchard(observations=seen, units="us"), on=ON)
    text = " ".join(write(answer.why("first-mow.feeder-roots.upper.2026")).split())
    assert "sward of upper: height 18 in" in text
    assert "worth cutting for mulch: 7.9 in" in text  # 20 cm in inches
    assert not re.search(r"\d (cm|m|mm)\b", text)


def test_prov_is_valid_and_reads_back(larkfield: Answer) -> None:
    tree = larkfield.why(MOW)
    written = prov_export.prov_json(larkfield, tree)
    document = ProvDocument.deserialize(content=written, format="json")
    assert document == ProvDocument.deserialize(content=document.serialize(format="json"), format="json")
    data = json.loads(written)
    nodes = {(one.kind, one.id, one.text if one.kind == "rule" else "") for one in walk(tree)}
    sources = {title for one in walk(tree) for title in titles(one)}
    assert len(data["entity"]) == len(nodes) + len(sources)
    used = {item["prov:entity"] for item in data["used"].values()}
    assert {f"ub:observation/{one.id}" for one in walk(tree) if one.kind == "observation"} <= used
    assert next(iter(data["wasGeneratedBy"].values()))["prov:entity"] == f"ub:recommendation/{MOW}"
    derived = {(d["prov:generatedEntity"], d["prov:usedEntity"]) for d in data["wasDerivedFrom"].values()}
    reached, todo = set(), [f"ub:recommendation/{MOW}"]
    while todo:  # from the recommendation down, everything is reached
        here = todo.pop()
        if here not in reached:
            reached.add(here)
            todo += [used for made, used in derived if made == here]
    assert reached == set(data["entity"])


def test_without_prov_the_extra_is_named(larkfield: Answer, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "prov", None)
    with pytest.raises(InputError, match=r"underbough\[all\]"):
        prov_export.prov_json(larkfield, larkfield.why(MOW))


def test_the_tree_picture_keeps_its_words_within_a_phone(larkfield: Answer) -> None:
    for one in larkfield["recommendations"]:
        root = ElementTree.fromstring(tree_picture(larkfield.why(one["id"])))
        _, _, width, height = map(float, root.attrib["viewBox"].split())
        assert width == WIDTH <= 360
        for text in root.iter(f"{SVG}text"):
            assert float(text.attrib["x"]) >= 0
            assert float(text.attrib["x"]) + len(text.text or "") * LETTER <= width + 10 * LETTER, text.text
            assert float(text.attrib["y"]) <= height
        words = " ".join(text.text or "" for text in root.iter(f"{SVG}text"))
        assert one["summary"] in words


def test_the_ecosystem_picture_shows_both_sides(larkfield: Answer) -> None:
    root = ElementTree.fromstring(ecosystem_picture(larkfield, "guard-trunks.voles.lower.2026"))
    half = float(root.attrib["viewBox"].split()[2]) / 2
    sides: dict[bool, str] = {True: "", False: ""}
    for text in root.iter(f"{SVG}text"):
        if text.attrib["text-anchor"] == "start":
            sides[float(text.attrib["x"]) < half] += f" {text.text}"
    assert "suppresses voles" in sides[True]
    assert "harm apple, so more apple" in sides[True]
    assert "favours dogwood borer" in sides[False]
    assert "harms apple, so less apple" in sides[False]


def test_the_command_writes_text_json_prov_and_pictures(tmp_path: Path) -> None:
    made = [tmp_path / name for name in ("why.json", "why.svg", "around.svg")]
    asked = ["why", LARKFIELD, MOW, "--on", ON, "--json"]
    for flag, path in zip(("--prov", "--svg", "--ecosystem"), made, strict=True):
        asked += [flag, str(path)]
    result = CliRunner().invoke(app, asked)
    assert result.exit_code == 0, result.stderr
    assert json.loads(result.stdout)["id"] == MOW
    assert result.stderr.count("Written: ") == 3
    assert "entity" in json.loads(made[0].read_text())
    assert all(ElementTree.fromstring(path.read_text()).tag == f"{SVG}svg" for path in made[1:])


def test_the_command_refuses_an_unknown_id_on_stderr_with_exit_1() -> None:
    run = subprocess.run(
        [sys.executable, "-m", "advisor.cli", "why", LARKFIELD, "first-mow.upper", "--on", ON],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (run.returncode, run.stdout) == (1, "")
    assert f"Did you mean {MOW}" in run.stderr


def test_a_file_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-m", "advisor.cli", "why", LARKFIELD, MOW, "--on", ON, "--svg", str(tmp_path / "no" / "x.svg")],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (run.returncode, run.stdout) == (1, "")
    assert re.search(r"x\.svg.*cannot be written", run.stderr)
