"""Several askers at once, on an SQLite file and on PostgreSQL."""

from concurrent.futures import ThreadPoolExecutor

import postgres
import pytest
from api_service import DAY, make_service


@pytest.fixture(scope="module")
def cluster():
    with postgres.cluster() as folder:
        yield folder


@pytest.fixture(params=["sqlite", "postgresql"])
def service(request, tmp_path):
    more = {}
    if request.param == "postgresql":
        more["journal"] = postgres.emptied(request.getfixturevalue("cluster"))
    made = make_service(tmp_path, **more)
    with made.client:
        yield made


def test_nothing_is_lost_or_doubled_when_many_ask_at_once(service):
    path = "/orchards/larkfield/observations"
    seen = [{"date": f"2026-01-{day:02}", "kind": "snow", "depth": f"{day} in"} for day in range(1, 13)]
    before = len(service.ask("reader", "GET", f"{path}?limit=200").json()["items"])

    def record(number):
        key = {"Idempotency-Key": f"walk-{number % 12}"}
        return service.ask("recorder", "POST", path, json=seen[number % 12], headers=key)

    def read(_):
        return service.ask("reader", "GET", f"/orchards/larkfield/advice?on={DAY}")

    with ThreadPoolExecutor(8) as pool:
        told = list(pool.map(record, range(36)))
        advised = list(pool.map(read, range(8)))
    assert {one.status_code for one in told} == {201}
    assert len({one.json()["ids"][0] for one in told}) == 12
    assert len(service.ask("reader", "GET", f"{path}?limit=200").json()["items"]) == before + 12
    assert {one.status_code for one in advised} == {200}
    assert len({one.content for one in advised}) == 1
    assert service.app.state.shelf.journal().verify() == []


def test_of_two_who_replace_an_orchard_at_once_one_is_told_to_look_again(service):
    seen = service.ask("reader", "GET", "/orchards/larkfield")
    files = [{**seen.json(), "blocks": [{**seen.json()["blocks"][0], "trees": trees}]} for trees in range(20, 28)]

    def put(file):
        return service.ask("admin", "PUT", "/orchards/larkfield", json=file, headers={"If-Match": seen.headers["etag"]})

    with ThreadPoolExecutor(8) as pool:
        told = sorted(one.status_code for one in pool.map(put, files))
    assert told == [200] + [412] * 7


def test_what_no_database_takes_is_refused_and_odd_signs_are_kept(service):
    path = "/orchards/larkfield/observations"
    one = {"date": DAY, "kind": "snow", "depth": "1 in"}
    assert service.ask("recorder", "POST", path, json={**one, "id": "nul\0"}).status_code == 422
    noted = {**one, "note": "drifts \0 by the gate, 🍎 untouched"}
    kept = service.ask("recorder", "POST", path, json=noted).json()["ids"][0]
    assert service.ask("reader", "GET", f"{path}/{kept}").json()["note"] == noted["note"]
    calendar = service.ask("reader", "GET", "/orchards/larkfield/calendar.ics")
    assert calendar.content == service.ask("reader", "GET", "/orchards/larkfield/calendar.ics").content
