"""A small orchard south of the equator, in US units, with much left unsaid, for the tests of the journal."""

from __future__ import annotations

import datetime as dt
from typing import Any

ORCHARD: dict[str, Any] = {
    "orchard": {
        "name": "South Larkfield",
        "latitude": -41.2,
        "longitude": 173.1,
        "timezone": "Pacific/Auckland",
        "units": "us",
    },
    "blocks": [{"id": "pips", "fruit": "apple", "trees": 30, "spacing": "16 ft x 12 ft", "floor": "meadow"}],
    "habitats": [{"id": "creek", "kind": "hedge", "distance": "60 ft"}],
}
SWARD = {"date": "2026-11-09", "kind": "sward", "block": "pips", "height": "20 in", "seed_heads": "emerging"}
STAGE = {"date": "2026-11-08", "kind": "tree-stage", "block": "pips", "stage": "petal-fall"}
VOLES = {"date": "2026-11-07", "kind": "vole-sign", "block": "pips", "runways": "fresh", "note": "by the gâte"}
ON = "2026-11-10"


def hours(first: str, count: int, **values: Any) -> list[dict[str, Any]]:
    """Hourly records from a moment on, all with the same values."""
    start = dt.datetime.fromisoformat(first)
    return [{"time": (start + dt.timedelta(hours=hour)).isoformat(), **values} for hour in range(count)]
