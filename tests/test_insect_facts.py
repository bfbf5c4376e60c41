"""Facts on insects: when heat starts, how much there is, what a count says. Sums are held against a plain reckoning."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

import numpy as np
import pytest

from advisor.ecosystem import knowledge
from advisor.fact import Fact
from advisor.facts import Situation, gather
from advisor.facts.thresholds import MEASURES
from advisor.orchard import load_orchard
from advisor.rulebook import load_kinds
from advisor.weather import read_weather
from scenarios.orchards import UPPER, orchard
from scenarios.seasons import hours

KINDS = load_kinds(files("advisor.rules") / "kinds.yaml")
CODLING = "codling-moth"


def facts(
    on: str,
    seen: list[dict[str, Any]],
    weather: list[dict[str, object]] | None = None,
    block: Mapping[str, Any] = UPPER,
    forecast: list[dict[str, object]] | None = None,
    **about: Any,
) -> dict[str, Fact]:
    """Facts of one day by id."""
    file = load_orchard(orchard([block], [{"block": "upper", **one} for one in seen], **about))
    measured = read_weather(weather, file.zone) if weather else None
    ahead = read_weather(forecast, file.zone) if forecast else None
    now = Situation.of(file, dt.date.fromisoformat(on), measured, ahead, knowledge())
    return {fact.id: fact for fact in gather(now, KINDS).facts}


def catch(date: str, count: float, **more: Any) -> dict[str, Any]:
    return {"date": date, "kind": "pest-count", "pest": CODLING, "count": count, "per": "trap", "trap": "pheromone",
            "days": 7, **more}


def stage(date: str, word: str) -> dict[str, Any]:
    return {"date": date, "kind": "tree-stage", "stage": word}


def heat(found: Mapping[str, Fact], pest: str = CODLING) -> Mapping[str, Any]:
    return found[f"pest-heat:upper:{pest}"].fields


def window(found: Mapping[str, Fact], name: str, pest: str = CODLING) -> Mapping[str, Any]:
    return found[f"pest-window:upper:{pest}:{name}"].fields


def level(found: Mapping[str, Fact], pest: str = CODLING) -> Mapping[str, Any]:
    return found[f"pest-level:upper:{pest}"].fields


EVEN = hours("2026-01-01", "2026-08-31", 18.0)


# --- the start of a flight -------------------------------------------------------------------------------------------
def test_two_checks_running_start_the_heat() -> None:
    """Michigan State University: first moth, provided moths are caught on two successive trapping dates."""
    seen = [catch("2026-05-10", 1), catch("2026-05-17", 0), catch("2026-05-24", 1), catch("2026-05-31", 2)]
    found = facts("2026-06-02", seen, EVEN)
    assert heat(found)["by"] == "traps"
    assert heat(found)["days_ago"] == 9  # since 24 May, the first of the two


def test_a_full_first_check_needs_no_second() -> None:
    """Purdue University, Facts for Fancy Fruit: a first sustained flight of three to five moths."""
    assert heat(facts("2026-05-26", [catch("2026-05-24", 4)], EVEN))["by"] == "traps"
    assert heat(facts("2026-05-26", [catch("2026-05-24", 2)], EVEN))["by"] == "calendar"


def daily_checks() -> list[dict[str, Any]]:
    return [catch(f"2026-05-{day}", 1, days=1) for day in (10, 11, 12, 13, 14)]


@pytest.mark.parametrize(("swing", "days_ago"), [(0.0, 6), (None, None)])
def test_california_asks_for_warm_sunsets(swing: float | None, days_ago: int | None) -> None:
    """University of California, pear traps: three days running with moths and 16.7 °C (62 °F) at sunset."""
    warm = hours("2026-01-01", "2026-05-31", 18.0 if swing == 0 else 14.0, swing=0.0)
    found = facts("2026-05-16", daily_checks(), warm, latitude=38.5, longitude=-121.7, timezone="America/Los_Angeles",
                  guidance="california")
    if days_ago is None:
        assert heat(found)["by"] == "calendar"
    else:
        assert (heat(found)["by"], heat(found)["days_ago"]) == ("traps", days_ago)


def test_where_no_trap_was_read_heat_tells_the_flight() -> None:
    """The published 175 °F days from the start of the year; 14.4 a day reach it on the 13th day."""
    found = facts("2026-01-20", [], EVEN)
    assert window(found, "flight")["opens"] == -7
    assert heat(found)["degree_days"] == pytest.approx(20 * 14.4 - 175, abs=1.0)


def test_traps_that_catch_nothing_overrule_the_heat_of_the_calendar() -> None:
    found = facts("2026-02-10", [catch("2026-02-05", 0), catch("2026-02-09", 0)], EVEN)
    assert window(found, "hatch")["state"] == "ahead"
    assert heat(found)["begun"] is False
    assert window(facts("2026-02-10", [], EVEN), "hatch")["state"] == "open"


# --- heat ------------------------------------------------------------------------------------------------------------
def test_heat_agrees_with_a_plain_single_sine() -> None:
    """Codling moth: single sine between 10 and 31.1 °C, here summed in small steps of the curve of each day."""
    weather = hours("2026-05-01", "2026-06-30", lambda day: 6 + day * 0.4, swing=8.0)
    found = facts("2026-06-20", [catch("2026-05-10", 4), catch("2026-05-17", 4)], weather)
    angles = (np.arange(20_000) + 0.5) / 20_000 * 2 * math.pi
    total = 0.0
    for day in range(9, 51):  # 10 May to 20 June
        curve = 6 + day * 0.4 + 8.0 * np.sin(angles)
        total += float(np.mean(np.clip(curve, 10.0, 31.1) - 10.0)) * 1.8
    assert heat(found)["degree_days"] == pytest.approx(total, rel=0.002)


def test_curculio_is_over_at_308_from_petal_fall() -> None:
    """University of Vermont 2008: daily (high + low) / 2 - 50 °F from petal fall, until 308."""
    seen = [stage("2026-05-20", "petal-fall")]
    assert window(facts("2026-06-09", seen, EVEN), "laying", "plum-curculio")["state"] == "open"  # 21 x 14.4 = 302
    assert window(facts("2026-06-10", seen, EVEN), "laying", "plum-curculio")["state"] == "over"  # 22 x 14.4 = 317


def test_curculio_in_tart_cherry_counts_from_bloom() -> None:
    """Michigan State University: 375 °F days after full bloom in tart cherry."""
    tart = {**UPPER, "fruit": "tart-cherry"}
    found = facts("2026-06-09", [stage("2026-05-20", "full-bloom"), stage("2026-06-05", "fruit-set")], EVEN, tart)
    assert window(found, "laying", "plum-curculio")["state"] == "open"
    assert "full-bloom" in found["pest-heat:upper:plum-curculio"].text


def test_hours_that_are_missing_are_not_cold() -> None:
    """A week without a record: no sum, what is sure stands, and a window is named only where it is proven."""
    seen = [catch("2026-05-20", 4), catch("2026-05-27", 4)]
    gap = [row for row in EVEN if not "2026-06-01" <= str(row["time"])[:10] <= "2026-06-07"]
    found = facts("2026-06-08", seen, gap)
    assert "degree_days" not in heat(found)
    assert heat(found)["at_least"] == pytest.approx(13 * 14.4, abs=1.0)
    assert "state" not in window(found, "hatch")  # between 187 and 453 °F days
    assert window(facts("2026-06-30", seen, gap), "hatch")["state"] == "open"  # 504 at the least, 770 at most
    assert window(found, "second-flight")["state"] == "ahead"


def test_without_weather_nothing_is_known_of_the_hatch() -> None:
    found = facts("2026-06-20", [catch("2026-05-20", 4), catch("2026-05-27", 4)])
    assert "degree_days" not in heat(found)
    assert "state" not in window(found, "hatch")
    assert "opens" not in window(found, "hatch")


def test_the_day_ahead_follows_the_forecast_and_then_the_last_days() -> None:
    seen = [catch("2026-05-20", 4), catch("2026-05-27", 4)]
    measured = [row for row in EVEN if str(row["time"])[:10] <= "2026-05-28"]  # 9 x 14.4 = 130 of 250
    assert window(facts("2026-05-28", seen, measured), "hatch")["opens"] == 9  # 8.3 days of 14.4
    warmer = hours("2026-05-29", "2026-06-05", 28.0, swing=0.0)  # 32.4 a day
    assert window(facts("2026-05-28", seen, measured, forecast=warmer), "hatch")["opens"] == 4


def test_the_southern_year_counts_from_july() -> None:
    """The same heat half a year later; 1 March in the sources is 1 September there."""
    south = {"latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"}
    found = facts("2026-07-20", [], hours("2026-07-01", "2026-12-31", 18.0), **south)
    assert window(found, "flight")["opens"] == -7
    peach = {**UPPER, "fruit": "peach"}
    found = facts("2026-09-30", [], hours("2026-07-01", "2026-12-31", 18.0), peach, **south)
    assert heat(found, "peachtree-borer")["degree_days"] == pytest.approx(30 * 14.4, abs=1.0)


# --- counts ----------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("guidance", "over"), [("washington", True), ("uk", False)])
def test_the_region_decides_how_many_are_many(guidance: str, over: bool) -> None:
    """Washington State University: 2 in each of two weeks; NIAB: 5 in a week."""
    found = facts("2026-06-10", [catch("2026-06-03", 3), catch("2026-06-10", 3)], guidance=guidance)
    assert level(found)["over"] is over
    assert level(found)["region"] == guidance


def test_washington_asks_for_two_weeks() -> None:
    """Brunner 2018, Washington State University."""
    assert "over" not in level(facts("2026-06-10", [catch("2026-06-10", 5)], guidance="washington"))
    two = [catch("2026-06-03", 0), catch("2026-06-10", 5)]
    assert level(facts("2026-06-10", two, guidance="washington"))["over"] is False


def test_a_catch_is_scaled_to_the_density_of_its_figure() -> None:
    """A trap for 1.0 ha in Washington: 3 moths in a trap that serves 2 ha are 1.5 there."""
    dense = [catch("2026-06-03", 3, trap_area="2 ha"), catch("2026-06-10", 3, trap_area="2 ha")]
    assert level(facts("2026-06-10", dense, guidance="washington"))["measured"] == pytest.approx(1.52, abs=0.01)
    lone = [catch("2026-06-03", 3, trap_area="0.1 ha"), catch("2026-06-10", 3, trap_area="0.1 ha")]
    assert "over" not in level(facts("2026-06-10", lone, guidance="washington"))


def white(pest: str, date: str, count: float, **more: Any) -> dict[str, Any]:
    return {"date": date, "kind": "pest-count", "pest": pest, "count": count, "per": "trap", "trap": "white-sticky",
            **more}


def test_white_traps_are_summed_over_their_stages() -> None:
    """Coli and others 1985: 4.7 sawflies from pink to petal fall; 2.4 plant bugs to tight cluster, 4.2 to pink."""
    stages = [stage("2026-04-12", "silver-tip"), stage("2026-04-28", "tight-cluster"), stage("2026-05-05", "pink")]
    saw = [white("apple-sawfly", "2026-04-30", 9), white("apple-sawfly", "2026-05-07", 2),
           white("apple-sawfly", "2026-05-10", 3)]
    found = facts("2026-05-10", [*stages, *saw], guidance="new-england")
    assert level(found, "apple-sawfly")["measured"] == 5
    assert level(found, "apple-sawfly")["over"] is True
    bugs = [white("tarnished-plant-bug", "2026-04-20", 2), white("tarnished-plant-bug", "2026-04-27", 1)]
    early = facts("2026-04-28", [*stages[:2], *bugs], guidance="new-england")
    assert (level(early, "tarnished-plant-bug")["measured"], level(early, "tarnished-plant-bug")["over"]) == (3, True)
    late = facts("2026-05-05", [*stages, *bugs], guidance="new-england")
    assert level(late, "tarnished-plant-bug")["threshold"] == 4.2
    assert level(late, "tarnished-plant-bug")["over"] is False


def test_an_insecticide_before_bloom_changes_the_figure_of_sawfly() -> None:
    """Coli and others 1985: 5.5 where an insecticide was used before bloom."""
    seen = [stage("2026-05-05", "pink"), white("apple-sawfly", "2026-05-07", 5)]
    spray = {"date": "2026-04-25", "kind": "work", "practice": "insecticide", "material": "spinosad"}
    assert level(facts("2026-05-08", seen, guidance="new-england"), "apple-sawfly")["over"] is True
    assert level(facts("2026-05-08", [*seen, spray], guidance="new-england"), "apple-sawfly")["over"] is False


@pytest.mark.parametrize(("trap", "threshold"), [("baited-red-sphere", 5), ("red-sphere", 1)])
def test_maggot_spheres_are_summed_by_their_kind(trap: str, threshold: float) -> None:
    """Agnello and others 1990: 5 on a baited sphere; a bare sphere catches less (from memory: 1 to 2)."""
    seen = [{"date": date, "kind": "pest-count", "pest": "apple-maggot", "count": 2, "per": "trap", "trap": trap}
            for date in ("2026-07-15", "2026-07-22")]
    found = level(facts("2026-07-22", seen, guidance="new-york"), "apple-maggot")
    assert (found["measured"], found["threshold"], found["over"]) == (4, threshold, threshold <= 4)
    kaolin = {"date": "2026-07-18", "kind": "work", "practice": "kaolin"}
    assert level(facts("2026-07-22", [*seen, kaolin], guidance="new-york"), "apple-maggot")["measured"] == 2


def aphids(**more: Any) -> dict[str, Any]:
    return {"date": "2026-06-25", "kind": "pest-count", "pest": "green-apple-aphid", **more}


def test_unlike_is_not_compared_with_unlike() -> None:
    """Aphids on a leaf say nothing against a share of shoots; the level stays open."""
    found = level(facts("2026-06-25", [aphids(count=40, per="leaf")]), "green-apple-aphid")
    assert "over" not in found
    assert (found["fits"], found["found"], found["known_figure"]) == (False, True, True)


def test_none_is_absence_and_nothing_is_nothing() -> None:
    found = facts("2026-06-25", [aphids(count=0, per="leaf")])
    assert level(found, "green-apple-aphid")["over"] is False
    assert "pest-level:upper:green-apple-aphid" not in facts("2026-06-25", [])


def test_counts_at_odds_leave_the_level_open() -> None:
    found = level(facts("2026-06-25", [aphids(infested=0.5), aphids(infested=0.1)]), "green-apple-aphid")
    assert found["contradicted"] is True
    assert "over" not in found
    twice = level(facts("2026-06-25", [aphids(infested=0.5), aphids(infested=0.5)]), "green-apple-aphid")
    assert twice["over"] is True


def test_of_two_measures_the_worse_counts() -> None:
    """NIAB: 30 % of shoots infested or 10 % curled."""
    found = level(facts("2026-06-25", [aphids(infested=0.2, curled=0.15)]), "green-apple-aphid")
    assert (found["over"], found["figure"]) == (True, "green-apple-aphid.shoots-curled")


def test_a_sample_says_how_sure_it_is() -> None:
    fact = facts("2026-06-25", [aphids(infested=0.1, sample=50)])["pest-level:upper:green-apple-aphid"]
    assert "by a sample of 50 between 5% and 19%" in fact.text  # Wilson 1927: 0.0486 to 0.1945 at z = 1.645


@pytest.mark.parametrize(("weeks", "threshold"), [(5, 2.5), (10, 5), (13, 7.5)])
def test_mites_are_borne_by_the_season(weeks: int, threshold: float) -> None:
    """Cornell IPM Publication 215, 1998: 2.5 before July, 5 in July, 7.5 in August."""
    bloom = dt.date(2026, 5, 8)
    on = (bloom + dt.timedelta(weeks=weeks)).isoformat()
    seen = [stage(bloom.isoformat(), "full-bloom"), stage(on, "half-grown"),
            {"date": on, "kind": "pest-count", "pest": "european-red-mite", "count": 3, "per": "leaf"}]
    found = level(facts(on, seen, guidance="new-york"), "european-red-mite")
    assert (found["threshold"], found["over"]) == (threshold, threshold <= 3)


def test_old_counts_do_not_speak() -> None:
    assert "pest-level:upper:green-apple-aphid" not in facts("2026-07-10", [aphids(infested=0.5)])


# --- enemies ---------------------------------------------------------------------------------------------------------
def enemies(seen: list[dict[str, Any]], pest: str, on: str = "2026-06-25") -> Mapping[str, Any]:
    return facts(on, seen)[f"pest-enemies:upper:{pest}"].fields


def ally(name: str, **more: Any) -> dict[str, Any]:
    return {"date": "2026-06-25", "kind": "ally-count", "ally": name, **more}


def test_enemies_by_share_by_word_and_not_looked_for() -> None:
    pest = "green-apple-aphid"
    assert enemies([aphids(infested=0.5), ally("hover-fly", share=0.3)], pest)["at_work"] is True
    assert enemies([aphids(infested=0.5), ally("hover-fly", share=0.05)], pest)["at_work"] is False
    assert enemies([aphids(infested=0.5), ally("lacewing", abundance="many")], pest)["at_work"] is True
    nobody = enemies([aphids(infested=0.5)], pest)
    assert nobody["looked"] is False
    assert "at_work" not in nobody
    pollinator = enemies([aphids(infested=0.5), ally("mason-bee", abundance="many")], pest)
    assert pollinator["looked"] is False  # what does not eat it says nothing


@pytest.mark.parametrize(("earwigs", "at_work"), [(20, True), (5, False)])
def test_earwigs_hold_woolly_aphid(earwigs: float, at_work: bool) -> None:
    """University of Tasmania: more than 14 earwigs a trunk trap a week."""
    woolly = {"date": "2026-06-25", "kind": "pest-count", "pest": "woolly-apple-aphid", "infested": 0.1, "per": "tree"}
    seen = [woolly, ally("earwig", count=earwigs, per="trunk-trap", days=7)]
    assert enemies(seen, "woolly-apple-aphid")["at_work"] is at_work


@pytest.mark.parametrize(("prey", "at_work"), [(8, True), (12, False)])
def test_one_predatory_mite_holds_ten(prey: float, at_work: bool) -> None:
    """One predator to ten red mites (from memory, and a pest note on the western predatory mite)."""
    mites = {"date": "2026-06-25", "kind": "pest-count", "pest": "european-red-mite", "count": prey, "per": "leaf"}
    assert enemies([mites, ally("predatory-mite", count=1, per="leaf")], "european-red-mite")["at_work"] is at_work


# --- the tables ------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("measure", MEASURES, ids=lambda m: f"{m.figure}-{m.read}")
def test_every_measure_reads_a_figure_of_its_own_unit(measure: Any) -> None:
    unit = knowledge().figure(measure.figure).unit
    wanted = {"weekly": {"per trap"}, "season": {"per trap"}, "count": {f"per {p}" for p in measure.per if p}}
    assert unit in wanted.get(measure.read, {"share"})
