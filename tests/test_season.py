"""Stages: names and codes, what was seen, what heat tells, both hemispheres; sunrise and sunset against the almanac."""

import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pytest

import airports
from advisor.blocks import Block
from advisor.observation import PlantBloom, Seen, TreeStage
from advisor.science.spring_heat import MCINTOSH, running_sum, sum_at_stage
from advisor.science.sun import sun_hours
from advisor.season import (
    Bloom,
    Stage,
    can_stand_at,
    full_bloom,
    in_spring,
    orchard_year,
    season_start,
    stage_on,
    weeks_from_bloom,
    year_label,
)
from advisor.stages import STAGES, bbch_of, code_of_open, flower_code, stage_name
from advisor.weather import Weather, read_weather

ZONE = ZoneInfo("America/New_York")
MAC = Block(id="mac", fruit="apple", cultivars=("McIntosh",))
PEARS = Block(id="pears", fruit="pear")
NORTH, SOUTH = 42.0, -42.0


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def seen(date: str, stage: str | int, block: str | None = "mac", **more: object) -> TreeStage:
    return TreeStage.model_validate({"kind": "tree-stage", "date": date, "stage": stage, "block": block, **more})


def at(
    date: str, *observations: Seen, block: Block = MAC, weather: Weather | None = None, latitude: float = NORTH
) -> Stage:
    return stage_on(day(date), block, observations, weather, latitude=latitude, zone=ZONE)


def steady(celsius: float, first: str, last: str) -> Weather:
    """Every hour of the days from first to last at one temperature."""
    hours = ((day(last) - day(first)).days + 1) * 24
    start = dt.datetime.combine(day(first), dt.time(5), dt.UTC)
    return read_weather([{"time": start + dt.timedelta(hours=hour), "temp_c": celsius} for hour in range(hours)], ZONE)


# --- Names and codes --------------------------------------------------------------------------

# The codes as the BBCH scales of pome and stone fruit have them (Meier ed. 2001); pairing with trade names from memory.
CODES = [
    ("apple", "dormant", 0), ("apple", "silver-tip", 51), ("apple", "green-tip", 53), ("apple", "half-inch-green", 54),
    ("apple", "tight-cluster", 56), ("apple", "pink", 57), ("apple", "balloon", 59), ("apple", "king-bloom", 60),
    ("apple", "full-bloom", 65), ("apple", "petal-fall", 69), ("apple", "fruit-set", 71), ("apple", "june-drop", 73),
    ("apple", "half-grown", 75), ("apple", "colouring", 81), ("apple", "harvest", 87), ("apple", "after-harvest", 91),
    ("apple", "leaf-fall", 93), ("apple", "leafless", 97), ("pear", "bud-swell", 51), ("pear", "bud-burst", 53),
    ("pear", "white-bud", 57), ("pear", "full-white", 59), ("pear", "tight-cluster", 56), ("plum", "side-white", 52),
    ("sweet-cherry", "side-green", 53), ("tart-cherry", "bud-burst", 54), ("plum", "green-tip", 54),
    ("sweet-cherry", "tight-cluster", 55), ("plum", "open-cluster", 56), ("plum", "white-bud", 57),
    ("apricot", "tips-separate", 53), ("peach", "calyx-green", 54), ("peach", "calyx-red", 55),
    ("nectarine", "pink", 57),
    ("plum", "shuck-split", 72), ("tart-cherry", "pit-hardening", 74), ("peach", "full-bloom", 65),
]  # fmt: skip


@pytest.mark.parametrize(("fruit", "name", "code"), CODES, ids=[f"{fruit} {name}" for fruit, name, _ in CODES])
def test_codes_of_stages(fruit: str, name: str, code: int) -> None:
    assert bbch_of(name, fruit) == code


def test_names_of_codes() -> None:
    assert {name: stage_name(code) for name, code in STAGES.items()} == {name: name for name in STAGES}
    assert stage_name(67) == "full-bloom"
    assert stage_name(53, "pear") == "bud-burst"
    assert stage_name(72, "peach") == "shuck-split"
    assert stage_name(56, "plum") == "open-cluster"
    assert bbch_of("no-such-stage") is None


