"""Facts on feeding: leaf and soil tests against published ranges, shoots, and the nitrogen that trees ask for."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Mapping

from advisor import season
from advisor.fact import Fact
from advisor.facts import calcium, credits, heaps, liming, rings
from advisor.facts.given import bearing, places, size_class
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.observation import CropCount, LeafTest, ShootGrowth, SoilTest, Work
from advisor.orchard import Block
from advisor.results import Result
from advisor.science import nutrition

TABLE_SOURCES = {
    "washington": "wsu-leaf-ranges", "ontario": "ontario-apple-leaf", "michigan": "msu-e852-leaf",
    "mid-atlantic": "bctf-leaf", "british-columbia": "bctf-leaf",
}  # fmt: skip
IN_PERCENT = ("N", "P", "K", "Ca", "Mg", "S")  # of leaf; the others are in ppm
LEAF_DAYS, SHOOT_DAYS, TRUNK_DAYS = 400, 300, 800  # for which a look stands (common practice, no source)
SLACK_WEEKS = 2  # by which a leaf sample may miss its weeks and still be read (common practice, no source)
YEAR_WEEKS = 365.25 / 7
USUAL_BLOOM_WEEKS = 18.3  # of apple, from the turn of the orchard year


def feed_facts(now: Situation, make: Maker, facts: Mapping[str, Fact]) -> Iterator[Fact]:
    """All facts on feeding; `facts` holds what is known already (mulch, harvest)."""
    yield _sample_window(now, make)
    for block in now.blocks:
        leaf = list(_leaf_facts(now, block, make))
        yield from leaf
        soil = list(_soil_facts(now, block, make))
        yield from soil
        yield from _shoot_fact(now, block, make)
        yield _window_fact(now, block, make)
        yield from _nitrogen_fact(now, block, leaf, make)
        yield from liming.liming_facts(now, block, make)
        yield from calcium.calcium_facts(now, block, make)
        yield from rings.ring_facts(block, bearing(now, block), facts, now, make)
    yield from liming.alike_facts(now, make)
    yield from heaps.heap_facts(now, make)


def figure(now: Situation, name: str) -> float:
    """The value of a figure by the guidance of the orchard."""
    return float(now.knowledge.figure(name).value(now.region).value)


# --- tests ------------------------------------------------------------------------------------------------------------


def _sample_window(now: Situation, make: Maker) -> Fact:
    """Whether leaves can be sampled now so that the tables fit, and in how many days they can be."""
    opens, closes = figure(now, "leaf-test.opens-weeks"), figure(now, "leaf-test.closes-weeks")
    weeks = weeks_on(now, now.on)
    ahead = opens - weeks if weeks <= closes else opens - weeks + YEAR_WEEKS
    state = "open" if opens <= weeks <= closes else "ahead" if weeks < opens else "over"
    values = {"state": state, "opens": max(0, round(ahead * 7))}
    return make("leaf-sample-window", "", values, origin=("season",), sources=("ontario-apple-leaf",),
                text=f"leaf tables are made for leaves of weeks {opens:g} to {closes:g} from apple full bloom")


def _leaf_facts(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    newest: dict[tuple[str | None, str], tuple[LeafTest, Result]] = {}
    for test in now.observations:  # by date
        if isinstance(test, LeafTest) and _here(now, test, block) and now.days_ago(test.date) <= LEAF_DAYS:
            for nutrient, result in test.results.items():
                newest[(test.cultivar, nutrient)] = (test, result)
    for (cultivar, nutrient), (test, result) in newest.items():
        value = result.percent if nutrient in IN_PERCENT else result.ppm
        if value is None:
            continue
        unit = "%" if nutrient in IN_PERCENT else "ppm"
        wanted, said = _wanted(now, block, nutrient, cultivar)
        weeks = weeks_on(now, test.date)
        opens, closes = figure(now, "leaf-test.opens-weeks"), figure(now, "leaf-test.closes-weeks")
        timely = opens - SLACK_WEEKS <= weeks <= closes + SLACK_WEEKS
        table = nutrition.leaf_table(block.fruit, nutrient, now.region)
        against = f"{said}, {table.title()}" if wanted else "no range is published for this fruit"
        text = f"leaf {nutrient} {value:g} {unit} on {test.date}; wanted {against}"
        if not timely:
            text += f"; sampled {weeks:.0f} weeks from apple bloom, the tables are made for {opens:g} to {closes:g}"
        values: dict[str, object] = {
            "block": block.id, "nutrient": nutrient, "value": value, "cultivar": cultivar, "timely": timely,
            "days_ago": now.days_ago(test.date), "status": nutrition.against(value, wanted),
        }  # fmt: skip
        if wanted:
            values |= {"low": wanted[0], "high": wanted[1]}
            if nutrient == "N":
                values["change"] = nutrition.nitrogen_change(value, *wanted)
        about = ":".join(word for word in (block.id, nutrient, cultivar) if word)
        yield make("leaf-nutrient", about, values, origin=(test.id,), text=text,
                   sources=(TABLE_SOURCES[table],) if wanted else ())


def _wanted(now: Situation, block: Block, nutrient: str, cultivar: str | None) -> tuple[nutrition.Range | None, str]:
    """The range of the sampled cultivar; of a mixed sample, the range that holds those of all the block's cultivars."""
    bears = bearing(now, block) is not False
    ranges = [
        found
        for name in ([cultivar] if cultivar else block.cultivars or [None])
        if (found := nutrition.leaf_range(block.fruit, nutrient, now.region, name, block.rootstock, bears)) is not None
    ]
    if not ranges:
        return None, ""
    low, high = min(r[0] for r in ranges), max(r[1] for r in ranges)
    whose = cultivar or ", ".join(block.cultivars or ()) or block.fruit
    stock = f" on {block.rootstock}" if block.rootstock else ""
    return (low, high), f"{low:g} to {high:g} ({whose}{stock}, {'bearing' if bears else 'not yet bearing'})"


