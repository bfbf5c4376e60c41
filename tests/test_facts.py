"""What is given, seen and computed becomes facts in the units that rules read, each knowing where it came from."""

import datetime as dt

import pytest

from advisor.advice import default_rules
from advisor.ecosystem import knowledge
from advisor.errors import InputError
from advisor.facts import Situation, gather
from advisor.orchard import load_orchard
from advisor.weather import read_weather

KINDS = default_rules().kinds
HEAD = {"name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York"}
UPPER = {
    "id": "upper",
    "fruit": "apple",
    "trees": 10,
    "spacing": "20 ft x 16 ft",
    "rootstock": "MM.111",
    "planted": 2014,
}
LOWER = {"id": "lower", "fruit": "pear"}
TODAY = dt.date(2026, 5, 18)


def gathered(*observations, on=TODAY, weather=None, forecast=None, head=HEAD, **parts):
    parts = {"blocks": [UPPER, LOWER], **parts}
    file = load_orchard({"orchard": head, "observations": list(observations), **parts})
    measured = read_weather(weather, file.zone) if weather else None
    ahead = read_weather(forecast, file.zone) if forecast else None
    return gather(Situation.of(file, on, measured, ahead, knowledge()), KINDS)


def facts(*observations, **given):
    return {fact.id: fact for fact in gathered(*observations, **given).facts}


def hours(day, count=24, **values):
    start = dt.datetime.combine(day, dt.time())
    return [{"time": (start + dt.timedelta(hours=h)).isoformat(), **values} for h in range(count)]


def sward(date="2026-05-18", **fields):
    return {"kind": "sward", "date": date, "block": "upper", **fields}


def test_lengths_are_given_in_the_unit_of_their_field():
    known = facts(sward(height="18 in"))
    assert known["sward:upper"].fields["height"] == pytest.approx(45.72)
    assert known["block:upper"].fields["row_width"] == pytest.approx(6.096)
    assert known["block:upper"].fields["area"] == pytest.approx(10 * 6.096 * 4.8768, abs=1e-3)


@pytest.mark.parametrize(("field", "value"), [("trees", 10**15), ("trees", 10**7), ("rows", 10**9)])
def test_more_trees_than_anybody_has_are_refused_when_read(field, value):
    with pytest.raises(InputError, match=field):
        load_orchard({"orchard": {"name": "L", "latitude": 42}, "blocks": [{"id": "b", "fruit": "apple", field: value}]})


def test_numbers_that_multiply_beyond_what_rules_compare_are_refused_by_name():
    mulch = {"material": "hay", "depth": "90 km", "trunk_gap": "1 cm"}
    huge = {"id": "b", "fruit": "apple", "trees": 900_000, "spacing": "90 km x 90 km", "mulch": mulch}
    given = {"orchard": {"name": "L", "latitude": 42}, "blocks": [huge]}
    with pytest.raises(InputError) as refused:
        gather(Situation.of(load_orchard(given), dt.date(2026, 5, 18), None, None, knowledge()), default_rules().kinds)
    assert "more than can be meant" in str(refused.value)
    assert "Check the trees" in str(refused.value)


def test_what_is_not_known_is_left_out():
    known = facts(sward(seed_heads="set"))
    assert "height" not in known["sward:upper"].fields
    assert "area" not in known["block:lower"].fields
    assert "recent-weather" not in known
    assert "outlook" not in known


def test_an_observation_of_the_whole_orchard_is_repeated_for_each_block():
    known = facts({"kind": "snow", "date": "2026-05-18", "depth": "10 cm"})
    assert {"snow:upper", "snow:lower"} <= set(known)


def test_a_newer_look_fills_up_from_an_older_one_that_is_still_fresh():
    one, two = sward("2026-05-12", seed_heads="emerging", height="30 cm"), sward(height="45 cm")
    fact = facts(two, one)["sward:upper"]
    assert (fact.fields["height"], fact.fields["seed_heads"], fact.fields["days_ago"]) == (45, "emerging", 0)
    assert len(fact.origin) == 2


def test_a_look_that_is_too_old_does_not_stand_for_today_and_is_named():
    result = gathered(sward("2026-04-20", height="30 cm"))
    assert "sward:upper" not in {f.id for f in result.facts}
    assert [(s.kind, s.block, s.date) for s in result.stale] == [("sward", "upper", dt.date(2026, 4, 20))]


def test_two_looks_of_one_moment_that_contradict_each_other_leave_the_field_unknown():
    known = facts(sward(height="30 cm", cover=0.9), sward(height="60 cm", cover=0.9))
    assert "height" not in known["sward:upper"].fields
    assert known["sward:upper"].fields["cover"] == 0.9
    assert known["disagreement:sward:upper:height"].fields["field"] == "height"


