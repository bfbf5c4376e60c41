"""Random small orchards to ask for advice: one or two blocks, 14 days of hourly weather, whatever was seen.

asked()     a strategy of `Asked`, in either hemisphere; some looks are lacking, some contradict each other
Asked       what is given, and `advise()` on it
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

from advisor import advise
from advisor.advice import Answer

NORTH = {"latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York"}
SOUTH = {"latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"}
WEATHER_DAYS = 14
AHEAD_DAYS = 4

# A stage and the day of the year on which it is usual at 42 degrees north (common practice, no source).
USUAL = {
    "dormant": 60, "silver-tip": 100, "green-tip": 108, "tight-cluster": 118, "pink": 126, "king-bloom": 131,
    "full-bloom": 135, "petal-fall": 143, "fruit-set": 155, "june-drop": 170, "half-grown": 200, "colouring": 240,
    "harvest": 265, "after-harvest": 290, "leaf-fall": 310, "leafless": 340,
}  # fmt: skip
PESTS = ("rosy-apple-aphid", "green-apple-aphid", "codling-moth", "plum-curculio", "european-red-mite", "apple-maggot")
ALLIES = ("hover-fly", "green-lacewing", "lady-beetle", "earwig")
DISEASES = ("apple-scab", "fire-blight", "powdery-mildew", "cedar-apple-rust", "brown-rot")
MEANT = ("first-mow", "mow-alleys", "cut-to-ground", "insecticide", "sulphur", "lime-sulphur", "copper", "pick",
         "dormant-prune", "summer-prune", "hand-thin", "irrigate", "spread-compost", "feed-nitrogen", "shred-leaves",
         "lay-hay-ring", "plant-hedge", "mow-margin", "frost-protect", "scout")  # fmt: skip
FLOORS = ("meadow", "turf", "clover", "bare", "mulched")


@dataclass(frozen=True)
class Sky:
    """Hourly weather with the season's warmth at 42 degrees, about 8 °C in the mean of the year, wet on some days.

    warmer, swing: degC. wet_days: numbers from the first day; on them it rains from hour `begins` for `lasts` hours.
    """

    first: dt.date
    days: int
    south: bool
    warmer: int
    swing: int
    wet_days: frozenset[int]
    begins: int
    lasts: int

    def rows(self) -> list[dict[str, Any]]:
        rows = []
        for number in range(self.days):
            day = self.first + dt.timedelta(days=number)
            season = math.cos((day.timetuple().tm_yday - 200) * 2 * math.pi / 365) * (-1 if self.south else 1)
            for hour in range(24):
                wet = number in self.wet_days and self.begins <= hour < self.begins + self.lasts
                temp = 8 + 12 * season + self.warmer - self.swing * math.cos((hour - 4) * math.pi / 12)
                rows.append({
                    "time": f"{day}T{hour:02d}:00", "temp_c": round(temp, 1), "humidity_pct": 96 if wet else 60,
                    "rain_mm": 1.2 if wet else 0.0, "wind_ms": 2.0,
                })  # fmt: skip
        return rows


@dataclass(frozen=True)
class Asked:
    """An orchard file as plain data, a day, the weather up to it and after it (None: not known)."""

    file: dict[str, Any]
    on: str
    past: Sky
    ahead: Sky | None

    def advise(self) -> Answer:
        forecast = self.ahead.rows() if self.ahead else None
        return advise(self.file, on=self.on, weather=self.past.rows(), forecast=forecast)


def share() -> st.SearchStrategy[float]:
    return st.sampled_from([0, 0.02, 0.06, 0.15, 0.3, 0.5, 0.8, 1])


def _lengths(*centimetres: int) -> st.SearchStrategy[str]:
    return st.sampled_from([f"{cm} cm" for cm in centimetres])


def _seen() -> st.SearchStrategy[dict[str, Any]]:
    """What a look says, without date and place."""
    looks: dict[str, dict[str, st.SearchStrategy[Any]]] = {
        "tree-stage": {"stage": st.sampled_from(sorted(USUAL))},
        "sward": {"height": _lengths(5, 12, 20, 35, 50, 80), "in_flower": share(),
                  "seed_heads": st.sampled_from(["none", "emerging", "set", "ripe"])},
        "mulch": {"material": st.sampled_from(["hay", "ramial-chips", "straw"]), "depth": _lengths(0, 4, 8, 15),
                  "trunk_gap": _lengths(0, 5, 20)},
        "leaf-fall": {"fallen": share(), "scab_on_leaves": share(), "state": st.sampled_from(["dry", "wet", "matted"])},
        "pest-count": {"pest": st.sampled_from(PESTS), "count": st.integers(0, 12), "infested": share(),
                       "per": st.sampled_from(["tree", "trap", "cluster", "leaf"])},
        "ally-count": {"ally": st.sampled_from(ALLIES), "share": share(),
                       "abundance": st.sampled_from(["none", "few", "common", "many"])},
        "disease-sign": {"disease": st.sampled_from(DISEASES), "share": share(),
                         "where": st.sampled_from(["leaf", "shoot", "fruit", "wood"])},
        "mummies": {"per_tree": st.sampled_from([0, 1, 5])},
        "fruit-set": {"fruit_per_cluster": st.sampled_from([0.5, 1, 2, 4]), "clusters_with_fruit": share()},
        "crop-count": {"fruit_per_tree": st.sampled_from([20, 150, 600]), "girth": _lengths(12, 30, 60)},
        "shoot-growth": {"length": _lengths(10, 30, 70), "terminal_set": st.booleans()},
        "fruit-sample": {"starch": st.sampled_from([1, 3, 5, 7]),
                         "ground_colour": st.sampled_from(["green", "light-green", "yellow"])},
        "bees": {"per_tree_minute": st.sampled_from([0, 3, 12, 30])},
        "vole-sign": {"runways": st.sampled_from(["none", "old", "fresh"]), "gnawing": st.booleans()},
        "wildlife-sign": {"who": st.sampled_from(["none", "ground-nesting-birds", "deer"])},
        "snow": {"depth": _lengths(0, 10, 60)},
        "soil-water": {"feel": st.sampled_from(["wet", "moist", "dry", "cracked"])},
        "work": {"practice": st.sampled_from(MEANT)},
        "forecast": {"low": st.sampled_from(["-4 degC", "0 degC", "6 degC"]), "rain": st.sampled_from(["0 mm", "8 mm"])},
        "intent": {"practice": st.sampled_from(MEANT)},
    }  # fmt: skip
    return st.sampled_from(sorted(looks)).flatmap(
        lambda kind: st.fixed_dictionaries({"kind": st.just(kind), **looks[kind]})
    )


def _block(name: str) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(
        {"id": st.just(name), "fruit": st.sampled_from(["apple", "apple", "pear", "plum", "peach"])},
        optional={
            "trees": st.integers(3, 60),
            "planted": st.integers(1990, 2024),
            "spacing": st.sampled_from(["6 m x 5 m", "4 m x 2 m", "20 ft x 16 ft"]),
            "rootstock": st.sampled_from(["M.9", "M.26", "MM.111"]),
            "floor": st.sampled_from(FLOORS),
            "site": st.sampled_from(["dry", "moist", "wet"]),
            "guards": st.sampled_from(["mesh", "none", "spiral"]),
            "history": st.lists(st.sampled_from(["apple-scab", "voles", "fire-blight"]), min_size=1, unique=True),
            "understory": st.lists(st.sampled_from(["white-clover", "dandelion", "chives"]), min_size=1, unique=True),
            "mulch": st.just({"material": "hay", "depth": "10 cm", "trunk_gap": "3 cm"}),
        },
    )


HABITATS = [
    {"id": "bed", "kind": "stem-bed", "plants": ["wild-bergamot", "goldenrod"], "area": "40 m2", "distance": "20 m"},
    {"id": "hedge", "kind": "hedge", "plants": ["hazel", "eastern-redcedar"], "area": "200 m2", "distance": "15 m"},
    {"id": "edge", "kind": "meadow", "plants": ["yarrow"], "area": "400 m2", "distance": "5 m"},
]


@st.composite
def asked(draw: st.DrawFn) -> Asked:
    """An orchard, a day, weather for 14 days up to it, and sometimes a forecast."""
    south = draw(st.booleans())
    stage = draw(st.sampled_from(sorted(USUAL)))
    usual = USUAL[stage] + draw(st.integers(-6, 6)) + (183 if south else 0)
    on = dt.date(2026, 1, 1) + dt.timedelta(days=usual % 365)
    blocks = [draw(_block(name)) for name in ("upper", "lower")[: draw(st.integers(1, 2))]]
    habitats = draw(st.lists(st.sampled_from(HABITATS), max_size=2, unique_by=lambda habitat: habitat["id"]))
    places = [{}, *({"block": block["id"]} for block in blocks), *({"habitat": each["id"]} for each in habitats)]
    seen = [{"date": str(on), "kind": "tree-stage", "stage": stage}] if draw(st.booleans()) else []
    for look in draw(st.lists(_seen(), min_size=2, max_size=9)):
        ago = 0 if look["kind"] in ("intent", "forecast") else draw(st.sampled_from([0, 0, 1, 3, 8, 30]))
        seen.append({"date": str(on - dt.timedelta(days=ago)), **draw(st.sampled_from(places)), **look})
    place = SOUTH if south else NORTH
    head = {"name": "Larkfield", **place, "units": draw(st.sampled_from(["metric", "us"]))}
    past = _sky(draw, on - dt.timedelta(days=WEATHER_DAYS - 1), WEATHER_DAYS, south)
    ahead = _sky(draw, on + dt.timedelta(days=1), AHEAD_DAYS, south) if draw(st.booleans()) else None
    file = {"orchard": head, "blocks": blocks, "habitats": habitats, "observations": seen}
    return Asked(file, on.isoformat(), past, ahead)


def _sky(draw: st.DrawFn, first: dt.date, days: int, south: bool) -> Sky:
    return Sky(
        first=first,
        days=days,
        south=south,
        warmer=draw(st.sampled_from([-4, 0, 4])),
        swing=draw(st.sampled_from([4, 8])),
        wet_days=draw(st.frozensets(st.integers(0, days - 1), max_size=5)),
        begins=draw(st.integers(0, 16)),
        lasts=draw(st.integers(2, 16)),
    )
