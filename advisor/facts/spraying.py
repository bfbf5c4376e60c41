"""Facts that sprays, picking, grazing and manure are judged by: what is in the tank, what still lies on the leaf, which
intervals run, what the coming days do to a spray, and how much copper was used.

Days and intervals come from the figures of the knowledge; the product label always wins over them.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Iterator

import numpy as np

from advisor import season
from advisor.fact import Fact
from advisor.facts.bloom_day import bloom_day
from advisor.facts.given import YOUNG_YEARS, places
from advisor.facts.making import Maker
from advisor.facts.nights import written_forecasts
from advisor.facts.situation import Situation
from advisor.observation import ForecastSeen, Intent, Work
from advisor.orchard import Block
from advisor.science import copper

# What a spray is where only the practice was named. A spray of ferments counts as sour until the grower says otherwise.
USUAL_MATERIAL = {
    "sulphur": "wettable-sulphur", "lime-sulphur": "lime-sulphur", "copper": "copper", "oil": "dormant-oil",
    "kaolin": "kaolin", "bicarbonate": "potassium-bicarbonate", "soap": "soap", "biology-spray": "sour-ferment",
    "plant-tea": "comfrey-tea",
}  # fmt: skip

SULPHURS = {"wettable-sulphur", "lime-sulphur"}
OILS = {"dormant-oil", "summer-oil"}
ACIDS = {"whey", "sour-ferment", "vinegar", "fish-liquid", "comfrey-tea", "nettle-tea", "horsetail-tea"}

# What keeps a second thing away: name of the pair, materials of the first, figure of the days apart.
RESTS = (
    ("acid-then-lime-sulphur", ACIDS, "acid.lime-sulphur-days"),
    ("lime-sulphur-then-acid", {"lime-sulphur"}, "acid.lime-sulphur-days"),
    ("sulphur-then-oil", SULPHURS, "oil-sulphur.days-apart"),
    ("oil-then-sulphur", OILS, "oil-sulphur.days-apart"),
    ("captan-then-oil", {"captan"}, "oil-captan.days-apart"),
    ("oil-then-captan", OILS, "oil-captan.days-apart"),
    ("urea-then-spray", {"urea"}, "urea.days-apart"),
    ("fungicide-then-biology", SULPHURS | {"copper", "captan"}, "biology-spray.days-after-fungicide"),
    ("copper-then-grazing", {"copper"}, "copper.sheep-days"),
)  # fmt: skip

# The second thing of a pair, where both may be meant and not yet done.
SECONDS = {"sulphur-then-oil": OILS, "oil-then-sulphur": SULPHURS, "captan-then-oil": OILS, "oil-then-captan": {"captan"}}

# Days from a stage to apple full bloom at the least, where full bloom is not yet known (from memory; BBCH below which).
BEFORE_BLOOM = ((51, 45), (53, 30), (56, 21), (57, 10), (60, 4), (65, 0))
# The same after it: days that may have passed since full bloom, at the most; from half-grown fruit on, picking may be near.
AFTER_BLOOM = ((69, -7), (71, -14), (73, -35))
COLOURING = 81
# Days from the end of picking to the next full bloom, at the least (from memory).
WINTER = 120

# Days that stand for "not this year", for trees too young to crop.
NO_CROP = 365.0

DAYS_AHEAD = 8


def facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """All of them."""
    for source in (tank_facts, rest_facts, sour_facts, burn_facts, interval_facts, picking_facts, sky_facts, copper_facts):
        yield from source(now, make)


def tank_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Every material of each spray that the grower means, the usual one of the practice where none was named."""
    for meant in intents(now):
        named = {meant.material, *(meant.with_ or ())}
        for material in _tank(meant):
            yield make(
                "tank-load",
                f"{meant.id}:{material}",
                {"intent": meant.id, "material": material, "assumed": material not in named},
                origin=(meant.id,),
            )


def rest_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """What was put on so lately that something else must wait for it."""
    for block in now.blocks:
        last = _last_uses(now, block.id)
        for pair, firsts, figure in RESTS:
            apart, source = _figure(now, figure)
            for material in sorted(firsts & last.keys()):
                record = last[material][1]
                ago = now.days_ago(record.date)
                if ago < apart:
                    yield make(
                        "spray-rest",
                        f"{block.id}:{pair}:{material}",
                        {"block": block.id, "pair": pair, "first": material, "days_ago": ago, "apart": apart,
                         "ends": apart - ago},
                        origin=(record.id,),
                        text=f"{material} on {record.date}; {apart:g} days apart - {ago} ago = {apart - ago:g} left",
                        sources=source,
                    )  # fmt: skip


