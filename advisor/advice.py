"""Ask for advice: the one path from what is given to the answer."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

from advisor import ecosystem
from advisor.answer import AnswerShape, Edition, Record
from advisor.ecosystem import Knowledge, Ledger, consequences
from advisor.errors import InputError, Problem
from advisor.facts import Gathered, Situation, gather
from advisor.given import in_our_years
from advisor.inference import Inference, run
from advisor.orchard import OrchardFile, load_orchard
from advisor.outcome import Proposal
from advisor.presenting import conditions, recommendations, show_in
from advisor.quantity import Unreadable
from advisor.rulebook import Rulebook, load_rules, shipped_folder
from advisor.stages import bbch_of
from advisor.unknowns import unknowns
from advisor.weather import Weather, read_weather
from advisor.weighing import Outcome, Wish, settle

WeatherGiven = Weather | str | Path | Sequence[Mapping[str, Any]] | None


@dataclass(frozen=True)
class Inputs:
    """What an answer was asked with, before anything is cut to the day.

    day: as asked, a day or a moment. measured, forecast: hourly weather, that of the file where none was given.
    """

    file: OrchardFile
    day: dt.date | dt.datetime
    measured: Weather | None
    forecast: Weather | None
    rulebook: Rulebook
    knowledge: Knowledge

    def again(self, **changed: Any) -> Answer:
        """The answer along the same path with these inputs in place of the old ones."""
        return answer_to(replace(self, **changed))


@dataclass(frozen=True)
class Run:
    """Everything along the path that led to an answer: what explanations read."""

    inputs: Inputs
    now: Situation
    gathered: Gathered
    inference: Inference
    outcomes: tuple[Outcome, ...]

    @property
    def rulebook(self) -> Rulebook:
        return self.inputs.rulebook


class Answer(Record):
    """The answer as a dictionary (see `advisor.answer`), with the run behind it in `.run`."""

    run: Run

    def __init__(self, shape: AnswerShape, run: Run) -> None:
        super().__init__(Record.of(shape.model_dump(mode="json")))
        object.__setattr__(self, "run", run)

    def why(self, id: str) -> Record:
        """Why the recommendation of an id was made, down to what was seen: see `advisor.explain.why`."""
        from advisor import explain

        return explain.why(self, id)

    def why_not(self, practice: str, block: str | None = None) -> Record:
        """Why a practice was not advised, and what would bring it about: see `advisor.explain.why_not`."""
        from advisor import explain

        return explain.why_not(self, practice, block)

    def what_if(self, changes: Mapping[str, Any], *, files: bool = True) -> Record:
        """What changed inputs would change in the advice: see `advisor.explain.what_if`."""
        from advisor import explain

        return explain.what_if(self, changes, files=files)

    def look_next(self) -> list[Record]:
        """The looks that could change most of the advice, found by trying: see `advisor.explain.look_next`."""
        from advisor import explain

        return explain.look_next(self)

    def plan(self, weeks: int = 8) -> Record:
        """The advised work and the year's usual work on days, within the hours there are: see `advisor.hours`."""
        from advisor import hours

        return hours.plan_for(self, weeks)

    def bloom(self, **asked: Any) -> Record:
        """Who is in flower when, what is lacking, and what to plant: takes what `advisor.habitat.bloom_for` takes."""
        from advisor import habitat

        return habitat.bloom_for(self, **asked)


def advise(
    orchard: OrchardFile | str | Path | Mapping[str, Any],
    on: dt.date | dt.datetime | str | None = None,
    weather: WeatherGiven = None,
    forecast: WeatherGiven = None,
    *,
    rules: Rulebook | None = None,
    knowledge: Knowledge | None = None,
) -> Answer:
    """Advice for an orchard on a day.

    orchard: a file's path, its content as a mapping, or what `load_orchard` returns.
    on: the day in the orchard's zone (the whole of it), or a moment; today if left out.
    weather, forecast: path, CSV text, rows or `Weather`; what the orchard file names if left out.
    Raises InputError when something given cannot be read or makes no sense.
    """
    file = orchard if isinstance(orchard, OrchardFile) else load_orchard(orchard)
    return answer_to(
        Inputs(
            file=file,
            day=day_of(on, file),
            measured=weather_of(weather, file.weather, file, "weather"),
            forecast=weather_of(forecast, file.forecast, file, "forecast"),
            rulebook=rules or default_rules(),
            knowledge=knowledge or ecosystem.knowledge(),
        )
    )


def answer_to(inputs: Inputs) -> Answer:
    """The answer to these inputs: the path, and what came of it in the shape of an answer."""
    run = run_through(inputs)
    now, inference, book, known = run.now, run.inference, inputs.rulebook, inputs.knowledge
    edition = edition_of(inputs)
    shape = AnswerShape(
        advice=id_of(edition),
        orchard=inputs.file.orchard.name,
        date=now.on,
        edition=edition,
        recommendations=recommendations(now, inference, run.outcomes),
        conditions=conditions(now, run.gathered),
        unknowns=unknowns(now, run.gathered, inference, book),
        overrides=[str(override) for override in (*book.overrides, *known.overrides)],
        notes=_notes(inputs),
    )
    return Answer(shape, run)


def _notes(inputs: Inputs) -> list[str]:
    """How the file was read, and the weather that was used (the file's own, or what was given in its place)."""
    tables = {"Weather": inputs.measured, "Forecast": inputs.forecast}
    own = [note for note in inputs.file.notes if note.partition(":")[0] not in tables]
    used = [(name, table.report.sentences) for name, table in tables.items() if table is not None]
    return [*own, *(f"{name}: {text}" for name, sentences in used for text in sentences)]


