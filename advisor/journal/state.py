"""What an orchard's records amount to: the newest content, the observations that stand, the weather merged.

State   folded from the records, one after another; `file` is the orchard file that they make up
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from advisor.journal.chain import Entry, digest
from advisor.orchard import OrchardFile, load_orchard
from advisor.weather import Hours, Weather, table_of

GIVEN = ("orchard", "observation", "correction", "withdrawal", "weather", "forecast")  # what advice is asked with

Columns = dict[str, dict[int, float]]  # column -> hour since 1970, UTC -> value in its inside unit


@dataclass(frozen=True)
class Version:
    """One version of an orchard's content. number: from 1. hash: of the content, equal for equal content."""

    id: str
    number: int
    hash: str
    content: Mapping[str, Any] = field(repr=False, compare=False)


@dataclass
class State:
    """An orchard as its records leave it. observations: by id, as given; withdrawn ones are gone."""

    position: int = 0
    version: Version | None = None
    observations: dict[str, dict[str, Any]] = field(default_factory=dict)
    weather: Columns = field(default_factory=dict)
    forecast: Columns = field(default_factory=dict)

    def take(self, entries: Iterable[Entry]) -> None:
        """Fold in further records."""
        for entry in entries:
            body = entry.content
            if entry.kind == "orchard":
                self.version = version_of(entry)
            elif entry.kind in ("observation", "correction"):
                self.observations[entry.ref] = body["given"]
            elif entry.kind == "withdrawal":
                self.observations.pop(entry.ref, None)
            else:
                merge_into(self.forecast if entry.kind == "forecast" else self.weather, body)
            self.position = entry.position

    def file(self) -> OrchardFile:
        """The orchard file that all of it makes up."""
        assert self.version is not None
        content = self.version.content
        fitting, left_out = _fitting(self.observations.values(), content)
        file = load_orchard({**content, "observations": fitting}, files=False)
        notes = list(file.notes)
        if left_out:
            notes.append(f"{len(left_out)} observations are of places that are no longer so in the orchard, and are "
                         f"left out: {', '.join(left_out[:5])}{' and others' if len(left_out) > 5 else ''}.")  # fmt: skip
        weather, forecast = table(self.weather, file.zone), table(self.forecast, file.zone)
        given = dict(file.given)
        for name, columns, read in (("weather", self.weather, weather), ("forecast", self.forecast, forecast)):
            if read is not None:
                given[name] = list(rows_of(columns))
                notes += [f"{name.capitalize()}: {sentence}" for sentence in read.report.sentences]
        return replace(file, notes=tuple(notes), given=given, weather=weather, forecast=forecast)


def version_of(entry: Entry) -> Version:
    """The version that an `orchard` record holds."""
    content = entry.content["content"]
    return Version(entry.orchard, int(entry.ref), digest(content), content)


def _fitting(
    observations: Iterable[dict[str, Any]], content: Mapping[str, Any]
) -> tuple[list[dict[str, Any]], list[str]]:
    """Observations that fit the orchard as it now is, and the ids of those whose block or habitat is gone or younger."""
    planted = {block["id"]: block.get("planted") for block in content["blocks"]}
    habitats = {habitat["id"] for habitat in content.get("habitats") or ()}
    fitting, left_out = [], []
    for one in observations:
        block, habitat = one.get("block"), one.get("habitat")
        gone = (block is not None and block not in planted) or (habitat is not None and habitat not in habitats)
        young = block is not None and not gone and planted[block] and int(str(one["date"])[:4]) < int(planted[block])
        if gone or young:
            left_out.append(str(one["id"]))
        else:
            fitting.append(one)
    return fitting, left_out


# --- weather ----------------------------------------------------------------------------------


def hour_text(hour: int) -> str:
    return f"{dt.datetime.fromtimestamp(hour * 3600, dt.UTC):%Y-%m-%dT%H:%MZ}"


def hour_of(text: str) -> int:
    return int(dt.datetime.fromisoformat(text).timestamp() // 3600)


def merge_into(columns: Columns, body: Mapping[str, Any]) -> None:
    """Lay the hours of a weather record over what is known: a value that it gives counts, what it leaves open stays."""
    hours = [hour_of(text) for text in body["time"]]
    for name, values in body.items():
        if name != "time":
            known = columns.setdefault(name, {})
            known.update({hour: value for hour, value in zip(hours, values, strict=True) if value is not None})


def changes(known: Columns, read: Hours) -> tuple[dict[str, Any] | None, dict[str, int]]:
    """What a table says that was not known already, as the body of a record (None: nothing), and counts of hours.

    Of rows for one hour the last counts. Counts: `new` hours, hours `corrected`, hours `unchanged`.
    """
    last = {hour: row for row, hour in enumerate(read.hours)}
    counts = {"new": 0, "corrected": 0, "unchanged": 0}
    kept: dict[int, dict[str, float]] = {}
    held = set().union(*(column for column in known.values())) if known else set()
    for hour in sorted(last):
        row = last[hour]
        said = {name: float(values[row]) for name, values in read.columns.items() if not math.isnan(values[row])}
        fresh = {name: value for name, value in said.items() if known.get(name, {}).get(hour) != value}
        if not fresh:
            counts["unchanged"] += 1
            continue
        counts["corrected" if hour in held else "new"] += 1
        kept[hour] = fresh
    if not kept:
        return None, counts
    names = sorted({name for values in kept.values() for name in values})
    body: dict[str, Any] = {name: [values.get(name) for values in kept.values()] for name in names}
    return {"time": [hour_text(hour) for hour in kept], **body}, counts


def table(columns: Columns, zone: dt.tzinfo) -> Weather | None:
    """The hourly table of what is known; None if nothing is."""
    hours = _hours(columns)
    if not hours:
        return None
    values = {name: np.array([known.get(hour, math.nan) for hour in hours]) for name, known in columns.items()}
    return table_of(Hours(hours, values), zone)


def rows_of(columns: Columns) -> Iterator[dict[str, Any]]:
    """What is known, as the hourly records of an orchard file."""
    for hour in _hours(columns):
        known = {name: values[hour] for name, values in columns.items() if hour in values}
        yield {"time": hour_text(hour), **known}


def _hours(columns: Columns) -> Sequence[int]:
    return sorted(set().union(*columns.values())) if columns else []
