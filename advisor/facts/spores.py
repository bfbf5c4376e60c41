"""The spring spores of the scabs and of cedar-apple rust: how ripe they are, what they did, when they are spent."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import numpy as np

from advisor.fact import Fact
from advisor.facts.covers import covered, found
from advisor.facts.infections import APPLE_SCAB, Judge, judges_of
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.facts.stage_dates import reached
from advisor.facts.wettings import Reading
from advisor.observation import DiseaseSign, Work
from advisor.orchard import Block
from advisor.science import pear_scab, scab
from advisor.science.tables import Array

# Young leaves of pear are open to rust from bud burst to about June drop (BBCH, as in knowledge/diseases.yaml).
_PEAR_RUST_OPENS, _PEAR_RUST_CLOSES = 54, 73


def host_near(now: Situation, block: Block, disease: str) -> tuple[bool | None, tuple[str, ...]]:
    """Whether an alternate host stands in reach, and what says so: plants given, last year's disease, a look.

    None: not known.
    """
    reach = now.knowledge.figure(f"{disease}.reach").value(now.region).value
    near = {plant: (0.0, f"understory:{block.id}:{plant}") for plant in block.understory or ()}
    for habitat in now.file.habitats:
        for plant in habitat.plants or ():
            near[plant] = habitat.distance or 0.0, f"habitat-plant:{habitat.id}:{plant}"
    hosts = {link.start for link in now.knowledge.links_to(disease) if link.link == "alternate-host-of"}
    for plant, (distance, fact) in near.items():
        node = now.knowledge.resolve(plant, kind="plant")
        if node is not None and node.id in hosts and distance <= float(reach):
            return True, (fact,)
    if disease in (block.history or ()):
        return True, (f"history:{block.id}:{disease}",)
    seen = (look for look in now.observations if isinstance(look, DiseaseSign) and look.disease == disease)
    for look in seen:
        if look.block in (None, block.id) and (found(look) or look.horns is not None):
            return True, (look.id,)
    return None, ()


def spore_seasons(reading: Reading, block: Block, covers: list[Work], make: Maker) -> Iterator[Fact]:
    now, stage = reading.now, reading.now.stages[block.id]
    if block.fruit == "pear":
        yield _pear_rust(now, block, make)
    for judge in judges_of(block.fruit):
        if judge.disease not in ("apple-scab", "pear-scab", "cedar-apple-rust", "quince-rust"):
            continue
        values: dict[str, object] = {"block": block.id, "disease": judge.disease}
        text = "the stage is not known"
        host: tuple[str, ...] = ()
        if stage.bbch is not None:
            done = [one for one in reading.of_block(block, judge) if one.severity and reading.leaves is not None
                    and one.end <= reading.leaves.now_at]
            values["infections"] = len(done) if reading.leaves is not None else None
            if reading.leaves is not None:
                values["uncovered"] = sum(not covered(now, reading.leaves, one, covers) for one in done)
            if judge.disease == "quince-rust":
                near, host = host_near(now, block, judge.disease)
                values |= {"open": judge.opens <= stage.bbch < judge.closes, "host_near": near}
                text = "open from tight cluster to petal fall"
            elif judge.disease == "cedar-apple-rust":
                late = now.weeks is not None and now.weeks > _weeks_of_rust(now)
                near, host = host_near(now, block, judge.disease)
                values |= {"open": judge.opens <= stage.bbch < judge.closes and not late, "host_near": near}
                text = "open from pink until about five weeks after bloom"
            else:
                ripe, text = _ripeness(reading, block, judge)
                over = ripe.get("over")
                started = stage.bbch >= judge.opens and stage.bbch < 91
                values |= ripe
                values["open"] = False if not started else None if over is None else not over
                values["clean"] = reading.clean(block) if judge.disease == "apple-scab" else None
        yield make("spore-season", f"{block.id}:{judge.disease}", values, text=text,
                   origin=("weather", *stage.observations, *host),
                   sources=("ontario-apple-guide", "stensvand-2005-rain") if judge.disease == "apple-scab" else ())


def _pear_rust(now: Situation, block: Block, make: Maker) -> Fact:
    """Pear rust: when the young leaves are open to it and whether a juniper is near; no wet hours are published."""
    stage = now.stages[block.id]
    near, host = host_near(now, block, "pear-rust")
    values: dict[str, object] = {"block": block.id, "disease": "pear-rust", "host_near": near}
    if stage.bbch is not None:
        values["open"] = _PEAR_RUST_OPENS <= stage.bbch < _PEAR_RUST_CLOSES
    return make("spore-season", f"{block.id}:pear-rust", values, text="open on young leaves in spring rain",
                origin=(*stage.observations, *host), sources=("wsu-pear-rust",))


def _weeks_of_rust(now: Situation) -> float:
    return float(now.knowledge.figure("cedar-apple-rust.leaves-safe-from-weeks").value(now.region).value)


def _ripeness(reading: Reading, block: Block, judge: Judge) -> tuple[dict[str, object], str]:
    """How far the spring spores of a scab are: by degree-days from green tip or bud swell, without them by stage."""
    now = reading.now
    bbch = now.stages[block.id].bbch or 0
    since = reached(now, block, judge.opens)
    by_stage = False if bbch < 69 else True if bbch >= 75 else None
    if since is None:
        return {"over": False if bbch < judge.opens else by_stage}, "spores wait for green tissue"
    begin = dt.datetime.combine(since, dt.time(), now.file.zone)
    days = now.measured.between(begin, now.now).daily(now.file.zone) if now.measured is not None else None
    expected = (now.on - since).days + 1
    if days is None or not len(days.dates):
        return {"over": by_stage}, "no weather tells how ripe the spores are; the stage is taken"
    running = scab.maturity_degree_days(days.mean, days.rain)
    heat = float(running[-1])
    if np.isnan(heat) or len(days.dates) < expected - 1:
        known = np.nan_to_num(days.mean, nan=0.0)
        least = float(np.sum(np.maximum(known, 0.0))) if np.isfinite(days.rain).all() else 0.0
        over = True if judge is APPLE_SCAB and scab.primary_season_over(least) else by_stage
        return {"over": over}, f"days are missing since {since}; the stage is taken"
    values: dict[str, object] = {"degree_days": heat}
    if judge is APPLE_SCAB:
        halted = bool(len(running) > 1 and running[-1] == running[-2] and days.mean[-1] > 0)
        over = _spent(running, days.rain) is not None
        values |= {"mature": scab.spores_mature(heat), "over": over, "halted": halted}
    else:
        values["over"] = pear_scab.season(heat) == "over"
    return values, f"{heat:.0f} degree-days C since {since}, standing still after 7 days without rain"


def _spent(running: Array, rain: Array) -> int | None:
    """The day of a series on which the last spring spores of apple scab fly: its first rain from 418 degree-days on."""
    flown = np.flatnonzero((running >= scab.PRIMARY_SEASON_ENDS) & (rain >= scab.RELEASING_RAIN_MM))
    return int(flown[0]) if flown.size else None


def spent_on(reading: Reading, block: Block) -> dt.date | None:
    """The day on which the spring spores of apple scab were used up; None if not yet, or where days are missing."""
    now, since = reading.now, reached(reading.now, block, APPLE_SCAB.opens)
    if now.measured is None or since is None:
        return None
    begin = dt.datetime.combine(since, dt.time(), now.file.zone)
    days = now.measured.between(begin, now.now).daily(now.file.zone)
    if not len(days.dates):
        return None
    last = _spent(scab.maturity_degree_days(days.mean, days.rain), days.rain)
    return None if last is None else days.dates[last].astype(object)
