"""Hemisphere, orchard year, and the stage that trees are at on a date: seen, or estimated and said so.

A season is counted from midwinter: 1 January in the north, 1 July in the south. The stage is that of the newest
observation. Apples are moved forward from it by heat sums where a published anchor exists. Anything else is kept as "at
least", called stale after 10 days in spring, and after three weeks moved on where no tree stays at a stage so long (common
practice, no source). Never is a stage guessed from the month.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from advisor.blocks import Block
from advisor.observation import PlantBloom, Seen, TreeStage
from advisor.science.spring_heat import MCINTOSH, SPREAD, HeatAnchor, running_sum, sum_at_stage
from advisor.stages import STAGES, bbch_of, stage_name
from advisor.weather import Weather, end_of

__all__ = ["STAGES", "Anchor", "Bloom", "Stage", "bbch_of", "can_stand_at", "full_bloom", "in_spring", "orchard_year",
           "season_start", "southern", "stage_name", "stage_on", "weeks_from_bloom", "year_label"]

STALE_AFTER = 10  # days in spring; common practice, no source
UNKNOWN_HOURS = 0.02  # share of a sum's hours that may be unknown before the sum is called a least
WINTER_DAYS = 120  # from midwinter on; bare trees seen so early stand before their buds break
LEAVES_FALL = 93
AFTER_PICKING = 87

# Days from green tip to a stage in the slowest of springs (common practice, no source): what was seen so long ago is past.
# Colouring is left out: how long fruit takes to it is the cultivar's own. Picking of a block is over in two months.
_SLOWEST = ((51, -20), (53, 0), (54, 14), (56, 28), (57, 42), (60, 54), (65, 64), (69, 80), (71, 94), (73, 122), (75, 157))
_PICKING_LASTS = 60
_SAME_STAGE = 4  # codes that a word and a number may differ by and still be about one stage
_KEPT = 21  # days that what was seen is kept as it was, as "at least"

# Days from the season's start within which trees can stand at a stage where winters make them rest: wide, for any such
# place (common practice, no source). No apple, pear or quince is ripe before the end of May.
_CAN_STAND = (((51, 59), (15, 170)), ((60, 69), (25, 185)), ((70, 79), (50, 275)), ((81, 89), (110, 350)))
_AWAKE = (150, 265)  # days between which none is at rest
_POME, _POME_RIPENS = ("apple", "pear", "quince"), 150
_WINTERS = 30.0  # degrees from the equator from which winters make trees rest


def southern(latitude: float) -> bool:
    """South of the equator."""
    return latitude < 0


def season_start(day: dt.date, latitude: float) -> dt.date:
    """The midwinter day from which the season of a day is counted: 1 January, or 1 July in the south."""
    if not southern(latitude):
        return dt.date(day.year, 1, 1)
    return dt.date(day.year if day.month >= 7 else day.year - 1, 7, 1)


def orchard_year(day: dt.date, latitude: float) -> int:
    """The year of the season that a day belongs to; in the south the year in which buds break."""
    return season_start(day, latitude).year


def year_label(day: dt.date, latitude: float) -> str:
    """The season as it is written: 2026, or 2026-27 in the south."""
    year = orchard_year(day, latitude)
    return f"{year}-{(year + 1) % 100:02d}" if southern(latitude) else str(year)


def in_spring(day: dt.date, latitude: float) -> bool:
    """Within the weeks of fast change: from two to six months after the season's start."""
    return 59 <= (day - season_start(day, latitude)).days <= 181


def can_stand_at(bbch: int, fruit: str, on: dt.date, latitude: float) -> bool:
    """Whether trees can stand at a stage at that time of year at all; nearer the equator nothing is ruled out."""
    if abs(latitude) < _WINTERS:
        return True
    day = (on - season_start(on, latitude)).days
    if bbch < 51:
        return not _AWAKE[0] < day < _AWAKE[1]
    first, last = next((days for (low, high), days in _CAN_STAND if low <= bbch <= high), (0, 366))
    if 81 <= bbch <= 89 and fruit in _POME:
        first = _POME_RIPENS
    return first <= day <= last


@dataclass(frozen=True)
class Anchor:
    """When heat sums reach a stage: at the low end, the middle and the high end of the published span.

    None: not reached by the weather given, or, for the earliest, not known because hours are missing.
    """

    earliest: dt.date | None
    likely: dt.date | None
    latest: dt.date | None


