"""The weeks of the season, from small orchards whose weather is known by hand."""

from __future__ import annotations

import datetime as dt
from typing import Any

from advisor import advise
from advisor.api.pages.season_page import season_page
from advisor.api.pages.season_weeks import Week, monday, season_weeks

HEAD: dict[str, Any] = {"name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York",
                        "hours_per_week": {"april": 10, "may": 22}}  # fmt: skip
BLOCK = {"id": "upper", "fruit": "apple", "trees": 40, "spacing": "6 m x 5 m", "understory": ["dandelion"]}


def hourly(first: str, days: int, **fixed: float) -> list[dict[str, Any]]:
    """So many days of hours: 10 °C, dry; `fixed` overrides."""
    start = dt.datetime.fromisoformat(f"{first}T00:00:00-04:00")
    row = {"temp_c": 10.0, "humidity_pct": 60.0, "rain_mm": 0.0, "wind_ms": 1.0, **fixed}
    return [{"time": (start + dt.timedelta(hours=n)).isoformat(), **row} for n in range(days * 24)]


def weeks_of(given: dict[str, Any], on: str, **more: Any) -> dict[dt.date, Week]:
    answer = advise(given, on=on, **more)
    plan = answer.plan()
    return {week.start: week for week in season_weeks(answer, plan, [])}


def orchard(*observations: dict[str, Any], **head: Any) -> dict[str, Any]:
    return {"orchard": {**HEAD, **head}, "blocks": [BLOCK], "observations": list(observations)}


def seen(date: str, stage: str) -> dict[str, Any]:
    return {"date": date, "kind": "tree-stage", "block": "upper", "stage": stage}


def test_a_week_sums_its_rain_and_names_its_hot_and_frosty_days() -> None:
    """32 °C is the figure for fruit that burns (common practice, no source); water freezes at 0 °C."""
    sky = [*hourly("2026-05-04", 2, rain_mm=0.25), *hourly("2026-05-06", 1, temp_c=33.0), *hourly("2026-05-07", 1, temp_c=-1.5),
           *hourly("2026-05-08", 4)]  # fmt: skip
    week = weeks_of(orchard(seen("2026-05-04", "pink")), "2026-05-11", weather=sky)[dt.date(2026, 5, 4)]
    assert week.sky is not None
    assert week.sky.rain == 12.0  # 48 hours of 0.25 mm
    assert week.sky.days == 7
    assert week.sky.heat == ((dt.date(2026, 5, 6), 33.0),)
    assert week.sky.frost == ((dt.date(2026, 5, 7), -1.5),)
    assert (week.sky.low, week.sky.high) == (-1.5, 33.0)


def test_weather_that_is_not_known_is_not_dry() -> None:
    found = weeks_of(orchard(seen("2026-04-27", "pink")), "2026-05-11", weather=hourly("2026-05-05", 2))
    assert found[dt.date(2026, 4, 27)].sky is None
    part = found[dt.date(2026, 5, 4)].sky
    assert part is not None
    assert part.days == 2
    context = season_page(advise(orchard(seen("2026-04-27", "pink")), on="2026-05-11"))
    rows = {row["id"]: dict(row["cells"]) for row in context["rows"]}
    assert rows["week-2026-04-27"]["Sky"] == ["not known"]
    assert any("not known" in note for note in context["notes"])


def test_stages_stand_in_the_week_in_which_they_were_seen() -> None:
    found = weeks_of(orchard(seen("2026-05-06", "full-bloom"), seen("2026-05-14", "petal-fall")), "2026-05-18")
    assert ("upper", "full bloom") in found[dt.date(2026, 5, 4)].stages
    assert ("upper", "petal fall") in found[dt.date(2026, 5, 11)].stages
    assert found[dt.date(2026, 5, 4)].in_bloom == ("upper",)
    assert found[dt.date(2026, 6, 1)].in_bloom == ()


def test_work_that_was_done_counts_with_its_hours() -> None:
    work = {"date": "2026-05-06", "kind": "work", "practice": "mow-alleys", "block": "upper", "hours": 2.5}
    more = {"date": "2026-05-08", "kind": "work", "practice": "scout"}
    week = weeks_of(orchard(seen("2026-05-06", "full-bloom"), work, more), "2026-05-18")[dt.date(2026, 5, 4)]
    assert [(job.practice, job.group, job.hours, job.done) for job in week.jobs] == [
        ("mow-alleys", "floor", 2.5, True), ("scout", "watching", None, True)]  # fmt: skip
    assert week.done == 2.5
    assert week.supply == 22


def test_hours_of_months_that_are_not_given_are_not_known() -> None:
    found = weeks_of(orchard(seen("2026-03-30", "silver-tip")), "2026-05-04")
    assert found[dt.date(2026, 3, 30)].supply is None
    assert found[dt.date(2026, 4, 6)].supply == 10


def test_weeks_run_without_a_hole_and_one_of_them_is_now() -> None:
    found = list(weeks_of(orchard(seen("2026-05-06", "full-bloom")), "2026-05-20").values())
    starts = [week.start for week in found]
    assert starts == [starts[0] + dt.timedelta(days=7 * n) for n in range(len(starts))]
    assert all(start == monday(start) for start in starts)
    assert [week.start for week in found if week.now] == [dt.date(2026, 5, 18)]
    assert all(week.past == (week.end < dt.date(2026, 5, 20)) for week in found)


def test_the_south_begins_its_season_in_july() -> None:
    given = orchard(seen("2026-10-20", "full-bloom"), latitude=-41.2, longitude=173.0, timezone="Pacific/Auckland",
                    units="us")  # fmt: skip
    answer = advise(given, on="2026-11-02")
    context = season_page(answer)
    assert context["year"] == "2026-27"
    days = [row["id"].removeprefix("week-") for row in context["rows"]]
    assert "2026-07-01" <= days[0] < days[-1]
    assert "2026-10-19" in days


def test_temperatures_and_rain_follow_the_units_of_the_orchard() -> None:
    given = orchard(seen("2026-05-04", "pink"), units="us")
    context = season_page(advise(given, on="2026-05-11", weather=hourly("2026-05-04", 8, rain_mm=0.5)))
    sky = dict(next(row for row in context["rows"] if row["id"] == "week-2026-05-04")["cells"])["Sky"]
    assert sky[0] == "50°F to 50°F"
    assert sky[1] == "rain 3.31 in"  # 168 hours of 0.5 mm are 84 mm; an inch is 25.4 mm