def test_counts_by_another_trap_or_measure_stand_side_by_side():
    one = {"kind": "pest-count", "date": "2026-05-18", "block": "upper", "pest": "tarnished-plant-bug", "count": 3,
           "per": "trap", "trap": "white-sticky"}  # fmt: skip
    two = {**one, "count": 1, "per": "tap"}
    del two["trap"]
    assert {
        "pest-count:upper:tarnished-plant-bug:trap:white-sticky",
        "pest-count:upper:tarnished-plant-bug:tap",
    } <= set(facts(one, two))


def test_observations_dated_later_are_not_seen_but_an_intent_for_later_is():
    later = sward("2026-05-19", height="45 cm")
    intent = {"kind": "intent", "date": "2026-05-17", "block": "upper", "practice": "mow-alleys", "day": "2026-05-25"}
    known = facts(later, intent)
    assert "sward:upper" not in known
    meant = [f for f in known.values() if f.kind == "intent"]
    assert [f.fields["day"] for f in meant] == [7]
    over = {**intent, "day": "2026-05-17"}
    assert not [f for f in facts(over).values() if f.kind == "intent"]


def test_an_intent_without_a_place_touches_every_block():
    known = facts({"kind": "intent", "date": "2026-05-18", "practice": "mow-alleys"})
    assert sorted(f.fields["block"] for f in known.values() if f.kind == "intent") == ["lower", "upper"]


def test_work_keeps_its_newest_date_and_counts_this_season():
    def mown(date):
        return {"kind": "work", "date": date, "block": "upper", "practice": "mow-alleys"}

    fact = facts(mown("2025-09-01"), mown("2026-04-20"), mown("2026-05-10"))["work:upper:mow-alleys"]
    assert (fact.fields["days_ago"], fact.fields["times"], fact.fields["this_season"]) == (8, 2, True)


def test_the_gap_between_a_material_and_what_is_meant_next():
    oil = {"kind": "work", "date": "2026-05-10", "block": "upper", "practice": "oil", "material": "dormant-oil"}
    intent = {
        "kind": "intent",
        "date": "2026-05-18",
        "block": "upper",
        "practice": "sulphur",
        "day": "2026-05-20",
        "id": "s",
    }
    assert facts(oil, intent)["material-gap:s:upper:dormant-oil"].fields["days"] == 10


def test_the_mulch_of_the_orchard_file_stands_until_somebody_looks():
    block = {**UPPER, "mulch": {"material": "hay", "depth": "12 cm", "trunk_gap": "3 cm"}}
    assert facts(blocks=[block])["mulch:upper"].fields["trunk_gap"] == 3
    seen = {"kind": "mulch", "date": "2026-05-10", "block": "upper", "material": "hay", "depth": "6 cm"}
    assert facts(seen, blocks=[block])["mulch:upper"].fields["depth"] == 6


def test_missing_hours_of_weather_are_never_dry():
    whole = facts(weather=hours(dt.date(2026, 5, 18), temp_c=15, rain_mm=0))["recent-weather"].fields
    assert (whole["rain_1"], whole["low_1"]) == (0, 15)
    short = facts(weather=hours(dt.date(2026, 5, 18), 12, temp_c=15, rain_mm=0))["recent-weather"].fields
    assert "rain_1" not in short
    assert "rain_3" not in whole


def test_a_frost_in_the_forecast_is_held_against_the_stage():
    stage = {"kind": "tree-stage", "date": "2026-05-18", "block": "upper", "stage": "full-bloom"}
    cold = hours(dt.date(2026, 5, 19), temp_f=27, wind_mph=1)
    night = facts(stage, forecast=cold)["frost-night:upper:1"].fields
    # Washington State University EB0913: full bloom of apple, 28 °F kills a tenth
    assert night["kills_tenth"] == pytest.approx(-2.2, abs=0.05)
    assert night["margin"] < 0
    assert night["calm"] is True
    written = {"kind": "forecast", "date": "2026-05-18", "day": "2026-05-19", "low": "27 °F", "frost": "windy"}
    assert facts(stage, written)["frost-night:upper:1"].fields["calm"] is False
    mild = hours(dt.date(2026, 5, 19), temp_f=40, wind_mph=1)
    assert "frost-night:upper:1" not in facts(stage, forecast=mild)


def test_a_juniper_in_the_hedge_is_a_risk_for_apples_and_not_for_cherries():
    hedge = {"id": "hedge", "kind": "hedge", "plants": ["eastern-redcedar"], "distance": "60 ft"}
    cherry = {"id": "cherries", "fruit": "sweet-cherry"}
    risks = [f.fields for f in facts(habitats=[hedge], blocks=[UPPER, cherry]).values() if f.kind == "risk-plant"]
    rust = next(r for r in risks if r["trouble"] == "cedar-apple-rust")
    assert (rust["block"], rust["role"], rust["habitat"]) == ("upper", "alternate-host", "hedge")
    assert rust["distance"] == pytest.approx(18.288)
    assert not [r for r in risks if r["block"] == "cherries" and "rust" in r["trouble"]]