@dataclass(frozen=True)
class Stage:
    """The stage of a block on a date.

    bbch, name: None where nothing says. word: the word as it was seen; None where estimated, or where a code was given.
    seen: the date of the observation it rests on. at_least: the trees may be further on. why: one or more sentences.
    contradicted: looks name several stages, as they may where cultivars differ. wrong: something written cannot be.
    """

    bbch: int | None
    name: str | None = None
    word: str | None = None
    seen: dt.date | None = None
    estimated: bool = False
    at_least: bool = False
    stale: bool = False
    why: str = ""
    sources: tuple[str, ...] = ()
    observations: tuple[str, ...] = ()
    contradicted: bool = False
    wrong: bool = False
    anchors: Mapping[str, Anchor] = field(default_factory=dict)


@dataclass(frozen=True)
class _Sighting:
    """What the observations of a block come to."""

    bbch: int
    date: dt.date
    word: str | None
    ids: tuple[str, ...]
    at_odds: bool = False
    wrong: bool = False
    remarks: tuple[str, ...] = ()


def stage_on(on: dt.date, block: Block, observations: Iterable[Seen], weather: Weather | None, *, latitude: float,
             zone: dt.tzinfo) -> Stage:
    """The stage of a block on a date, from observations up to that date and measured weather."""
    sighting = _newest(on, block, observations, latitude)
    heat = _Heat.of(on, weather, latitude, zone) if block.fruit == "apple" else None
    dates: dict[str, Anchor] = {}
    reached: tuple[HeatAnchor, dt.date] | None = None
    if heat is not None:
        dates = heat.dates(sighting)
        reached = _reached(on, dates, sighting)
    if reached is not None:
        return _moved_on(on, _estimated(on, reached, sighting, heat, dates, block, latitude), reached[1], block)
    if sighting is None:
        if heat is not None and heat.complete and dates["green-tip"].likely is None:
            return Stage(0, "dormant", estimated=True, at_least=True, anchors=dates, sources=_sources(),
                         why=f"No stage was seen this season. {heat.sentence} McIntosh shows green tip at 24 to 161.")
        return Stage(None, why="No stage was seen this season, and nothing published tells it from the weather given.",
                     anchors=dates)
    age = (on - sighting.date).days
    stale = age > STALE_AFTER and (in_spring(on, latitude) or 51 <= sighting.bbch <= 73)
    name = sighting.word or stage_name(sighting.bbch, block.fruit)
    why = [f"Seen at {name} (BBCH {sighting.bbch}) on {sighting.date}.", *sighting.remarks]
    if age > 0:
        why.append(f"That is {age} day{'s' if age > 1 else ''} ago: the trees may be further on.")
    if stale:
        why.append("In spring a stage older than 10 days is stale (common practice): look again.")
    stage = Stage(sighting.bbch, name, sighting.word, sighting.date, False, age > 0 or sighting.at_odds, stale,
                  " ".join(why), (), sighting.ids, sighting.at_odds, sighting.wrong, dates)
    return _moved_on(on, stage, sighting.date, block)


def _moved_on(on: dt.date, stage: Stage, since: dt.date, block: Block) -> Stage:
    """The least stage that trees must have come to since the day on which they stood at one."""
    days = (on - since).days
    if stage.bbch is None or days <= _KEPT or (code := _least_after(stage.bbch, days)) <= stage.bbch:
        return stage
    name = stage_name(code, block.fruit)
    why = f"No tree stays there so long: at least {name} by now (common practice). Look again."
    return replace(stage, bbch=code, name=name, word=None, estimated=True, at_least=True, stale=True,
                   why=f"{stage.why} {why}")


def _least_after(bbch: int, days: int) -> int:
    """The stage that even the slowest spring has brought so many days after another.

    Bloom is never reckoned so: it is short, and by the time that the slowest has begun most are over.
    """
    codes, slowest = zip(*_SLOWEST, strict=True)
    if codes[0] <= bbch < codes[-1]:
        come = float(np.interp(bbch, codes, slowest)) + days
        return max([bbch, *(code for code, day in _SLOWEST if day <= come and not 60 <= code < 69)])
    return 91 if AFTER_PICKING <= bbch < 91 and days > _PICKING_LASTS else bbch


