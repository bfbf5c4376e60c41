"""What an orchard's bloom lacks, as needs that plants can fill: weeks of nectar, kinds in a thin season, functions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from advisor.ecosystem import Knowledge, Plant
from advisor.facts.situation import Situation
from advisor.habitat.functions import COUNTS_FROM, filled_here, wanted
from advisor.habitat.ribbon import InBloom
from advisor.habitat.weeks import Parts, lacking, opens_in


@dataclass(frozen=True)
class Lack:
    """Something lacking. least: how many new kinds it takes; filled_by: ids of the plants that would do."""

    id: str
    text: str
    least: int
    filled_by: frozenset[str]
    week: int | None = None
    each: str = ""
    """What one plant of several gives to it, in words; the text itself where one is enough."""


def lacks(
    now: Situation, flowers: Sequence[InBloom], parts: Parts, candidates: Iterable[Plant], nitrogen: bool
) -> tuple[list[Lack], list[str]]:
    """What is lacking and can be filled; and what no plant that is accepted here would fill, in words."""
    plants = list(candidates)
    new = {plant.id: one for plant in plants if worth_planting(plant) and (one := as_new(plant)) is not None}
    found, beyond = _weeks(flowers, new, parts)
    here = {one.plant.id: one.plant for one in flowers}
    for part, span in parts.spans().items():
        have = {one.plant.id for one in flowers if one.feeds and any(opens_in(one, span))}
        short = parts.wanted[part] - len(have)
        fill = frozenset(name for name, one in new.items() if one.feeds and any(opens_in(one, span)))
        if short > 0:
            kinds = f"{short} more kind{'s' if short > 1 else ''} in flower in the {part} season"
            each = f"one of the {part} kinds"
            found.append(Lack(f"kinds-{part}", kinds, min(short, len(fill)), fill, each=each))
            if len(fill) < short:
                beyond.append(f"Only {len(fill)} of {kinds} can be had from the plants that are accepted here.")
    for function in wanted(nitrogen):
        if not filled_here(function, now, here.values()):
            fill = frozenset(plant.id for plant in plants if function.fills(plant, now.knowledge))
            if fill:
                found.append(Lack(function.id, function.name, 1, fill))
            else:
                beyond.append(f"No plant that is accepted here gives {function.name}.")
    return [lack for lack in found if lack.least > 0], beyond


def _weeks(flowers: Sequence[InBloom], new: dict[str, InBloom], parts: Parts) -> tuple[list[Lack], list[str]]:
    """Weeks without nectar, or, where no accepted plant has nectar then, without pollen."""
    found, beyond = [], []
    no_nectar, no_flower = lacking(flowers, parts, "nectar"), lacking(flowers, parts, "flowers")
    for at, week in enumerate(parts.weeks):
        one_week = range(week, week + 1)
        if not no_nectar[at]:
            continue
        open_then = [one for one in new.values() if one.feeds and any(opens_in(one, one_week))]
        nectar = frozenset(one.plant.id for one in open_then if (one.plant.nectar or 0) >= COUNTS_FROM)
        if nectar:
            found.append(Lack(f"week{week:+d}", f"nectar in week {week}", 1, nectar, week))
        elif open_then and no_flower[at]:
            ids = frozenset(one.plant.id for one in open_then)
            found.append(Lack(f"week{week:+d}", f"pollen in week {week}", 1, ids, week))
        else:
            beyond.append(f"No plant that is accepted here has nectar in week {week}.")
    return found, beyond


def as_new(plant: Plant) -> InBloom | None:
    """A plant as it would bloom if it were added; None for one that never blooms."""
    if plant.bloom is None:
        return None
    return InBloom(plant, "new", "habitat", plant.bloom.begin, plant.bloom.end)


def worth_planting(plant: Plant) -> bool:
    """Whether a plant gives enough nectar or pollen to be planted for it; a weak one counts only where it stands."""
    return max(plant.nectar or 0, plant.pollen or 0) >= COUNTS_FROM


def filled_by(plant: Plant, lacks: Iterable[Lack]) -> list[Lack]:
    """What a plant would fill."""
    return [lack for lack in lacks if plant.id in lack.filled_by]


def in_words(lacks: Sequence[Lack], each: bool = False) -> list[str]:
    """Needs as a grower reads them: weeks that follow one another are told as one. each: as one plant fills them."""
    weeks = sorted(lack.week for lack in lacks if lack.week is not None)
    said = []
    at = 0
    while at < len(weeks):
        last = at
        while last + 1 < len(weeks) and weeks[last + 1] == weeks[last] + 1:
            last += 1
        run = f"week {weeks[at]}" if at == last else f"weeks {weeks[at]} to {weeks[last]}"
        kinds = sorted({lack.text.split(" in week")[0] for lack in lacks if lack.week in weeks[at : last + 1]})
        said.append(f"{' or '.join(kinds)} in {run}")
        at = last + 1
    return said + [(each and lack.each) or lack.text for lack in lacks if lack.week is None]


def fillers(function_ids: Iterable[str], plant: Plant, knowledge: Knowledge) -> list[str]:
    """Which of these functions a plant fills."""
    known = {function.id: function for function in wanted(True)}
    return [name for name in function_ids if known[name].fills(plant, knowledge)]
