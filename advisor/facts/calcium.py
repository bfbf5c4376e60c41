"""Calcium on the fruit against bitter pit: when it is sprayed, on which apples, and how much a spray."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from advisor.fact import Fact
from advisor.facts.bloom_day import bloom_day
from advisor.facts.given import places
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.facts.stage_dates import reached
from advisor.observation import Intent, Work
from advisor.orchard import Block
from advisor.science import maturity, nutrition

# Apples that are known for bitter pit (from memory; growers' guides differ in length of the list, not in these names).
PRONE = frozenset({
    "honeycrisp", "northern spy", "cortland", "golden delicious", "delicious", "red delicious", "jonagold", "mutsu", "crispin",
    "braeburn", "cox's orange pippin", "bramley's seedling", "bramley", "gravenstein", "baldwin", "york imperial",
    "rhode island greening", "egremont russet", "newtown pippin", "merton worcester",
})  # fmt: skip
PETAL_FALL = 69
BLOOM_TO_PETAL_FALL, LONGEST_BLOOM = 10, 30  # days (common practice, no source)
DAYS_TO_HARVEST = 130  # from full bloom, where no cultivar tells (common practice, no source)
SPRAYS = (6, 12)  # in a season (Washington)
MOST_KG_HA = 4.0 * nutrition.KG_HA_PER_LB_ACRE  # of calcium chloride in a spray (Washington: 2 to 4 lb an acre)


def calcium_facts(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    if block.fruit != "apple":
        return

    def figure(name: str) -> float:
        return float(now.knowledge.figure(name).value(now.region).value)

    since = _days_since_petal_fall(now, block)
    harvest = _days_to_harvest(now, block, since)
    first, last, every = (figure(f"calcium-spray.{n}") for n in ("first-day", "last-days", "interval-days"))
    prone = [name for name in block.cultivars or () if name.lower() in PRONE]
    values: dict[str, object] = {"block": block.id, "prone": bool(prone) if block.cultivars else None, "since": since}
    code = now.stages[block.id].bbch
    origin: tuple[str, ...] = (f"stage:{block.id}",)
    if since is not None:
        over = (code is not None and code >= 87) or (harvest is not None and harvest < last)
        early = since < first or (code is not None and code < PETAL_FALL)
        values["state"] = "over" if over else "early" if early else "open"
        if early and not over:
            values["opens"] = max(1, round(first - since))
    work = [w for w in now.observations if isinstance(w, Work) and w.practice == "calcium-spray"
            and now.this_season(w.date) and ("block", block.id) in places(now, w.block, w.habitat)]
    values |= {"done": len(work), "due": True}
    if work:
        ago = now.days_ago(work[-1].date)
        origin = (*origin, work[-1].id)
        values |= {"days_ago": ago, "due": ago >= every, "due_in": max(0, every - ago)}
    so_far = _calcium_so_far(work, block)
    if so_far is not None:
        values["so_far"] = so_far
    goal = figure("calcium-spray.season-pit-prone" if prone else "calcium-spray.season-good")
    season = (harvest + since if harvest is not None and since is not None else DAYS_TO_HARVEST - BLOOM_TO_PETAL_FALL)
    sprays = int(min(SPRAYS[1], max(SPRAYS[0], (season - first - last) // every + 1)))
    left = None
    if harvest is not None and since is not None and since >= first:
        left = max(0, int((harvest - last) // every) + 1)
        values["left"] = left
    text = f"{', '.join(prone) or 'no cultivar'} of {block.id} is known for bitter pit (from memory); "
    if since is not None:
        text += f"{since:.0f} days from petal fall, the first spray is due at {first:g}; "
    if block.ground_area:
        plan = nutrition.calcium_programme(goal, block.ground_area, sprays)
        rate = min(plan["each_kg_ha"], MOST_KG_HA)
        values |= {"each": rate * block.ground_area / 10_000, "rate": rate, "sprays": sprays}
        text += (f"{goal:g} kg/ha calcium in the season / (0.78 x 0.361) / {sprays} sprays = {plan['each_kg_ha']:.1f} kg/ha flake, "
                 f"at most {MOST_KG_HA:.1f}: {rate * block.ground_area / 10_000:.2f} kg a spray")
        season_kg = float(nutrition.calcium_in(rate * sprays))
        worth = nutrition.calcium_worth(season_kg)
        values |= {"season": season_kg, "worth": worth}
        text += f"; all of them bring {season_kg:.1f} kg/ha of calcium" + (f": {worth}" if worth else "")
        if left is not None:
            text += f"; {left} are left until {last:g} days before picking"
        if so_far is not None:
            text += f"; so far {so_far:.1f} kg/ha"
    yield make("calcium-window", block.id, values, origin=origin, text=text.rstrip("; "),
               sources=("hoying-calcium", "psu-bitter-pit-calcium", "wsu-postbloom-calcium"))


def _calcium_so_far(work: list[Work], block: Block) -> float | None:
    """Calcium that this season's sprays brought, kg/ha; None where an amount or the ground is not known."""
    total = 0.0
    for record in work:
        ground = record.area or block.ground_area
        if record.amount is None or record.material not in (None, "calcium-chloride"):
            return None
        if record.amount.unit == "kg/ha":
            total += float(nutrition.calcium_in(record.amount.value))
        elif record.amount.unit == "kg" and ground:
            total += float(nutrition.calcium_in(record.amount.value)) / ground * 10_000
        else:
            return None
    return total if work else None


def _days_since_petal_fall(now: Situation, block: Block) -> float | None:
    """Negative before it; by what was seen, otherwise by apple bloom."""
    fell, bloom = reached(now, block, PETAL_FALL), bloom_day(now, block)
    if fell is not None and bloom is not None and (fell - bloom.date).days > LONGEST_BLOOM:
        fell = bloom.date + dt.timedelta(days=BLOOM_TO_PETAL_FALL)  # reckoned back from a look long after
    if fell is not None:
        return float((now.on - fell).days)
    if now.weeks is None:
        return None
    return round(now.weeks * 7) - float(BLOOM_TO_PETAL_FALL)


def _days_to_harvest(now: Situation, block: Block, since: float | None) -> float | None:
    """To the planned picking; otherwise to the ripening of the earliest cultivar, or of a middling one."""
    planned: list[dt.date] = [o.day for o in now.observations if isinstance(o, Intent) and o.practice == "pick" and o.day
                              and o.day >= now.on and ("block", block.id) in places(now, o.block, o.habitat)]
    if planned:
        return float((min(planned) - now.on).days)
    if since is None:
        return None
    known = [span[0] for name in block.cultivars or () if (span := maturity.days_from_bloom(name)) is not None]
    return min(known, default=DAYS_TO_HARVEST) - BLOOM_TO_PETAL_FALL - since