def run_through(inputs: Inputs) -> Run:
    """The path itself: situation, facts, rules, weighing."""
    now = Situation.of(inputs.file, inputs.day, inputs.measured, inputs.forecast, inputs.knowledge)
    gathered = gather(now, inputs.rulebook.kinds)
    show = show_in(inputs.file.orchard.units, inputs.knowledge)
    inference = run(inputs.rulebook, gathered.facts, region=now.region, show=show)
    return Run(inputs, now, gathered, inference, tuple(settled(now, inference)))


def settled(now: Situation, inference: Inference) -> list[Outcome]:
    """What a run of the rules proposes and holds, weighed in one situation."""
    return settle(
        inference.proposals,
        list(_wishes(inference)),
        inference.reservations,
        _wanting_a_look(inference),
        lambda practice: now.knowledge.conflicts.get(practice, frozenset()),
        lambda practice, place, about: ledger_at(now, practice, place, about),
        _preparations(inference),
    )


@lru_cache(maxsize=1)
def default_rules() -> Rulebook:
    """The rules that come with the program, against the knowledge that comes with it."""
    return rules_by(ecosystem.knowledge())


def rules_by(knowledge: Knowledge, *folders: Path) -> Rulebook:
    """The program's rules with those of a grower's folders over them, judged by the figures of this knowledge."""
    return load_rules(shipped_folder(), *folders, figures=knowledge.figures, stages=bbch_of)


def day_of(on: dt.date | dt.datetime | str | None, file: OrchardFile) -> dt.date | dt.datetime:
    """The day or moment asked for; today in the orchard's zone if none was."""
    if on is None:
        return dt.datetime.now(file.zone).date()
    try:
        if isinstance(on, str):
            on = dt.date.fromisoformat(on) if len(on) <= 10 else dt.datetime.fromisoformat(on)
        return in_our_years(on)
    except Unreadable as fault:
        raise InputError(Problem("request", "on", fault.message, fault.mend, value=str(on))) from None
    except ValueError:
        raise InputError(
            Problem("request", "on", "not a date or an ISO time", "Write it like 2026-05-18.", value=str(on))
        ) from None


def weather_of(given: WeatherGiven, of_file: Weather | None, file: OrchardFile, name: str) -> Weather | None:
    """The weather given, read; what the orchard file holds if none was."""
    if given is None:
        return of_file
    if isinstance(given, Weather):
        return given
    if isinstance(given, str) and "\n" not in given:
        given = Path(given)
    return read_weather(given, file.zone, file=str(given) if isinstance(given, Path) else name)


def _wishes(inference: Inference) -> Iterator[Wish]:
    for fact in inference.facts.values():
        if fact.kind == "considered" and fact.fields["made_by"] == "intent":
            f: dict[str, Any] = dict(fact.fields)
            yield Wish(
                id=fact.id.removeprefix("considered:"),
                intent=f["intent"],
                practice=f["practice"],
                target=None if f.get("target") == "none" else f.get("target"),
                block=f.get("block"),
                habitat=f.get("habitat"),
                material=f.get("material"),
                day=f.get("day", 0),
            )


def _wanting_a_look(inference: Inference) -> dict[str, list[str]]:
    """Considered id -> rules that would hold it, want a look first, and say that it must wait for that look."""
    found: dict[str, list[str]] = {}
    for undecided in inference.held_for_a_look:
        if undecided.considered:
            found.setdefault(undecided.considered.removeprefix("considered:"), []).append(undecided.rule.id)
    return found


def _preparations(inference: Inference) -> dict[str, str]:
    """Proposal id -> the intent that it was proposed for, where one of the facts behind it is that intent."""
    firings = {firing.id: firing for firing in inference.firings}
    found: dict[str, str] = {}
    for firing in inference.firings:
        if isinstance(firing.output, Proposal):
            todo, behind = list(firing.facts), set(firing.facts)
            while todo:
                fact = inference.facts[todo.pop()]
                if fact.kind == "intent":
                    found[firing.output.id] = str(fact.fields["id"])
                more = {name for origin in fact.origin if origin in firings for name in firings[origin].facts} - behind
                behind |= more
                todo += sorted(more)
    return found


def ledger_at(now: Situation, practice: str, place: tuple[str | None, str | None], about: str | None) -> Ledger:
    """What a practice gives and costs at a place (block, habitat), with the plant or material that it is about."""
    node = now.knowledge.resolve(about, kind=("plant", "material")) if about else None
    return consequences(
        practice, now.place(*place), now.when, about=node.key if node else None, knowledge=now.knowledge
    )


def edition_of(inputs: Inputs) -> Edition:
    """What an answer to these inputs rests on, known before the answer is."""
    return Edition(
        software=version("underbough"),
        rules=inputs.rulebook.edition,
        knowledge=inputs.knowledge.edition,
        inputs=_inputs_hash(inputs),
    )


def id_of(edition: Edition) -> str:
    """The id of the one answer that an edition can have."""
    return _hash(edition.model_dump())[:16]


def _inputs_hash(inputs: Inputs) -> str:
    tables = (inputs.measured, inputs.forecast)
    arrays = [hashlib.sha256(w.tobytes()).hexdigest() if w is not None else None for w in tables]
    return _hash({"file": inputs.file.given, "on": inputs.day.isoformat(), "weather": arrays})


def _hash(value: object) -> str:
    return hashlib.sha256(json.dumps(value, sort_keys=True, default=str).encode()).hexdigest()
