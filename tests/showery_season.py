"""An apple block through a spring of showers, three of which wet the leaves for long enough to infect."""

from scenarios.skies import sky

LOOKS = [
    {"date": date, "kind": "tree-stage", "stage": stage}
    for date, stage in [("2026-04-12", "green-tip"), ("2026-05-02", "pink"), ("2026-05-08", "king-bloom"),
                        ("2026-05-18", "petal-fall")]
]  # fmt: skip
FILE = {
    "orchard": {"name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York"},
    "blocks": [{"id": "upper", "fruit": "apple"}],
    "observations": LOOKS,
}
SHOWERS = {f"2026-{day}": (1, 3) for day in ("04-14", "04-25", "05-02", "05-19", "05-26")}  # too short to infect
RAIN = {**SHOWERS, "2026-04-20": (6, 20), "2026-05-12": (6, 20), "2026-06-02": (2, 14)}
WEATHER = sky("2026-04-01", "2026-06-05", 12, 22, RAIN)
