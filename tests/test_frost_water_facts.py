"""Facts on frost nights, soil water, bee weather and pollen partners, from hourly weather and from what was written."""

import datetime as dt
import math

import pytest

from advisor.advice import default_rules
from advisor.ecosystem import knowledge
from advisor.facts import Situation, gather
from advisor.orchard import load_orchard
from advisor.weather import read_weather

KINDS = default_rules().kinds
NORTH = {"name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York"}
SOUTH = {"name": "Larkfield", "latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"}
APPLES = {"id": "upper", "fruit": "apple", "planted": 2012, "spacing": "6 m x 5 m"}


def facts(on, *observations, blocks=(APPLES,), weather=None, forecast=None, head=NORTH):
    file = load_orchard({"orchard": head, "blocks": list(blocks), "observations": list(observations)})
    measured = read_weather(weather, file.zone) if weather else None
    ahead = read_weather(forecast, file.zone) if forecast else None
    found = gather(Situation.of(file, dt.date.fromisoformat(on), measured, ahead, knowledge()), KINDS)
    return {fact.id: fact for fact in found.facts}


def hours(first, days, temp=lambda hour: 15.0, leave_out=(), **values):
    start = dt.datetime.fromisoformat(first)
    rows = []
    for n in range(24 * days):
        moment = start + dt.timedelta(hours=n)
        if moment.date().isoformat() not in leave_out:
            rows.append({"time": moment.isoformat(), "temp_c": temp(moment.hour), **values})
    return rows


def day(low, high):
    return lambda hour: (low + high) / 2 - (high - low) / 2 * math.cos((hour - 3) * math.pi / 12)


def stage(date, word, **more):
    return {"kind": "tree-stage", "date": date, "stage": word, **more}


def clear(low):
    return lambda hour: low + abs(hour - 5) * 0.5


# --- frost ------------------------------------------------------------------------------------------------------------


def test_a_night_by_the_hour_tells_the_wet_bulb_and_what_water_does():
    block = {**APPLES, "frost_gear": {"kind": "sprinkler", "rate": "0.1 in/h"}}
    cold = hours("2026-05-19", 1, clear(-3), wind_ms=0.3, dew_point_c=-5.0)
    night = facts("2026-05-18", stage("2026-05-18", "full-bloom"), blocks=[block], forecast=cold)["frost-night:upper:1"]
    fields = night.fields
    # Washington EB0913 by Michigan State: full bloom 28 °F and 25 °F
    assert fields["kills_tenth"] == pytest.approx((28 - 32) / 1.8, abs=1e-3)
    assert fields["kills_most"] == pytest.approx((25 - 32) / 1.8, abs=1e-3)
    # linear between the two: 26.6 °F is 1.4 of 3 degrees on the way from a tenth to nine tenths
    assert fields["killed"] == pytest.approx(0.1 + 0.8 * 1.4 / 3, abs=1e-3)
    assert fields["crop_left"] == 1
    assert fields["water"] == "enough"
    assert fields["needs_rate"] == pytest.approx(2.54)
    # a wet bulb of 28 °F at a dew point of 23 °F: University of Florida, Circular 348, tables put it near 30.5 °F
    assert fields["start"] == pytest.approx((30.5 - 32) / 1.8, abs=0.3)
    assert "straight line" in night.text


def test_what_is_not_known_of_a_night_is_left_out():
    block = {**APPLES, "frost_gear": {"kind": "sprinkler", "rate": "2.5 mm/h"}}
    seen = stage("2026-05-18", "full-bloom")
    bare = facts("2026-05-18", seen, blocks=[block], forecast=hours("2026-05-19", 1, clear(-3)))["frost-night:upper:1"]
    assert not {"wind", "calm", "dew_point", "start", "needs_rate"} & set(bare.fields)
    assert bare.fields["water"] == "wind-unknown"
    calm = hours("2026-05-19", 1, clear(-3), wind_ms=0.5)
    still = facts("2026-05-18", seen, blocks=[block], forecast=calm)["frost-night:upper:1"]
    assert still.fields["water"] == "air-unknown"