def test_leaf_codes_and_shares_are_read_on_the_flower_scale() -> None:
    assert [flower_code(code) for code in (1, 7, 9, 10, 53, 69)] == [51, 53, 53, 54, 53, 69]
    # BBCH 61-64: about 10 to 40 % of flowers open; 65: at least 50 % (Meier 2001)
    assert [code_of_open(share) for share in (0, 0.05, 0.1, 0.3, 0.45, 0.5, 1)] == [None, 60, 61, 63, 64, 65, 65]


# --- Season and hemisphere --------------------------------------------------------------------


def test_orchard_years() -> None:
    assert (orchard_year(day("2026-05-18"), NORTH), year_label(day("2026-05-18"), NORTH)) == (2026, "2026")
    assert (orchard_year(day("2026-11-18"), SOUTH), year_label(day("2026-11-18"), SOUTH)) == (2026, "2026-27")
    assert (orchard_year(day("2027-03-18"), SOUTH), year_label(day("2027-03-18"), SOUTH)) == (2026, "2026-27")
    assert year_label(day("1999-11-18"), SOUTH) == "1999-00"
    assert season_start(day("2027-06-30"), SOUTH) == day("2026-07-01")


def test_spring_follows_the_hemisphere() -> None:
    assert in_spring(day("2026-05-01"), NORTH)
    assert not in_spring(day("2026-11-01"), NORTH)
    assert in_spring(day("2026-11-01"), SOUTH)
    assert not in_spring(day("2026-05-01"), SOUTH)


# --- What was seen ----------------------------------------------------------------------------


def test_seen_today_is_certain() -> None:
    stage = at("2026-05-18", seen("2026-05-18", "petal-fall"))
    assert (stage.bbch, stage.word, stage.seen) == (69, "petal-fall", day("2026-05-18"))
    assert (stage.estimated, stage.at_least, stage.stale) == (False, False, False)


def test_a_code_leaves_no_word() -> None:
    stage = at("2026-05-18", seen("2026-05-18", 69))
    assert (stage.bbch, stage.name, stage.word) == (69, "petal-fall", None)


def test_the_newest_counts_and_what_is_older_is_at_least() -> None:
    stage = at(
        "2026-05-10", seen("2026-04-20", "green-tip"), seen("2026-05-06", "pink"), seen("2026-05-20", "petal-fall")
    )
    assert (stage.bbch, stage.at_least, stage.stale) == (57, True, False)
    assert "4 days ago" in stage.why


def test_after_ten_days_of_spring_it_is_stale() -> None:
    assert not at("2026-05-16", seen("2026-05-06", "pink")).stale
    assert at("2026-05-17", seen("2026-05-06", "pink")).stale
    assert at("2026-11-17", seen("2026-11-06", "pink"), latitude=SOUTH).stale
    assert not at("2026-10-20", seen("2026-10-01", "harvest")).stale


def test_of_two_on_one_day_the_earlier_is_certain() -> None:
    stage = at("2026-05-06", seen("2026-05-06", "full-bloom"), seen("2026-05-06", "pink"))
    assert (stage.bbch, stage.at_least, stage.contradicted) == (57, True, True)
    assert "contradict" in stage.why
    assert len(stage.observations) == 2


def test_a_word_and_a_number_that_are_not_one_stage_contradict_each_other() -> None:
    def both(word: str, code: int) -> TreeStage:
        return TreeStage.model_validate(
            {"kind": "tree-stage", "date": "2026-05-06", "stage": word, "bbch": code, "block": "mac"}
        )

    stage = at("2026-05-06", both("petal-fall", 57))
    assert (stage.bbch, stage.name, stage.word, stage.contradicted) == (57, "pink", None, True)
    assert len(stage.observations) == 1
    assert "BBCH 57 and 69 were seen: the observations contradict each other" in stage.why
    fits = at("2026-05-06", both("full-bloom", 63))
    assert (fits.bbch, fits.word, fits.contradicted) == (63, "full-bloom", False)


def test_a_season_does_not_go_back() -> None:
    stage = at("2026-05-20", seen("2026-05-15", "petal-fall"), seen("2026-05-19", "pink"))
    assert (stage.bbch, stage.contradicted) == (69, True)
    assert "does not go back" in stage.why


