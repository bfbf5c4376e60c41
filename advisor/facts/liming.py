"""Facts on lime and gypsum: what a soil test asks for, by a named rule or not at all."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.fact import Fact
from advisor.facts.given import places
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.observation import SoilTest, Work
from advisor.orchard import Block
from advisor.results import Result
from advisor.science import nutrition
from advisor.sentences import listed

# ppm in one milliequivalent in 100 g: equivalent weight x 10 (40.078 / 2 and 24.305 / 2).
PPM_IN_MEQ = {"Ca": 200.4, "Mg": 121.5}
IN_MEQ = frozenset(PPM_IN_MEQ)
SPREAD = frozenset({"lime", "gypsum", "spread-compost", "spread-manure", "feed-nitrogen"})
HEAVY_CLAY = 8.0  # t/ha of lime for each unit of pH (a classroom rule)
WEAK_LIME = 80.0  # %, neutralising value of a coarse ground limestone, as an example (common practice, no source)
KG_M2_PER_SHORT_TON_ACRE = nutrition.T_HA_PER_SHORT_TON_ACRE / 10


def soil_value(name: str, result: Result) -> float | None:
    """A figure of a soil test in the unit of the soil table; None where its unit cannot be read so."""
    if name in ("ph", "buffer_ph"):
        return result.value
    if name in IN_MEQ:
        return result.value if result.unit == "meq/100 g" else None if result.ppm is None else result.ppm / PPM_IN_MEQ[name]
    if name in ("organic_matter", "N"):
        return result.percent
    return result.ppm


def alike_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Blocks that one soil sample serves: nothing that is known of soil, site, lime or feed tells them apart."""
    lasts = float(now.knowledge.figure("test-soil.again-days").value(now.region).value)
    alike: dict[tuple[object, ...], list[Block]] = {}
    tested: set[str] = set()
    for block in now.blocks:
        spread: set[str] = set()
        for seen in now.observations:
            if not isinstance(seen, SoilTest | Work) or now.days_ago(seen.date) >= lasts:
                continue
            if ("block", block.id) in places(now, seen.block, seen.habitat):
                if isinstance(seen, SoilTest) or seen.practice == "test-soil":
                    tested.add(block.id)
                elif seen.practice in SPREAD:
                    spread.add(seen.practice)
        alike.setdefault((block.soil, block.site, *sorted(spread)), []).append(block)
    for blocks in alike.values():
        # That is sampled for all which was sampled before, else one out of leaf, when soil is sampled; the order in the
        # file is nothing.
        first, *others = sorted(blocks, key=lambda b: (b.id not in tested, _from_rest(now.stages[b.id].bbch), b.id))
        if others:
            yield make("soil-alike", first.id, {"block": first.id, "serves": listed([b.id for b in others])},
                       origin=("orchard",))  # fmt: skip
        for block in others:
            yield make("soil-alike", block.id, {"block": block.id, "sampled_in": first.id}, origin=("orchard",))


def _from_rest(bbch: int | None) -> int:
    """0 for trees out of leaf (before green tip, or picked), 1 for others, 2 where nobody knows."""
    return 2 if bbch is None else 1 if 53 <= bbch < 91 else 0


def liming_facts(now: Situation, block: Block, make: Maker) -> Iterator[Fact]:
    tests = [t for t in now.observations
             if isinstance(t, SoilTest) and ("block", block.id) in places(now, t.block, t.habitat)]
    newest: dict[str, tuple[str, float]] = {}
    for test in tests:
        for name, result in test.results.items():
            value = soil_value(name, result)
            if value is not None:
                newest[name] = (test.id, value)
    if "ph" in newest:
        yield _lime(now, block, newest, make)
    if "Ca" in newest:
        yield _gypsum(now, block, newest["Ca"], make)


