"""Read hourly weather from CSV or from records, strictly.

Columns: `time` (start of the hour; ISO 8601, with offset or in the orchard's zone), and any of `temp_c` or `temp_f`,
`humidity_pct`, `rain_mm` or `rain_in`, `wind_ms` or `wind_mph`, `wet`, `solar_wm2`, `dew_point_c` or `dew_point_f`.
A time within an hour counts for that hour. An empty cell, or NA, is unknown.

Short gaps, of 3 hours at most, are filled on a straight line for temperature, humidity, wind, sun and dew point. Rain
and leaf wetness are not: what fell or stayed wet in an hour says little of the next, and a filled zero would call an
unseen wet hour dry. Longer gaps stay unknown and are named.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from advisor.errors import InputError, Problem
from advisor.given import unknown_field
from advisor.reading import other_marks, read_text
from advisor.weather_table import COLUMNS, Daily, Floats, Report, Weather, end_of, merge, on_grid

__all__ = ["Daily", "Hours", "Report", "Weather", "end_of", "merge", "read_hours", "read_weather", "table_of"]

LONGEST_FILLED = 3  # hours
MOST_PROBLEMS = 20  # of one table are listed; a shifted column would otherwise give thousands
MOST_HOURS = 24 * 366 * 12
NAMED_GAPS = 8
SENSOR_ERROR = 2.0  # °C by which a dew point may lie above the temperature (common practice, no source)

# Column as written: (column inside, factor, offset, lowest, highest) with limits in the unit inside. The limits are
# wide: about the world's weather records, or physically impossible. Humidity a little over 100 is a sensor's error,
# cut to 100.
_READ: dict[str, tuple[str, float, float, float, float]] = {
    "temp_c": ("temp_c", 1.0, 0.0, -60.0, 60.0),
    "temp_f": ("temp_c", 1 / 1.8, -32 / 1.8, -60.0, 60.0),
    "humidity_pct": ("humidity_pct", 1.0, 0.0, 0.0, 105.0),
    "rain_mm": ("rain_mm", 1.0, 0.0, 0.0, 300.0),
    "rain_in": ("rain_mm", 25.4, 0.0, 0.0, 300.0),
    "wind_ms": ("wind_ms", 1.0, 0.0, 0.0, 90.0),
    "wind_mph": ("wind_ms", 0.44704, 0.0, 0.0, 90.0),
    "wet": ("wet", 1.0, 0.0, 0.0, 1.0),
    "solar_wm2": ("solar_wm2", 1.0, 0.0, -20.0, 1_600.0),
    "dew_point_c": ("dew_point_c", 1.0, 0.0, -90.0, 45.0),
    "dew_point_f": ("dew_point_c", 1 / 1.8, -32 / 1.8, -90.0, 45.0),
}
_FILLED = ("temp_c", "humidity_pct", "wind_ms", "solar_wm2", "dew_point_c")
_UNKNOWN = frozenset({"", "na", "n/a", "null", "none", "-"})


def read_weather(source: Path | str | Sequence[Mapping[str, Any]], zone: dt.tzinfo, file: str = "weather") -> Weather:
    """Read a table: a path to a CSV file, CSV text, or a list of hourly records.

    zone: the orchard's zone, for times without an offset. Raises InputError that names every bad row and column.
    """
    read = read_hours(source, zone, file)
    return table_of(read, zone, str(source) if isinstance(source, Path) else file)


@dataclass(frozen=True, eq=False)
class Hours:
    """The rows of a table as given, in inside units, before gaps are filled.

    hours: of each row, hours since 1970 in UTC. columns: one value a row, NaN unknown. notes: what was odd about local
    times. skipped: rows in an hour that the clocks skip.
    """

    hours: Sequence[int]
    columns: Mapping[str, Floats]
    notes: Sequence[str] = ()
    skipped: int = 0


def read_hours(source: Path | str | Sequence[Mapping[str, Any]], zone: dt.tzinfo, file: str = "weather") -> Hours:
    """The rows of a table as given, checked as strictly as `read_weather`, with nothing filled."""
    if isinstance(source, Path):
        return read_hours(read_text(source), zone, str(source))
    if isinstance(source, str):
        names, rows, places, problems = _from_csv(source, file)
    else:
        names, rows, places, problems = _from_records(source, file)
    problems = [*_bad_columns(names, file), *problems]
    if problems:
        raise InputError(_some(problems, file))
    if _days_only([row[names.index("time")] for row in rows]):
        raise InputError(Problem(file, "column time", "these are days, not hours",
                                 "Give a row for each hour: a day's sum tells neither wet spells nor frost.", None,
                                 str(rows[0][names.index("time")])[:60]))
    columns, problems = _numbers(names, rows, places, file)
    hours, notes, skipped, time_problems = _moments([row[names.index("time")] for row in rows], zone, places, file)
    problems = [*problems, *time_problems]
    if problems:
        raise InputError(_some(problems, file))
    if skipped:  # first of all, so that the row of the hour itself counts, wherever it stands
        order = [*skipped, *(row for row in range(len(hours)) if row not in skipped)]
        hours, columns = [hours[row] for row in order], {name: values[order] for name, values in columns.items()}
    return Hours(hours, columns, notes, len(skipped))


class _Places:
    """How the rows of a table are named: by line in a CSV file, by position in a list."""

    def __init__(self, lines: Sequence[int] | None) -> None:
        self.lines = lines

    def problem(self, file: str, row: int, column: str, message: str, mend: str, value: object) -> Problem:
        text = str(value)[:60]
        if self.lines is None:
            return Problem(file, f"[{row}].{column}", message, mend, None, text)
        return Problem(file, f"row {self.lines[row]}, column {column}", message, mend, None, text)

    def row(self, row: int) -> str:
        return f"row {row}" if self.lines is None else f"row {self.lines[row]}"


_Read = tuple[list[str], list[list[Any]], _Places, list[Problem]]


def _from_csv(text: str, file: str) -> _Read:
    reader = csv.reader(io.StringIO(text, newline=""))
    rows: list[list[Any]] = []
    lines: list[int] = []
    problems: list[Problem] = []
    names: list[str] = []
    try:
        for row in reader:
            if not any(map(str.strip, row)):
                continue
            if not names:
                names = [name.strip().lower() for name in row]
                continue
            if len(row) != len(names):
                if len(row) > len(names) and any(map(str.strip, row[len(names):])):
                    problems.append(Problem(file, f"row {reader.line_num}",
                                            f"{len(row)} cells under {len(names)} columns",
                                            "Check the commas of that row.", None, ",".join(row)[:60]))
                row = (row + [""] * len(names))[:len(names)]
            rows.append(row)
            lines.append(reader.line_num)
    except csv.Error as fault:
        problems.append(Problem(file, f"row {reader.line_num}", f"not readable as CSV: {fault}",
                                "Check the quotes of that row."))
    return names, rows, _Places(lines), problems


def _from_records(records: Sequence[Mapping[str, Any]], file: str) -> _Read:
    names: dict[str, None] = {}
    problems: list[Problem] = []
    for position, record in enumerate(records):
        if isinstance(record, Mapping):
            names.update(dict.fromkeys(map(str, record)))
        else:
            problems.append(Problem(file, f"[{position}]", "an hour of weather must hold named fields",
                                    "Write it as {time: ..., temp_c: ...}.", None, str(record)[:60]))
    if problems or not records:
        return ["time", "temp_c"], [], _Places(None), problems
    return list(names), [[record.get(name) for name in names] for record in records], _Places(None), problems


def _bad_columns(names: Sequence[str], file: str) -> list[Problem]:
    if problems := other_marks(names, file):
        return problems
    for name in names:
        if name != "time" and name not in _READ:
            message, mend = unknown_field(name, ["time", *_READ])
            problems.append(Problem(file, f"column {name}", message.replace("field", "column"),
                                    f"{mend} Take out columns that are not listed.", 1, name))
    if len(set(names)) < len(names):
        problems.append(Problem(file, "header", "a column stands twice", "Keep one of the two.", 1))
    if "time" not in names:
        problems.append(Problem(file, "header", "the column time is missing",
                                "Give the start of each hour as time.", 1))
    inside = [_READ[name][0] for name in names if name in _READ]
    if not inside:
        problems.append(Problem(file, "header", "nothing is measured", f"Give one or more of {', '.join(_READ)}.", 1))
    for name in sorted({name for name in inside if inside.count(name) > 1}):
        both = " and ".join(column for column in names if column in _READ and _READ[column][0] == name)
        problems.append(Problem(file, "header", f"{both} say the same thing", "Keep one of the two.", 1))
    return problems


def _numbers(names: Sequence[str], rows: Sequence[Sequence[Any]], places: _Places,
             file: str) -> tuple[dict[str, Floats], list[Problem]]:
    columns: dict[str, Floats] = {}
    problems: list[Problem] = []
    for position, name in enumerate(names):
        if name == "time":
            continue
        inside, factor, offset, low, high = _READ[name]
        cells = [row[position] for row in rows]
        try:
            values = np.array([np.nan if cell in ("", None) else float(cell) for cell in cells], float)
            blank = [row for row in np.flatnonzero(np.isnan(values)) if cells[row] not in ("", None)]  # "nan" in words
        except (TypeError, ValueError):
            values, found = _slowly(cells, name, places, file)
            problems += found
            blank = []
        booleans = [row for row, cell in enumerate(cells) if isinstance(cell, bool) and inside != "wet"]
        values = values * factor + offset
        wrong = np.flatnonzero((values < low) | (values > high))
        for row in sorted({*blank, *booleans, *wrong}):
            problems.append(places.problem(file, int(row), name, "this cannot be",
                                           f"It must lie between {_back(low, factor, offset)} and "
                                           f"{_back(high, factor, offset)}; leave the cell empty if it is not known.",
                                           cells[row]))
        columns[inside] = values
    problems += _dew_above_air(names, columns, rows, places, file)
    if "humidity_pct" in columns:
        columns["humidity_pct"] = np.minimum(columns["humidity_pct"], 100.0)
    if "solar_wm2" in columns:  # sensors read a little below zero at night
        columns["solar_wm2"] = np.maximum(columns["solar_wm2"], 0.0)
    return columns, problems


def _dew_above_air(names: Sequence[str], columns: Mapping[str, Floats], rows: Sequence[Sequence[Any]], places: _Places,
                   file: str) -> list[Problem]:
    """Dew points above the temperature, as a column in the wrong unit gives them."""
    if not {"temp_c", "dew_point_c"} <= set(columns):
        return []
    name = next(name for name in names if name.startswith("dew_point"))
    return [places.problem(file, int(row), name, "the dew point cannot lie above the temperature",
                           "Check its unit; leave the cell empty if it is not known.",
                           rows[int(row)][names.index(name)])
            for row in np.flatnonzero(columns["dew_point_c"] > columns["temp_c"] + SENSOR_ERROR)]


def _back(limit: float, factor: float, offset: float) -> str:
    return f"{round((limit - offset) / factor, 2):g}"


def _is_unknown(cell: object) -> bool:
    return cell is None or (isinstance(cell, str) and cell.strip().lower() in _UNKNOWN)


def _slowly(cells: Sequence[Any], name: str, places: _Places, file: str) -> tuple[Floats, list[Problem]]:
    """Cell by cell, for a column in which something is not a number."""
    values = np.full(len(cells), np.nan)
    problems = []
    for row, cell in enumerate(cells):
        if _is_unknown(cell):
            continue
        with suppress(TypeError, ValueError):
            values[row] = float(cell)
        if np.isnan(values[row]):
            problems.append(places.problem(file, row, name, "this is not a number",
                                           "Write a plain number, or leave the cell empty.", cell))
    return values, problems


def _moments(cells: Sequence[Any], zone: dt.tzinfo, places: _Places,
             file: str) -> tuple[list[int], list[str], list[int], list[Problem]]:
    """The UTC hour of each row (hours since 1970), what was odd about local times, and the rows that no clock showed.

    Where clocks go back, the first row of the doubled hour is the first of the two, a second equal row the second; in a
    table that begins with the newest hour it is the other way round.
    Where they go forward, a row in the hour that the clocks skip is read as an hour later.
    """
    hours: dict[int, int] = {}
    problems: list[Problem] = []
    notes: list[str] = []
    seen_first: dict[tuple[dt.datetime, dt.timedelta], int] = {}
    skipped: list[int] = []
    rows = list(enumerate(cells))
    for row, cell in reversed(rows) if _newest_first(cells) else rows:
        try:
            moment = cell if isinstance(cell, dt.datetime) else dt.datetime.fromisoformat(str(cell).strip())
        except ValueError:
            problems.append(places.problem(file, row, "time", "this is not a time",
                                           "Write ISO 8601, such as 2026-05-18T06:00 or 2026-05-18T06:00-04:00.", cell))
            continue
        if moment.tzinfo is None:
            hour = moment.replace(minute=0, second=0, microsecond=0)
            first, second = hour.replace(tzinfo=zone), hour.replace(tzinfo=zone, fold=1)
            before, after = first.utcoffset() or dt.timedelta(), second.utcoffset() or dt.timedelta()
            moment = first
            if before > after:  # the doubled hour of autumn
                seen = seen_first.setdefault((hour, before), row)
                moment = first if seen == row else second
            elif before < after:  # the hour that spring skips
                skipped.append(row)
                notes.append(f"{places.row(row).capitalize()}: {hour:%Y-%m-%d %H:%M} does not exist in {zone}, where "
                             "clocks go forward; it is read as an hour later, unless that hour has its own row.")
        if not 1900 <= moment.year <= 2200:
            problems.append(places.problem(file, row, "time", "the year is out of place", "Check it.", cell))
            continue
        hours[row] = _hour_of(moment, zone)
    return [hours[row] for row in sorted(hours)], notes, skipped, problems


def _days_only(cells: Sequence[Any]) -> bool:
    """Whether no row has a time of day; of midnights alone some programs write the date."""
    return len(cells) > 1 and all(re.fullmatch(r"\d{4}-\d\d-\d\d", str(cell).strip()) for cell in cells)


def _newest_first(cells: Sequence[Any]) -> bool:
    """Whether a table of local times runs backwards."""
    with suppress(ValueError, TypeError, IndexError):
        first, last = (dt.datetime.fromisoformat(str(cell).strip()) for cell in (cells[0], cells[-1]))
        return first > last
    return False


def _hour_of(moment: dt.datetime, zone: dt.tzinfo) -> int:
    """The UTC hour (since 1970) that stands for the orchard's own hour of a moment.

    Where its clocks are half an hour off the whole hours of UTC, that is the hour that begins within its own, so that
    what was measured from midnight on belongs to the new day.
    """
    begins = moment.astimezone(zone).replace(minute=0, second=0, microsecond=0)
    return -int(-begins.timestamp() // 3600)


def table_of(read: Hours, zone: dt.tzinfo, file: str = "weather") -> Weather:
    """Rows on a grid of hours, of several for one hour the last, short gaps filled; the report says what was done."""
    hours, columns, notes, skipped = read.hours, read.columns, read.notes, read.skipped
    at = np.array(hours, np.int64)
    if not len(at):
        return on_grid(dt.datetime(1970, 1, 1, tzinfo=dt.UTC), {name: np.zeros(0) for name in COLUMNS},
                       Report(sentences=("The weather table holds no hours.",)))
    first = int(at.min())
    length = int(at.max()) - first + 1
    if length > MOST_HOURS:
        raise InputError(Problem(file, "column time", f"the hours span {length / 8766:.0f} years; at most 12 are read",
                                 "Check the years, or split the table."))
    start = dt.datetime.fromtimestamp(first * 3600, dt.UTC)
    places, counts = np.unique(at, return_counts=True)
    doubled = places[counts > 1]
    sentences = list(notes)
    if len(doubled):
        named = _local(start, int(doubled[0]) - first, zone)
        sentences.append(f"{len(doubled)} hour{_s(len(doubled))} given more than once (first {named}): "
                         "of each the later row counts.")
    # Of rows for one hour the last counts; NumPy leaves the order of repeated indices open, so it is made explicit.
    last = {hour: row for row, hour in enumerate(hours)}
    rows = np.array(list(last.values()), np.int64)
    grid: dict[str, Floats] = {}
    for name, values in columns.items():
        grid[name] = np.full(length, np.nan)
        grid[name][at[rows] - first] = values[rows]
    filled = {name: fill_short_gaps(grid[name]) for name in _FILLED if name in grid}
    if any(filled.values()):
        each = ", ".join(f"{name} {count}" for name, count in filled.items() if count)
        sentences.append(f"Gaps of up to {LONGEST_FILLED} hours filled on a straight line: {each} hours in all.")
    gaps = _gaps(grid)
    short = [gap for gap in gaps if gap[1] - gap[0] <= LONGEST_FILLED]
    if short:
        what = ", ".join(sorted({name for _, _, names in short for name in names}))
        hours_short = sum(end - begin for begin, end, _ in short)
        sentences.append(f"Unknown in short gaps that are not filled, {hours_short} hour{_s(hours_short)} in all: "
                         f"{what}.")
    long = [gap for gap in gaps if gap[1] - gap[0] > LONGEST_FILLED]
    for begin, end, names in long[:NAMED_GAPS]:
        what = "everything" if len(names) == len(grid) else ", ".join(names)
        span = f"{_local(start, begin, zone)} to {_local(start, end, zone)}"
        sentences.append(f"Unknown from {span} ({end - begin} hours): {what}.")
    if len(long) > NAMED_GAPS:
        rest = sum(end - begin for begin, end, _ in long[NAMED_GAPS:])
        sentences.append(f"And {len(long) - NAMED_GAPS} more gaps, {rest} hours in all.")
    report = Report(rows=len(hours), hours=length, filled=sum(filled.values()), gaps=len(long),
                    duplicates=int((counts - 1).sum()), skipped_by_clock=skipped, sentences=tuple(sentences))
    return on_grid(start, grid, report)


def fill_short_gaps(values: Floats, longest: int = LONGEST_FILLED) -> int:
    """Fill, in place, runs of NaN no longer than `longest` that lie between known values; the number filled."""
    filled = 0
    for begin, end in _runs(np.isnan(values)):
        if begin and end < len(values) and end - begin <= longest:
            values[begin:end] = np.interp(np.arange(begin, end), (begin - 1, end), (values[begin - 1], values[end]))
            filled += end - begin
    return filled


def _runs(mask: Any) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return [(int(begin), int(end)) for begin, end in zip(edges[::2], edges[1::2], strict=True)]


def _gaps(grid: Mapping[str, Floats]) -> list[tuple[int, int, list[str]]]:
    """Runs of unknown hours, with the columns that share each; columns that are empty throughout are no gap."""
    together: dict[tuple[int, int], list[str]] = {}
    for name, values in grid.items():
        mask = np.isnan(values)
        if not mask.all():
            for run in _runs(mask):
                together.setdefault(run, []).append(name)
    return [(begin, end, names) for (begin, end), names in sorted(together.items())]


def _s(count: int) -> str:
    return "" if count == 1 else "s"


def _local(start: dt.datetime, hours: int, zone: dt.tzinfo) -> str:
    return f"{(start + dt.timedelta(hours=hours)).astimezone(zone):%Y-%m-%d %H:%M}"


def _some(problems: Sequence[Problem], file: str) -> list[Problem]:
    if len(problems) <= MOST_PROBLEMS:
        return list(problems)
    rest = len(problems) - MOST_PROBLEMS
    return [*problems[:MOST_PROBLEMS], Problem(file, "", f"and {rest} more of the kind", "Mend these first.")]
