"""Facts on soil water: what is missing from each block's root zone, and what rain and air will do to it.

The balance runs between two bounds, the wettest and the driest that the root zone can be. A day without known rain may
have filled it, a day without known temperature may have emptied it, and the bounds part; a look at the soil, or water
enough to fill it, brings them together. So missing weather never reads as dry, nor as wet.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from advisor.fact import Fact
from advisor.facts.given import YOUNG_YEARS
from advisor.facts.making import Maker
from advisor.facts.nights import written_forecasts
from advisor.facts.situation import Situation
from advisor.facts.stage_dates import reached
from advisor.observation import MulchSeen, SoilWater, Work
from advisor.orchard import Block
from advisor.quantity import Amount
from advisor.science import air, water
from advisor.science.tables import Array

# Days of a deciduous orchard from leaf-out (FAO-56 Table 11, California): use is even, rises, and is even again.
EVEN, RISING = 30, 50
LEAF_OUT, OFF_TREES, LEAFLESS = 53, 91, 97  # BBCH
LOOK_BACK = 120  # days of balance; longer ago does not show any more
SOAKING = 5.0  # mm of rain that wet more than grass and dust (common practice, no source)
AHEAD = 3  # days of rain that are waited for (common practice, no source)
# Of the available water; bounds that lie so close together count as one figure (common practice, no source).
CLOSE = 0.1
LEAST_HOURS = 23  # of a day whose sum of rain or sunshine is known
DRY_DEPTH = 0.05  # m of mulch from which it shades the soil (common practice, no source)
_COVERED = {"meadow": True, "turf": True, "clover": True, "bare": False, "mulched": False}
_EFFICIENCY = {"drip": "drip", "micro-sprinkler": "drip", "sprinkler": "sprinkler", "flood": "sprinkler",
               "hand": "drip"}


@dataclass(frozen=True)
class Days:
    """The site's days: what the air draws [mm] (NaN unknown), rain known to have fallen, and whether that is all."""

    dates: tuple[dt.date, ...]
    et0: Array
    rain: Array
    whole: Array
    by: str  # how et0 was reckoned

    @staticmethod
    def of(now: Situation) -> Days | None:
        if now.weather is None or not len(now.weather):
            return None
        since = now.now - dt.timedelta(days=LOOK_BACK)
        weather = now.weather.between(since, now.weather.end)
        if not len(weather):
            return None
        zone, orchard = now.file.zone, now.file.orchard
        daily = weather.daily(zone)
        dates, first = np.unique(weather.local_dates(zone), return_index=True)
        if not len(dates):
            return None
        length = np.diff([*first, len(weather)])

        def sums(values: Array) -> tuple[Array, Array]:
            known = np.isfinite(values)
            total = np.add.reduceat(np.where(known, values, 0.0), first)
            return total, np.add.reduceat(known.astype(float), first)

        rain, rain_hours = sums(weather.rain_mm)
        whole = (rain_hours == length) & (length >= LEAST_HOURS)
        year = np.array([date.astype(object).timetuple().tm_yday for date in dates], float)
        low, high = np.asarray(daily.low), np.asarray(daily.high)
        simple = np.asarray(water.et0_from_temperature(low, high, now.latitude, year))
        sun, sun_hours = sums(weather.solar_wm2)
        wind, wind_hours = sums(weather.wind_ms)
        vapour, vapour_hours = sums(_vapour(weather.temp_c, weather.humidity_pct, weather.dew_point_c))
        full = np.minimum(np.minimum(sun_hours, wind_hours), vapour_hours) >= LEAST_HOURS
        hours = np.maximum(length, 1)
        best = np.asarray(water.et0(low, high, np.where(full, vapour / hours, 0.1), np.where(full, wind / hours, 1.0),
                                    np.where(full, sun * 0.0036, 10.0), now.latitude, year, orchard.elevation or 0.0))
        et0 = np.maximum(np.where(full, best, simple), 0.0)
        lately = full[np.isfinite(low)][-7:]
        by = ("sun, wind, moisture and temperature (FAO Penman-Monteith)" if lately.size and lately.all()
              else "temperature alone (Hargreaves), as sun, wind or moisture are not known")
        return Days(tuple(d.astype(object) for d in dates), et0, rain, whole, by)

    def at(self, day: dt.date) -> tuple[float, float, bool]:
        """Et0, known rain, and whether that is all the rain, of a day; unknown where the table does not hold it."""
        place = (day - self.dates[0]).days
        if not 0 <= place < len(self.dates):
            return float("nan"), 0.0, False
        return float(self.et0[place]), float(self.rain[place]), bool(self.whole[place])


