"""Read a whole orchard file: the orchard, its blocks and habitats, and the observations and weather it names.

    file = load_orchard("orchard.yaml")

Everything that is wrong is collected into one InputError. What had to be assumed is said in `OrchardFile.notes`.
"""

from __future__ import annotations

import copy
import datetime as dt
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo, available_timezones

from pydantic import BaseModel, ValidationError

from advisor import words
from advisor.blocks import (
    Block,
    FrostGear,
    Guards,
    Habitat,
    Irrigation,
    Mulch,
    Orchard,
    PollenPartner,
    Spacing,
    nearest_region,
)
from advisor.errors import InputError, Problem
from advisor.given import problems_of, unknown_field
from advisor.observation import Observation, Seen, read_observations, records_of_csv
from advisor.reading import Document, Place, read_document, read_text, written
from advisor.weather import Weather, read_weather

__all__ = ["Block", "FrostGear", "Guards", "Habitat", "Irrigation", "Mulch", "Orchard", "OrchardFile", "PollenPartner",
           "Spacing", "load_orchard"]

TOP = ("orchard", "blocks", "habitats", "observations", "weather", "forecast")
MOST_BLOCKS = 500
MOST_OBSERVATIONS = 50_000

_M = TypeVar("_M", bound=BaseModel)


@dataclass(frozen=True, eq=False)
class OrchardFile:
    """All that is given, checked.

    observations: by date, then time, then id. notes: what was assumed or dropped, in sentences. unknown_words: the `other:` names.
    given: the plain data as written, with the content of the files it names in place of their names.
    zone: the orchard's time zone. guidance: the region whose thresholds count, as given or the nearest.
    """

    orchard: Orchard
    blocks: tuple[Block, ...]
    habitats: tuple[Habitat, ...]
    observations: tuple[Observation, ...]
    weather: Weather | None
    forecast: Weather | None
    zone: dt.tzinfo
    guidance: str | None
    notes: tuple[str, ...]
    unknown_words: tuple[str, ...]
    given: Mapping[str, Any]
    file: str

    def block(self, name: str) -> Block | None:
        """The block of an id."""
        return next((block for block in self.blocks if block.id == name), None)

    def habitat(self, name: str) -> Habitat | None:
        """The habitat of an id."""
        return next((habitat for habitat in self.habitats if habitat.id == name), None)

    def place(self, name: str) -> Block | Habitat | None:
        """The block or habitat of an id."""
        return self.block(name) or self.habitat(name)

    def with_observations(self, observations: Sequence[Observation]) -> OrchardFile:
        """The same orchard with other observations."""
        return replace(self, observations=tuple(observations))


def load_orchard(
    source: str | Path | Mapping[str, Any], *, base: Path | None = None, files: bool = True
) -> OrchardFile:
    """Read an orchard file, or a mapping of the same shape.

    base: the folder in which the files it names are looked for; the orchard file's own by default, and never outside.
    files: False refuses every file name, for data that comes from afar.
    Raises InputError with every problem found: file, place, value and mend.
    """
    if isinstance(source, Mapping):
        document = Document(source, "orchard")
    else:
        path = Path(source)
        document = read_document(path)
        base = base or path.parent
    return _Reader(document, base if files else None).read()


