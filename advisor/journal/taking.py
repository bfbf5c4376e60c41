"""Take what is given into records: observations and weather, checked by the same strict readers as an orchard file."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from advisor.errors import InputError, Problem
from advisor.journal.faults import conflict, refused
from advisor.journal.state import State, changes, merge_into, table
from advisor.observation import Seen, read_observations, records_of_csv
from advisor.orchard import MOST_OBSERVATIONS, OrchardFile, misplaced
from advisor.reading import Document, Place, written
from advisor.weather import Hours

if TYPE_CHECKING:
    from advisor.journal.store import Writer

Records = str | Sequence[Mapping[str, Any]]  # CSV text, or records


@dataclass(frozen=True)
class Looks:
    """Observations as given and as read, in the order given."""

    given: Sequence[Mapping[str, Any]]
    seen: Sequence[Seen]
    zone: dt.tzinfo


def read_looks(given: Records, file: OrchardFile, name: str = "observations") -> Looks:
    """Read observations, from records or from the text of a spreadsheet, against the orchard that they are of.

    name: what they are called in messages. Raises InputError with everything that is wrong.
    """
    where = written
    problems: list[Problem] = []
    if isinstance(given, str):
        rows, problems = records_of_csv(given, name)
        records: Any = rows.records
        where = rows.where
    else:
        records = given
    if not isinstance(records, list | tuple) or len(records) > MOST_OBSERVATIONS:
        raise InputError(Problem(name, "", f"observations must be a list of at most {MOST_OBSERVATIONS:,}",
                                 "Give each as {date: ..., kind: ...}."))  # fmt: skip
    document, place = Document(records, name), Place(())
    seen, found = read_observations(records, document, place, file.zone, where)
    problems = [*problems, *found]
    if not problems:
        problems = list(misplaced(seen, file.blocks, file.habitats, document, place, where))
    if problems:
        raise InputError(problems)
    return Looks(records, seen, file.zone)


def take_looks(writer: Writer, orchard: str, state: State, looks: Looks, *, correct: bool = False) -> list[str]:
    """Keep observations; their ids, in the order given. What is kept already is not kept twice.

    correct: an id that stands for something else is corrected, rather than refused.
    """
    standing = dict(state.observations)
    ids = []
    for one, record in zip(looks.seen, looks.given, strict=True):
        id = one.id
        if id == one.id_from_content() and id in standing and not _says(standing[id], one, looks.zone):
            id = one.id_from_content(12)  # two contents that share four digits
        given = {**record, "id": id}
        if id not in standing:
            writer.append(orchard, "observation", id, {"given": given})
        elif not _says(standing[id], one, looks.zone):
            if not correct:
                raise conflict(f"observation {id}", "another observation is kept under this id",
                               "Correct that one, or give a new id.")  # fmt: skip
            writer.append(orchard, "correction", id, {"given": given})
        else:
            given = standing[id]
        standing[id] = given
        ids.append(id)
    if len(standing) > MOST_OBSERVATIONS:
        raise refused("observations", f"an orchard can hold {MOST_OBSERVATIONS:,} observations", "Withdraw old ones.")
    return ids


def _says(held: Mapping[str, Any], one: Seen, zone: dt.tzinfo) -> bool:
    """Whether an observation that is kept says the same as another."""
    kept, _ = read_observations([held], Document([held], ""), (), zone)
    return bool(kept) and kept[0].model_copy(update={"id": one.id}) == one


def rows_of_upload(given: Any) -> Any:
    """Weather as CSV text or records, but never the name of a file."""
    if isinstance(given, str) and "\n" not in given.strip():
        raise refused("weather", "a file name is not read here", "Give the hours themselves.", given)
    return given


def take_weather(writer: Writer, orchard: str, state: State, read: Hours, forecast: bool) -> dict[str, int]:
    """Keep what hourly weather says that was not known; counts of hours `new`, `corrected` and `unchanged`."""
    kind = "forecast" if forecast else "weather"
    known = state.columns(kind)
    body, counts = changes(known, read)
    if body is not None:
        whole = {name: dict(values) for name, values in known.items()}
        merge_into(whole, body)
        table(whole, dt.UTC)  # refuses what cannot be one table, such as a hundred years
        writer.append(orchard, kind, f"{body['time'][0]} {body['time'][-1]}", body)
    return counts