def _vapour(temp: Array, humidity: Array, dew: Array) -> Array:
    from_dew = np.asarray(air.saturation_pressure(dew))
    from_humidity = np.asarray(air.saturation_pressure(temp)) * humidity / 100
    return np.where(np.isfinite(from_dew), from_dew, from_humidity)


def facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """A balance for each block in leaf."""
    days: Days | None = None
    for block in now.blocks:
        code = now.stages[block.id].bbch
        if code is not None and LEAF_OUT <= code < LEAFLESS:
            days = days or Days.of(now)
            yield _balance(now, block, days, make)


def _balance(now: Situation, block: Block, days: Days | None, make: Maker) -> Fact:
    soil = Soil.of(now, block)
    out, off = reached(now, block, LEAF_OUT), reached(now, block, OFF_TREES)
    least, most, origin = _run(now, block, soil, days, out, off)
    covered = _rain_ahead(now, days)
    lately = [days.at(now.on - dt.timedelta(days=back))[0] for back in range(7)] if days else []
    known = [et for et in lately if np.isfinite(et)]
    et0 = float(np.mean(known)) if known else None
    kc = _coefficients(now, block, now.on, out, off)
    use = None if et0 is None or kc is None else et0 * (kc[0] + kc[1]) / 2
    spent = True if least >= soil.allowed[1] else False if most < soil.allowed[0] else None
    sure = most - least <= CLOSE * 2 * soil.allowed[1]
    depletion = (least + most) / 2 if sure else None
    refill = depletion if depletion is not None else least if soil.known else None
    efficiency = _efficiency(now, block)
    gross = refill / efficiency if spent and refill else None
    weekly = None if et0 is None or kc is None else float(water.need(7 * et0, (kc[0] + kc[1]) / 2, efficiency=efficiency))
    area = block.spacing.row * block.spacing.tree if block.spacing else None
    # Rain covers the need where it brings more than the trees use meanwhile, and no less than fills what was spent. A
    # shower that only puts the need off by a day is no reason to wait, nor is any rain where nothing is lacking.
    meanwhile = AHEAD * (use or 0.0)
    lacking = max(0.0, least - soil.allowed[1]) + meanwhile
    covers = spent is not False and covered is not None and covered >= max(lacking, SOAKING)
    values = {
        "block": block.id,
        "soil_known": soil.known,
        "decided": spent is not None,
        "spent": spent,
        "least": least,
        "most": most,
        "depletion": depletion,
        "allowed": soil.allowed[0] if soil.known else None,
        "share": depletion / (2 * soil.allowed[0]) if soil.known and depletion is not None else None,
        "et0": et0,
        "kc": None if kc is None else (kc[0] + kc[1]) / 2,
        "use": use,
        "rain_ahead": covered,
        "covers": covers,
        "days_left": _days_left(soil, most, use) if spent is False else None,
        "gross": gross,
        "weekly": weekly,
        "weekly_litres": float(water.litres(area, weekly)) if weekly and area else None,
        "litres": float(water.litres(area, gross)) if gross and area else None,
    }
    text = _text(soil, days, least, most, kc, use, gross, efficiency, area)
    if weekly:
        text += f"; a week like the last takes {weekly:.0f} mm at that efficiency, less what rains"
    sources = ("fao-56", "wsu-soil-water") if soil.known else ("fao-56",)
    origin = (*origin, *(("forecast",) if covered is not None else ()), f"stage:{block.id}")
    return make("water-balance", block.id, values, origin=origin, text=text, sources=sources)