class _Reader:
    """Reads one document, collecting problems and notes on the way."""

    def __init__(self, document: Document, base: Path | None) -> None:
        self.document = document
        self.base = base
        self.problems: list[Problem] = []
        self.notes: list[str] = []

    def read(self) -> OrchardFile:
        data = self.document.data
        if not isinstance(data, Mapping):
            raise InputError(Problem(self.document.file, "", "an orchard file must hold named fields",
                                     "Begin with orchard: and blocks:.", 1))
        given: dict[str, Any] = copy.deepcopy(dict(data))
        for name in given:
            if name not in TOP:
                self._refuse((str(name),), *unknown_field(str(name), TOP))
        orchard = self._model(Orchard, data.get("orchard"), ("orchard",))
        blocks = self._models(Block, data.get("blocks"), ("blocks",))
        habitats = self._models(Habitat, data.get("habitats"), ("habitats",))
        if not data.get("blocks"):
            self._refuse(("blocks",), "no block is given", "Give one block at least, with its id and fruit.")
        zone = self._zone(orchard)
        self._unique([*blocks, *habitats])
        observations = self._observations(data.get("observations"), given, zone, blocks, habitats)
        tables = {name: self._weather(name, data.get(name), given, zone) for name in ("weather", "forecast")}
        if self.problems or orchard is None:
            raise InputError(self.problems)
        guidance = self._guidance(orchard)
        unknown = sorted({word for part in (orchard, *blocks, *habitats, *observations) for word in _others(part)})
        if unknown:
            self.notes.append(f"Not known here, and so left out of all advice: {', '.join(unknown)}.")
        return OrchardFile(orchard, tuple(blocks), tuple(habitats), tuple(observations), tables["weather"],
                           tables["forecast"], zone, guidance, tuple(self.notes), tuple(unknown), given,
                           self.document.file)

    def _refuse(self, place: Place, message: str, mend: str, value: object = None) -> None:
        shown = None if value is None else str(value)[:60]
        line = self.document.line(place)
        self.problems.append(Problem(self.document.file, written(place), message, mend, line, shown))

    def _model(self, model: type[_M], data: object, place: Place) -> _M | None:
        if data is None:
            self._refuse(place, f"{written(place)} is missing", f"Write {written(place)}: and its fields.")
            return None
        try:
            return model.model_validate(data)
        except ValidationError as fault:
            self.problems += problems_of(fault, model, self.document, place)
            return None

    def _models(self, model: type[_M], data: object, place: Place) -> list[_M]:
        if data is None:
            return []
        if not isinstance(data, list | tuple) or len(data) > MOST_BLOCKS:
            self._refuse(place, f"{written(place)} must be a list of at most {MOST_BLOCKS}",
                         "Begin each entry with a dash: - id: upper.")
            return []
        read = [self._model(model, item, (*place, position)) for position, item in enumerate(data)]
        return [item for item in read if item is not None]

    def _unique(self, places: Sequence[Block | Habitat]) -> None:
        for name, count in Counter(place.id for place in places).items():
            if count > 1:
                self._refuse(("blocks",), f"the id {name!r} stands for {count} places",
                             "Give each block and habitat its own id.", name)

    def _zone(self, orchard: Orchard | None) -> dt.tzinfo:
        if orchard is None:
            return dt.UTC
        if orchard.timezone is not None:
            name = orchard.timezone
            try:
                return ZoneInfo(name)
            except (KeyError, ValueError, OSError):  # unknown, not a proper key, or a folder of the zone table
                pass
            close = words.nearest(name, available_timezones(), 2)
            self._refuse(("orchard", "timezone"), f"{name!r} is not a time zone",
                         f"Did you mean {' or '.join(close)}?" if close else "Write it as Europe/Paris.", name)
            return dt.UTC
        if orchard.longitude is not None:
            hours = round(orchard.longitude / 15)
            self.notes.append(f"No time zone is given: times are read as UTC{hours:+d} hours, from the longitude.")
            return dt.timezone(dt.timedelta(hours=hours))
        self.notes.append("Neither time zone nor longitude is given: times are read as UTC.")
        return dt.UTC

    def _guidance(self, orchard: Orchard) -> str | None:
        if orchard.guidance is not None:
            return orchard.guidance
        if orchard.longitude is None:
            self.notes.append("No guidance is named and no longitude given: the safer of differing thresholds is used.")
            return None
        region, distance = nearest_region(orchard.latitude, orchard.longitude)
        far = ", which is far: name another if one fits better" if distance > 1500 else ""
        self.notes.append(f"Where thresholds differ by region, those of {region} are used, the nearest "
                          f"(about {round(distance, -1):.0f} km away{far}).")
        return region

    # --- what other files may hold ------------------------------------------------------------

    def _beside(self, name: str, place: Place) -> Path | None:
        """The path of a file named in the orchard file; None, with a problem, if it may not be read."""
        if self.base is None:
            self._refuse(place, "a file name is not read here", "Write the content itself as a list.", name)
            return None
        folder = self.base.resolve()
        path = (folder / name).resolve()
        if Path(name).is_absolute() or not path.is_relative_to(folder):
            self._refuse(place, "the file lies outside the orchard file's folder",
                         "Put it beside the orchard file.", name)
            return None
        if path.suffix.lower() not in (".yaml", ".yml", ".json", ".csv"):
            self._refuse(place, "not a YAML, JSON or CSV file", "Name a .yaml, .json or .csv file.", name)
            return None
        return path

    def _observations(self, data: object, given: dict[str, Any], zone: dt.tzinfo, blocks: Sequence[Block],
                      habitats: Sequence[Habitat]) -> list[Any]:
        document, where = self.document, written
        place: Place = ("observations",)
        records: object = data
        try:
            if isinstance(data, str):
                path = self._beside(data, ("observations",))
                if path is None:
                    return []
                place = ()
                if path.suffix.lower() == ".csv":
                    rows, found = records_of_csv(read_text(path), str(path))
                    self.problems += found
                    document, records, where = Document(rows.records, str(path)), rows.records, rows.where
                else:
                    document = read_document(path)
                    records = document.data
                    if isinstance(records, Mapping) and set(records) == {"observations"}:
                        place, records = ("observations",), records["observations"]
        except InputError as fault:
            self.problems += fault.problems
            return []
        if records is None:
            return []
        if not isinstance(records, list | tuple) or len(records) > MOST_OBSERVATIONS:
            self.problems.append(Problem(document.file, written(place) or "observations",
                                         f"observations must be a list of at most {MOST_OBSERVATIONS:,}",
                                         "Begin each with a dash: - date: 2026-05-18.", document.line(place)))
            return []
        given["observations"] = copy.deepcopy(list(records))
        seen, problems = read_observations(records, document, place, zone, where)
        self.problems += problems
        if not problems:  # positions fit only when every record was read
            problems = list(misplaced(seen, blocks, habitats, document, place, where))
            self.problems += problems
        return self._sorted(seen, document)

    def _sorted(self, seen: Sequence[Seen], document: Document) -> list[Seen]:
        """By date, time and id. Twice the same observation counts once; one id for two different ones is refused."""
        by_id: dict[str, Seen] = {}
        for one in seen:
            other = by_id.get(one.id)
            if other is None:
                by_id[one.id] = one
            elif other == one:
                self.notes.append(f"The observation {one.id} stands twice and counts once.")
            elif one.id == one.id_from_content():  # two contents that share four digits
                longer = one.model_copy(update={"id": one.id_from_content(12)})
                by_id[longer.id] = longer
            else:
                self.problems.append(Problem(document.file, "observations",
                                             f"the id {one.id!r} stands for two observations",
                                             "Give each its own id, or leave ids out.", None, one.id))
        return sorted(by_id.values(), key=lambda one: one.order)

    def _weather(self, name: str, data: object, given: dict[str, Any], zone: dt.tzinfo) -> Weather | None:
        if data is None:
            return None
        try:
            if isinstance(data, str):
                path = self._beside(data, (name,))
                if path is None:
                    return None
                if path.suffix.lower() == ".csv":
                    text = read_text(path)
                    given[name] = text
                    table = read_weather(text, zone, str(path))
                else:
                    document = read_document(path)
                    given[name] = document.data
                    table = self._records(document.data, zone, str(path), "")
            else:
                table = self._records(data, zone, self.document.file, name)
        except InputError as fault:
            self.problems += fault.problems
            return None
        self.notes += [f"{name.capitalize()}: {text}" for text in table.report.sentences]
        return table

    def _records(self, data: object, zone: dt.tzinfo, file: str, name: str) -> Weather:
        if not isinstance(data, list | tuple):
            raise InputError(Problem(file, name, "weather must be the name of a file, or a list of hours",
                                     "Write weather: weather.csv.", None, str(data)[:60]))
        try:
            return read_weather(data, zone, file)
        except InputError as fault:
            raise InputError([replace(problem, place=f"{name}{problem.place}") if problem.place.startswith("[")
                              else replace(problem, place=f"{name} {problem.place}".strip())
                              for problem in fault.problems]) from None


