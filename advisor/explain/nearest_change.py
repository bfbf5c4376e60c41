"""The smallest change that would bring a practice about: searched, best first, and proven by the whole path.

A search starts with no change, asks what stands in the way (conditions of the rules that propose it, what holds it, what
outweighs it), and tries the plans that would clear it, those with the fewest inputs first, then with the least margin,
then by id. It ends when one is proven, when there is nothing left to try, or when it has spent what it may.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from advisor.advice import Run
from advisor.conditions import PLACES, Propose, Rule, Var
from advisor.errors import InputError
from advisor.explain.changes import Changes, changed
from advisor.explain.fixes import Fixer, Hindrance
from advisor.explain.plans import NOTHING, Plan, all_of, best
from advisor.explain.trial import Trials
from advisor.outcome import Firing
from advisor.season import orchard_year
from advisor.weighing import Outcome

if TYPE_CHECKING:
    from advisor.advice import Answer

MOST_SPENT = 38.0  # on one search, in quick tries (see Trials): well within 30 times one whole answer


@dataclass(frozen=True)
class Spot:
    """A practice at a place, and the stance that is to be brought about."""

    practice: str
    block: str | None
    habitat: str | None
    stances: frozenset[str]

    def outcomes(self, run: Run) -> list[Outcome]:
        return [
            o
            for o in run.outcomes
            if o.practice == self.practice and (o.block, o.habitat) == (self.block, self.habitat)
        ]

    def reached(self, run: Run) -> Outcome | None:
        return next((o for o in self.outcomes(run) if o.stance in self.stances), None)

    def rules(self, run: Run) -> Iterator[tuple[Rule, dict[str, str]]]:
        """The rules that propose it with a stance that is wanted, each with the binding of the place."""
        for rule in run.rulebook.rules:
            output = rule.output
            if not isinstance(output, Propose) or output.practice != self.practice or output.stance not in self.stances:
                continue
            bindings = {}
            for name in PLACES:
                said, here = getattr(output, name), getattr(self, name)
                if isinstance(said, Var) and here is not None:
                    bindings[said.name] = here
                elif (said is None) != (here is None):
                    break
            else:
                yield rule, bindings


@dataclass
class Found:
    """What a search came to: a proven plan with the answer it brings, or why there is none."""

    plan: Plan | None = None
    answer: Answer | None = None
    asked: Changes | None = None
    spent_all: bool = False
    tried: int = 0
    hindrances: dict[str, Hindrance] = field(default_factory=dict)


def nearest_change(answer: Answer, spot: Spot, most: float = MOST_SPENT) -> Found:
    """The smallest proven change of inputs after which the practice has a stance that is wanted at the place."""
    trials = Trials(answer)
    year = orchard_year(answer.run.now.on, answer.run.now.latitude)
    found = Found()
    waiting: list[tuple[tuple[int, float, str], Plan]] = [(NOTHING.order, NOTHING)]
    seen = {NOTHING.id}
    while waiting:
        if trials.spent > most:
            found.spent_all = True
            break
        _, plan = heapq.heappop(waiting)
        changes = plan.changes(year)
        if changes is None:
            continue
        try:
            run = trials.run(changes) if plan.fixes else answer.run
        except InputError:
            continue
        found.tried += 1
        if spot.reached(run) is not None:
            if proven(answer, spot, plan, year, trials, found):
                break
            continue
        fixer = Fixer(run, trials, spot.practice)
        for more in ways(fixer, spot):
            joined = plan.with_(more)
            if joined is not None and joined.id not in seen:
                seen.add(joined.id)
                heapq.heappush(waiting, (joined.order, joined))
        found.hindrances |= {name: one for name, one in fixer.hindrances.items() if name not in found.hindrances}
    return found


def proven(answer: Answer, spot: Spot, plan: Plan, year: int, trials: Trials, found: Found) -> bool:
    """Whether the whole path, run again on the changes, brings it about; what is not needed is left out first.

    The proven plan is kept in `found`.
    """
    for fix in [fix for fix in plan.fixes if not fix.first] if len(plan.fixes) > 1 else []:
        fewer = plan.without(fix)
        asked = fewer.changes(year)
        if asked is not None and spot.reached(trials.run(asked)) is not None:
            plan = fewer
    changes = plan.changes(year)
    assert changes is not None
    again = answer.run.inputs.again(**changed(changes, answer.run.inputs))
    if spot.reached(again.run) is None:
        return False
    found.plan, found.answer, found.asked = plan, again, changes
    return True


def ways(fixer: Fixer, spot: Spot) -> list[Plan]:
    """Plans that would clear what stands in the way of it in a run."""
    run = fixer.run
    standing = [o for o in spot.outcomes(run) if o.stance not in spot.stances]
    plans: list[Plan] = []
    for one in standing:
        parts = hurdles(fixer, one)
        if parts:
            plans += all_of(parts)
    proposed = [p for p in run.inference.proposals if p.practice == spot.practice and p.stance in spot.stances
                and (p.block, p.habitat) == (spot.block, spot.habitat)]  # fmt: skip
    if proposed and not standing:
        names = {p.rule.id for p in proposed}
        rivals = [o for o in run.outcomes if any(lost.what in names for lost in o.lost)]
        plans += all_of([fixer.to_stop_all(firings_of(run, o)) for o in rivals])
    if not proposed:
        for rule, bindings in spot.rules(run):
            plans += fixer.to_fire(rule, bindings)
    return best(plans)


def hurdles(fixer: Fixer, one: Outcome) -> list[Sequence[Plan]]:
    """What holds an outcome back, each with plans that would clear it."""
    run = fixer.run
    firings = {firing.id: firing for firing in run.inference.firings}
    parts: list[Sequence[Plan]] = []
    against = [
        firings[one_.firing]
        for one_ in (*one.reservations, *(p for p in one.proposals if p.stance in ("wait", "avoid")))
    ]
    if against:
        parts.append(fixer.to_stop_all(against))
    if one.gives_way_to is not None:
        parts.append(fixer.to_stop_all(firings_of(run, one.gives_way_to)))
    for waiting in run.inference.held_for_a_look:
        if waiting.considered and waiting.considered.removeprefix("considered:") in one.waits_for:
            parts.append(fixer.to_stop(waiting.rule, {n: v for n, v in waiting.bindings.items() if isinstance(v, str)}))
    return parts


def firings_of(run: Run, one: Outcome) -> list[Firing]:
    """The firings that speak for an outcome."""
    ids = {p.firing for p in one.proposals}
    return [firing for firing in run.inference.firings if firing.id in ids]


def state_of(run: Run, spot: Spot, rule: Rule, bindings: Mapping[str, str]) -> tuple[int, int, float]:
    """How near a rule is to firing: conditions false, conditions unknown, and by how much the false ones fail."""
    false = unknown = 0
    margin = 0.0
    for state in run.inference.evaluator.explain(rule, bindings):
        false += state.state is False
        unknown += state.state is None and state.condition.kind not in rule.even_if_not_seen
        margin += sum(abs(t.margin or 0.0) / max(abs(_size(t.expected)), 1.0) for t in state.tests if t.state is False)
    return false, unknown, round(margin, 6)


def _size(expected: object) -> float:
    if isinstance(expected, tuple):
        return _size(expected[0])
    return float(expected) if isinstance(expected, int | float) else 1.0
