"""Facts on frost: what kills, the nights that come near it, what water can do about them, and what nights past did."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from advisor import season
from advisor.fact import Fact
from advisor.facts.making import Maker
from advisor.facts.nights import Night, nights_ahead, nights_past
from advisor.facts.situation import Situation
from advisor.observation import BudKill, Intent, TreeStage
from advisor.orchard import Block
from advisor.quantity import Amount
from advisor.science import air, frost, frost_protection

CALM_WIND = 2.0  # m/s in the coldest hours, below which a frost is a calm one (common practice, no source)
NEAR = 1.0  # degrees C above what kills a tenth: nights that come so near are told (common practice, no source)
NIGHTS = 3  # nights ahead of which the coldest is told for a fruit without a figure
SWELLING, GREEN_FRUIT = 51, 79  # BBCH
TENDEREST = (28 - 32) / 1.8  # degrees C, the mildest temperature in any of the tables
LOOK_BACK = 21  # days in which a frost is still worth a count of buds (common practice, no source)
READ_BACK = 7  # days for which today's stage also serves a night before the first look (common practice, no source)
# The rates of sprinkling are printed to a hundredth of an inch; a rate given in mm that rounds to the same is the same.
_ROUNDING_MM = 0.005 * 25.4
_MM_AN_HOUR = {"mm/h": 1.0, "m/s": 3.6e6}  # an amount of any kind comes in m/s
_WINDIEST = 8 * 0.44704  # m/s, the windiest class of the table of rates
_HALF_SATURATED = 50.0  # % humidity, below which the table of rates does not hold

Stages = dict[tuple[int | str, ...], season.Stage]

SOURCES = ("wsu-eb0913", "msu-2021-frost-table")


def facts(now: Situation, make: Maker) -> Iterator[Fact]:
    ahead, past = nights_ahead(now), nights_past(now, LOOK_BACK)
    then: Stages = {}
    for block in now.blocks:
        yield from _figure(now, block, ahead, make)
        yield from _nights(now, block, ahead, make)
        yield from _past(now, block, past, then, make)
        yield from _counted(now, block, make)


def kills(block: Block, stage: season.Stage, share: float) -> tuple[float, str | None] | None:
    """The air temperature that kills a share of the buds, of the block's tenderest cultivar; with that cultivar."""
    if stage.bbch is None:
        return None
    found = []
    for cultivar in block.cultivars or (None,):
        temp = frost.kill_temperature(block.fruit, stage.word or stage.bbch, share, cultivar)
        if temp is not None:
            found.append((float(temp), cultivar))
    return max(found, key=lambda one: one[0], default=None)


def _figure(now: Situation, block: Block, ahead: dict[int, Night], make: Maker) -> Iterator[Fact]:
    stage = now.stages[block.id]
    if stage.bbch is None:
        return
    tenth, most = kills(block, stage, 0.1), kills(block, stage, 0.9)
    coldest = min((night for night in ahead.values() if night.day <= NIGHTS), key=lambda night: night.low, default=None)
    reads = "none" if tenth is None else "peach" if block.fruit == "nectarine" else "own"
    values = {
        "block": block.id,
        "reads": reads,
        "kills_tenth": tenth[0] if tenth else None,
        "kills_most": most[0] if most else None,
        "stage_sure": not (stage.at_least or stage.stale or stage.estimated),
        "forecast": bool(ahead),
        "coldest": coldest.low if coldest else None,
        "coldest_day": coldest.day if coldest else None,
    }
    origin = (f"stage:{block.id}", *((coldest.origin,) if coldest else ()))
    yield make("frost-figure", block.id, values, origin=origin, text=_said(block, stage, reads),
               sources=SOURCES if tenth else ())


def _said(block: Block, stage: season.Stage, reads: str) -> str:
    if reads == "none":
        return f"no kill temperature is published for {block.fruit} at this stage"
    note = "; nectarine has no table of its own and reads that of peach" if reads == "peach" else ""
    if stage.word and frost.evidence(block.fruit, stage.word) == "from-memory":
        note += "; its row for this stage is from memory"
    tenth = kills(block, stage, 0.1)
    plain = frost.kill_temperature(block.fruit, stage.word or stage.bbch, 0.1)
    if tenth and plain is not None and tenth[0] < plain:
        note += f"; {tenth[1]} stands {plain - tenth[0]:.1f} °C more than the table's cultivar"
    return f"buds killed in half an hour at this stage, read from the published table{note}"


