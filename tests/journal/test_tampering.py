"""Whoever changes the journal behind its back is found, and the record is named."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest
import sqlalchemy as sa
from hypothesis import given, settings
from hypothesis import strategies as st
from journal_orchards import ORCHARD, STAGE, SWARD, VOLES, hours

from advisor.errors import InputError
from advisor.journal import Head, Journal
from advisor.journal.chain import Entry, faults_in, sealed
from counts import count


@pytest.fixture
def full(journal: Journal) -> Journal:
    """Twelve records: 1 orchard, 2 to 9 observations, 10 and 11 weather, 12 a withdrawal."""
    journal.put_orchard("south", ORCHARD)
    journal.observe("south", [STAGE, SWARD, VOLES, *({**SWARD, "height": f"{cm} cm"} for cm in range(20, 25))])
    journal.weather("south", hours("2026-11-01T00:00", 5, temp_c=10))
    journal.weather("south", hours("2026-11-01T03:00", 5, temp_c=11))
    journal.withdraw("south", journal.observations("south")[0].id)
    assert journal.head.records == 12
    return journal


def tamper(journal: Journal, *statements: str) -> list[str]:
    """Run SQL behind the journal's back; what `verify` says of it."""
    with journal.engine.begin() as connection:
        for statement in statements:
            assert connection.execute(sa.text(statement)).rowcount > 0, f"this changed nothing: {statement}"
    return [f"{problem.place}: {problem.message}" for problem in journal.verify()]


def test_a_journal_left_alone_is_sound(full: Journal) -> None:
    assert full.verify() == []
    assert full.verify(full.head) == []


@pytest.mark.parametrize(
    "change",
    [
        "body = replace(body, '20 in', '21 in')",
        "at = '2026-11-01T00:00:00.000000+00:00'",
        "ref = 'sward'",
        "kind = 'correction'",
        "orchard = 'north'",
        "hash = previous",
    ],
)
def test_a_changed_record_is_named(full: Journal, change: str) -> None:
    (first, *others) = tamper(full, f"UPDATE records SET {change} WHERE position = 3")
    assert first.startswith("record 3: it was changed after it was written, or put in")
    assert all(one.startswith("record 4") for one in others)  # the next no longer follows, if the hash was changed


def test_a_changed_link_is_named(full: Journal) -> None:
    said = tamper(full, "UPDATE records SET previous = hash WHERE position = 3")
    assert said == ["record 3: it was changed after it was written, or put in (observation of south)"]


def test_a_removed_record_is_named(full: Journal) -> None:
    assert tamper(full, "DELETE FROM records WHERE position = 5") == ["record 5: missing"]
    assert "records 5 to 7: missing" in tamper(full, "DELETE FROM records WHERE position in (6, 7)")
    assert "record 1: missing" in tamper(full, "DELETE FROM records WHERE position = 1")


def test_a_removed_record_is_found_when_the_others_close_the_gap(full: Journal) -> None:
    closing = [f"UPDATE records SET position = {place - 1} WHERE position = {place}" for place in range(6, 13)]
    said = tamper(full, "DELETE FROM records WHERE position = 5", *closing)
    assert said[0] == "record 5: it was record 6 when it was written, and was moved (observation of south)"
    assert said[-1] == "record 12: missing"


@pytest.mark.parametrize(("one", "other"), [(3, 4), (2, 11), (1, 12)])
def test_swapped_records_are_named_with_the_places_they_had(full: Journal, one: int, other: int) -> None:
    said = tamper(
        full,
        f"UPDATE records SET position = 1000 WHERE position = {one}",
        f"UPDATE records SET position = {one} WHERE position = {other}",
        f"UPDATE records SET position = {other} WHERE position = 1000",
    )
    assert any(line.startswith(f"record {one}: it was record {other} when it was written") for line in said)
    assert any(line.startswith(f"record {other}: it was record {one} when it was written") for line in said)


def test_swapped_contents_are_named(full: Journal) -> None:
    said = tamper(
        full,
        "UPDATE records SET body = (SELECT body FROM records WHERE position = 2) WHERE position = 3",
    )
    assert said == ["record 3: it was changed after it was written, or put in (observation of south)"]


def test_a_record_put_in_at_the_end_is_named(full: Journal) -> None:
    copied = (
        "INSERT INTO records SELECT 13, orchard, kind, ref, at, body, previous, hash FROM records WHERE position = 4"
    )
    (said,) = tamper(full, copied)
    assert said == "record 13: it was record 4 when it was written, and was moved (observation of south)"


def test_a_record_put_in_by_somebody_who_knows_the_chain_is_named(full: Journal) -> None:
    forged = sealed(full.head, "south", "observation", "x", "2026-11-10", {"given": {**SWARD, "id": "x"}})
    with full.engine.begin() as connection:
        connection.execute(sa.text("INSERT INTO records VALUES (:position, :orchard, :kind, :ref, :at, :body, :previous, "
                                   ":hash)"), {name: getattr(forged, name) for name in Entry.__dataclass_fields__})  # fmt: skip
    (problem,) = full.verify()
    assert problem.place == "record 13"
    assert problem.message == "it stands after the end of the journal, which has 12 records"


def test_a_record_put_in_between_is_found(full: Journal) -> None:
    moving = [f"UPDATE records SET position = {place + 1} WHERE position = {place}" for place in range(12, 6, -1)]
    copied = (
        "INSERT INTO records SELECT 7, orchard, kind, ref, at, body, previous, hash FROM records WHERE position = 3"
    )
    said = tamper(full, *moving, copied)
    assert said[0] == "record 7: it was record 3 when it was written, and was moved (observation of south)"
    assert said[1] == "record 8: it was record 7 when it was written, and was moved (observation of south)"
    assert any(line.startswith("record 13") for line in said)