def weeks_on(now: Situation, day: dt.date) -> float:
    """Weeks from apple bloom of a day, reckoning bloom of other years on the same date.

    Where nothing tells this year's bloom, it is taken to fall where it does at 42 degrees: about 8 May, 8 November in the south.
    """
    if now.weeks is None:
        return (day - season.season_start(day, now.latitude)).days / 7 - USUAL_BLOOM_WEEKS
    weeks = now.weeks - now.days_ago(day) / 7
    while weeks < -26:
        weeks += YEAR_WEEKS
    return weeks


def _soil_facts(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    tests = [t for t in now.observations if isinstance(t, SoilTest) and _here(now, t, block)]
    newest = {name: (test, result) for test in tests for name, result in test.results.items()}
    for name, (test, result) in newest.items():
        value = liming.soil_value(name, result)
        if value is None or name == "buffer_ph":
            continue
        if name == "organic_matter":
            least, most = nutrition.ORGANIC_MATTER_PCT
            status = "below" if value < least else "above" if value > most else "optimal"
            row = f"{least:g} to {most:g} % on loams, from memory"
        else:
            found = nutrition.soil_status(name, value)
            status = found or ""
            low = nutrition.SOIL.get(name)
            row = f"{low[1]:g} to {low[2]:g}" if low else "no range is held here"
        values = {"block": block.id, "figure": name, "value": value, "status": status or None,
                  "days_ago": now.days_ago(test.date)}
        sources = ("wsu-em119e",) if status and name != "organic_matter" else ()
        yield make("soil-figure", f"{block.id}:{name}", values, origin=(test.id,), sources=sources,
                   text=f"soil {name.replace('_', ' ')} {result} on {test.date}; wanted {row}")


def _here(now: Situation, seen: LeafTest | SoilTest | ShootGrowth | CropCount | Work, block: Block) -> bool:
    return ("block", block.id) in places(now, seen.block, seen.habitat)


# --- shoots -----------------------------------------------------------------------------------------------------------


def _shoot_fact(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    """The season's shoots against what trees of this age and kind should make; last season's until new ones are seen."""
    looks = [s for s in now.observations if isinstance(s, ShootGrowth) and s.length is not None
             and _here(now, s, block) and now.days_ago(s.date) <= SHOOT_DAYS]
    if not looks:
        return
    look = looks[-1]
    assert look.length is not None
    cm, bears = look.length * 100, bearing(now, block)
    spur = any("spur" in name.lower() for name in block.cultivars or ())
    ranges = [r for b in ((True, False) if bears is None else (bears,))
              if (r := nutrition.shoot_range(block.fruit, b, spur)) is not None]
    status = None
    text = f"shoots of {cm:.0f} cm on {look.date}; no wanted length is published"
    if ranges:
        least, most = min(r[0] for r in ranges), max(r[1] for r in ranges)
        done = _grown_out(now, block, look)
        status = "long" if cm > most else "enough" if cm >= least else "short" if done else None if done is None else "growing"
        age = "of an age not given" if bears is None else "bearing" if bears else "not yet bearing"
        text = f"shoots of {cm:.0f} cm on {look.date}; wanted {least:.0f} to {most:.0f} cm ({block.fruit}, {age})"
    values = {"block": block.id, "length": look.length, "status": status, "days_ago": now.days_ago(look.date)}
    yield make("shoot-vigour", block.id, values, origin=(look.id,), text=text,
               sources=("utk-apples",) if spur else ("msu-e852-leaf",) if block.fruit == "apple" else ())


def _grown_out(now: Situation, block: Block, look: ShootGrowth) -> bool | None:
    """Whether the shoots had ended their growth when they were measured: only then are short shoots short."""
    if look.terminal_set is not None:
        return look.terminal_set
    code = now.stages[block.id].bbch
    if code is not None and (code < 53 or code >= 91) and now.days_ago(look.date) < 30:
        return True
    weeks = weeks_on(now, look.date)
    return True if weeks < -3 or weeks >= figure(now, "leaf-test.opens-weeks") else None


# --- nitrogen ---------------------------------------------------------------------------------------------------------


def _window_fact(now: Situation, block: Block, make: Maker) -> Fact:
    """When nitrogen does good: from six weeks before bud swell to petal fall; not late, not in the depth of winter."""
    code, weeks = now.stages[block.id].bbch, weeks_on(now, now.on)
    swell = figure(now, "feed.bud-swell-weeks")
    begins = swell - figure(now, "feed-nitrogen.weeks-before-bud-swell-most")
    ends, closes = 69, figure(now, "feed-nitrogen.closes")
    if code is not None and 51 <= code < 97:
        state = "open" if code <= ends else "closing" if code <= closes else "late"
    else:
        dormant = weeks < -3 or weeks > 26 or (code is not None and (code >= 97 or code < 51))
        near = begins <= weeks <= -3 or (code is not None and code < 51 and begins <= weeks < 4)
        state = "open" if near or -3 <= weeks <= 1.5 else "early" if dormant else "closing" if weeks <= 6 else "late"
    opens = None
    if state in ("early", "late"):
        opens = round((begins - weeks + (YEAR_WEEKS if weeks > begins else 0)) * 7)
    text = f"nitrogen serves from {-begins:g} weeks before apple bloom ({swell - begins:g} before bud swell) to petal fall"
    return make("feed-window", block.id, {"block": block.id, "state": state, "opens": opens},
                origin=("season", f"stage:{block.id}"), text=text, sources=("utk-apples",))


def _nitrogen_fact(now: Situation, block: Block, leaf: list[Fact], make: Maker) -> Iterator[Fact]:
    """Nitrogen by the trunk, changed by the leaf test, less what compost and manure free; apple only, as published."""
    trunk = _trunk(now, block)
    if block.fruit != "apple" or trunk is None:
        return
    cm, said, origin = trunk
    per_tree = float(nutrition.nitrogen_by_trunk(cm))
    tested = [f for f in leaf if f.fields["nutrient"] == "N" and "change" in f.fields]
    change = float(tested[-1].fields["change"]) if tested else 0.0
    each = per_tree * (1 + change)
    steps = [said, f"{cm:.1f} cm x 17.9 g = {per_tree:.0f} g nitrogen a tree"]
    if tested:
        steps.append(f"leaf test: {change:+.0%}, {each:.0f} g a tree")
    values: dict[str, object] = {"block": block.id, "per_tree": each, "change": change}
    if block.trees:
        total = each * block.trees / 1000
        credit, counted, from_work = credits.spread_credit(now, block)
        need = max(0.0, total - credit)
        steps.append(f"{block.trees:g} trees: {total:.2f} kg{counted}")
        steps.append(f"still wanted: {need:.2f} kg nitrogen{credits.as_compost(now, need)}")
        values |= {"kg": need, "credit": credit, "wanted": need > 0}
        origin = (*origin, *from_work)
        if block.ground_area:
            per_ha = need / block.ground_area * 10_000
            values |= {"rate": per_ha, "most": per_ha * figure(now, "feed.rate-slack")}
    text = "; ".join(steps)
    sources = [("utk-apples", True), ("msu-e852-leaf", bool(tested)), ("cornell-manure-nitrogen", "manure" in text)]
    yield make("nitrogen-need", block.id, values, origin=(*origin, *(f.id for f in tested)), text=text,
               sources=tuple(name for name, used in sources if used))


def _trunk(now: Situation, block: Block) -> tuple[float, str, tuple[str, ...]] | None:
    """Trunk diameter that the rate is read for, cm: measured or by age; held from year 10, as the rule asks."""
    began = block.first_leaf or block.planted
    age = now.on.year - began if began else None
    held = figure(now, "nitrogen.rate-held-from")
    counts = [c for c in now.observations if isinstance(c, CropCount) and _here(now, c, block)
              and now.days_ago(c.date) <= TRUNK_DAYS]
    measured = [(float(across), c.id) for c in counts if (across := c.diameter or (c.girth or 0.0) / math.pi)]
    if measured:
        cm, look = measured[-1][0] * 100, (measured[-1][1],)
        said = f"trunk of {cm:.1f} cm"
        if age is not None and age > held:
            cm = cm * held / age
            said += f", taken as {cm:.1f} cm at year {held:g}, from when the rate is held"
        return cm, said, look
    if age is None or age < 1:
        return None
    size = size_class(block.rootstock) or "semi-dwarf"
    yearly = figure(now, f"trunk.growth-{size}")
    cm = yearly * min(age, held)
    return cm, f"trunk not measured: taken as {yearly:g} cm a year for {min(age, held):g} years ({size}, from memory)", (
        "orchard",)
