"""Facts on infection: windows by stage, missing hours, junipers, covers, night rain, the south, and summed wetness."""

import datetime as dt

import pytest

from advisor.advice import default_rules
from advisor.ecosystem import knowledge
from advisor.facts import Situation, gather
from advisor.orchard import load_orchard
from advisor.science.cultivar_resistance import resistance
from advisor.weather import read_weather
from scenarios.skies import sky

KINDS = default_rules().kinds
NORTH = {"name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York"}
SOUTH = {"name": "Larkfield", "latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"}


def facts(on, observations=(), weather=None, forecast=None, place=None, habitats=(), **block):
    file = load_orchard({"orchard": place or NORTH, "habitats": list(habitats), "observations": list(observations),
                         "blocks": [{"id": "b", "fruit": "apple", **block}]})  # fmt: skip
    measured, ahead = (None if rows is None else read_weather(rows, file.zone) for rows in (weather, forecast))
    now = Situation.of(file, dt.date.fromisoformat(on), measured, ahead, knowledge())
    return gather(now, KINDS).facts


def of(found, kind, **fields):
    return [f.fields for f in found if f.kind == kind and all(f.fields.get(n) == v for n, v in fields.items())]


def seen(date, stage, **more):
    return {"date": date, "kind": "tree-stage", "stage": stage, **more}


SPRING = [seen("2026-04-12", "green-tip"), seen("2026-04-24", "tight-cluster")]
RAIN_26 = {"2026-04-26": (8, 22)}


# --- scab ----------------------------------------------------------------------------------------


def test_a_wetting_is_an_infection_with_its_hours_temperature_and_the_day_it_shows():
    # Ontario table: 14 h at about 13 °C are a moderate infection; spots after 14 days at 12 to 13 °C
    (one,) = of(facts("2026-04-28", SPRING, sky("2026-04-01", "2026-04-28", 9, 15, RAIN_26)), "infection",
                disease="apple-scab")  # fmt: skip
    assert (one["severity"], one["wet_hours"], one["days_ago"]) == ("moderate", 14, 2)
    assert 12 < one["mean"] < 15
    assert one["shows_in"] == 12
    assert one["covered"] is False
    assert one["reached"] is False
    assert one["forecast"] is False


def test_a_wetting_before_green_tip_infects_nothing():
    early = sky("2026-04-01", "2026-04-28", 9, 15, {"2026-04-05": (8, 22)})
    assert of(facts("2026-04-28", SPRING, early), "infection", disease="apple-scab") == []


def test_a_spray_before_the_rain_covers_and_one_after_it_does_not():
    weather = sky("2026-04-01", "2026-04-28", 9, 15, RAIN_26)
    for day, covered in (("2026-04-25", True), ("2026-04-17", False), ("2026-04-27", False)):
        work = {"date": day, "kind": "work", "practice": "sulphur"}
        (one,) = of(facts("2026-04-28", [*SPRING, work], weather), "infection", disease="apple-scab")
        assert one["covered"] is covered, day


def test_rain_washes_a_cover_off():
    work = {"date": "2026-04-22", "kind": "work", "practice": "sulphur"}
    wash = {"2026-04-24": (0, 6), **RAIN_26}
    soaked = facts("2026-04-28", [*SPRING, work], sky("2026-04-01", "2026-04-28", 9, 15, wash, mm=6.0))
    later = [f for f in of(soaked, "infection", disease="apple-scab") if f["days_ago"] == 2]
    assert later[0]["covered"] is False
    assert of(soaked, "cover")[0]["holds"] is False
    dry = facts("2026-04-28", [*SPRING, work], sky("2026-04-01", "2026-04-28", 9, 15))
    assert of(dry, "cover")[0]["holds"] is True