def _nights(now: Situation, block: Block, ahead: dict[int, Night], make: Maker) -> Iterator[Fact]:
    stage = now.stages[block.id]
    tenth, most = kills(block, stage, 0.1), kills(block, stage, 0.9)
    if tenth is None:
        return
    near = {day: night for day, night in ahead.items() if night.low <= tenth[0] + NEAR}
    at = _night_meant(now, block, near)
    rate = _rate(now, block)
    for day, night in near.items():
        harm = _harm(block, stage, night.low, tenth, most)
        water = _water(night, rate)
        needed = None if night.wind is None else frost_protection.least_rate(night.low, night.wind)
        values = {
            "block": block.id,
            "day": day,
            "low": night.low,
            "kills_tenth": tenth[0],
            "margin": night.low - tenth[0],
            "calm": None if night.wind is None else night.wind < CALM_WIND,
            "wind": night.wind,
            "dew_point": night.dew_point,
            "next": day == at,
            "rate": rate,
            "needs_rate": needed,
            "water": water,
            "start": _start(now, night, tenth[0]),
            **harm,
        }
        yield make("frost-night", f"{block.id}:{day}", values, origin=(f"stage:{block.id}", night.origin),
                   text=_night_text(block, night, harm, tenth, needed), sources=SOURCES)


def _night_text(block: Block, night: Night, harm: dict[str, object], tenth: tuple[float, str | None],
                needed: float | None) -> str:
    text = f"low of {night.low:.1f} °C against {tenth[0]:.1f} °C, which kills a tenth in half an hour"
    if "killed" in harm:
        text += f"; about {harm['killed']:.0%} killed, on a straight line between the two published temperatures"
    if block.fruit == "nectarine":
        text += "; read from the table of peach"
    if needed is not None:
        text += f"; at this wind trees want {needed:.1f} mm of water an hour"
    return text


def _harm(block: Block, stage: season.Stage, low: float, tenth: tuple[float, str | None],
          most: tuple[float, str | None] | None) -> dict[str, object]:
    """How much a low kills: few, some or most; the share where both figures are published; the crop that is left."""
    if low > tenth[0]:
        return {"kill": "few", "kills_most": most[0] if most else None}
    if most is not None and low < most[0]:
        return {"kill": "most", "kills_most": most[0]}
    values: dict[str, object] = {"kill": "some", "kills_most": most[0] if most else None}
    share = frost.share_killed(block.fruit, stage.word or stage.bbch, low, tenth[1])
    if share is not None:
        values |= {"killed": float(share), "crop_left": frost.crop_left(block.fruit, 1 - float(share))}
    return values


def _night_meant(now: Situation, block: Block, near: dict[int, Night]) -> int | None:
    """The night that protection is about: the coldest of those for which it is meant, otherwise the next."""
    for meant in _meant(now, block):
        day = 0 if meant.day is None else (meant.day - now.on).days
        nights = [near[d] for d in (day, day + 1) if d in near]
        if nights:
            return min(nights, key=lambda night: night.low).day
    return min(near, default=None)


def _meant(now: Situation, block: Block) -> list[Intent]:
    return [o for o in now.observations
            if isinstance(o, Intent) and o.practice == "frost-protect" and not o.habitat
            and o.block in (None, block.id) and (o.day is None or o.day >= now.on)]


def _rate(now: Situation, block: Block) -> float | None:
    """The rate of overhead water [mm/h]: the one that is meant, otherwise that of the sprinklers."""
    gear = block.frost_gear
    own = gear.rate if gear and gear.kind == "sprinkler" else None
    for meant in _meant(now, block):
        for given in (meant.rate, meant.amount):
            if isinstance(given, Amount) and given.unit in _MM_AN_HOUR:
                return given.value * _MM_AN_HOUR[given.unit]
        if meant.rate == "half" and own is not None:
            return own / 2
    return own


