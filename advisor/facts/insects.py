"""Facts on insects by heat: since when heat is counted for each pest, how much it is, and which windows are ahead, open
or over.

The published way of each pest is kept: its own base, upper threshold, method and start. A flight begins when traps say
so; where no trap was read, the published sum from the start of the season stands in. Heat of a day that is not known is
bounded (nothing, and the most that a day can bring), so that a window is called ahead, open or over only where the
known days alone prove it.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from advisor import season
from advisor.fact import Fact
from advisor.facts.catches import Flight, flight, lately_read
from advisor.facts.making import Maker
from advisor.facts.pest_levels import enemy_facts, level_facts
from advisor.facts.situation import Situation
from advisor.facts.stage_dates import reached
from advisor.orchard import Block
from advisor.science import insects, sun
from advisor.science.degree_days import degree_days
from advisor.sentences import in_words
from advisor.weather import Daily

MOST_OF_A_DAY = 25.0  # °C days that a day can bring where there is no upper threshold: a mean 25 °C above the base
RECENT_DAYS = 7  # whose mean heat carries a sum beyond the forecast
FARTHEST = 40  # days ahead beyond which no day is named


@dataclass(frozen=True)
class Clock:
    """How the heat of one pest is counted.

    lower, upper: °C, or figures. start: traps, season (1 January), a month of the northern year (2, 3, 4), a BBCH code,
    or day-length. instead: for traps, the month and the sum at which the flight begins where no trap was read.
    windows: name -> (sum at which it opens, at which it closes), figures counted from the start.
    """

    pest: str
    fruits: tuple[str, ...]
    lower: float | str
    upper: float | str | None
    start: str | int
    windows: Mapping[str, tuple[str | None, str | None]]
    instead: tuple[int, str] | None = None
    method: str = "sine"
    regions: tuple[str, ...] = ()  # none: all that no other clock of the pest names
    row: str | None = None  # read the figures of this region's row, whatever the guidance
    sources: tuple[str, ...] = ()


POME = ("apple", "pear", "quince")
STONE = ("peach", "nectarine", "apricot", "plum", "sweet-cherry", "tart-cherry")
CHERRIES = ("sweet-cherry", "tart-cherry")
BASE_43 = 6.1  # 43 °F

CLOCKS = (
    Clock("codling-moth", POME, "codling-moth.lower-threshold", "codling-moth.upper-threshold", "traps",
          {"flight": (None, "codling-moth.second-flight"),
           "laying": ("codling-moth.egg-window-least", "codling-moth.egg-window-most"),
           "hatch": ("codling-moth.first-hatch", "codling-moth.second-flight"),
           "second-flight": ("codling-moth.second-flight", None),
           "second-hatch": ("codling-moth.second-hatch", None)},
          instead=(1, "codling-moth.first-flight-no-trap"), sources=("msu-codling-model",)),
    Clock("oriental-fruit-moth", STONE[:4] + POME, "oriental-fruit-moth.lower-threshold",
          "oriental-fruit-moth.upper-threshold", "traps",
          {"flight": (None, "oriental-fruit-moth.generation-least"),
           "hatch": ("oriental-fruit-moth.hatch", "oriental-fruit-moth.generation-least")},
          instead=(4, "oriental-fruit-moth.first-flight"), sources=("msu-fruit-moth-model",)),
    Clock("leafroller", ("apple", "pear", *CHERRIES), BASE_43, 29.4, "traps",
          {"flight": (None, "leafroller.hatch-after-catch-most"),
           "hatch": ("leafroller.hatch-after-catch", "leafroller.hatch-after-catch-most")},
          instead=(1, "leafroller.first-catch-base-43-least"), sources=("usu-leafrollers",)),
    Clock("plum-curculio", POME, 10.0, None, 69, {"laying": (None, "plum-curculio.protect-until")},
          method="average", sources=("berkett-2008-curculio",)),
    Clock("plum-curculio", ("tart-cherry",), 10.0, None, 65,
          {"laying": (None, "plum-curculio.protect-until-tart-cherry")}, method="average", sources=("msu-cherry-curculio",)),
    Clock("apple-maggot", ("apple", "plum"), 10.0, None, 1, {"flight": ("apple-maggot.first-flight", None)},
          method="average", row="new-york"),
    Clock("apple-maggot", ("apple", "plum"), 6.7, None, 3, {"flight": ("apple-maggot.first-flight", None)},
          regions=("washington", "california"), row="any", sources=("jones-1989-apple-maggot",)),
    Clock("cherry-fruit-fly", CHERRIES, 5.0, None, 3, {"flight": ("cherry-fruit-fly.first-flight", None)},
          method="average", sources=("jones-1991-cherry-fly",)),
    Clock("cherry-fruit-fly", CHERRIES, 5.0, None, 2, {"flight": ("cherry-fruit-fly.first-flight-european", None)},
          method="average", regions=("central-europe", "uk"), sources=("kovanci-2006-cherry-fly",)),
    Clock("peachtree-borer", STONE, "peachtree-borer.lower-threshold", "peachtree-borer.upper-threshold", 3,
          {"traps": ("peachtree-borer.trap-sum", "peachtree-borer.flight-half"),
           "flight": ("peachtree-borer.flight-begins-least", None)}, sources=("usu-peachtree-borer",)),
    Clock("roundheaded-borer", POME, 10.0, None, 3,
          {"laying": ("roundheaded-borer.adults-least", None)}, method="average", sources=("msu-roundheaded-borer",)),
    Clock("san-jose-scale", (*POME, *STONE), "san-jose-scale.lower-threshold", "san-jose-scale.upper-threshold",
          "traps", {"crawlers": ("san-jose-scale.crawlers", "san-jose-scale.treat-most")},
          sources=("uc-san-jose-scale",)),
    Clock("san-jose-scale", (*POME, *STONE), 10.0, None, 3,
          {"crawlers": ("san-jose-scale.crawlers-from-march", "san-jose-scale.second-crawlers-from-march")},
          method="average", sources=("ontario-san-jose-scale",)),
    Clock("stink-bug", (*POME, *STONE), "stink-bug.lower-threshold", None, "day-length",
          {"laying": ("stink-bug.eggs", "stink-bug.generation")}, method="average", sources=("msu-2016-stink-bug",)),
)  # fmt: skip


@dataclass(frozen=True)
class Counted:
    """The heat of one clock since its start, in °F days: at least, and at most, with unknown days counted full."""

    days: tuple[dt.date, ...]
    low: np.ndarray  # running sum at the end of each day, unknown days as nothing
    high: np.ndarray  # the same, unknown days as the most that a day can bring
    today: int  # index of today; -1 before the start
    recent: float | None  # mean of the last known days

    def sum(self) -> tuple[float, float]:
        return (float(self.low[self.today]), float(self.high[self.today])) if self.today >= 0 else (0.0, 0.0)

    def day_of(self, wanted: float, today: dt.date) -> float | None:
        """Days from today to the day on which a sum is reached; negative is past; None where nothing says."""
        if wanted <= 0:
            return float((self.days[0] - today).days)
        there = np.flatnonzero(self.low >= wanted - 1e-6)
        known = np.flatnonzero(self.low == self.high)
        if there.size and (there[0] in known or there[0] <= self.today):
            return float((self.days[int(there[0])] - today).days)
        last = int(known[-1]) if known.size else self.today
        if last < self.today or not self.recent:
            return None
        more = math.ceil((wanted - float(self.low[last])) / self.recent)
        ahead = (self.days[last] - today).days + more
        return float(ahead) if 0 <= ahead <= FARTHEST else None


def insect_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Heat and windows, counts against thresholds, and enemies at work, for every block and each pest of its fruit."""
    daily = now.weather.daily(now.file.zone) if now.weather is not None and len(now.weather) else None
    for block in now.blocks:
        states: dict[tuple[str, str], str] = {}
        for clock in clocks_of(now, block):
            for fact in clock_facts(now, block, clock, daily, make):
                if fact.kind == "pest-window" and "state" in fact.fields:
                    states[clock.pest, str(fact.fields["window"])] = str(fact.fields["state"])
                yield fact
        yield from level_facts(now, block, states, make)
        yield from enemy_facts(now, block, make)


