"""Bad input: one clear error that names file, place, value and mend, and nothing half-read."""

import datetime as dt
from pathlib import Path

import pytest

from advisor import advise, load_orchard
from advisor.errors import InputError, Problem
from advisor.reading import parse_yaml

GOOD = """\
orchard:
  name: Larkfield
  latitude: 42.4
  longitude: -76.5
  timezone: America/New_York
blocks:
  - id: upper
    fruit: apple
    trees: 40
    planted: 2014
    floor: meadow
    spacing: 6 m x 5 m
    understory: [white-clover]
    history: [apple-scab]
  - id: lower
    fruit: pear
habitats:
  - id: hedge
    kind: hedge
    plants: [hazel]
observations:
  - {date: 2026-05-17, kind: sward, block: upper, height: 45 cm, cover: 0.7}
  - {date: 2026-05-18, kind: plant-bloom, habitat: hedge, plant: hazel, open: 0}
"""


def refused(tmp_path: Path, text: str) -> list[Problem]:
    path = tmp_path / "orchard.yaml"
    path.write_text(text)
    with pytest.raises(InputError) as fault:
        load_orchard(path)
    assert all(problem.file == str(path) for problem in fault.value.problems)
    return list(fault.value.problems)


def test_the_good_file_is_good(tmp_path: Path) -> None:
    (tmp_path / "orchard.yaml").write_text(GOOD)
    assert len(load_orchard(tmp_path / "orchard.yaml").observations) == 2


# What is written instead of what; then place, line, value, and a part of the message and of the mend.
BAD = [
    ("floor: meadow", "flor: meadow", "blocks[0].flor", 11, "meadow", "'flor' is not known", "Did you mean floor?"),
    ("floor: meadow", "floor: meadwo", "blocks[0].floor", 11, "meadwo", "not a word", "Did you mean meadow?"),
    ("height: 45 cm", "height: 45", "observations[0].height", 22, "45", "45 what?", "45 cm or 18 in"),
    ("height: 45 cm", "height: 45 kg", "observations[0].height", 22, "45 kg", "is not a length", "cm or in"),
    ("cover: 0.7", "cover: 7", "observations[0].cover", 22, "7", "not a share", "0 to 1"),
    ("2026-05-17", "2013-05-17", "observations[0].date", 22, "2013-05-17", "before upper was planted, in 2014", "year"),
    ("white-clover", "white-clovr", "blocks[0].understory[0]", 13, "white-clovr", "no plant", "white-clover"),
    ("apple-scab", "appel-scab", "blocks[0].history[0]", 14, "appel-scab", "no pest or disease", "apple-scab"),
    ("trees: 40", "trees: 0", "blocks[0].trees", 9, "0", "out of place", "from 1 to 1000000"),
    ("trees: 40", "trees: 4.5", "blocks[0].trees", 9, "4.5", "not a whole number", "whole"),
    ("trees: 40", "trees: true", "blocks[0].trees", 9, "True", "not a number", "plain number"),
    ("latitude: 42.4", "latitude: 142.4", "orchard.latitude", 3, "142.4", "out of place", "-90 to 90"),
    ("America/New_York", "America/NewYork", "orchard.timezone", 5, "America/NewYork", "not a time zone", "New_York"),
    ("fruit: apple", "fruit: aple", "blocks[0].fruit", 8, "aple", "not a word", "apple"),
    ("kind: hedge", "kind: hegde", "habitats[0].kind", 19, "hegde", "not a word", "hedge"),
    ("spacing: 6 m x 5 m", "spacing: 6", "blocks[0].spacing", 12, "6", "must hold named fields", ""),
    ("spacing: 6 m x 5 m", "spacing: 6 x 5", "blocks[0].spacing", 12, "6 x 5", "6 what?", "6 m or 20 ft"),
    ("spacing: 6 m x 5 m", "spacing: {row: 6 m, tree: 5}", "blocks[0].spacing.tree", 12, "5", "5 what?", "5 m or 16 ft"),
    ("spacing: 6 m x 5 m", "spacing: 0 m x 5 m", "blocks[0].spacing", 12, "0 m x 5 m", "no room for a tree", "6 m or 20 ft"),
    ("spacing: 6 m x 5 m", "spacing: {row: 0, tree: 5 m}", "blocks[0].spacing.row", 12, "0", "no room", "6 m or 20 ft"),
    ("planted: 2014", "planted: 14", "blocks[0].planted", 10, "14", "out of place", "1700"),
    ("block: upper", "block: uper", "observations[0].block", 22, "uper", "no block has the id", "upper"),
    ("block: upper", "block: hedge", "observations[0].block", 22, "hedge", "no block has the id", "habitat: hedge"),
    ("kind: sward", "kind: sord", "observations[0].kind", 22, "sord", "not a kind of observation", "sward"),
    ("id: lower", "id: upper", "blocks", 6, "upper", "stands for 2 places", "own id"),
    ("habitats:", "habitat:", "habitat", 17, None, "'habitat' is not known", "habitats"),
    ("name: Larkfield", "units: metric", "orchard.name", 1, None, "name is missing", "Write name"),
    ("2026-05-17", "0026-05-17", "observations[0].date", 22, "0026-05-17", "the year 26 cannot", "from 1700 to 2200"),
    ("2026-05-17", "'0001-01-01T00:00+14:00'", "observations[0].date", 22, "0001-01-01T00:00+14:00", "the year 1 cannot",
     "1700"),
    ("2026-05-17", "'9999-12-31T23:00-12:00'", "observations[0].date", 22, "9999-12-31T23:00-12:00", "the year 9999",
     "2200"),
    ("date: 2026-05-17", "date: ", "observations[0].date", 22, None, "no date is written", "year-month-day"),
    ("id: lower", "id: ", "blocks[1].id", 15, None, "nothing is written", "Leave the field out"),
    ("longitude: -76.5", "hours_per_week: 1.0e+30", "orchard.hours_per_week", 4, "1e+30", "out of all measure", "100000"),
    ("trees: 40", "trees: 9000000", "blocks[0].trees", 9, "9000000", "out of place", "from 1 to 1000000"),
]


