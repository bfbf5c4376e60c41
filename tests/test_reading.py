"""Strict reading: words stay words, and what cannot be meant is refused with its line."""

import pytest

from advisor.errors import InputError
from advisor.reading import MOST_BYTES, parse_json, parse_yaml, read_document


def test_words_stay_words_and_dates_stay_text():
    data = parse_yaml("a: none\nb: [no, off, on, yes]\nc: 2026-05-18\nd: 12:30\ne: true\nf:\ng: 010\n", "x.yaml").data
    assert data == {
        "a": "none",
        "b": ["no", "off", "on", "yes"],
        "c": "2026-05-18",
        "d": "12:30",
        "e": True,
        "f": None,
        "g": "010",
    }


def test_each_value_has_its_line():
    document = parse_yaml("orchard:\n  name: A\nblocks:\n  - id: b\n    fruit: apple\n", "x.yaml")
    assert document.line(("blocks", 0, "fruit")) == 5
    assert document.line(("blocks", 0, "trees")) == 4, "a place without a line takes that of the place around it"


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("a: &x 1\nb: *x\n", 1, "anchors"),
        ("a: 1\nb: 2\na: 3\n", 3, "stands twice"),
        ("a: !!python/object/apply:os.system [ls]\n", 1, "tags"),
        ("a: " + "[" * 60 + "]" * 60, 1, "nested deeper"),
        ("a: [1, 2\n", 2, "not valid YAML"),
        ("a: 99999999999999999999\n", 1, "too large"),
    ],
)
def test_refused_yaml_names_file_and_line(text, line, says):
    with pytest.raises(InputError, match=says) as refused:
        parse_yaml(text, "orchard.yaml")
    problem = refused.value.problems[0]
    assert (problem.file, problem.line) == ("orchard.yaml", line)
    assert problem.mend


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('{"a": 1, "a": 2}', "stands twice"),
        ('{"a": NaN}', "not a number"),
        ('{"a": ', "not valid JSON"),
        ("[" * 50 + "]" * 50, "nested deeper"),
        ("[" * 100_000, "nested"),
    ],
)
def test_refused_json(text, says):
    with pytest.raises(InputError, match=says):
        parse_json(text, "orchard.json")


def test_a_bare_word_in_json_that_is_no_number_is_found_by_its_line():
    for bare in ("NaN", "-Infinity", "9" * 30):
        with pytest.raises(InputError) as refused:
            parse_json(f'{{"note": "not {bare}",\n "rain": {bare}}}', "a.json")
        assert refused.value.problems[0].line == 2


def test_a_file_that_is_too_large_or_missing_is_refused(tmp_path):
    large = tmp_path / "large.yaml"
    large.write_text("a" * (MOST_BYTES + 1))
    with pytest.raises(InputError, match="5 MB"):
        read_document(large)
    with pytest.raises(InputError, match="cannot be read"):
        read_document(tmp_path / "missing.yaml")
    binary = tmp_path / "binary.yaml"
    binary.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="UTF-8"):
        read_document(binary)


@pytest.mark.parametrize(("text", "says"), [("[1" + "0" * 400 + "]", "too large"), ('["\\ud800"]', "half a sign")])
def test_json_that_no_float_or_no_file_can_hold_is_refused(text, says):
    with pytest.raises(InputError, match=says):
        parse_json(text, "file")
    assert parse_json('["\\ud83c\\udf4e", 1000000000000000]', "file").data == ["🍎", 10**15]