@pytest.mark.parametrize(
    ("low", "wind", "dew", "rate", "word"),
    [
        (-3.0, 0.3, -5.0, "2.5 mm/h", "enough"),  # 0.10 in/h at 27 °F and up to 1 mph
        (-5.6, 0.3, -7.0, "2.5 mm/h", "too-little"),  # 0.12 in/h at 22 °F
        (-5.6, 0.3, -7.0, "3.1 mm/h", "enough"),
        (-2.7, 3.0, -5.0, "2.5 mm/h", "enough"),  # 0.10 in/h at 27 °F and up to 8 mph
        (-4.5, 3.0, -6.0, "2.5 mm/h", "too-little"),  # 0.30 in/h at 24 °F and up to 8 mph
        (-3.0, 4.0, -5.0, "20 mm/h", "too-windy"),
        (-13.0, 0.3, -14.0, "20 mm/h", "too-cold"),  # the table ends at 11 °F
        (-3.0, 0.3, -13.0, "20 mm/h", "too-dry"),  # less than half saturated
    ],
)
def test_water_is_judged_by_the_table_of_rates(low, wind, dew, rate, word):
    # Gerber and Harrison 1964, from memory
    block = {**APPLES, "frost_gear": {"kind": "sprinkler", "rate": rate}}
    forecast = hours("2026-05-19", 1, clear(low), wind_ms=wind, dew_point_c=dew)
    found = facts("2026-05-18", stage("2026-05-18", "full-bloom"), blocks=[block], forecast=forecast)
    assert found["frost-night:upper:1"].fields["water"] == word


def test_the_tenderest_cultivar_of_a_block_counts():
    # Penn State: Golden Delicious 1 °F, Rome Beauty 2 °F hardier than Red Delicious
    seen = stage("2026-05-10", "full-bloom")

    def tenth(*cultivars):
        block = {**APPLES, "cultivars": list(cultivars)}
        return facts("2026-05-10", seen, blocks=[block])["frost-figure:upper"].fields["kills_tenth"]

    assert tenth("Golden Delicious") == pytest.approx((27 - 32) / 1.8, abs=1e-3)
    assert tenth("Rome Beauty") == pytest.approx((26 - 32) / 1.8, abs=1e-3)
    assert tenth("Rome Beauty", "Golden Delicious") == pytest.approx((27 - 32) / 1.8, abs=1e-3)
    assert tenth("Rome Beauty", "Gala") == pytest.approx((28 - 32) / 1.8, abs=1e-3)


def test_quince_has_no_figure_and_nectarine_reads_peach():
    seen = stage("2026-05-10", "full-bloom")
    quince = facts("2026-05-10", seen, blocks=[{"id": "q", "fruit": "quince"}])["frost-figure:q"]
    assert quince.fields["reads"] == "none"
    assert "kills_tenth" not in quince.fields
    nectarine = facts("2026-05-10", seen, blocks=[{"id": "n", "fruit": "nectarine"}])["frost-figure:n"]
    assert nectarine.fields["reads"] == "peach"
    assert nectarine.fields["kills_tenth"] == pytest.approx((27 - 32) / 1.8, abs=1e-3)  # EB0914, full bloom


def test_a_measured_frost_is_held_against_the_stage_of_its_day():
    cold = hours("2026-04-20", 1, clear(-3.0)) + hours("2026-04-21", 10, day(6, 16))
    looks = [stage("2026-04-20", "green-tip"), stage("2026-04-30", "full-bloom")]
    # -3 °C kills a tenth in bloom, but at green tip that takes 18 °F
    assert "past-frost:upper" not in facts("2026-04-30", *looks, weather=cold)
    looks[0] = stage("2026-04-20", "full-bloom")
    past = facts("2026-04-30", *looks, weather=cold)["past-frost:upper"].fields
    assert (past["days_ago"], past["low"], past["measured"], past["kill"]) == (10, -3, True, "some")


