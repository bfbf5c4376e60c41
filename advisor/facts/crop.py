"""Facts on the crop: what the trees carry against what they can, and when fruit is thinned."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from advisor import season
from advisor.fact import Fact
from advisor.facts.bloom_day import bloom_day
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.observation import BudKill, CropCount
from advisor.orchard import Block
from advisor.science import rootstock, thinning

POME = ("apple", "pear", "quince")
PINK, PETAL_FALL = 57, 69  # BBCH
APPLE_KG = 18.7 / 104  # one Gala of a tree that bore 104 (Cheng, Good Fruit Grower), to turn kilograms into fruit
# The widest trunk of the published table, cm2: so far it is trusted where nobody says how old the trees are.
TABLE_TRUNK = 45.6
JAPANESE_PLUMS = ("santa rosa", "shiro", "methley", "satsuma", "friar", "burbank", "elephant heart", "ozark premier")
FEW, MANY = 0.5, 1.5  # of what the trees can carry: what makes a lean or a heavy year (common practice, no source)


def crop_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Crop load, time of thinning, ways to thin blossom and the bearing year of each block."""
    for block in now.blocks:
        yield from _loads(now, make, block)
        yield from _time(now, make, block)
        yield from _bearing_year(now, make, block)
        yield from _blossom(now, make, block)
        yield from _buds(now, make, block)


def leaf(now: Situation, block: Block) -> int | None:
    """The how-manieth season of leaves this is for a block; the season of planting is the first."""
    began = block.first_leaf or block.planted
    return None if began is None else season.orchard_year(now.on, now.latitude) - began + 1


@dataclass(frozen=True)
class Wanted:
    """Fruit that a tree can carry, and how that was found."""

    fruit: float
    by: str
    text: str
    sources: tuple[str, ...]


def wanted(now: Situation, block: Block, area: float | None, cultivar: str | None) -> Wanted | None:
    """By the trunk for young apple trees, by the yield of their stock for older ones; None for other fruit.

    The trunk rule serves from the 2nd to about the 7th leaf; where the age is not given, up to the table's widest trunk.
    """
    if block.fruit != "apple":
        return None
    age = leaf(now, block)
    first, last = (_figure(now, f"thinning.load-{end}-leaf") for end in ("first", "last"))
    fits = area is not None and (area <= TABLE_TRUNK if age is None else first <= age <= last)
    if fits and area is not None:
        per_cm2, group = load_wanted(now, block, cultivar)
        fruit = thinning.fruit_target(area, per_cm2)
        kind = f"{group} bearing" if group else "cultivar not listed, the lighter load"
        text = f"trunk {area:.1f} cm2 x {per_cm2:g} fruit a cm2 ({kind}) = {fruit} fruit a tree"
        return Wanted(fruit, "trunk", text, ("clements-2017-crop-load",))
    if age is not None and age < first:
        return Wanted(0, "young", f"leaf {age}: the tree is to grow, not to fruit", ())
    grown = rootstock.expected_yield(block.rootstock, None if age is None else age - 1) if block.rootstock else None
    if grown is None or grown[1] <= 0:
        return None
    middle = sum(grown) / 2
    fruit = round(middle / APPLE_KG)
    said = f"{block.rootstock}: {grown[0]:g} to {grown[1]:g} kg a tree, the middle {middle:.4g} kg"
    text = f"{said} / {APPLE_KG * 1000:.0f} g an apple = {fruit} fruit a tree"
    return Wanted(fruit, "yield", text, ("hoover-marini-tree-size", "cheng-gala-need"))


def load_wanted(now: Situation, block: Block, cultivar: str | None) -> tuple[float, str | None]:
    """Fruit a cm2 of trunk, and whether the cultivar bears every year; where several stand there, the shiest counts."""
    names = [cultivar] if cultivar else list(block.cultivars or ())
    groups = {thinning.group_of(name) for name in names}
    group = "biennial" if "biennial" in groups else "annual" if groups == {"annual"} else None
    return _figure(now, f"thinning.load-{group or 'default'}"), group


def _loads(now: Situation, make: Maker, block: Block) -> Iterator[Fact]:
    fresh = make.kinds["crop-count"].fresh or 30
    newest: dict[str | None, CropCount] = {}
    for seen in now.observations:
        here = not seen.habitat and seen.block in (None, block.id)
        if isinstance(seen, CropCount) and here and now.days_ago(seen.date) <= fresh:
            newest[seen.cultivar] = seen  # by date: a later count of the same cultivar overrules
    for cultivar, seen in newest.items():
        named = cultivar or (block.cultivars[0] if block.cultivars and len(block.cultivars) == 1 else None)
        yield _load(now, make, block, seen, named)