def _estimated(on: dt.date, reached: tuple[HeatAnchor, dt.date], sighting: _Sighting | None, heat: _Heat | None,
               dates: Mapping[str, Anchor], block: Block, latitude: float) -> Stage:
    anchor, day = reached
    stale = (on - day).days > STALE_AFTER and (in_spring(on, latitude) or anchor.bbch <= 73)
    why = [f"Estimated: {anchor.stage} about {day}.", heat.sentence if heat else "",
           f"McIntosh in {anchor.where} reaches it at {anchor.low:g} to {anchor.high:g}; the middle is taken."]
    if not any("mcintosh" in cultivar.lower() for cultivar in block.cultivars or ()):
        why.append("Other apples may be some days earlier or later.")
    if sighting is not None:
        why.append(f"Counted on from {sighting.word or f'BBCH {sighting.bbch}'}, seen on {sighting.date}.")
        why += sighting.remarks
    if stale:
        why.append("In spring a stage older than 10 days is stale (common practice): look again.")
    return Stage(anchor.bbch, anchor.stage, None, sighting.date if sighting else None, True, True, stale,
                 " ".join(part for part in why if part), (anchor.source,), sighting.ids if sighting else (),
                 sighting.at_odds if sighting else False, sighting.wrong if sighting else False, dates)


def _reached(on: dt.date, dates: Mapping[str, Anchor],
             sighting: _Sighting | None) -> tuple[HeatAnchor, dt.date] | None:
    """The last anchor that the heat has reached, if it lies beyond what was seen."""
    for anchor in reversed(MCINTOSH):
        day = dates[anchor.stage].likely
        if day is not None and day <= on and (sighting is None or anchor.bbch > sighting.bbch):
            return anchor, day
    return None


def _sources() -> tuple[str, ...]:
    return tuple(anchor.source for anchor in MCINTOSH)


# --- What was seen ----------------------------------------------------------------------------


def _stages_seen(block: Block, observations: Iterable[Seen], on: dt.date) -> list[tuple[dt.date, int, TreeStage]]:
    found = []
    for seen in observations:
        if isinstance(seen, TreeStage) and seen.date <= on and seen.habitat is None and seen.block in (None, block.id):
            found += [(seen.date, code, seen) for code in _codes(seen, block.fruit)]
    return sorted(found, key=lambda item: (item[0], item[1], item[2].id))


def _codes(seen: TreeStage, fruit: str) -> list[int]:
    """The codes that one look gives: two where its word and its number are not about the same stage."""
    code, by_word = seen.code(fruit), bbch_of(seen.stage, fruit) if seen.stage else None
    if code is None or by_word is None or abs(code - by_word) <= _SAME_STAGE:
        return [] if code is None else [code]
    return [code, by_word]


def _newest(on: dt.date, block: Block, observations: Iterable[Seen], latitude: float) -> _Sighting | None:
    """The newest stage seen this season; of several on one day the earliest is certain; none moves the season back."""
    start = season_start(on, latitude)
    last_season = season_start(start - dt.timedelta(days=1), latitude)
    all_seen = _stages_seen(block, observations, on)
    carried = [item for item in all_seen if last_season <= item[0] < start]
    current: _Sighting | None = None
    if carried and (carried[-1][1] >= LEAVES_FALL or carried[-1][1] == 0):
        day, code, seen = carried[-1]
        current = _Sighting(0, day, None, (seen.id,),
                            remarks=(f"Leaves had fallen or buds were at rest on {day}, and nothing was seen since.",))
    days = sorted({item[0] for item in all_seen if item[0] >= start})
    for day in days:
        here = [item for item in all_seen if item[0] == day]
        code, seen = here[0][1], here[0][2]
        if code >= LEAVES_FALL and (day - start).days <= WINTER_DAYS and (current is None or current.bbch == 0):
            code = 0  # bare trees before spring are at rest
        ids = tuple(dict.fromkeys(item[2].id for item in here))
        remarks: tuple[str, ...] = ()
        at_odds = len({item[1] for item in here}) > 1
        if at_odds:
            kinds = {item[2].cultivar for item in here}
            one = "its cultivars differ" if len(kinds) == len(here) else "the observations contradict each other"
            remarks = (f"On {day} BBCH {' and '.join(str(c) for c in sorted({i[1] for i in here}))} were seen: {one}; "
                       "the earlier is certain.",)
        if current is not None and not can_stand_at(current.bbch, block.fruit, current.date, latitude):
            current = None  # what cannot have been holds nothing back once there is another look
        if current is not None and code < current.bbch and not _new_rest(current.bbch, code):
            current = _Sighting(current.bbch, current.date, current.word, (*current.ids, *ids), True, True,
                                (*current.remarks, f"On {day} BBCH {code} was written, but a season does not go back: "
                                                   f"one of the two is wrong, look again."))
            continue
        word = seen.stage if len(_codes(seen, block.fruit)) == 1 else None
        wrong = not can_stand_at(code, block.fruit, day, latitude)
        if wrong:
            at_odds = True
            remarks = (*remarks, f"At that time of year {block.fruit.replace('-', ' ')} stands at no such stage: "
                                 "the day or the stage is wrong, look again.")
        current = _Sighting(code, day, word, ids, at_odds, wrong, remarks)
    return current


