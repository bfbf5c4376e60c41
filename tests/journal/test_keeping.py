"""Orchards, observations and weather: kept once, corrected and withdrawn on record, all or nothing."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from journal_orchards import ORCHARD, STAGE, SWARD, VOLES, hours

import advisor
from advisor import load_orchard
from advisor.errors import InputError
from advisor.journal import Conflict, Journal, Missing

DEMO = Path(advisor.__file__).parent / "demo" / "orchard.yaml"


def test_the_content_comes_back_as_it_was_put(journal: Journal) -> None:
    version = journal.put_orchard("south", ORCHARD)
    assert version == journal.orchard("south")
    assert version.number == 1
    assert journal.orchard("south").content["blocks"] == ORCHARD["blocks"]
    assert journal.orchard("south").content["orchard"] == {**ORCHARD["orchard"], "id": "south"}


def test_a_whole_file_reads_from_the_journal_as_from_the_disk(journal: Journal) -> None:
    read = load_orchard(DEMO)
    journal.put_orchard("larkfield", read.given)
    kept = journal.file_of("larkfield")
    assert kept.observations == read.observations
    assert (kept.blocks, kept.habitats, kept.zone, kept.guidance) == (
        read.blocks,
        read.habitats,
        read.zone,
        read.guidance,
    )
    assert read.weather is not None
    assert read.forecast is not None
    assert kept.weather is not None
    assert kept.forecast is not None
    assert kept.weather.tobytes() == read.weather.tobytes()
    assert kept.forecast.tobytes() == read.forecast.tobytes()
    again = load_orchard(kept.given, files=False)  # what is given can be read as an orchard file by itself
    assert again.weather is not None
    assert again.weather.tobytes() == read.weather.tobytes()


def test_the_same_content_makes_no_new_version(journal: Journal) -> None:
    first = journal.put_orchard("south", {**ORCHARD, "observations": [SWARD]})
    before = journal.head
    assert journal.put_orchard("south", {**ORCHARD, "observations": [SWARD]}) == first
    assert journal.head == before


def test_changed_content_is_a_new_version_and_the_old_one_stays(journal: Journal) -> None:
    first = journal.put_orchard("south", ORCHARD)
    second = journal.put_orchard("south", {**ORCHARD, "habitats": []})
    assert [version.number for version in journal.versions("south")] == [1, 2]
    assert first.hash != second.hash
    assert journal.file_of("south").habitats == ()


def test_a_version_that_was_overtaken_is_refused(journal: Journal) -> None:
    journal.put_orchard("south", ORCHARD, version=0)
    journal.put_orchard("south", {**ORCHARD, "habitats": []}, version=1)
    with pytest.raises(Conflict, match="version 2 of south is kept, and 1 was expected"):
        journal.put_orchard("south", ORCHARD, version=1)
    with pytest.raises(Conflict, match="north is not kept yet"):
        journal.put_orchard("north", ORCHARD, version=1)


@pytest.mark.parametrize("id", ["", "South", "a b", "ä", "-a", "x" * 65, "../x"])
def test_an_id_must_be_a_plain_word(journal: Journal, id: str) -> None:
    with pytest.raises(InputError, match="cannot be the id of an orchard"):
        journal.put_orchard(id, ORCHARD)
    assert journal.head.records == 0


def test_an_orchard_that_calls_itself_otherwise_is_refused(journal: Journal) -> None:
    content = {**ORCHARD, "orchard": {**ORCHARD["orchard"], "id": "north"}}
    with pytest.raises(InputError, match="calls itself 'north'"):
        journal.put_orchard("south", content)


def test_bad_content_is_refused_and_nothing_is_kept(journal: Journal) -> None:
    bad = {**ORCHARD, "observations": [SWARD, {**SWARD, "height": "20"}]}
    with pytest.raises(InputError, match=r"observations\[1\].height"):
        journal.put_orchard("south", bad)
    assert journal.head.records == 0
    with pytest.raises(Missing):
        journal.orchard("south")


def test_orchards_are_listed_by_id_and_in_parts(journal: Journal) -> None:
    for id in ("plum-side", "apple", "plum", "plum2"):
        journal.put_orchard(id, ORCHARD)
    assert [version.id for version in journal.orchards()] == ["apple", "plum", "plum-side", "plum2"]
    assert [version.id for version in journal.orchards(after="apple", limit=2)] == ["plum", "plum-side"]


# --- observations -----------------------------------------------------------------------------


def test_observations_get_the_ids_of_their_content(kept: Journal) -> None:
    ids = [one.id for one in kept.observations("south")]
    assert ids == [one.id for one in load_orchard({**ORCHARD, "observations": [STAGE, SWARD]}).observations]
    assert kept.observe("south", [SWARD]) == [ids[1]]
    assert len(kept.observations("south")) == 2


def test_nothing_is_half_kept(kept: Journal) -> None:
    before = kept.head
    with pytest.raises(InputError, match=r"\[1\].block: no block has the id 'peps'. Did you mean pips"):
        kept.observe("south", [VOLES, {**SWARD, "block": "peps"}])
    assert kept.head == before


def test_the_same_key_gives_the_same_answer_and_keeps_nothing(kept: Journal) -> None:
    ids = kept.observe("south", [VOLES], key="k-1")
    before = kept.head
    assert kept.observe("south", [VOLES], key="k-1") == ids
    assert kept.head == before
    with pytest.raises(Conflict, match="used for another request"):
        kept.observe("south", [SWARD], key="k-1")
    with pytest.raises(InputError, match="idempotency key"):
        kept.observe("south", [SWARD], key="two words")


def test_a_key_counts_for_its_own_orchard_only(kept: Journal) -> None:
    kept.put_orchard("north", ORCHARD)
    assert kept.observe("south", [VOLES], key="k") == kept.observe("north", [VOLES], key="k")
    assert len(kept.observations("north")) == 1


def test_an_id_that_stands_for_something_else_is_refused(kept: Journal) -> None:
    kept.observe("south", [{**VOLES, "id": "v1"}])
    with pytest.raises(Conflict, match="another observation is kept under this id"):
        kept.observe("south", [{**VOLES, "id": "v1", "runways": "old"}])
    with pytest.raises(Conflict, match="another observation"):
        kept.observe("south", [{**VOLES, "id": "v2"}, {**VOLES, "id": "v2", "runways": "old"}])
    assert [one.id for one in kept.observations("south")][2:] == ["v1"]


def test_a_correction_counts_and_the_first_reading_stays_on_record(kept: Journal) -> None:
    (id,) = kept.observe("south", [VOLES])
    assert kept.correct("south", id, {**VOLES, "runways": "none"}) == id
    assert kept.observations("south")[-1].given["runways"] == "none"
    assert [one.id for one in kept.file_of("south").observations].count(id) == 1
    assert [(entry.kind, entry.content["given"]["runways"]) for entry in kept.history("south", id)] == [
        ("observation", "fresh"),
        ("correction", "none"),
    ]
    before = kept.head
    kept.correct("south", id, {**VOLES, "runways": "none"})
    assert kept.head == before


def test_a_file_put_again_corrects_what_it_gives_differently(kept: Journal) -> None:
    kept.put_orchard("south", {**ORCHARD, "observations": [{**VOLES, "id": "v"}]})
    kept.put_orchard("south", {**ORCHARD, "observations": [{**VOLES, "id": "v", "runways": "old"}]})
    assert [one.given["runways"] for one in kept.observations("south") if one.id == "v"] == ["old"]


def test_what_is_withdrawn_no_longer_counts_but_stays_on_record(kept: Journal) -> None:
    (id,) = kept.observe("south", [VOLES])
    kept.withdraw("south", id, "was the cat")
    assert id not in [one.id for one in kept.observations("south")]
    assert id not in [one.id for one in kept.file_of("south").observations]
    assert [entry.kind for entry in kept.history("south", id)] == ["observation", "withdrawal"]
    with pytest.raises(Missing):
        kept.withdraw("south", id)
    with pytest.raises(Missing):
        kept.correct("south", id, VOLES)
    assert kept.observe("south", [VOLES]) == [id]  # seen after all
    assert id in [one.id for one in kept.observations("south")]


def test_two_contents_that_share_four_digits_are_both_kept(kept: Journal) -> None:
    marks: dict[str, int] = {}
    for inches in range(1, 2_000):  # of so many, two share the four digits of their hash
        one = {**SWARD, "height": f"{inches} mm"}
        (seen,) = load_orchard({**ORCHARD, "observations": [one]}).observations
        if seen.id in marks:
            break
        marks[seen.id] = inches
    else:
        pytest.fail("no two of 2,000 ids were equal")
    first = kept.observe("south", [{**SWARD, "height": f"{marks[seen.id]} mm"}])
    second = kept.observe("south", [one])
    assert first[0] != second[0]
    assert kept.observe("south", [one]) == second
    assert {*first, *second} <= {one.id for one in kept.file_of("south").observations}


def test_observations_are_listed_since_a_day_and_in_parts(kept: Journal) -> None:
    kept.observe("south", [VOLES])
    assert [one.given["kind"] for one in kept.observations("south", since="2026-11-08")] == ["tree-stage", "sward"]
    kept.observe("south", [{**VOLES, "date": "2026-11-07T22:00Z", "runways": "none"}])  # the 8th, in New Zealand
    assert [one.given["kind"] for one in kept.observations("south", since="2026-11-08")][2:] == ["vole-sign"]
    with pytest.raises(InputError, match="'May' is not a date"):
        kept.observations("south", since="May")
    first = kept.observations("south", limit=1)
    rest = kept.observations("south", after=first[0].position)
    assert [one.given["kind"] for one in [*first, *rest]] == ["tree-stage", "sward", "vole-sign", "vole-sign"]


def test_observations_of_a_block_that_is_gone_are_left_out_and_said_so(kept: Journal) -> None:
    new = [{"id": "young", "fruit": "pear", "planted": 2026}]
    kept.put_orchard("south", {**ORCHARD, "blocks": new})
    file = kept.file_of("south")
    assert file.observations == ()
    assert any(
        "2 observations are of places not in the orchard as it now is, and left out" in note for note in file.notes
    )
    kept.put_orchard("south", ORCHARD)
    assert len(kept.file_of("south").observations) == 2


def test_observations_come_in_from_a_spreadsheet(kept: Journal) -> None:
    ids = kept.observe("south", "date,kind,block,height,seed_heads\n2026-11-01,sward,pips,9 in,\n", name="looks.csv")
    assert kept.observations("south")[-1].id == ids[0]
    with pytest.raises(InputError, match=r"looks.csv, row 3, column height"):
        kept.observe("south", "date,kind,block,height\n2026-11-02,sward,pips,9 in\n2026-11-03,sward,pips,9\n",
                     name="looks.csv")  # fmt: skip


@pytest.mark.parametrize("odd", ["\ud800", {"a": {1, 2}}, math.inf])
def test_what_is_no_text_or_number_is_refused(kept: Journal, odd: object) -> None:
    before = kept.head
    with pytest.raises(InputError):
        kept.observe("south", [{**SWARD, "note": odd}])
    assert kept.head == before


def test_signs_of_every_kind_come_back(kept: Journal) -> None:
    note = "“10 °C” 🍏 \x00 \\ ' -- %s"
    (id,) = kept.observe("south", [{**SWARD, "note": note}])
    assert kept.observations("south")[-1].given["note"] == note
    assert kept.verify() == []
    assert json.loads(kept.history("south", id)[0].body)["given"]["note"] == note


# --- weather ----------------------------------------------------------------------------------


def test_uploads_merge_and_what_is_known_already_is_not_kept_again(kept: Journal) -> None:
    assert kept.weather("south", hours("2026-11-01T00:00", 24, temp_c=10)) == {
        "new": 24,
        "corrected": 0,
        "unchanged": 0,
    }
    before = kept.head
    assert kept.weather("south", hours("2026-11-01T00:00", 24, temp_c=10))["unchanged"] == 24
    assert kept.head == before
    assert kept.weather("south", hours("2026-11-01T12:00", 24, temp_c=10)) == {
        "new": 12,
        "corrected": 0,
        "unchanged": 12,
    }
    table = kept.weather_of("south")
    assert table is not None
    assert len(table) == 36
    assert (table.temp_c == 10).all()


def test_columns_from_two_gauges_stand_side_by_side(kept: Journal) -> None:
    kept.weather("south", "time,temp_f\n2026-11-01T00:00,50\n2026-11-01T01:00,50\n")
    kept.weather("south", "time,rain_in,temp_f\n2026-11-01T00:00,0.1,\n")
    table = kept.weather_of("south")
    assert table is not None
    np.testing.assert_allclose(table.temp_c, [10, 10])
    np.testing.assert_allclose(table.rain_mm, [2.54, np.nan])  # 0.1 in; what was not measured is not zero


def test_a_correction_counts_and_what_it_replaced_stays_on_record(kept: Journal) -> None:
    kept.weather("south", hours("2026-11-01T00:00", 3, temp_c=10))
    assert kept.weather("south", hours("2026-11-01T01:00", 1, temp_c=11.5))["corrected"] == 1
    table = kept.weather_of("south")
    assert table is not None
    assert table.temp_c.tolist() == [10, 11.5, 10]
    said = kept.weather_history("south", "2026-11-01T01:00")
    assert [one["temp_c"] for one in said] == [10, 11.5]


def test_filled_gaps_are_not_taken_for_measurements(kept: Journal) -> None:
    kept.weather("south", "time,temp_c\n2026-11-01T00:00,10\n2026-11-01T02:00,14\n")
    table = kept.weather_of("south")
    assert table is not None
    assert table.temp_c.tolist() == [10, 12, 14]
    assert kept.weather("south", hours("2026-11-01T01:00", 1, temp_c=13))["new"] == 1
    assert any("filled on a straight line" in note for note in kept.file_of("south").notes) is False


def test_the_forecast_is_kept_apart(kept: Journal) -> None:
    kept.weather("south", hours("2026-11-11T00:00", 2, temp_c=3), forecast=True)
    assert kept.weather_of("south") is None
    table = kept.weather_of("south", forecast=True)
    assert table is not None
    assert len(table) == 2


@pytest.mark.parametrize("rows", ["weather.csv", "time,temp_c\n2026-11-01T00:00,ten\n", [{"time": "now"}], [3]])
def test_bad_weather_is_refused_whole(kept: Journal, rows: object) -> None:
    before = kept.head
    with pytest.raises(InputError):
        kept.weather("south", rows)  # type: ignore[arg-type]
    assert kept.head == before


def test_weather_that_spans_too_many_years_is_refused_before_it_is_kept(kept: Journal) -> None:
    kept.weather("south", hours("2026-11-01T00:00", 1, temp_c=10))
    with pytest.raises(InputError, match="span"):
        kept.weather("south", hours("1999-11-01T00:00", 1, temp_c=10))
    assert kept.weather_of("south") is not None


def test_an_orchard_nobody_put_is_missing(journal: Journal) -> None:
    for ask in (journal.file_of, journal.observations, journal.advices, journal.decisions, journal.weather_of):
        with pytest.raises(Missing, match="no orchard of that id is kept"):
            ask("nowhere")
    with pytest.raises(Missing):
        journal.observe("nowhere", [SWARD])