def clocks_of(now: Situation, block: Block) -> list[Clock]:
    """One clock for each pest: the region's own, and one that waits for traps only once they caught something."""
    found: dict[str, Clock] = {}
    for clock in CLOCKS:
        ours = now.region in clock.regions if clock.regions else True
        if block.fruit not in clock.fruits or not ours:
            continue
        if clock.start == "traps" and clock.instead is None and flight(now, block, clock.pest) is None:
            continue
        if clock.pest not in found or clock.regions:
            found[clock.pest] = clock
    return list(found.values())


def clock_facts(now: Situation, block: Block, clock: Clock, daily: Daily | None, make: Maker) -> Iterator[Fact]:
    """The heat so far of one pest in one block, and each of its windows."""
    began = flight(now, block, clock.pest) if clock.start == "traps" else None
    start, offset, why, origin = _start(now, block, clock, began)
    if start is None:
        return
    counted = _count(now, clock, start, daily)
    low, high = counted.sum() if counted else (0.0, 0.0)
    by = "traps" if began else "stage" if isinstance(clock.start, int) and clock.start > 12 else "calendar"
    held_by_traps = clock.start == "traps" and began is None and lately_read(now, block, clock.pest)
    since = f"since {start} ({why})"
    known = math.isclose(low, high)
    has_begun = low >= offset if offset else start <= now.on
    total = max(0.0, low - offset)
    text = _sentence(clock, now, since, low, known)
    about = {"block": block.id, "pest": clock.pest}
    sources = tuple(dict.fromkeys(clock.sources))
    yield make(
        "pest-heat", f"{block.id}:{clock.pest}",
        {**about, "by": by, "begun": has_begun and not held_by_traps if known or has_begun else None,
         "degree_days": total if known else None, "at_least": total, "days_ago": (now.on - start).days},
        origin=origin, text=text, sources=sources,
    )  # fmt: skip
    for name, (first, last) in clock.windows.items():
        opens = offset + (_sum(now, first, clock.row) if first else 0.0)
        closes = offset + _sum(now, last, clock.row) if last else math.inf
        state = "over" if low >= closes else "open" if low >= opens and high < closes else None
        state = "ahead" if high < opens or start > now.on else state
        ahead = opens_in = counted.day_of(opens, now.on) if counted else None
        closes_in = counted.day_of(closes, now.on) if counted and math.isfinite(closes) else None
        if held_by_traps and state in ("open", None):  # traps are read and no flight is proven: heat alone says less
            state, ahead = "ahead", None
        if state == "ahead" and ahead is not None and ahead < 0:
            ahead = None
        bounds = f"{opens - offset:.0f} to {closes - offset:.0f}" if last else f"{opens - offset:.0f} on"
        yield make(
            "pest-window", f"{block.id}:{clock.pest}:{name}",
            {**about, "window": name, "state": state, "by": by, "opens": ahead if state == "ahead" else opens_in,
             "closes": closes_in, "soon": None if ahead is None or state != "ahead" else ahead <= RECENT_DAYS},
            origin=(f"pest-heat:{block.id}:{clock.pest}",), sources=sources,
            text=f"{in_words(clock.pest)}, {in_words(name)}: from {bounds} °F days",
        )  # fmt: skip


