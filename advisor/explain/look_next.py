"""Look next: the looks that could change most of the advice, found by trying what each may find.

The looks are those that the answer names as unknown (never taken, or too old to stand for today), and observations near a
bound that a rule tests. For each a few answers are tried, by the same path as far as weighing; the look of which one
answer would change most of the advice comes first. The advice is counted by urgency: what appears, disappears or changes
its stance counts whole, what only moves in time or urgency counts half.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from advisor.advice import Run
from advisor.answer import Record
from advisor.conditions import PLACES
from advisor.errors import InputError
from advisor.explain.answers import MOST_ANSWERS, Answers, Look
from advisor.explain.changes import NO_CHANGE, read_changes
from advisor.explain.telling import Teller, words
from advisor.explain.trial import Trials
from advisor.presenting import named
from advisor.unknowns import MINUTES, ORDINARY_MINUTES
from advisor.weighing import Outcome

if TYPE_CHECKING:
    from advisor.advice import Answer

MOST_SPENT = 45.0  # on all tries, in quick ones (see Trials): within 20 times one whole answer
MOVED = 0.5  # what a recommendation counts that keeps its stance and only moves

Entry = dict[str, Any]


def look_next(answer: Answer) -> list[Record]:
    """Looks as in `unknowns`, each with `decisive` (the share of the advice that one of its answers changes) and `answers`.

    answers: [{found, seen, appears, disappears, moves}]; seen is the observation that was tried. decisive is null where
    no answer was tried: the search is bounded, and nothing stands for weather that is not known.
    """
    run: Run = answer.run
    trials, answers, teller = Trials(answer), Answers(run), Teller.of(run)
    before = _sides(run)
    looks = [(look, unknown, answers.of(look, near)) for look, unknown, near in _looks(answer, answers, teller)]
    tried: list[list[tuple[Entry, float]]] = [[] for _ in looks]

    def try_some(place: int, options: list[Entry]) -> None:
        for seen in options:
            if trials.spent < MOST_SPENT and (after := _after(trials, seen)) is not None:
                entry, share = _difference(before, _sides(after))
                tried[place].append(
                    ({"found": _found(seen, looks[place][0], teller, answers), "seen": seen, **entry}, share)
                )

    for number in range(MOST_ANSWERS):  # one answer for every look, then one more of those that told most so far
        for place in sorted(
            range(len(looks)), key=lambda place: -max((share for _, share in tried[place]), default=0.0)
        ):
            try_some(place, looks[place][2][number : number + 1])
    found = []
    for (_, unknown, _), came in zip(looks, tried, strict=True):
        decisive = round(max(share for _, share in came), 4) if came else None
        found.append(Record.of({**unknown, "decisive": decisive, "answers": [entry for entry, _ in came]}))
    return sorted(found, key=lambda one: (-(one["decisive"] or 0.0), one["decisive"] is None, one["minutes"]))


def _after(trials: Trials, seen: Mapping[str, Any]) -> Run | None:
    """The run after a look; None where no observation can say that."""
    try:
        return trials.run(read_changes(NO_CHANGE.and_seen(seen)))
    except InputError:
        return None


def _looks(
    answer: Answer, answers: Answers, teller: Teller
) -> Iterator[tuple[Look, Mapping[str, Any], tuple[str, float] | None]]:
    """What is unknown or stale, as the answer names it, and what is near a bound (field, bound)."""
    known: dict[tuple[str, str | None, str | None, str | None], tuple[Look, str, Any, float]] = {}
    for look, field, value, bound in answers.near():
        known.setdefault((look.kind, look.about, look.block, look.habitat), (look, field, value, bound))
    for one in answer["unknowns"]:
        key = (one["look_at"], one["about"], one["block"], one["habitat"])
        near = known.pop(key, None)
        if near is None:
            yield Look(*key), one, None
        else:
            yield near[0], {**one, "why": f"{one['why']} {_near(*near, teller)['why']}"}, (near[1], near[3])
    for look, field, value, bound in known.values():
        yield look, _near(look, field, value, bound, teller), (field, bound)


def _near(look: Look, field: str, value: Any, bound: float, teller: Teller) -> Entry:
    unit = teller.resolver.field(look.kind, field).unit
    assert look.fact is not None
    here, there = teller.value(value, unit, field), teller.value(bound, unit, field)
    why = f"{teller.about(look.kind, look.fact.fields)}: {words(field)} {here} is near {there}, where a rule turns."
    return {"look_at": look.kind, "about": look.about, "block": look.block, "habitat": look.habitat,
            "why": why[0].upper() + why[1:], "could_change": [], "minutes": MINUTES.get(look.kind, ORDINARY_MINUTES)}  # fmt: skip


def _found(seen: Mapping[str, Any], look: Look, teller: Teller, answers: Answers) -> str:
    """What a look found, in words."""
    if look.kind == "tree-stage":
        return teller.value(float(seen["bbch"]), "bbch")
    kind = answers.kinds[look.kind]
    told = {n: v for n, v in seen.items() if n not in ("kind", *PLACES, *kind.keys)}
    texts = []
    for name, value in told.items():
        if isinstance(value, Mapping):
            texts += [f"{key} {item}" for key, item in value.items()]
        elif name in kind.fields and isinstance(value, int | float) and not isinstance(value, bool):
            texts.append(f"{words(name)} {teller.value(value, kind.fields[name].unit, name)}")
        else:
            texts.append(f"{words(name)} {teller.written(value)}")
    return ", ".join(texts)


# --- what a finding changes ------------------------------------------------------------------------


def _sides(run: Run) -> dict[str, tuple[Outcome, Any]]:
    """Each outcome by its id, with what would show as a move."""
    return {name: (o, (o.opens, o.closes, o.urgency, o.strength)) for name, o in named(run.now, run.outcomes).items()}


def _difference(
    before: Mapping[str, tuple[Outcome, Any]], after: Mapping[str, tuple[Outcome, Any]]
) -> tuple[Entry, float]:
    """What appears, disappears and moves, and the share of the advice that this is."""
    entry: Entry = {"appears": [], "disappears": [], "moves": []}
    whole = changed = 0.0
    for name in sorted(before.keys() | after.keys()):
        was, now = before.get(name), after.get(name)
        weight = max(side[0].urgency for side in (was, now) if side is not None)
        whole += weight
        if was is None and now is not None:
            entry["appears"].append(_brief(name, now[0]))
            changed += weight
        elif now is None and was is not None:
            entry["disappears"].append(_brief(name, was[0]))
            changed += weight
        elif was is not None and now is not None and (was[0].stance, was[1]) != (now[0].stance, now[1]):
            entry["moves"].append({**_brief(name, now[0]), "before": was[0].stance})
            changed += weight if was[0].stance != now[0].stance else MOVED * weight
    return entry, changed / whole if whole else 0.0


def _brief(name: str, one: Outcome) -> Entry:
    return {"id": name, "stance": one.stance, "practice": one.practice, "target": one.target, "block": one.block,
            "habitat": one.habitat}  # fmt: skip