def sour_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Lime sulphur and something sour, both meant for one block within the days that are kept between them."""
    apart, source = _figure(now, "acid.lime-sulphur-days")
    for first, second, block, gap in _meant_within(now, apart):
        before, after = set(_tank(first)), set(_tank(second))
        if ("lime-sulphur" in before and ACIDS & after) or ("lime-sulphur" in after and ACIDS & before):
            yield make(
                "sour-clash",
                f"{second.id}:{block}",
                {"intent": second.id, "block": block, "days": gap, "ends": (_day(now, first) - now.on).days + apart},
                origin=(first.id, second.id),
                text=f"both are meant, {gap} days apart; {apart:g} are kept",
                sources=source,
            )


def burn_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Oil and sulphur or captan, both meant for one block within the days that are kept between them."""
    for pair, firsts, figure in RESTS:
        apart, source = _figure(now, figure)
        for first, second, block, gap in _meant_within(now, apart) if pair in SECONDS else ():
            for before in sorted(firsts & set(_tank(first))):
                for after in sorted(SECONDS[pair] & set(_tank(second))):
                    yield make(
                        "burn-clash",
                        f"{second.id}:{block}:{first.id}:{before}:{after}",
                        {"intent": second.id, "block": block, "other": first.id, "first": before, "second": after,
                         "lime": "lime-sulphur" in (before, after), "days": gap, "apart": apart,
                         "ends": (_day(now, first) - now.on).days + apart},
                        origin=(first.id, second.id),
                        text=f"both are meant, {gap} days apart; {apart:g} are kept",
                        sources=source,
                    )  # fmt: skip


def _meant_within(now: Situation, apart: float) -> Iterator[tuple[Intent, Intent, str, int]]:
    """Two things meant for one block fewer days apart: the earlier, the later, the block, the days. Of a day, both ways."""
    meant = [intent for intent in intents(now) if intent.habitat is None]
    for first in meant:
        for second in meant:
            gap = (_day(now, second) - _day(now, first)).days
            if first is not second and 0 <= gap < apart:
                for block in now.blocks:
                    if first.block in (None, block.id) and second.block in (None, block.id):
                        yield first, second, block.id, gap


