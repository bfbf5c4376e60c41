"""The orchard as a form and as a file: nothing is lost on the way, every error stands beside its field."""

from __future__ import annotations

import html
import json
import re
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
import yaml
from fastapi.testclient import TestClient
from page_house import SOUTH, furnish, settings

from advisor import load_orchard
from advisor.api.pages.orchard_form import BLOCK, HABITAT, ORCHARD, changed_rows, content_of, flatten, problems_by_place
from advisor.api.pages.orchard_page import written
from advisor.api.service import make_app
from advisor.api.tokens import Tokens
from advisor.blocks import Block, Habitat, Orchard
from advisor.errors import InputError
from advisor.journal import Journal

SHORT = {
    "orchard": {"name": "Crook Lane", "latitude": 51, "hours_per_week": {"mar": 12, 4: "14 h"}, "days_off": "sunday"},
    "blocks": [
        {"id": "a", "fruit": "pear", "spacing": {"row": "6 m", "tree": "4 m"}, "guards": {"kind": "mesh", "height": "60 cm"},
         "irrigation": "drip", "mulch": {"material": "hay"}, "pollen_partner": {"cultivar": "Seckel", "distance": "30 m"}},
        {"id": "b", "fruit": "plum", "history": ["black-knot"], "note": "by the wall"},
    ],
}  # fmt: skip


@pytest.fixture(scope="module")
def demo() -> Any:
    return load_orchard(str(files("advisor") / "demo" / "orchard.yaml"))


@pytest.fixture
def client(tmp_path: Path) -> Any:
    furnish(tmp_path / "journal.db")
    with TestClient(make_app(settings(tmp_path / "journal.db")), follow_redirects=False) as found:
        yield found


def fields_of(text: str) -> dict[str, str]:
    """The fields of the orchard's form, as a browser would send them."""
    form = re.search(r'<form [^>]*class="setup">.*?</form>', text, re.DOTALL)[0]
    found = dict(re.findall(r'<input[^>]* name="([^"]+)" value="([^"]*)"(?! ?checked)', form))
    for name in re.findall(r'type="checkbox" name="([^"]+)"', form):
        found.pop(name, None)
    found |= dict.fromkeys(re.findall(r'type="checkbox" name="([^"]+)" value="yes" checked', form), "yes")
    for name, options in re.findall(r'<select[^>]* name="([^"]+)"[^>]*>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', options)
        found[name] = chosen[1] if chosen else ""
    return {name: html.unescape(value) for name, value in found.items()}


@pytest.mark.parametrize(("model", "asks"), [(Orchard, ORCHARD), (Block, BLOCK), (Habitat, HABITAT)])
def test_the_form_asks_for_every_field_that_is_plain(model: Any, asks: Any) -> None:
    asked = {one.name.partition(".")[0] for one in asks}
    assert asked <= set(model.model_fields)
    assert set(model.model_fields) - asked <= {"id", "helpers"}
    wanted = {name for name, info in model.model_fields.items() if info.is_required()}
    assert wanted == {one.name for one in asks if one.needed}


@pytest.mark.parametrize("given", [SOUTH, SHORT, "demo"])
def test_a_form_that_nobody_touched_changes_nothing(demo: Any, given: Any) -> None:
    content = {name: demo.given[name] for name in ("orchard", "blocks", "habitats")} if given == "demo" else given
    kept = {name: content[name] for name in ("orchard", "blocks", "habitats") if name in content}
    assert content_of(flatten(kept), kept) == kept


def test_what_the_form_does_not_ask_for_stays() -> None:
    content = {
        "orchard": {"name": "A", "latitude": 50, "helpers": [{"day": "2026-06-01", "hours": 4}]},
        "blocks": [{"id": "a", "fruit": "apple", "guards": {"kind": "mesh", "packed_with": "gravel"}}],
    }
    texts = {**flatten(content), "orchard.name": "B", "blocks.0.guards.kind": "spiral"}
    found = content_of(texts, content)
    assert found["orchard"] == {**content["orchard"], "name": "B"}
    assert found["blocks"][0]["guards"] == {"kind": "spiral", "packed_with": "gravel"}


