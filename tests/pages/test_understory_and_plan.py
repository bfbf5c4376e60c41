"""The understory and the plan as pages: what the records say, said whole; nothing invented where nothing is known."""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from page_house import DEMO_DAY, SOUTH_DAY, furnish, settings

from advisor import advise, habitat, load_orchard
from advisor.api.pages.plan_page import plan_page
from advisor.api.pages.understory import understory_page
from advisor.api.service import make_app
from advisor.journal import Journal


@pytest.fixture(scope="module")
def demo() -> Any:
    return load_orchard(str(files("advisor") / "demo" / "orchard.yaml"))


@pytest.fixture(scope="module")
def planned(demo: Any) -> Any:
    return advise(demo, on=DEMO_DAY).plan()


@pytest.fixture
def client(tmp_path: Path) -> Any:
    furnish(tmp_path / "journal.db")
    with TestClient(make_app(settings(tmp_path / "journal.db")), follow_redirects=False) as found:
        yield found


def test_every_plant_of_the_ribbon_stands_in_its_place(demo: Any) -> None:
    found = habitat.bloom(demo, DEMO_DAY)
    shown = understory_page(found, "larkfield")
    listed = [(place, row["name"]) for place, rows in shown["places"] for row in rows]
    assert sorted(listed) == sorted((row["place"], row["name"]) for row in found["ribbon"])
    assert shown["lacks"] == ["nectar in week -5"]
    assert [one["text"] for one in shown["choices"]] == [one["text"] for one in found["choices"]]


def test_a_plant_that_is_asked_about_is_answered(client: Any) -> None:
    page = client.get(f"/at/larkfield/understory?on={DEMO_DAY}&wanted=hawthorn").text
    assert "hawthorn is invasive here (north-america)." in page
    assert client.get(f"/at/larkfield/understory?on={DEMO_DAY}&wanted=moonflower").status_code == 422


def test_what_is_accepted_decides_what_may_be_planted(client: Any) -> None:
    """Daffodil is poisonous, to stock as well, and ivy is there to stay (common practice, no source)."""

    def told(query: str) -> str:
        return re.search(r'id="asked">.*?</section>', client.get(f"/at/larkfield/understory?on={DEMO_DAY}{query}").text,
                         re.DOTALL)[0]  # fmt: skip

    assert "poisonous plants are not accepted" not in told("&wanted=daffodil")
    assert "poisonous plants are not accepted" in told("&wanted=daffodil&no_toxic=yes")
    assert "animals graze here" in told("&wanted=daffodil&grazed=yes")
    assert "hard to be rid of" in told("&wanted=ivy")
    assert "hard to be rid of" not in told("&wanted=ivy&permanent=yes")


def test_what_plants_cost_turns_the_choice(client: Any) -> None:
    """Arithmetic: of the plants with a cost the cheapest that fills the one week that is lacking; names as people write."""

    def first(costs: str) -> str:
        page = client.get("/at/larkfield/understory", params={"on": DEMO_DAY, "costs": costs}).text
        return re.search(r'<ol class="sets">.*?</summary>', page, re.DOTALL)[0]

    assert "cornelian cherry. It costs 3." in first("Cornelian cherry 3, pussy willow 30")
    assert "It costs 4." in first("cornelian-cherry=40, pussy-willow 4")
    assert "stands winters down to" in client.get(f"/at/larkfield/understory?on={DEMO_DAY}").text.lower()
    for wrong in ("willow", "willow cheap", "willow 0", "moonflower 3", "willow 3, pussy willow 4"):
        refused = client.get("/at/larkfield/understory", params={"on": DEMO_DAY, "costs": wrong})
        assert refused.status_code == 422, wrong


def test_an_orchard_without_flowers_is_unknown_and_not_bare(client: Any) -> None:
    bare = {"orchard": {"name": "Bare", "latitude": 51.0}, "blocks": [{"id": "a", "fruit": "quince"}]}
    client.put("/orchards/bare", json=bare)
    page = client.get("/at/bare/understory?on=2026-05-18")
    assert page.status_code == 200
    assert "its bloom is unknown, not nothing" in page.text
    assert client.get("/at/bare/plan?on=2026-05-18").status_code == 200
    assert client.get("/at/bare/walk?on=2026-05-18").status_code == 200


def test_the_sheet_holds_every_job_of_the_week_on_its_days(planned: Any) -> None:
    shown = plan_page(planned, "larkfield")
    week = planned["this_week"]
    on_sheet = sorted(
        (day["day"], work["name"].lower(), work["hours"]) for day in shown["days"] for work in day["work"]
    )
    wanted = sorted((day["day"], job["name"].lower(), day["hours"]) for job in week["jobs"] for day in job["days"])
    assert on_sheet == wanted
    assert wanted
    assert {line for job in week["jobs"] for line in job["cautions"]} == set(shown["cautions"])
    assert [one["recommendation"] for one in shown["held"]] == [one["recommendation"] for one in planned["held"]]


def test_hours_that_are_not_given_are_said_to_be_so(client: Any) -> None:
    page = client.get(f"/at/south-lark/plan?on={SOUTH_DAY}").text
    assert "your hours a week are not given" in page


def test_the_address_of_the_calendar_opens_it_and_nothing_else(client: Any) -> None:
    page = client.get(f"/at/larkfield/plan?on={DEMO_DAY}").text
    check = re.search(r'name="check" value="([0-9a-f]+)"', page)[1]
    assert client.post("/at/larkfield/plan").status_code == 415
    made = client.post(f"/at/larkfield/plan?on={DEMO_DAY}", data={"check": check}).text
    address = re.search(r'readonly value="([^"]+)"', made)[1]
    calendar = client.get(address)
    assert calendar.status_code == 200
    assert calendar.text.startswith("BEGIN:VCALENDAR")
    assert address not in client.get(f"/at/larkfield/plan?on={DEMO_DAY}").text  # shown once


def test_who_only_records_gets_no_address(tmp_path: Path) -> None:
    from advisor.api.tokens import Tokens

    path = tmp_path / "journal.db"
    furnish(path)
    with Journal.open(path) as kept:
        secret = Tokens(kept.engine).create("recorder", {"larkfield": "record"})[1]
    with TestClient(make_app(settings(path, tokens=True)), follow_redirects=False) as client:
        client.cookies.set("underbough", secret)
        page = client.get(f"/at/larkfield/plan?on={DEMO_DAY}").text
        check = re.search(r'name="check" value="([0-9a-f]+)"', page)[1]
        assert "Make an address" not in page
        assert client.post("/at/larkfield/plan", data={"check": check}).status_code == 403
