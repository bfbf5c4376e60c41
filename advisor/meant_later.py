"""What is meant for a day weeks ahead: it is judged by today's trees and season, which is said, and what safety or law
forbids on the day itself is said as well.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace

from advisor import season
from advisor.conditions import CONSIDERED
from advisor.facts import Situation, growth
from advisor.facts.making import Maker
from advisor.inference import Inference, run
from advisor.weighing import Outcome

SOON = 14  # days within which trees and time of year are taken as they are now (common practice, no source)


def cautions_of_later_days(now: Situation, inference: Inference, one: Outcome) -> list[str]:
    """For an outcome that answers something meant for a day weeks ahead; nothing for any other."""
    meant = max((wish.day for wish in one.wishes), default=0.0)
    if meant <= SOON:
        return []
    day, today = now.on + dt.timedelta(days=round(meant)), now.on
    late = one.stance == "do" and one.closes is not None and one.closes < meant
    ends = f"{day} lies after this window, and " if late else ""
    told = f"{ends}this is judged by the trees and the time of year of {today}, not of {day}: ask again shortly before."
    limits = [f"On {day} this holds: {answer}" for answer in dict.fromkeys(_limits(now, inference, one, day))]
    return [*limits, told[:1].upper() + told[1:]]


def _limits(now: Situation, inference: Inference, one: Outcome, day: dt.date) -> Iterator[str]:
    """What must be kept on that day by its time of year, and does not hold today.

    The trees are not moved on, since nobody knows how far they will be: only limits that must be kept are told.
    """
    kinds = inference.rulebook.kinds
    then = replace(now, on=day, weeks=season.weeks_from_bloom(day, now.bloom))
    known = [
        f for f in inference.facts.values() if kinds[f.kind].of != "derived" and f.kind not in (CONSIDERED, "season")
    ]
    facts = [*known, *growth.season_fact(then, Maker(kinds, now.file.file))]
    moved = run(inference.rulebook, facts, region=inference.region, show=inference.show)
    held = {(r.rule.id, r.considered) for r in inference.reservations}
    for reservation in moved.reservations:
        about = reservation.considered in {f"{CONSIDERED}:{wish.id}" for wish in one.wishes}
        if about and reservation.strength == "must" and (reservation.rule.id, reservation.considered) not in held:
            yield reservation.answer