def test_after_leaf_fall_a_new_round_begins() -> None:
    assert at("2026-12-20", seen("2026-11-10", "leafless"), seen("2026-12-15", "dormant")).bbch == 0
    assert at("2026-01-20", seen("2025-11-10", "leafless")).bbch == 0  # carried over the turn of the year
    assert at("2026-04-20", seen("2026-01-10", "leafless"), seen("2026-04-19", "green-tip")).bbch == 53
    assert at("2026-08-20", seen("2026-06-20", "leafless"), latitude=SOUTH).bbch == 0


def test_last_years_bloom_says_nothing_of_this_year() -> None:
    assert at("2026-05-20", seen("2025-05-15", "petal-fall")).bbch is None


def test_an_observation_of_the_whole_orchard_counts_for_each_block_and_of_another_block_for_none() -> None:
    assert at("2026-05-18", seen("2026-05-18", "petal-fall", block=None)).bbch == 69
    assert at("2026-05-18", seen("2026-05-18", "petal-fall", block="other")).bbch is None


def test_without_observation_or_anchor_the_stage_is_unknown() -> None:
    assert at("2026-05-18").bbch is None
    assert at("2026-05-18", block=PEARS, weather=steady(20, "2026-01-01", "2026-05-18")).bbch is None


def test_no_blossom_open_says_nothing_of_the_stage() -> None:
    none_open = TreeStage.model_validate({"kind": "tree-stage", "date": "2026-05-18", "open": 0, "block": "mac"})
    assert at("2026-05-18", none_open).bbch is None


# --- Heat -------------------------------------------------------------------------------------


def test_heat_sum_by_hand() -> None:
    # One day at 53 °F is ten degree-days above 43 °F, by definition; below 43 °F nothing; an unknown hour adds nothing.
    assert running_sum(np.full(24, (53 - 32) / 1.8))[-1] == pytest.approx(10)
    assert running_sum(np.full(24, 0.0))[-1] == 0
    assert running_sum(np.array([np.nan, (67 - 32) / 1.8]))[-1] == pytest.approx(1)


def test_published_sums_of_mcintosh() -> None:
    # Green tip: Scaffolds Fruit Journal (Cornell) 20 March 1995. Bloom and petal fall: Healthy Fruit (Massachusetts)
    # 27 April 2010 and 12 May 2009. Base 43 °F from 1 January.
    assert {a.stage: (a.low, a.high) for a in MCINTOSH} == {
        "green-tip": (24, 161),
        "full-bloom": (349, 419),
        "petal-fall": (445, 523),
    }
    sums = [sum_at_stage(code) for code in (0, 51, 53, 54, 56, 57, 59, 60, 65, 69)]
    assert sums == sorted(sums)


def test_late_trees_are_counted_on_from_the_sum_of_the_stage_they_show() -> None:
    # 10 °F days a day: on 5 February 360, where McIntosh is about to bloom; these trees show green tip only, which others
    # show at 92.5, so bloom (384) lies 30 days ahead. The published sums stand in the test above.
    weather = steady((53 - 32) / 1.8, "2026-01-01", "2026-03-31")
    late = at("2026-03-31", seen("2026-02-05", "green-tip"), weather=weather)
    assert late.anchors["full-bloom"].likely == day("2026-03-07")
    in_time = at("2026-03-31", seen("2026-01-14", "green-tip"), weather=weather)
    assert in_time.anchors["full-bloom"].likely == day("2026-02-08")


def test_steady_warmth_reaches_each_anchor_on_the_day_it_should() -> None:
    # At 53 °F each day adds 10: 92.5 on day 10, 384 on day 39, 484 on day 49 of the year.
    weather = steady((53 - 32) / 1.8, "2026-01-01", "2026-03-31")
    anchors = at("2026-03-31", weather=weather).anchors
    assert anchors["green-tip"].likely == day("2026-01-10")
    assert anchors["full-bloom"].earliest == day("2026-02-04")
    assert anchors["full-bloom"].likely == day("2026-02-08")
    assert anchors["full-bloom"].latest == day("2026-02-11")
    assert anchors["petal-fall"].likely == day("2026-02-18")


