"""What a block has against disease, and what it has of it: signs, cultivars that resist, sprays that still cover."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import numpy as np

from advisor.ecosystem import Disease
from advisor.fact import Fact
from advisor.facts.given import places
from advisor.facts.infections import Infection
from advisor.facts.leaves import Leaves
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.facts.wettings import Reading
from advisor.observation import DiseaseSign, Work
from advisor.orchard import Block
from advisor.science.cultivar_resistance import DISEASES, HIGHLY_SUSCEPTIBLE, VERY_RESISTANT, resistance
from advisor.sentences import in_words

OVER_WINTER = 150  # days that a sign of late season stands into the next (common practice, no source)
PROTECTANTS = frozenset({"sulphur", "lime-sulphur", "copper", "bicarbonate"})


def disease_here(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    seen: dict[str, DiseaseSign] = {}
    for look in now.observations:
        if not isinstance(look, DiseaseSign) or look.where in ("juniper", "air"):
            continue
        if not now.this_season(look.date) and now.days_ago(look.date) > OVER_WINTER:
            continue
        older = seen.get(look.disease)
        if ("block", block.id) in places(now, look.block, look.habitat) and (older is None or _overrules(look, older)):
            seen[look.disease] = look
    known = now.knowledge.of_kind(Disease)
    history = {node.id for name in block.history or () if (node := now.knowledge.resolve(name, kind="disease"))}
    for name in sorted({*seen, *history}):
        if name not in known or block.fruit not in known[name].fruits:
            continue
        sign = seen.get(name)
        values = {
            "block": block.id,
            "disease": name,
            "here": None if sign is None else found(sign),
            "last_year": None if block.history is None else name in history,
            "share": sign.share if sign else None,
            "strikes": sign.strikes if sign else None,
            "days_ago": now.days_ago(sign.date) if sign else None,
        }
        yield make("disease-here", f"{block.id}:{name}", values, origin=(sign.id,) if sign else ("orchard",))


def _overrules(look: DiseaseSign, older: DiseaseSign) -> bool:
    """A later look counts; but what was found is not gone because another part of the tree shows nothing."""
    return found(look) or not found(older) or look.where == older.where


def found(look: DiseaseSign) -> bool:
    figures = [f for f in (look.share, look.strikes, look.per_tree) if f is not None]
    return not figures or any(f > 0 for f in figures)


def resistances(block: Block, make: Maker) -> Iterator[Fact]:
    if block.fruit != "apple" or not block.cultivars:
        return
    for disease in DISEASES:
        ratings = [resistance(cultivar, disease) for cultivar in block.cultivars]
        said = ", ".join(f"{c}: {in_words(r or 'not rated')}"
                         for c, r in zip(block.cultivars, ratings, strict=True))
        values = {
            "block": block.id,
            "disease": disease,
            "needs_control": not all(rating == VERY_RESISTANT for rating in ratings),
            "prone": any(rating == HIGHLY_SUSCEPTIBLE for rating in ratings),
        }
        yield make("resistance", f"{block.id}:{disease}", values, origin=("orchard",), text=said,
                   sources=("wvu-scab-resistant", "wvu-rust-cultivars", "extension-mildew-cultivars"))


def covers_of(now: Situation, block: Block) -> list[Work]:
    """This season's protective sprays on a block, by date."""
    return [look for look in now.observations
            if isinstance(look, Work) and look.practice in PROTECTANTS and now.this_season(look.date)
            and ("block", block.id) in places(now, look.block, look.habitat)]


def cover_fact(reading: Reading, block: Block, covers: list[Work], make: Maker) -> Iterator[Fact]:
    if not covers:
        return
    now, last = reading.now, covers[-1]
    days = now.days_ago(last.date)
    rain = None
    if reading.leaves is not None:
        fell = reading.leaves.rain[reading.leaves.first_hour(last.date + dt.timedelta(days=1)):reading.leaves.now_at]
        rain = float(fell.sum()) if np.isfinite(fell).all() else None
    lasts, washes = lasting(now)
    holds = False if days > lasts else None if rain is None and days > 0 else (rain or 0.0) <= washes
    values = {"block": block.id, "practice": last.practice, "days_ago": days, "rain_since": rain, "holds": holds}
    washed = "rain since is not known" if rain is None else f"{rain:.3g} mm of rain since"
    yield make("cover", block.id, values, origin=(last.id, "weather"),
               text=f"{last.practice} of {last.date}, {washed}; one is taken to hold {lasts:g} days or {washes:g} mm")


def lasting(now: Situation) -> tuple[float, float]:
    """How long a protectant covers growing leaves: days, and mm of rain."""
    days, rain = (now.knowledge.figure(f"protectant.covers-{what}").value(now.region) for what in ("days", "rain"))
    return float(days.value), float(rain.value)


def covered(now: Situation, leaves: Leaves, one: Infection, covers: list[Work]) -> bool:
    """Whether a protective spray lay on the leaves when the wetting began; unknown rain is not held against it."""
    date, (lasts, washes) = leaves.date(one.first), lasting(now)
    for work in covers:
        if 0 <= (date - work.date).days <= lasts:
            fell = leaves.rain[leaves.first_hour(work.date + dt.timedelta(days=1)):one.first]
            if np.nansum(fell) <= washes:
                return True
    return False