def test_a_record_written_again_with_a_hash_that_fits_breaks_the_next(full: Journal) -> None:
    third, fourth = full.entries(after=2, limit=2)
    other = sealed(Head(2, third.previous), "south", third.kind, third.ref, third.at, {"given": {**SWARD, "id": "x"}})
    with full.engine.begin() as connection:
        connection.execute(sa.text("UPDATE records SET body = :body, hash = :hash WHERE position = 3"),
                           {"body": other.body, "hash": other.hash})  # fmt: skip
    (problem,) = full.verify()
    assert problem.place == f"record {fourth.position}"
    assert "does not follow from record 3" in problem.message


def test_a_tail_cut_off_is_found(full: Journal) -> None:
    assert tamper(full, "DELETE FROM records WHERE position > 9") == ["records 10 to 12: missing"]


def test_a_tail_cut_off_with_the_note_of_the_end_mended_is_found_by_a_head_noted_before(full: Journal) -> None:
    noted = full.head
    mended = "UPDATE head SET records = 9, hash = (SELECT hash FROM records WHERE position = 9)"
    assert tamper(full, "DELETE FROM records WHERE position > 9", mended) == []  # nothing in the journal tells
    (problem,) = full.verify(str(noted))
    assert (problem.place, problem.message) == ("records 10 to 12", "missing")


def test_a_journal_written_anew_is_found_by_a_head_noted_before(full: Journal) -> None:
    noted = full.head
    anew = [Entry(0, "", "", "", "", "", "", "")]
    head = Head()
    for entry in full.entries():
        anew.append(sealed(head, entry.orchard, entry.kind, entry.ref, entry.at, {**entry.content, "odd": 1}))
        head = anew[-1].head
    assert faults_in(anew[1:], head) == []
    assert [problem.place for problem in faults_in(anew[1:], head, noted)] == ["record 12"]
    assert full.verify(noted) == []


@pytest.mark.parametrize("change", ["DELETE FROM head", "INSERT INTO head VALUES (2, 12, 'x')"])
def test_a_lost_note_of_the_end_is_named_and_stops_writing(full: Journal, change: str) -> None:
    (said,) = tamper(full, change)
    assert "note of its end is gone, or stands twice" in said
    with pytest.raises(InputError, match="note of its end"):
        full.observe("south", [{**SWARD, "height": "1 m"}])


@pytest.mark.parametrize("change", ["records = 11", "records = 13", "hash = 'x'"])
def test_a_changed_note_of_the_end_is_named(full: Journal, change: str) -> None:
    assert tamper(full, f"UPDATE head SET {change}") != []


@pytest.mark.parametrize("change", ["body = x'00ff'", "position = 'third'", "ref = x'41'"])
@pytest.mark.parametrize("address", ["sqlite"], indirect=True)  # PostgreSQL takes only what fits a column
def test_what_is_not_even_text_is_named(full: Journal, change: str) -> None:
    assert tamper(full, f"UPDATE records SET {change} WHERE position = 3") != []


@pytest.mark.parametrize("text", ["", "12", "12:abc", "x:" + "0" * 64])
def test_a_head_that_is_none_is_refused(full: Journal, text: str) -> None:
    with pytest.raises(InputError, match="not the head of a journal"):
        full.verify(text)


# --- any tampering ----------------------------------------------------------------------------


def chain(length: int) -> list[Entry]:
    entries: list[Entry] = []
    for number in range(length):
        head = entries[-1].head if entries else Head()
        entries.append(sealed(head, "south", "observation", f"o{number}", "2026-11-10", {"number": number}))
    return entries


def _remove(entries: list[Entry], random: random.Random) -> list[Entry]:
    at = random.randrange(len(entries))
    return entries[:at] + entries[at + 1 :]


def _swap(entries: list[Entry], random: random.Random) -> list[Entry]:
    one, other = random.sample(range(len(entries)), 2)
    swapped = list(entries)
    swapped[one], swapped[other] = _at(entries[other], one + 1), _at(entries[one], other + 1)
    return swapped


def _repeat(entries: list[Entry], random: random.Random) -> list[Entry]:
    source, place = random.randrange(len(entries)), random.randrange(len(entries) + 1)
    longer = [*entries[:place], entries[source], *entries[place:]]
    return [_at(entry, position) for position, entry in enumerate(longer, 1)]


def _alter(entries: list[Entry], random: random.Random) -> list[Entry]:
    at = random.randrange(len(entries))
    name = random.choice(["orchard", "kind", "ref", "at", "body", "previous", "hash"])
    old = getattr(entries[at], name)
    spot = random.randrange(len(old))
    new = old[:spot] + chr(ord(old[spot]) ^ 1) + old[spot + 1 :]
    return [*entries[:at], Entry(**{**vars_of(entries[at]), name: new}), *entries[at + 1 :]]


def _at(entry: Entry, position: int) -> Entry:
    return Entry(**{**vars_of(entry), "position": position})


def vars_of(entry: Entry) -> dict[str, object]:
    return {name: getattr(entry, name) for name in Entry.__dataclass_fields__}


@settings(max_examples=count("tampering with a chain"), deadline=None)
@given(st.integers(2, 40), st.sampled_from([_remove, _swap, _repeat, _alter]), st.randoms(use_true_random=False))
def test_no_tampering_goes_unseen(
    length: int, change: Callable[[list[Entry], random.Random], list[Entry]], random: random.Random
) -> None:
    entries = chain(length)
    assert faults_in(entries, entries[-1].head) == []
    assert faults_in(change(entries, random), entries[-1].head) != []