def test_night_rain_counts_from_sunrise_only_where_last_autumn_was_clean():
    # West Virginia University, after MacHardy and Gadoury: 1 % of leaves at leaf fall
    night = sky("2026-04-01", "2026-04-28", 9, 15, {"2026-04-26": (22, 24), "2026-04-27": (0, 9)})
    counted = {}
    for share in (0.08, 0.005):
        autumn = {"date": "2025-10-30", "kind": "leaf-fall", "scab_on_leaves": share}
        found = facts("2026-04-28", [autumn, *SPRING], night)
        counted[share] = of(found, "infection", disease="apple-scab")
        assert of(found, "spore-season", disease="apple-scab")[0]["clean"] is (share <= 0.01)
    assert counted[0.08][0]["wet_hours"] == 11
    assert counted[0.005] == []  # three hours after sunrise are too short
    nobody_counted = of(facts("2026-04-28", SPRING, night), "infection", disease="apple-scab")
    assert nobody_counted[0]["wet_hours"] == 11


def test_spores_ripen_with_warmth_and_stand_still_in_drought():
    showers = {f"2026-04-{day:02d}": (3, 5) for day in range(12, 29, 4)}
    wet = of(facts("2026-04-28", SPRING, sky("2026-04-01", "2026-04-28", 9, 15, showers)), "spore-season")[0]
    dry = of(facts("2026-04-28", SPRING, sky("2026-04-01", "2026-04-28", 9, 15)), "spore-season")[0]
    assert wet["degree_days"] == pytest.approx(17 * 12, rel=0.02)
    assert dry["degree_days"] == pytest.approx(7 * 12, rel=0.02)  # Stensvand et al. 2005: seven days, then a halt
    assert dry["halted"] is True
    assert wet["mature"] > dry["mature"]


def test_spring_spores_are_over_with_the_rain_after_418_degree_days():
    looks = [seen("2026-04-12", "green-tip"), seen("2026-05-20", "petal-fall")]
    showers = {f"2026-0{m}-{d:02d}": (3, 5) for m in (4, 5) for d in range(1, 31, 4)}
    for on, over in (("2026-05-08", False), ("2026-05-22", True)):
        found = facts(on, [o for o in looks if o["date"] <= on], sky("2026-04-01", on, 9, 15, showers))
        assert of(found, "spore-season", disease="apple-scab")[0]["over"] is over


# --- what is not known ---------------------------------------------------------------------------


def test_missing_hours_leave_the_severity_out():
    rows = sky("2026-04-01", "2026-04-28", 9, 15)
    gap = [r for r in rows if not r["time"].startswith("2026-04-26")]
    (one,) = of(facts("2026-04-28", SPRING, gap), "infection", disease="apple-scab")
    assert "severity" not in one
    assert "wet_hours" not in one
    assert of(facts("2026-04-28", SPRING, rows), "infection", disease="apple-scab") == []


def test_a_short_gap_in_dry_days_is_too_short_to_infect():
    dry = sky("2026-04-01", "2026-04-28", 9, 15)
    rows = [r for r in dry if r["time"][:13] not in ("2026-04-26T03", "2026-04-26T04")]
    assert of(facts("2026-04-28", SPRING, rows), "infection", disease="apple-scab") == []


def test_rain_without_humidity_infects_and_dry_days_without_humidity_are_dry():
    wet = facts("2026-04-28", SPRING, sky("2026-04-01", "2026-04-28", 9, 15, RAIN_26, humid=False))
    (one,) = of(wet, "infection", disease="apple-scab")
    assert one["severity"] == "moderate"
    assert any("rain alone" in f.text for f in wet if f.kind == "infection")
    dry = facts("2026-04-28", SPRING, sky("2026-04-01", "2026-04-28", 9, 15, humid=False))
    assert of(dry, "infection", disease="apple-scab") == []


def test_a_short_shower_without_humidity_stays_open():
    found = facts("2026-04-28", SPRING, sky("2026-04-01", "2026-04-28", 9, 15, {"2026-04-26": (8, 12)}, humid=False))
    (one,) = of(found, "infection", disease="apple-scab")
    assert "severity" not in one