def _new_rest(before: int, now: int) -> bool:
    """After leaf fall a new round begins; after picking, trees may be seen at rest without leaf fall being noted."""
    return before >= LEAVES_FALL or (before >= AFTER_PICKING and now < 51)


# --- Heat -------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Heat:
    """Heat of the season up to a date."""

    sums: np.ndarray[tuple[int], np.dtype[np.float64]]
    days: np.ndarray[tuple[int], np.dtype[np.datetime64]]  # the local day of each hour
    unknown: int
    expected: int
    start: dt.date

    @staticmethod
    def of(on: dt.date, weather: Weather | None, latitude: float, zone: dt.tzinfo) -> _Heat | None:
        if weather is None:
            return None
        start = season_start(on, latitude)
        begin, end = end_of(start - dt.timedelta(days=1), zone), end_of(on, zone)
        cut = weather.between(begin, end)
        known = int(np.isfinite(cut.temp_c).sum())
        if not known:
            return None
        expected = round((end - begin).total_seconds() / 3600)
        return _Heat(running_sum(cut.temp_c), cut.local_dates(zone), expected - known, expected, start)

    @property
    def complete(self) -> bool:
        return self.unknown <= UNKNOWN_HOURS * self.expected

    @property
    def sentence(self) -> str:
        least = "" if self.complete else "at least "
        gap = f", with {self.unknown} hour{'s' if self.unknown > 1 else ''} unknown" if self.unknown else ""
        return f"Heat above 43 °F since {self.start}: {least}{self.sums[-1]:.0f} °F days{gap}."

    def on_day(self, day: dt.date) -> float:
        """The sum at the end of a day."""
        upto = int(np.searchsorted(self.days, np.datetime64(day, "D"), side="right"))
        return float(self.sums[upto - 1]) if upto else 0.0

    def dates(self, sighting: _Sighting | None) -> dict[str, Anchor]:
        """When each anchor is reached. A stage that was seen sets the count: from it on, heat is added to its sum."""
        shift, first = 0.0, None
        if sighting is not None and sighting.date >= self.start:
            first = sighting.date
            here = self.on_day(first)
            shift = _fitting(sighting.bbch, here) - here
        found = {}
        for anchor in MCINTOSH:
            passed = sighting is not None and first is not None and sighting.bbch >= anchor.bbch
            late = [self._first_day(value - shift) for value in (anchor.low, anchor.middle, anchor.high)]
            if passed:
                late = [day if day is None or first is None else min(day, first) for day in late]
            elif first is not None:
                late = [day if day is None else max(day, first) for day in late]
            found[anchor.stage] = Anchor(late[0] if self.complete else None, late[1], late[2])
        return found

    def _first_day(self, value: float) -> dt.date | None:
        at = int(np.searchsorted(self.sums, value, side="left"))
        if at >= len(self.sums):
            return None
        day: dt.date = self.days[at].astype(object)
        return day


