"""The command as people use it: what goes to stdout, what to stderr, and the exit code."""

import json
import subprocess
import sys

import pytest

from advisor import advise, load_orchard
from advisor.answer import AnswerShape

ORCHARD = """
orchard: {name: Larkfield, latitude: 42.4, longitude: -76.5, timezone: America/New_York}
blocks: [{id: upper, fruit: apple, trees: 10, spacing: 6 m x 5 m}]
observations:
  - {date: 2026-05-17, kind: tree-stage, block: upper, stage: petal-fall}
  - {date: 2026-05-18, kind: sward, block: upper, height: 45 cm, seed_heads: emerging}
"""


def underbough(*arguments, cwd=None):
    return subprocess.run(
        [sys.executable, "-m", "advisor.cli", *map(str, arguments)],
        capture_output=True,
        text=True,
        cwd=cwd,
        check=False,
    )


@pytest.fixture
def orchard(tmp_path):
    path = tmp_path / "orchard.yaml"
    path.write_text(ORCHARD)
    return path


def test_the_demo_reads_well_and_as_json():
    told = underbough("demo")
    assert told.returncode == 0
    assert told.stdout.startswith("Larkfield, 2026-05-18")
    assert "upper: petal fall (seen 2026-05-17)" in told.stdout
    assert not told.stderr
    AnswerShape.model_validate(json.loads(underbough("demo", "--json").stdout))


def test_the_demo_names_work_in_words_where_it_says_what_a_look_could_change():
    told = " ".join(underbough("demo").stdout.split())
    assert "could change: guard trunks, draw mulch back" in told


def test_what_is_meant_is_answered_with_more_than_one_reason(tmp_path):
    """That flowers stand below the trees comes first; that hover flies have the aphids in hand must be told beside it."""
    told = " ".join(underbough("demo").stdout.split())
    meant = told[told.index("Mow what flowers under upper first") :]
    meant = meant[: meant.index("insecticide.rosy-apple-aphid.upper")]
    assert "hover flies are at work on rosy apple aphid" in meant


def test_advise_answers_on_the_day_asked_for(orchard):
    answer = json.loads(underbough("advise", orchard, "--on", "2026-05-18", "--json").stdout)
    assert answer["date"] == "2026-05-18"
    assert answer["conditions"]["upper"]["stage"]["bbch"] == 69


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("trees: 10", "tree: 10"), ["tree", "trees"]),
        (("height: 45 cm", "height: 45"), ["height", "cm"]),
        (("kind: sward", "kind: swards"), ["swards", "sward"]),
        (("latitude: 42.4", "latitude: 142"), ["latitude", "142"]),
        (("block: upper, height", "block: uper, height"), ["uper", "upper"]),
    ],
)
def test_refused_input_is_one_clear_error_and_nothing_on_stdout(orchard, change, words):
    orchard.write_text(ORCHARD.replace(*change))
    told = underbough("advise", orchard, "--on", "2026-05-18")
    assert (told.returncode, told.stdout) == (1, "")
    assert "orchard.yaml" in told.stderr
    assert all(word in told.stderr for word in words), told.stderr
    assert "Traceback" not in told.stderr


def test_wrong_usage_exits_with_two(orchard):
    assert underbough("advise").returncode == 2
    assert underbough("advise", orchard, "--colour", "green").returncode == 2
    assert underbough("nonsense").returncode == 2


def test_help_imports_nothing_heavy():
    told = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "advisor.cli", "--help"], capture_output=True, text=True, check=False
    )
    assert told.returncode == 0
    loaded = told.stderr
    for heavy in ("numpy", "pint", "networkx", "durable_rules_engine", "pydantic", "fastapi"):
        assert f" {heavy}\n" not in loaded, f"--help imports {heavy}"


OWN_RULE = """
- id: never-mow-alleys
  layer: proposals
  when: [{block: {block: $block}}]
  propose: {practice: mow-alleys, stance: avoid, place: $block, summary: "Ours stay tall.", strength: strong}
  because: "We decided so."
  evidence: common-practice
  cases:
    - {name: a block, given: [{block: {block: b}}], fires: true}
    - {name: no block, given: [{tool: {tool: scythe}}], fires: false}
"""


