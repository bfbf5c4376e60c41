"""Try changes quickly: the path as far as weighing, asking again only what can have changed.

Trials   tries changes of one answer's inputs; `spent` counts what the tries cost
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from advisor.advice import Run, settled
from advisor.explain.changes import NO_CHANGE, Changes, changed
from advisor.fact import Fact
from advisor.facts import SOURCES, Gathered, Situation, gather
from advisor.inference import run
from advisor.presenting import show_in

if TYPE_CHECKING:
    from advisor.advice import Answer, Inputs

# What tries cost, in the time of a quick one: a slow source of facts asked again, or all of them.
_SLOW, _WHOLE = 0.5, 2.0


class Trials:
    """Tries changes of one answer's inputs."""

    def __init__(self, answer: Answer) -> None:
        self.base: Run = answer.run
        self.spent = 0.0
        self._looked: dict[str, tuple[Fact, ...]] = {}

    def facts_with(self, seen: Mapping[str, Any]) -> tuple[Fact, ...]:
        """The facts of the answer with one look more; InputError if no observation can say that."""
        key = repr(sorted(seen.items(), key=str))
        if key not in self._looked:
            self._looked[key] = self.facts(NO_CHANGE.and_seen(seen))[2].facts
        return self._looked[key]

    def facts(self, changes: Changes) -> tuple[Inputs, Situation, Gathered]:
        """The inputs after the changes, the situation, and its facts."""
        self.spent += 0.5
        inputs = replace(self.base.inputs, **changed(changes, self.base.inputs))
        now = Situation.of(inputs.file, inputs.day, inputs.measured, inputs.forecast, inputs.knowledge)
        kinds = self.base.rulebook.kinds
        only = self._only_observations(changes)
        if only is None:
            self.spent += _WHOLE
            return inputs, now, gather(now, kinds)
        self.spent += sum(_SLOW for _, reads in SOURCES if reads is not None and reads & only)
        return inputs, now, gather(now, kinds, self.base.gathered, only)

    def run(self, changes: Changes) -> Run:
        """The run after the changes."""
        inputs, now, gathered = self.facts(changes)
        self.spent += 0.5
        show = show_in(now.file.orchard.units, now.knowledge)
        inference = run(self.base.rulebook, gathered.facts, region=now.region, show=show)
        return Run(inputs, now, gathered, inference, tuple(settled(now, inference)))

    def _only_observations(self, changes: Changes) -> frozenset[str] | None:
        """The kinds of observation that change, where nothing else does."""
        if changes.set or changes.on or changes.warmer or changes.rain != 1 or changes.weather or changes.forecast:
            return None
        dropped = set(changes.drop)
        kinds = {str(one["kind"]) for one in changes.add}
        return frozenset(kinds | {o.kind for o in self.base.inputs.file.observations if o.id in dropped})
