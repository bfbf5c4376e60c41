"""A season's sprays in one ledger: passes, sulphur, copper and harm, beside what the calendar would have taken.

    ledger(situation)     the ledger, as data
    lines(ledger)         the ledger for people

Harm is read from the ecosystem graph for the place and stage of each pass: the costs to allies, bees and the life of
the soil, in the scores of `advisor.consequences`. They rank and compare; they are no count of dead animals. What the
calendar would have harmed is reckoned in the same way, on the days on which its passes would have fallen.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from advisor import season
from advisor.ecosystem import Ally, Practice, SoilLife, When, consequences
from advisor.facts.situation import Situation
from advisor.facts.spraying import SULPHURS, active_kg_ha, material_of
from advisor.facts.stage_dates import reached
from advisor.observation import Work
from advisor.orchard import Block
from advisor.quantity import show
from advisor.science.spray_calendar import COPPER_A_YEAR, calendar

# Sprays that feed rather than kill: they are passes, and are not what a calendar is about.
FEEDING = frozenset({"plant-tea", "calcium-spray", "biology-spray"})
# Hung, not sprayed.
_HUNG = "mating-disruption"
_CODES = (0, 51, 53, 54, 56, 57, 60, 65, 69, 71, 73, 75, 81, 87, 91, 93, 97)
_PETAL_FALL = 69
_SIDES = ("allies", "bees", "soil_life")
_NAMED = 4  # of the hardest hit, how many are named


@dataclass(frozen=True)
class _Harm:
    """Scores by side, and by the name of who is hit."""

    sides: Mapping[str, float]
    hit: Mapping[str, float]


def ledger(now: Situation) -> dict[str, Any]:
    """The sprays of the season up to the day of the situation, by block and for the orchard.

    Masses are kg of sulphur and of copper metal a hectare; None where a pass is on record whose mass is not known and
    no other tells. `uncounted` passes come on top of every mass.
    """
    blocks = [_of_block(now, block) for block in now.blocks]
    return {"blocks": blocks, "orchard": _of_orchard(now, blocks)}


def sprays_of(now: Situation) -> list[Work]:
    """The sprays on record for trees this season, by date."""
    groups = {p.id for p in now.knowledge.of_kind(Practice).values() if p.group == "sprays" and p.id != _HUNG}
    return [
        o for o in now.observations
        if isinstance(o, Work) and o.practice in groups and o.habitat is None and now.this_season(o.date)
    ]  # fmt: skip


def _of_block(now: Situation, block: Block) -> dict[str, Any]:
    records = [o for o in sprays_of(now) if o.block in (None, block.id)]
    entries = [_entry(now, block, record) for record in records]
    protective = {o.date for o in records if o.practice not in FEEDING}
    masses = {name: _mass([e for e in entries if e["of"] == name]) for name in ("sulphur", "copper")}
    harm = _together([_harm(now, block, o.practice, o.date) for o in _once_a_day(records)])
    planned = _by_calendar(now, block)
    return {
        "block": block.id,
        "fruit": block.fruit,
        "passes": len({o.date for o in records}),
        "protective": len(protective),
        "by_practice": dict(sorted(Counter(o.practice for o in records).items())),
        "sulphur_kg_ha": masses["sulphur"],
        "copper_kg_ha": masses["copper"],
        "uncounted": sum(e["of"] is not None and e["kg_ha"] is None for e in entries),
        "harm": _rounded(harm.sides),
        "hardest_hit": _hardest(harm),
        "entries": entries,
        "calendar": planned,
        "passes_saved": None if planned is None else planned["passes"] - len(protective),
    }


def _entry(now: Situation, block: Block, record: Work) -> dict[str, Any]:
    material = material_of(record)
    of = "copper" if material == "copper" else "sulphur" if material in SULPHURS else None
    kg_ha = active_kg_ha(now, record, block) if of else None
    said = "" if of is None else "amount, content or area not written down"
    if kg_ha is not None and record.amount is not None and record.content is not None:
        said = f"{record.amount.value:g} {record.amount.unit} x {record.content:.0%}"
        said += "" if record.amount.unit == "kg/ha" else " / ground sprayed"
        said += f" = {kg_ha:.2f} kg/ha of {of}"
    harm = _harm(now, block, record.practice, record.date)
    return {
        "date": record.date.isoformat(),
        "practice": record.practice,
        "material": material,
        "of": of,
        "kg_ha": None if kg_ha is None else round(kg_ha, 3),
        "text": said,
        "harm": _rounded(harm.sides),
    }


def _mass(entries: Sequence[Mapping[str, Any]]) -> float | None:
    known = [float(e["kg_ha"]) for e in entries if e["kg_ha"] is not None]
    return round(sum(known), 3) if known or not entries else None


def _once_a_day(records: Sequence[Work]) -> list[Work]:
    """Each practice once a day: two records of one practice are two parts of one pass."""
    return list({(o.date, o.practice): o for o in records}.values())


def _by_calendar(now: Situation, block: Block) -> dict[str, Any] | None:
    """What the calendar would have taken up to today; None where no stage is known or no calendar is followed."""
    plan = calendar(block.fruit)
    if plan is None or now.stages[block.id].bbch is None:
        return None
    fell = reached(now, block, _PETAL_FALL)
    due: list[tuple[dt.date, str, float | None]] = []
    for row in plan.rows:
        day = None
        if row.bbch is not None:
            day = reached(now, block, row.bbch)
        elif fell is not None and row.days_after_petal_fall is not None:
            day = fell + dt.timedelta(days=row.days_after_petal_fall)
        if day is not None and day <= now.on:
            due.append((day, row.practice, row.sulphur_kg_ha))
    printed = [kg for _, _, kg in due if kg is not None]
    harm = _together([_harm(now, block, practice, day) for day, practice, _ in due])
    copper = COPPER_A_YEAR.get(block.fruit) if any(practice == "copper" for _, practice, _ in due) else None
    return {
        "passes": len(due),
        "of": len(plan.rows),
        "dates": [day.isoformat() for day, _, _ in due],
        "sulphur_kg_ha_at_least": round(sum(printed), 2) if printed else None,
        "copper_kg_ha_a_year": list(copper) if copper else None,
        "harm": _rounded(harm.sides),
        "evidence": plan.evidence,
        "sources": [s for s in (plan.source, "trapman-copper-free" if copper else None) if s],
    }


def _of_orchard(now: Situation, blocks: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """The orchard as a whole: days of spraying, and kilograms on the ground of all blocks whose ground is known."""
    records = sprays_of(now)
    ground = {b.id: b.ground_area / 10_000 for b in now.blocks if b.ground_area}
    total: dict[str, Any] = {
        "passes": len({o.date for o in records}),
        "protective": len({o.date for o in records if o.practice not in FEEDING}),
        "uncounted": sum(b["uncounted"] for b in blocks),
        "ground_ha": round(sum(ground.values()), 4) if ground else None,
    }
    for name in ("sulphur", "copper"):
        used = [(b[f"{name}_kg_ha"], ground.get(b["block"])) for b in blocks]
        sure = all(kg is not None and (area is not None or kg == 0) for kg, area in used)
        total[f"{name}_kg"] = round(sum(kg * (area or 0) for kg, area in used), 3) if sure else None
    planned = [b["calendar"] for b in blocks]
    total["block_passes"] = sum(b["protective"] for b in blocks)
    total["block_passes_by_calendar"] = sum(p["passes"] for p in planned) if planned and all(planned) else None
    total["harm"] = _rounded({side: sum(b["harm"][side] for b in blocks) for side in _SIDES})
    return total


# --- Harm ------------------------------------------------------------------------------------------------------------


def _harm(now: Situation, block: Block, practice: str, day: dt.date) -> _Harm:
    """What one pass costs allies, bees and soil life at the stage that the block had on its day."""
    seen = tuple(o for o in now.observations if o.date <= day)
    place = replace(now, file=replace(now.file, observations=seen)).place(block.id)
    known = consequences(practice, place, _when(now, block, day), knowledge=now.knowledge)
    sides, hit = dict.fromkeys(_SIDES, 0.0), {}
    for line in known.costs:
        node = now.knowledge.nodes.get(line.what)
        side = "soil_life" if isinstance(node, SoilLife) else _side(node) if isinstance(node, Ally) else None
        if side is not None:
            sides[side] += line.score
            hit[line.name] = line.score
    return _Harm(sides, hit)


def _side(ally: Ally) -> str:
    return "bees" if ally.group == "pollinator" else "allies"


def _when(now: Situation, block: Block, day: dt.date) -> When:
    """The stage of a block on a past day, as it is known today."""
    codes = [code for code in _CODES if (on := reached(now, block, code)) is not None and on <= day]
    weeks = season.weeks_from_bloom(day, now.bloom)
    return When(bbch={block.fruit: max(codes)} if codes else None, weeks=weeks)


def _together(harms: Sequence[_Harm]) -> _Harm:
    hit: Counter[str] = Counter()
    for harm in harms:
        hit.update(harm.hit)  # scores add up as counts do
    return _Harm({side: sum(harm.sides[side] for harm in harms) for side in _SIDES}, hit)


def _rounded(sides: Mapping[str, float]) -> dict[str, float]:
    return {side: round(sides[side], 2) for side in _SIDES}


def _hardest(harm: _Harm) -> list[str]:
    return [name for name, _ in sorted(harm.hit.items(), key=lambda pair: (-pair[1], pair[0]))[:_NAMED]]


# --- In words --------------------------------------------------------------------------------------------------------


def lines(found: Mapping[str, Any], units: str = "metric") -> Iterator[str]:
    """The ledger as lines of text."""
    yield "Sprays of the season"
    if not found["orchard"]["passes"]:
        yield "  No spray is on record. (What was sprayed and not written down is not counted.)"
    for block in found["blocks"]:
        yield from _block_lines(block, units)
    orchard = found["orchard"]
    if orchard["passes"]:
        masses = [f"{name} {show(orchard[f'{name}_kg'], 'kg', units)}" for name in ("sulphur", "copper")
                  if orchard[f"{name}_kg"]]  # fmt: skip
        yield "  " + ", ".join([f"Whole orchard: sprayed on {_count(orchard['passes'], 'day')}", *masses]) + "."
        yield "  (Harm is a score from the graph of who lives here: it compares, it does not count animals.)"


def _block_lines(block: Mapping[str, Any], units: str) -> Iterator[str]:
    plan = block["calendar"]
    if not block["passes"] and plan is None:
        return
    said = [f"{block['block']} ({block['fruit']}): {_count(block['passes'], 'pass', 'passes')}"]
    feeding = block["passes"] - block["protective"]
    if feeding > 0:
        said[0] += f", {feeding} of them feeding only"
    said += [f"{name} {show(block[f'{name}_kg_ha'], 'kg/ha', units)}" for name in ("sulphur", "copper")
             if block[f"{name}_kg_ha"]]  # fmt: skip
    if block["uncounted"]:
        said.append(f"{block['uncounted']} more of unknown amount (write amount, content and area)")
    yield "  " + "; ".join(said) + "."
    if block["passes"]:
        hit = f"; hardest hit: {', '.join(block['hardest_hit'])}" if block["hardest_hit"] else ""
        yield f"    harm: {_harm_words(block['harm'])}{hit}."
    if plan is None:
        yield "    By calendar: no figure for this fruit, or no stage known."
        return
    mark = "published schedule" if plan["evidence"] == "published" else "common practice, no source"
    sulphur = plan["sulphur_kg_ha_at_least"]
    copper = plan["copper_kg_ha_a_year"]
    masses = [f"sulphur at least {show(sulphur, 'kg/ha', units)}" if sulphur else "",
              f"copper {show(copper[0], 'kg/ha', units)} or more a year" if copper else ""]  # fmt: skip
    extra = "".join(f", {mass}" for mass in masses if mass)
    yield (f"    By calendar up to today: {_count(plan['passes'], 'pass', 'passes')} of {plan['of']}{extra}; "
           f"harm: {_harm_words(plan['harm'])} ({mark}).")  # fmt: skip
    saved = block["passes_saved"]
    if saved > 0:
        yield f"    Saved so far: {_count(saved, 'pass', 'passes')}."
    elif saved < 0:
        yield f"    That is {_count(-saved, 'pass', 'passes')} more than the calendar."


def _harm_words(sides: Mapping[str, float]) -> str:
    if not any(sides.values()):
        return "none known"
    return f"allies {sides['allies']:.1f}, bees {sides['bees']:.1f}, soil life {sides['soil_life']:.1f}"


def _count(number: int, one: str, many: str | None = None) -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"
