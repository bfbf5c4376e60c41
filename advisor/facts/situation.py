"""What is known on one day: the orchard, the stages, the weather, and the place and time that ledgers ask for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from advisor import season
from advisor.ecosystem import Knowledge, Pest, Place, When
from advisor.observation import (
    AllyCount,
    DiseaseSign,
    LeafFall,
    Observation,
    PestCount,
    PestDamage,
    Stems,
    Sward,
    VoleSign,
)
from advisor.orchard import Block, OrchardFile
from advisor.weather import Weather, end_of, merge

# What an observation is checked against before an element of the ground counts as not there (metres; shares).
SHORT_SWARD = 0.15


@dataclass(frozen=True)
class Situation:
    """One orchard on one day. Observations and measured weather dated later are left out; forecasts are not."""

    file: OrchardFile
    on: dt.date
    now: dt.datetime
    knowledge: Knowledge
    measured: Weather | None
    weather: Weather | None  # measured, then forecast
    stages: Mapping[str, season.Stage]
    bloom: season.Bloom
    weeks: float | None

    @property
    def lately(self) -> Weather | None:
        """Measured weather and, where the record ends within today, what is forecast for the rest of the day."""
        if self.measured is None or self.weather is None or self.measured.end >= self.now:
            return self.measured
        same_day = self.measured.end > self.now - dt.timedelta(days=1)
        return self.weather.until(self.now) if same_day and self.weather.end >= self.now else self.measured

    @staticmethod
    def of(
        file: OrchardFile,
        on: dt.date | dt.datetime,
        weather: Weather | None,
        forecast: Weather | None,
        knowledge: Knowledge,
    ) -> Situation:
        now = end_of(on, file.zone)
        day = now.astimezone(file.zone).date() if isinstance(on, dt.datetime) else on
        measured = weather.until(now).to_the_last_known() if weather is not None else None
        seen = tuple(o for o in file.observations if _seen_by(o, day, now))
        file = replace(file, observations=seen)
        latitude, zone = file.orchard.latitude, file.zone
        stages = {b.id: season.stage_on(day, b, seen, measured, latitude=latitude, zone=zone) for b in file.blocks}
        bloom = season.full_bloom(day, file.blocks, seen, measured, latitude=latitude, zone=zone)
        return Situation(
            file=file,
            on=day,
            now=now,
            knowledge=knowledge,
            measured=measured,
            weather=merge(measured, forecast),
            stages=stages,
            bloom=bloom,
            weeks=season.weeks_from_bloom(day, bloom),
        )

    @property
    def blocks(self) -> tuple[Block, ...]:
        return self.file.blocks

    @property
    def observations(self) -> tuple[Observation, ...]:
        return self.file.observations

    @property
    def latitude(self) -> float:
        return self.file.orchard.latitude

    @property
    def region(self) -> str:
        return self.file.guidance or "any"

    @property
    def year(self) -> str:
        """The orchard year as it is written in ids: 2026, or 2026-27 in the south."""
        return season.year_label(self.on, self.latitude)

    def days_ago(self, day: dt.date) -> int:
        return (self.on - day).days

    def this_season(self, day: dt.date) -> bool:
        return season.orchard_year(day, self.latitude) == season.orchard_year(self.on, self.latitude)

    @cached_property
    def when(self) -> When:
        """The moment for ledgers; of two blocks of one fruit, the one that is further behind counts."""
        stages: dict[str, int] = {}
        for block in self.blocks:
            code = self.stages[block.id].bbch
            if code is not None:
                stages[block.fruit] = min(code, stages.get(block.fruit, code))
        return When(bbch=stages, weeks=self.weeks)

    def place(self, block: str | None = None, habitat: str | None = None) -> Place:
        """A block or a habitat, with what grows there and what was seen there, as ledgers ask for it."""
        blocks = [b for b in self.blocks if b.id == block] if block else list(self.blocks)
        habitats = [h for h in self.file.habitats if h.id == habitat] if habitat else list(self.file.habitats)
        plants = [*(p for b in blocks for p in b.understory or ()), *(p for h in habitats for p in h.plants or ())]
        known = all(h.plants is not None for h in habitats) and all(b.understory is not None for b in blocks)
        present, absent = self._seen_there(block, habitat)
        fruits = {b.fruit for b in blocks}
        return Place(
            fruits=fruits,
            plants=frozenset(plants) | fruits if known and not habitat else None,
            present=present,
            absent=absent,
        )

    def _seen_there(self, block: str | None, habitat: str | None) -> tuple[set[str], set[str]]:
        present: set[str] = {t for b in self.blocks if block in (None, b.id) for t in b.history or ()}
        absent: set[str] = set()
        for seen in self.observations:  # by date: a later one overrules
            if (seen.block and block and seen.block != block) or (seen.habitat and habitat and seen.habitat != habitat):
                continue
            for name, here in said_there(seen):
                (present if here else absent).add(name)
                (absent if here else present).discard(name)
        pests = self.knowledge.of_kind(Pest)
        return present, {name for name in absent if name not in pests or name not in present}


def _seen_by(observation: Observation, day: dt.date, now: dt.datetime) -> bool:
    if observation.moment is not None:
        return observation.moment <= now
    return observation.date <= day


def said_there(seen: Observation) -> list[tuple[str, bool]]:
    """What an observation says is there or not: (id in the ecosystem, there)."""
    match seen:
        case PestCount():
            figures = [f for f in (seen.count, seen.infested, seen.over) if f is not None]
            return [(seen.pest, any(f > 0 for f in figures))] if figures else []
        case AllyCount():
            if seen.abundance is not None:
                return [(seen.ally, seen.abundance != "none")]
            shares = [f for f in (seen.count, seen.share) if f is not None]
            return [(seen.ally, any(f > 0 for f in shares))] if shares else []
        case DiseaseSign():
            signs = [f for f in (seen.share, seen.strikes, seen.per_tree) if f is not None]
            return [(seen.disease, not signs or any(f > 0 for f in signs))]
        case PestDamage():
            return [(seen.pest, seen.share is None or seen.share > 0)]
        case VoleSign():
            marks = [seen.runways not in (None, "none"), bool(seen.slices_eaten), bool(seen.gnawing)]
            looked = any(f is not None for f in (seen.runways, seen.slices_eaten, seen.gnawing))
            return [("voles", any(marks))] if looked else []
        case Sward() if seen.height is not None:
            tall = seen.height > SHORT_SWARD
            return [("tall-grass", tall), ("short-grass", not tall)]
        case Stems() if seen.standing is not None:
            return [("standing-stems", seen.standing > 0)]
        case LeafFall() if seen.fallen is not None:
            return [("leaf-litter", seen.fallen > 0)]
        case _:
            return []
