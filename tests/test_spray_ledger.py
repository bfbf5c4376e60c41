"""The season's spray ledger: masses, harm and calendar worked by hand, what is not known, and the south."""

import itertools
import json

import pytest
from typer.testing import CliRunner

from advisor.cli import app
from advisor.quantity import read
from advisor.science.spray_calendar import CALENDARS, calendar
from advisor.season_replay import replay, write

LB_ACRE = 0.45359237 / 0.40468564224  # kg/ha
HERE = {"name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York"}
LOOKS = [
    {"date": date, "kind": "tree-stage", "block": "upper", "stage": stage}
    for date, stage in [("2026-04-12", "green-tip"), ("2026-05-08", "king-bloom"), ("2026-05-12", "full-bloom"),
                        ("2026-05-18", "petal-fall")]
]  # fmt: skip
SPRAYS = [
    {"date": "2026-04-12", "kind": "work", "practice": "copper", "block": "upper", "amount": "2 lb", "content": "50 %"},
    {"date": "2026-05-09", "kind": "work", "practice": "sulphur", "block": "upper", "amount": "10 lb/acre",
     "content": "80 %"},
    {"date": "2026-05-14", "kind": "work", "practice": "sulphur", "block": "upper", "amount": "5 kg"},
]  # fmt: skip


def season(sprays, on="2026-06-05", here=HERE, looks=LOOKS, **block):
    file = {"orchard": here, "blocks": [{"id": "upper", "fruit": "apple", "area": "1 acre", **block}],
            "observations": [*looks, *sprays]}  # fmt: skip
    return replay(file, on=on)["sprays"]


def test_masses_are_amount_times_content_by_ground():
    [upper] = season(SPRAYS)["blocks"]
    assert upper["passes"] == upper["protective"] == 3
    assert upper["copper_kg_ha"] == pytest.approx(1 * LB_ACRE, abs=0.001)  # 2 lb x 50 % on an acre
    assert upper["sulphur_kg_ha"] == pytest.approx(8 * LB_ACRE, abs=0.001)  # 10 lb/acre x 80 %
    assert upper["uncounted"] == 1  # the third names no content
    orchard = season(SPRAYS)["orchard"]
    assert orchard["copper_kg"] == pytest.approx(read("1 lb", "mass"), abs=0.001)
    assert (orchard["passes"], orchard["uncounted"]) == (3, 1)


def test_an_unknown_mass_is_never_zero():
    only = season([{"date": "2026-05-14", "kind": "work", "practice": "sulphur", "block": "upper"}])
    [upper] = only["blocks"]
    assert upper["sulphur_kg_ha"] is None
    assert upper["copper_kg_ha"] == 0
    assert only["orchard"]["sulphur_kg"] is None


def test_the_harm_of_sulphur_to_bees_is_that_of_its_links():
    """Sulphur harms four bees weakly (strength 1 of 3, so 3 x 1/3 = 1 each) from two weeks before full bloom on."""
    [upper] = season(SPRAYS)["blocks"]
    copper, first, second = upper["entries"]
    assert first["harm"]["bees"] == second["harm"]["bees"] == 4
    [late] = season([{**SPRAYS[1], "date": "2026-06-04"}])["blocks"]
    assert late["harm"]["bees"] == 0
    assert late["harm"]["allies"] > 0
    assert copper["harm"]["soil_life"] > first["harm"]["soil_life"] > 0
    for side in ("allies", "bees", "soil_life"):
        assert upper["harm"][side] == pytest.approx(sum(e["harm"][side] for e in upper["entries"]), abs=0.02)
    assert "stigmaeid mites" in upper["hardest_hit"]


def test_feeding_is_a_pass_and_not_one_of_the_calendar():
    tea = {"date": "2026-05-20", "kind": "work", "practice": "plant-tea"}
    [upper] = season([*SPRAYS, tea])["blocks"]
    assert (upper["passes"], upper["protective"]) == (4, 3)


def test_two_records_of_a_day_are_one_pass():
    [upper] = season([SPRAYS[1], {**SPRAYS[1], "amount": "1 kg"}])["blocks"]
    assert upper["passes"] == 1
    assert upper["harm"]["bees"] == 4
    assert upper["sulphur_kg_ha"] == pytest.approx(8 * LB_ACRE + 0.8 / 0.40468564224, abs=0.02)


