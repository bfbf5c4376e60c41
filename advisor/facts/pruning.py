"""How much of each block's wood to take this winter, by the age of its trees and by how they grow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor import season
from advisor.fact import Fact
from advisor.facts.given import size_class
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.orchard import Block
from advisor.science import pruning, rootstock


def pruning_facts(now: Situation, make: Maker, facts: Mapping[str, Fact]) -> Iterator[Fact]:
    """One for each block whose age or shoots are known; `facts` holds the shoots."""
    for block in now.blocks:
        age = _age(now, block)
        shoots = facts.get(f"shoot-vigour:{block.id}")
        grows = shoots.fields.get("status") if shoots is not None else None
        if age is None and grows is None:
            continue
        life = rootstock.CLASSES[size_class(block.rootstock) or "standard"].life_years[0]
        old, strong = age is not None and age >= life, grows == "long"
        share = pruning.share_to_cut(old, strong)
        aged = f"trees {age} years old; of their size they live {life} years or more"
        why = "strong shoots" if strong else aged if old else "usual growth"
        origin = ("orchard", *((shoots.id,) if shoots is not None else ()))
        values = {"block": block.id, "share": share, "old": old, "strong": strong, "age": age}
        text = f"{why}: at most {share * 100:.0f} % of the fruiting wood"
        yield make("pruning-share", block.id, values, origin=origin, text=text,
                   sources=() if strong or old else ("real-cider-pruning",))


def _age(now: Situation, block: Block) -> int | None:
    began = block.planted or block.first_leaf
    return None if began is None else season.orchard_year(now.on, now.latitude) - began
