"""What a plan is written as: calendar, table, week sheet, picture, terminal and command."""

import copy
import csv
import datetime as dt
import io
import json
import re
from xml.etree import ElementTree

import pytest
from rich.console import Console
from typer.testing import CliRunner

from advisor.cli import app
from advisor.errors import InputError
from advisor.hours import calendar_out, picture, plan, sheet, tables, terminal
from advisor.hours.trade import NEEDS, weather_words
from needs import lacking
from scenarios.orchards import UPPER, orchard


@pytest.fixture(scope="module")
def made():
    seen = [
        {"date": "2026-05-17", "kind": "tree-stage", "block": "upper", "stage": "petal-fall"},
        {"date": "2026-05-18", "kind": "sward", "block": "upper", "height": "45 cm", "seed_heads": "emerging"},
        {"date": "2026-05-18", "kind": "vole-sign", "block": "upper", "runways": "fresh"},
        {"date": "2026-05-18", "kind": "work", "block": "upper", "practice": "scout", "hours": 0.5},
    ]
    helpers = [{"day": "2026-05-20", "hours": 3, "people": 2, "who": "<neighbours>"}]
    file = orchard([{**UPPER, "guards": "none"}], seen, hours_per_week=5, tools=["scythe"], helpers=helpers, units="us",
                   days_off=["sunday"])  # fmt: skip
    return plan(file, on="2026-05-18")


# --- Calendar -----------------------------------------------------------------------------------


def read_plainly(text):
    """A second reader of RFC 5545, from its grammar alone: unfold, split at the first colon, unescape."""
    assert text.endswith(b"\r\n")
    lines = text.decode().replace("\r\n ", "").replace("\r\n\t", "").split("\r\n")[:-1]
    assert all(len(line.encode()) <= 75 for line in text.decode().split("\r\n"))  # section 3.1
    events, inside = [], None
    for line in lines:
        name, _, value = line.partition(":")
        name = name.split(";")[0]
        if line == "BEGIN:VEVENT":
            inside = {}
        elif line == "END:VEVENT":
            events.append(inside)
            inside = None
        elif inside is not None:
            inside[name] = re.sub(r"\\([\\;,nN])", lambda m: "\n" if m[1] in "nN" else m[1], value)
    return events


def events_of(made, previous=None):
    try:
        return read_plainly(calendar_out.calendar(made, previous))
    except InputError:
        lacking("icalendar")


def test_two_readers_find_every_day_of_every_job(made):
    events = events_of(made)
    import icalendar

    again = icalendar.Calendar.from_ical(calendar_out.calendar(made))
    days = [(d["day"], j["name"]) for w in (made["this_week"], *made["next_weeks"]) for j in w["jobs"] for d in j["days"]]
    assert len(events) == len(days) > 3
    assert sorted(e["DTSTART"] for e in events) == sorted(day.replace("-", "") for day, _ in days)
    assert sorted(str(e["summary"]) for e in again.walk("VEVENT")) == sorted(e["SUMMARY"] for e in events)
    assert sorted(str(e["uid"]) for e in again.walk("VEVENT")) == sorted(e["UID"] for e in events)
    for event in again.walk("VEVENT"):  # DTEND of an all-day entry is the day after (section 3.6.1)
        assert event.decoded("dtend") - event.decoded("dtstart") == dt.timedelta(days=1)
    assert len({e["UID"] for e in events}) == len(events)
    for event in events:  # what RFC 5545, section 3.6.1, requires of every entry
        assert {"UID", "DTSTAMP", "DTSTART"} <= event.keys()
        assert event["SEQUENCE"] == "0"
    assert {e["DTSTAMP"] for e in events} == {"20260518T000000Z"}


def test_sequence_rises_where_content_changes_and_nowhere_else(made):
    first = events_of(made)
    text = calendar_out.calendar(made)
    assert calendar_out.calendar(made, text) == text  # nothing changed: the same bytes
    moved = copy.deepcopy(made)
    moved["date"] = "2026-05-19"
    week = next(w for w in moved["next_weeks"] if len(w["jobs"]) > 1)
    job, dropped = week["jobs"][0], week["jobs"].pop()
    job["days"][0]["day"] = week["to"]
    second = {e["UID"]: e for e in read_plainly(calendar_out.calendar(moved, text))}
    assert second.keys() == {e["UID"] for e in first}
    changed = [u for u, e in second.items() if e["SEQUENCE"] == "1"]
    cancelled = [e for e in second.values() if e["STATUS"] == "CANCELLED"]
    assert [e["SUMMARY"] for e in cancelled] == [f"upper: {dropped['name']}, {d['hours']:g} h" for d in dropped["days"]]
    confirmed = [second[u] for u in changed if second[u]["STATUS"] == "CONFIRMED"]
    assert [(e["SUMMARY"], e["DTSTART"]) for e in confirmed] == [
        (f"upper: {job['name']}, {job['days'][0]['hours']:g} h", week["to"].replace("-", ""))
    ]
    for event in second.values():  # the stamp tells the day the content is from
        assert event["DTSTAMP"] == ("20260519T000000Z" if event["SEQUENCE"] == "1" else "20260518T000000Z")
    third = {e["UID"]: e for e in read_plainly(calendar_out.calendar(made, calendar_out.calendar(moved, text)))}
    assert all(third[u]["SEQUENCE"] == "2" for u in changed)
    assert all(e["STATUS"] == "CONFIRMED" for e in third.values())


