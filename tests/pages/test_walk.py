"""Walk and record: every form fits its kind of observation; what is posted is kept once, or refused beside its field."""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from page_house import DEMO_DAY, SOUTH_DAY, furnish, settings

from advisor import load_orchard
from advisor.api.pages.look_form import Asked, look_form, observation_of, problems_by_field, type_of
from advisor.api.pages.looks import GROUPS, LOOKS
from advisor.api.pages.walk import told
from advisor.api.service import make_app
from advisor.errors import InputError
from advisor.observation import KINDS, read_observations
from advisor.reading import Document

WALK = f"/at/larkfield/walk?on={DEMO_DAY}"


@pytest.fixture(scope="module")
def demo() -> Any:
    return load_orchard(str(files("advisor") / "demo" / "orchard.yaml"))


@pytest.fixture
def client(tmp_path: Path) -> Any:
    furnish(tmp_path / "journal.db")
    with TestClient(make_app(settings(tmp_path / "journal.db")), follow_redirects=False) as found:
        yield found


def form_of(client: Any, **fields: str) -> dict[str, str]:
    check = re.search(r'name="check" value="([0-9a-f]+)"', client.get(WALK).text)[1]
    return {"check": check, "date": DEMO_DAY, **fields}


def seen(client: Any, orchard: str = "larkfield") -> list[dict[str, Any]]:
    return list(client.get(f"/orchards/{orchard}/observations?limit=100&since={DEMO_DAY}").json()["items"])


def test_every_kind_of_observation_can_be_recorded() -> None:
    assert set(LOOKS) == set(KINDS)
    assert {look.group for look in LOOKS.values()} == set(GROUPS)


@pytest.mark.parametrize("kind", list(LOOKS))
def test_a_form_asks_for_fields_that_the_kind_has_and_for_all_it_wants(kind: str) -> None:
    look = LOOKS[kind]
    fields = {info.alias or name: info for name, info in KINDS[kind].model_fields.items()}
    asked = [name.partition(".")[0] for name in (*look.first, *look.more)]
    assert set(asked) <= set(fields)
    wanted = {name for name, info in fields.items() if info.is_required()} - {"date", "kind"}
    assert wanted <= {name.partition(".")[0] for name in look.first}
    one_of = KINDS[kind].one_of
    assert not one_of or set(one_of) & set(look.first)


@pytest.mark.parametrize(
    ("kind", "field", "type_"),
    [("sward", "height", "Length"), ("sward", "in_flower", "Share"), ("pest-count", "count", "Number"),
     ("pest-count", "pest", "PestId"), ("forecast", "low", "Temperature"), ("fruit-sample", "firmness", "Force"),
     ("fruit-sample", "starch", "Number"), ("vole-sign", "gnawing", "Flag"), ("work", "hours", "Hours"),
     ("intent", "day", "Day"), ("work", "amount", "Text"), ("tree-stage", "cultivar", "Text")],
)  # fmt: skip
def test_the_type_of_a_field_is_read_from_its_class(kind: str, field: str, type_: str) -> None:
    assert type_of(kind, field) == (type_, ())


def fill(field: dict[str, Any]) -> str:
    """Something that a grower might write into a field."""
    if field["widget"] == "pick":
        return str((field["options"] or field["rest"])[0]["value"])
    if field["widget"] == "choose":
        return str(field["options"][0][1][0]["value"])
    if field["widget"] == "day":
        return DEMO_DAY
    if field["name"] == "amount":
        return "3 kg"
    if field["name"] == "first_cut":
        return "never"
    known = {"material": "hay", "target": "voles", "plants": "apple, hazel", "goal_cn": "30"}
    return known.get(field["name"].rpartition(".")[2], "5,5" if field["unit"] == "°C" else "5")


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("kind", list(LOOKS))
def test_a_form_that_is_filled_in_is_an_observation(demo: Any, kind: str, units: str) -> None:
    given = {
        "orchard": {**demo.given["orchard"], "units": units},
        **{name: demo.given[name] for name in ("blocks", "habitats")},
    }
    file = load_orchard(given)
    form = look_form(Asked(LOOKS[kind]), file, {block.id: 69 for block in file.blocks}, 0)
    posted = {"date": DEMO_DAY, "kind": kind, "place": form["fixed"] or form["places"][0]["value"]}
    for field in (*form["first"], *form["hidden"], *form["more"]):
        posted[field["name"]] = fill(field)
        if field["unit"]:
            posted[f"{field['name']}.unit"] = field["unit"]
    if "sample" in posted:
        posted["sample"] = "50"
    found = observation_of(posted, file)
    read, problems = read_observations([found], Document([found], "form"))
    assert problems == []
    assert read[0].kind == kind
    assert told(found).startswith(LOOKS[kind].title)


