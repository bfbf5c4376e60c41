"""Ask what the advice says to something that a grower means to do, in a small orchard."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from scenarios.orchards import UPPER, answered, orchard, recommended

BED = {
    "id": "bed",
    "kind": "stem-bed",
    "plants": ["joe-pye-weed", "wild-bergamot"],
    "area": "40 m2",
    "distance": "20 m",
}
EDGE = {"id": "edge", "kind": "meadow", "plants": ["yarrow"], "area": "400 m2", "distance": "5 m"}
HEDGE = {"id": "hedge", "kind": "hedge", "plants": ["elder"], "area": "200 m2", "distance": "15 m"}
SOUTH = {"latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"}


@dataclass
class Ask:
    """An intent on a day, with what is known then."""

    on: str
    practice: str
    expected: str
    seen: list[dict[str, Any]] = field(default_factory=list)
    blocks: list[dict[str, Any]] = field(default_factory=lambda: [UPPER])
    habitats: list[dict[str, Any]] = field(default_factory=list)
    about: dict[str, Any] = field(default_factory=dict)
    intent: dict[str, Any] = field(default_factory=dict)

    def answer(self) -> Any:
        intent = {"id": "meant", "date": self.on, "kind": "intent", "practice": self.practice, **self.intent}
        return answered(self.file([intent]), self.on, "meant")

    def advised(self) -> set[str]:
        """The stances of what is advised without being asked; `none` where there is nothing."""
        return {r["stance"] for r in recommended(self.file([]), self.on, self.practice)} or {"none"}

    def file(self, more: list[dict[str, Any]]) -> dict[str, Any]:
        seen = [{"date": self.on, **one} for one in self.seen]
        return orchard(self.blocks, [*seen, *more], self.habitats, **self.about)


def stage(word: str, **more: Any) -> dict[str, Any]:
    return {"kind": "tree-stage", "stage": word, **more}


def stems(first_cut: object, **more: Any) -> dict[str, Any]:
    return {"kind": "stems", "standing": 0.8, "first_cut": first_cut, **more}


def apples(**more: Any) -> list[dict[str, Any]]:
    return [{**UPPER, **more}]


BED_HERE: dict[str, Any] = {"habitats": [BED], "intent": {"habitat": "bed"}}
EDGE_HERE: dict[str, Any] = {"habitats": [EDGE], "intent": {"habitat": "edge"}}
HEDGE_HERE: dict[str, Any] = {"habitats": [HEDGE], "intent": {"habitat": "hedge"}}
BIRDS = {"kind": "wildlife-sign", "who": "ground-nesting-birds", "habitat": "edge"}
NO_BIRDS = {"kind": "wildlife-sign", "who": "none", "habitat": "edge"}


def planting(practice: str, plant: str, **more: Any) -> dict[str, Any]:
    return {"practice": practice, "intent": {"block": "upper", "target": plant}, **more}