def _load(now: Situation, make: Maker, block: Block, seen: CropCount, cultivar: str | None) -> Fact:
    area = trunk_area(seen)
    goal = wanted(now, block, area, cultivar)
    rule = thinning.spacing(block.fruit, _plum(block, cultivar))
    carried = seen.fruit_per_tree
    surplus = None if goal is None or carried is None else float(thinning.excess(carried, goal.fruit))
    low, high = (rule.low_cm, rule.high_cm) if rule else (None, None)
    close = None if seen.spacing is None or low is None else seen.spacing * 100 < low - 0.5
    ratio = carried / goal.fruit if goal and carried is not None and goal.fruit else None
    metre = thinning.fruit_on_limb(100, block.fruit, _plum(block, cultivar))
    risk = _risk(now, block, cultivar, ratio)
    lines = [goal.text] if goal else []
    if surplus is not None:
        lines.append(f"counted {carried:g}, so {surplus:.0f} too many" if surplus else f"counted {carried:g}")
    if low is not None and high is not None:
        lines.append(f"{low:.0f} to {high:.0f} cm apart")
    if metre is not None:
        lines.append(f"so {float(metre[0]):.0f} to {float(metre[1]):.0f} on a metre of limb")
    if risk is not None:
        lines.append(f"risk that such a crop leaves next year bare: {risk} (common practice, no source)")
    values = {
        "block": block.id,
        "cultivar": cultivar or block.fruit,
        "carried": carried,
        "area": area,
        "fruit_per_cm2": carried / area if carried is not None and area else None,
        "wanted": goal.fruit if goal else None,
        "by": goal.by if goal else "spacing",
        "surplus": surplus,
        "of_wanted": ratio,
        "group": load_wanted(now, block, cultivar)[1] if block.fruit == "apple" else None,
        "apart": low / 100 if low else None,
        "too_close": close,
        "metre_least": None if metre is None else float(metre[0]),
        "metre_most": None if metre is None else float(metre[1]),
        "risk": risk,
        "all_trees": surplus * block.trees if surplus is not None and block.trees else None,
    }
    sources = (*(goal.sources if goal else ()), "extension-thinning")
    return make("crop-load", f"{block.id}:{values['cultivar']}", values, origin=(seen.id,), text="; ".join(lines),
                sources=sources)  # fmt: skip


def _risk(now: Situation, block: Block, cultivar: str | None, ratio: float | None) -> str | None:
    """Risk that this crop leaves next year bare, for apples that were counted against what they can carry."""
    if block.fruit != "apple" or ratio is None:
        return None
    group = load_wanted(now, block, cultivar)[1]
    last = _last_season(now, block)
    load = ratio * thinning.LOAD[group or "biennial"]  # as many a cm2 of trunk, whichever way the target was found
    named = cultivar or next((name for name in block.cultivars or () if thinning.group_of(name) == group), None)
    return thinning.biennial_risk(load, named, None if last is None else last.share > MANY)


def trunk_area(seen: CropCount) -> float | None:
    """Trunk cross-section, cm2."""
    if seen.girth is not None:
        return float(thinning.trunk_area(girth_cm=seen.girth * 100))
    return float(thinning.trunk_area(diameter_cm=seen.diameter * 100)) if seen.diameter is not None else None


def _plum(block: Block, cultivar: str | None) -> str | None:
    names = [cultivar] if cultivar else list(block.cultivars or ())
    return "japanese" if names and all(name.lower() in JAPANESE_PLUMS for name in names) else None


def _time(now: Situation, make: Maker, block: Block) -> Iterator[Fact]:
    """Where the block stands between bloom and harvest, for thinning: by days from its bloom, and by its stage."""
    code = now.stages[block.id].bbch
    bloom = bloom_day(now, block)
    days = None if bloom is None else float((now.on - bloom.date).days)
    if (code is None and days is None) or (code is not None and not 65 <= code < 93) or (days or 0) > 220:
        return
    drop = thinning.june_drop(days) if days is not None else None
    if code is not None:
        drop = "over" if code >= 75 else drop or ("during" if code >= 73 else "before" if code < 71 else None)
    still = thinning.late_thinning(days) if days is not None else {}
    sized = [seen for seen in now.observations
             if isinstance(seen, CropCount) and seen.block in (None, block.id) and seen.fruit_diameter is not None
             and now.days_ago(seen.date) <= 30]  # fmt: skip
    size = sized[-1].fruit_diameter if sized else None
    values = {
        "block": block.id,
        "days": days,
        "june_drop": drop,
        "ready": _ready(now, block, code, drop, size),
        "return_bloom": still.get("return_bloom"),
        "size": still.get("size"),
    }
    because = " ".join(still.get("because", ()))
    text = f"{bloom.how}, {days:.0f} days ago. {because}" if bloom and days is not None else "told by the stage alone"
    reckoned = ("weather",) if bloom and not bloom.seen and now.measured is not None else ()
    origin = (f"stage:{block.id}", *(("season",) if bloom else ()), *reckoned, *(seen.id for seen in sized[-1:]))
    yield make("thinning-time", block.id, values, origin=origin, text=text,
               sources=("tromp-june-drop", "upham-thinning"))  # fmt: skip


