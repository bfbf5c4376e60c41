"""The invented orchard tells how cold its winters get, and what hangs on that is answered by it."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import pytest

from advisor import advise, load_orchard

MEANT = {"id": "meant", "date": "2025-12-05", "kind": "intent", "block": "upper", "practice": "dormant-prune"}


@pytest.fixture(scope="module")
def given() -> dict[str, Any]:
    """Its orchard, blocks and habitats, without what was seen there and without its weather."""
    demo = load_orchard(str(files("advisor") / "demo" / "orchard.yaml")).given
    return {name: demo[name] for name in ("orchard", "blocks", "habitats")}


@pytest.fixture(scope="module")
def bloom() -> Any:
    return advise(str(files("advisor") / "demo" / "orchard.yaml"), on="2026-05-18").bloom()


def test_its_winters_are_told_as_a_zone(bloom: Any) -> None:
    """USDA: zone 5b goes from -26.1 to -23.3 °C; a night of -26 °C lies in it."""
    assert (bloom["winter"]["coldest_c"], bloom["winter"]["zone"], bloom["winter"]["known_by"]) == (-26, "5b", "given")
    assert not any("Write coldest" in note for note in bloom["notes"])


def test_only_plants_that_stand_its_winters_are_chosen(bloom: Any) -> None:
    chosen = [plant for choice in bloom["choices"] for plant in choice["plants"]]
    assert chosen
    assert max(plant["hardy"]["coldest_c"] for plant in chosen if plant["hardy"]) <= -26


def test_early_winter_pruning_waits_for_the_hardest_cold(given: dict[str, Any]) -> None:
    def answer(**about: Any) -> Any:
        file = {**given, "orchard": {**given["orchard"], **about}, "observations": [MEANT]}
        (one,) = [r for r in advise(file, on="2025-12-05")["recommendations"] if r["answers"] == "meant"]
        return one

    cold, mild = answer(), answer(coldest="-5 °C")
    assert cold["stance"] == "wait"
    assert any("Winters fall to -26 °C here" in line for line in cold["because"])
    assert not any("Winters fall to" in line for line in mild["because"])