def test_a_field_that_is_emptied_is_gone_and_not_nothing() -> None:
    texts = {**flatten(SHORT), "blocks.0.mulch.material": "", "blocks.1.note": "", "blocks.0.irrigation.kind": ""}
    blocks = content_of(texts, SHORT)["blocks"]
    assert "mulch" not in blocks[0]
    assert "irrigation" not in blocks[0]
    assert "note" not in blocks[1]


def test_months_and_lists_are_written_as_a_file_has_them() -> None:
    texts = {"orchard.name": "A", "orchard.latitude": "-41,5", "orchard.hours_per_week.may": "22",
             "orchard.tools.scythe": "yes", "blocks.0.id": "a", "blocks.0.fruit": "apple",
             "blocks.0.history": "apple scab,  codling moth,", "blocks.0.trees": "12"}  # fmt: skip
    found = content_of(texts, {})
    assert found == {
        "orchard": {"name": "A", "latitude": -41.5, "hours_per_week": {"may": 22}, "tools": ["scythe"]},
        "blocks": [{"id": "a", "fruit": "apple", "history": ["apple scab", "codling moth"], "trees": 12}],
    }
    assert load_orchard(found).blocks[0].history == ("apple-scab", "codling-moth")


def test_rows_come_and_go() -> None:
    texts = flatten(SHORT)
    more = changed_rows(texts, "add-blocks")
    assert more["blocks.2.was"] == ""
    less = changed_rows(texts, "drop-blocks-0")
    assert less["blocks.0.id"] == "b"
    assert content_of(less, SHORT)["blocks"] == [SHORT["blocks"][1]]
    assert changed_rows(texts, "nonsense") == texts


def test_every_error_finds_its_field() -> None:
    texts = {**flatten(SHORT), "orchard.latitude": "123", "blocks.0.spacing": "wide", "blocks.1.history": "black-knot, blck-knot",
             "blocks.0.mulch.depth": "8", "blocks.1.fruit": "plumb"}  # fmt: skip
    with pytest.raises(InputError) as refused:
        load_orchard(content_of(texts, SHORT))
    found = problems_by_place(refused.value, texts)
    assert set(found) == {"orchard.latitude", "blocks.0.spacing", "blocks.1.history", "blocks.0.mulch.depth",
                          "blocks.1.fruit"}  # fmt: skip
    assert "Did you mean plum?" in found["blocks.1.fruit"][0]


def test_an_orchard_is_set_up_changed_and_kept_in_versions(client: Any) -> None:
    fields = fields_of(client.get("/set-up").text)
    assert "blocks.0.id" in fields
    fields |= {"orchard.name": "Crook Lane", "orchard.latitude": "-33.5", "blocks.0.id": "east", "blocks.0.fruit": "pear",
               "do": "save"}  # fmt: skip
    made = client.post("/set-up", data=fields)
    assert made.status_code == 303
    assert made.headers["location"] == "/at/crook-lane/orchard?kept=yes"
    assert client.get("/orchards/crook-lane").json()["blocks"] == [{"id": "east", "fruit": "pear"}]
    assert client.post("/set-up", data=fields).status_code == 409  # the name is taken
    page = fields_of(client.get("/at/crook-lane/orchard").text)
    changed = client.post("/at/crook-lane/orchard", data={**page, "blocks.0.trees": "9", "do": "save"})
    assert changed.status_code == 303
    stale = client.post("/at/crook-lane/orchard", data={**page, "blocks.0.trees": "10", "do": "save"})
    assert stale.status_code == 409
    assert 'value="10"' in stale.text  # what was written is not lost
    assert client.get("/orchards/crook-lane").json()["blocks"][0]["trees"] == 9


def test_an_error_stands_beside_its_field_and_nothing_is_kept(client: Any) -> None:
    before = client.get("/orchards/larkfield").headers["etag"]
    fields = fields_of(client.get("/at/larkfield/orchard").text)
    refused = client.post("/at/larkfield/orchard", data={**fields, "blocks.1.mulch.depth": "12 parsecs", "do": "save"})
    assert refused.status_code == 422
    assert re.search(r'id="blocks-1-mulch-depth-wrong">[^<]*12 parsecs', refused.text)
    assert re.search(r'<input id="blocks-1-mulch-depth"[^>]*aria-invalid="true"', refused.text)
    assert "Not kept: 1 thing does not fit" in refused.text
    assert client.get("/orchards/larkfield").headers["etag"] == before


