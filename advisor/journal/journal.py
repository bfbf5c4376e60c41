"""The journal itself: see `advisor.journal` for what it keeps and how it is used."""

from __future__ import annotations

import datetime as dt
import json
import re
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from advisor import ecosystem
from advisor.advice import Answer, Inputs, answer_to, day_of, default_rules, edition_of, id_of
from advisor.ecosystem import Knowledge
from advisor.errors import Problem
from advisor.journal.chain import Entry, Head, digest, faults_in
from advisor.journal.deciding import checked, day_of_decision, recommendation_of, work_of
from advisor.journal.faults import conflict, lacking, missing, refused
from advisor.journal.kept import Advice, Decision, Observed
from advisor.journal.replaying import Manifest, Replay, compared, manifest
from advisor.journal.state import GIVEN, State, Version, changes, merge_into, table, version_of
from advisor.observation import Seen, read_observations
from advisor.orchard import MOST_OBSERVATIONS, OrchardFile, load_orchard
from advisor.reading import Document
from advisor.rulebook import Rulebook
from advisor.weather import Hours, Weather, read_hours

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from advisor.journal.store import Reader, Store, Writer

_SLUG = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")
_KEY = re.compile(r"[\x21-\x7e]{1,200}")
_MOST_KEPT = 64  # orchard files and runs held in memory
_PARTS = ("orchard", "blocks", "habitats")  # what a version of an orchard holds; the rest becomes records of its own

WeatherRows = str | Sequence[Mapping[str, Any]]


