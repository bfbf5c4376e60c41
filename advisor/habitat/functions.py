"""What plants do here besides blooming: taproot, nectar early and late, stems for bees, shelter, nitrogen.

Each function says what fills it, so that what is lacking, what a choice fills and how varied a place is are all read
from one table.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from advisor.ecosystem import Knowledge, Plant
from advisor.facts.situation import Situation

# Links weaker than this name a plant that gives a little of a thing, too little to count on.
COUNTS_FROM = 2


@dataclass(frozen=True)
class Function:
    id: str
    name: str
    fills: Callable[[Plant, Knowledge], bool]
    habitats: tuple[str, ...] = ()
    """Kinds of habitat that fill it whatever grows there."""


def _blooms(resource: str) -> Callable[[Plant, Knowledge], bool]:
    def gives(plant: Plant, knowledge: Knowledge) -> bool:
        links = knowledge.links_from(plant.key)
        return any(k.link == "blooms" and k.end == resource and k.strength >= COUNTS_FROM for k in links)

    return gives


def _shelters(plant: Plant, knowledge: Knowledge) -> bool:
    """Allies winter in it: a link of winter or of the whole year, strong enough to count on."""
    return any(
        k.link == "shelters"
        and knowledge.nodes[k.end].kind == "ally"
        and (k.season.winter or k.season.always)
        and k.strength >= COUNTS_FROM
        for k in knowledge.links_from(plant.key)
    )


FUNCTIONS: tuple[Function, ...] = (
    Function("early-nectar", "nectar before the trees bloom", _blooms("early-nectar")),
    Function("late-nectar", "late nectar", _blooms("late-nectar")),
    Function("taproot", "a taproot that lasts", lambda p, _: p.root == "tap" and p.life in ("perennial", "biennial")),
    Function(
        "stems",
        "pithy or hollow stems for bees",
        lambda p, _: p.stems in ("pithy", "hollow") and p.life in ("perennial", "woody"),
    ),
    Function("shelter", "winter shelter for allies", _shelters, ("hedge", "tussock-bank", "wood-edge")),
    Function("nitrogen", "nitrogen from the air", lambda p, _: p.fixes_nitrogen),
)


def wanted(nitrogen: bool) -> list[Function]:
    """The functions that a place should have; nitrogen only where the grower wants it."""
    return [function for function in FUNCTIONS if function.id != "nitrogen" or nitrogen]


def filled_here(function: Function, now: Situation, plants: Iterable[Plant]) -> list[str]:
    """What fills a function here: ids of plants, and of habitats that do it by their kind."""
    by_plants = {plant.id for plant in plants if function.fills(plant, now.knowledge)}
    by_place = {habitat.id for habitat in now.file.habitats if habitat.kind in function.habitats}
    return sorted(by_plants) + sorted(by_place)