def _text(soil: Soil, days: Days | None, least: float, most: float, kc: tuple[float, float] | None, use: float | None,
          gross: float | None, efficiency: float, area: float | None) -> str:
    missing = f"{least:.0f}" if most - least < 1 else f"{least:.0f} to {most:.0f}"
    text = f"{missing} mm missing below field capacity; trees do not suffer up to {soil.words}"
    if days and kc and use is not None:
        spread = f"{kc[0]:.2f}" if kc[1] - kc[0] < 0.005 else f"{kc[0]:.2f} to {kc[1]:.2f}"
        text += f"; the trees use {use:.1f} mm a day: crop coefficient {spread} times what the air draws, by {days.by}"
    if kc is None:
        text += "; no crop coefficient is published for this fruit"
    if gross:
        text += f"; {gross:.0f} mm to give at an efficiency of {efficiency:.0%}"
        if area:
            text += f", {water.litres(area, gross):.0f} L a tree"
    return text


@dataclass(frozen=True)
class Soil:
    """Water [mm] that trees take from the root zone without stress, from and to; one figure where the soil is known."""

    allowed: tuple[float, float]
    known: bool
    words: str

    @staticmethod
    def of(now: Situation, block: Block) -> Soil:
        young = block.planted is not None and now.on.year - block.planted < YOUNG_YEARS
        depth = block.root_depth or _figure(now, "water.root-depth-young" if young else "water.root-depth")
        assumed = "" if block.root_depth else ", assumed"
        if block.soil:
            mm = float(water.usable_water(block.soil, depth))
            words = f"{mm:.0f} mm, half of what {block.soil} holds in {depth:g} m of roots{assumed}"
            return Soil((mm, mm), True, words)
        all_soils = [float(water.usable_water(soil, depth)) for soil in water.TEXTURES]
        low, high = min(all_soils), max(all_soils)
        return Soil((low, high), False, f"{low:.0f} to {high:.0f} mm, as the soil is not known")


def _run(now: Situation, block: Block, soil: Soil, days: Days | None, out: dt.date | None,
         off: dt.date | None) -> tuple[float, float, tuple[str, ...]]:
    """The wettest and driest that the root zone can be at the end of today, from the last look on."""
    available = 2 * soil.allowed[1]
    looks = {o.date: o for o in now.observations if isinstance(o, SoilWater) and not o.habitat
             and o.block in (None, block.id) and (o.depletion is not None or o.feel is not None)}
    since = now.on - dt.timedelta(days=LOOK_BACK)
    last = max((date for date in looks if date >= since), default=None)
    begin = last or max(since, days.dates[0] if days else now.on)
    low, high, origin = 0.0, available, ["weather"] if days else []
    for ago in range((now.on - begin).days, -1, -1):
        day = now.on - dt.timedelta(days=ago)
        if day in looks:
            low, high = _seen(looks[day], soil, available)
            origin.append(looks[day].id)
            continue
        et0, rain, whole = days.at(day) if days else (float("nan"), 0.0, False)
        kc = _coefficients(now, block, day, out, off)
        fewest, greatest = _given(now, block, day)
        drawn = (0.0, available) if np.isnan(et0) or kc is None else (et0 * kc[0], et0 * kc[1])
        low = water.missing_after(low, drawn[0], rain + greatest if whole else np.inf, available)
        high = water.missing_after(high, drawn[1], rain + fewest, available)
    return low, high, tuple(origin)


