"""Record a file as people have it: a whole orchard file, observations, or hourly weather, told apart by what it holds."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from advisor.errors import InputError, Problem
from advisor.journal.journal import Journal
from advisor.orchard import load_orchard
from advisor.reading import read_document, read_text


@dataclass(frozen=True)
class Recorded:
    """What came of recording a file.

    version: of the orchard, where the file was one. hours: counts, by table. kept_before: how many of the observations
    were there already.
    """

    orchard: str
    version: int | None = None
    observations: list[str] = field(default_factory=list)
    hours: dict[str, dict[str, int]] = field(default_factory=dict)
    kept_before: int = 0

    def as_data(self) -> dict[str, Any]:
        return asdict(self)

    def as_text(self) -> str:
        lines = []
        if self.version is not None:
            lines.append(f"Version {self.version} of {self.orchard} is kept.")
        if self.observations:
            before = f", {self.kept_before} of them kept before" if self.kept_before else ""
            lines.append(f"Observations of {self.orchard}: {len(self.observations)}{before}.")
        for name, counts in self.hours.items():
            told = ", ".join(f"{number} {what}" for what, number in counts.items() if number)
            lines.append(f"Hours of {name} of {self.orchard}: {told or 'none'}.")
        return "\n".join(lines) or f"Nothing new of {self.orchard}."


def record(journal: Journal, path: Path, orchard: str | None = None, *, forecast: bool = False) -> Recorded:
    """Record a YAML, JSON or CSV file.

    orchard: the id that it is for; a whole orchard file may do without, and goes by its own id, or by its name.
    forecast: hourly weather in the file is a forecast. Raises InputError that names the file.
    """
    if path.suffix.lower() == ".csv":
        text = read_text(path)
        names = {name.strip().lower() for name in text.lstrip().partition("\n")[0].split(",")}
        if "time" in names and "kind" not in names:
            return _weather(journal, path, orchard, text, forecast)
        return _observations(journal, path, orchard, text)
    data = read_document(path).data
    if isinstance(data, Mapping) and "orchard" in data:
        return _orchard(journal, path, orchard)
    if isinstance(data, Mapping) and set(data) == {"observations"}:
        data = data["observations"]
    elif isinstance(data, Mapping) and "kind" in data:
        data = [data]
    if isinstance(data, list) and data and all(isinstance(row, Mapping) and "time" in row for row in data):
        return _weather(journal, path, orchard, data, forecast)
    return _observations(journal, path, orchard, data)


def _orchard(journal: Journal, path: Path, orchard: str | None) -> Recorded:
    read = load_orchard(path)
    id = orchard or read.orchard.id or _slug(read.orchard.name)
    before = journal.head.records
    version = journal.put_orchard(id, read.given)
    new = journal.entries(id, after=before)
    hours = {entry.kind: {"new": len(entry.content["time"])} for entry in new if entry.kind in ("weather", "forecast")}
    seen = [entry.ref for entry in new if entry.kind in ("observation", "correction")]
    is_new = any(entry.kind == "orchard" for entry in new)
    return Recorded(id, version.number if is_new else None, seen, hours)


def _observations(journal: Journal, path: Path, orchard: str | None, given: Any) -> Recorded:
    id = _named(path, orchard, "observations")
    before = journal.head.records
    ids = journal.observe(id, given, name=str(path))
    new = sum(entry.kind in ("observation", "correction") for entry in journal.entries(id, after=before))
    return Recorded(id, observations=ids, kept_before=max(0, len(ids) - new))


def _weather(journal: Journal, path: Path, orchard: str | None, given: Any, forecast: bool) -> Recorded:
    name = "forecast" if forecast else "weather"
    id = _named(path, orchard, name)
    return Recorded(id, hours={name: journal.weather(id, given, forecast=forecast, name=str(path))})


def _named(path: Path, orchard: str | None, what: str) -> str:
    if orchard is None:
        raise InputError(
            Problem(str(path), "", f"this holds {what}, and it is not said of which orchard", "Name it with --orchard.")
        )
    return orchard


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:64] or "orchard"