@pytest.mark.parametrize(("good", "bad", "place", "line", "value", "message", "mend"), BAD, ids=[b for _, b, *_ in BAD])
def test_one_clear_error(tmp_path: Path, good: str, bad: str, place: str, line: int, value: str | None, message: str,
                         mend: str) -> None:
    problems = [problem for problem in refused(tmp_path, GOOD.replace(good, bad, 1)) if problem.place == place]
    assert len(problems) == 1
    problem = problems[0]
    assert problem.line == line
    assert problem.value == value
    assert message in problem.message
    assert mend in problem.mend
    assert not any(jargon in str(problem) for jargon in ("pydantic", "http", "Value error", "Input should", "type="))


def test_all_that_is_wrong_is_said_at_once(tmp_path: Path) -> None:
    text = GOOD
    for good, bad, *_ in (BAD[0], BAD[3], BAD[4], BAD[7], BAD[8], BAD[11]):
        text = text.replace(good, bad, 1)
    assert {problem.place for problem in refused(tmp_path, text)} == {
        "blocks[0].flor", "observations[0].height", "observations[0].cover", "blocks[0].history[0]", "blocks[0].trees",
        "orchard.latitude",
    }


def test_a_bomb_of_aliases_is_refused_at_its_first_anchor(tmp_path: Path) -> None:
    bomb = "a: &a [x, x, x]\n" + "".join(f"{chr(98 + i)}: &{chr(98 + i)} [{', '.join(['*' + chr(97 + i)] * 9)}]\n"
                                         for i in range(9))
    (problem,) = refused(tmp_path, bomb)
    assert problem.line == 1
    assert "anchors and aliases" in problem.message


def test_deep_nesting_is_refused(tmp_path: Path) -> None:
    (problem,) = refused(tmp_path, "orchard: " + "[" * 2_000 + "]" * 2_000)
    assert "nest" in problem.message


def test_a_file_of_50_megabytes_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "orchard.yaml"
    with path.open("wb") as big:
        big.truncate(50_000_000)  # a hole: it takes no room on the disk
    with pytest.raises(InputError, match="50 MB; at most 5 MB"):
        load_orchard(path)


def test_a_weather_file_of_50_megabytes_is_refused_unread(tmp_path: Path) -> None:
    with (tmp_path / "weather.csv").open("wb") as big:
        big.truncate(50_000_000)
    (tmp_path / "orchard.yaml").write_text(GOOD + "weather: weather.csv\n")
    with pytest.raises(InputError, match=r"weather\.csv: the file has 50 MB"):
        load_orchard(tmp_path / "orchard.yaml")


