"""The shapes of what an agent is told, from which the tools' output schemas are made.

Each names what can be relied on; further fields may stand beside them.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field


class Told(BaseModel):
    model_config = ConfigDict(extra="allow", populate_by_name=True)


class WhyNode(Told):
    """One step of a proof: the recommendation, a rule, a fact, an observation, a figure or a source."""

    kind: str
    id: str
    text: str
    value: Any = None
    unit: str | None = None
    source: Any = None
    needed: Any = None
    grounds: list[WhyNode] = Field(default=[], alias="from", description="What it rests on.")


class WhyNotRule(Told):
    """A rule that would have advised it: each condition held, failed, or is unknown for want of a look."""

    id: str
    conditions: list[dict[str, Any]]


class WhyNot(Told):
    """Why a practice was not advised, the nearest rule first."""

    status: str
    reason: str
    rules: list[WhyNotRule]
    lost_to: list[Any]
    smallest_change: dict[str, Any] | None = Field(description="The least change that would bring it about.")


class WhatIf(Told):
    """What changed inputs change in the advice."""

    appears: list[Any]
    disappears: list[Any]
    moves: list[Any]
    plan: dict[str, list[Any]] | None = Field(
        description="The same of the plan's jobs, where hours, helpers, days off or tools were set."
    )
    notes: list[str] = Field(description="What was kept as it was.")


class Look(Told):
    """Something to go and see: what of the advice its answers would change."""

    look_at: str
    about: str | None
    block: str | None
    habitat: str | None
    why: str
    minutes: int
    decisive: float | None = Field(description="The share of the advice that one of its answers changes; null: not tried.")
    answers: list[dict[str, Any]]


class Looks(Told):
    """Where to look next, the most decisive first."""

    looks: list[Look]


class Plan(Told):
    """The hours of this week and of those to come: jobs on days, what does not fit and what that costs."""

    orchard: str
    date: str
    this_week: dict[str, Any]
    next_weeks: list[dict[str, Any]]
    budget: dict[str, Any]
    unplaced: list[Any]
    slips: list[Any]


class Bloom(Told):
    """Who finds food in which week, from the year's first flower to its last, and where a week lacks it."""

    orchard: str
    date: str
    ribbon: list[dict[str, Any]]
    weeks: list[dict[str, Any]]
    gaps: list[dict[str, Any]]


class Recorded(BaseModel):
    """What was kept: ids of observations in the order given, or counts of hours."""

    orchard: str
    version: int | None = Field(default=None, description="The version of the orchard, where a file was recorded.")
    observations: list[str] = []
    hours: dict[Literal["weather", "forecast"], dict[str, int]] = {}