def test_invasive_here_depends_on_where_the_orchard_stands():
    intent = {
        "kind": "intent",
        "date": "2026-05-18",
        "block": "upper",
        "practice": "plant-hedge",
        "target": "autumn-olive",
    }
    assert facts(intent)["plant-nature:autumn-olive"].fields["invasive_here"] is True
    britain = {**HEAD, "latitude": 52.0, "longitude": -1.0, "timezone": "Europe/London"}
    assert facts(intent, head=britain)["plant-nature:autumn-olive"].fields["invasive_here"] is False


def test_the_south_has_its_own_season():
    south = {**HEAD, "latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"}
    stage = {"kind": "tree-stage", "date": "2026-10-10", "block": "upper", "stage": "full-bloom"}
    known = facts(stage, on=dt.date(2026, 10, 12), head=south)
    assert known["orchard"].fields["hemisphere"] == "south"
    assert known["season"].fields["days_lengthen"] is True
    assert known["season"].fields["weeks_from_bloom"] == pytest.approx(2 / 7, abs=0.01)


def test_one_block_in_leaf_tells_that_it_is_not_winter_also_where_nobody_looked_at_the_others():
    def stage(block, name):
        return {"kind": "tree-stage", "date": "2026-05-18", "block": block, "stage": name}

    assert facts(stage("upper", "petal-fall"))["season"].fields["winter"] is False
    assert facts(stage("upper", "dormant"), stage("lower", "leafless"))["season"].fields["winter"] is True
    for one_only in (facts(stage("upper", "dormant")), facts()):
        assert "winter" not in one_only["season"].fields


@pytest.mark.parametrize(("latitude", "on", "winter"), [
    (42.4, "2026-07-16", False), (-41.2, "2027-01-16", False),  # midsummer to the equinox of autumn
    (42.4, "2026-04-16", None), (42.4, "2026-11-16", None), (-41.2, "2026-07-16", None), (5.0, "2026-07-16", None),
])  # fmt: skip
def test_late_summer_is_no_winter_even_where_nobody_has_looked(latitude, on, winter):
    """Borers in July trunks are dug out without a word on the stage of the trees."""
    head = {**HEAD, "latitude": latitude}
    assert facts(on=dt.date.fromisoformat(on), head=head)["season"].fields.get("winter") is winter


def test_of_two_looks_of_one_day_the_later_by_the_sun_counts_whatever_clock_they_were_written_by():
    def cut(time, **said):
        return {"kind": "crop-count", "date": time, "block": "upper", **said}

    early = cut("2026-05-18T09:00Z", fruit_per_tree=300, girth="40 cm")  # 05:00 in New York
    late = cut("2026-05-18T06:30-04:00", fruit_per_tree=200)
    (fact,) = [fact for fact in gathered(early, late).facts if fact.kind == "crop-count"]
    assert fact.fields["fruit_per_tree"] == 200
    assert "girth" not in fact.fields  # the later count stands alone


def test_stems_count_the_winters_since_they_were_first_cut():
    def stems(first_cut):
        return {"kind": "stems", "date": "2026-05-01", "block": "upper", "standing": 0.5, "first_cut": first_cut}

    assert facts(stems(2025))["stems:upper"].fields["stem_winters"] == 1
    never = facts(stems("never"))["stems:upper"].fields
    assert never["never_cut"] is True
    assert "stem_winters" not in never


def test_of_two_looks_on_one_day_the_later_counts_whatever_their_ids_sort_like():
    for early, late in (("a", "b"), ("b", "a")):
        seen = [
            {"id": late, "date": "2026-05-18T18:00", "kind": "sward", "block": "upper", "height": "10 cm"},
            {"id": early, "date": "2026-05-18", "kind": "sward", "block": "upper", "height": "45 cm"},
        ]
        file = load_orchard({
            "orchard": {"name": "Larkfield", "latitude": 42.4, "timezone": "America/New_York"},
            "blocks": [{"id": "upper", "fruit": "apple"}],
            "observations": seen,
        })
        now = Situation.of(file, dt.date(2026, 5, 18), None, None, knowledge())
        (sward,) = [f for f in gather(now, KINDS).facts if f.kind == "sward"]
        assert sward.fields["height"] == 10


@pytest.mark.parametrize(
    ("latitude", "on", "hours"), [(69.6, "2026-06-21", 24), (69.6, "2026-12-21", 0), (-80, "2026-12-21", 24)]
)
def test_where_the_sun_does_not_set_or_rise_the_day_is_whole_or_nothing(latitude, on, hours):
    """By the meaning of midnight sun and polar night (common knowledge, no source)."""
    known = facts(on=dt.date.fromisoformat(on), head={"name": "Larkfield", "latitude": latitude})
    assert known["season"].fields["day_length"] == hours
