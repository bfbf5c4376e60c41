"""Small invented orchards to ask for advice, and what came of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from advisor import advise

UPPER: dict[str, Any] = {"id": "upper", "fruit": "apple", "trees": 40, "planted": 2012, "spacing": "6 m x 5 m"}


def orchard(
    blocks: Sequence[Mapping[str, Any]] = (UPPER,),
    observations: Sequence[Mapping[str, Any]] = (),
    habitats: Sequence[Mapping[str, Any]] = (),
    **about: Any,
) -> dict[str, Any]:
    """An orchard file: apples in the north-east of North America unless something else is said."""
    place = {"name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York"}
    return {
        "orchard": {**place, **about},
        "blocks": [dict(block) for block in blocks],
        "habitats": [dict(habitat) for habitat in habitats],
        "observations": [dict(seen) for seen in observations],
    }


def recommended(file: Mapping[str, Any], on: str, practice: str, **about: Any) -> list[Mapping[str, Any]]:
    """The recommendations of one practice on a day, narrowed to what else is said (block, habitat, target, stance)."""
    found = advise(file, on=on)["recommendations"]
    return [r for r in found if r["practice"] == practice and all(r[name] == value for name, value in about.items())]


def answered(file: Mapping[str, Any], on: str, intent: str) -> Mapping[str, Any]:
    """The one answer to an intent."""
    (answer,) = [r for r in advise(file, on=on)["recommendations"] if r["answers"] == intent]
    return answer