def test_own_rules_and_own_knowledge_go_in_and_are_named(orchard, tmp_path):
    rules, knowledge = tmp_path / "rules", tmp_path / "knowledge"
    rules.mkdir()
    knowledge.mkdir()
    (rules / "ours.yaml").write_text(OWN_RULE)
    (knowledge / "plants.yaml").write_text(
        "- {id: moon-daisy-of-ours, name: our moon daisy, form: herb, life: perennial, root: fibrous, stems: none,\n"
        "   bloom: {from: 2, to: 6}, nectar: 1, pollen: 1, flower: open, height: {min: 20, max: 40}}\n"
        "- {id: yarrow, name: our yarrow, latin: Achillea millefolium, form: herb, life: perennial, root: rhizome,\n"
        "   stems: standing, bloom: {from: 4, to: 18}, nectar: 1, pollen: 2, flower: open, height: {min: 20, max: 60}}\n"
    )
    text = ORCHARD.replace("spacing: 6 m x 5 m", "spacing: 6 m x 5 m, understory: [moon-daisy-of-ours]")
    orchard.write_text(text)
    own = ("--rules", rules, "--knowledge", knowledge)
    told = underbough("advise", orchard, "--on", "2026-05-18", "--json", *own)
    assert told.returncode == 0, told.stderr
    answer = json.loads(told.stdout)
    ours = [r for r in answer["recommendations"] if r["practice"] == "mow-alleys"]
    assert [(r["stance"], r["summary"]) for r in ours] == [("avoid", "Ours stay tall.")]
    assert any("yarrow" in override for override in answer["overrides"])
    assert underbough("advise", orchard, "--on", "2026-05-18").returncode == 1, (
        "without the folder nobody knows the plant"
    )


def test_check_refuses_a_rule_whose_case_fails_with_file_and_line(tmp_path):
    (tmp_path / "ours.yaml").write_text(OWN_RULE.replace("fires: false", "fires: true"))
    told = underbough("check", "--rules", tmp_path)
    assert told.returncode == 1
    assert "ours.yaml" in told.stderr
    assert "no block" in told.stderr


def test_the_demo_makes_the_folder_that_it_is_put_into(tmp_path):
    told = underbough("demo", "--into", tmp_path / "new" / "walk")
    assert told.returncode == 0
    assert (tmp_path / "new" / "walk" / "orchard.yaml").exists()
    (tmp_path / "a-file").write_text("")
    refused = underbough("demo", "--into", tmp_path / "a-file" / "walk")
    assert refused.returncode == 1
    assert "no folder can be made there" in refused.stderr


def test_the_demo_puts_its_files_somewhere_and_nothing_is_overwritten(tmp_path):
    told = underbough("demo", "--into", tmp_path)
    assert (told.returncode, told.stdout) == (0, "")
    assert {one.name for one in tmp_path.iterdir()} == {"orchard.yaml", "weather.csv", "forecast.csv"}
    again = underbough("demo", "--into", tmp_path)
    assert again.returncode == 1
    assert "something is there already" in again.stderr


def test_an_orchard_file_as_json_gives_the_same_advice(tmp_path):
    """What the service is sent holds all that the file and its weather files say, and refers to no file."""
    assert underbough("demo", "--into", tmp_path).returncode == 0
    (tmp_path / "holes.csv").write_text("time,temp_c,rain_mm\n2026-05-18T06:00,,0\n2026-05-18T07:00,9,\n")
    sent = json.loads(underbough("as-json", tmp_path / "orchard.yaml").stdout)
    assert isinstance(sent["weather"], list)
    assert isinstance(sent["forecast"], list)
    on = "2026-05-18"
    by_file = advise(tmp_path / "orchard.yaml", on=on)
    assert advise(load_orchard(sent, files=False), on=on)["recommendations"] == by_file["recommendations"]
    text = (tmp_path / "orchard.yaml").read_text().replace("weather: weather.csv", "weather: holes.csv")
    (tmp_path / "orchard.yaml").write_text(text)
    sent = json.loads(underbough("as-json", tmp_path / "orchard.yaml").stdout)
    assert sent["weather"] == [
        {"time": "2026-05-18T06:00", "rain_mm": 0.0},
        {"time": "2026-05-18T07:00", "temp_c": 9.0},
    ]


@pytest.mark.parametrize("name", ["advise", "why", "why-not", "what-if", "look-next", "plan", "bloom"])
def test_all_that_ask_of_an_orchard_take_the_same_options(name):
    from typer.main import get_command

    from advisor.cli import app

    command = get_command(app).commands[name]
    options = {option for one in command.params for option in one.opts}
    assert {"--on", "--weather", "--forecast", "--json", "--rules", "--knowledge"} <= options
    assert not {"answer", "json_", "its_own"} & {
        one.name for one in command.params if one.param_type_name == "argument"
    }
    assert command.params[0].name == "file"
    assert command.params[0].required
    assert command.help
