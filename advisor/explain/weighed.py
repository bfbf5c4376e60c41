"""What was weighed for a recommendation: what it outweighed or gave way to, and what the practice gives and costs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from advisor.answer import Record
from advisor.ecosystem import Consequence, Ledger
from advisor.explain.nodes import node
from advisor.explain.wording import more_or_less
from advisor.facts.situation import said_there
from advisor.outcome import Firing, Proposal, Reservation
from advisor.presenting import deciding_for
from advisor.weighing import Lost, Outcome

if TYPE_CHECKING:
    from advisor.advice import Run
    from advisor.explain.why import Tree


class Weighed:
    """Tells the weighing of one outcome."""

    def __init__(self, run: Run, one: Outcome, tree: Tree) -> None:
        self.run = run
        self.one = one
        self.tree = tree

    def outweighed(self) -> Iterator[Record]:
        """A node for each rule that lost."""
        for lost in dict.fromkeys(self.one.lost):
            losers = self.losers(lost)
            said = losers[0].output if losers else None
            words = said.summary if isinstance(said, Proposal) else said.answer if isinstance(said, Reservation) else ""
            strength = said.strength if isinstance(said, Proposal | Reservation) else "no rule"
            how = {
                "safety": f"Safety comes first ({self.one.strength} against {strength})",
                "strength": f"The stronger reason decides ({self.one.strength} against {strength})",
                "ledger": "Of two equal reasons, what the practice gives and costs here decides",
            }[lost.by]
            below = [self.tree.firing(firing) for firing in losers]
            beside = [
                other for other in self.run.outcomes if other.gives_way_to is self.one and lost.what in speaking(other)
            ]
            below += [self.tree.leaves.observation(wish.intent) for other in beside for wish in other.wishes]
            if lost.by == "ledger":
                below += [each for other in beside for each in self.sides(other.practice, other.ledger)]
                below += [*self.sides(self.one.practice, self.one.ledger), *self.rivals(losers), *self.seen_there()]
            text = f"{how}; outweighed: {words or self.tree.leaves.name(lost.what)}"
            yield node("weighing", lost.what, text, value=lost.by, below=below)

    def losers(self, lost: Lost) -> list[Firing]:
        """The firings of a rule that lost, for this practice or one that cannot be done beside it, at this place."""
        found = []
        for firing in self.run.inference.firings:
            said = firing.output
            if firing.rule.id != lost.what or not isinstance(said, Proposal | Reservation):
                continue
            about = self.run.inference.facts[said.considered].fields if isinstance(said, Reservation) else vars(said)
            if (about.get("block"), about.get("habitat")) != self.one.place:
                continue
            if isinstance(said, Reservation) and about.get("practice") != self.one.practice:
                continue
            found.append(firing)
        return found

    def rivals(self, losers: Sequence[Firing]) -> Iterator[Record]:
        """The ledgers of practices that lost because they cannot be done beside this one."""
        from advisor.advice import ledger_at

        for firing in losers:
            said = firing.output
            if isinstance(said, Proposal) and said.practice != self.one.practice:
                ledger = ledger_at(self.run.now, said.practice, self.one.place, said.material or said.target)
                yield from self.sides(said.practice, ledger)

    def giving_way(self) -> Iterator[Record]:
        """The practice that excludes this one, why it is done, and both ledgers."""
        winner = self.one.gives_way_to
        if winner is None:
            return
        name = self.tree.leaves.name
        by = next((lost.by for lost in winner.lost if lost.what in speaking(self.one)), None)
        below = [self.tree.leaves.observation(wish.intent) for wish in winner.wishes]
        below += [self.tree.speech(each) for each in deciding_for(winner)]
        below += [*self.sides(winner.practice, winner.ledger), *self.sides(self.one.practice, self.one.ledger)]
        text = f"{name(self.one.practice)} and {name(winner.practice)} cannot both be done here; the weightier stays"
        yield node("weighing", f"{winner.practice}:{self.one.practice}", text, value=by,
                   below=[*below, *self.seen_there()])  # fmt: skip

    def ledger(self, trade_off: str | None) -> list[Record]:
        """Both sides as one trade-off where there are two; otherwise the one side that there is."""
        sides = self.sides(self.one.practice, self.one.ledger)
        if len(sides) < 2 and not trade_off:
            return sides
        ledger = self.one.ledger
        if trade_off is None and ledger is not None:
            trade_off = f"For: {'; '.join(ledger.gains[0].path)}. Against: {'; '.join(ledger.costs[0].path)}."
        total = ledger.total if ledger is not None else None
        return [node("trade-off", self.one.practice, trade_off or "", value=total, below=sides)]

    def sides(self, practice: str, ledger: Ledger | None) -> list[Record]:
        """All gains and all costs of a practice, each with its paths, strongest first."""
        found = []
        name = self.tree.leaves.name(practice)
        for side, verb in (("gains", "gives"), ("costs", "costs")):
            lines = ledger_lines(ledger, side, self.one.target)
            if lines:
                id, total = f"{side}:{practice}", round(sum(line.score for line in lines), 4)
                new = self.tree.nodes.is_new("ledger", id)
                below = [self.path(practice, side, line) for line in lines] if new else []
                found.append(
                    node("ledger", id, f"What {name} {verb} here and now: {total:.3g}", value=total, below=below)
                )
        return found

    def path(self, practice: str, side: str, line: Consequence) -> Record:
        turn = more_or_less(line, side, self.run.now.knowledge)
        sure = " (if it is here)" if line.unsure else ""
        text = f"{turn}: {'; '.join(line.path)}{sure}"
        source = self.tree.say.sources(line.sources, line.evidence)
        return node("path", f"{practice}>{line.what}:{side}", text, value=line.score, source=source)

    def seen_there(self) -> Iterator[Record]:
        """What was seen at the place, which says what the practice can give or cost there."""
        block, habitat = self.one.place
        for seen in self.run.now.observations:
            elsewhere = (seen.block and block and seen.block != block) or (
                seen.habitat and habitat and seen.habitat != habitat
            )
            if not elsewhere and said_there(seen):
                yield self.tree.leaves.observation(seen.id)


def speaking(one: Outcome) -> set[str]:
    """What speaks for an outcome, as what lost is named: its rules, or the practice of a bare wish."""
    return {one.practice, *(proposal.rule.id for proposal in one.proposals)}


def ledger_lines(ledger: Ledger | None, side: str, target: str | None) -> list[Consequence]:
    """The gains or costs of a ledger, strongest first, but what the practice is aimed at before all."""
    return sorted(getattr(ledger, side, ()), key=lambda line: line.what != target)
