"""The weekly plan as a problem to solve: sittings, days, hours, helpers, tools, and what must keep its order.

Every job is cut into sittings beforehand, each done on one day; so splitting a job over days is placing its sittings.
Days count from the first day of the plan. Hours are hours of one person.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

LATENESS = 0.2  # of a sitting's worth is lost by the end of the plan if it is done that late; early days break ties
HELPED = 0.01  # worth of an hour that helpers do: work that is not urgent waits for the evening that they come


@dataclass(frozen=True)
class Sitting:
    """A piece of work done on one day.

    hours: with set-up. worth: what it is worth to have it done. days: those its window leaves open. fit: hours of fitting
    weather on each day of the plan, None where the weather is not known. shut: days on which the block may not be
    entered. helps: visit -> how much of this grower's hour one hour of that helper does. job: what it is a part of.
    alone: no work for helpers.
    """

    id: str
    job: str
    hours: float
    worth: float
    days: tuple[int, ...]
    fit: tuple[float | None, ...]
    tool: str | None = None
    shut: frozenset[int] = frozenset()
    helps: Mapping[str, float] = field(default_factory=dict)
    alone: bool = False

    def weather_lets(self, day: int) -> bool:
        """Whether the weather of a day leaves it enough hours; weather that is not known does not forbid."""
        hours = self.fit[day]
        return hours is None or hours >= self.hours - 1e-9


@dataclass(frozen=True)
class Visit:
    """Helpers who come on a day: how many for how many hours."""

    id: str
    day: int
    people: int
    hours: float


@dataclass(frozen=True)
class Order:
    """Of two jobs, every sitting of `then` comes at least `gap` days after every sitting of `first` that is placed.

    must: no sitting of `then` unless all of `first` is done. along: long work goes along with the earlier: a share of
    it only when the same share of `first` is done.
    """

    first: str
    then: str
    gap: int
    must: bool
    why: str
    along: bool = False


@dataclass(frozen=True)
class Keep:
    """On a day with a sitting of the job `first`, and so many days more, no sitting of the job `other`."""

    first: str
    other: str
    days: int
    why: str


@dataclass(frozen=True)
class Problem:
    """Everything that a plan must obey.

    Work of one's own that wants a spell of weather fits into that spell: on a day, all that is done in spells of so many
    hours or less takes no more than those hours.

    day_hours: the grower's own hours at most on each day, 0 on a day off. week_hours: by week, None where not known.
    tools: how many there are of each tool that is shared.
    """

    sittings: tuple[Sitting, ...]
    day_hours: tuple[float, ...]
    week_hours: tuple[float | None, ...]
    longest_day: float
    visits: tuple[Visit, ...] = ()
    tools: Mapping[str, int] = field(default_factory=dict)
    orders: tuple[Order, ...] = ()
    keeps: tuple[Keep, ...] = ()

    @property
    def length(self) -> int:
        return len(self.day_hours)

    @cached_property
    def jobs(self) -> dict[str, list[Sitting]]:
        """The sittings of each job, by id; those of one job are alike in all but their ids."""
        found: dict[str, list[Sitting]] = {}
        for sitting in sorted(self.sittings, key=lambda s: s.id):
            found.setdefault(sitting.job, []).append(sitting)
        return found

    def open_days(self, sitting: Sitting) -> list[int]:
        """Days on which this sitting could be done if there were nothing else to do."""
        return [d for d in sitting.days if d not in sitting.shut and sitting.weather_lets(d) and self._room(sitting, d)]

    def _room(self, sitting: Sitting, day: int) -> bool:
        week = self.week_hours[day // 7]
        own = min(self.day_hours[day], self.longest_day if week is None else week)
        helped = sum(v.people * v.hours * sitting.helps[v.id] for v in self.visits_on(day) if v.id in sitting.helps)
        return own + helped >= sitting.hours - 1e-9

    def visits_on(self, day: int) -> list[Visit]:
        return [v for v in self.visits if v.day == day]

    def worth(self, sitting: Sitting, day: int) -> float:
        """What a sitting is worth when done on a day."""
        return sitting.worth * (1 - LATENESS * day / self.length)


@dataclass(frozen=True)
class Done:
    """A sitting's place: its day, the grower's own hours, and the hours of each visit's helpers."""

    day: int
    own: float
    helped: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Solution:
    """Where each sitting stands; those left out are not done. bound: no plan is worth more, where that was proven."""

    placed: Mapping[str, Done]
    worth: float
    bound: float | None = None
    method: str = "greedy"

    @property
    def gap(self) -> float | None:
        """How much better the best plan could be at most, as a share; None where nothing was proven."""
        if self.bound is None:
            return None
        return max(0.0, (self.bound - self.worth) / max(abs(self.worth), 1e-9)) if self.bound > 1e-9 else 0.0


def worth_of(problem: Problem, placed: Mapping[str, Done]) -> float:
    """What a plan is worth: the sum over what it places, a little less the later, and a little for helpers' hours."""
    helped = sum(hours for done in placed.values() for hours in done.helped.values())
    return sum(problem.worth(s, placed[s.id].day) for s in problem.sittings if s.id in placed) + HELPED * helped
