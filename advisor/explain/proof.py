"""Prove a tree of why: run again with only its inputs, then once more without each of them.

prove    fills in `needed`, adds what the tree had left out, and says how the proof went

The inputs are the observations, blocks and habitats of the tree, and the weather and forecast if the tree names them;
the orchard's own fields stay. If the recommendation does not come back from these alone, something else among what was
given keeps it as it is, by keeping a rule silent: that is found by halving what is left, and added to the tree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from advisor.answer import Record
from advisor.explain.leaves import Leaves
from advisor.explain.nodes import Nodes, node, walk
from advisor.presenting import deciding_for
from advisor.weighing import Outcome

if TYPE_CHECKING:
    from advisor.advice import Run

Input = tuple[str, str]  # observation, block, habitat, weather or forecast; its id
TRIED = ("observation", "weather", "forecast")


def prove(run: Run, one: Outcome, tree: Record) -> Record:
    """The tree with `needed` filled in for observations, weather and forecast, and a node that tells the proof."""
    trials = Trials(run, one)
    cited = cited_inputs(run, one, tree)
    added, holds = trials.grow(cited)
    whole = sorted({*cited, *added})
    without = {
        each: trials.outcome([i for i in whole if i != each]) for each in whole if each[0] in TRIED or each in added
    }
    needed = {each: not trials.same(found) for each, found in without.items()}
    leaves = Leaves(run, Nodes())
    below = [*tree["from"], *(_silence(leaves, each, without[each]) for each in added)]
    proven = Record({**tree, "from": below})
    for each in walk(proven):
        if (each.kind, each.id) in needed:
            each["needed"] = needed[each.kind, each.id]
    below.append(_told(whole, needed, holds))
    return proven


def cited_inputs(run: Run, one: Outcome, tree: Record) -> set[Input]:
    """The inputs that a tree names: its leaves, and the blocks and habitats that it speaks of."""
    observations = {seen.id: seen for seen in run.now.observations}
    found: set[Input] = {(each.kind, each.id) for each in walk(tree) if each.kind in TRIED}
    found -= {(name, name) for name, table in _weather(run).items() if table is None}
    facts = [run.inference.facts[each.id] for each in walk(tree) if each.id in run.inference.facts]
    places = [(fact.fields.get("block"), fact.fields.get("habitat")) for fact in facts]
    places += [(observations[id].block, observations[id].habitat) for kind, id in found if kind == "observation"]
    for group, kind in (("blocks.", "block"), ("habitats.", "habitat")):
        named = (each.id.split(".")[1] for each in walk(tree) if each.kind == "orchard" and each.id.startswith(group))
        found |= {(kind, name) for name in named}
    for block, habitat in [*places, one.place]:
        found |= {("block", str(block))} if block else set()
        found |= {("habitat", str(habitat))} if habitat else set()
    return found


class Trials:
    """Runs the path again on a part of what was given."""

    def __init__(self, run: Run, one: Outcome) -> None:
        self.run = run
        self.one = one

    def outcome(self, inputs: Sequence[Input]) -> Outcome | None:
        """What comes of the same practice, target and place, with only these inputs; None if nothing does."""
        from advisor.advice import run_through

        given, kept = self.run.inputs, set(inputs)
        if kept == set(self.all_inputs()):
            return self.one
        file = given.file
        blocks = tuple(block for block in file.blocks if ("block", block.id) in kept)
        part = replace(
            given,
            file=replace(
                file,
                observations=tuple(seen for seen in self.run.now.observations if ("observation", seen.id) in kept),
                blocks=blocks or file.blocks,
                habitats=tuple(each for each in file.habitats if ("habitat", each.id) in kept),
            ),
            measured=given.measured if ("weather", "weather") in kept else None,
            forecast=given.forecast if ("forecast", "forecast") in kept else None,
        )
        found = [other for other in run_through(part).outcomes if _about(other) == _about(self.one)]
        return next((other for other in found if other.stance == self.one.stance), found[0] if found else None)

    def same(self, found: Outcome | None) -> bool:
        return found is not None and found.stance == self.one.stance

    def grow(self, cited: set[Input]) -> tuple[list[Input], bool]:
        """What else of the given must stand for the recommendation to come back, and whether it then does."""
        added: list[Input] = []
        rest = [each for each in self.all_inputs() if each not in cited]
        while not (holds := self.same(self.outcome([*cited, *added]))) and rest:
            least, most = 0, len(rest)  # of the rest so many are too few, so many enough
            while most - least > 1:
                middle = (least + most) // 2
                if self.same(self.outcome([*cited, *added, *rest[:middle]])):
                    most = middle
                else:
                    least = middle
            added.append(rest[most - 1])
            rest = rest[: most - 1]
        return added, holds

    def all_inputs(self) -> list[Input]:
        file = self.run.inputs.file
        found: list[Input] = [(name, name) for name, table in _weather(self.run).items() if table is not None]
        found += [("block", block.id) for block in file.blocks]
        found += [("habitat", habitat.id) for habitat in file.habitats]
        return found + [("observation", seen.id) for seen in self.run.now.observations]


def _about(one: Outcome) -> tuple[object, ...]:
    return (one.practice, one.target, one.block, one.habitat)


def _weather(run: Run) -> dict[str, object]:
    return {"weather": run.inputs.measured, "forecast": run.inputs.forecast}


def _silence(leaves: Leaves, each: Input, otherwise: Outcome | None) -> Record:
    """What an input that no rule matched keeps from being said."""
    kind, id = each
    if otherwise is None:
        text = "Without this it would not be advised"
    else:
        reasons = "; ".join(said.because for said in deciding_for(otherwise)[:1])
        text = f"Without this the answer would be: {otherwise.stance}. {reasons}".strip()
    if kind == "observation":
        leaf = leaves.observation(id)
    elif kind in ("weather", "forecast"):
        leaf = leaves.weather(kind)
    else:
        leaf = node("orchard", f"{kind}s.{id}", f"The orchard file has the {kind} {id}")
    return node("silence", f"{kind}:{id}", text, below=[leaf])


def _told(whole: Sequence[Input], needed: dict[Input, bool], holds: bool) -> Record:
    """How the proof went."""
    seen = [id for kind, id in whole if kind == "observation"]
    places = [id for kind, id in whole if kind in ("block", "habitat")]
    parts = [f"only {len(seen)} observation{'' if len(seen) == 1 else 's'}" if seen else "no observations"]
    parts += [f"the {name}" for name in ("weather", "forecast") if (name, name) in whole]
    parts += [f"of the places only {', '.join(places)}"] if places else []
    comes = "the same recommendation comes back" if holds else "the recommendation does not come back"
    text = f"Run again with {', '.join(parts)}: {comes}."
    spare = [id for (kind, id), here in needed.items() if not here and kind in TRIED]
    if spare:
        text += f" It comes back as well without any one of: {', '.join(spare)}."
    return node("proof", "proof", text, value=holds)