def test_stages_near_the_last_known_one_come_first(demo: Any) -> None:
    codes = {"upper": 69, "lower": 65, "plums": 71}
    form = look_form(Asked(LOOKS["tree-stage"], place="upper"), demo, codes, 0)
    stage = form["first"][0]
    assert [one["value"] for one in stage["options"]] == [
        "full-bloom", "petal-fall", "fruit-set", "june-drop", "half-grown", "colouring",
    ]  # fmt: skip
    assert "dormant" in [one["value"] for one in stage["rest"]]
    assert "pit-hardening" not in [one["value"] for one in stage["rest"]]  # apples have no pit
    unknown = look_form(Asked(LOOKS["tree-stage"], place="upper"), demo, dict.fromkeys(codes), 0)
    assert unknown["first"][0]["rest"] == []


def test_only_troubles_of_the_fruit_are_offered(demo: Any) -> None:
    def offered(place: str) -> set[str]:
        form = look_form(Asked(LOOKS["disease-sign"], place=place), demo, {}, 0)
        return {one["value"] for _, options in form["first"][0]["options"] for one in options}

    assert "apple-scab" in offered("upper")
    assert "apple-scab" not in offered("plums")
    assert "black-knot" in offered("plums")


def test_a_unit_goes_with_its_number(demo: Any) -> None:
    form = {"date": DEMO_DAY, "kind": "sward", "place": "upper", "height": "14", "height.unit": "in", "in_flower": "20",
            "in_flower.unit": "%"}  # fmt: skip
    assert observation_of(form, demo) == {"date": DEMO_DAY, "kind": "sward", "block": "upper", "height": "14 in",
                                          "in_flower": "20 %"}  # fmt: skip
    assert observation_of({**form, "height": "30 cm"}, demo)["height"] == "30 cm"  # a unit that was written counts
    assert observation_of({**form, "height": "2,5"}, demo)["height"] == "2.5 in"


HEAP = {"date": DEMO_DAY, "kind": "heap", "place": "whole-orchard", "parts.0.material": "straw", "parts.0.mass": "20",
        "parts.0.mass.unit": "kg", "parts.2.material": "horse-manure", "parts.2.mass": "60", "parts.2.mass.unit": "kg",
        "parts.2.moisture": "70", "parts.2.moisture.unit": "%", "goal_cn": "30"}  # fmt: skip


def test_a_heap_is_told_by_what_is_in_it(demo: Any) -> None:
    found = observation_of(HEAP, demo)
    assert found["parts"] == [{"material": "straw", "mass": "20 kg"},
                              {"material": "horse-manure", "mass": "60 kg", "moisture": "70 %"}]  # fmt: skip
    assert told(found) == (
        "Heap of compost or chips, whole orchard: goal cn 30, parts straw 20 kg, horse manure 60 kg 70 %"
    )


def test_chips_are_told_by_their_trees_and_thickness(demo: Any) -> None:
    form = {"date": DEMO_DAY, "kind": "intent", "place": "upper", "practice": "spread-ramial-chips", "fresh": "yes",
            "plants": "hazel, apple", "thickness": "5", "thickness.unit": "cm"}  # fmt: skip
    found = observation_of(form, demo)
    assert (found["plants"], found["thickness"], found["fresh"]) == (["hazel", "apple"], "5 cm", "yes")


def test_what_is_wrong_with_a_stuff_of_a_heap_stands_beside_that_stuff(client: Any) -> None:
    refused = client.post(WALK, data=form_of(client, **{**HEAP, "parts.2.material": "moon-dust"}))
    assert refused.status_code == 422
    assert re.search(r'id="f0-parts-2-material-wrong">[^<]*moon-dust', refused.text)
    lacking = client.post(WALK, data=form_of(client, **{**HEAP, "parts.2.mass": ""}))
    assert re.search(r'id="f0-parts-2-mass-wrong">', lacking.text)
    assert client.post(WALK, data=form_of(client, **HEAP)).status_code == 303
    assert [len(one["parts"]) for one in seen(client) if one["kind"] == "heap"] == [2]


def test_an_unknown_tree_among_the_chips_is_named_beside_its_line(client: Any) -> None:
    form = form_of(client, kind="intent", place="upper", practice="spread-ramial-chips", plants="hazel, moonwood")
    refused = client.post(WALK, data=form)
    assert re.search(r'id="f0-plants-wrong">[^<]*moonwood', refused.text)


