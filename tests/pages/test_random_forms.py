"""Forms filled in at random, as hurried or ill-meaning people might: read or refused beside a field, never broken."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor import load_orchard
from advisor.api.pages.look_form import Asked, look_form, observation_of, problems_by_field
from advisor.api.pages.looks import LOOKS
from advisor.api.pages.orchard_form import ORCHARD as ASKS
from advisor.api.pages.orchard_form import (
    ROWS,
    changed_rows,
    content_of,
    flatten,
    problems_by_place,
    row_numbers,
    sections,
)
from advisor.api.pages.walk import told
from advisor.errors import InputError
from advisor.observation import read_observations
from advisor.reading import Document
from counts import count

SOME = st.sampled_from(
    ["", "12", "-41,5", "30 cm", "12 in", "6 m x 5 m", "apple", "apple scab, voles", "meadow", "hedge", "upper", "mesh",
     "1e9", "none", "yes", "2026-05-18", "\u2212", "999999999999", "sunday", "<b>", "nan", "5 %", "fresh", "codling-moth"]
) | st.text(max_size=12).map(str.strip)  # fmt: skip
NAMES = [f"orchard.{one.name}" for one in ASKS] + [
    f"{rows}.{number}.{one.name}" for rows, fields in ROWS.items() for number in (0, 1, 7) for one in fields
]
ODD = ["orchard.hours_per_week.may", "orchard.hours_per_week.smarch", "orchard.tools.scythe", "orchard.tools.spoon",
       "blocks.0.was", "blocks.1.was", "blocks.999.id", "blocks.x.id", "orchard"]  # fmt: skip
FORMS = st.dictionaries(st.sampled_from([*NAMES, *ODD]), SOME, max_size=25)
MANY = settings(max_examples=count("forms filled in at random"), deadline=None,
                suppress_health_check=[HealthCheck.function_scoped_fixture])  # fmt: skip


@pytest.fixture(scope="module")
def demo() -> Any:
    return load_orchard(str(files("advisor") / "demo" / "orchard.yaml"))


@MANY
@given(texts=FORMS)
def test_an_orchard_is_read_or_refused_beside_its_fields(texts: dict[str, str]) -> None:
    content = content_of(texts, {})
    again = content_of(flatten(content), content)
    assert again == content  # what a form wrote, a form that nobody touched leaves alone
    try:
        load_orchard(content, files=False)
        problems = {}
    except InputError as refused:
        problems = problems_by_place(refused, texts)
        assert problems
    shown = sections(texts, problems, us=False)
    told_beside = sum(
        len(field["problems"])
        for part in (shown["orchard"], *shown["blocks"], *shown["habitats"])
        for field in (*part["first"], *part["more"])
    ) + sum(len(row["problems"]) for rows in ROWS for row in shown[rows])
    assert told_beside + len(problems.get("", [])) == sum(map(len, problems.values()))


@MANY
@given(
    texts=FORMS, do=st.sampled_from(["add-blocks", "add-habitats", "drop-blocks-0", "drop-habitats-7", "drop-", "x"])
)
def test_rows_change_and_the_rest_stays(texts: dict[str, str], do: str) -> None:
    changed = changed_rows(texts, do)
    kept = {name: text for name, text in texts.items() if name.startswith("orchard")}
    assert kept.items() <= changed.items()
    rows = do.split("-")[1] if "-" in do else ""
    if rows in ROWS:
        before, after = len(row_numbers(texts, rows)), len(row_numbers(changed, rows))
        dropped = do.startswith("drop") and int(do.rpartition("-")[2]) in row_numbers(texts, rows)
        assert after == before + do.startswith("add") - dropped
        assert row_numbers(changed, rows) == list(range(after))


@MANY
@given(
    data=st.data(), kind=st.sampled_from(sorted(LOOKS)), units=st.sampled_from(["", "cm", "in", "%", "\u00b0F", "h"])
)
def test_a_look_is_read_or_refused_beside_its_fields(demo: Any, data: Any, kind: str, units: str) -> None:
    look = LOOKS[kind]
    names = [*look.first, *look.more, "note"]
    form = data.draw(st.dictionaries(st.sampled_from([*names, *(f"{name}.unit" for name in names)]), SOME, max_size=8))
    form |= {
        "kind": kind,
        "date": data.draw(SOME),
        "place": data.draw(st.sampled_from(["upper", "stem-bed", "whole-orchard"])),
    }
    form |= {name: units for name in form if name.endswith(".unit")}
    found = observation_of(form, demo)
    seen, problems = read_observations([found], Document([found], "form"))
    assert bool(seen) != bool(problems)
    assert told(found)
    shown = look_form(Asked(look), demo, {}, 0, form, problems_by_field(InputError(problems)) if problems else {})
    beside = [text for one in (*shown["first"], *shown["more"]) for text in one["problems"]]
    assert bool(beside or shown["problems"] or shown["place_problems"]) is bool(problems)
