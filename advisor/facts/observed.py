"""Facts from observations: the newest word on each thing, for as long as its kind stays fresh.

Of two observations of one thing the later counts. For things that change slowly and are seen piecemeal (a sward's height
today, its seed heads last week) a field that the newest observation leaves out is taken from an earlier one that is still
fresh. Where two observations of the same moment contradict each other, the field counts as unknown and a `disagreement`
says so.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from advisor import season
from advisor.fact import Fact
from advisor.facts.given import places
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.observation import Observation

# Kinds whose newest observation is filled up from earlier, still fresh ones.
FILLED_UP = {"sward", "mulch", "stems", "leaf-fall", "vole-sign", "soil-water", "heap", "shoot-growth"}

# Fields that tell two observations of one kind and place apart, so that both stand.
APART = {
    "tree-sign": ("sign",),
    "plant-bloom": ("plant",),
    "pest-count": ("pest", "per", "trap", "at"),
    "pest-damage": ("pest", "of", "sign"),
    "ally-count": ("ally", "per"),
    "disease-sign": ("disease", "where", "sign"),
    "mummies": ("at", "of"),
    "crop-count": ("cultivar",),
    "fruit-sample": ("cultivar",),
    "leaf-test": ("cultivar",),
    "bees": ("who", "at"),
    "wildlife-sign": ("who",),
}

# Given, computed or handled elsewhere.
_ELSEWHERE = {"work", "intent", "forecast", "tree-stage"}


@dataclass
class _Seen:
    """What is known of one thing: each field with the moment and the observation it comes from."""

    newest: dt.date
    values: dict[str, Any] = field(default_factory=dict)
    moments: dict[str, Any] = field(default_factory=dict)
    origin: list[str] = field(default_factory=list)
    at_odds: set[str] = field(default_factory=set)


@dataclass(frozen=True)
class Stale:
    """An observation that has gone out of date: what it was about, and when it was made."""

    kind: str
    about: str | None
    block: str | None
    habitat: str | None
    date: dt.date


def observed_facts(now: Situation, make: Maker, stale: list[Stale]) -> Iterator[Fact]:
    """The facts; observations that are too old are put into `stale` instead."""
    known: dict[tuple[str, ...], _Seen] = {}
    for seen in now.observations:  # by date
        if seen.kind in _ELSEWHERE:
            continue
        values = _values(now, seen)
        apart = tuple(str(values.get(name)) for name in APART.get(seen.kind, ()))
        for where, place in places(now, seen.block, seen.habitat):
            if now.days_ago(seen.date) > (make.kinds[seen.kind].fresh or 10_000):
                about = next((str(values[n]) for n in make.kinds[seen.kind].keys if n in values), None)
                block, habitat = (place, None) if where == "block" else (None, place)
                stale.append(Stale(seen.kind, about, block, habitat, seen.date))
                continue
            _take(known.setdefault((seen.kind, where, place, *apart), _Seen(seen.date)), seen, values)
    for (kind, where, place, *words), one in known.items():
        about = ":".join([place, *(word for word in words if word != "None")])
        fields = {n: v for n, v in one.values.items() if n not in one.at_odds and n in make.kinds[kind].fields}
        yield make(
            kind,
            about,
            {where: place, **fields, "days_ago": now.days_ago(one.newest)},
            origin=tuple(one.origin),
        )
        for name in sorted(one.at_odds):
            yield make(
                "disagreement",
                f"{kind}:{about}:{name}",
                {where: place, "kind": kind, "field": name},
                origin=tuple(one.origin),
            )


def _take(known: _Seen, seen: Observation, values: dict[str, Any]) -> None:
    moment = seen.moment or seen.date
    if seen.kind not in FILLED_UP and moment not in known.moments.values():  # they come in order, so this one is later
        known.values.clear()
        known.origin.clear()
        known.at_odds.clear()
    for name, value in values.items():
        same_moment = known.moments.get(name) == moment and name in known.values
        if same_moment and known.values[name] != value:
            known.at_odds.add(name)
        elif not same_moment:
            known.at_odds.discard(name)
        known.values[name] = value
        known.moments[name] = moment
    known.newest = max(known.newest, seen.date)
    known.origin.append(seen.id)


def _values(now: Situation, seen: Observation) -> dict[str, Any]:
    """The plain fields of an observation, with what follows from them by arithmetic."""
    values = {
        name: value
        for name, value in seen.model_dump(exclude={"id", "kind", "date", "moment", "block", "habitat", "note"}).items()
        if isinstance(value, str | int | float | bool)
    }
    match seen.kind:
        case "stems":
            first = values.pop("first_cut", None)
            if first == "never":
                values["never_cut"] = True
            elif first is not None:
                values["never_cut"] = False
                values["first_cut"] = first
                values["stem_winters"] = season.orchard_year(now.on, now.latitude) - int(first)
        case "wildlife-sign":
            values["none"] = values.get("who") == "none"
        case "soil-test":
            for name, field_name in (("ph", "ph"), ("organic_matter", "organic_matter")):
                result = (seen.results or {}).get(name)
                if result is not None:
                    values[field_name] = result.value
        case _:
            pass
    return values


def file_mulch(now: Situation, make: Maker, facts: dict[str, Fact]) -> Iterator[Fact]:
    """The mulch that the orchard file states, where no fresh observation says otherwise."""
    for block in now.blocks:
        if block.mulch and f"mulch:{block.id}" not in facts:
            stated = {"material": block.mulch.material, "depth": block.mulch.depth, "trunk_gap": block.mulch.trunk_gap}
            yield make("mulch", block.id, {"block": block.id, **stated}, origin=("orchard",))