def test_a_bad_row_of_weather_is_named_by_row_and_column(tmp_path: Path) -> None:
    (tmp_path / "weather.csv").write_text("time,temp_c,rain_mm\n2026-05-01T00:00,10,0\n2026-05-01T01:00,10,wet\n")
    (tmp_path / "orchard.yaml").write_text(GOOD + "weather: weather.csv\n")
    with pytest.raises(InputError) as fault:
        load_orchard(tmp_path / "orchard.yaml")
    (problem,) = fault.value.problems
    assert (Path(problem.file).name, problem.place, problem.value) == ("weather.csv", "row 3, column rain_mm", "wet")
    assert "plain number" in problem.mend


def test_a_bad_row_of_observations_is_named_by_row_and_column(tmp_path: Path) -> None:
    (tmp_path / "seen.csv").write_text("date,kind,block,cover\n2026-05-17,sward,upper,0.5\n2026-05-18,sward,upper,7\n"
                                       "2012-05-18,sward,upper,0.5\n2026-05-18,sward,nowhere,0.5\n")
    text = GOOD[:GOOD.index("observations:")] + "observations: seen.csv\n"
    (tmp_path / "orchard.yaml").write_text(text)
    with pytest.raises(InputError) as fault:
        load_orchard(tmp_path / "orchard.yaml")
    assert [(Path(p.file).name, p.place, p.value) for p in fault.value.problems] == [
        ("seen.csv", "row 3, column cover", "7"),
    ]
    (tmp_path / "seen.csv").write_text((tmp_path / "seen.csv").read_text().replace(",7\n", ",0.7\n"))
    with pytest.raises(InputError) as fault:
        load_orchard(tmp_path / "orchard.yaml")
    assert [p.place for p in fault.value.problems] == ["row 4, column date", "row 5, column block"]


@pytest.mark.parametrize("mark", [";", "\t"])
@pytest.mark.parametrize(("name", "header"), [("weather", "time,temp_c"), ("observations", "date,kind,block,height")])
def test_cells_parted_by_other_marks_are_said_to_be_so(tmp_path: Path, mark: str, name: str, header: str) -> None:
    (tmp_path / "table.csv").write_text(header.replace(",", mark) + "\n")
    (tmp_path / "orchard.yaml").write_text(f"{GOOD.split('observations')[0]}{name}: table.csv\n")
    with pytest.raises(InputError) as fault:
        load_orchard(tmp_path / "orchard.yaml")
    (problem,) = fault.value.problems
    assert (problem.place, problem.line) == ("header", 1)
    assert "semicolons or tabs" in problem.message
    assert "commas" in problem.mend


@pytest.mark.parametrize("on", ["0001-01-01", "9999-12-31", "0001-01-01T00:00+14:00", dt.date(1, 1, 1), "12026-05-18"])
def test_a_day_that_nobody_can_mean_is_refused(on: str | dt.date) -> None:
    small = {"orchard": {"name": "L", "latitude": 42}, "blocks": [{"id": "b", "fruit": "apple"}]}
    with pytest.raises(InputError, match="on"):
        advise(small, on=on)


def test_hours_of_the_service_are_named_by_position() -> None:
    data = {**parse_yaml(GOOD, "x").data, "weather": [{"time": "2026-05-01T00:00", "temp_c": 99}]}
    with pytest.raises(InputError) as fault:
        load_orchard(data, files=False)
    (problem,) = fault.value.problems
    assert (problem.place, problem.value) == ("weather[0].temp_c", "99")


def test_words_stay_words(tmp_path: Path) -> None:
    text = GOOD.replace("cover: 0.7", "seed_heads: none").replace("floor: meadow", "guards: none")
    (tmp_path / "orchard.yaml").write_text(text)
    file = load_orchard(tmp_path / "orchard.yaml")
    assert file.observations[0].seed_heads == "none"  # type: ignore[union-attr]
    assert file.blocks[0].guards is not None
    assert file.blocks[0].guards.kind == "none"


@pytest.mark.parametrize("text", ["", "[]", "just words", "orchard: 3\nblocks: 4", "blocks: []", "orchard:\nblocks:",
                                  "orchard: {name: a, latitude: .nan}\nblocks: [3]", "observations: 7", "weather: 7",
                                  "orchard: {name: x, latitude: 1}\nblocks: [{id: a, fruit: apple, spacing: [1, 2]}]"])
def test_odd_files_are_refused_and_never_crash(tmp_path: Path, text: str) -> None:
    for problem in refused(tmp_path, text):
        assert problem.message
        assert problem.mend
