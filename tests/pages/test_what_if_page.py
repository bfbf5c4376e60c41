"""What if, asked on a page: the same as the library answers, in words, with what cannot be told beside the form."""

from __future__ import annotations

import re
from importlib.resources import files
from typing import Any

import pytest
from fastapi.testclient import TestClient
from page_house import DEMO_DAY, SOUTH_DAY, furnish, settings

from advisor import advise, load_orchard
from advisor.api.pages.what_if_page import by_field, changes_of
from advisor.api.pages.what_if_page import settings as settings_of
from advisor.api.service import make_app
from advisor.errors import InputError

ASKED = dict.fromkeys(("place", "value", "warmer", "rain", "drop", "hours"), "")
PAGE = f"/at/larkfield/what-if?on={DEMO_DAY}"


@pytest.fixture(scope="module")
def demo() -> Any:
    return load_orchard(str(files("advisor") / "demo" / "orchard.yaml"))


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Any:
    path = tmp_path_factory.mktemp("journal") / "journal.db"
    furnish(path)
    with TestClient(make_app(settings(path)), follow_redirects=False) as found:
        yield found


def asked(**fields: str) -> dict[str, str]:
    return {**ASKED, **fields}


def test_each_line_of_the_form_is_a_change(demo: Any) -> None:
    found = changes_of(
        asked(place="blocks.upper.floor", value="turf", warmer="-2,5", rain="0", drop="sward-1", hours="10"), demo
    )
    assert found == {
        "set": {"blocks.upper.floor": "turf", "orchard.hours_per_week": 10},
        "drop": ["sward-1"],
        "warmer": -2.5,
        "rain": 0,
    }


def test_lists_are_parted_by_commas_and_nothing_takes_a_setting_away(demo: Any) -> None:
    tools = changes_of(asked(place="orchard.tools", value="scythe, ladder"), demo)
    assert tools["set"] == {"orchard.tools": ["scythe", "ladder"]}
    assert changes_of(asked(place="blocks.upper.mulch.depth"), demo)["set"] == {"blocks.upper.mulch.depth": None}


def test_warmth_is_asked_in_the_degrees_of_the_orchard() -> None:
    """A degree F is five ninths of a degree C."""
    us = load_orchard(
        {"orchard": {"name": "A", "latitude": 41.0, "units": "us"}, "blocks": [{"id": "b", "fruit": "apple"}]}
    )
    assert changes_of(asked(warmer="9"), us)["warmer"] == pytest.approx(5)


def test_every_setting_can_be_set_or_says_what_it_wants(demo: Any) -> None:
    """Each place of the list is one that the reader of changes knows."""
    answer, refused = advise(demo, on=DEMO_DAY), {}
    places = [place for _, those in settings_of(demo)[:2] for place, _ in those]
    for place in places:
        try:
            answer.what_if(changes_of(asked(place=place, value="lava"), demo))
        except InputError as fault:
            refused[place] = fault
    assert "blocks.upper.floor" in refused
    assert {line for fault in refused.values() for line in by_field(fault)} == {"value"}
    assert not [place for place, fault in refused.items() if "no place of an orchard file" in str(fault)]


def test_what_changes_is_told_with_why(client: Any) -> None:
    page = client.get(f"{PAGE}&place=blocks.upper.floor&value=turf&rain=0").text
    told = client.post(
        "/what-if",
        json={"advice": re.search(r"Advice (\w{16})", client.get(f"/at/larkfield/this-week?on={DEMO_DAY}").text)[1],
              "changes": {"set": {"blocks.upper.floor": "turf"}, "rain": 0}},
    ).json()  # fmt: skip
    for name, title in (("appears", "What would be advised besides"), ("disappears", "What would no longer be advised"),
                        ("moves", "What would change")):  # fmt: skip
        assert f"{title} ({len(told[name])})" in page or not told[name]
    assert sum(len(told[name]) for name in ("appears", "disappears", "moves")) > 0
    assert "Relative humidity, dew point, wind and leaf wetness are kept as they were given." in page
    assert 'value="blocks.upper.floor" selected' in page


def test_hours_tell_what_no_longer_fits(client: Any) -> None:
    page = client.get(f"{PAGE}&hours=1").text
    assert "Would no longer fit: " in page
    assert 'id="plan">In the plan' in page


def test_a_look_left_out_is_one_of_those_kept(client: Any) -> None:
    page = client.get(PAGE).text
    ids = re.findall(r'<option value="([^"]+)">\w{3} \d', page)
    assert len(ids) > 3
    assert client.get(f"{PAGE}&drop={ids[0]}").status_code == 200


def test_no_change_says_so(client: Any) -> None:
    assert "Nothing in the advice would change." in client.get(f"{PAGE}&rain=1").text


@pytest.mark.parametrize(
    ("query", "field", "said"),
    [("place=blocks.upper.floor&value=lava", "value", "lava"), ("value=turf", "place", "no setting"),
     ("place=orchard.name&value=X", "place", "no setting"), ("warmer=hot", "warmer", "hot"), ("rain=-1", "rain", "-1"),
     ("drop=sward-never", "drop", "sward-never"), ("hours=many", "hours", "many")],
)  # fmt: skip
def test_what_cannot_be_is_refused_beside_its_line_with_what_was_written(
    client: Any, query: str, field: str, said: str
) -> None:
    refused = client.get(f"{PAGE}&{query}")
    assert refused.status_code == 422
    assert said in re.search(rf'id="{field}-wrong">(.*?)</span>', refused.text)[1]
    assert len(re.findall('-wrong">', refused.text)) == 2  # once told, once pointed to
    assert f'aria-describedby="{field}-wrong"' in refused.text


def test_trying_keeps_nothing(client: Any) -> None:
    client.get(PAGE)
    before = len(client.get("/orchards/larkfield/advices?limit=100").text)
    client.get(f"{PAGE}&rain=0")
    assert len(client.get("/orchards/larkfield/advices?limit=100").text) == before


def test_the_south_is_asked_in_fahrenheit(client: Any) -> None:
    assert "so many °F" in client.get(f"/at/south-lark/what-if?on={SOUTH_DAY}").text
