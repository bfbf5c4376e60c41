"""The JSON service: the same answer as the library gives, and errors as problem documents (RFC 9457)."""

import json
from importlib.resources import as_file, files

import pytest
from fastapi.testclient import TestClient

from advisor import advise
from advisor.answer import AnswerShape
from advisor.api.service import make_app
from advisor.api.settings import Settings
from advisor.reading import MOST_BYTES

ORCHARD = {
    "orchard": {"name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York"},
    "blocks": [{"id": "upper", "fruit": "apple", "trees": 10, "spacing": "6 m x 5 m"}],
    "observations": [
        {"date": "2026-05-17", "kind": "tree-stage", "block": "upper", "stage": "petal-fall"},
        {"date": "2026-05-18", "kind": "sward", "block": "upper", "height": "18 in", "seed_heads": "emerging"},
    ],
}


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    settings = Settings(journal=str(tmp_path_factory.mktemp("service") / "journal.db"))
    with TestClient(make_app(settings), raise_server_exceptions=False) as client:
        yield client


def test_health_names_the_edition(client):
    answer = client.get("/health")
    assert answer.status_code == 200
    assert answer.json()["status"] == "ok"
    assert len(answer.json()["rules"]) == len(answer.json()["knowledge"]) == 64


def test_the_service_answers_as_the_library_does(client):
    answer = client.post("/advice", params={"on": "2026-05-18"}, json=ORCHARD)
    assert answer.status_code == 200
    assert answer.json() == json.loads(json.dumps(advise(ORCHARD, on="2026-05-18")))
    AnswerShape.model_validate(answer.json())


def test_weather_as_a_list_of_hourly_records(client):
    hours = [{"time": f"2026-05-17T{h:02}:00-04:00", "temp_f": 60, "rain_in": 0, "humidity_pct": 70} for h in range(24)]
    answer = client.post("/advice", params={"on": "2026-05-17"}, json={**ORCHARD, "weather": hours})
    assert answer.status_code == 200
    assert (
        answer.json()["edition"]["inputs"]
        != client.post("/advice?on=2026-05-17", json=ORCHARD).json()["edition"]["inputs"]
    )


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (b'{"orchard": ', "not valid JSON"),
        (b"[]", "not an orchard file"),
        (b"\xff\xfe", "not UTF-8"),
        (json.dumps({**ORCHARD, "weather": "/etc/passwd"}).encode(), "weather"),
        (json.dumps({**ORCHARD, "observations": "../other.yaml"}).encode(), "observations"),
        (json.dumps({**ORCHARD, "colour": "green"}).encode(), "colour"),
    ],
)
def test_refused_input_is_a_problem_document(client, body, says):
    answer = client.post("/advice", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    document = answer.json()
    assert {"type", "title", "status", "detail", "errors"} <= set(document)
    assert says in document["detail"]
    assert document["errors"][0]["mend"]


def test_a_body_that_is_too_large_a_wrong_date_and_a_wrong_address(client):
    large = client.post("/advice", content=b" " * (MOST_BYTES + 1))
    assert (large.status_code, large.headers["content-type"]) == (413, "application/problem+json")
    date = client.post("/advice?on=soon", json=ORCHARD)
    assert date.status_code == 422
    assert "2026-05-18" in date.json()["errors"][0]["mend"]
    nowhere = client.get("/nowhere")
    assert (nowhere.status_code, nowhere.headers["content-type"]) == (404, "application/problem+json")
    assert client.get("/advice").status_code == 405


def test_the_demo_orchard_is_valid_for_the_library():
    with as_file(files("advisor") / "demo") as folder:
        AnswerShape.model_validate(advise(folder / "orchard.yaml", on="2026-05-18"))
