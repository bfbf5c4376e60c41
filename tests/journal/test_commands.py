"""`underbough journal ...` as people use it: what goes to stdout, what to stderr, and the exit code."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from journal_orchards import ON, ORCHARD, STAGE, SWARD, hours

from advisor.cli import main


@dataclass
class Told:
    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        return json.loads(self.out)


Run = Callable[..., Told]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command of the journal in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("UNDERBOUGH_JOURNAL", raising=False)
    monkeypatch.setenv("COLUMNS", "200")

    def asked(*arguments: object) -> Told:
        monkeypatch.setattr("sys.argv", ["underbough", "journal", *map(str, arguments)])
        with pytest.raises(SystemExit) as left:
            main()
        told = capsys.readouterr()
        return Told(int(left.value.code or 0), told.out, told.err)

    return asked


@pytest.fixture
def recorded(run: Run, tmp_path: Path) -> Run:
    (tmp_path / "orchard.json").write_text(json.dumps({**ORCHARD, "observations": [STAGE, SWARD]}))
    assert run("record", "orchard.json").code == 0
    return run


def test_an_orchard_file_is_recorded_under_its_name_and_once(recorded: Run) -> None:
    told = recorded("record", "orchard.json")
    assert (told.code, told.out, told.err) == (0, "Nothing new of south-larkfield.\n", "")
    assert recorded("show").out == "south-larkfield, version 1\n"
    assert recorded("show", "--json").data == [{"id": "south-larkfield", "version": 1}]
    assert len(recorded("show", "south-larkfield", "--json").data["observations"]) == 2


def test_an_orchard_file_with_all_that_it_holds_is_told_of(run: Run, tmp_path: Path) -> None:
    file = {**ORCHARD, "observations": [STAGE, SWARD], "weather": hours("2026-11-09T00:00", 24, temp_f=50)}
    (tmp_path / "orchard.json").write_text(json.dumps(file))
    assert run("record", "orchard.json").out.splitlines() == [
        "Version 1 of south-larkfield is kept.",
        "Observations of south-larkfield: 2.",
        "Hours of weather of south-larkfield: 24 new.",
    ]


def test_a_spreadsheet_of_observations_is_recorded(recorded: Run, tmp_path: Path) -> None:
    (tmp_path / "looks.csv").write_text("date,kind,block,runways,note\n2026-11-09,vole-sign,pips,fresh,\n")
    told = recorded("record", "looks.csv", "--orchard", "south-larkfield", "--json")
    (id,) = told.data["observations"]
    assert id in recorded("show", "south-larkfield").out
    again = recorded("record", "looks.csv", "--orchard", "south-larkfield")
    assert again.out == "Observations of south-larkfield: 1, 1 of them kept before.\n"
    assert "vole-sign, pips: runways fresh  (" in recorded("show", "south-larkfield").out
    (tmp_path / "bad.csv").write_text("date,kind,block,runways\n2026-11-09,vole-sign,pips,fresh\n2026-11-09,sward,x,\n")
    told = recorded("record", "bad.csv", "--orchard", "south-larkfield")
    assert (told.code, told.out) == (1, "")
    assert "bad.csv, row 3" in told.err
    assert "Name it with --orchard" in recorded("record", "looks.csv").err


def test_weather_is_recorded_and_merged(recorded: Run, tmp_path: Path) -> None:
    lines = ["time,temp_f", *(f"{one['time']},{one['temp_f']}" for one in hours("2026-11-09T00:00", 24, temp_f=50))]
    (tmp_path / "weather.csv").write_text("\n".join(lines) + "\n")
    told = recorded("record", "weather.csv", "--orchard", "south-larkfield")
    assert told.out == "Hours of weather of south-larkfield: 24 new.\n"
    told = recorded("record", "weather.csv", "--orchard", "south-larkfield")
    assert told.out == "Hours of weather of south-larkfield: 24 unchanged.\n"
    (tmp_path / "ahead.json").write_text(json.dumps(hours("2026-11-11T00:00", 3, temp_c=1)))
    told = recorded("record", "ahead.json", "--orchard", "south-larkfield", "--forecast", "--json")
    assert told.data["hours"] == {"forecast": {"new": 3, "corrected": 0, "unchanged": 0}}


def test_what_was_said_of_an_hour_or_a_look_is_shown_in_turn(recorded: Run, tmp_path: Path) -> None:
    for temp in (50, 55):
        (tmp_path / "hour.csv").write_text(f"time,temp_f\n2026-11-09T06:00,{temp}\n")
        recorded("record", "hour.csv", "--orchard", "south-larkfield")
    told = recorded("history", "south-larkfield", "2026-11-09T06:00", "--json")
    assert [round(one["temp_c"], 2) for one in told.data] == [10, 12.78]  # 50 and 55 °F
    assert recorded("history", "south-larkfield", "2026-11-09T06:00").out.endswith("Z  weather: temp_c 12.78\n")
    assert recorded("history", "south-larkfield", "2026-11-09T07:00").out.startswith("Nothing is kept of")
    (tmp_path / "look.json").write_text(json.dumps({**SWARD, "id": "s"}))
    recorded("record", "look.json", "--orchard", "south-larkfield")
    told = recorded("history", "south-larkfield", "s")
    assert told.out.endswith("Z  observation: block pips, date 2026-11-09, height 20 in, seed_heads emerging\n")


def test_advice_is_kept_decided_on_and_replayed(recorded: Run) -> None:
    answer = recorded("advise", "south-larkfield", "--on", ON, "--json").data
    told = recorded("advise", "south-larkfield", "--on", ON)
    assert told.out.startswith(f"South Larkfield, {ON}")
    assert told.out.endswith(f"Kept as advice {answer['advice']}.\n")
    id = next(one["id"] for one in answer["recommendations"] if one["stance"] == "do")
    assert recorded("decide", answer["advice"], id, "done", "--hours", 3).out == f"Kept: {id} done on {ON}.\n"
    told = recorded("decide", answer["advice"], id, "refused")
    assert told.code == 1
    assert "no-time" in told.err
    told = recorded("replay", answer["advice"])
    assert told.out == f"Advice {answer['advice']} comes out again, byte for byte.\n"
    assert recorded("replay", answer["advice"], "--json").data["equal"] is True
    shown = recorded("show", "south-larkfield").out
    assert f"for {ON}  {answer['advice']}" in shown
    assert f"{ON}  {id}: done" in shown
    told = recorded("decide", answer["advice"], id, "taken-back", "--reason", "by-mistake")
    assert told.out == f"Taken back: nothing is decided about {id} now.\n"
    assert f"{ON}  {id}: taken-back, by-mistake" in recorded("show", "south-larkfield").out
    told = recorded("decide", answer["advice"], id, "taken-back")
    assert (told.code, told.out) == (1, "")
    assert "nothing stands decided" in told.err
    assert recorded("replay", answer["advice"], "--json").data["equal"] is True


def test_verify_tells_a_sound_journal_from_a_changed_one(recorded: Run, tmp_path: Path) -> None:
    told = recorded("verify")
    assert (told.code, told.err) == (0, "")
    assert "All 3 records are as they were written." in told.out
    head = told.out.split()[-1]
    assert recorded("verify", "--head", head, "--json").data == {"sound": True, "head": head, "problems": []}
    with sqlite3.connect(tmp_path / "underbough.db") as connection:
        connection.execute("UPDATE records SET body = replace(body, '20 in', '30 in') WHERE position = 3")
    connection.close()
    told = recorded("verify")
    assert told.code == 1
    assert told.out.startswith("record 3: it was changed after it was written")
    assert "Restore a backup" in told.err
    told = recorded("verify", "--json")
    assert (told.code, told.data["sound"], told.data["problems"][0]["place"]) == (1, False, "record 3")


def test_a_journal_goes_out_and_in_and_is_backed_up(recorded: Run, tmp_path: Path) -> None:
    told = recorded("export", "all.jsonl")
    assert (told.code, told.out, told.err) == (0, "", "3 records written to all.jsonl.\n")
    assert recorded("export").out == (tmp_path / "all.jsonl").read_text()
    assert recorded("import", "all.jsonl", "--journal", "other.db").out == "The journal holds 3 records.\n"
    assert recorded("backup", "copy.db").out == "Backup written to copy.db: a journal of its own.\n"
    heads = {
        recorded("verify", "--journal", name, "--json").data["head"]
        for name in ("underbough.db", "other.db", "copy.db")
    }
    assert len(heads) == 1
    for refused in (("export", "all.jsonl"), ("backup", "copy.db"), ("import", "none.jsonl"), ("import", "copy.db")):
        told = recorded(*refused)
        assert (told.code, told.out) == (1, ""), refused
        assert refused[1] in told.err


@pytest.mark.parametrize("asked", [("verify",), ("show",), ("export",), ("backup", "x.db"), ("advise", "larkfield")])
def test_no_journal_is_made_where_one_is_only_read(run: Run, tmp_path: Path, asked: tuple[str, ...]) -> None:
    told = run(*asked)
    assert (told.code, told.out) == (1, "")
    assert "there is no journal here. Check --journal, or begin one with `journal record`." in told.err
    assert list(tmp_path.iterdir()) == []


def test_the_journal_may_be_named_in_the_environment(
    recorded: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("UNDERBOUGH_JOURNAL", str(tmp_path / "named.db"))
    assert recorded("record", "orchard.json").code == 0
    assert (tmp_path / "named.db").exists()


def test_wrong_usage_is_told_from_refused_input(run: Run) -> None:
    assert run("replay").code == 2
    assert run("decide", "a", "b").code == 2
    assert run("record", "nothing.yaml").code == 1
