"""The shape of an answer: recommendations, unknowns, conditions and the edition they rest on.

The models describe the answer for the JSON service and check it; what `advise` returns is a `Record`, a plain
dictionary
that can also be read with dots.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Stance = Literal["do", "wait", "avoid", "look"]
Evidence = Literal["published", "common-practice", "from-memory"]
Strength = Literal["must", "strong", "fair", "weak"]

STANCES: tuple[Stance, ...] = ("do", "wait", "avoid", "look")


class Record(dict[str, Any]):
    """A dictionary whose entries can also be read with dots."""

    def __getattr__(self, name: str) -> Any:
        try:
            return self[name]
        except KeyError:
            raise AttributeError(name) from None

    @staticmethod
    def of(value: Any) -> Any:
        """Turn nested dictionaries and lists into records."""
        if isinstance(value, dict):
            return Record({key: Record.of(item) for key, item in value.items()})
        if isinstance(value, list | tuple):
            return [Record.of(item) for item in value]
        return value


class Shape(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Window(Shape):
    """When it holds; an open end is null."""

    opens: date | None = None
    closes: date | None = None


class Amount(Shape):
    value: float
    unit: str


class LedgerLine(Shape):
    """What a practice gives or costs somebody, by its strongest path through the ecosystem."""

    what: str
    path: list[str]
    score: float


class Figure(Shape):
    """A published or customary figure that the advice was judged by."""

    id: str
    region: str
    value: float | None = None
    unit: str | None = None
    source: str | None = None


class Recommendation(Shape):
    """One thing to do, to wait with, to avoid or to look at."""

    id: str
    stance: Stance
    practice: str
    target: str | None = None
    block: str | None = None
    habitat: str | None = None
    window: Window
    urgency: Annotated[float, Field(ge=0, le=1)]
    summary: Annotated[str, Field(max_length=140)]
    because: list[str]
    how: list[str] = []
    amount: Amount | None = None
    hours: float | None = None
    gains: list[LedgerLine] = []
    costs: list[LedgerLine] = []
    cautions: list[str] = []
    evidence: Evidence
    strength: Strength
    sources: list[str] = []
    depends_on: list[str] = []
    settled_against: list[str] = []
    answers: str | None = None
    workings: list[str] = []
    figures: list[Figure] = []
    trade_off: str | None = None


class Unknown(Shape):
    """Something that nobody has looked at, or not lately, and that could change the advice."""

    look_at: str
    about: str | None = None
    block: str | None = None
    habitat: str | None = None
    why: str
    could_change: list[str]  # practices, the most urgent first
    minutes: int


class Edition(Shape):
    """What the answer rests on: the program, and hashes of rules, knowledge and inputs."""

    software: str
    rules: str
    knowledge: str
    inputs: str


class AnswerShape(Shape):
    advice: str
    orchard: str
    date: date
    edition: Edition
    recommendations: list[Recommendation]
    conditions: dict[str, dict[str, Any]]
    unknowns: list[Unknown]
    overrides: list[str] = []
    notes: list[str] = []
    """What was assumed, doubled, dropped or not known in what was given, a sentence each."""
