"""How cold the winters of a site are, whether its summers are dry, and what that means for what is planted there."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

import pytest

from advisor.ecosystem import Plant, knowledge
from advisor.errors import InputError
from advisor.facts import Situation
from advisor.facts.climate import dry_summers, freezes, winter_of
from advisor.habitat import bloom
from advisor.orchard import load_orchard
from advisor.weather import read_weather
from scenarios.orchards import answered, orchard
from scenarios.skies import sky

SOUTH = {"latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"}


def on_day(on: str, weather: Sequence[Mapping[str, Any]] | None = None, **about: Any) -> Situation:
    file = load_orchard(orchard(**about))
    table = read_weather(list(weather), file.zone) if weather else None
    return Situation.of(file, dt.date.fromisoformat(on), table, None, knowledge())


def plant(name: str) -> Plant:
    found = knowledge().resolve(name, kind="plant")
    assert isinstance(found, Plant)
    return found


@pytest.mark.parametrize(("written", "coldest"), [
    ("-26 °C", -26.0), ("-15 °F", -26.111), ("zone 5b", -26.111), ("Zone 5B", -26.111), ("zone 5", -28.889),
    ("0 °C", 0.0), ("zone 13b", 18.333),
])  # fmt: skip
def test_a_winter_is_written_as_a_temperature_or_as_a_zone(written: str, coldest: float) -> None:
    """USDA Plant Hardiness Zone Map: zone 5b begins at -15 °F."""
    winter = winter_of(on_day("2026-05-18", coldest=written))
    assert winter.coldest == pytest.approx(coldest, abs=1e-3)
    assert winter.known_by == "given"


@pytest.mark.parametrize(("written", "said"), [
    ("zone 14", "hardiness zone"), ("zone", "hardiness zone"), ("zone 5c", "hardiness zone"), (-26, "-26 what?"),
    ("-26", "what?"), ("very cold", "does not begin with a number"), ("-26 mm", "coldest"),
])  # fmt: skip
def test_what_is_no_winter_is_refused_in_words(written: Any, said: str) -> None:
    with pytest.raises(InputError, match="coldest") as refused:
        load_orchard(orchard(coldest=written))
    assert said in str(refused.value)


def test_a_winter_is_shown_in_the_units_of_the_orchard() -> None:
    metric = winter_of(on_day("2026-05-18", coldest="zone 5b")).text
    us = winter_of(on_day("2026-05-18", coldest="zone 5b", units="us")).text
    assert "-26.1 °C (hardiness zone 5b)" in metric
    assert "-15 °F (hardiness zone 5b)" in us


def test_a_whole_winter_in_the_weather_tells_it_and_part_of_one_does_not() -> None:
    whole = winter_of(on_day("2026-05-18", sky("2025-11-20", "2026-03-10", -14, -2)))
    assert (whole.coldest, whole.known_by, whole.winters) == (-14.0, "weather", 1)
    assert "a usual one may be colder" in whole.text
    part = winter_of(on_day("2026-05-18", sky("2026-01-10", "2026-05-10", -14, -2)))
    assert (part.coldest, part.known_by) == (None, None)
    assert "not known" in part.text
    assert winter_of(on_day("2026-05-18")).coldest is None


def test_a_winter_that_is_not_over_does_not_tell() -> None:
    assert winter_of(on_day("2026-01-20", sky("2025-11-20", "2026-03-10", -14, -2))).coldest is None


def test_days_that_are_lacking_leave_a_winter_unknown() -> None:
    rows = [
        row for row in sky("2025-11-20", "2026-03-10", -14, -2) if not "2026-01-05" <= row["time"][:10] <= "2026-01-12"
    ]
    assert winter_of(on_day("2026-05-18", rows)).coldest is None


def test_two_winters_are_told_by_their_mean() -> None:
    rows = [*sky("2024-11-20", "2025-10-31", -20, -2), *sky("2025-11-01", "2026-03-10", -10, 2)]
    winter = winter_of(on_day("2026-05-18", rows))
    assert (winter.coldest, winter.winters) == (-15.0, 2)


def test_southern_winters_lie_in_the_middle_of_the_year() -> None:
    rows = sky("2026-05-20", "2026-09-10", -3, 9)
    assert winter_of(on_day("2026-10-20", rows, **SOUTH)).coldest == -3.0
    assert winter_of(on_day("2026-10-20", rows)).coldest is None


def test_what_is_given_counts_before_the_weather() -> None:
    winter = winter_of(on_day("2026-05-18", sky("2025-11-20", "2026-03-10", -14, -2), coldest="-25 °C"))
    assert (winter.coldest, winter.known_by) == (-25.0, "given")


def test_a_plant_freezes_only_where_both_are_known() -> None:
    rosemary = plant("rosemary").hardiness
    cold, mild = (winter_of(on_day("2026-05-18", coldest=one)) for one in ("zone 5", "zone 9"))
    assert freezes(rosemary, cold) is True
    assert freezes(rosemary, mild) is False
    assert freezes(rosemary, winter_of(on_day("2026-05-18"))) is None
    assert freezes(None, cold) is None


def test_a_winter_given_in_whole_degrees_counts_for_its_zone() -> None:
    """Zone 5 begins at -20 °F, which is -28.9 °C: a grower writes -29 °C."""
    assert freezes(plant("lavender").hardiness, winter_of(on_day("2026-05-18", coldest="-29 °C"))) is False


def test_an_intent_to_plant_what_freezes_is_forbidden() -> None:
    meant = {"id": "meant", "date": "2026-05-18", "kind": "intent", "practice": "plant-understory", "block": "upper",
             "target": "rosemary", "day": "2026-05-20"}  # fmt: skip
    cold = answered(orchard(observations=[meant], coldest="zone 5b"), "2026-05-18", "meant")
    assert cold["stance"] == "avoid"
    assert "winters" in cold["summary"]
    for about in ({"coldest": "zone 9a"}, {}):
        answer = answered(orchard(observations=[meant], **about), "2026-05-18", "meant")
        assert "winters" not in answer["summary"]


def rainy(month: str, days: int) -> dict[str, tuple[int, int]]:
    """So many days of a month with 10 mm of rain."""
    return {f"{month}-{day:02d}": (2, 12) for day in range(1, days + 1)}


def test_summers_are_dry_where_every_whole_month_was() -> None:
    """Koppen's class Cs (Peel and others 2007, from memory): the dry month of summer has less than 40 mm."""
    dry = sky("2026-06-01", "2026-08-31", 18, 32, rainy("2026-07", 3))
    wet = sky("2026-06-01", "2026-08-31", 18, 32, rainy("2026-07", 3) | rainy("2026-06", 6))
    assert dry_summers(on_day("2026-09-05", dry)) is True
    assert dry_summers(on_day("2026-09-05", wet)) is False
    assert dry_summers(on_day("2026-07-05", dry)) is None  # one whole month is not enough
    assert dry_summers(on_day("2026-09-05")) is None
    assert dry_summers(on_day("2026-09-05", dry, **SOUTH)) is None


