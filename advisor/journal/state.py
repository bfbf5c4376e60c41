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
    _bare: OrchardFile | None = None  # these hold what costs much to make, until a record changes it
    _tables: dict[str, tuple[Weather, list[dict[str, Any]]]] = field(default_factory=dict)

    def take(self, entries: Iterable[Entry]) -> None:
        """Fold in further records."""
        for entry in entries:
            body = entry.content
            if entry.kind == "orchard":
                self.version = version_of(entry)
                self._bare = None
                self._tables.clear()  # the zone may be another
            elif entry.kind in ("observation", "correction"):
                self.observations[entry.ref] = body["given"]
            elif entry.kind == "withdrawal":
                self.observations.pop(entry.ref, None)
            else:
                merge_into(self.columns(entry.kind), body)
                self._tables.pop(entry.kind, None)
            self.position = entry.position

    def columns(self, kind: str) -> Columns:
        """What is known of the weather, or of the forecast."""
        return self.forecast if kind == "forecast" else self.weather

    @property
    def bare(self) -> OrchardFile:
        """The orchard file without observations and weather."""
        assert self.version is not None
        bare = self._bare
        if bare is None:
            bare = self._bare = load_orchard(self.version.content, files=False)
        return bare

    def file(self) -> OrchardFile:
        """The orchard file that all of it makes up."""
        fitting, left_out = _fitting(self.observations.values(), self.bare)
        file = load_orchard({**self.bare.given, "observations": fitting}, files=False)
        notes = list(file.notes)
        if left_out:
            are = "1 observation is of a place" if len(left_out) == 1 else f"{len(left_out)} observations are of places"
            named = ", ".join(left_out[:5]) + (" and others" if len(left_out) > 5 else "")
            notes.append(f"{are} not in the orchard as it now is, and left out: {named}.")
        given = dict(file.given)
        tables = {kind: self._table(kind) for kind in ("weather", "forecast")}
        for kind, made in tables.items():
            if made is not None:
                given[kind] = made[1]
                notes += [f"{kind.capitalize()}: {sentence}" for sentence in made[0].report.sentences]
        weather, forecast = (made and made[0] for made in tables.values())
        return replace(file, notes=tuple(notes), given=given, weather=weather, forecast=forecast)

    def _table(self, kind: str) -> tuple[Weather, list[dict[str, Any]]] | None:
        """The hourly table, and the same as records of an orchard file; None if there is none."""
        columns = self.columns(kind)
        if kind not in self._tables:
            made = table(columns, self.bare.zone)
            if made is None:
                return None
            self._tables[kind] = made, list(rows_of(columns))
        return self._tables[kind]


def version_of(entry: Entry) -> Version:
    """The version that an `orchard` record holds."""
    content = entry.content["content"]
    return Version(entry.orchard, int(entry.ref), digest(content), content)


def _fitting(observations: Iterable[dict[str, Any]], file: OrchardFile) -> tuple[list[dict[str, Any]], list[str]]:
    """Observations that fit the orchard as it now is, and the ids of those whose block or habitat is gone or younger."""
    fitting, left_out = [], []
    for one in observations:
        block, habitat = one.get("block"), one.get("habitat")
        gone = any(name is not None and file.place(name) is None for name in (block, habitat))
        planted = None if gone or block is None else getattr(file.block(block), "planted", None)
        if gone or (planted is not None and day_of(one, file.zone).year < planted):
            left_out.append(str(one["id"]))
        else:
            fitting.append(one)
    return fitting, left_out


def day_of(observation: Mapping[str, Any], zone: dt.tzinfo) -> dt.date:
    """The orchard's own day of an observation that was read before."""
    moment = dt.datetime.fromisoformat(str(observation["date"]).strip())
    return (moment.astimezone(zone) if moment.tzinfo else moment).date()


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