def _seen(look: SoilWater, soil: Soil, available: float) -> tuple[float, float]:
    """What a look says is missing: as measured, or by the feel of the soil (USDA feel method, from memory)."""
    if look.depletion is not None:
        return min(look.depletion, available), min(look.depletion, available)
    if look.feel == "wet":
        return 0.0, 0.0
    if look.feel == "moist":
        return 0.0, 0.99 * soil.allowed[0]
    return soil.allowed[1], available


def _given(now: Situation, block: Block, day: dt.date) -> tuple[float, float]:
    """Water that irrigation brought to the roots on a day [mm], from and to: as recorded, and the weekly dose."""
    fewest = greatest = 0.0
    efficiency = _efficiency(now, block)
    if block.irrigation and block.irrigation.weekly and block.irrigation.kind != "none":
        fewest = greatest = block.irrigation.weekly / 7 * efficiency
    for record in now.observations:
        if (isinstance(record, Work) and record.practice in ("irrigate", "wet-the-soil") and record.date == day
                and not record.habitat and record.block in (None, block.id)):
            depth = _depth(record.amount, record.area or block.ground_area)
            fewest += (depth or 0.0) * efficiency
            greatest += np.inf if depth is None else depth * efficiency
    return fewest, greatest


def _depth(amount: Amount | None, area: float | None) -> float | None:
    """An amount of water as mm over the ground; None where it does not say."""
    if amount is not None and amount.unit == "m":
        return amount.value * 1000
    if amount is not None and amount.unit == "m3" and area:
        return amount.value / area * 1000
    return None


def _coefficients(now: Situation, block: Block, day: dt.date, out: dt.date | None,
                  off: dt.date | None) -> tuple[float, float] | None:
    """The crop coefficient on a day, from and to: both where nobody said what covers the ground; None without a row."""
    covers = [_COVERED[block.floor]] if block.floor else [False, True]
    frost = abs(now.latitude) >= _figure(now, "water.killing-frost-latitude")
    shaded = _mulched_share(now, block)
    found = []
    for cover in covers:
        if out is None or day < out:
            found.append(water.coefficient_after_leaf_fall(cover))
            continue
        rows = [water.mulched_coefficient(block.fruit, period, cover, frost, shaded) for period in water.PERIODS]
        if rows[0] is None or rows[1] is None or rows[2] is None:
            return None
        rising = min(max(((day - out).days - EVEN) / RISING, 0.0), 1.0)
        found.append(rows[2] if off is not None and day >= off else rows[0] + rising * (rows[1] - rows[0]))
    return min(found), max(found)


def _mulched_share(now: Situation, block: Block) -> float:
    looks = [o for o in now.observations if isinstance(o, MulchSeen) and not o.habitat and o.block in (None, block.id)]
    if block.floor == "mulched":
        return _figure(now, "water.mulched-floor")
    depth = looks[-1].depth if looks else block.mulch.depth if block.mulch else None
    return _figure(now, "water.mulched-rings") if depth is not None and depth >= DRY_DEPTH else 0.0


def _rain_ahead(now: Situation, days: Days | None) -> float | None:
    """Rain that is forecast for the next days, at least; None where nothing is forecast."""
    ahead = [now.on + dt.timedelta(days=n) for n in range(1, AHEAD + 1)]
    told = [days.at(day)[1] for day in ahead if days and day <= days.dates[-1]]
    if not told:
        written = written_forecasts(now)
        told = [f.rain for n in range(AHEAD + 1) if (f := written.get(n)) and f.rain is not None]
    return sum(told) if told else None


def _days_left(soil: Soil, most: float, use: float | None) -> int | None:
    days = water.days_between(soil.allowed[0] - most, use or 0.0)
    return None if days is None else max(1, int(days))


def _efficiency(now: Situation, block: Block) -> float:
    gear = block.irrigation
    if gear and gear.efficiency:
        return gear.efficiency
    return _figure(now, f"irrigation.efficiency-{_EFFICIENCY.get(gear.kind if gear else '', 'sprinkler')}")


def _figure(now: Situation, id: str) -> float:
    return float(now.knowledge.figure(id).value(now.region).value)