def test_estimated_from_heat_alone_and_said_so() -> None:
    weather = steady((53 - 32) / 1.8, "2026-01-01", "2026-02-10")
    stage = at("2026-02-10", weather=weather)
    assert (stage.bbch, stage.estimated, stage.at_least, stage.seen, stage.word) == (65, True, True, None, None)
    assert stage.sources == ("umass-hf-2010-04",)
    assert "349 to 419" in stage.why
    other = at("2026-02-10", weather=weather, block=Block(id="mac", fruit="apple", cultivars=("Northern Spy",)))
    assert "Other apples" in other.why


def test_before_green_tip_heat_says_dormant() -> None:
    stage = at("2026-01-31", weather=steady(0, "2026-01-01", "2026-01-31"))
    assert (stage.bbch, stage.estimated, stage.at_least) == (0, True, True)


def test_what_was_seen_is_moved_forward_by_heat() -> None:
    weather = steady((53 - 32) / 1.8, "2026-01-01", "2026-03-31")
    observation = seen("2026-02-05", "pink")  # 360 by then: fits
    assert at("2026-02-06", observation, weather=weather).bbch == 57
    stage = at("2026-02-09", observation, weather=weather)
    assert (stage.bbch, stage.estimated, stage.seen) == (65, True, day("2026-02-05"))
    assert "Counted on from pink" in stage.why


def test_heat_never_contradicts_what_was_seen_today() -> None:
    weather = steady((53 - 32) / 1.8, "2026-01-01", "2026-03-31")
    late = seen("2026-03-10", "pink")  # 690 by then, far beyond petal fall elsewhere
    stage = at("2026-03-10", late, weather=weather)
    assert (stage.bbch, stage.estimated) == (57, False)
    assert at("2026-03-15", late, weather=weather).bbch == 57
    assert at("2026-03-21", late, weather=weather).bbch == 65  # about 94 more from pink to bloom, at ten a day


def test_missing_hours_make_the_sum_a_least() -> None:
    weather = steady((53 - 32) / 1.8, "2026-01-21", "2026-03-31")
    stage = at("2026-03-31", weather=weather)
    assert stage.estimated
    assert "at least" in stage.why
    assert stage.anchors["full-bloom"].earliest is None
    assert at("2026-01-31", weather=steady(0, "2026-01-21", "2026-01-31")).bbch is None  # cannot say dormant either


def test_the_south_counts_from_july() -> None:
    weather = steady((53 - 32) / 1.8, "2026-07-01", "2026-08-10")
    stage = at("2026-08-09", weather=weather, latitude=SOUTH)
    assert (stage.bbch, stage.anchors["full-bloom"].likely) == (65, day("2026-08-08"))
    assert not stage.stale


REAL = [  # what the hourly weather of 2013 gives at each airport: green tip, bloom, petal fall
    ("EWR", "2013-03-29", "2013-04-28", "2013-05-05"),
    ("JFK", "2013-04-06", "2013-05-07", "2013-05-13"),
    ("LGA", "2013-04-04", "2013-05-01", "2013-05-09"),
]


@pytest.mark.parametrize(("airport", "green", "bloom", "fall"), REAL)
def test_mcintosh_in_a_real_spring(airport: str, green: str, bloom: str, fall: str) -> None:
    """Dates by the published sums. In the lower Hudson valley McIntosh blooms from late April to mid May, and petals
    fall 5 to 14 days later (from memory)."""
    weather = read_weather(airports.csv_text(airport), ZONE)
    anchors = at("2013-06-30", weather=weather, latitude=airports.LATITUDE).anchors
    found = [anchors[name].likely for name in ("green-tip", "full-bloom", "petal-fall")]
    assert found == [day(green), day(bloom), day(fall)]
    assert day("2013-04-20") <= day(bloom) <= day("2013-05-15")
    assert 5 <= (day(fall) - day(bloom)).days <= 14