def test_no_weather_and_no_stage_say_nothing():
    blind = facts("2026-04-28", SPRING)
    assert of(blind, "infection") == []
    assert all("coming" not in f for f in of(blind, "infection-outlook"))
    assert of(blind, "wet-day") == []
    assert "open" not in of(facts("2026-04-28", []), "spore-season", disease="apple-scab")[0]


def test_a_forecast_shorter_than_a_day_does_not_promise_dryness():
    weather = sky("2026-04-01", "2026-04-28", 9, 15)
    short = sky("2026-04-29", "2026-04-29", 9, 15)[:10]
    outlook = of(facts("2026-04-28", SPRING, weather, short), "infection-outlook", disease="apple-scab")[0]
    assert "coming" not in outlook


def test_written_forecasts_say_what_may_come():
    told = {"date": "2026-04-28", "kind": "forecast", "day": "2026-04-29"}
    rain = {**told, "rain": "9 mm", "low": "8 °C", "high": "16 °C"}
    outlook = of(facts("2026-04-28", [*SPRING, rain]), "infection-outlook", disease="apple-scab")[0]
    assert (outlook["coming"], outlook["starts_in"]) == ("may-infect", 1)
    assert outlook["needs_hours"] == 8  # Ontario table at 12 °C
    cold = {**rain, "low": "-4 °C", "high": "2 °C"}
    outlook = of(facts("2026-04-28", [*SPRING, cold]), "infection-outlook", disease="apple-scab")[0]
    assert outlook["coming"] == "none"  # no published figure below 1 °C


# --- fire blight ---------------------------------------------------------------------------------

BLOOM = [seen("2026-05-08", "king-bloom"), seen("2026-05-11", "full-bloom")]


@pytest.mark.parametrize(("low", "high", "rain", "coming", "lacking"), [
    (15, 29, True, "infects", "nothing"),
    (15, 29, False, "near", "wet"),
    (6, 15, True, "low", "heat, warm day"),
])  # fmt: skip
def test_the_four_conditions_of_blossom_blight(low, high, rain, coming, lacking):
    ahead = sky("2026-05-13", "2026-05-15", low, high, {"2026-05-13": (14, 19)} if rain else None)
    (outlook,) = of(facts("2026-05-12", BLOOM, sky("2026-05-01", "2026-05-12", low, high), ahead), "blight-outlook")
    assert outlook["coming"] == coming
    assert outlook["lacking"] == lacking


def test_blight_in_the_south_follows_the_bloom_and_not_the_month():
    looks = [seen("2026-10-08", "king-bloom"), seen("2026-10-11", "full-bloom")]
    ahead = sky("2026-10-13", "2026-10-15", 15, 29, {"2026-10-13": (14, 19)})
    (outlook,) = of(facts("2026-10-12", looks, sky("2026-10-01", "2026-10-12", 15, 29), ahead, SOUTH), "blight-outlook")
    assert outlook["coming"] == "infects"


def test_strikes_are_due_by_warmth_after_an_infected_bloom():
    # Steiner: 57 degree-days above 12.7 °C; at a steady mean of 22 °C about 6 days
    weather = sky("2026-05-01", "2026-05-14", 15, 29, {"2026-05-13": (14, 19)})
    days = of(facts("2026-05-14", BLOOM, weather), "blight-day", day=-1)
    assert days[0]["infection"] is True
    assert 3 <= days[0]["shows_in"] <= 7


def test_blight_days_stop_at_petal_fall():
    looks = [*BLOOM, seen("2026-05-15", "petal-fall")]
    weather = sky("2026-05-01", "2026-05-25", 15, 29, {"2026-05-20": (14, 19)})
    found = facts("2026-05-25", looks, weather)
    assert max(f["day"] for f in of(found, "blight-day")) == -11
    assert of(found, "blight-outlook") == []