def test_a_count_of_buds_is_read_by_what_a_full_crop_needs():
    def left(fruit, **count):
        seen = {"kind": "bud-kill", "date": "2026-05-10", **count}
        return facts("2026-05-10", seen, blocks=[{"id": "b", "fruit": fruit}])["bud-count:b"].fields.get("crop_left")

    # Utah IPM-012-11: apples 10 to 15 % (the upper end), cherries well over half
    assert left("apple", dead=0.8) == 1
    assert left("apple", dead=0.94) == pytest.approx(0.4)
    assert left("sweet-cherry", dead=0.75) == pytest.approx(0.5)
    assert left("quince", dead=0.75) is None
    assert left("peach", live_per_lateral=3, wanted_per_lateral=6) == pytest.approx(0.5)


# --- water ------------------------------------------------------------------------------------------------------------

LOAM = {**APPLES, "soil": "loam", "root_depth": "1 m", "floor": "meadow"}


def test_the_balance_adds_up_day_by_day():
    dry = hours("2026-06-21", 5, day(12, 28), rain_mm=0.0)
    looks = [stage("2026-06-20", "june-drop"), {"kind": "soil-water", "date": "2026-06-20", "depletion": "20 mm"}]
    found = facts("2026-06-25", *looks, blocks=[LOAM], weather=dry)["water-balance:upper"].fields
    # by hand: FAO-56 equation 52 at 42.4 N in the fourth week of June, Ra 41.9 MJ, 0.408 mm a MJ
    et0 = 0.0023 * (20 + 17.8) * math.sqrt(16) * 0.408 * 41.9
    assert found["et0"] == pytest.approx(et0, rel=0.01)
    assert found["depletion"] == pytest.approx(20 + 5 * et0 * found["kc"], rel=0.02)
    assert found["decided"] is True


def test_what_a_week_takes_is_seven_days_of_use_over_the_efficiency():
    dry = hours("2026-06-18", 7, day(12, 28), rain_mm=0.0)
    block = {**LOAM, "irrigation": {"kind": "drip", "efficiency": 0.9}, "spacing": "5 m x 4 m"}
    found = facts("2026-06-24", stage("2026-06-18", "june-drop"), blocks=[block], weather=dry)["water-balance:upper"].fields
    assert found["weekly"] == pytest.approx(7 * found["use"] / 0.9, rel=1e-3)
    assert found["weekly_litres"] == pytest.approx(20 * found["weekly"], rel=1e-3)  # a millimetre on 1 m2 is a litre
    unknown = facts("2026-06-24", stage("2026-06-18", "june-drop"), blocks=[block])["water-balance:upper"].fields
    assert "weekly" not in unknown


def test_rain_comes_off_and_irrigation_at_its_efficiency():
    looks = [stage("2026-06-20", "june-drop"), {"kind": "soil-water", "date": "2026-06-20", "depletion": "60 mm"}]
    work = {"kind": "work", "date": "2026-06-21", "practice": "irrigate", "amount": "25 mm"}
    block = {**LOAM, "irrigation": {"kind": "sprinkler", "efficiency": 0.8}}
    dry = hours("2026-06-21", 1, day(12, 28), rain_mm=0.0)
    wet = hours("2026-06-21", 1, day(12, 28), rain_mm=0.5)

    def missing(weather, *more):
        found = facts("2026-06-21", *looks, *more, blocks=[block], weather=weather)
        return found["water-balance:upper"].fields["least"]

    assert missing(dry) - missing(wet) == pytest.approx(12)
    assert missing(dry) - missing(dry, work) == pytest.approx(20)


def test_a_day_that_is_not_known_leaves_the_balance_open_and_a_look_closes_it():
    looks = [stage("2026-06-20", "june-drop"), {"kind": "soil-water", "date": "2026-06-20", "depletion": "60 mm"}]
    gap = hours("2026-06-21", 5, day(12, 28), leave_out=("2026-06-23",), rain_mm=0.0)
    found = facts("2026-06-25", *looks, blocks=[LOAM], weather=gap)["water-balance:upper"].fields
    assert found["least"] < 60 < found["most"]
    assert not {"depletion", "spent"} & set(found)
    again = {"kind": "soil-water", "date": "2026-06-25", "feel": "dry"}
    assert facts("2026-06-25", *looks, again, blocks=[LOAM], weather=gap)["water-balance:upper"].fields["spent"] is True