def _start(now: Situation, block: Block, clock: Clock,
           began: Flight | None) -> tuple[dt.date | None, float, str, tuple[str, ...]]:
    """The day from which heat is counted, the °F days until the flight begins, why, and the observations behind it."""
    if began is not None:
        return began.day, 0.0, began.why, began.origin
    if clock.start == "traps":
        if clock.instead is None:
            return None, 0.0, "", ()
        month, figure = clock.instead
        offset = _sum(now, figure, None)
        day = month_start(now, month)
        return day, offset, f"no flight proven by traps; flight is taken to begin at {offset:.0f} °F days", ("weather",)
    if clock.start == "day-length":
        hours = float(now.knowledge.figure("stink-bug.biofix-day-length").value(now.region).value)
        first = season.season_start(now.on, now.latitude)
        days = np.datetime64(first) + np.arange(365).astype("timedelta64[D]")
        rise, set_ = sun.sun_hours(now.latitude, None, days)
        turn = insects.long_days_from(set_ - rise, hours)
        return (None if turn is None else first + dt.timedelta(days=turn)), 0.0, f"days of {hours:g} h", ("orchard",)
    assert isinstance(clock.start, int)
    if clock.start <= 12:
        return month_start(now, clock.start), 0.0, "counted from a day of the year", ("weather",)
    origin = now.stages[block.id].observations
    return reached(now, block, clock.start), 0.0, f"{season.stage_name(clock.start)} in {block.id}", origin


