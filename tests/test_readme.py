"""The README's own words on asking and planning: each command, each file and each line of Python as it stands there."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from itertools import pairwise
from pathlib import Path

import pytest
import yaml

import advisor
from advisor import advise
from advisor.cli import main

README = Path(__file__).parents[1] / "README.md"
PART = README.read_text(encoding="utf-8").split("\n## Ask it\n")[1].split("\n## ")[0]


def blocks(kind: str) -> list[str]:
    return re.findall(rf"```{kind}\n(.*?)```", PART, re.S)


COMMANDS = [line for block in blocks("sh") for line in block.splitlines()]
ORCHARD, HOURS = blocks("yaml")
MADE = {"--svg", "--csv", "--ics", "--sheet"}


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the README's orchard, and the demo's weather for it."""
    monkeypatch.chdir(tmp_path)
    shutil.copy(Path(advisor.__file__).parent / "demo" / "weather.csv", tmp_path)
    (tmp_path / "orchard.yaml").write_text(ORCHARD)
    return tmp_path


def test_every_way_in_is_shown() -> None:
    shown = {shlex.split(line, comments=True)[1] for line in COMMANDS}
    assert shown == {"advise", "bloom", "season", "why", "why-not", "what-if", "look-next", "plan", "check"}


@pytest.mark.parametrize("line", COMMANDS)
def test_a_command_does_what_is_said(
    line: str, here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    words = shlex.split(line, comments=True)
    if "ID" in words:
        answer = advise("orchard.yaml", on="2026-05-18")
        words[words.index("ID")] = next(one["id"] for one in answer["recommendations"] if one["stance"] == "do")
    monkeypatch.setattr("sys.argv", words)
    with pytest.raises(SystemExit) as left:
        main()
    told = capsys.readouterr()
    assert left.value.code in (0, None), told.err
    assert told.out.strip()
    if "--json" in words:
        json.loads(told.out)
    for option, name in pairwise(words):
        if option in MADE:
            assert (here / name).stat().st_size > 100


def test_the_hours_that_are_shown_are_read_and_used(here: Path) -> None:
    (here / "orchard.yaml").write_text(ORCHARD.replace("  timezone:", f"{HOURS}  timezone:"))
    plan = advise("orchard.yaml", on="2026-05-18").plan()
    assert plan["this_week"]["hours"] == yaml.safe_load(HOURS)["hours_per_week"]["may"]
    assert [helper["people"] for week in plan["next_weeks"] for helper in week["helpers"]] == [2]


def test_the_python_runs(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (code,) = blocks("python")
    names: dict[str, object] = {}
    exec(compile(code, "README.md", "exec"), names)
    assert len(capsys.readouterr().out.splitlines()) == len(names["answer"]["recommendations"])  # type: ignore[index]
    assert {"tree", "turf", "week"} <= set(names)