def test_written_heat_and_rain_are_enough_for_an_alarm():
    told = {"date": "2026-05-12", "kind": "forecast", "low": "18 °C", "high": "31 °C"}
    ahead = [{**told, "day": "2026-05-13", "rain": "0 mm"}, {**told, "day": "2026-05-14", "rain": "6 mm"}]
    (outlook,) = of(facts("2026-05-12", [*BLOOM, *ahead]), "blight-outlook")
    assert outlook["coming"] == "infects"
    assert outlook["starts_in"] == 2


# --- rust, resistance, others --------------------------------------------------------------------


def test_junipers_near_far_and_not_known():
    def near(distance=None, **block):
        hedge = [{"id": "h", "kind": "hedge", "plants": ["eastern-redcedar"], "distance": distance}] if distance else []
        return of(facts("2026-05-05", [seen("2026-05-05", "pink")], habitats=hedge, **block), "spore-season",
                  disease="cedar-apple-rust")[0].get("host_near")  # fmt: skip

    assert near("40 m") is True
    assert near("2 km") is None  # beyond half a mile nobody can say that none stands nearer
    assert near() is None
    assert near(history=["cedar-apple-rust"]) is True


def test_cultivars_that_resist():
    # West Virginia University, Yoder and Biggs
    assert resistance("Liberty", "apple-scab") == "very-resistant"
    assert resistance("GoldRush", "cedar-apple-rust") == "highly-susceptible"
    assert resistance("Delicious", "cedar-apple-rust") == "very-resistant"
    assert resistance("Jonathan", "powdery-mildew") == "highly-susceptible"
    assert resistance("Northern Spy", "apple-scab") is None
    with pytest.raises(ValueError, match="rated for"):
        resistance("Liberty", "brown-rot")
    mixed = facts("2026-05-05", [seen("2026-05-05", "pink")], cultivars=["Liberty", "McIntosh"])
    assert of(mixed, "resistance", disease="apple-scab")[0]["needs_control"] is True
    pure = facts("2026-05-05", [seen("2026-05-05", "pink")], cultivars=["Liberty", "Enterprise"])
    assert of(pure, "resistance", disease="apple-scab")[0]["needs_control"] is False


def test_a_disease_looked_for_and_not_found_is_not_here_and_one_found_stays():
    def here(*looks):
        signs = [{"date": d, "kind": "disease-sign", "disease": "apple-scab", "share": s} for d, s in looks]
        return of(facts("2026-06-10", [seen("2026-05-20", "petal-fall"), *signs]), "disease-here")

    assert here() == []
    assert here(("2026-06-01", 0))[0]["here"] is False
    assert here(("2026-06-01", 0.1))[0]["here"] is True
    assert here(("2026-06-01", 0.1), ("2026-06-08", 0))[0]["here"] is False


def test_leaf_curl_needs_a_long_cold_rain_on_swollen_buds():
    # Rossi et al. 2006: 3 mm, 12.5 h, below 16 °C
    looks = [seen("2026-03-20", "bud-swell")]
    for hours, found in (((6, 20), 1), ((6, 16), 0)):
        weather = sky("2026-03-01", "2026-03-28", 3, 11, {"2026-03-24": hours})
        curl = of(facts("2026-03-28", looks, weather, fruit="peach"), "infection", disease="peach-leaf-curl")
        assert len(curl) == found
    warm = sky("2026-03-01", "2026-03-28", 16, 24, {"2026-03-24": (6, 20)})
    assert of(facts("2026-03-28", looks, warm, fruit="peach"), "infection", disease="peach-leaf-curl") == []


def test_summer_wetness_sums_spells_since_ten_days_after_petal_fall():
    looks = [seen("2026-05-20", "petal-fall"), seen("2026-07-01", "half-grown")]
    rain = {"2026-05-25": (0, 12), "2026-06-05": (0, 12), "2026-06-10": (0, 2), "2026-06-15": (4, 14)}
    weather, elsewhere = sky("2026-05-01", "2026-07-01", 14, 24, rain), {**NORTH, "guidance": "california"}
    (sums,) = of(facts("2026-07-01", looks, weather, place=elsewhere), "summer-wetness")
    assert sums["hours"] == 22  # 12 and 10 h; the first lies too early, two hours are too short
    (sums,) = of(facts("2026-07-01", looks, weather, place={**NORTH, "guidance": "new-york"}), "summer-wetness")
    assert sums["hours"] == 34  # there hours are counted from petal fall itself (Acimovic 2017)
    gap = [r for r in weather if not r["time"].startswith("2026-06-20")]
    (sums,) = of(facts("2026-07-01", looks, gap, place=elsewhere), "summer-wetness")
    assert "hours" not in sums
    assert sums["at_least"] == 22


