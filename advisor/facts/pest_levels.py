"""Facts on how many there are: the newest count of a pest beside the figure that calls for action, and its enemies.

A count of none is absence. A count in a unit for which no figure is published, or two counts that disagree, say
nothing: `over` is then left out.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from advisor.ecosystem import Ally
from advisor.fact import Fact
from advisor.facts import catches
from advisor.facts.given import places
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.facts.stage_dates import reached
from advisor.facts.thresholds import ALWAYS, MEASURES, Measure
from advisor.observation import AllyCount, Intent, PestCount, PestDamage, Work
from advisor.orchard import Block
from advisor.science import insects
from advisor.sentences import in_words

ENOUGH = frozenset({"common", "many"})
MITES = frozenset({"european-red-mite", "two-spotted-mite", "rust-mite"})
States = Mapping[tuple[str, str], str]


@dataclass(frozen=True)
class Reading:
    """What one measure says today: the number, and why there is none."""

    measure: Measure
    value: float | None
    threshold: float
    region: str
    source: str | None
    day: dt.date
    origin: tuple[str, ...]
    at_odds: bool = False
    note: str = ""

    @property
    def over(self) -> bool | None:
        if self.value is None:
            return None
        return self.value > self.threshold if self.measure.above else self.value >= self.threshold - 1e-9

    @property
    def part(self) -> float:
        return -1.0 if self.value is None else self.value / self.threshold

    @property
    def said(self) -> str:
        return f"{_said(self.value, self.measure)} {self.measure.words}"

    @property
    def bar(self) -> str:
        figure = _said(self.threshold, self.measure)
        named = "UK" if self.region == "uk" else in_words(self.region).title()
        return figure if self.region == "any" else f"{figure} ({named})"


def level_facts(now: Situation, block: Block, states: States, make: Maker) -> Iterator[Fact]:
    """For each pest counted lately in a block, whether it reaches the figure that calls for action here."""
    for pest in _pests_looked_at(now, block):
        readings = [r for m in MEASURES if m.pest == pest and (r := _read(now, block, m, states, make)) is not None]
        newest = _newest(now, block, pest, make)
        about = {"block": block.id, "pest": pest, "known_figure": any(m.pest == pest for m in MEASURES)}
        if readings:
            lead = max(readings, key=lambda r: (r.over is True, r.part))
            over = True if lead.over else None if any(r.over is None for r in readings) else False
            yield make(
                "pest-level", f"{block.id}:{pest}",
                {**about, "measured": lead.value, "threshold": lead.threshold, "over": over,
                 "share_of_threshold": None if lead.value is None else lead.part,
                 "found": None if lead.value is None else lead.value > 0,
                 "figure": lead.measure.figure, "region": lead.region, "said": lead.said, "bar": lead.bar,
                 "contradicted": any(r.at_odds for r in readings), "fits": True,
                 "days_ago": now.days_ago(lead.day)},
                origin=tuple(dict.fromkeys(i for r in readings for i in r.origin)),
                text="; ".join(_sentence(r) for r in readings),
                sources=tuple(dict.fromkeys(r.source for r in readings if r.source)),
            )  # fmt: skip
        elif newest is not None:
            found, day, origin, at_odds = newest
            early = states.get((pest, "flight")) == "ahead"
            yield make(
                "pest-level", f"{block.id}:{pest}",
                {**about, "found": found, "over": False if found is False and not early else None,
                 "contradicted": at_odds, "fits": False, "days_ago": now.days_ago(day),
                 "said": "none" if found is False else "a count for which no figure is known here", "bar": "any"},
                origin=origin, text=f"{in_words(pest)}: no figure for this count is known here",
            )  # fmt: skip


def _pests_looked_at(now: Situation, block: Block) -> list[str]:
    looks = [o for o in now.observations if isinstance(o, PestCount | PestDamage)]
    return sorted({o.pest for o in looks if ("block", block.id) in places(now, o.block, o.habitat)})


def _newest(now: Situation, block: Block, pest: str,
            make: Maker) -> tuple[bool | None, dt.date, tuple[str, ...], bool] | None:
    """Whether the newest fresh count found the pest; two of one day that disagree leave it open."""
    fresh = make.kinds["pest-count"].fresh or 10
    looks = [o for o in catches.looks_at(now, block, pest) if now.days_ago(o.date) <= fresh]
    if not looks:
        return None
    last = [o for o in looks if o.date == looks[-1].date]
    said = {f > 0 for o in last for f in (o.count, o.infested, o.curled, o.over) if f is not None}
    found = said.pop() if len(said) == 1 else None
    return found, last[-1].date, tuple(o.id for o in last), len(said) > 0 and found is None


def _read(now: Situation, block: Block, measure: Measure, states: States, make: Maker) -> Reading | None:
    """What a measure says; None where it does not apply now or nothing of the kind was counted."""
    if measure.only and now.region not in measure.only:
        return None
    if not _in_time(now, block, measure, states):
        return None
    if measure.sprayed is not None and measure.sprayed != _sprayed_before_bloom(now, block):
        return None
    row = now.knowledge.figure(measure.figure).value(now.region)
    bar = (float(row.value), row.region, row.source)
    if measure.read == "weekly":
        return _weekly(now, block, measure, bar, states, make)
    if measure.read == "season":
        return _total(now, block, measure, bar)
    return _share_or_count(now, block, measure, bar, make)


def _in_time(now: Situation, block: Block, measure: Measure, states: States) -> bool:
    if measure.stages != ALWAYS:
        code = now.stages[block.id].bbch
        first, last = measure.stages
        if code is None or code < first or (code > last and measure.read != "season"):
            return False
        if measure.figure.endswith("to-tight-cluster") and code > last:
            return False
    if measure.weeks is not None and (now.weeks is None or not measure.weeks[0] <= now.weeks < measure.weeks[1]):
        return False
    if measure.after and states.get((measure.pest, measure.after)) not in ("open", "over"):
        return False
    return not (measure.before and states.get((measure.pest, measure.before)) in ("open", "over"))


def _sprayed_before_bloom(now: Situation, block: Block) -> bool:
    bloom = reached(now, block, 60)
    return any(isinstance(o, Work) and o.practice == "insecticide" and now.this_season(o.date)
               and ("block", block.id) in places(now, o.block, o.habitat) and (bloom is None or o.date < bloom)
               for o in now.observations)


def _weekly(now: Situation, block: Block, measure: Measure, bar: tuple[float, str, str | None], states: States,
            make: Maker) -> Reading | None:
    """The newest weekly catch, scaled to the density of traps for which the figure was worked out.

    Where the guidance asks for several weeks running, the lowest of them counts. Before the flight a catch of none says
    nothing of what is to come.
    """
    read = catches.checks(now, block, measure.pest, measure.traps)
    if not read or now.days_ago(read[-1].day) > (make.kinds["pest-count"].fresh or 10):
        return None
    if states.get((measure.pest, "flight")) == "ahead" and not any(check.count for check in read):
        return None
    running = 1
    if measure.pest == "codling-moth":
        running = int(float(now.knowledge.figure("codling-moth.weeks-running").value(bar[1]).value))
    newest = catches.weekly(now, read)[-running:]
    note = ""
    if (area := read[-1].trap_area) is not None and f"{measure.pest}.trap-area" in now.knowledge.figures:
        standard = float(now.knowledge.figure(f"{measure.pest}.trap-area").value(bar[1]).value)
        scaled = [insects.catch_at_density(catch, area, standard) for catch in newest]
        newest = [math.nan if catch is None else float(catch) for catch in scaled]
        note = f", at one trap for {standard / 10_000:.2g} ha"
    short = len(newest) < running
    value: float | None = min(newest) if newest else None
    if short and value is not None and value >= bar[0]:
        value, note = None, f", and {running} weeks running are asked for"
    if value is not None and not math.isfinite(value):
        value = None
    at_odds = any(check.count is None for check in read[-running:])
    origin = tuple(i for check in read[-running:] for i in check.origin)
    return Reading(measure, value, *bar, read[-1].day, origin, at_odds, note)


def _total(now: Situation, block: Block, measure: Measure, bar: tuple[float, str, str | None]) -> Reading | None:
    """The sum of a season's catches, over the stages for which the figure was worked out."""
    read = catches.checks(now, block, measure.pest, measure.traps)
    first, last = measure.stages
    if measure.stages != ALWAYS:
        begin, end = reached(now, block, int(first)), reached(now, block, int(last) + 1)
        read = [c for c in read if (begin is None or c.day >= begin) and (end is None or c.day <= end)]
    if measure.restarts:
        sprays = [o.date for o in now.observations if isinstance(o, Work) and o.practice in ("insecticide", "kaolin")
                  and ("block", block.id) in places(now, o.block, o.habitat)]
        read = [c for c in read if not sprays or c.day > max(sprays)]
    if not read:
        return None
    at_odds = any(check.count is None for check in read)
    value = None if at_odds else sum(check.count or 0.0 for check in read)
    return Reading(measure, value, *bar, read[-1].day, tuple(i for c in read for i in c.origin), at_odds,
                   f", {len(read)} checks" if len(read) > 1 else "")