def test_what_is_no_calendar_is_refused(made):
    events_of(made)
    with pytest.raises(InputError, match="not a calendar that can be read"):
        calendar_out.calendar(made, b"week,job\n1,mow\n", "week.csv")


# --- Table, sheet, picture, terminal ------------------------------------------------------------


def test_the_table_has_a_row_for_each_day_and_each_job_that_does_not_fit(made):
    rows = list(csv.DictReader(io.StringIO(tables.as_csv(made))))
    days = [d for w in (made["this_week"], *made["next_weeks"]) for j in w["jobs"] for d in j["days"]]
    assert len(rows) == len(days) + len(made["unplaced"])
    assert sum(float(r["hours"]) for r in rows if r["day"]) == pytest.approx(sum(d["hours"] for d in days))
    assert {r["kept_out_by"] for r in rows if not r["day"]} == {u["kept_out_by"] for u in made["unplaced"]}


def test_a_spreadsheet_runs_nothing_of_it(made):
    sly = copy.deepcopy(made)
    sly["this_week"]["jobs"][0]["block"] = "=1+1"
    assert "'=1+1" in tables.as_csv(sly)


def test_the_sheet_is_a_page_of_its_own(made):
    page = sheet.sheet(made)
    assert page.startswith("<!doctype html>")
    assert "&lt;neighbours&gt;" in page
    assert "<neighbours>" not in page
    assert "http" not in page  # nothing is fetched
    for job in made["this_week"]["jobs"]:
        assert job["name"] in page
        for day in job["days"]:
            assert f"{day['hours']:g} h" in page
    assert page.count("☐") == sum(len(j["days"]) for j in made["this_week"]["jobs"])
    assert "Does not fit" in page or not made["unplaced"]


def test_the_picture_says_the_hours_of_every_week_and_line(made):
    root = ElementTree.fromstring(picture.picture(made))
    words = " ".join(root.itertext())
    for week in (made["this_week"], *made["next_weeks"]):
        assert f"{week['from']}: {week['planned']:g} h of your own" in words
    for line in made["budget"]["lines"]:
        assert f"{line['planned']:g} h planned" in words
        assert line["kind"] in words
    for rect in root.iter("{http://www.w3.org/2000/svg}rect"):
        assert float(rect.get("width")) >= 0
        assert float(rect.get("height")) >= 0
        assert float(rect.get("x")) + float(rect.get("width")) <= picture.WIDTH + 0.1
    supply = [float(line.get("y1")) for line in root.iter("{http://www.w3.org/2000/svg}line")]
    for text in root.iter("{http://www.w3.org/2000/svg}text"):
        x, y, said = float(text.get("x")), float(text.get("y")), text.text or ""
        if text.get("text-anchor", "start") == "start":
            assert x + 6.5 * len(said) <= picture.WIDTH, said  # letters of 12 pixels are about 6.5 wide
        if y < picture.TOP + picture.BARS and said.replace(".", "").isdigit():
            assert not any(y - 10 < level < y for level in supply), said


def test_the_terminal_shows_jobs_what_does_not_fit_and_the_year(made):
    out = Console(width=110, file=io.StringIO())
    terminal.write(made, out)
    text = out.file.getvalue()
    assert "This week 2026-05-18" in text
    assert f"Does not fit ({len(made['unplaced'])})" in text
    assert "would fit with" in text
    assert "harvest" in text
    assert re.search(r"no plan|none can be more than", text)


def test_the_command_writes_all_of_them(tmp_path):
    path = tmp_path / "orchard.json"
    path.write_text(json.dumps(orchard(hours_per_week=6)))
    names = {"--csv": "p.csv", "--ics": "p.ics", "--sheet": "p.html", "--svg": "p.svg"}
    options = [part for option, name in names.items() for part in (option, str(tmp_path / name))]
    ran = CliRunner().invoke(app, ["plan", str(path), "--on", "2026-03-02", "--weeks", "2", "--json", *options])
    assert ran.exit_code == 0, ran.output
    assert len(json.loads(ran.stdout)["next_weeks"]) == 2
    assert all((tmp_path / name).stat().st_size > 200 for name in names.values())
    assert "Written" in ran.stderr
    before = (tmp_path / "p.ics").read_bytes()
    CliRunner().invoke(app, ["plan", str(path), "--on", "2026-03-02", "--weeks", "2", "--json", *options])
    assert (tmp_path / "p.ics").read_bytes() == before
    wrong = CliRunner().invoke(app, ["plan", str(path), "--on", "2026-03-02", "--csv", str(tmp_path / "no" / "p.csv")])
    assert isinstance(wrong.exception, InputError)
    assert CliRunner().invoke(app, ["plan", str(path), "--weeks", "99"]).exit_code == 2


def test_the_weather_that_a_job_wants_is_told_in_words():
    """For people: "after-dew" is a word of the program, and one "and" is enough."""
    assert weather_words(NEEDS["spray"]) == "dry, calm, cool and free of dew"
    assert weather_words(NEEDS["prune"]) == "dry"


def test_the_calendar_names_the_weather_in_words(made):
    told = calendar_out.calendar(made).decode().replace("\r\n ", "")
    wanted = re.findall(r"Wants it ([^.]*)\.", told)
    assert wanted
    assert not [words for words in wanted if "after-dew" in words]