def test_mildew_winters_by_the_lowest_night():
    # NIAB -12, Country Folks Grower -24, Ohio State -28 °C
    looks = [seen("2026-04-24", "tight-cluster")]
    for low, word in ((-8, "likely"), (-15, "disputed"), (-26, "reduced"), (-30, "much-reduced")):
        weather = sky("2025-11-25", "2026-03-20", low, low + 8) + sky("2026-03-21", "2026-04-24", 6, 16)
        (found,) = of(facts("2026-04-24", looks, weather), "mildew-weather")
        assert found["carry_over"] == word
        assert found["infection_days"] == 7
    short = sky("2026-03-21", "2026-04-24", 6, 16)
    assert "carry_over" not in of(facts("2026-04-24", looks, short), "mildew-weather")[0]


def test_blocks_share_the_weather_and_read_it_by_their_own_stage():
    file = load_orchard({
        "orchard": NORTH,
        "blocks": [{"id": "early", "fruit": "apple"}, {"id": "late", "fruit": "apple"}],
        "observations": [
            seen("2026-04-12", "green-tip", block="early"), seen("2026-04-28", "silver-tip", block="late"),
        ],
    })  # fmt: skip
    weather = read_weather(sky("2026-04-20", "2026-04-28", 9, 15, RAIN_26), file.zone)
    now = Situation.of(file, dt.date(2026, 4, 28), weather, None, knowledge())
    found = gather(now, KINDS).facts
    assert [f["block"] for f in of(found, "infection", disease="apple-scab")] == ["early"]


# --- the rusts that need a juniper ---------------------------------------------------------------

BLOOM = [seen("2026-05-01", "tight-cluster"), seen("2026-05-12", "full-bloom")]
TWO_WET_DAYS = {f"2026-05-{day}": (0, 24) for day in (10, 11, 12)}


@pytest.mark.parametrize("fruit", ["apple", "pear", "quince"])
def test_three_wet_days_in_bloom_bring_quince_rust(fruit):
    # Cornell University: more than 48 h wet above 10 °C between tight cluster and petal fall
    weather = sky("2026-04-01", "2026-05-14", 11, 19, TWO_WET_DAYS)
    (one,) = of(facts("2026-05-14", BLOOM, weather, fruit=fruit), "infection", disease="quince-rust")
    assert one["wet_hours"] == 72
    assert one["severity"] == "infects"


@pytest.mark.parametrize(("low", "high", "wet"), [(2, 10, TWO_WET_DAYS), (11, 19, {"2026-05-08": (0, 24)})])
def test_cold_or_short_wettings_do_not(low, high, wet):
    weather = sky("2026-04-01", "2026-05-14", low, high, wet)
    assert of(facts("2026-05-14", BLOOM, weather), "infection", disease="quince-rust") == []


def test_pear_rust_has_a_season_and_no_hours():
    hedge = {"id": "hedge", "kind": "hedge", "plants": ["savin-juniper"], "distance": "200 m"}
    found = facts("2026-05-14", BLOOM, fruit="pear", habitats=[hedge])
    (season,) = of(found, "spore-season", disease="pear-rust")
    assert (season["open"], season["host_near"]) == (True, True)
    assert of(found, "infection", disease="pear-rust") == []
    (alone,) = of(facts("2026-05-14", BLOOM, fruit="pear"), "spore-season", disease="pear-rust")
    assert "host_near" not in alone