BARE = {"id": "b", "fruit": "apple", "floor": "turf", "understory": []}
FULL = {"date": "2026-04-12", "kind": "tree-stage", "block": "b", "stage": "full-bloom"}


@pytest.mark.parametrize(("more", "out"), [
    ({}, True), ({"site": "moist"}, False), ({"irrigation": {"kind": "drip"}}, False), ({"irrigation": "none"}, True),
])  # fmt: skip
def test_a_dry_summer_keeps_out_what_wants_moist_ground_unless_it_is_watered(more: dict[str, Any], out: bool) -> None:
    if more.get("irrigation") == "none":
        more = {"irrigation": {"kind": "none"}}
    weather = sky("2026-06-01", "2026-08-31", 18, 32)
    found = bloom(orchard([{**BARE, **more}], [FULL], guidance="central-europe"), on="2026-09-05", weather=weather,
                  wanted="white-clover")  # fmt: skip
    reasons = " ".join(found["left_out"][0]["reasons"])
    assert ("wants moist ground; here it is dry" in reasons) is out
    assert any("taken as dry" in note for note in found["notes"]) is out


def test_a_winter_of_the_weather_leaves_room_for_a_colder_one() -> None:
    weather = sky("2025-11-20", "2026-03-10", -24, -2)
    file = orchard([BARE], [{**FULL, "date": "2026-05-10"}])
    found = bloom(file, on="2026-05-18", weather=weather, wanted="sage", terms={"prices": {"sage": 1}})
    assert found["winter"]["known_by"] == "weather"
    (sage,) = found["choices"][0]["plants"]
    assert any("came near that" in text for text in sage["drawbacks"])


@pytest.mark.parametrize(("day", "weeks", "side"), [("2026-05-10", None, ""), ("2026-05-30", 3, "later"),
                                                    ("2026-04-10", 4, "earlier")])  # fmt: skip
def test_late_flowers_are_said_to_stray_where_apples_bloom_at_another_time(
    day: str, weeks: int | None, side: str
) -> None:
    found = bloom(orchard([BARE], [{**FULL, "date": day}]), on="2026-06-20")
    told = [note for note in found["notes"] if "worked out" in note]
    assert len(told) == (weeks is not None)
    assert all(f"about {weeks} weeks {side}" in note for note in told)


def test_no_hedgehog_is_looked_for_in_america() -> None:
    """From memory: hedgehogs live in Europe, and were brought to New Zealand, where they eat the eggs of birds."""
    places = {"new-york": False, "uk": True, "new-zealand": False}
    for guidance, lives in places.items():
        found = bloom(orchard([BARE], [{**FULL, "date": "2026-05-10"}], guidance=guidance), on="2026-05-18")
        assert any(row["ally"] == "hedgehog" for row in found["shelter"]["allies"]) is lives