def _water(night: Night, rate: float | None) -> str:
    """What overhead water would do in a night, in a word; only `enough` protects."""
    if night.low > 0:
        return "no-frost"
    if night.wind is None:
        return "wind-unknown"
    needed = frost_protection.least_rate(night.low, night.wind)
    if needed is None:
        return "too-windy" if night.wind > _WINDIEST else "too-cold"
    if night.dew_point is not None and air.humidity(night.low, night.dew_point) < _HALF_SATURATED:
        return "too-dry"
    if rate is None:
        return "rate-unknown"
    if night.dew_point is None:
        return "air-unknown" if rate + _ROUNDING_MM >= needed else "too-little"
    enough = frost_protection.water_protects(night.low, night.wind, night.dew_point, rate + _ROUNDING_MM)
    return "enough" if enough else "too-little"


def _start(now: Situation, night: Night, critical: float) -> float | None:
    """The air temperature at which the water must run, and above which it may stop; None without a dew point."""
    if night.dew_point is None:
        return None
    start = frost_protection.start_temperature(critical, night.dew_point, now.file.orchard.elevation or 0.0)
    return max(float(start), critical)


# --- Nights past and buds counted ------------------------------------------------------------------------------------


def _past(now: Situation, block: Block, past: dict[int, Night], then: Stages, make: Maker) -> Iterator[Fact]:
    """The worst of the nights past, held against the stage of that day."""
    today = now.stages[block.id]
    if today.bbch is None or not SWELLING <= today.bbch <= GREEN_FRUIT:
        return
    tender = kills(block, today, 0.1)  # buds grow more tender up to petal fall, so no night before met tenderer ones
    limit = tender[0] if tender else TENDEREST
    worst: tuple[float, Night, season.Stage] | None = None
    for night in past.values():
        if night.low > limit + NEAR:
            continue
        stage = _stage_then(now, block, night, then)
        tenth = kills(block, stage, 0.1) if stage else None
        if stage and tenth and (worst is None or night.low - tenth[0] <= worst[0]):
            worst = (night.low - tenth[0], night, stage)
    if worst is None:
        return
    margin, night, stage = worst
    tenth, most = kills(block, stage, 0.1), kills(block, stage, 0.9)
    assert tenth is not None
    if margin > NEAR:
        return
    harm = _harm(block, stage, night.low, tenth, most)
    values = {
        "block": block.id,
        "days_ago": -night.day,
        "low": night.low,
        "kills_tenth": tenth[0],
        "margin": margin,
        "measured": night.measured,
        **harm,
    }
    how = "measured" if night.measured else "as forecast; nobody measured it"
    yield make("past-frost", block.id, values, origin=(f"stage:{block.id}", night.origin),
               text=f"{-night.day} days ago, {how}: {_night_text(block, night, harm, tenth, None)}", sources=SOURCES)


def _stage_then(now: Situation, block: Block, night: Night, then: Stages) -> season.Stage | None:
    """The stage on that day; blocks of one fruit with the same looks share it."""
    on = now.on + dt.timedelta(days=night.day)
    seen = [o for o in now.observations if isinstance(o, TreeStage) and o.date <= on and o.block in (None, block.id)]
    key = (night.day, block.fruit, *(o.id for o in seen))
    if key not in then:
        weather = now.measured.until(now.now + dt.timedelta(days=night.day)) if now.measured is not None else None
        then[key] = season.stage_on(on, block, seen, weather, latitude=now.latitude, zone=now.file.zone)
    stage = then[key]
    if stage.bbch is not None and not stage.stale:
        return stage
    return now.stages[block.id] if -night.day <= READ_BACK else None


def _counted(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    """What a count of buds leaves for a crop."""
    counts = [o for o in now.observations if isinstance(o, BudKill) and not o.habitat and o.block in (None, block.id)
              and now.days_ago(o.date) <= (make.kinds["bud-kill"].fresh or 0)]
    if not counts:
        return
    last = counts[-1]
    left = None if last.dead is None else frost.crop_left(block.fruit, 1 - last.dead)
    text = "" if last.dead is None else f"{1 - last.dead:.0%} of the buds live"
    if last.live_per_lateral is not None and last.wanted_per_lateral:
        left = min(last.live_per_lateral / last.wanted_per_lateral, 1.0)
        text = f"{last.live_per_lateral:g} live buds a lateral of {last.wanted_per_lateral:g} wanted"
    values = {"block": block.id, "dead": last.dead, "crop_left": left, "days_ago": now.days_ago(last.date)}
    yield make("bud-count", block.id, values, origin=(last.id,), text=text, sources=("usu-ipm-012-11-frost",))
