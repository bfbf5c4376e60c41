"""Hourly weather: units, gaps, doubled and skipped hours, impossible values, merging, and a real year."""

import datetime as dt
import math
from zoneinfo import ZoneInfo

import numpy as np
import pytest

import airports
from advisor.errors import InputError
from advisor.weather import end_of, merge, read_weather

NEW_YORK = ZoneInfo("America/New_York")
ADELAIDE = ZoneInfo("Australia/Adelaide")


def table(*rows: str, header: str = "time,temp_c,rain_mm", zone: dt.tzinfo = NEW_YORK):  # type: ignore[no-untyped-def]
    return read_weather("\n".join([header, *rows]), zone, "w.csv")


def problems(*rows: str, header: str = "time,temp_c,rain_mm") -> list[str]:
    with pytest.raises(InputError) as refused:
        table(*rows, header=header)
    return [str(problem) for problem in refused.value.problems]


def test_metric_and_us_columns_are_one() -> None:
    metric = table("2026-05-01T06:00,10,2.54,4.4704", header="time,temp_c,rain_mm,wind_ms")
    us = table("2026-05-01T06:00,50,0.1,10", header="time,temp_f,rain_in,wind_mph")
    for name in ("temp_c", "rain_mm", "wind_ms"):
        assert getattr(metric, name)[0] == pytest.approx(getattr(us, name)[0])


def test_local_time_and_offset_are_the_same_hour() -> None:
    local = table("2026-05-01T06:00,10,0")
    utc = table("2026-05-01T10:00Z,10,0")
    there = table("2026-05-01T06:00-04:00,10,0")
    assert local.start == utc.start == there.start == dt.datetime(2026, 5, 1, 10, tzinfo=dt.UTC)


def test_a_time_within_the_hour_counts_for_that_hour() -> None:
    assert table("2026-05-01 06:51,10,0").start == dt.datetime(2026, 5, 1, 10, tzinfo=dt.UTC)


def test_gap_of_three_hours_is_filled_on_a_line_but_rain_is_not() -> None:
    read = table("2026-05-01T00:00,10,1", "2026-05-01T04:00,18,3")
    assert read.temp_c.tolist() == [10, 12, 14, 16, 18]
    assert np.isnan(read.rain_mm).tolist() == [False, True, True, True, False]
    assert read.report.filled == 3
    assert read.report.gaps == 0
    assert any("temp_c 3 hours" in text for text in read.report.sentences)
    assert any("rain_mm" in text and "not filled" in text for text in read.report.sentences)


def test_gap_of_four_hours_stays_unknown_and_is_named_in_local_time() -> None:
    read = table("2026-05-01T00:00,10,0", "2026-05-01T05:00,20,0")
    assert np.isnan(read.temp_c[1:5]).all()
    assert read.report.filled == 0
    assert read.report.gaps == 1
    assert any("2026-05-01 01:00 to 2026-05-01 05:00 (4 hours)" in text for text in read.report.sentences)


def test_nothing_is_filled_beyond_the_ends() -> None:
    read = table("2026-05-01T00:00,,0", "2026-05-01T01:00,10,0", "2026-05-01T02:00,,0")
    assert np.isnan(read.temp_c).tolist() == [True, False, True]


def test_of_two_rows_for_an_hour_the_later_counts_and_is_reported() -> None:
    read = table("2026-05-01T06:00,10,0", "2026-05-01T07:00,11,0", "2026-05-01T06:00,15,1")
    assert read.temp_c.tolist() == [15, 11]
    assert read.report.duplicates == 1
    assert any("2026-05-01 06:00" in text and "later row" in text for text in read.report.sentences)


def test_the_doubled_hour_of_autumn_takes_two_rows() -> None:
    # Clocks in New York went back at 02:00 on 3 November 2013 (US Energy Policy Act of 2005).
    read = table(*(f"2013-11-03T{hour},{temp},0" for hour, temp in
                   (("00:00", 1), ("01:00", 2), ("01:00", 3), ("02:00", 4))))
    assert read.temp_c.tolist() == [1, 2, 3, 4]
    assert read.report.duplicates == 0
    assert read.local_hours(NEW_YORK).tolist() == [0, 1, 1, 2]


def test_a_single_row_in_the_doubled_hour_leaves_a_gap_that_is_filled() -> None:
    read = table("2013-11-03T00:00,1,0", "2013-11-03T01:00,2,0", "2013-11-03T02:00,4,0")
    assert read.temp_c.tolist() == [1, 2, 3, 4]


def test_the_skipped_hour_of_spring_is_no_gap() -> None:
    read = table("2013-03-10T01:00,1,0", "2013-03-10T03:00,2,0")
    assert read.temp_c.tolist() == [1, 2]
    assert read.report.filled == 0