def _fitting(bbch: int, here: float) -> float:
    """The sum to count on from: the season's own where it fits the stage that was seen, otherwise about the stage's.

    It does not fit late trees: green tip does not open to bloom within days because others bloom by then.
    """
    low = max((anchor.low for anchor in MCINTOSH if anchor.bbch <= bbch), default=0.0)
    ahead = [anchor.middle for anchor in MCINTOSH if anchor.bbch > bbch]
    high = min(*ahead, sum_at_stage(bbch) + SPREAD) if ahead else np.inf
    return here if low <= here < high else min(sum_at_stage(bbch), high - 1e-6)


# --- Full bloom of the site's apples ----------------------------------------------------------

# Petal fall follows full bloom by about 5 to 14 days (from memory), by the weather.
_PETAL_FALL_AFTER = (14, 9, 5)


@dataclass(frozen=True)
class Bloom:
    """Full bloom of the site's apples, by which the bloom of everything else is dated; None where nothing tells it."""

    date: dt.date | None
    earliest: dt.date | None = None
    latest: dt.date | None = None
    seen: bool = False
    why: str = ""
    sources: tuple[str, ...] = ()


def full_bloom(on: dt.date, blocks: Sequence[Block], observations: Iterable[Seen], weather: Weather | None, *,
               latitude: float, zone: dt.tzinfo) -> Bloom:
    """Full bloom of the season of a date: seen; else from petal fall, from heat, or as in earlier years."""
    observations = [seen for seen in observations if seen.date <= on]
    apples = [block for block in blocks if block.fruit == "apple"]
    start = season_start(on, latitude)
    by_year: dict[int, dt.date] = {}
    for day in sorted(_bloom_days(apples, observations)):
        by_year.setdefault(orchard_year(day, latitude), day)
    if start.year in by_year:
        day = by_year[start.year]
        return Bloom(day, day, day, True, f"Apple full bloom was seen on {day}.")
    seen = [item for block in apples for item in _stages_seen(block, observations, on) if item[0] >= start]
    fallen = [day for day, code, _ in seen if 68 <= code <= 70]
    if fallen:
        early, likely, late = (min(fallen) - dt.timedelta(days=days) for days in _PETAL_FALL_AFTER)
        return Bloom(likely, early, late, False, f"Petal fall was seen on {min(fallen)}; full bloom is about 9 days "
                                                "before it (from memory: 5 to 14).")
    before = max((day for day, code, _ in seen if 50 <= code < 63), default=None)
    heat = _Heat.of(on, weather, latitude, zone)
    if heat is not None:
        sightings = [_newest(on, block, observations, latitude) for block in apples]
        sighting = max((one for one in sightings if one is not None), key=lambda one: one.date, default=None)
        anchor = heat.dates(sighting)["full-bloom"]
        if anchor.likely is not None and (before is None or anchor.likely >= before):
            why = (f"Estimated: apple full bloom about {anchor.likely}. {heat.sentence} "
                   "McIntosh in Massachusetts blooms at 349 to 419.")
            return Bloom(anchor.likely, anchor.earliest, anchor.latest, False, why, (MCINTOSH[1].source,))
    if by_year:
        lags = [(day - season_start(day, latitude)).days for day in by_year.values()]
        likely, early, late = (start + dt.timedelta(days=round(lag)) for lag in
                               (sum(lags) / len(lags), min(lags), max(lags)))
        if before is None or likely > before:
            years = ", ".join(str(day) for day in by_year.values())
            return Bloom(likely, early, late, False, f"Estimated as in earlier years (full bloom seen on {years}).")
    return Bloom(None, why="Full bloom of apple is not known: none was seen, and the weather given does not tell it.")


def _bloom_days(apples: Sequence[Block], observations: Sequence[Seen]) -> Iterable[dt.date]:
    """Days on which apples were seen about full bloom (BBCH 63 to 67, or half the flowers open)."""
    ids = {block.id for block in apples}
    for seen in observations:
        if isinstance(seen, TreeStage) and seen.habitat is None and (seen.block in ids or (apples and not seen.block)):
            code = seen.code("apple")
            if code is not None and 63 <= code <= 67:
                yield seen.date
        elif isinstance(seen, PlantBloom) and seen.plant == "apple" and seen.open >= 0.5:
            yield seen.date


def weeks_from_bloom(day: dt.date, bloom: Bloom) -> float | None:
    """Weeks from the site's apple full bloom, negative before it; None where that is not known."""
    return None if bloom.date is None else (day - bloom.date).days / 7.0