def test_the_southern_twin_of_a_real_spring() -> None:
    """The same hours half a year later, at the same latitude south, give the same dates half a year later."""
    shift = dt.timedelta(days=181)  # 1 January to 1 July
    hours = [{**row, "time": dt.datetime.fromisoformat(row["time"]) + shift} for row in airports.records("JFK")]
    south = dt.timezone(dt.timedelta(hours=-5))
    stage = stage_on(day("2013-12-28"), MAC, (), read_weather(hours, south), latitude=-40.7, zone=south)
    north = stage_on(
        day("2013-06-30"), MAC, (), read_weather(list(airports.records("JFK")), south), latitude=40.7, zone=south
    )
    for name, anchor in north.anchors.items():
        twin = stage.anchors[name].likely
        assert anchor.likely is not None
        assert twin is not None
        assert twin - anchor.likely == shift


# --- Full bloom -------------------------------------------------------------------------------


def bloom(date: str, *observations: Seen, weather: Weather | None = None, latitude: float = NORTH) -> Bloom:
    return full_bloom(day(date), [MAC, PEARS], observations, weather, latitude=latitude, zone=ZONE)


def test_bloom_seen() -> None:
    found = bloom("2026-06-01", seen("2026-05-08", "full-bloom"), seen("2026-05-20", "petal-fall"))
    assert (found.date, found.seen) == (day("2026-05-08"), True)
    assert weeks_from_bloom(day("2026-05-22"), found) == 2
    by_plant = PlantBloom.model_validate({"kind": "plant-bloom", "date": "2026-05-09", "plant": "apple", "open": 0.6})
    assert bloom("2026-06-01", by_plant).date == day("2026-05-09")


def test_pears_do_not_tell_apple_bloom() -> None:
    assert bloom("2026-06-01", seen("2026-05-01", "full-bloom", block="pears")).date is None


def test_bloom_from_petal_fall_from_heat_and_from_earlier_years() -> None:
    fallen = bloom("2026-06-01", seen("2026-05-20", "petal-fall"))
    assert (fallen.date, fallen.earliest, fallen.latest) == (day("2026-05-11"), day("2026-05-06"), day("2026-05-15"))
    assert not fallen.seen
    warm = steady((53 - 32) / 1.8, "2026-01-01", "2026-03-31")
    assert bloom("2026-03-31", weather=warm).date == day("2026-02-08")
    earlier = bloom("2026-04-01", seen("2024-05-05", "full-bloom"), seen("2025-05-10", "full-bloom"))
    assert earlier.date is not None
    assert day("2026-05-05") <= earlier.date <= day("2026-05-10")
    assert "earlier years" in earlier.why


def test_unknown_bloom_is_none() -> None:
    found = bloom("2026-04-01")
    assert found.date is None
    assert weeks_from_bloom(day("2026-04-01"), found) is None
    # trees seen before bloom outweigh what earlier years would say
    assert bloom("2026-05-20", seen("2025-05-01", "full-bloom"), seen("2026-05-19", "pink")).date is None


# --- Sun --------------------------------------------------------------------------------------

# Sunrise and sunset as almanacs print them for these cities (tables of the US Naval Observatory and of HM Nautical
# Almanac Office; from memory, to the minute).
ALMANAC = [
    ("New York", 40.71, -74.01, "America/New_York", "2013-06-21", "05:25", "20:31"),
    ("New York", 40.71, -74.01, "America/New_York", "2013-12-21", "07:17", "16:32"),
    ("London", 51.51, -0.13, "Europe/London", "2013-06-21", "04:43", "21:21"),
    ("London", 51.51, -0.13, "Europe/London", "2013-12-21", "08:04", "15:53"),
    ("Sydney", -33.87, 151.21, "Australia/Sydney", "2013-06-21", "07:00", "16:54"),
    ("Sydney", -33.87, 151.21, "Australia/Sydney", "2013-12-21", "05:41", "20:05"),
]