def _ready(now: Situation, block: Block, code: int | None, drop: str | None, size: float | None) -> bool | None:
    """Whether fruit may be thinned: June drop is under way at least, or fruit has the published size."""
    pome = block.fruit in POME
    least = _figure(now, "thinning.fruit-size" if pome else "thinning.peach-size") / 1000
    if size is not None and size >= least - 0.0005:
        return True
    if code is not None and code >= (73 if pome else 72):
        return True
    return drop == "over" if drop is not None else None


@dataclass(frozen=True)
class LastSeason:
    """What a block bore in the season before: the count, what the trees could carry, and the share of it."""

    seen: CropCount
    goal: Wanted
    share: float


def _last_season(now: Situation, block: Block) -> LastSeason | None:
    this_year = season.orchard_year(now.on, now.latitude)
    for seen in reversed(now.observations):
        if not isinstance(seen, CropCount) or seen.habitat or seen.block not in (None, block.id):
            continue
        if season.orchard_year(seen.date, now.latitude) != this_year - 1 or seen.fruit_per_tree is None:
            continue
        goal = wanted(now, block, trunk_area(seen), seen.cultivar)
        if goal is not None and goal.fruit:
            return LastSeason(seen, goal, seen.fruit_per_tree / goal.fruit)
    return None


def _bearing_year(now: Situation, make: Maker, block: Block) -> Iterator[Fact]:
    """Whether a biennial apple is in its heavy year, from what it bore in the season before."""
    last = _last_season(now, block)
    if last is None:
        return
    group = load_wanted(now, block, last.seen.cultivar)[1] if block.fruit == "apple" else None
    expect = "heavy" if last.share < FEW else "lean" if last.share > MANY else "even"
    values = {"block": block.id, "last": last.share, "expect": expect, "group": group}
    text = f"last season {last.seen.fruit_per_tree:g} fruit a tree, against {last.goal.fruit:g} that it can carry"
    yield make("bearing-year", block.id, values, origin=(last.seen.id,), text=text, sources=last.goal.sources)


def _blossom(now: Situation, make: Maker, block: Block) -> Iterator[Fact]:
    """Ways to thin the blossom of a block from pink to petal fall; none that wounds it where fire blight is known."""
    code = now.stages[block.id].bbch
    if code is None or not PINK <= code < PETAL_FALL:
        return
    for way in thinning.blossom_ways(block.fruit, "fire-blight" in now.place(block.id).present):
        values = {"block": block.id, "way": way["way"], "how": way["how"], "mind": " ".join(way["cautions"])}
        yield make("blossom-way", f"{block.id}:{way['way']}", values, origin=(f"stage:{block.id}",))


def _buds(now: Situation, make: Maker, block: Block) -> Iterator[Fact]:
    """The newest count of live buds a lateral that also says how many a crop wants."""
    fresh = make.kinds["bud-kill"].fresh or 30
    for seen in reversed(now.observations):
        here = not seen.habitat and seen.block in (None, block.id)
        if isinstance(seen, BudKill) and here and now.days_ago(seen.date) <= fresh:
            if seen.live_per_lateral is not None and seen.wanted_per_lateral:
                share = seen.live_per_lateral / seen.wanted_per_lateral
                values = {"live": seen.live_per_lateral, "wanted": seen.wanted_per_lateral, "share": share}
                text = f"{seen.live_per_lateral:g} live buds a lateral / {seen.wanted_per_lateral:g} wanted = {share:.2g}"
                yield make("lateral-buds", block.id, {"block": block.id, **values}, origin=(seen.id,), text=text)
            return


def _figure(now: Situation, id: str) -> float:
    return float(now.knowledge.figure(id).value(now.region).value)