def test_a_row_in_the_skipped_hour_is_told() -> None:
    read = table("2013-03-10T01:00,1,0", "2013-03-10T02:00,9,0", "2013-03-10T03:00,2,0")
    assert read.temp_c.tolist() == [1, 2]
    assert read.report.skipped_by_clock == 1
    assert any("does not exist in America/New_York" in text for text in read.report.sentences)


def test_a_zone_with_half_hours_keeps_every_hour() -> None:
    read = table(*(f"2026-10-01T{hour:02d}:00,{hour},0" for hour in range(24)), zone=ADELAIDE)
    assert len(read) == 24
    assert read.temp_c.tolist() == list(range(24))


def test_where_clocks_are_half_an_hour_off_midnight_belongs_to_the_new_day() -> None:
    rows = [f"2026-10-{day:02d}T{hour:02d}:00,{hour},0" for day in (1, 2) for hour in range(24)]
    read = table(*rows, zone=ADELAIDE)
    assert read.local_hours(ADELAIDE).tolist() == [*range(24), *range(24)]
    assert read.until(end_of(dt.date(2026, 10, 1), ADELAIDE)).temp_c.tolist() == list(range(24))
    with_offset = table(*(row.replace(":00,", ":00+09:30,", 1) for row in rows), zone=ADELAIDE)
    assert with_offset.start == read.start


def test_a_table_that_begins_with_the_newest_hour_is_read_alike() -> None:
    autumn = [f"2013-11-03T{hour},{temp},0" for hour, temp in
              (("00:00", 1), ("01:00", 2), ("01:00", 3), ("02:00", 4))]
    spring = ["2013-03-10T01:00,1,0", "2013-03-10T02:00,9,0", "2013-03-10T03:00,2,0"]
    for rows in (autumn, spring):
        assert table(*reversed(rows)).temp_c.tolist() == table(*rows).temp_c.tolist()


def test_a_table_of_days_is_refused() -> None:
    assert problems("2026-05-01,10,12", "2026-05-02,11,0") == [
        "w.csv, column time: these are days, not hours (found: 2026-05-01). "
        "Give a row for each hour: a day's sum tells neither wet spells nor frost."]
    assert len(table("2026-05-01,10,0", "2026-05-01T01:00,11,0")) == 2  # as some programs write midnight


def test_a_dew_point_above_the_temperature_is_refused() -> None:
    found = problems("2026-05-01T06:00,20,19", "2026-05-01T07:00,5,41", header="time,temp_c,dew_point_c")
    assert found == ["w.csv, row 3, column dew_point_c: the dew point cannot lie above the temperature (found: 41). "
                     "Check its unit; leave the cell empty if it is not known."]


def test_bad_cells_are_named_by_row_and_column() -> None:
    found = problems("2026-05-01T06:00,10,0", "2026-05-01T07:00,99,-1", "2026-05-01T08:00,warm,0", "yesterday,1,0",
                     "2026-05-01T09:00,nan,301")
    assert {text.split(":")[0] for text in found} == {
        "w.csv, row 4, column temp_c", "w.csv, row 3, column temp_c", "w.csv, row 3, column rain_mm",
        "w.csv, row 6, column temp_c", "w.csv, row 6, column rain_mm", "w.csv, row 5, column time",
    }
    assert any("99" in text and "between -60 and 60" in text for text in found)


LIMITS = [
    ("temp_c", "-61"), ("temp_c", "61"), ("temp_f", "-77"), ("temp_f", "141"), ("humidity_pct", "-1"),
    ("humidity_pct", "106"), ("rain_mm", "-0.1"), ("rain_mm", "301"), ("rain_in", "12"), ("wind_ms", "-1"),
    ("wind_ms", "91"), ("wind_mph", "202"), ("wet", "1.1"), ("wet", "-0.1"), ("temp_c", "inf"), ("temp_c", "nan"),
]  # fmt: skip


@pytest.mark.parametrize(("column", "value"), LIMITS)
def test_what_cannot_be_is_refused(column: str, value: str) -> None:
    (found,) = problems(f"2026-05-01T06:00,{value}", header=f"time,{column}")
    assert f"row 2, column {column}" in found
    assert value in found


def test_humidity_a_little_over_the_top_is_cut() -> None:
    assert table("2026-05-01T06:00,104", header="time,humidity_pct").humidity_pct[0] == 100


def test_columns_are_checked() -> None:
    (unknown,) = problems("2026-05-01T06:00,10,0", header="time,temp_c,rain_mn")
    assert "rain_mn" in unknown
    assert "Did you mean rain_mm?" in unknown
    assert "say the same thing" in problems("2026-05-01T06:00,10,50", header="time,temp_c,temp_f")[0]
    assert "time is missing" in problems("10", header="temp_c")[0]
    assert "nothing is measured" in problems("2026-05-01T06:00", header="time")[0]
    assert "4 cells under 3 columns" in problems("2026-05-01T06:00,1,0,7")[0]