def test_a_row_is_added_without_keeping(client: Any) -> None:
    fields = fields_of(client.get("/at/larkfield/orchard").text)
    page = client.post("/at/larkfield/orchard", data={**fields, "blocks.0.trees": "41", "do": "add-blocks"})
    assert page.status_code == 200
    assert "Block 4" in page.text
    assert 'name="blocks.0.trees" value="41"' in page.text
    assert client.get("/orchards/larkfield").json()["blocks"][0]["trees"] == 40


@pytest.mark.parametrize("kind", ["yaml", "json"])
def test_what_is_carried_away_can_be_brought_anew(client: Any, demo: Any, kind: str) -> None:
    text = client.get(f"/at/larkfield/export.{kind}")
    assert f'filename="larkfield.{kind}"' in text.headers["content-disposition"]
    given = yaml.safe_load(text.text) if kind == "yaml" else json.loads(text.text)
    given["orchard"] = {**given["orchard"], "id": "second", "name": "Second"}
    page = client.get("/set-up").text
    check = re.search(r'name="check" value="([0-9a-f]+)"', page)[1]
    brought = client.post("/set-up/import", data={"check": check},
                          files={"file": (f"second.{kind}", written(given, kind).encode())})  # fmt: skip
    assert brought.status_code == 303, re.findall(r'<ul class="problems">.*?</ul>', brought.text, re.DOTALL)
    first, second = (client.get(f"/orchards/{id}/advice?on=2026-05-18").json() for id in ("larkfield", "second"))
    assert first["recommendations"] == second["recommendations"]
    assert len(second["recommendations"]) > 10


def test_a_file_that_does_not_fit_is_told_by_line(client: Any) -> None:
    check = re.search(r'name="check" value="([0-9a-f]+)"', client.get("/set-up").text)[1]
    text = "orchard:\n  name: A\n  latitude: 95\nblocks:\n  - {id: a, fruit: aple}\n"
    refused = client.post(
        "/set-up/import", data={"check": check}, files={"file": ("../my orchard.yaml", text.encode())}
    )
    assert refused.status_code == 422
    assert "my-orchard.yaml, line 3, orchard.latitude" in refused.text
    assert "Did you mean apple?" in refused.text
    assert "/tmp" not in refused.text


def test_observations_and_weather_are_brought_into_an_orchard(client: Any) -> None:
    page = fields_of(client.get("/at/south-lark/orchard").text)
    own = {"check": page["check"], "version": page["version"]}
    looks = "date,kind,block,height\n2026-11-01,sward,ridge,15 in\n"
    done = client.post("/at/south-lark/import", data=own, files={"file": ("looks.csv", looks.encode())})
    assert done.status_code == 200
    assert "Observations of south-lark: 1." in done.text
    hours = "time,temp_f\n2026-11-01T01:00,50\n2026-11-01T02:00,51\n"
    done = client.post("/at/south-lark/import", data=own, files={"file": ("weather.csv", hours.encode())})
    assert "Hours of weather of south-lark: 2 new." in done.text


def test_a_file_from_elsewhere_or_of_no_form_is_refused(client: Any) -> None:
    assert client.post("/set-up/import", files={"file": ("a.yaml", b"orchard: {}")}).status_code == 403
    assert client.post("/set-up/import", data={"check": "x"}).status_code == 415


def test_only_who_may_rule_may_change(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    furnish(path)
    with Journal.open(path) as kept:
        secret = {
            name: Tokens(kept.engine).create(name, {"larkfield": scope})[1]
            for name, scope in (("reader", "read"), ("recorder", "record"), ("owner", "admin"))
        }
    with TestClient(make_app(settings(path, tokens=True)), follow_redirects=False) as client:
        for name, code in (("reader", 403), ("recorder", 403), ("owner", 303)):
            client.cookies.set("underbough", secret[name])
            page = client.get("/at/larkfield/orchard")
            assert ('class="setup"' in page.text) is (name == "owner")
            check = re.search(r'name="check" value="([0-9a-f]+)"', page.text)[1]
            fields = fields_of(page.text) if name == "owner" else {"orchard.name": "Mine"}
            answer = client.post("/at/larkfield/orchard", data={**fields, "check": check, "do": "save"})
            assert answer.status_code == code
        refused = client.post("/set-up", data={"check": check, "orchard.name": "Another", "do": "save"})
        assert refused.status_code == 403
        assert client.get("/at/south-lark/export.json").status_code == 404