def _share_or_count(now: Situation, block: Block, measure: Measure, bar: tuple[float, str, str | None],
                    make: Maker) -> Reading | None:
    """The newest count or share of the right unit; two of one day that disagree say nothing."""
    name = {"count": "count", "damage": "share"}.get(measure.read, measure.read)
    kind = "pest-damage" if measure.read == "damage" else "pest-count"
    fresh = measure.fresh or make.kinds[kind].fresh or 10
    looks: list[PestCount | PestDamage] = []
    for look in now.observations:
        if not isinstance(look, PestDamage if measure.read == "damage" else PestCount) or look.pest != measure.pest:
            continue
        unit = look.of if isinstance(look, PestDamage) else look.per
        fits = unit in measure.per if measure.read in ("count", "damage") else not measure.per or unit in measure.per
        stale = isinstance(look, PestDamage) and look.fresh is False and measure.pest == "plum-curculio"
        level = getattr(look, "level", None)
        if fits and not stale and measure.level in (None, level) and getattr(look, name) is not None \
                and now.days_ago(look.date) <= fresh and ("block", block.id) in places(now, look.block, look.habitat):
            looks.append(look)
    if not looks:
        return None
    last = [look for look in looks if look.date == looks[-1].date]
    values = {float(getattr(look, name)) for look in last}
    at_odds = len(values) > 1
    value = None if at_odds else values.pop()
    return Reading(measure, value, *bar, last[-1].date, tuple(look.id for look in last), at_odds,
                   _range(last[-1], value, measure))