def test_blank_cells_and_short_rows_are_unknown() -> None:
    read = table("2026-05-01T06:00,10", "2026-05-01T07:00,NA,2", "", "2026-05-01T08:00,,")
    assert np.isnan(read.rain_mm).tolist() == [True, False, True]
    assert np.isnan(read.temp_c).tolist() == [False, True, True]


def test_records_are_read_like_rows() -> None:
    hours = [{"time": "2026-05-01T06:00", "temp_c": 10}, {"time": "2026-05-01T07:00", "temp_c": None, "wet": 1}]
    read = read_weather(hours, NEW_YORK)
    assert read.wet[1] == 1
    assert math.isnan(read.wet[0])
    with pytest.raises(InputError, match=r"\[1\]\.temp_c"):
        read_weather([hours[0], {"time": "2026-05-01T07:00", "temp_c": True}], NEW_YORK)


def test_no_hours_at_all_are_no_error() -> None:
    for nothing in ([], "time,temp_c\n"):
        read = read_weather(nothing, NEW_YORK)
        assert len(read) == 0
        assert read.report.sentences == ("The weather table holds no hours.",)


def test_until_drops_what_is_later() -> None:
    read = table(*(f"2026-05-01T{hour:02d}:00,{hour},0" for hour in range(24)), "2026-05-02T00:00,1,0")
    assert len(read.until(end_of(dt.date(2026, 5, 1), NEW_YORK))) == 24
    assert len(read.until(dt.datetime(2026, 5, 1, 6, tzinfo=NEW_YORK))) == 6
    assert len(read.until(dt.datetime(2020, 1, 1, tzinfo=NEW_YORK))) == 0
    assert read.since(dt.datetime(2026, 5, 1, 20, tzinfo=NEW_YORK)).temp_c[0] == 20


def test_measured_weather_counts_where_a_forecast_overlaps() -> None:
    measured = table("2026-05-01T00:00,10,0", "2026-05-01T01:00,11,")
    forecast = table("2026-05-01T01:00,99e-1,5", "2026-05-01T02:00,12,5", "2026-05-01T07:00,20,0")
    both = merge(measured, forecast)
    assert both is not None
    assert both.temp_c[:3].tolist() == [10, 11, 12]
    assert math.isnan(both.rain_mm[1])  # within the measured span a forecast is no measurement
    assert both.forecast.tolist() == [False, False, *[True] * 6]
    alone = merge(None, forecast)
    assert alone is not None
    assert alone.forecast.all()
    assert merge(measured, None) is measured
    assert merge(None, None) is None


def test_hours_between_weather_and_forecast_are_unknown() -> None:
    both = merge(table("2026-05-01T00:00,10,0"), table("2026-05-01T05:00,12,0"))
    assert both is not None
    assert np.isnan(both.temp_c).tolist() == [False, True, True, True, True, False]


def test_days_are_the_orchards_own() -> None:
    read = table(*(f"2026-05-01T{hour:02d}:00,{hour},1" for hour in range(24)), "2026-05-02T00:00,30,1")
    daily = read.daily(NEW_YORK)
    assert daily.low.tolist()[0] == 0
    assert daily.high.tolist()[0] == 23
    assert daily.rain.tolist()[0] == 24
    assert math.isnan(daily.low[1])  # one hour does not make a day
    assert math.isnan(daily.rain[1])


def test_changed_weather() -> None:
    read = table("2026-05-01T00:00,10,2").changed(warmer=2, rain=0.5)
    assert (read.temp_c[0], read.rain_mm[0]) == (12, 1)


def test_a_real_year_of_hours() -> None:
    read = read_weather(airports.csv_text("JFK"), NEW_YORK, "jfk.csv")
    assert len(read) == read.report.hours == 8730
    assert read.report.rows == 8706
    assert read.start == dt.datetime(2013, 1, 1, 6, tzinfo=dt.UTC)
    daily = read.daily(NEW_YORK)
    # Kennedy airport's highest of 2013 was 100 °F, on 18 July (National Weather Service, from memory: within 2 °F).
    assert daily.high[np.isfinite(daily.high)].max() == pytest.approx(37.8, abs=1.2)
    assert str(daily.dates[np.nanargmax(daily.high)])[:7] == "2013-07"


def test_the_wind_that_newark_never_had_is_refused() -> None:
    with pytest.raises(InputError) as refused:
        read_weather(list(airports.rows("EWR", faulty=True)), NEW_YORK, "newark")
    (problem,) = refused.value.problems
    assert problem.place.endswith(".wind_mph")
    assert problem.value == "1048.36058"


def test_a_table_of_nonsense_is_told_in_a_few_lines() -> None:
    found = problems(*(f"2026-05-01T06:00,{900 + row},0" for row in range(100)))
    assert len(found) == 21
    assert "80 more" in found[-1]