def _lime(now: Situation, block: Block, newest: dict[str, tuple[str, float]], make: Maker) -> Fact:
    """Lime by the North Carolina rule where a buffer pH was measured; the lab's own lime requirement otherwise."""
    look, ph = newest["ph"]
    goal = float(now.knowledge.figure("soil.ph-goal").value(now.region).value)
    values: dict[str, object] = {"block": block.id, "ph": ph, "goal": goal, "tested": "buffer_ph" in newest}
    text = f"soil pH {ph:g}, goal {goal:g}; no buffer pH: ask the laboratory for its lime requirement"
    origin: tuple[str, ...] = (look,)
    if "buffer_ph" not in newest and ph < goal:
        ceiling = float(nutrition.lime_by_buffering(ph, goal, HEAVY_CLAY)) * 1000
        values["ceiling"] = ceiling
        text += (f"; no more than heavy clay would take, ({goal:g} - {ph:g}) x {HEAVY_CLAY:g} t/ha = {ceiling / 1000:.1f} "
                 "t/ha (a classroom rule), and sand a third of that")
        if block.ground_area:
            values["ceiling_kg"] = ceiling * block.ground_area / 10_000
    if "buffer_ph" in newest and ph < goal:
        buffer = newest["buffer_ph"][1]
        acidity = float(nutrition.soil_acidity(buffer))
        credit, said, work = _credit(now, block)
        tons = nutrition.lime(ph, goal, acidity, credit)
        origin = (*dict.fromkeys((look, newest["buffer_ph"][0])), *work)
        if tons is not None:
            t_ha = float(tons) * nutrition.T_HA_PER_SHORT_TON_ACRE
            text = (f"acidity (6.6 - {buffer:g}) x 4 = {acidity:.2f}; lime {acidity:.2f} x ({goal:g} - {ph:g}) / (6.6 - {ph:g})"
                    f"{said} = {float(tons):.2f} short tons an acre = {t_ha:.2f} t/ha, North Carolina; another laboratory's "
                    "buffer reads otherwise, then its own lime requirement counts")
            values["rate"] = t_ha * 1000
            if block.ground_area:
                kg = t_ha * block.ground_area / 10
                values["kg"] = kg
                weak = float(nutrition.lime_as_sold(kg, WEAK_LIME))
                values["kg_weak"] = weak
                text += (f"; on {block.ground_area:.0f} m2: {kg:.0f} kg of pure lime, {weak:.0f} kg of one with a "
                         f"neutralising value of {WEAK_LIME:g} %")
    return make("lime-need", block.id, values, origin=origin, text=text, sources=("ncda-buffer-table",))


def _credit(now: Situation, block: Block) -> tuple[float, str, tuple[str, ...]]:
    """What still counts of earlier lime, short tons an acre; how it is written; and which work says so."""
    total, work = 0.0, []
    for seen in now.observations:
        if (isinstance(seen, Work) and seen.practice == "lime" and seen.amount
                and ("block", block.id) in places(now, seen.block, seen.habitat)):
            spread = {"kg/ha": seen.amount.value / 10_000}.get(seen.amount.unit)
            if spread is None and seen.amount.unit == "kg" and block.ground_area:
                spread = seen.amount.value / block.ground_area
            if spread is not None:
                total += float(nutrition.lime_credit(spread / KG_M2_PER_SHORT_TON_ACRE, now.days_ago(seen.date) / 30.44))
                work.append(seen.id)
    return total, f" - {total:.2f} still left of lime spread" if total else "", tuple(work)


def _gypsum(now: Situation, block: Block, calcium: tuple[str, float], make: Maker) -> Fact:
    """Gypsum on the band under the trees, where soil calcium is clearly low."""
    look, value = calcium
    low = float(now.knowledge.figure("soil.calcium-low").value(now.region).value)
    width = float(now.knowledge.figure("gypsum.band-width").value(now.region).value)
    values: dict[str, object] = {"block": block.id, "calcium": value, "low": value < low}
    text = f"soil calcium {value:.1f} meq/100 g, low below {low:g}"
    if value < low and block.trees and block.spacing:
        band = block.trees * block.spacing.tree * min(width, block.spacing.row)
        kg = float(nutrition.gypsum(band))
        values["kg"] = kg
        text += f"; band of {band:.0f} m2 ({width:g} m wide along {block.trees:g} trees) at 6.7 t/ha: {kg:.0f} kg"
    return make("gypsum-need", block.id, values, origin=(look,), text=text, sources=("wsu-em119e", "vt-2024-notes"))
