"""The README's own words on keeping a journal, each command run as it stands."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

import advisor
from advisor.cli import main
from advisor.journal import Journal

README = Path(__file__).parents[2] / "README.md"


def _part(title: str) -> str:
    return README.read_text(encoding="utf-8").split(f"\n## {title}\n")[1].split("\n## ")[0]


def _block(text: str, kind: str) -> str:
    found = re.search(rf"```{kind}\n(.*?)```", text, re.S)
    assert found is not None
    return found[1]


def test_every_command_does_what_the_readme_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    part = _part("Keep it")
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("UNDERBOUGH_JOURNAL", raising=False)
    shutil.copytree(Path(advisor.__file__).parent / "demo", tmp_path, dirs_exist_ok=True)
    (tmp_path / "looks.csv").write_text(_block(part, "csv"))
    names: dict[str, str] = {}
    said: dict[str, str] = {}
    for line in _block(part, "sh").splitlines():
        words = [names.get(word, word) for word in shlex.split(line, comments=True)]
        monkeypatch.setattr("sys.argv", words)
        with pytest.raises(SystemExit) as left:
            main()
        told = capsys.readouterr()
        assert left.value.code in (0, None), f"{line}: {told.err}"
        said[words[2]] = said.get(words[2], "") + told.out
        if words[2] == "advise":
            with Journal.open("underbough.db", make=False) as journal:
                (advice,) = journal.advices("larkfield")
            assert told.out.endswith(f"Kept as advice {advice.id}.\n")
            to_do = next(one.id for one in advice.answer.recommendations if one.stance == "do")
            names = {"ADVICE": advice.id, "RECOMMENDATION": to_do}
    assert "Version 1 of larkfield is kept." in said["record"]
    assert "Observations of larkfield: 2." in said["record"]
    assert "unchanged" in said["record"]  # the hours of the orchard's own weather file, given again
    assert said["decide"] == f"Kept: {names['RECOMMENDATION']} done on 2026-05-18.\n"
    assert "pest-count, upper: count 2, note west edge, per tap, pest plum-curculio" in said["show"]
    assert "byte for byte" in said["replay"]
    assert "records are as they were written" in said["verify"]
    assert (tmp_path / "copy.db").exists()
