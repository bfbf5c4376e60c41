"""The season replayed: what is listed, what is said of gaps, and the command."""

import json
from pathlib import Path

import pytest
from showery_season import FILE, WEATHER
from typer.testing import CliRunner

from advisor.cli import app
from advisor.errors import InputError
from advisor.season_replay import replay, write
from scenarios.skies import sky


def test_every_event_names_start_hours_temperature_and_severity():
    found = replay(FILE, weather=WEATHER)
    assert found["until"] == "2026-06-05"
    scab = [e for e in found["events"] if e["disease"] == "apple-scab"]
    assert [(e["start"][:16], e["hours"], e["severity"]) for e in scab] == [
        ("2026-04-20T06:00", 14, "moderate"), ("2026-05-12T06:00", 14, "moderate"),
        ("2026-06-02T02:00", 12, "moderate"),
    ]  # fmt: skip
    assert all(10 < e["mean_c"] < 20 for e in scab)
    assert [e["spores"] for e in scab] == ["spring", "spring", "summer"]
    rust = [e["start"][:10] for e in found["events"] if e["disease"] == "cedar-apple-rust"]
    assert rust == ["2026-05-12", "2026-06-02"]


def test_the_list_ends_with_the_day_asked_for():
    found = replay(FILE, on="2026-05-01", weather=WEATHER)
    assert [e["start"][:10] for e in found["events"] if e["disease"] == "apple-scab"] == ["2026-04-20"]
    assert all(e["start"][:10] <= "2026-05-01" for e in found["events"])


def test_a_dry_season_lists_nothing_and_says_so():
    found = replay(FILE, weather=sky("2026-04-01", "2026-06-05", 12, 22))
    assert found["events"] == []
    assert "No wetting" in write(found)


def test_gaps_are_listed_as_not_known():
    rows = [r for r in WEATHER if not r["time"].startswith(("2026-05-12", "2026-05-13"))]
    found = replay(FILE, weather=rows)
    may = [e for e in found["events"] if e["start"].startswith("2026-05-12")]
    assert {e["disease"] for e in may} >= {"apple-scab", "cedar-apple-rust"}
    assert all(e["severity"] is None for e in may)
    assert "not known" in write(found)
    assert any("2026-05-12" in note for note in found["notes"])


def test_without_a_stage_every_wetting_is_listed_and_marked():
    found = replay({**FILE, "observations": [], "blocks": [{"id": "p", "fruit": "peach"}]}, weather=WEATHER)
    assert found["events"]
    assert not any(e["open_known"] for e in found["events"])
    assert any("No stage of p" in note for note in found["notes"])


def test_without_weather_it_is_refused():
    with pytest.raises(InputError, match="hourly weather"):
        replay(FILE)


def test_the_command_prints_lines_and_json(tmp_path):
    file, csv = tmp_path / "orchard.json", tmp_path / "weather.csv"
    file.write_text(json.dumps(FILE))
    names = list(WEATHER[0])
    csv.write_text("\n".join([",".join(names), *(",".join(str(r[n]) for n in names) for r in WEATHER)]))
    runner = CliRunner()
    plain = runner.invoke(app, ["season", str(file), "--weather", str(csv), "--on", "2026-05-20"])
    assert plain.exit_code == 0
    assert "2026-04-20 06:00  upper: apple scab (leaf), moderate" in plain.output
    data = json.loads(runner.invoke(app, ["season", str(file), "--weather", str(csv), "--json"]).output)
    assert data["orchard"] == "Larkfield"
    assert {"disease", "start", "hours", "mean_c", "severity"} <= set(data["events"][0])


def test_what_is_to_come_is_told_as_forecast():
    """The list of 18 May names the rain of the forecast, and does not tell it as a wetting that was."""
    demo = Path(__file__).parents[1] / "advisor" / "demo" / "orchard.yaml"
    lines = [line for line in write(replay(str(demo), on="2026-05-18")).splitlines() if line.startswith("2026-")]
    ahead = [line for line in lines if line[:10] > "2026-05-18"]
    assert ahead
    assert all("by the forecast" in line for line in ahead)
    assert not [line for line in lines if line not in ahead and "by the forecast" in line]
