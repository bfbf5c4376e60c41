"""Changes to what was given: one typed description, and how it is put into the inputs of an answer.

read_changes  what a person asked ({set, add, drop, warmer, rain, on, weather, forecast}), checked
changed       the inputs of `Inputs.again` that differ once the changes are made

A place is `orchard.FIELD`, `blocks.ID.FIELD` or `habitats.ID.FIELD`, such as `blocks.upper.mulch.depth`; a value of null
takes the field away. `on`, `weather` and `forecast` may be set as places are. An observation added without a date is the
newest of the day. Everything goes through the strict reading of an orchard file, so that a value that cannot be is refused
by its place.

Warmer and rainier weather is measured and forecast weather alike, hourly or written down. Relative humidity, dew point,
wind and leaf wetness stay as they were: what they would be is not known.
"""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field, ValidationError

from advisor import words
from advisor.blocks import Block, Habitat, Orchard
from advisor.errors import InputError, Problem
from advisor.given import Given, Text, between, problems_of
from advisor.observation import ForecastSeen, Observation
from advisor.orchard import OrchardFile, load_orchard
from advisor.reading import Document
from advisor.weather import Weather

if TYPE_CHECKING:
    from advisor.advice import Inputs

NAME = "changes"  # how what was asked is called in messages
_SHORT = ("guards", "irrigation", "frost_gear")  # a word alone stands for {kind: word}
_AS_PLACES = ("on", "weather", "forecast")  # no places of an orchard file, but people set them as if they were
_ROOMS: Mapping[str, type[Given]] = {"orchard": Orchard, "blocks": Block, "habitats": Habitat}


class Changes(Given):
    """What is to be otherwise. warmer [°C] and rain (a factor) change the weather; nothing given changes nothing."""

    set: dict[str, Any] = Field(default_factory=dict)
    add: tuple[dict[str, Any], ...] = ()
    drop: tuple[Text, ...] = ()
    warmer: Annotated[float, between(-30, 30)] = 0.0
    rain: Annotated[float, between(0, 20)] = 1.0
    on: Text | None = None
    weather: str | tuple[dict[str, Any], ...] | None = None
    forecast: str | tuple[dict[str, Any], ...] | None = None

    def asked(self) -> dict[str, Any]:
        """Only what was asked for, as plain data that can be asked again."""
        return self.model_dump(mode="json", exclude_defaults=True)

    def and_seen(self, one: Mapping[str, Any]) -> Changes:
        """These changes and one observation more."""
        return self.model_copy(update={"add": (*self.add, dict(one))})


NO_CHANGE = Changes()


def read_changes(given: Mapping[str, Any] | Changes, *, files: bool = True) -> Changes:
    """The changes that a person asks for; InputError names what cannot be read.

    files: whether weather may be named by its file; False for whoever asks from elsewhere.
    """
    if isinstance(given, Changes):
        return given
    if not isinstance(given, Mapping):
        raise InputError(Problem(NAME, "", "changes must be named", "Write {set: {...}, add: [...], drop: [...]}."))
    plain = {key: _plain_dates(value) for key, value in given.items()}
    if isinstance(plain.get("set"), Mapping):
        settings = {key: _plain_dates(value) for key, value in plain["set"].items()}
        plain = {**{name: settings.pop(name) for name in _AS_PLACES if name in settings}, **plain, "set": settings}
    for name in ("weather", "forecast"):
        if not files and isinstance(plain.get(name), str):
            raise InputError(Problem(NAME, name, "a file name is not read here", "Write the hours as a list."))
    try:
        return Changes.model_validate({key: value for key, value in plain.items() if value is not None})
    except ValidationError as fault:
        raise InputError(problems_of(fault, Changes, Document(plain, NAME))) from None


def changed(changes: Changes, inputs: Inputs) -> dict[str, Any]:
    """What of the inputs is otherwise after the changes, for `inputs.again(**changed(...))`."""
    from advisor.advice import day_of, weather_of

    asked = changes.asked()
    if not asked:
        return {}
    day = day_of(changes.on, inputs.file) if changes.on else inputs.day
    file = _file(changes, inputs, day)
    tables = {"measured": inputs.measured, "forecast": inputs.forecast}
    for name, given in (("measured", changes.weather), ("forecast", changes.forecast)):
        if given is not None:
            tables[name] = weather_of(given, None, file, NAME)
    return {"file": file, "day": day, **{name: _blown(table, changes) for name, table in tables.items()}}


def _file(changes: Changes, inputs: Inputs, day: dt.date | dt.datetime) -> OrchardFile:
    """The orchard file with fields set, observations added and dropped, and written forecasts changed."""
    file, asked = inputs.file, changes.asked()
    data = {name: copy.deepcopy(file.given.get(name)) for name in _ROOMS if file.given.get(name) is not None}
    for place, value in changes.set.items():
        _set(data, place, value)
    added = [{"date": last_moment(day, file), **one} for one in changes.add]
    read = _read({**data, "observations": added}) if changes.set or added else file
    if (read.zone, read.guidance) != (file.zone, file.guidance) and read.zone != file.zone and inputs.measured:
        raise InputError(Problem(NAME, "set", "another time zone would have the weather read anew",
                                 "Change it in the orchard file."))  # fmt: skip
    dropped = _known_ids(changes.drop, file.observations)
    kept = {o.id: o for o in file.observations if o.id not in dropped}
    if read is not file:
        kept |= {o.id: o for o in read.observations}
    observations = [_forecast_changed(o, changes) for o in kept.values()]
    observations.sort(key=lambda o: o.order)
    given = {**file.given, **data, "changes": [*file.given.get("changes", []), asked]}
    return replace(
        read, observations=tuple(observations), weather=file.weather, forecast=file.forecast, given=given,
        notes=tuple(dict.fromkeys((*file.notes, *read.notes))), file=file.file,
    )  # fmt: skip