def misplaced(seen: Sequence[Seen], blocks: Sequence[Block], habitats: Sequence[Habitat], document: Document,
               place: Place, where: Any) -> Iterator[Problem]:
    """Observations of places that are not there, or from before the trees were."""
    by_id = {block.id: block for block in blocks}
    known = {"block": list(by_id), "habitat": [habitat.id for habitat in habitats]}
    for position, one in enumerate(seen):
        for kind, names in known.items():
            name = getattr(one, kind)
            if name is not None and name not in names:
                here = (*place, position, kind)
                other = next((k for k, listed in known.items() if name in listed), None)
                close = words.nearest(name, names, 1)
                mend = (f"It is a {other}: write {other}: {name}." if other else
                        f"Did you mean {close[0]}?" if close else
                        f"Known: {', '.join(names)}." if names else f"The orchard has no {kind}.")
                yield Problem(document.file, where(here), f"no {kind} has the id {name!r}", mend,
                              document.line(here), name)
        block = by_id.get(one.block or "")
        if block is not None and block.planted is not None and one.date.year < block.planted:
            here = (*place, position, "date")
            yield Problem(document.file, where(here),
                          f"{one.date} is before {block.id} was planted, in {block.planted}",
                          "Check the year of the observation, and planted.", document.line(here), str(one.date))


def _others(part: object) -> Iterator[str]:
    """Every `other:` name in a model."""
    if isinstance(part, str):
        if part.startswith(words.OTHER):
            yield part
    elif isinstance(part, BaseModel):
        for name in type(part).model_fields:
            yield from _others(getattr(part, name))
    elif isinstance(part, tuple):
        for item in part:
            yield from _others(item)
