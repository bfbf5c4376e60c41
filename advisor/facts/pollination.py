"""Facts on pollination: how much the weather lets bees do, bees counted against those wanted, and pollen partners."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import numpy as np

from advisor.fact import Fact
from advisor.facts.given import size_class
from advisor.facts.making import Maker
from advisor.facts.nights import written_forecasts
from advisor.facts.situation import Situation
from advisor.observation import Bees, ForecastSeen, TreeStage
from advisor.orchard import Block
from advisor.science import bloom_overlap, pollination
from advisor.science.sun import sun_hours

AHEAD = 3  # days of bee weather
FRESH = 5  # days for which a count of bees or an open share of blossom stands (common practice, no source)
IN_BLOOM = (60, 69)  # BBCH between which flowers are open
RAIN = 0.2  # mm in an hour that keeps bees at home (common practice, no source)

# Fruits of which nearly every cultivar wants another's pollen, and those that set alone (handbook knowledge, from
# memory); European plums are of both kinds and are judged by name alone.
NEED_PARTNER = frozenset({"apple", "pear", "sweet-cherry"})
SET_ALONE = frozenset({"peach", "nectarine", "apricot", "tart-cherry", "quince"})
# Cultivars that set with their own pollen (from memory).
SELF_FERTILE = frozenset({
    "lapins", "stella", "sweetheart", "sunburst", "skeena", "staccato", "black gold", "blackgold", "white gold",
    "whitegold", "benton",
    "stanley", "victoria", "italian", "czar", "opal", "early laxton", "damas", "mirabelle de nancy", "green gage",
})  # fmt: skip
SELF_STERILE_PLUMS = frozenset({"santa rosa", "shiro", "methley", "burbank", "president", "ruth gerstetter"})


def facts(now: Situation, make: Maker) -> Iterator[Fact]:
    yield from _weather(now, make)
    for block in now.blocks:
        yield from _tubes(now, block, make)
        yield from _open(now, block, make)
        yield from _wanted(now, block, make)
        yield from _count(now, block, make)
        yield from _partner(now, block, make)


# --- The weather of bees ---------------------------------------------------------------------------------------------


def _weather(now: Situation, make: Maker) -> Iterator[Fact]:
    """Each day from today: hours of full honey bee work that the weather leaves, and hours for hardier bees."""
    found = []
    for day in range(AHEAD + 1):
        hours = _daylight(now, now.on + dt.timedelta(days=day))
        if hours is None and day in (written := written_forecasts(now)):
            hours = _from_words(now, written[day])
        if hours is None:
            continue
        temp, wind, rain = hours
        dry = rain < RAIN
        honey = np.asarray(pollination.bee_activity(temp, wind)) * dry
        values = {
            "day": day,
            "daylight": float(len(temp)),
            "honey": _sum(honey),
            "best": None if np.isnan(honey).any() else float(np.max(honey)),
            "mason": _sum(np.where(np.isnan(temp), np.nan, (temp >= _figure(now, "pollination.mason-bee-from")) * dry)),
            "bumble": _sum(
                np.where(np.isnan(temp), np.nan, (temp >= _figure(now, "pollination.bumble-bee-from")) * dry)
            ),
        }
        found.append(values)
        yield make(
            "bee-day",
            str(day),
            values,
            origin=("weather", "forecast"),
            sources=("wsu-honey-bees",),
            text=_bee_text(now, day, values),
        )
    ahead = [one for one in found if one["day"]]
    if len(ahead) < AHEAD or any(one["honey"] is None for one in ahead):
        return
    share = sum(float(one["honey"] or 0) for one in ahead) / sum(float(one["daylight"] or 1) for one in ahead)
    hardy = sum(float(one["bumble"] or 0) for one in ahead)
    yield make(
        "bee-outlook",
        "",
        {"share": share, "hardy": hardy},
        origin=("forecast",),
        sources=("wsu-honey-bees",),
        text=f"the next {AHEAD} days leave honey bees {share:.0%} of full work in daylight",
    )


def _bee_text(now: Situation, day: int, values: dict[str, float | None]) -> str:
    if values["honey"] is None:
        return ""
    date = now.on + dt.timedelta(days=day)
    return f"{date}: {values['honey']:.1f} h of full honey bee work in {values['daylight']:.0f} h of daylight"


Hours = tuple[np.ndarray, np.ndarray, np.ndarray]


def _daylight(now: Situation, day: dt.date) -> Hours | None:
    """Temperature, wind and rain of the hours of daylight; None where the table does not hold them all."""
    if now.weather is None:
        return None
    rise, set_ = _sun(now, day)
    part = now.weather.between(rise, set_)
    if len(part) < int((set_ - rise).total_seconds() // 3600) or not len(part):
        return None
    return part.temp_c, part.wind_ms, part.rain_mm


def _from_words(now: Situation, seen: ForecastSeen) -> Hours | None:
    """A written forecast as a day between its low at dawn and its high in the afternoon; rain all day if much."""
    if seen.low is None or seen.high is None:
        return None
    clock = np.arange(6, 20)
    middle, half = (seen.low + seen.high) / 2, (seen.high - seen.low) / 2
    temp = middle - half * np.cos((clock - 3) * np.pi / 12)
    wind = np.full(len(clock), np.nan if seen.wind is None else seen.wind)
    rain = np.full(len(clock), np.nan if seen.rain is None else seen.rain / 24)
    return temp, wind, rain


def _sun(now: Situation, day: dt.date) -> tuple[dt.datetime, dt.datetime]:
    rise, set_ = sun_hours(now.latitude, now.file.orchard.longitude, day)
    midnight = dt.datetime.combine(day, dt.time(), dt.UTC)
    if not (np.isfinite(rise) and np.isfinite(set_)):
        rise, set_ = 0.0, 24.0
    return midnight + dt.timedelta(hours=float(rise)), midnight + dt.timedelta(hours=float(set_))


def _sum(values: np.ndarray) -> float | None:
    return None if np.isnan(values).any() else float(np.sum(values))


def _tubes(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    """How fast pollen tubes grow in the blossom of a block in the coming days, by their mean temperature."""
    stage = now.stages[block.id]
    if stage.bbch is None or stage.stale or not IN_BLOOM[0] <= stage.bbch < IN_BLOOM[1]:
        return
    mean = _coming_mean(now)
    growth = None if mean is None else pollination.tube_growth(mean)
    if mean is None or growth is None:
        return
    days = pollination.effective_days(block.fruit, mean)
    values = {"block": block.id, "mean": mean, "growth": growth, "days": days}
    text = f"the next {AHEAD} days average {mean:.1f} °C: pollen tubes {'hardly grow' if growth == 'hardly' else f'grow {growth}'}"
    if days is not None:
        text += f"; a flower can set for {days:.0f} days"
    yield make("pollen-tubes", block.id, values, origin=("forecast", f"stage:{block.id}"), text=text,
               sources=("purdue-pollination", *(["tromp-borsboom-pear"] if days is not None else [])))  # fmt: skip


def _coming_mean(now: Situation) -> float | None:
    """Mean temperature of the coming days, hourly where the forecast is, else by the middle of each day's extremes."""
    if now.weather is not None:
        part = now.weather.between(now.now, now.now + dt.timedelta(days=AHEAD)).temp_c
        if len(part) >= 24 * AHEAD - 1 and np.isfinite(part).all():
            return float(part.mean())
    written = written_forecasts(now)
    days = [written[day] for day in range(1, AHEAD + 1) if day in written]
    middles = [(seen.low + seen.high) / 2 for seen in days if seen.low is not None and seen.high is not None]
    return sum(middles) / AHEAD if len(middles) == AHEAD else None