@pytest.mark.parametrize(("city", "latitude", "longitude", "zone", "date", "rise", "set_"), ALMANAC)
def test_sun_against_the_almanac(
    city: str, latitude: float, longitude: float, zone: str, date: str, rise: str, set_: str
) -> None:
    found = sun_hours(latitude, longitude, day(date))
    for hours, printed in zip(found, (rise, set_), strict=True):
        moment = dt.datetime.combine(day(date), dt.time(), dt.UTC) + dt.timedelta(hours=hours)
        local = moment.astimezone(ZoneInfo(zone))
        assert local.date() == day(date), city
        wanted = dt.datetime.combine(local.date(), dt.time.fromisoformat(printed), ZoneInfo(zone))
        assert abs((local - wanted).total_seconds()) <= 90


def test_sun_by_arrays_and_beyond_the_polar_circle() -> None:
    days = np.arange("2026-01-01", "2027-01-01", dtype="datetime64[D]")
    rise, set_ = sun_hours(42.0, -76.5, days)
    assert rise.shape == set_.shape == (365,)
    one = sun_hours(42.0, -76.5, day("2026-05-18"))
    assert (float(rise[137]), float(set_[137])) == pytest.approx(one)
    # At the equinoxes the day lasts about 12 h and some minutes more, for the sun's width and the bending of its light.
    assert set_[78] - rise[78] == pytest.approx(12.15, abs=0.1)
    assert np.isnan(sun_hours(70.0, 25.0, day("2026-06-21"))).all()
    assert np.isnan(sun_hours(-70.0, 25.0, day("2026-06-21"))).all()
    without_longitude = sun_hours(42.0, None, day("2026-05-18"))
    assert without_longitude[1] - without_longitude[0] == pytest.approx(one[1] - one[0], abs=0.03)


# --- What was seen long ago -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("word", "days", "least"),
    [
        ("full-bloom", 21, "full-bloom"), ("full-bloom", 22, "petal-fall"), ("full-bloom", 30, "fruit-set"),
        ("petal-fall", 21, "petal-fall"), ("petal-fall", 22, "fruit-set"),
        ("full-bloom", 58, "june-drop"), ("full-bloom", 93, "half-grown"), ("half-grown", 90, "half-grown"),
        ("pink", 30, "pink"), ("pink", 38, "petal-fall"), ("harvest", 60, "harvest"), ("harvest", 61, "after-harvest"),
        ("dormant", 90, "dormant"),
    ],
)  # fmt: skip
def test_no_stage_outlasts_the_slowest_season(word: str, days: int, least: str) -> None:
    """Common practice, no source: full bloom to petal fall 16 days at most, to fruit set a month, to June drop two."""
    first = "2026-08-01" if word == "harvest" else "2026-05-10"
    stage = at((day(first) + dt.timedelta(days=days)).isoformat(), seen(first, word))
    assert stage.name == least
    assert stage.estimated is (least != word)
    assert not stage.estimated or (stage.at_least and stage.stale and "at least" in stage.why)


# --- What cannot be ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("stage", "fruit", "on", "latitude", "can"), [
    ("harvest", "apple", "2026-05-02", 47.0, False), ("harvest", "sweet-cherry", "2026-05-20", 43.0, True),
    ("dormant", "peach", "2026-05-20", 45.0, True), ("dormant", "peach", "2026-07-16", 38.9, False),
    ("full-bloom", "apple", "2026-10-16", -41.0, True), ("full-bloom", "apple", "2026-10-16", 41.0, False),
    ("harvest", "apple", "2026-11-10", 47.0, True), ("harvest", "apple", "2026-05-02", 12.0, True),
])  # fmt: skip
def test_a_stage_that_trees_cannot_stand_at_then_is_known_for_wrong(stage, fruit, on, latitude, can):
    """Common practice, no source: apples are not picked on 2 May in the north, nor do peaches rest in July."""
    code = bbch_of(stage, fruit)
    assert code is not None
    assert can_stand_at(code, fruit, day(on), latitude) is can


def test_a_stage_that_cannot_be_is_doubted_and_asked_for_again():
    stage = at("2026-05-04", seen("2026-05-02", "harvest"))
    assert stage.contradicted
    assert "At that time of year apple stands at no such stage" in stage.why
    assert not at("2026-09-20", seen("2026-09-18", "harvest")).contradicted
    later = at("2026-05-16", seen("2026-05-02", "harvest"), seen("2026-05-15", "petal-fall"))
    assert (later.bbch, later.wrong) == (69, False)
