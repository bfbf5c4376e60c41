"""The crop to expect of each block: by this season's count, otherwise as such trees bear in a usual year."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from advisor.fact import Fact
from advisor.facts.crop import APPLE_KG, leaf, trunk_area, wanted
from advisor.facts.given import bearing
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.observation import CropCount
from advisor.orchard import Block
from advisor.science import rootstock
from advisor.sentences import in_words


@dataclass(frozen=True)
class Tree:
    """What one tree is expected to bear, kg, least and most; how that is known."""

    least: float
    most: float
    by: str
    text: str
    origin: tuple[str, ...]
    sources: tuple[str, ...] = ()

    @property
    def middle(self) -> float:
        return (self.least + self.most) / 2


def yield_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """What each block is expected to bear, so that picking and feeding can be planned."""
    for block in now.blocks:
        tree = counted(now, block) or _usual(now, block)
        if tree is not None:
            yield _expected(block, tree, make)


def counted(now: Situation, block: Block) -> Tree | None:
    """Apples by the newest count of this season, less what is to be thinned; the mean over cultivars."""
    counts: dict[str | None, CropCount] = {}
    for seen in now.observations:  # by date
        here = not seen.habitat and seen.block in (None, block.id)
        if isinstance(seen, CropCount) and here and seen.fruit_per_tree is not None and now.this_season(seen.date):
            counts[seen.cultivar] = seen
    if block.fruit != "apple" or not counts:
        return None
    stays, sources = [], ["cheng-gala-need"]
    for cultivar, seen in counts.items():
        goal = wanted(now, block, trunk_area(seen), cultivar)
        carried = float(seen.fruit_per_tree or 0.0)
        stays.append(min(carried, goal.fruit) if goal is not None and goal.fruit else carried)
        sources += goal.sources if goal is not None else ()
    fruit = sum(stays) / len(stays)
    kg = fruit * APPLE_KG
    carried = sum(float(seen.fruit_per_tree or 0.0) for seen in counts.values()) / len(counts)
    thinned = f", of which {fruit:.0f} stay once thinned" if fruit < carried else ""
    text = f"{carried:.0f} fruit a tree counted{thinned}; {fruit:.0f} x {APPLE_KG * 1000:.0f} g = {kg:.3g} kg a tree"
    return Tree(kg, kg, "count", text, tuple(seen.id for seen in counts.values()), tuple(dict.fromkeys(sources)))


def _usual(now: Situation, block: Block) -> Tree | None:
    """A usual year of grown trees: apples by their stock, as published; other fruit from memory."""
    if block.fruit != "apple":
        if bearing(now, block) is False:
            return None
        kg = float(now.knowledge.figure(f"labour.crop.{block.fruit}").value(now.region).value)
        text = f"{in_words(block.fruit)}: about {kg:g} kg a tree in a usual year, from memory"
        return Tree(kg, kg, "fruit", text, ("orchard",))
    age = leaf(now, block)
    grown = rootstock.expected_yield(block.rootstock, None if age is None else age - 1) if block.rootstock else None
    if grown is None:
        return None
    text = f"{block.rootstock}: {grown[0]:.4g} to {grown[1]:.4g} kg a tree in a usual year"
    return Tree(*grown, "stock", text, ("orchard",), ("hoover-marini-tree-size",))


def _expected(block: Block, tree: Tree, make: Maker) -> Fact:
    values = {"block": block.id, "tree_least": tree.least, "tree_most": tree.most, "by": tree.by}
    text = tree.text
    if block.trees:
        values["crop"] = tree.middle * block.trees
        text += f"; {block.trees:g} trees x {tree.middle:.4g} kg = {values['crop']:.4g} kg"
    if block.spacing:
        row, along = block.spacing.row, block.spacing.tree
        rate = tree.middle * float(rootstock.trees_per_hectare(row, along))
        values["rate"] = rate
        text += f"; 10,000 / ({row:g} x {along:g}) trees a hectare: {rate / 1000:.3g} t/ha"
    return make("crop-expected", block.id, values, origin=tree.origin, text=text, sources=tree.sources)