def interval_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Sprays whose usual interval to entry or to picking still runs."""
    for block in now.blocks:
        for material, record in _last_uses(now, block.id).values():
            entry, picking, source = _label(now, record.practice, material)
            ago = now.days_ago(record.date)
            left = {"entry": max(0, entry - ago), "picking": max(0, picking - ago)}
            if any(left.values()):
                yield make(
                    "label-interval",
                    f"{block.id}:{material}",
                    {"block": block.id, "material": material, "days_ago": ago, **left},
                    origin=(record.id,),
                    text=f"{material} {ago} days ago; usual labels ask {entry} days to entry and {picking} to picking",
                    sources=source,
                )


def picking_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """The next picking of each block, and how long before it each meant spray would go on."""
    for block in now.blocks:
        picks = [m for m in intents(now) if m.practice == "pick" and m.block in (None, block.id) and m.habitat is None]
        planned = min(((_day(now, m), m.id) for m in picks), default=None)
        if planned is not None:
            for meant in intents(now):
                if meant.block not in (None, block.id) or meant.habitat is not None:
                    continue
                material = meant.material or USUAL_MATERIAL.get(meant.practice)
                if material is None and meant.practice in ("insecticide", "microbial-spray"):
                    material = meant.practice
                days = (planned[0] - _day(now, meant)).days
                if material is None or days < 0:
                    continue
                _, wants, source = _label(now, meant.practice, material)
                yield make(
                    "spray-to-pick",
                    f"{meant.id}:{block.id}:{material}",
                    {"intent": meant.id, "block": block.id, "material": material, "days": days, "wants": wants,
                     "short": days < wants},
                    origin=(meant.id, planned[1]),
                    sources=source,
                )  # fmt: skip
            yield make(
                "harvest-ahead",
                block.id,
                {"block": block.id, "days": (planned[0] - now.on).days, "planned": True},
                origin=(planned[1],),
            )
            continue
        earliest = _earliest_harvest(now, block)
        if earliest is not None:
            yield make(
                "harvest-ahead",
                block.id,
                {"block": block.id, "days": earliest, "planned": False},
                origin=(f"stage:{block.id}",),
                text="the earliest that this fruit ripens, by its days from apple full bloom (from memory)",
            )


def _earliest_harvest(now: Situation, block: Block) -> float | None:
    after_bloom, _ = _figure(now, f"harvest.earliest-{block.fruit}")
    code = now.stages[block.id].bbch
    began = block.first_leaf or block.planted
    if began is not None and now.on.year - began < YOUNG_YEARS:
        return NO_CROP
    if code is None:
        return None
    if code >= 91:
        return after_bloom + WINTER
    if code >= COLOURING:
        return 0.0
    bloom = bloom_day(now, block)
    if bloom is not None:
        return max(0.0, after_bloom - (now.on - bloom.date).days)
    if now.weeks is not None and -20 <= now.weeks <= 30:
        return max(0.0, after_bloom - round(now.weeks * 7))
    by_stage = next((days for below, days in (*BEFORE_BLOOM, *AFTER_BLOOM) if code < below), -after_bloom)
    return max(0.0, after_bloom + by_stage)


def sky_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """What each coming day is to bring to a spray, and a frost so recent that green tissue is still sore."""
    days = [_sky(now, day) for day in range(DAYS_AHEAD + 2)]
    for day in range(DAYS_AHEAD):
        values = {
            "high": _most(days[day : day + 2], "high", max),
            "day_high": days[day].get("high"),
            "low_after": _most(days[day : day + 3], "low", min),
            "rain": _most(days[day : day + 2], "rain", max),
            "wind": days[day].get("wind"),
        }
        if any(value is not None for value in values.values()):
            yield make("spray-day", str(day), {"day": day, **values}, origin=("forecast",), text="from the forecast")
    yield from _recent_frost(now, make)


def _sky(now: Situation, ahead: int) -> dict[str, float | None]:
    """High, low, rain and the calmest three daylight hours of one day, hourly where known, else as written."""
    date = now.on + dt.timedelta(days=ahead)
    if now.weather is not None:
        dates = now.weather.local_dates(now.file.zone)
        here = dates == np.datetime64(date)
        if here.sum() >= 23:
            temp, rain = now.weather.temp_c[here], now.weather.rain_mm[here]
            hours = now.weather.local_hours(now.file.zone)[here]
            wind = now.weather.wind_ms[here][(hours >= 5) & (hours <= 21)]
            calm = np.convolve(wind, np.ones(3) / 3, mode="valid") if len(wind) >= 3 else wind
            known = {
                "high": temp.max(), "low": temp.min(), "rain": rain.sum(),
                "wind": calm.min() if len(calm) else math.nan,
            }  # fmt: skip
            if np.isfinite(known["high"]):
                return {name: float(value) if np.isfinite(value) else None for name, value in known.items()}
    seen = written_forecasts(now).get(ahead)
    return {"high": seen.high, "low": seen.low, "rain": seen.rain, "wind": seen.wind} if seen else {}


def _most(days: list[dict[str, float | None]], name: str, figure: Callable[[list[float]], float]) -> float | None:
    found = [day.get(name) for day in days]
    known = [value for value in found if value is not None]
    return figure(known) if known else None


def _recent_frost(now: Situation, make: Maker) -> Iterator[Fact]:
    limit, source = _figure(now, "spray.after-frost-hours")
    found: tuple[float, float, str] | None = None
    if now.measured is not None:
        part = now.measured.between(now.now - dt.timedelta(hours=limit), now.now)
        cold = np.flatnonzero(part.temp_c <= 0)
        if len(cold):
            begin = part.start if isinstance(part.start, dt.datetime) else now.now
            last = begin + dt.timedelta(hours=int(cold[-1]) + 1)
            found = ((now.now - last).total_seconds() / 3600, float(part.temp_c[cold].min()), "weather")
    if found is None:
        for seen in now.observations:
            if isinstance(seen, ForecastSeen) and seen.day is not None and seen.low is not None and seen.low <= 0:
                hours = now.days_ago(seen.day) * 24 + 18.0  # the cold hour before sunrise, told from the end of today
                if now.days_ago(seen.day) >= 0 and hours < limit:
                    found = (hours, seen.low, seen.id)
    if found is not None:
        ends = math.ceil((limit - found[0]) / 24)
        yield make("recent-frost", "", {"hours_ago": found[0], "low": found[1], "ends": ends}, origin=(found[2],),
                   sources=source)  # fmt: skip


def copper_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Copper metal by block: amount x content / area of every record in the years that the limit counts."""
    limit, source = _figure(now, "copper.limit")
    years, _ = _figure(now, "copper.limit-years")
    this_year = season.orchard_year(now.on, now.latitude)
    for block in now.blocks:
        by_year: dict[int, float] = {}
        uncounted, origin = 0, []
        for record in now.observations:
            if not isinstance(record, Work) or material_of(record) != "copper" or record.habitat:
                continue
            if record.block not in (None, block.id):
                continue
            year = season.orchard_year(record.date, now.latitude)
            if this_year - year >= years:
                continue
            origin.append(record.id)
            used = active_kg_ha(now, record, block)
            if used is None:
                uncounted += 1
            else:
                by_year[year] = by_year.get(year, 0.0) + used
        if origin:
            total = sum(by_year.values())
            yield make(
                "copper-used",
                block.id,
                {"block": block.id, "window": total, "season": by_year.get(this_year, 0.0),
                 "room": copper.room_left(total, int(years), limit), "uncounted": uncounted},
                origin=tuple(origin),
                text=f"sum of amount x share of copper / area over {years:g} seasons = {total:.2f} kg/ha, which raises copper "
                f"in the soil by about {copper.soil_rise(total):.2g} mg/kg for good",
                sources=source,
            )  # fmt: skip