def last_moment(day: dt.date | dt.datetime, file: OrchardFile) -> str:
    """When an observation without a date is taken to be made: so late that it counts over others of the day."""
    if isinstance(day, dt.datetime):
        return day.isoformat()
    return dt.datetime.combine(day, dt.time(23, 59), file.zone).isoformat()


def _read(data: Mapping[str, Any]) -> OrchardFile:
    try:
        return load_orchard(data, files=False)
    except InputError as fault:
        raise InputError(
            replace(p, file=NAME, place=_place_of(p.place, data), line=None) for p in fault.problems
        ) from None


def _place_of(place: str, data: Mapping[str, Any]) -> str:
    """blocks[0].floor as blocks.upper.floor: how places are written here."""
    for room in ("blocks", "habitats"):
        for position, entry in enumerate(data.get(room) or ()):
            if isinstance(entry, Mapping) and place.startswith(f"{room}[{position}]"):
                return place.replace(f"{room}[{position}]", f"{room}.{entry.get('id')}", 1)
    return place.replace("observations[", "add[", 1)


def _set(data: dict[str, Any], place: str, value: Any) -> None:
    """Put a value where a place says; a null takes the field away. An observation added without a date is the newest of the day."""
    target, names = _find(data, place)
    for name in names[:-1]:
        inner = target.get(name)
        if isinstance(inner, str) and name in _SHORT:
            inner = {"kind": inner}
        elif inner is None:
            inner = {}
        elif not isinstance(inner, dict):
            whole = place[: place.index(name) + len(name)]
            raise InputError(Problem(NAME, place, f"{name} is written as one value", f"Set {whole} as a whole."))
        target[name] = inner
        target = inner
    if names[-1] == "id":
        raise InputError(Problem(NAME, place, "an id names a place and stays", "Set one of its fields."))
    if value is None:
        target.pop(names[-1], None)
    else:
        target[names[-1]] = _plain_dates(value)


def _find(data: Mapping[str, Any], place: str) -> tuple[dict[str, Any], list[str]]:
    """The entry of the orchard file that a place lies in, and the names from there on."""
    room, _, rest = place.partition(".")
    if room == "orchard" and rest:
        return data["orchard"], rest.split(".")
    if room in ("blocks", "habitats"):
        entries = {str(entry["id"]): entry for entry in data.get(room) or ()}
        for name in sorted(entries, key=len, reverse=True):  # an id may hold dots
            if rest.startswith(f"{name}."):
                return entries[name], rest[len(name) + 1 :].split(".")
        named = (
            f"names no field of {rest}" if rest in entries else f"lies in no {room.removesuffix('s')} of this orchard"
        )
        mend = f"Write {room}.ID.FIELD; known ids: {', '.join(entries) or 'none'}."
        raise InputError(Problem(NAME, f"set {place}", f"{place!r} {named}", mend))
    close = words.nearest(place.rpartition(".")[2], {name.rpartition(".")[2] for name in _places(data)}, 1)
    full = [name for name in _places(data) if close and name.endswith(f".{close[0]}")]
    places = "Write orchard.FIELD, blocks.ID.FIELD, habitats.ID.FIELD, or on, weather, forecast."
    mend = f"Did you mean {full[0]}?" if full else places
    raise InputError(Problem(NAME, f"set {place}", f"{place!r} is no place of an orchard file", mend))


def _places(data: Mapping[str, Any]) -> Iterator[str]:
    """Every place of this orchard that can be set, nested fields aside."""
    yield from (f"orchard.{name}" for name in Orchard.model_fields)
    for room, model in (("blocks", Block), ("habitats", Habitat)):
        for entry in data.get(room) or ():
            yield from (f"{room}.{entry['id']}.{name}" for name in model.model_fields if name != "id")


def _known_ids(ids: Sequence[str], observations: Sequence[Observation]) -> frozenset[str]:
    known = [o.id for o in observations]
    problems = []
    for name in ids:
        if name not in known:
            close = words.nearest(name, known)
            mend = f"Did you mean {' or '.join(close)}?" if close else "See depends_on of a recommendation for ids."
            problems.append(Problem(NAME, "drop", f"no observation has the id {name!r}", mend, None, name))
    if problems:
        raise InputError(problems)
    return frozenset(ids)


def _blown(table: Weather | None, changes: Changes) -> Weather | None:
    if table is None or (changes.warmer == 0 and changes.rain == 1):
        return table
    return table.changed(changes.warmer, changes.rain)


def _forecast_changed(one: Observation, changes: Changes) -> Observation:
    """A forecast that the grower wrote down, warmer and wetter as the weather is."""
    if not isinstance(one, ForecastSeen) or (changes.warmer == 0 and changes.rain == 1):
        return one
    warmed = {name: getattr(one, name) + changes.warmer for name in ("low", "high") if getattr(one, name) is not None}
    wetter = {name: getattr(one, name) * changes.rain for name in ("rain", "snow") if getattr(one, name) is not None}
    return one.model_copy(update={**warmed, **wetter})


def _plain_dates(value: Any) -> Any:
    return value.isoformat() if isinstance(value, dt.date) else value
