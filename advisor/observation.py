"""What a grower sees: dated observations, read from records or from CSV.

Observation         any one of the kinds, told apart by `kind`
read_observations   records into observations, with every problem found
records_of_csv      rows of a CSV file as records
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Callable, Mapping, Sequence
from typing import Annotated, Any

from pydantic import Field, TypeAdapter, ValidationError

from advisor import words
from advisor.errors import Problem
from advisor.given import problems_of, unknown_field
from advisor.observation_base import Seen
from advisor.observation_kinds import (
    AllyCount,
    Bees,
    BudKill,
    CropCount,
    DiseaseSign,
    ForecastSeen,
    FruitSample,
    FruitSet,
    Heap,
    Intent,
    LeafFall,
    LeafTest,
    MulchSeen,
    Mummies,
    Part,
    PestCount,
    PestDamage,
    PlantBloom,
    ShootGrowth,
    Snow,
    SoilTest,
    SoilWater,
    Stems,
    Sward,
    TreeSign,
    TreeStage,
    VoleSign,
    WildlifeSign,
    Work,
)
from advisor.reading import Document, Place, other_marks, written
from advisor.results import Result

__all__ = [
    "KINDS", "AllyCount", "Bees", "BudKill", "CropCount", "DiseaseSign", "ForecastSeen", "FruitSample", "FruitSet",
    "Heap", "Intent", "LeafFall", "LeafTest", "MulchSeen", "Mummies", "Observation", "Part", "PestCount", "PestDamage",
    "PlantBloom", "Result", "Seen", "ShootGrowth", "Snow", "SoilTest", "SoilWater", "Stems", "Sward", "TreeSign",
    "TreeStage", "VoleSign", "WildlifeSign", "Work", "adapter", "read_observations", "records_of_csv",
]  # fmt: skip

Observation = Annotated[
    TreeStage | TreeSign | Sward | PlantBloom | MulchSeen | Heap | Stems | LeafFall | PestCount | PestDamage | AllyCount
    | DiseaseSign | Mummies | FruitSet | CropCount | BudKill | ShootGrowth | LeafTest | SoilTest | FruitSample | Bees
    | VoleSign | WildlifeSign | Snow | SoilWater | Work | ForecastSeen | Intent,
    Field(discriminator="kind"),
]

_CLASSES: tuple[type[Seen], ...] = (
    TreeStage, TreeSign, Sward, PlantBloom, MulchSeen, Heap, Stems, LeafFall, PestCount, PestDamage, AllyCount,
    DiseaseSign, Mummies, FruitSet, CropCount, BudKill, ShootGrowth, LeafTest, SoilTest, FruitSample, Bees, VoleSign,
    WildlifeSign, Snow, SoilWater, Work, ForecastSeen, Intent,
)  # fmt: skip
KINDS: dict[str, type[Seen]] = {cls.model_fields["kind"].annotation.__args__[0]: cls for cls in _CLASSES}  # type: ignore[union-attr]


def adapter() -> TypeAdapter[Any]:
    """Reads one observation of any kind, and knows the schema of all."""
    return TypeAdapter(Observation)


def read_observations(
    records: Sequence[Any],
    document: Document,
    place: Place = (),
    zone: dt.tzinfo = dt.UTC,
    where: Callable[[Place], str] = written,
) -> tuple[list[Seen], list[Problem]]:
    """Observations from plain records, and everything that is wrong with the others.

    document, place: where the records stand, for messages. zone: the orchard's. where: writes a place for people.
    """
    found: list[Seen] = []
    problems: list[Problem] = []
    for position, record in enumerate(records):
        here = (*place, position)
        refuse = _refuser(document, here, where)
        if not isinstance(record, Mapping):
            problems.append(refuse((), "an observation must hold named fields", "Write {date: ..., kind: ...}.",
                                   record))
            continue
        kind = record.get("kind")
        if not isinstance(kind, str) or kind not in KINDS:
            problems.append(_unknown_kind(kind, refuse))
            continue
        try:
            found.append(KINDS[kind].model_validate(dict(record), context={"zone": zone}))
        except ValidationError as fault:
            wrong = problems_of(fault, KINDS[kind], document, here, where)
            own = [one for one in wrong if not one.place.endswith("moment")]  # it follows from the date
            problems += own or wrong
    return found, problems


def _refuser(document: Document, here: Place, where: Callable[[Place], str]) -> Callable[..., Problem]:
    def refuse(inner: Place, message: str, mend: str, value: object = None) -> Problem:
        whole = (*here, *inner)
        shown = None if value is None else str(value)[:60]
        return Problem(document.file, where(whole), message, mend, document.line(whole), shown)

    return refuse


def _unknown_kind(kind: object, refuse: Callable[..., Problem]) -> Problem:
    if kind is None:
        return refuse((), "kind is missing", "Write what was looked at, such as kind: sward.")
    close = words.nearest(str(kind), KINDS)
    offer = f"Did you mean {' or '.join(close)}?" if close else f"Write one of: {', '.join(KINDS)}."
    return refuse(("kind",), f"{str(kind)[:60]!r} is not a kind of observation", offer, kind)


# --- CSV --------------------------------------------------------------------------------------


class Rows:
    """Records read from CSV, and how to name their places for people: by row and column."""

    def __init__(self, records: Sequence[dict[str, Any]], lines: Sequence[int]) -> None:
        self.records = records
        self.lines = lines

    def where(self, place: Place) -> str:
        row = next((part for part in place if isinstance(part, int)), None)
        if row is None:
            return written(place)
        column = ".".join(str(part) for part in place[place.index(row) + 1:] if not isinstance(part, int))
        return f"row {self.lines[row]}, column {column}" if column else f"row {self.lines[row]}"


def records_of_csv(text: str, file: str) -> tuple[Rows, list[Problem]]:
    """The rows of a CSV file as records: empty cells are left out, `results.N` is nested, lists are parted by ;."""
    reader = csv.reader(io.StringIO(text, newline=""))
    names: list[str] = []
    records: list[dict[str, Any]] = []
    lines: list[int] = []
    problems: list[Problem] = []
    try:
        for row in reader:
            if not any(map(str.strip, row)):
                continue
            if not names:
                names = [name.strip() for name in row]
                problems += _bad_columns(names, file)
                if not {"date", "kind"} <= set(names):  # no row can be read under such a header
                    break
                continue
            if len(row) > len(names) and any(map(str.strip, row[len(names):])):
                problems.append(Problem(file, f"row {reader.line_num}", f"{len(row)} cells under {len(names)} columns",
                                        "Check the commas of that row.", None, ",".join(row)[:60]))
                continue
            record = _record(dict(zip(names, row, strict=False)))
            if record.get("kind") == "heap":
                problems.append(Problem(file, f"row {reader.line_num}, column kind",
                                        "a heap has parts, which no row can hold",
                                        "Write heaps in a YAML or JSON file.", None, "heap"))
                continue
            records.append(record)
            lines.append(reader.line_num)
    except csv.Error as fault:
        problems.append(Problem(file, f"row {reader.line_num}", f"not readable as CSV: {fault}",
                                "Check the quotes of that row."))
    if not names:
        problems.append(Problem(file, "", "the file is empty", "Give a header row: date, kind, block, and so on."))
    return Rows(records, lines), problems


def _record(cells: Mapping[str, str]) -> dict[str, Any]:
    record: dict[str, Any] = {}
    for name, cell in cells.items():
        value = cell.strip()
        if not value:
            continue
        if name.startswith("results."):
            record.setdefault("results", {})[name.removeprefix("results.")] = value
        elif name in ("with", "plants"):
            record[name] = [part.strip() for part in value.replace(";", ",").split(",") if part.strip()]
        else:
            record[name] = value
    return record


def _bad_columns(names: Sequence[str], file: str) -> list[Problem]:
    if problems := other_marks(names, file):
        return problems
    if not {"date", "kind"} & set(names):
        return [Problem(file, "header", "the first row does not name the columns",
                        "Begin with a row of names: date, kind, block, and a column for each field.", 1,
                        ",".join(names)[:60])]
    known = {info.alias or name for cls in _CLASSES for name, info in cls.model_fields.items()} - {"moment", "parts"}
    for name in names:
        if name not in known and not name.startswith("results."):
            message, mend = unknown_field(name, known)
            problems.append(Problem(file, f"column {name}", message.replace("field", "column"), mend, 1, name))
    problems += [Problem(file, "header", f"the column {name} stands twice", "Keep one of the two.", 1)
                 for name in sorted({name for name in names if names.count(name) > 1})]
    problems += [Problem(file, "header", f"the column {name} is missing", f"Give {name} in every row.", 1)
                 for name in ("date", "kind") if name not in names]
    return problems