def test_a_place_that_is_gone_is_refused_by_name(demo: Any) -> None:
    with pytest.raises(InputError) as refused:
        observation_of({"date": DEMO_DAY, "kind": "sward", "place": "orchard-of-old"}, demo)
    assert problems_by_field(refused.value) == {
        "place": ["There is no place 'orchard-of-old' in this orchard any more. Choose where."]
    }


def test_a_form_is_kept_and_told(client: Any) -> None:
    before = len(seen(client))
    form = form_of(client, kind="sward", place="plums", height="14", **{"height.unit": "cm"}, seed_heads="emerging")
    answer = client.post(WALK, data=form)
    assert answer.status_code == 303
    page = client.get(answer.headers["location"].partition("#")[0])
    assert "Kept: Grass and flowers below, plums: height 14 cm, seed heads emerging" in page.text
    client.post(WALK, data=form)  # a second tap
    assert len(seen(client)) == before + 1


def test_a_refusal_stands_beside_its_field_with_what_was_written(client: Any) -> None:
    form = form_of(client, kind="sward", place="plums", height="tall", seed_heads="emerging")
    refused = client.post(WALK, data=form)
    assert refused.status_code == 422
    assert 'value="tall"' in refused.text
    assert re.search(r'<input id="f0-height"[^>]*aria-invalid="true" aria-describedby="f0-height-wrong', refused.text)
    assert re.search(r'id="f0-height-wrong">[^<]*tall', refused.text)
    assert re.search(r'value="emerging" checked', refused.text)


def test_sent_twice_with_one_key_it_is_kept_once_and_another_look_with_it_is_refused(client: Any) -> None:
    headers = {"Accept": "application/json", "Idempotency-Key": "a-walk-1"}
    form = form_of(client, kind="vole-sign", place="upper", runways="none")
    first = client.post(WALK, data=form, headers=headers)
    again = client.post(WALK, data=form, headers=headers)
    assert first.status_code == again.status_code == 201
    assert first.json() == again.json()
    other = client.post(WALK, data={**form, "runways": "fresh"}, headers=headers)
    assert other.status_code == 422
    assert "was used for another request" in str(other.json()["problems"])
    assert sum(one["kind"] == "vole-sign" for one in seen(client)) == 1


def test_a_refusal_by_script_names_the_field(client: Any) -> None:
    form = form_of(client, kind="sward", place="plums")
    refused = client.post(WALK, data=form, headers={"Accept": "application/json"})
    assert refused.status_code == 422
    assert "says nothing" in str(refused.json()["problems"])


def test_a_look_is_taken_back(client: Any) -> None:
    form = form_of(client, kind="snow", place="upper", depth="3", **{"depth.unit": "cm"})
    client.post(WALK, data=form)
    id = next(one["id"] for one in seen(client) if one["kind"] == "snow")
    assert client.post(WALK, data=form_of(client, take_back=id)).status_code == 303
    assert not any(one["kind"] == "snow" for one in seen(client))
    assert client.post(WALK, data=form_of(client, take_back=id)).status_code == 303  # a second tap
    never = client.post(WALK, data=form_of(client, take_back="snow-never"))
    assert never.status_code == 422
    assert "No observation of that id stands" in never.text


def test_work_that_was_ticked_off_is_taken_back_with_its_tick(client: Any) -> None:
    week = f"/at/larkfield/this-week?on={DEMO_DAY}"

    def fields(button: str) -> dict[str, str]:
        forms = re.findall(r"<form.*?</form>", client.get(week).text, re.DOTALL)
        form = next(one for one in forms if f'value="{button}"' in one)
        return {**dict(re.findall(r'name="([^"]+)" value="([^"]*)"', form)), "state": button}

    client.post(week, data=fields("done"))
    id = next(one["id"] for one in seen(client) if one["kind"] == "work")
    assert client.post(WALK, data=form_of(client, take_back=id)).status_code == 303
    assert not any(one["kind"] == "work" for one in seen(client))
    assert 'class="decided"' not in client.get(week).text


def test_the_south_is_asked_in_inches(client: Any) -> None:
    page = client.get(f"/at/south-lark/walk?on={SOUTH_DAY}").text
    assert 'name="height.unit" value="in"' in page
    assert 'value="cm"' not in page
    assert "Standing stems" not in page  # no habitat is given


def test_the_worker_may_answer_for_all_pages(client: Any) -> None:
    worker = client.get("/sw.js")
    assert worker.status_code == 200
    assert worker.headers["content-type"].startswith("text/javascript")
    assert worker.headers["cache-control"] == "private, no-cache"