def test_the_calendar_counts_what_has_fallen_due():
    """Six rows up to petal fall (18 May), then covers 10, 26, 41 ... days after it: on 5 June one cover is due."""
    plan = season(SPRAYS)["blocks"][0]["calendar"]
    assert (plan["passes"], plan["of"]) == (7, 12)
    assert plan["sulphur_kg_ha_at_least"] == pytest.approx(0.8 * (10 + 15 + 15 + 15) * LB_ACRE, abs=0.05)
    assert plan["copper_kg_ha_a_year"] == [2.0, 3.0]
    assert plan["evidence"] == "published"
    assert season(SPRAYS)["blocks"][0]["passes_saved"] == 4
    assert season(SPRAYS, on="2026-08-20")["blocks"][0]["calendar"]["passes"] == 12
    assert plan["harm"]["allies"] > season(SPRAYS)["blocks"][0]["harm"]["allies"]


def test_the_apple_calendar_is_the_printed_one():
    """Organic apple schedule of 2010, fact sheet: twelve rows, 10 lb at half-inch green and 15 lb in three rows."""
    rows = calendar("apple").rows
    assert [row.bbch for row in rows[:6]] == [53, 54, 56, 57, 65, 69]
    pounds = [round(row.sulphur_kg_ha / 0.8 / LB_ACRE) for row in rows if row.sulphur_kg_ha]
    assert pounds == [10, 15, 15, 15]
    covers = [row.days_after_petal_fall for row in rows[6:]]
    assert [b - a for a, b in itertools.pairwise(covers)] == [16, 15, 20, 15, 16]  # 20 May ... 10 August
    assert calendar("quince") is None
    assert not any(row.sulphur_kg_ha for row in calendar("pear").rows)  # no mass is published for it
    assert {c.evidence for fruit, c in CALENDARS.items() if fruit != "apple"} == {"common-practice"}


def test_without_a_stage_no_calendar_is_claimed():
    [upper] = season(SPRAYS, looks=[])["blocks"]
    assert upper["calendar"] is None
    assert upper["passes_saved"] is None


def test_sprays_of_last_season_and_of_hedges_do_not_count():
    old = {**SPRAYS[1], "date": "2025-05-14"}
    assert season([old])["orchard"]["passes"] == 0


def test_in_the_south_the_season_runs_over_the_new_year():
    here = {"name": "Larkfield", "latitude": -41.3, "longitude": 173.1, "timezone": "Pacific/Auckland", "units": "us"}
    looks = [{"date": "2026-09-12", "kind": "tree-stage", "stage": "green-tip"},
             {"date": "2026-10-08", "kind": "tree-stage", "stage": "full-bloom"},
             {"date": "2026-10-16", "kind": "tree-stage", "stage": "petal-fall"}]  # fmt: skip
    sprays = [{**SPRAYS[1], "date": date} for date in ("2026-05-30", "2026-10-09", "2027-01-05")]
    found = season(sprays, on="2027-01-10", here=here, looks=looks)
    [upper] = found["blocks"]
    assert upper["passes"] == 2  # the one of May belongs to the season before
    assert upper["entries"][0]["harm"]["bees"] == 4
    assert upper["entries"][1]["harm"]["bees"] == 0
    assert upper["calendar"]["passes"] == 11  # 16 October + 76 days is 31 December, + 92 days is past


def test_the_command_tells_it_without_weather(tmp_path):
    file = tmp_path / "orchard.json"
    blocks = [{"id": "upper", "fruit": "apple", "area": "1 acre"}, {"id": "q", "fruit": "quince"}]
    file.write_text(json.dumps({"orchard": {**HERE, "units": "us"}, "blocks": blocks, "observations": LOOKS + SPRAYS}))
    plain = CliRunner().invoke(app, ["season", str(file), "--on", "2026-06-05"])
    assert plain.exit_code == 0
    assert "upper (apple): 3 passes; sulphur 8 lb/acre; copper 1 lb/acre; 1 more of unknown amount" in plain.output
    assert "By calendar up to today: 7 passes of 12" in plain.output
    assert "Saved so far: 4 passes." in plain.output
    assert "No wetting of this season" not in plain.output  # nobody knows: there was no weather
    data = json.loads(CliRunner().invoke(app, ["season", str(file), "--on", "2026-06-05", "--json"]).output)
    assert data["sprays"]["blocks"][0]["passes_saved"] == 4


def test_a_season_without_sprays_says_that_none_is_on_record():
    looks = [*LOOKS, {"date": "2026-05-20", "kind": "work", "practice": "first-mow", "block": "upper"}]
    file = {"orchard": HERE, "blocks": [{"id": "upper", "fruit": "apple"}], "observations": looks}
    said = write(replay(file, on="2026-06-05"))
    assert "No spray is on record" in said
    assert "Saved so far: 7 passes" in said
