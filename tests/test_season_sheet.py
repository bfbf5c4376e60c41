"""The season on a sheet: what stands on it, in which units, and what is said when it cannot be drawn."""

import re

import pytest
from showery_season import FILE, WEATHER
from typer.testing import CliRunner

from advisor import extras, season_replay, season_sheet
from advisor.cli import app
from advisor.errors import InputError

SPRAY = {"date": "2026-04-18", "kind": "work", "practice": "sulphur", "block": "upper"}


def words_on(path, file=FILE, on=None, weather=WEATHER):
    now, notes = season_replay.seen(file, on, weather)
    season_sheet.draw(now, season_replay.told(now, notes), path)
    return re.findall(r"<text[^>]*>([^<]*)</text>", path.read_text())


def test_it_names_stages_diseases_and_how_bad_they_were(tmp_path):
    words = words_on(tmp_path / "season.svg")
    assert {"upper", "green tip", "full bloom", "petal fall"} <= set(words)
    assert {"upper: apple scab", "upper: cedar apple rust", "sprays", "moderate"} <= set(words)
    assert "°C" in words
    assert "rain, mm" in words
    assert "light" not in words  # nothing infected lightly in this season


def test_a_reader_of_us_units_gets_them(tmp_path):
    words = words_on(tmp_path / "season.svg", {**FILE, "orchard": {**FILE["orchard"], "units": "us"}})
    assert "°F" in words
    assert "rain, in" in words
    assert {"35", "70"} <= set(words)  # degrees on the scale: the sky is 12 to 22 °C by day and night


def test_missing_hours_and_a_dry_season_are_told(tmp_path):
    gap = [row for row in WEATHER if not row["time"].startswith(("2026-05-12", "2026-05-13"))]
    assert "hours are missing" in words_on(tmp_path / "gap.svg", weather=gap)
    dry = [{**row, "rain_mm": 0, "humidity_pct": 50} for row in WEATHER]
    assert "upper: apple scab" not in words_on(tmp_path / "dry.svg", weather=dry)


def test_without_weather_the_sprays_still_stand_there(tmp_path):
    file = {**FILE, "observations": [*FILE["observations"], SPRAY]}
    words = words_on(tmp_path / "season.svg", file, "2026-05-20", None)
    assert {"no hourly weather", "rain is not known", "sprays"} <= set(words)


def test_the_southern_half_of_the_year(tmp_path):
    south = {**FILE, "orchard": {**FILE["orchard"], "latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"},
             "observations": [{"date": "2026-10-10", "kind": "tree-stage", "stage": "full-bloom"}]}  # fmt: skip
    words = words_on(tmp_path / "season.svg", {**south, "observations": [*south["observations"], SPRAY | {
        "date": "2026-10-20"}]}, "2026-11-02", None)  # fmt: skip
    assert "Larkfield, season 2026-27 up to 2026-11-02" in words
    assert "full bloom" in words


@pytest.mark.parametrize(("ending", "begins"), [("pdf", b"%PDF"), ("png", b"\x89PNG"), ("svg", b"<?xml")])
def test_the_same_season_gives_the_same_bytes(tmp_path, ending, begins):
    first, second = tmp_path / f"first.{ending}", tmp_path / f"second.{ending}"
    words = [path.read_bytes() for path in (first, second) if not _draw(path)]
    assert words[0] == words[1]
    assert words[0].startswith(begins)


def _draw(path):
    now, notes = season_replay.seen(FILE, weather=WEATHER)
    return season_sheet.draw(now, season_replay.told(now, notes), path)


def test_what_cannot_be_written_is_refused(tmp_path, monkeypatch):
    with pytest.raises(InputError, match=r"\.pdf, \.png or \.svg \(found: .*season\.txt\)"):
        _draw(tmp_path / "season.txt")
    with pytest.raises(InputError, match="cannot be written there: No such file or directory"):
        _draw(tmp_path / "nowhere" / "season.svg")
    monkeypatch.setattr(extras, "here", lambda *libraries: False)
    with pytest.raises(InputError, match=r"needs matplotlib.*underbough\[plots\]"):
        _draw(tmp_path / "season.svg")


def test_the_command_draws_beside_what_it_prints(tmp_path):
    files = CliRunner().invoke(app, ["demo", "--into", str(tmp_path)])
    assert files.exit_code == 0
    sheet = tmp_path / "season.svg"
    told = CliRunner().invoke(app, ["season", str(tmp_path / "orchard.yaml"), "--sheet", str(sheet)])
    assert told.exit_code == 0
    assert "apple scab" in told.output
    assert "plums: brown rot" in sheet.read_text()
    refused = CliRunner().invoke(app, ["season", str(tmp_path / "orchard.yaml"), "--sheet", "season.doc"])
    assert refused.exit_code == 1
