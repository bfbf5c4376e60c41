"""The first part of a journal: orchards, observations and weather."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from advisor.ecosystem import Knowledge
from advisor.journal.chain import Entry, digest
from advisor.journal.faults import conflict, missing, plain_day, refused
from advisor.journal.holding import Holding
from advisor.journal.kept import Observed
from advisor.journal.state import Columns, State, Version, day_of, merge_into, version_of
from advisor.journal.taking import Records, read_looks, rows_of_upload, take_looks, take_weather
from advisor.orchard import OrchardFile, load_orchard
from advisor.rulebook import Rulebook
from advisor.weather import Weather, read_hours

if TYPE_CHECKING:
    from advisor.journal.store import Store, Writer

_SLUG = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")
_KEY = re.compile(r"[\x21-\x7e]{1,200}")
_PARTS = ("orchard", "blocks", "habitats")  # what a version of an orchard holds; the rest becomes records of its own


class Keeping:
    """Keeps orchards, observations and weather."""

    def __init__(self, store: Store, rules: Rulebook | None = None, knowledge: Knowledge | None = None) -> None:
        self._store = store
        self._rules = rules
        self._knowledge = knowledge
        self._held = Holding()

    def put_orchard(
        self, id: str, content: Mapping[str, Any], *, version: int | None = None, key: str | None = None
    ) -> Version:
        """Keep the content of an orchard file; its observations and weather become records of their own.

        version: the number that the caller saw last (0: none yet); Conflict if another was written since. The same
        content again makes no new version. An observation with an id of its own that is given differently corrects
        the one kept.
        """
        if not _SLUG.fullmatch(id):
            raise refused("id", f"{id[:60]!r} cannot be the id of an orchard",
                          "Use small letters, digits and hyphens, at most 64.", id)  # fmt: skip
        read = load_orchard(_with_tables(content), files=False)
        own = read.orchard.id
        if own is not None and own != id:
            raise refused("orchard.id", f"the orchard calls itself {own!r}, but is put under {id!r}",
                          "Leave the id out of the orchard, or put it under its own.", own)  # fmt: skip
        parts = {name: content[name] for name in _PARTS if content.get(name) is not None}
        parts["orchard"] = {**parts["orchard"], "id": id}
        looks = read_looks(content.get("observations") or (), read)
        tables = {
            name: read_hours(rows_of_upload(content[name]), read.zone, name)
            for name in ("weather", "forecast")
            if content.get(name)
        }

        def act(writer: Writer) -> int:
            state = self._held.state(writer, id)
            number = state.version.number if state.version else 0
            if version is not None and version != number:
                there = f"version {number} of {id} is kept" if number else f"{id} is not kept yet"
                raise conflict("version", f"{there}, and {version} was expected", "Read it again, then write.")
            if state.version is None or state.version.hash != digest(parts):
                number += 1
                writer.append(id, "orchard", str(number), {"content": parts})
            take_looks(writer, id, state, looks, correct=True)
            for name, hours in tables.items():
                take_weather(writer, id, state, hours, forecast=name == "forecast")
            return number

        number = self._once(id, "put", key, [content, version], act)
        return self.orchard(id, number)

    def orchard(self, id: str, number: int | None = None) -> Version:
        """The newest version, or the one of a number; Missing if there is none."""
        with self._store.reading() as reader:
            found = reader.latest(id, ["orchard"], None if number is None else str(number))
        if found is None:
            raise missing(f"orchard {id[:64]}", "no orchard of that id is kept", "Put it first, or check the id.")
        return version_of(found)

    def versions(self, id: str) -> list[Version]:
        """All versions, oldest first."""
        with self._store.reading() as reader:
            return [version_of(entry) for entry in reader.entries(id, ["orchard"])]

    def orchards(self, after: str | None = None, limit: int = 50) -> list[Version]:
        """The newest version of each orchard, in the order of their ids; after: the id that was seen last."""
        with self._store.reading() as reader:
            found = [reader.latest(id, ["orchard"]) for id in reader.orchards(after, limit)]
        return [version_of(entry) for entry in found if entry is not None]

    def file_of(self, orchard: str) -> OrchardFile:
        """The orchard file that the newest content, the observations and the weather make up."""
        with self._store.reading() as reader:
            return self._held.file(reader, orchard)[0]

    # --- observations and weather -------------------------------------------------------------

    def observe(
        self, orchard: str, observations: Records, *, key: str | None = None, name: str = "observations"
    ) -> list[str]:
        """Keep observations, all or none; their ids, in the order given. One that is kept already is not kept twice.

        observations: records, or the text of a CSV file. key: an idempotency key; the same one again gives the same
        ids and keeps nothing. name: what they are called in messages, such as the file's name.
        """

        def act(writer: Writer) -> list[str]:
            state = self._held.known(writer, orchard)
            looks = read_looks(observations, state.bare, name)
            return take_looks(writer, orchard, state, looks)

        found: list[str] = self._once(orchard, "observe", key, observations, act)
        return found

    def correct(self, orchard: str, id: str, observation: Mapping[str, Any], *, key: str | None = None) -> str:
        """Put another reading in place of an observation, under the same id; what it said before stays on record."""

        def act(writer: Writer) -> str:
            state = self._held.known(writer, orchard)
            self._must_stand(state, id)
            looks = read_looks([{**observation, "id": id}], state.bare)
            return take_looks(writer, orchard, state, looks, correct=True)[0]

        corrected: str = self._once(orchard, "correct", key, [id, observation], act)
        return corrected

    def withdraw(self, orchard: str, id: str, reason: str | None = None) -> None:
        """Take back an observation; that it was made, and taken back, stays on record."""
        with self._store.writing() as writer:
            self._must_stand(self._held.known(writer, orchard), id)
            writer.append(orchard, "withdrawal", id, {"reason": reason})

    def observations(
        self, orchard: str, since: dt.date | str | None = None, after: int = 0, limit: int | None = None
    ) -> list[Observed]:
        """The observations that stand, in the order in which they were written; after: the position seen last."""
        with self._store.reading() as reader:
            state = self._held.known(reader, orchard)
            last: dict[str, Entry] = {
                entry.ref: entry for entry in reader.entries(orchard, ["observation", "correction"])
            }
        found = [
            Observed(entry.ref, entry.position, entry.at, entry.content["given"])
            for entry in sorted(last.values(), key=lambda entry: entry.position)
            if entry.ref in state.observations and entry.position > after
        ]
        if since is not None:
            first, zone = plain_day(since), state.bare.zone
            found = [one for one in found if day_of(one.given, zone) >= first]
        return found[:limit]

    def history(self, orchard: str, observation: str) -> list[Entry]:
        """Every record of one observation: made, corrected, withdrawn."""
        with self._store.reading() as reader:
            self._held.known(reader, orchard)
            return list(reader.entries(orchard, ["observation", "correction", "withdrawal"], observation))

    def weather(
        self,
        orchard: str,
        rows: Records,
        *,
        forecast: bool = False,
        key: str | None = None,
        name: str = "weather",
    ) -> dict[str, int]:
        """Lay hourly weather over what is known; what a correction replaces stays on record.

        rows: CSV text or hourly records. Of an hour that is known, only values that are given and differ are kept.
        Returns counts of hours: `new`, `corrected`, `unchanged`.
        """

        def act(writer: Writer) -> dict[str, int]:
            state = self._held.known(writer, orchard)
            read = read_hours(rows_of_upload(rows), state.bare.zone, name)
            return take_weather(writer, orchard, state, read, forecast)

        counts: dict[str, int] = self._once(orchard, "weather", key, [rows, forecast], act)
        return counts

    def weather_of(self, orchard: str, forecast: bool = False) -> Weather | None:
        """The hourly table that all uploads make up; None if there was none."""
        file = self.file_of(orchard)
        return file.forecast if forecast else file.weather

    def weather_history(self, orchard: str, time: str, *, forecast: bool = False) -> list[dict[str, Any]]:
        """What was said of one hour, in turn: `at` (when it was recorded) and the values given then."""
        file = self.file_of(orchard)
        hour = read_hours([{"time": time, "temp_c": None}], file.zone).hours[0]
        kind = "forecast" if forecast else "weather"
        found = []
        with self._store.reading() as reader:
            for entry in reader.entries(orchard, [kind]):
                columns: Columns = {}
                merge_into(columns, entry.content)
                said = {name: values[hour] for name, values in columns.items() if hour in values}
                if said:
                    found.append({"at": entry.at, "position": entry.position, **said})
        return found

    # --- inside -------------------------------------------------------------------------------

    def _once(self, orchard: str, operation: str, key: str | None, request: object,
              act: Callable[[Writer], Any]) -> Any:  # fmt: skip
        """Do it within one transaction; with a key that was used before, only say again what came of it."""
        if key is not None and not _KEY.fullmatch(key):
            raise refused("key", "this cannot be an idempotency key",
                          "Use 1 to 200 letters, digits and signs, no spaces.", key)  # fmt: skip
        with self._store.writing() as writer:
            if key is None:
                return act(writer)
            asked = digest(request)
            before = writer.latest(orchard, ["receipt"], f"{operation} {key}")
            if before is not None:
                if before.content["request"] != asked:
                    raise conflict("key", "this key was used for another request", "Use a new key.")
                return before.content["result"]
            result = act(writer)
            writer.append(orchard, "receipt", f"{operation} {key}", {"request": asked, "result": result})
            return result

    @staticmethod
    def _must_stand(state: State, observation: str) -> None:
        if observation not in state.observations:
            raise missing(f"observation {observation[:80]}", "no observation of that id stands",
                          "Look for it among the observations.")  # fmt: skip


def _with_tables(content: Mapping[str, Any]) -> Mapping[str, Any]:
    """The content without weather that is CSV text, which is read on its own."""
    return {name: value for name, value in content.items()
            if not (name in ("weather", "forecast") and isinstance(value, str) and "\n" in value)}  # fmt: skip