class Journal:
    """Keeps orchards, what was seen, advised and done. Threads may share one; processes each open their own."""

    def __init__(self, store: Store, rules: Rulebook | None = None, knowledge: Knowledge | None = None) -> None:
        self._store = store
        self._rules = rules
        self._knowledge = knowledge
        self._lock = threading.RLock()
        self._states: dict[str, State] = {}
        self._files: OrderedDict[tuple[str, int], OrchardFile] = OrderedDict()
        self._runs: OrderedDict[str, Answer] = OrderedDict()

    @classmethod
    def open(
        cls,
        address: str | Path,
        *,
        rules: Rulebook | None = None,
        knowledge: Knowledge | None = None,
        clock: Callable[[], dt.datetime] = lambda: dt.datetime.now(dt.UTC),
    ) -> Journal:
        """Open a journal, and make it where there is none yet.

        address: path of an SQLite file, or "sqlite:///...", or "postgresql+psycopg://...". rules, knowledge: those to
        advise with, where they are not the program's own. clock: gives the moment at which a record is written.
        """
        try:
            from advisor.journal.store import Store
        except ModuleNotFoundError as fault:
            raise lacking("server", str(fault.name)) from None
        return cls(Store(address, clock), rules, knowledge)

    def close(self) -> None:
        self._store.close()

    @property
    def engine(self) -> Engine:
        """The database, for tables that stand beside the records."""
        return self._store.engine

    def __enter__(self) -> Journal:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # --- orchards -----------------------------------------------------------------------------

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

        def act(writer: Writer) -> int:
            state = self._state(writer, id)
            number = state.version.number if state.version else 0
            if version is not None and version != number:
                there = f"version {number} of {id} is kept" if number else f"{id} is not kept yet"
                raise conflict("version", f"{there}, and {version} was expected", "Read it again, then write.")
            if state.version is None or state.version.hash != digest(parts):
                number += 1
                writer.append(id, "orchard", str(number), {"content": parts})
            self._take_observations(writer, id, state, read, content.get("observations") or (), correct=True)
            for name, forecast in (("weather", False), ("forecast", True)):
                if content.get(name):
                    self._take_weather(writer, id, state, read_hours(_rows(content[name]), read.zone, name), forecast)
            return number

        number = self._once(id, "put", key, [content, version], act)
        return next(one for one in self.versions(id) if one.number == number)

    def orchard(self, id: str) -> Version:
        """The newest version; Missing if there is none."""
        with self._store.reading() as reader:
            found = reader.latest(id, ["orchard"])
        if found is None:
            raise missing(f"orchard {id[:64]}", "no orchard of that id is kept", "Put it first.")
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
            return self._file(reader, orchard)[0]

    # --- observations and weather -------------------------------------------------------------

    def observe(self, orchard: str, observations: Sequence[Mapping[str, Any]], *, key: str | None = None) -> list[str]:
        """Keep observations, all or none; their ids, in the order given. One that is kept already is not kept twice.

        key: an idempotency key; the same one again gives the same ids and keeps nothing.
        """

        def act(writer: Writer) -> list[str]:
            state = self._known(writer, orchard)
            content = state.version.content if state.version else {}
            read = load_orchard({**content, "observations": list(observations)}, files=False)
            return self._take_observations(writer, orchard, state, read, observations)

        found: list[str] = self._once(orchard, "observe", key, list(observations), act)
        return found

    def correct(self, orchard: str, id: str, observation: Mapping[str, Any], *, key: str | None = None) -> str:
        """Put another reading in place of an observation, under the same id; what it said before stays on record."""

        def act(writer: Writer) -> str:
            state = self._known(writer, orchard)
            self._must_stand(state, id)
            content = state.version.content if state.version else {}
            given = {**observation, "id": id}
            load_orchard({**content, "observations": [given]}, files=False)
            if state.observations[id] != given:
                writer.append(orchard, "correction", id, {"given": given})
            return id

        corrected: str = self._once(orchard, "correct", key, [id, observation], act)
        return corrected

    def withdraw(self, orchard: str, id: str, reason: str | None = None) -> None:
        """Take back an observation; that it was made, and taken back, stays on record."""
        with self._store.writing() as writer:
            self._must_stand(self._known(writer, orchard), id)
            writer.append(orchard, "withdrawal", id, {"reason": reason})

    def observations(
        self, orchard: str, since: dt.date | str | None = None, after: int = 0, limit: int | None = None
    ) -> list[Observed]:
        """The observations that stand, in the order in which they were written; after: the position seen last."""
        with self._store.reading() as reader:
            standing = self._known(reader, orchard).observations
            last: dict[str, Entry] = {
                entry.ref: entry for entry in reader.entries(orchard, ["observation", "correction"])
            }
        found = [
            Observed(entry.ref, entry.position, entry.at, entry.content["given"])
            for entry in sorted(last.values(), key=lambda entry: entry.position)
            if entry.ref in standing and entry.position > after
        ]
        day = str(since)[:10] if since is not None else ""
        return [one for one in found if str(one.given["date"])[:10] >= day][:limit]

    def history(self, orchard: str, observation: str) -> list[Entry]:
        """Every record of one observation: made, corrected, withdrawn."""
        with self._store.reading() as reader:
            return list(reader.entries(orchard, ["observation", "correction", "withdrawal"], observation))

    def weather(
        self, orchard: str, rows: WeatherRows, *, forecast: bool = False, key: str | None = None
    ) -> dict[str, Any]:
        """Lay hourly weather over what is known; what a correction replaces stays on record.

        rows: CSV text or hourly records. Of an hour that is known, only values that are given and differ are kept.
        Returns counts of hours: `new`, `corrected`, `unchanged`.
        """

        def act(writer: Writer) -> dict[str, int]:
            state = self._known(writer, orchard)
            zone = self._file(writer, orchard)[0].zone
            return self._take_weather(writer, orchard, state, read_hours(_rows(rows), zone), forecast)

        counts: dict[str, Any] = self._once(orchard, "weather", key, [rows, forecast], act)
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
                columns: dict[str, dict[int, float]] = {}
                merge_into(columns, entry.content)
                said = {name: values[hour] for name, values in columns.items() if hour in values}
                if said:
                    found.append({"at": entry.at, "position": entry.position, **said})
        return found

    # --- advice and decisions -----------------------------------------------------------------

    def advise(self, orchard: str, on: dt.date | dt.datetime | str | None = None) -> Advice:
        """Advice for an orchard on a day (today in its zone if left out), kept. The same inputs are kept once."""
        with self._store.reading() as reader:
            file, read = self._file(reader, orchard)
            inputs = self._inputs(file, on)
            found = reader.latest(orchard, ["advice"], id_of(edition_of(inputs)))
        if found is not None:
            return Advice.of(found)
        answer = answer_to(inputs)
        self._remember(answer.advice, answer)
        body = {"on": inputs.day.isoformat(), "read": read, "edition": answer.edition, "answer": _text(answer)}
        with self._store.writing() as writer:
            found = writer.latest(orchard, ["advice"], answer.advice)  # another process may have been first
            if found is None:
                self._keep_manifest(writer, answer.edition)
                found = writer.append(orchard, "advice", answer.advice, body)
        return Advice.of(found)

    def advice(self, id: str) -> Advice:
        """An advice that was given; Missing if there is none."""
        with self._store.reading() as reader:
            found = reader.latest(None, ["advice"], id)
        if found is None:
            raise missing(f"advice {id[:40]}", "no advice of that id is kept", "Look for it among the advices.")
        return Advice.of(found)

    def advices(self, orchard: str, after: int = 0, limit: int = 50) -> list[Advice]:
        """Advices for an orchard, the newest first; after: the position that was seen last."""
        with self._store.reading() as reader:
            self._known(reader, orchard)
            return [Advice.of(entry) for entry in reader.entries(orchard, ["advice"], after=after, newest=True,
                                                                 limit=limit)]  # fmt: skip

    def inputs_of(self, advice: str) -> Inputs:
        """All that an advice was asked with, as the journal held it then, with today's rules and knowledge."""
        kept = self.advice(advice)
        with self._store.reading() as reader:
            return self._inputs(self._file(reader, kept.orchard, kept.read)[0], kept.on)

    def run_of(self, advice: str) -> Answer:
        """The advice run again, for explanations. With changed rules it may differ: see `replay`."""
        with self._lock:
            if advice in self._runs:
                self._runs.move_to_end(advice)
                return self._runs[advice]
        answer = answer_to(self.inputs_of(advice))
        self._remember(advice, answer)
        return answer

    def decide(
        self,
        advice: str,
        recommendation: str,
        state: str,
        reason: str | None = None,
        *,
        hours: float | None = None,
        note: str | None = None,
        by: str | None = None,
        on: dt.date | str | None = None,
        work: Mapping[str, Any] | None = None,
        key: str | None = None,
    ) -> Decision:
        """Keep what was done about a recommendation: done, refused or overridden.

        reason: one of REASONS, or own words; needed unless done. on: the day it was done. work: further fields of the
        `work` observation that `done` records (amount, material, area, content).
        """
        kept = self.advice(advice)
        about = recommendation_of(kept.answer, recommendation)
        checked(about, state, reason, note)

        def act(writer: Writer) -> int:
            file = self._file(writer, kept.orchard)[0]
            today = writer.clock().astimezone(file.zone).date()
            day = day_of_decision(on, dt.date.fromisoformat(kept.answer.date), today)
            observed = None
            if state == "done":
                known = self._knowledge or ecosystem.knowledge()
                seen = work_of(about, day, known, work or {}, hours=hours, by=by, note=note)
                if seen is not None:
                    content = self._known(writer, kept.orchard).version.content  # type: ignore[union-attr]
                    read = load_orchard({**content, "observations": [seen]}, files=False)
                    state_now = self._state(writer, kept.orchard)
                    observed = self._take_observations(writer, kept.orchard, state_now, read, [seen])[0]
            said = {"recommendation": recommendation, "state": state, "reason": reason, "hours": hours, "note": note,
                    "by": by, "on": day.isoformat(), "observation": observed}  # fmt: skip
            return writer.append(kept.orchard, "decision", advice, said).position

        request = [advice, recommendation, state, reason, hours, note, by, str(on), work]
        position = self._once(kept.orchard, "decide", key, request, act)
        with self._store.reading() as reader:
            entry = next(reader.entries(kept.orchard, ["decision"], after=position - 1, limit=1))
        return Decision.of(entry)

    def decisions(self, orchard: str, advice: str | None = None) -> list[Decision]:
        """What was decided, oldest first; of one advice, or of all."""
        with self._store.reading() as reader:
            self._known(reader, orchard)
            return [Decision.of(entry) for entry in reader.entries(orchard, ["decision"], advice)]

    # --- keeping it sound ---------------------------------------------------------------------

    @property
    def head(self) -> Head:
        """How many records there are, and the hash of the last: note it elsewhere for a later `verify`."""
        with self._store.reading() as reader:
            return reader.head

    def verify(self, noted: Head | str | None = None) -> list[Problem]:
        """Every record that was changed, is missing, or stands out of place. noted: a head that was noted before."""
        known = Head.read(noted) if isinstance(noted, str) else noted
        with self._store.reading() as reader:
            return list(faults_in(reader.entries(), reader.head, known))

    def replay(self, advice: str) -> Replay:
        """Run an old advice again, and say what differs and why."""
        kept, answer = self.advice(advice), self.run_of(advice)
        with self._store.reading() as reader:
            old = reader.latest("", ["edition"], _edition_ref(kept.edition))
        then: Manifest | None = old.content if old else None
        equal = _text(answer) == kept.text
        return compared(advice, kept.answer, answer, equal, then, manifest(*self._books()))

    def entries(self, orchard: str | None = None, after: int = 0, limit: int | None = None) -> list[Entry]:
        """The records themselves."""
        with self._store.reading() as reader:
            return list(reader.entries(orchard, after=after, limit=limit))

    def export(self, stream: TextIO) -> Head:
        """Write everything as JSON Lines."""
        from advisor.journal import moving

        with self._store.reading() as reader:
            return moving.export(reader, stream)

    def import_(self, stream: Iterable[str], name: str = "import") -> Head:
        """Read what `export` wrote, into an empty journal or one that holds the beginning of it; all or nothing."""
        from advisor.journal import moving

        head = moving.import_(self._store, stream, name)
        with self._lock:
            self._states.clear()
        return head

    def backup(self, path: str | Path) -> Path:
        """A copy as of one moment, while others write: an SQLite file, or JSON Lines of a PostgreSQL journal."""
        from advisor.journal import moving

        return moving.backup(self._store, Path(path))

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
                    raise conflict("key", f"the key {key[:60]!r} was used for another request", "Use a new key.")
                return before.content["result"]
            result = act(writer)
            writer.append(orchard, "receipt", f"{operation} {key}", {"request": asked, "result": result})
            return result

    def _state(self, reader: Reader, orchard: str) -> State:
        """The orchard as it now is. Held in memory, and brought up to date by the records since."""
        with self._lock:
            state = self._states.setdefault(orchard, State())
            state.take(reader.entries(orchard, GIVEN, after=state.position))
            return state

    def _known(self, reader: Reader, orchard: str) -> State:
        state = self._state(reader, orchard)
        if state.version is None:
            raise missing(f"orchard {orchard[:64]}", "no orchard of that id is kept", "Put it first.")
        return state

    @staticmethod
    def _must_stand(state: State, observation: str) -> None:
        if observation not in state.observations:
            raise missing(f"observation {observation[:80]}", "no observation of that id stands",
                          "Look for it among the observations.")  # fmt: skip

    def _file(self, reader: Reader, orchard: str, upto: int | None = None) -> tuple[OrchardFile, int]:
        """The orchard file as of a position, and the position of the last record in it."""
        last = reader.last_position(orchard, GIVEN, upto)
        with self._lock:
            if (orchard, last) in self._files:
                self._files.move_to_end((orchard, last))
                return self._files[orchard, last], last
            if upto is None:
                state = self._known(reader, orchard)
            else:
                state = State()
                state.take(reader.entries(orchard, GIVEN, upto=upto))
            file = self._files[orchard, state.position] = state.file()
            while len(self._files) > _MOST_KEPT:
                self._files.popitem(last=False)
            return file, state.position

    def _take_observations(
        self,
        writer: Writer,
        orchard: str,
        state: State,
        file: OrchardFile,
        given: Sequence[Mapping[str, Any]],
        correct: bool = False,
    ) -> list[str]:
        """Keep observations that `file` was read with; their ids in the order given."""
        seen, _ = read_observations(given, Document(given, "observations"), (), file.zone)
        taken: dict[str, dict[str, Any]] = {}
        ids = []
        for one, record in zip(seen, given, strict=True):
            id = one.id
            held = taken.get(id) or state.observations.get(id)
            if held is not None and not _says(held, one, file.zone):
                if id == one.id_from_content():  # two contents that share four digits
                    id = one.id_from_content(12)
                    held = taken.get(id) or state.observations.get(id)
                elif not correct:
                    raise conflict(f"observation {id}", "another observation is kept under this id",
                                   "Correct that one, or give a new id.")  # fmt: skip
                else:
                    taken[id] = {**record, "id": id}
                    writer.append(orchard, "correction", id, {"given": taken[id]})
            if held is None:
                taken[id] = {**record, "id": id}
                writer.append(orchard, "observation", id, {"given": taken[id]})
            ids.append(id)
        if len(state.observations.keys() | taken.keys()) > MOST_OBSERVATIONS:
            raise refused("observations", f"an orchard can hold {MOST_OBSERVATIONS:,} observations",
                          "Withdraw old ones.")  # fmt: skip
        return ids

    def _take_weather(self, writer: Writer, orchard: str, state: State, read: Hours, forecast: bool) -> dict[str, int]:
        known = state.forecast if forecast else state.weather
        body, counts = changes(known, read)
        if body is not None:
            whole = {name: dict(values) for name, values in known.items()}
            merge_into(whole, body)
            table(whole, dt.UTC)  # refuses what cannot be one table
            kind = "forecast" if forecast else "weather"
            writer.append(orchard, kind, f"{body['time'][0]} {body['time'][-1]}", body)
        return counts

    def _books(self) -> tuple[Rulebook, Knowledge]:
        return self._rules or default_rules(), self._knowledge or ecosystem.knowledge()

    def _inputs(self, file: OrchardFile, on: dt.date | dt.datetime | str | None) -> Inputs:
        book, known = self._books()
        return Inputs(file, day_of(on, file), file.weather, file.forecast, book, known)

    def _remember(self, advice: str, answer: Answer) -> None:
        with self._lock:
            self._runs[advice] = answer
            while len(self._runs) > _MOST_KEPT:
                self._runs.popitem(last=False)

    def _keep_manifest(self, writer: Writer, edition: Mapping[str, str]) -> None:
        ref = _edition_ref(edition)
        if writer.latest("", ["edition"], ref) is None:
            writer.append("", "edition", ref, manifest(*self._books()))


def _edition_ref(edition: Mapping[str, str]) -> str:
    return f"{edition['software']} {edition['rules']} {edition['knowledge']}"


def _text(answer: Mapping[str, Any]) -> str:
    return json.dumps(answer, ensure_ascii=False, separators=(",", ":"))


def _says(held: Mapping[str, Any], one: Seen, zone: dt.tzinfo) -> bool:
    """Whether an observation that is kept says the same as another."""
    kept, _ = read_observations([held], Document([held], "observations"), (), zone)
    return bool(kept) and kept[0].model_copy(update={"id": one.id}) == one


def _rows(given: object) -> Any:
    """Weather as CSV text or records, but never the name of a file."""
    if isinstance(given, str) and "\n" not in given.strip():
        raise refused("weather", "a file name is not read here", "Give the hours themselves.", given)
    return given


def _with_tables(content: Mapping[str, Any]) -> Mapping[str, Any]:
    """The content without weather that is CSV text, which is read on its own."""
    return {name: value for name, value in content.items()
            if not (name in ("weather", "forecast") and isinstance(value, str) and "\n" in value)}  # fmt: skip
