"""Plans: a few inputs changed at once, each with what the grower would have to see, have or wait for.

Fix    one input changed: an observation, a field of the orchard file, or the day
Plan   several, with the changes that they make; plans are ordered by inputs changed, then margin, then id
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import islice, product
from typing import Any, Literal

from advisor.conditions import Kind
from advisor.explain.changes import Changes
from advisor.explain.looks import record
from advisor.fact import Value

# look: to be seen in the orchard today; say: known to the grower, and not said yet; have: what the grower has or puts up;
# work: done first; mean: an intent; wait: comes with time.
What = Literal["look", "say", "have", "work", "mean", "wait"]
MOST_PLANS = 24  # kept of the ways to bring one thing about
MOST_INPUTS = 6


@dataclass(frozen=True)
class Fix:
    """One input changed. key: which input it is. Either `fields` of a fact, a ready `seen` record, or a `place` set."""

    what: What
    key: str
    margin: float
    text: str
    kind: Kind | None = None
    fields: Mapping[str, Value] = field(default_factory=dict)
    seen: Mapping[str, Any] | None = None
    place: str | None = None
    value: Any = None
    told: Mapping[str, Any] = field(default_factory=dict)  # observed, expected, unit, margin of the condition
    first: bool = False  # no rule asks for it, but without it there is nothing to see

    def joined(self, other: Fix) -> Fix | None:
        """Both changes of one input as one; None where they contradict each other."""
        if self == other:
            return self
        if self.place is not None or other.place is not None:
            if self.place == "on" and other.place == "on":
                return max(self, other, key=lambda fix: str(fix.value))
            if isinstance(self.value, list) and isinstance(other.value, list):
                return replace(self, value=[*dict.fromkeys([*self.value, *other.value])],
                               text=f"{self.text}; {other.text}", margin=self.margin + other.margin)  # fmt: skip
            return None
        if self.seen is not None or other.seen is not None:
            mine, theirs = self.seen or {}, other.seen or {}
            if any(mine.get(name, value) != value for name, value in theirs.items()):
                return None
            return replace(self, seen={**mine, **theirs}) if self.seen is not None and other.seen is not None else None
        if any(self.fields.get(name, value) != value for name, value in other.fields.items()):
            return None
        return replace(self, fields={**self.fields, **other.fields}, text=f"{self.text}; {other.text}",
                       margin=self.margin + other.margin)  # fmt: skip


@dataclass(frozen=True)
class Plan:
    """Inputs changed together."""

    fixes: tuple[Fix, ...] = ()

    @cached_property
    def order(self) -> tuple[int, float, str]:
        """Fewest inputs first, then least margin, then id."""
        return len(self.fixes), round(sum(fix.margin for fix in self.fixes), 6), self.id

    @cached_property
    def id(self) -> str:
        return " + ".join(f"{fix.key} {sorted(fix.fields.items())} {fix.seen} {fix.value}" for fix in self.fixes)

    def with_(self, other: Plan) -> Plan | None:
        """Both plans at once; None where they contradict each other or change too much."""
        merged = {fix.key: fix for fix in self.fixes}
        for fix in other.fixes:
            if fix.key in merged:
                both = merged[fix.key].joined(fix)
                if both is None:
                    return None
                fix = both
            merged[fix.key] = fix
        return Plan(tuple(merged[key] for key in sorted(merged))) if len(merged) <= MOST_INPUTS else None

    def without(self, fix: Fix) -> Plan:
        return Plan(tuple(one for one in self.fixes if one is not fix))

    def changes(self, year: int) -> Changes | None:
        """What to ask for; None where no observation says such a thing. year: the orchard year."""
        settings: dict[str, Any] = {}
        added: list[dict[str, Any]] = []
        for fix in self.fixes:
            if fix.place is not None:
                settings[fix.place] = fix.value
            elif fix.seen is not None:
                added.append(dict(fix.seen))
            else:
                assert fix.kind is not None
                said = record(fix.kind, fix.fields, year)
                if said is None:
                    return None
                added.append(said)
        on = settings.pop("on", None)
        day = on.isoformat() if isinstance(on, dt.date) else on
        return Changes(set=settings, add=tuple(added), on=day)


NOTHING = Plan()


def all_of(parts: Sequence[Sequence[Plan]]) -> list[Plan]:
    """Plans that bring about every part, the smallest first; none where a part has no plan."""
    found = [NOTHING]
    for options in parts:
        joined = (one.with_(other) for one, other in islice(product(found, options), 400))
        found = best(plan for plan in joined if plan is not None)
        if not found:
            return []
    return found


def best(plans: Iterable[Plan]) -> list[Plan]:
    """The smallest plans, each once."""
    unique = {plan.id: plan for plan in plans}
    return sorted(unique.values(), key=lambda plan: plan.order)[:MOST_PLANS]
