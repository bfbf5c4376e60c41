"""What is going to be done: meant by the grower, advised today, or done at this time in earlier years; and where
sprays among it would meet open flowers.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from advisor import season
from advisor.advice import Answer
from advisor.ecosystem import Practice
from advisor.facts.situation import Situation
from advisor.habitat.ribbon import InBloom, SiteBloom
from advisor.observation import Intent, Work
from advisor.quantity import show

How = Literal["intended", "advised", "usual"]
# Cuts that take the flowers of a whole block's sward; first-mow and every other alley leave some standing.
CUTS = ("mow-alleys", "mow-bloom-before-spray", "autumn-mow")
_HOW = {"intended": "you mean to do it", "advised": "advised today", "usual": "done about then in an earlier year"}


@dataclass(frozen=True)
class Plan:
    """One practice at one place. closes: None where the window is open; block and habitat None: the whole orchard."""

    practice: Practice
    how: How
    block: str | None
    habitat: str | None
    opens: dt.date
    closes: dt.date | None
    stance: str | None = None

    @property
    def place(self) -> str:
        return self.block or self.habitat or "the whole orchard"

    @property
    def when(self) -> str:
        if self.closes is None:
            return f"from {self.opens}"
        return f"on {self.opens}" if self.closes == self.opens else f"{self.opens} to {self.closes}"

    def told(self) -> dict[str, str | None]:
        """What every entry of a record says of the plan that it is about."""
        return {
            "practice": self.practice.id,
            "how": self.how,
            "stance": self.stance,
            "block": self.block,
            "habitat": self.habitat,
            "from": self.opens.isoformat(),
            "to": self.closes.isoformat() if self.closes else None,
        }


def plans(now: Situation, answer: Answer) -> list[Plan]:
    """Everything planned from today on, by day; an intent stands once, with the stance of the advice on it."""
    found = [*_advised(now, answer), *_meant(now, answer), *_usual(now)]
    return sorted(found, key=lambda plan: (plan.opens, plan.practice.id, plan.place, plan.how))


def _practice(now: Situation, name: str) -> Practice | None:
    node = now.knowledge.resolve(name, kind="practice")
    return node if isinstance(node, Practice) else None


def _meant(now: Situation, answer: Answer) -> Iterable[Plan]:
    stances = {r["answers"]: r["stance"] for r in answer["recommendations"] if r["answers"]}
    for seen in now.observations:
        if isinstance(seen, Intent) and (practice := _practice(now, seen.practice)):
            day = seen.day or now.on
            if day >= now.on:
                yield Plan(practice, "intended", seen.block, seen.habitat, day, day, stances.get(seen.id))


def _advised(now: Situation, answer: Answer) -> Iterable[Plan]:
    for one in answer["recommendations"]:
        practice = _practice(now, one["practice"])
        opens, closes = one["window"]["opens"], one["window"]["closes"]
        if practice is None or one["answers"] or one["stance"] not in ("do", "wait") or opens is None:
            continue
        ends = dt.date.fromisoformat(closes) if closes else None
        yield Plan(practice, "advised", one["block"], one["habitat"], dt.date.fromisoformat(opens), ends, one["stance"])


def _usual(now: Situation) -> Iterable[Plan]:
    """Works of earlier seasons, on the same day of this one."""
    start = season.season_start(now.on, now.latitude)
    done: set[tuple[str, str, dt.date]] = set()
    for seen in now.observations:
        if isinstance(seen, Work) and seen.date < start and (practice := _practice(now, seen.practice)):
            day = start + (seen.date - season.season_start(seen.date, now.latitude))
            key = (practice.id, seen.block or seen.habitat or "", day)
            if day >= now.on and key not in done:
                done.add(key)
                yield Plan(practice, "usual", seen.block, seen.habitat, day, day)


def meetings(
    plans: Iterable[Plan], flowers: Sequence[InBloom], site: SiteBloom, now: Situation
) -> list[dict[str, Any]]:
    """Sprays that hurt bees in bloom, and the open flowers that each would meet."""
    row = now.knowledge.figure("flower-habitat.drift-reach").value(now.region)
    reach = float(row.value)
    found = []
    for plan in plans:
        if not plan.practice.hurts_bees_in_bloom or site.date is None:
            continue
        first = (plan.opens - site.date).days / 7
        last = ((plan.closes or plan.opens) - site.date).days / 7 + 1 / 7
        near = [one for one in flowers if one.feeds and one.begin < last and one.end > first]
        near = [one for one in near if _within(plan, one, now, reach)]
        if not near:
            continue
        found.append(
            {
                **plan.told(),
                "weeks": list(range(math.floor(first), math.floor(last - 1e-9) + 1)),
                "flowers": [{"plant": one.plant.id, "place": one.place, "role": one.role} for one in near],
                "text": f"{plan.practice.name[0].upper()}{plan.practice.name[1:]} in {plan.place} {plan.when} "
                f"({_HOW[plan.how]}{'; the advice is: ' + plan.stance if plan.stance and plan.how == 'intended' else ''}) "
                f"would meet {_met(near)} in flower. {_bees(plan)} The label and local law come first.",
                "figures": [
                    {"id": "flower-habitat.drift-reach", "region": row.region, "value": reach, "unit": "m",
                     "source": row.source}
                ],
            }
        )  # fmt: skip
    return found


def _within(plan: Plan, one: InBloom, now: Situation, reach: float) -> bool:
    """At the place itself; of a block also in the habitats that its drift may reach, as well as distances are known."""
    everywhere = plan.block is None and plan.habitat is None
    if everywhere or one.place in (plan.block, plan.habitat, "orchard"):
        return not (one.role == "understory" and _mown(plan, one.place, now))
    if plan.block is None or one.role != "habitat":
        return False
    habitat = now.file.habitat(one.place)
    return habitat is not None and (habitat.distance is None or habitat.distance <= reach)


def _mown(plan: Plan, block: str, now: Situation) -> bool:
    """Whether the sward was cut so shortly before that it is not in flower again."""
    days = float(now.knowledge.figure("bees.mown-days").value(now.region).value)
    return any(
        isinstance(seen, Work)
        and seen.practice in CUTS
        and seen.block in (None, block)
        and not seen.habitat
        and 0 <= (plan.opens - seen.date).days <= days
        for seen in now.observations
    )


def _met(flowers: Sequence[InBloom]) -> str:
    by_place: dict[str, list[str]] = {}
    for one in flowers:
        by_place.setdefault(one.place, []).append(one.plant.name)
    return "; ".join(f"{', '.join(dict.fromkeys(names))} ({place})" for place, names in by_place.items())


def _bees(plan: Plan) -> str:
    if plan.how == "advised" and plan.stance == "do":
        return "Only at an hour when no bee flies, and only where the label allows it on open bloom."
    return "Not on open bloom that bees visit: mow the flowers first, or wait until they are over."


def metres(value: float | None, now: Situation) -> str:
    """A distance as the grower reads it."""
    return "an unknown distance" if value is None else show(value, "m", now.file.orchard.units)