def active_kg_ha(now: Situation, record: Work, block: Block) -> float | None:
    """kg of the active part (copper metal, sulphur) a hectare; None where amount, content or area is not known."""
    if record.amount is None or record.content is None:
        return None
    if record.amount.unit == "kg/ha":
        return float(record.amount.value * record.content)
    here = [block] if record.block else list(now.blocks)
    areas = [b.ground_area for b in here]
    ground = record.area or (sum(a for a in areas if a) if all(areas) else None)
    if record.amount.unit != "kg" or not ground:
        return None
    return float(copper.metal(record.amount.value, record.content, ground / 10_000))


# --- What the records say --------------------------------------------------------------------------------------------


def intents(now: Situation) -> list[Intent]:
    """Things that the grower still means to do."""
    return [o for o in now.observations if isinstance(o, Intent) and (o.day is None or o.day >= now.on)]


def _day(now: Situation, meant: Intent) -> dt.date:
    return meant.day or now.on


def _tank(meant: Intent) -> list[str]:
    """What would be in the tank, the usual material of the practice first where none was named."""
    named = meant.material or USUAL_MATERIAL.get(meant.practice)
    return list(dict.fromkeys([*([named] if named else []), *(meant.with_ or ())]))


def material_of(record: Work) -> str | None:
    """What was put on: as it was named, or what the practice usually takes."""
    return record.material or USUAL_MATERIAL.get(record.practice)


def _last_uses(now: Situation, block: str) -> dict[str, tuple[str, Work]]:
    """The last use of each material in a block; an insecticide or microbe that was not named goes by its practice."""
    last: dict[str, tuple[str, Work]] = {}
    for record in now.observations:  # by date
        if isinstance(record, Work) and ("block", block) in places(now, record.block, record.habitat):
            material = material_of(record)
            if material is None and record.practice in ("insecticide", "microbial-spray"):
                material = record.practice
            if material is not None:
                last[material] = (material, record)
    return last


def _label(now: Situation, practice: str, material: str) -> tuple[int, int, tuple[str, ...]]:
    """Days to entry and to picking that usual labels ask after a material, with the sources."""
    for name in (material, practice):
        if f"{name}.re-entry" in now.knowledge.figures:
            entry, source = _figure(now, f"{name}.re-entry")
            picking, other = _figure(now, f"{name}.before-harvest")
            days = math.ceil(entry / 24)
            return days, max(days, math.ceil(picking)), tuple(sorted({*source, *other}))
    return 0, 0, ()


def _figure(now: Situation, id: str) -> tuple[float, tuple[str, ...]]:
    row = now.knowledge.figure(id).value(now.region)
    return float(row.value), (row.source,) if row.source else ()