def _range(look: PestCount | PestDamage, value: float | None, measure: Measure) -> str:
    """How sure a share is, where the sample's size was given."""
    sample = getattr(look, "sample", None)
    if not sample or value is None or measure.read == "count" or value > 1:
        return ""
    low, high = insects.share_range(round(value * sample), sample)
    return f", by a sample of {sample} between {low:.0%} and {high:.0%}"


def _said(value: float | None, measure: Measure) -> str:
    if value is None:
        return "counts that disagree or are not enough:"
    return f"{value:.3g}" if measure.read in ("count", "weekly", "season") else f"{value * 100:.3g} %"


def _sentence(reading: Reading) -> str:
    verb = "above" if reading.measure.above else "from"
    part = "" if reading.value is None else f", {reading.part:.2g} of it"
    return (f"{in_words(reading.measure.pest)}: {reading.said}{reading.note} on {reading.day}; "
            f"{verb} {reading.bar} calls for action ({reading.measure.figure}){part}")


# --- Enemies ---------------------------------------------------------------------------------------------------------


def enemy_facts(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    """For each pest counted here or meant to be sprayed: whether its enemies were looked for, found, and are enough."""
    meant = {o.target for o in now.observations if isinstance(o, Intent) and o.target}
    eaters: dict[str, set[str]] = {}
    allies = now.knowledge.of_kind(Ally)
    for link in now.knowledge.links:
        if link.link in ("eats", "parasitises") and link.start in allies:
            eaters.setdefault(link.end, set()).add(link.start)
    fresh = make.kinds["ally-count"].fresh or 14
    counts = [o for o in now.observations if isinstance(o, AllyCount) and now.days_ago(o.date) <= fresh
              and ("block", block.id) in places(now, o.block, o.habitat)]
    figure = now.knowledge.figure("enemies.colonies-share").value(now.region)
    for pest in sorted({*_pests_looked_at(now, block), *meant} & eaters.keys()):
        newest = _agreed([o for o in counts if o.ally in eaters[pest]])
        states = {one: _enough(now, block, pest, one, float(figure.value)) for one in newest.values()}
        best = next((o for o, enough in states.items() if enough), None)
        at_work = True if best else False if states and all(s is False for s in states.values()) else None
        most = best or max(newest.values(), key=lambda o: (o.share or 0.0, o.count or 0.0), default=None)
        yield make(
            "pest-enemies", f"{block.id}:{pest}",
            {"block": block.id, "pest": pest, "looked": bool(newest), "at_work": at_work,
             "found": any(_found(o) for o in newest.values()) if newest else None,
             "ally": most.ally if most else None, "share": most.share if most else None},
            origin=(*(o.id for o in newest.values()), "knowledge"),
            text="; ".join(f"{in_words(o.ally)}: {_ally_said(o)}" for o in newest.values())
            or f"nobody has looked for what eats {in_words(pest)}",
        )  # fmt: skip


def _agreed(looks: list[AllyCount]) -> dict[tuple[str, str | None], AllyCount]:
    """The newest look at each enemy; where two of one day contradict each other, nobody has looked."""
    newest: dict[tuple[str, str | None], AllyCount] = {}
    at_odds: set[tuple[str, str | None]] = set()
    for look in looks:
        key = (look.ally, look.per)
        before = newest.get(key)
        if before is not None and before.date == look.date and _found(before) != _found(look):
            at_odds.add(key)
        elif before is not None and before.date < look.date:
            at_odds.discard(key)
        newest[key] = look
    return {key: look for key, look in newest.items() if key not in at_odds}


def _found(look: AllyCount) -> bool:
    return look.abundance != "none" if look.abundance else any(f for f in (look.share, look.count) if f)


def _enough(now: Situation, block: Block, pest: str, look: AllyCount, share: float) -> bool | None:
    """Whether one count of one enemy says that it has the pest in hand; None where the count does not tell."""
    if not _found(look):
        return False
    if look.abundance is not None and look.abundance in ENOUGH:
        return True
    if look.ally == "predatory-mite" and pest in MITES and look.count is not None and look.per == "leaf":
        prey = [o for o in catches.looks_at(now, block, pest) if o.per == "leaf" and o.count is not None]
        if prey:
            ratio = float(now.knowledge.figure("predatory-mite.prey-per-predator").value(now.region).value)
            held = insects.enemies_hold(prey[-1].count, look.count, ratio)
            return None if held is None else bool(held)
    if pest == "woolly-apple-aphid" and look.count is not None:
        week = look.count * 7 / look.days if look.days else math.nan
        if look.ally == "earwig" and look.per == "trunk-trap":
            return insects.woolly_aphid_held(week, 0.0) if math.isfinite(week) else None
        if look.ally == "aphelinus-wasp" and look.per == "tree":
            return insects.woolly_aphid_held(0.0, look.count)
    if look.share is not None:
        return look.share >= share
    return False if look.abundance == "few" else None


def _ally_said(look: AllyCount) -> str:
    if look.abundance:
        return look.abundance
    if look.share is not None:
        return f"{look.share:.0%} of colonies or leaves"
    return f"{look.count:g} per {look.per or 'look'}"