def test_no_weather_at_all_is_neither_wet_nor_dry():
    found = facts("2026-06-20", stage("2026-06-20", "june-drop"), blocks=[LOAM])["water-balance:upper"].fields
    assert (found["least"], found["most"]) == (0, 130)  # FAO-56 Table 19: loam holds 130 mm in a metre at the least
    assert found["decided"] is False
    assert not {"et0", "use", "rain_ahead"} & set(found)


def test_rain_enough_fills_the_soil_whatever_was_missing():
    wet = hours("2026-06-18", 1, day(12, 18), rain_mm=6.0) + hours("2026-06-19", 2, day(12, 18), rain_mm=0.0)
    looks = [stage("2026-06-18", "june-drop")]
    found = facts("2026-06-20", *looks, blocks=[LOAM], weather=wet)["water-balance:upper"].fields
    assert found["spent"] is False
    assert found["depletion"] < 15


def test_penman_is_used_where_sun_wind_and_moisture_are_known():
    looks = [stage("2026-06-20", "june-drop")]
    full = hours("2026-06-14", 7, day(12, 28), rain_mm=0.0, wind_ms=2.0, humidity_pct=60.0, solar_wm2=280.0)
    bare = hours("2026-06-14", 7, day(12, 28), rain_mm=0.0)
    assert "Penman" in facts("2026-06-20", *looks, blocks=[LOAM], weather=full)["water-balance:upper"].text
    assert "temperature alone" in facts("2026-06-20", *looks, blocks=[LOAM], weather=bare)["water-balance:upper"].text


def test_what_covers_the_ground_sets_the_use():
    # FAO-56 Table 12, killing frost, mid season: apples 1.20 over cover, 0.95 over bare ground; quince has no row
    looks = [stage("2026-05-01", "green-tip"), stage("2026-08-10", "half-grown")]
    dry = hours("2026-08-04", 7, day(12, 28), rain_mm=0.0)

    def kc(**more):
        block = {"id": "upper", "fruit": "apple", "soil": "loam", **more}
        return facts("2026-08-10", *looks, blocks=[block], weather=dry)["water-balance:upper"].fields.get("kc")

    assert kc(floor="meadow") == pytest.approx(1.20)
    assert kc(floor="bare") == pytest.approx(0.95)
    assert kc() == pytest.approx((0.95 + 1.20) / 2)
    assert kc(floor="bare", mulch={"material": "hay", "depth": "15 cm"}) < 0.95
    assert kc(fruit="quince") is None


def test_a_southern_summer_is_a_summer():
    looks = [stage("2027-01-05", "half-grown"), {"kind": "soil-water", "date": "2027-01-05", "depletion": "30 mm"}]
    dry = hours("2027-01-06", 5, day(12, 26), rain_mm=0.0)
    found = facts("2027-01-10", *looks, blocks=[LOAM], weather=dry, head=SOUTH)["water-balance:upper"].fields
    assert found["et0"] > 5
    assert found["depletion"] > 50


# --- bees and partners ------------------------------------------------------------------------------------------------


def test_bee_weather_is_summed_over_daylight_and_left_out_without_wind():
    warm = hours("2026-05-15", 4, lambda hour: 20.0, wind_ms=1.0, rain_mm=0.0)
    found = facts("2026-05-14", stage("2026-05-14", "full-bloom"), forecast=warm)
    # Washington State University: full work above 65 °F with wind below 10 mph
    assert found["bee-day:1"].fields["honey"] == pytest.approx(found["bee-day:1"].fields["daylight"])
    assert found["bee-outlook"].fields["share"] == pytest.approx(1)
    cool = hours("2026-05-15", 4, lambda hour: 12.2, wind_ms=1.0, rain_mm=0.0)
    assert facts("2026-05-14", forecast=cool)["bee-outlook"].fields["share"] == pytest.approx(0.21, abs=1e-3)
    wet = hours("2026-05-15", 4, lambda hour: 20.0, wind_ms=1.0, rain_mm=1.0)
    assert facts("2026-05-14", forecast=wet)["bee-day:1"].fields["honey"] == 0
    no_wind = facts("2026-05-14", forecast=hours("2026-05-15", 4, lambda hour: 20.0, rain_mm=0.0))
    assert "honey" not in no_wind["bee-day:1"].fields
    assert "bee-outlook" not in no_wind


