"""A whole season replayed: every wetting that infected, every day of bloom near fire blight, and what was sprayed.

    replay(orchard, on, weather)    the list, as data
    write(found)                    the list for people
    seen, told                      the two halves of replay: what it is told from, and the telling

It reads the same leaves by the same figures as the advice does, so that what was advised in a season can be checked
against what the weather did in it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from advisor import ecosystem, spray_ledger
from advisor.advice import WeatherGiven, day_of, weather_of
from advisor.ecosystem import Knowledge
from advisor.errors import InputError, Problem
from advisor.facts import Situation
from advisor.facts.blight import FRUITS, days_of
from advisor.facts.infections import APPLE_SCAB, judges_of, shows_on
from advisor.facts.spores import spent_on
from advisor.facts.stage_dates import reached
from advisor.facts.wettings import Reading
from advisor.observation import Work
from advisor.orchard import Block, OrchardFile, load_orchard
from advisor.sentences import in_words


@dataclass(frozen=True)
class Event:
    """One line of a season.

    start: local time at which the wetting began, or the day of bloom. severity: light, moderate, severe or infects;
    near (fire blight: three of four conditions); None where missing hours leave it open. hours: wet hours counted, of
    fire blight the degree-hours since the first open flower; at_least: there may have been more. spores: of apple scab,
    spring while they last, then summer (only from spots on this year's leaves). open_known: whether it is known that
    this part of the trees was open to it then.
    """

    block: str
    fruit: str
    disease: str
    part: str
    start: str
    severity: str | None
    hours: float | None
    at_least: bool
    mean_c: float | None
    rain_mm: float | None
    shows_on: str | None
    spores: str | None
    open_known: bool
    text: str


def replay(
    orchard: OrchardFile | str | Path | Mapping[str, Any],
    on: dt.date | dt.datetime | str | None = None,
    weather: WeatherGiven = None,
    forecast: WeatherGiven = None,
    *,
    knowledge: Knowledge | None = None,
) -> dict[str, Any]:
    """The season of a day up to that day (and its forecast): its events by start, its sprays, and what is not known.

    on: the last day of the weather if left out, today without any. Without hourly weather only the sprays are listed;
    without work on record either, InputError is raised.
    """
    return told(*seen(orchard, on, weather, forecast, knowledge=knowledge))


def seen(
    orchard: OrchardFile | str | Path | Mapping[str, Any],
    on: dt.date | dt.datetime | str | None = None,
    weather: WeatherGiven = None,
    forecast: WeatherGiven = None,
    *,
    knowledge: Knowledge | None = None,
) -> tuple[Situation, list[str]]:
    """What a replay is told from, and what is to be noted of its weather. InputError as `replay` raises it."""
    file = orchard if isinstance(orchard, OrchardFile) else load_orchard(orchard)
    measured = weather_of(weather, file.weather, file, "weather")
    ahead = weather_of(forecast, file.forecast, file, "forecast")
    if measured is None or not len(measured):
        if not any(isinstance(o, Work) for o in file.observations):
            raise InputError(Problem(file.file or "orchard", "weather", "a season is replayed from hourly weather",
                                     "Name a weather file in the orchard file, or give --weather."))
        measured, last, notes = None, None, ["No hourly weather was given, so no wetting is listed."]
    else:
        last = (measured.end - dt.timedelta(hours=1)).astimezone(file.zone).date()
        notes = list(measured.report.sentences)
    day = last if on is None and last is not None else day_of(on, file)
    return Situation.of(file, day, measured, ahead, knowledge or ecosystem.knowledge()), notes


def told(now: Situation, notes: Sequence[str]) -> dict[str, Any]:
    """The season of a situation, as `replay` gives it."""
    sky, notes = now.measured is not None, list(notes)
    reading = Reading.of(now)
    events = [event for block in now.blocks for event in _of_block(reading, block)]
    events.sort(key=lambda event: (event.start, event.block, event.disease, event.part))
    if reading.leaves is not None:
        notes.insert(0, f"From {reading.leaves.date(0)}: {reading.leaves.rule}.")
    for block in now.blocks:
        if sky and now.stages[block.id].bbch is None:
            notes.append(f"No stage of {block.id} is known: listed is every wetting that would infect open trees.")
    return {"orchard": now.file.orchard.name, "season": now.year, "until": now.on.isoformat(), "notes": notes,
            "events": [asdict(event) for event in events], "sprays": spray_ledger.ledger(now),
            "units": now.file.orchard.units, "weather": sky}


def _of_block(reading: Reading, block: Block) -> Iterator[Event]:
    leaves, now = reading.leaves, reading.now
    if leaves is None:
        return
    spent = spent_on(reading, block) if block.fruit == "apple" else None
    for judge in judges_of(block.fruit):
        known = now.stages[block.id].bbch is not None
        found = reading.of_block(block, judge) if known else reading.between(block, judge, 0, len(leaves))
        for one in found:
            shown = shows_on(leaves, one) if one.severity else None
            spores = None
            if judge is APPLE_SCAB:
                spores = "summer" if spent is not None and leaves.date(one.first) > spent else "spring"
            yield Event(block.id, block.fruit, one.disease, one.part, f"{leaves.moment(one.first):%Y-%m-%dT%H:%M%z}",
                        one.severity, one.hours, one.at_least, one.mean_c, one.rain_mm,
                        shown.isoformat() if shown else None, spores, known, one.text)
    if block.fruit in FRUITS and reached(now, block, 60) is not None:
        for day in days_of(reading, block):
            if day.met >= 3:
                severity = "infects" if day.infection else "near" if day.infection is False else None
                yield Event(block.id, block.fruit, "fire-blight", "blossom", day.date.isoformat(), severity, day.heat,
                            not day.heat_sure, day.mean_c, None, None, None, day.open is not None, day.text)


def write(found: Mapping[str, Any]) -> str:
    """The list as lines of text; what is to come is told as forecast."""
    lines = [f"{found['orchard']}, season {found['season']} up to {found['until']}"]
    lines += [f"  {note}" for note in found["notes"]]
    for event in found["events"]:
        severity = event["severity"] or "not known"
        shows = f"; shows from {event['shows_on']}" if event["shows_on"] else ""
        start, disease = event["start"].replace("T", " ")[:16], in_words(event["disease"])
        spores = ", only from spots of this year" if event["spores"] == "summer" else ""
        ahead = " by the forecast," if event["start"][:10] > found["until"] else ""
        lines.append(f"{start:16}  {event['block']}: {disease} ({event['part']}{spores}),{ahead} {severity}: "
                     f"{event['text']}{shows}")
    if not found["events"] and found["weather"]:
        lines.append("No wetting of this season infected anything, as far as is known.")
    lines += ["", *spray_ledger.lines(found["sprays"], found["units"])]
    return "\n".join(lines)
