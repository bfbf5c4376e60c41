"""Settle what pulls against each other, in the open: safety first, then strength, then the ledger.

Everything that is proposed or meant for one practice at one place is settled together:

1. a `must` reservation wins over everything;
2. otherwise the stronger side wins (a rule's strength: strong, fair, weak); a mere wish of the grower's has none;
3. between equals the ledger of the practice, here and now, decides: if it gives more than it costs, do it.

What won and what lost, and by which of the three, is kept with the outcome. Two practices that cannot both be done at
one place (`conflicts-with` in the knowledge) are settled in the same way.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from advisor.ecosystem import Ledger
from advisor.outcome import Proposal, Reservation

POINTS = {"must": 4, "strong": 3, "fair": 2, "weak": 1}

Place = tuple[str | None, str | None]  # block, habitat


@dataclass(frozen=True)
class Wish:
    """Something that the grower means to do: an intent, for one place."""

    id: str  # of the considered fact
    intent: str  # of the observation
    practice: str
    target: str | None
    block: str | None
    habitat: str | None
    material: str | None
    day: float


@dataclass(frozen=True)
class Lost:
    """What was outweighed, and by what."""

    what: str
    by: str


@dataclass
class Outcome:
    """What was settled for one practice, target and place."""

    practice: str
    target: str | None
    block: str | None
    habitat: str | None
    stance: str
    proposals: list[Proposal] = field(default_factory=list)
    reservations: list[Reservation] = field(default_factory=list)
    cautions_from: list[Reservation] = field(default_factory=list)
    wishes: list[Wish] = field(default_factory=list)
    opens: float | None = 0
    closes: float | None = None
    strength: str = "weak"
    lost: list[Lost] = field(default_factory=list)
    waits_for: list[str] = field(default_factory=list)  # considered ids whose deciding fact nobody has looked at
    ledger: Ledger | None = None
    gives_way_to: Outcome | None = None  # a practice that excludes this one

    @property
    def place(self) -> Place:
        return (self.block, self.habitat)

    @property
    def weight(self) -> tuple[int, float]:
        """Strength, then ledger: how two practices that exclude each other are settled."""
        return POINTS[self.strength], self.ledger.total if self.ledger else 0.0

    @property
    def urgency(self) -> float:
        return max((p.urgency for p in self.proposals), default=0.5 if self.wishes else 0.3)


AskLedger = Callable[[str, Place, str | None], Ledger]


def settle(
    proposals: Sequence[Proposal],
    wishes: Sequence[Wish],
    reservations: Sequence[Reservation],
    undecided: Mapping[str, Sequence[str]],
    conflicts: Callable[[str], Iterable[str]],
    ledger: AskLedger,
    prepares: Mapping[str, str] = MappingProxyType({}),
) -> list[Outcome]:
    """One outcome for each practice, target and place.

    undecided: considered id -> rules that would hold it but want a look first. conflicts: practices that cannot be done
    at the same place as a practice. ledger: what a practice gives and costs at a place (with its material or plant).
    prepares: proposal id -> the intent for which it prepares.
    """
    held: dict[str, list[Reservation]] = {}
    for reservation in reservations:
        held.setdefault(reservation.considered.removeprefix("considered:"), []).append(reservation)
    acts: dict[tuple[str, Place], tuple[list[Proposal], list[Wish]]] = {}
    for proposal in proposals:
        acts.setdefault((proposal.practice, (proposal.block, proposal.habitat)), ([], []))[0].append(proposal)
    for wish in wishes:
        acts.setdefault((wish.practice, (wish.block, wish.habitat)), ([], []))[1].append(wish)
    outcomes: list[Outcome] = []
    for (practice, place), (proposed, wished) in sorted(acts.items(), key=lambda act: str(act[0])):
        outcomes += _settle_act(practice, place, proposed, wished, held, undecided, ledger)
    return _drop_idle_preparations(_settle_conflicts(outcomes, conflicts), prepares, conflicts)


def _drop_idle_preparations(
    outcomes: list[Outcome], prepares: Mapping[str, str], conflicts: Callable[[str], Iterable[str]]
) -> list[Outcome]:
    """Leave out what is proposed only to prepare for a wish that is to be avoided, or that something done excludes."""
    doing = {(one.practice, one.place) for one in outcomes if one.stance == "do"}
    hopes: dict[str, list[bool]] = {}
    for one in outcomes:
        excluded = any((rival, one.place) in doing for rival in conflicts(one.practice))
        for wish in one.wishes:
            hopes.setdefault(wish.intent, []).append(one.stance != "avoid" and not excluded)
    idle = {intent for intent, hope in hopes.items() if not any(hope)}
    kept = []
    for one in outcomes:
        one.proposals = [p for p in one.proposals if p.stance != "do" or prepares.get(p.id) not in idle]
        if one.proposals or one.wishes:
            kept.append(one)
    return kept


def _settle_act(
    practice: str,
    place: Place,
    proposed: list[Proposal],
    wished: list[Wish],
    held: Mapping[str, list[Reservation]],
    undecided: Mapping[str, Sequence[str]],
    ledger: AskLedger,
) -> list[Outcome]:
    """Each target on its own for `do`; an `avoid` or `wait` of one target speaks to the whole act."""
    block, habitat = place
    against = [p for p in proposed if p.stance in ("wait", "avoid")]
    targets: dict[str | None, Outcome] = {}
    only = {p.target for p in proposed}

    def outcome(target: str | None) -> Outcome:
        if target not in targets:
            targets[target] = Outcome(practice, target, block, habitat, "do")
        return targets[target]

    for proposal in proposed:
        if proposal.stance in ("do", "look"):
            outcome(proposal.target).proposals.append(proposal)
    for wish in wished:
        target = wish.target if wish.target or len(only) != 1 else next(iter(only))
        outcome(target).wishes.append(wish)

    def decide(one: Outcome) -> Outcome:
        ids = [p.id for p in one.proposals] + [w.id for w in one.wishes]
        binding = [r for i in ids for r in held.get(i, ()) if r.effect in ("hold", "forbid")]
        one.cautions_from = [r for i in ids for r in held.get(i, ()) if r.effect == "caution"]
        material = next((w.material for w in one.wishes if w.material), None)
        material = material or next((p.material for p in one.proposals if p.material), None)
        one.ledger = ledger(practice, place, material or one.target)
        _decide(one, binding, against)
        if one.stance == "do":
            one.waits_for = [i for i in ids if undecided.get(i)]
            if one.waits_for:
                one.stance, one.opens, one.closes = "wait", None, None
        return one

    settled = [part for one in targets.values() for part in _each_wish(one, decide)]
    answered = {id(p) for one in settled for p in one.proposals}
    for proposal in against:
        rivals = [one for one in settled if any(lost.what == proposal.rule.id for lost in one.lost)]
        joined = next((one for one in settled if one.target == proposal.target), None)
        if id(proposal) not in answered and not rivals and joined is None:
            alone = Outcome(practice, proposal.target, block, habitat, proposal.stance, [proposal])
            alone.opens, alone.closes, alone.strength = proposal.opens, proposal.closes, proposal.strength
            alone.ledger = ledger(practice, place, proposal.material or proposal.target)
            same = next((o for o in settled if (o.target, o.stance) == (alone.target, alone.stance)), None)
            if same:
                same.proposals.append(proposal)
            else:
                settled.append(alone)
    return settled


def _each_wish(one: Outcome, decide: Callable[[Outcome], Outcome]) -> list[Outcome]:
    """An outcome for each thing that is meant, so that every intent has its own answer.

    What is proposed is told with the first. Where two would differ at one time, they are told apart by what is put on;
    if that is the same too, or a target is named, both get the safer answer.
    """
    if len(one.wishes) < 2:
        return [decide(one)]
    act = (one.practice, one.target, one.block, one.habitat, one.stance)
    parts = [decide(Outcome(*act, proposals=[*one.proposals], wishes=[wish])) for wish in one.wishes]
    if any(a.stance != b.stance and _overlap(a, b) for a, b in itertools.combinations(parts, 2)):
        materials = [wish.material for wish in one.wishes]
        if one.target is None and len({*materials} - {None}) == len(materials):
            for part, material in zip(parts, materials, strict=True):
                part.target = material
        else:
            whole = decide(one)
            parts = [
                replace(whole, proposals=[*whole.proposals], lost=[*whole.lost], wishes=[wish]) for wish in whole.wishes
            ]
    for part in parts[1:]:
        if part.stance == "do":
            part.proposals = []
            part.opens = part.closes = part.wishes[0].day
    return parts


def _decide(one: Outcome, binding: list[Reservation], against: list[Proposal]) -> None:
    """Fill stance, window, strength and what lost."""
    doing = [p for p in one.proposals if p.stance == "do"]
    looking = [p for p in one.proposals if p.stance == "look"]
    opens = min((p.opens or 0 for p in doing), default=min((w.day for w in one.wishes), default=0))
    binding = [r for r in binding if r.effect == "forbid" or r.until is None or r.until > opens]
    against = [p for p in against if p.stance == "avoid" or p.closes is None or p.closes >= opens]
    side_for = max((POINTS[p.strength] for p in doing), default=0)
    side_against = max([POINTS[r.strength] for r in binding] + [POINTS[p.strength] for p in against], default=0)
    gives_more = one.ledger is not None and one.ledger.total > 0
    must = any(r.strength == "must" for r in binding)
    do_wins = not (binding or against) or (
        not must and (side_for > side_against or (side_for == side_against and side_for > 0 and gives_more))
    )
    if do_wins and (doing or one.wishes or not looking):
        reason = "strength" if side_for > side_against else "ledger"
        one.stance = "do" if doing or not looking else "wait" if one.wishes else "look"
        one.lost += [Lost(r.rule.id, reason) for r in binding] + [Lost(p.rule.id, reason) for p in against]
        one.opens, one.closes = _window(one, doing, opens)
        one.strength = max((p.strength for p in doing), key=POINTS.__getitem__, default="weak")
        if one.stance == "wait":
            one.opens, one.closes = None, None
        return
    if do_wins:  # only looks, nobody wishes: go and see
        one.stance = "look"
        one.opens = min((p.opens or 0 for p in looking), default=0)
        one.closes = _earliest(p.closes for p in looking)
        one.strength = max((p.strength for p in looking), key=POINTS.__getitem__)
        return
    reason = "safety" if must else "strength" if side_against > side_for else "ledger"
    one.lost += [Lost(p.rule.id, reason) for p in one.proposals]
    one.reservations = binding
    one.proposals = [*one.proposals, *against]
    one.strength = max(
        [r.strength for r in binding] + [p.strength for p in against], key=POINTS.__getitem__, default="weak"
    )
    if any(r.effect == "forbid" for r in binding) or any(p.stance == "avoid" for p in against):
        one.stance = "avoid"
        ends = [r.until for r in binding if r.effect == "forbid"] + [p.closes for p in against if p.stance == "avoid"]
        one.opens = 0
        one.closes = None if any(end is None for end in ends) else max(end for end in ends if end is not None)
        return
    one.stance = "wait"
    untils = [r.until for r in binding] + [p.opens or None for p in against]
    one.opens = None if any(u is None for u in untils) else max((u for u in untils if u is not None), default=None)
    ends = [p.closes for p in doing]
    closes = _earliest(ends)
    one.closes = closes if closes is not None and one.opens is not None and closes >= one.opens else None


def _window(one: Outcome, doing: list[Proposal], opens: float) -> tuple[float | None, float | None]:
    if doing:
        return opens, _earliest(p.closes for p in doing)
    days = [w.day for w in one.wishes]
    return min(days), max(days)


def _earliest(days: Iterable[float | None]) -> float | None:
    known = [day for day in days if day is not None]
    return min(known, default=None)


def _settle_conflicts(outcomes: list[Outcome], conflicts: Callable[[str], Iterable[str]]) -> list[Outcome]:
    """Of two practices that cannot both be done at one place, the weightier stays; a wish that loses is to be avoided."""
    by_act: dict[tuple[str, Place], list[Outcome]] = {}
    for one in outcomes:
        if one.stance == "do":
            by_act.setdefault((one.practice, one.place), []).append(one)
    dropped: set[int] = set()
    for one in sorted(outcomes, key=lambda o: ([-part for part in o.weight], o.practice)):
        if one.stance != "do" or id(one) in dropped:
            continue
        for rival_name in sorted(set(conflicts(one.practice))):
            for rival in by_act.get((rival_name, one.place), ()):
                if rival is one or id(rival) in dropped or rival.stance != "do" or not _overlap(one, rival):
                    continue
                reason = "strength" if POINTS[one.strength] > POINTS[rival.strength] else "ledger"
                one.lost += [Lost(p.rule.id, reason) for p in rival.proposals] or [Lost(rival.practice, reason)]
                if rival.wishes:
                    rival.stance, rival.closes = "avoid", one.closes
                    rival.gives_way_to, rival.strength = one, one.strength
                else:
                    dropped.add(id(rival))
    return [one for one in outcomes if id(one) not in dropped]


def _overlap(one: Outcome, other: Outcome) -> bool:
    far = 10_000.0
    begins, ends = one.opens or 0, far if one.closes is None else one.closes
    other_begins, other_ends = other.opens or 0, far if other.closes is None else other.closes
    return begins <= other_ends and other_begins <= ends