def month_start(now: Situation, month: int) -> dt.date:
    """The first of a month of the northern year in this season; half a year later in the south."""
    first = season.season_start(now.on, now.latitude)
    return dt.date(first.year, first.month + month - 1, 1)


def _count(now: Situation, clock: Clock, start: dt.date, daily: Daily | None) -> Counted | None:
    """Daily heat from `start` on, through today, to the end of what is known or forecast."""
    if start > now.on:
        return None
    base = _number(now, clock.lower)
    upper = None if clock.upper is None else _number(now, clock.upper)
    first = np.datetime64(start)
    last = np.datetime64(now.on) if daily is None else max(np.datetime64(now.on), daily.dates[-1])
    days = np.arange(first, last + np.timedelta64(1, "D"))
    heat = np.full(len(days), np.nan)
    if daily is not None:
        _fill(heat, days, daily, base, upper, clock.method)
    most = (MOST_OF_A_DAY if upper is None else upper - base) * 1.8
    today = int((np.datetime64(now.on) - first).astype(int))
    past = heat[:today + 1]
    recent = past[np.isfinite(past)][-RECENT_DAYS:]
    return Counted(
        days=tuple(day.astype(object) for day in days),
        low=np.cumsum(np.nan_to_num(heat, nan=0.0)),
        high=np.cumsum(np.where(np.isfinite(heat), heat, most)),
        today=today,
        recent=float(recent.mean()) if recent.size and recent.mean() > 0 else None,
    )


def _fill(heat: np.ndarray, days: np.ndarray, daily: Daily, base: float, upper: float | None, method: str) -> None:
    """The °F days of each day that is known."""
    inside = (daily.dates >= days[0]) & (daily.dates <= days[-1]) & np.isfinite(daily.low)
    there = (daily.dates[inside] - days[0]).astype(int)
    heat[there] = np.asarray(degree_days(daily.low[inside], daily.high[inside], base, upper, method)) * 1.8


def _sum(now: Situation, figure: str, row: str | None) -> float:
    """A heat sum of the knowledge in °F days."""
    known = now.knowledge.figure(figure)
    value = float(known.value(row or now.region).value)
    return value * 1.8 if known.unit == "degree-days C" else value


def _number(now: Situation, given: float | str) -> float:
    return given if isinstance(given, float) else float(now.knowledge.figure(given).value("any").value)


def _sentence(clock: Clock, now: Situation, since: str, low: float, known: bool) -> str:
    how = {"sine": "single sine", "average": "(low + high) / 2"}[clock.method]
    upper = "" if clock.upper is None else f", no faster above {_number(now, clock.upper):g} °C"
    least = "" if known else "at least "
    return (f"{in_words(clock.pest)}: heat {since}, {how} above {_number(now, clock.lower):g} °C{upper}: "
            f"{least}{low:.0f} °F days ({low / 1.8:.0f} °C days)")