# --- Bloom and bees --------------------------------------------------------------------------------------------------


def _open(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    """The share of blossom that was seen open, by the newest look that says one."""
    looks = [
        o
        for o in now.observations
        if isinstance(o, TreeStage)
        and o.open is not None
        and not o.habitat
        and o.block in (None, block.id)
        and now.days_ago(o.date) <= FRESH
    ]
    if looks:
        values = {"block": block.id, "open": looks[-1].open, "days_ago": now.days_ago(looks[-1].date)}
        yield make("bloom-open", block.id, values, origin=(looks[-1].id,))


def _wanted(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    bees = pollination.bees_wanted(block.fruit, size_class(block.rootstock) == "semi-dwarf")
    if bees is None:
        return
    hives = pollination.hives_wanted(block.fruit, block.ground_area / 10_000) if block.ground_area else None
    values: dict[str, object] = {"block": block.id, "bees": bees[0]}
    values["hives"] = None if hives is None else max(1.0, float(round(hives[0])))
    text = f"{bees[0]} to {bees[1]} bees on a tree in a minute of good weather"
    if hives:
        text += f"; {hives[0]:.1f} to {hives[1]:.1f} hives for the block's ground"
    if block.fruit == "apple" and block.ground_area:
        mason = pollination.mason_bees_wanted(block.ground_area / 10_000)
        values |= {"mason_least": mason[0], "mason_most": mason[1]}
        text += f"; or {mason[0]:.0f} to {mason[1]:.0f} nesting females of orchard mason bees"
    yield make("bees-wanted", block.id, values, origin=("orchard",), text=text, sources=("goodfruit-pollination",))


def _count(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    """All bees of the newest count on trees, against those wanted; whether the weather of that day was fit for it."""
    wanted = pollination.bees_wanted(block.fruit, size_class(block.rootstock) == "semi-dwarf")
    counts = [
        o
        for o in now.observations
        if isinstance(o, Bees)
        and o.at != "sward"
        and not o.habitat
        and o.block in (None, block.id)
        and now.days_ago(o.date) <= FRESH
    ]
    if not counts or wanted is None:
        return
    date = counts[-1].date
    last = [o for o in counts if o.date == date]
    seen = sum(o.per_tree_minute for o in last)
    hours = _daylight(now, date)
    best = None
    if hours is not None:
        work = np.asarray(pollination.bee_activity(hours[0], hours[1])) * (hours[2] < RAIN)
        best = None if np.isnan(work).any() else float(np.max(work))
    values = {
        "block": block.id,
        "count": seen,
        "wanted": wanted[0],
        "enough": seen >= wanted[0],
        "unfit": best is not None and best < _figure(now, "pollination.count-share"),
        "days_ago": now.days_ago(date),
    }
    yield make(
        "bee-count",
        block.id,
        values,
        origin=tuple(o.id for o in last),
        text=f"{seen:g} bees on a tree in a minute; {wanted[0]} to {wanted[1]} are wanted in good weather",
        sources=("goodfruit-pollination",),
    )


# --- Pollen partners -------------------------------------------------------------------------------------------------


def _partner(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    """Whether every cultivar of a block has another near that blooms for it; nothing where that is not known."""
    if block.fruit in SET_ALONE or not block.cultivars:
        return
    here = {name.strip().lower(): name for name in block.cultivars}
    needy = [name for low, name in here.items() if _needs(block.fruit, low)]
    if not needy:
        return
    reach, source = _reach(now, block)
    partner = block.pollen_partner
    distance = partner.distance if partner else None
    good = [name for name in here if pollination.gives_pollen(name) is not False]
    outside = partner.cultivar.strip().lower() if partner else None
    good_outside = outside is not None and pollination.gives_pollen(outside) is not False
    near = [outside] if outside and good_outside and distance is not None and distance <= reach else []
    served = {name: _best(block.fruit, name, [*good, *near]) for name in needy}
    lacking = [name for name, how in served.items() if how in (None, "no")]
    unserved = [name for name in lacking if served[name] is None]
    if unserved and partner is None and _others(now, block):
        return  # trees of other cultivars stand in another block, how far off nobody said
    if unserved and good_outside and distance is None:
        return
    why = None
    if unserved:
        why = "far" if good_outside and not near else "triploid" if outside or len(here) > 1 else "single"
    elif lacking:
        why = "bloom"
    first = unserved or lacking
    values = {
        "block": block.id,
        "lacks": bool(lacking),
        "cultivar": first[0] if first else None,
        "why": why,
        "distance": distance,
        "reach": reach,
        "overlap": "no" if why == "bloom" else None if lacking else "unknown" if "unknown" in served.values() else "yes",
    }
    text = f"pollen carries about {reach:.0f} m"
    if why == "bloom":
        text += f"; of what stands within it nothing serves {', '.join(lacking)}: it blooms at another time, or is its kin"
    elif lacking:
        text += f"; {', '.join(unserved)} has no partner with good pollen within it"
    sources = (*([source] if source else []), *(["ncsu-apple-bloom"] if why == "bloom" else []))
    yield make("pollen-partner", block.id, values, origin=("orchard",), text=text, sources=sources)


def _best(fruit: str, cultivar: str, donors: list[str]) -> str | None:
    """Whether any donor blooms with a cultivar and serves it: yes, unknown, no; None where there is no donor at all."""
    low = cultivar.strip().lower()
    others = [name for name in donors if name != low and bloom_overlap.known_as(name) != bloom_overlap.known_as(low)]
    found = [bloom_overlap.overlaps(fruit, low, name) for name in others if bloom_overlap.takes(fruit, low, name)]
    if not others:
        return None
    return "yes" if True in found else "unknown" if None in found else "no"


def _needs(fruit: str, cultivar: str) -> bool:
    if cultivar in SELF_FERTILE:
        return False
    return fruit in NEED_PARTNER or cultivar in SELF_STERILE_PLUMS


def _others(now: Situation, block: Block) -> bool:
    mine = {name.strip().lower() for name in block.cultivars or ()}
    return any(
        b.id != block.id
        and b.fruit == block.fruit
        and (not b.cultivars or {c.strip().lower() for c in b.cultivars} - mine)
        for b in now.blocks
    )


def _reach(now: Situation, block: Block) -> tuple[float, str | None]:
    name = {"pear": "pear-plum", "plum": "pear-plum", "sweet-cherry": "sweet-cherry"}.get(block.fruit)
    row = now.knowledge.figure(
        f"pollination.partner-distance-{name or size_class(block.rootstock) or 'semi-dwarf'}"
    ).value(now.region)
    return float(row.value), row.source


def _figure(now: Situation, id: str) -> float:
    return float(now.knowledge.figure(id).value(now.region).value)