def test_bees_of_all_kinds_are_counted_against_those_wanted():
    bees = [{"kind": "bees", "date": "2026-05-14", "who": who, "per_tree_minute": n, "at": "tree"}
            for who, n in (("wild", 9), ("honey-bee", 12))]
    below = {"kind": "bees", "date": "2026-05-14", "who": "bumble-bee", "per_tree_minute": 30, "at": "sward"}
    found = facts("2026-05-14", *bees, below)["bee-count:upper"].fields
    assert (found["count"], found["wanted"], found["enough"], found["unfit"]) == (21, 20, True, False)
    cold = hours("2026-05-14", 1, lambda hour: 11.0, wind_ms=1.0, rain_mm=0.0)
    assert facts("2026-05-14", *bees[:1], weather=cold)["bee-count:upper"].fields["unfit"] is True


@pytest.mark.parametrize(
    ("block", "lacks", "why"),
    [
        ({"fruit": "apple", "cultivars": ["Gala"]}, True, "single"),
        ({"fruit": "apple", "cultivars": ["Gala", "Liberty"]}, False, None),
        ({"fruit": "apple", "cultivars": ["Gala", "Jonagold"]}, True, "triploid"),  # Purdue: no good pollen
        ({"fruit": "apple", "cultivars": ["Jonagold", "Gala", "Liberty"]}, False, None),
        ({"fruit": "apple", "cultivars": ["Gala"], "pollen_partner": {"cultivar": "Winesap", "distance": "5 m"}}, True,
         "triploid"),
        ({"fruit": "apple", "cultivars": ["Gala"], "pollen_partner": {"cultivar": "Liberty", "distance": "45 m"}}, True,
         "far"),
        ({"fruit": "pear", "cultivars": ["Bartlett"], "pollen_partner": {"cultivar": "Bosc", "distance": "80 ft"}},
         False, None),  # 100 ft for pears
        # North Carolina HIL-302: early and late apples do not bloom together; Golden Delicious does not serve Mutsu
        ({"fruit": "apple", "cultivars": ["Rome Beauty", "Lodi"]}, True, "bloom"),
        ({"fruit": "apple", "cultivars": ["Mutsu", "Golden Delicious", "Cortland"]}, False, None),
        ({"fruit": "apple", "cultivars": ["Rome Beauty"], "pollen_partner": {"cultivar": "Empire", "distance": "5 m"}},
         True, "bloom"),
        ({"fruit": "sweet-cherry", "cultivars": ["Bing", "Lambert"]}, True, "bloom"),  # from memory: one group
        ({"fruit": "sweet-cherry", "cultivars": ["Stella"]}, None, None),
        ({"fruit": "peach", "cultivars": ["Redhaven"]}, None, None),
        ({"fruit": "apple"}, None, None),
    ],
)
def test_a_cultivar_lacks_a_partner_or_has_one_or_it_is_not_known(block, lacks, why):
    found = facts("2026-03-10", blocks=[{"id": "b", **block}]).get("pollen-partner:b")
    assert (found.fields["lacks"] if found else None) is lacks
    assert (found.fields.get("why") if found else None) == why


def test_trees_of_another_block_leave_the_partner_open():
    blocks = [{"id": name, "fruit": "apple", "cultivars": [kind]} for name, kind in (("a", "Gala"), ("b", "Fuji"))]
    assert "pollen-partner:a" not in facts("2026-03-10", blocks=blocks)
