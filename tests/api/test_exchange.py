"""How requests and answers are exchanged: problem documents, ETags, preconditions, repeated posts, pages, media types."""

import csv
import io
import json
from xml.etree import ElementTree

import pytest
from api_service import DAY, LARKFIELD, make_service, problem_of

SNOW = {"date": "2026-02-01", "kind": "snow", "depth": "4 in"}
JSON_TEXT = {"Content-Type": "application/json"}


@pytest.fixture
def fresh(tmp_path):
    made = make_service(tmp_path)
    with made.client:
        yield made


@pytest.mark.parametrize(
    ("status", "method", "path", "sent"),
    [
        (404, "GET", "/nowhere", {}),
        (404, "GET", "/knowledge/stars", {}),
        (404, "GET", "/orchards?after=bm90aGluZw", {}),
        (405, "DELETE", "/advice", {}),
        (406, "GET", "/orchards", {"headers": {"Accept": "application/xml"}}),
        (406, "GET", "/orchards/larkfield/calendar.ics", {"headers": {"Accept": "application/json"}}),
        (412, "PUT", "/orchards/new-one", {"json": LARKFIELD, "headers": {"If-Match": '"1"'}}),
        (412, "PUT", "/orchards/larkfield", {"json": LARKFIELD, "headers": {"If-None-Match": "*"}}),
        (412, "PUT", "/orchards/larkfield", {"json": LARKFIELD, "headers": {"If-Match": '"1-other"'}}),
        (415, "POST", "/advice", {"content": "orchard:", "headers": {"Content-Type": "application/yaml"}}),
        (415, "POST", "/advice", {"content": "{}"}),
        (422, "GET", "/orchards?limit=0", {}),
        (422, "GET", "/orchards?limits=5", {}),
        (422, "GET", "/orchards?limit=5&limit=6", {}),
        (422, "GET", "/orchards/larkfield/advice?on=2026-02-30", {}),
        (422, "POST", "/orchards/larkfield/observations", {"json": [SNOW, {"kind": "snow"}]}),
        (422, "POST", "/orchards/larkfield/observations", {"json": {**SNOW, "block": "lower"}}),
        (422, "POST", "/orchards/larkfield/decisions", {"json": {"state": "done"}}),
        (422, "POST", "/why-not", {"json": {"practice": "first-mow"}}),
        (428, "PUT", "/orchards/larkfield", {"json": LARKFIELD}),
    ],
)
def test_every_refusal_is_a_problem_document(service, status, method, path, sent):
    answer = service.ask("everywhere", method, path, **sent)
    assert answer.status_code == status, answer.text
    document = problem_of(answer)
    for one in document.get("errors", []):
        assert one["message"]
        assert one["mend"]
    assert status != 422 or document["errors"]


def test_an_id_that_is_none_is_told_by_its_pattern(service):
    """Not only that it "cannot be read"."""
    sent = {"advice": "x", "recommendation": "y", "state": "done"}
    (fault,) = problem_of(service.ask("everywhere", "POST", "/orchards/larkfield/decisions", json=sent))["errors"]
    assert (fault["place"], fault["mend"]) == ("advice", "Write what fits the pattern ^[0-9a-f]{16}$.")


def test_a_wrong_method_says_which_are_right(service):
    assert service.ask("reader", "PATCH", "/advice").headers["allow"] == "POST"
    assert (
        service.ask("reader", "PATCH", "/orchards/larkfield").headers["allow"] == "GET, PUT"
    )  # RFC 9110, 15.5.6: all of them
    observation = service.ask("reader", "POST", service.at("/orchards/larkfield/observations/{observation}"))
    assert observation.headers["allow"] == "DELETE, GET, PUT"


def test_a_recommendation_that_is_not_in_the_advice_is_not_found(service):
    for end in ("why", "why.txt", "why.svg", "why.prov.json", "ecosystem.svg"):
        answer = service.ask("reader", "GET", service.at("/advice/{advice}/recommendations/dance/") + end)
        assert answer.status_code == 404
        assert "'dance'" in problem_of(answer)["detail"]


def test_a_repeated_key_is_not_told_with_the_name_of_its_owner(fresh):
    for depth, status in (("4 in", 201), ("5 in", 409)):
        answer = fresh.ask("recorder", "POST", "/orchards/larkfield/observations", json={**SNOW, "depth": depth},
                           headers={"Idempotency-Key": "snow-1"})  # fmt: skip
        assert answer.status_code == status
    assert "snow-1" not in problem_of(answer)["detail"]


def test_a_spreadsheet_is_refused_by_its_rows_and_columns(service):
    text = (
        "date,kind,block,height\n2026-05-18,sward,upper,18 in\n2026-05-18,sward,uper,18 in\n2026-05-18,swad,upper,18\n"
    )
    answer = service.ask("recorder", "POST", "/orchards/larkfield/observations", content=text,
                         headers={"Content-Type": "text/csv"})  # fmt: skip
    assert answer.status_code == 422
    errors = problem_of(answer)["errors"]
    assert errors[0]["place"] == "row 4, column kind"


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/advice/{advice}/recommendations/{rid}/why.txt", "text/plain"),
        ("/advice/{advice}/recommendations/{rid}/why.svg", "image/svg+xml"),
        ("/advice/{advice}/recommendations/{rid}/ecosystem.svg", "image/svg+xml"),
        ("/advice/{advice}/recommendations/{rid}/why.prov.json", "application/json"),
        ("/orchards/{orchard}/plan.csv?weeks=2", "text/csv"),
        ("/orchards/{orchard}/plan.svg", "image/svg+xml"),
        ("/orchards/{orchard}/bloom.svg", "image/svg+xml"),
    ],
)
def test_answers_come_in_the_forms_that_people_keep(service, path, kind):
    answer = service.ask("reader", "GET", service.at(path))
    assert (answer.status_code, answer.headers["content-type"].partition(";")[0]) == (200, kind)
    if kind == "image/svg+xml":
        root = ElementTree.fromstring(answer.content)
        assert root.tag == "{http://www.w3.org/2000/svg}svg"
        assert root.find("{http://www.w3.org/2000/svg}title") is not None
    elif kind == "text/csv":
        rows = list(csv.DictReader(io.StringIO(answer.text)))
        planned = service.ask("reader", "GET", service.at("/orchards/{orchard}/plan?weeks=2")).json()
        jobs = {job["job"] for week in (planned["this_week"], *planned["next_weeks"]) for job in week["jobs"]}
        assert {row["job"] for row in rows if row["day"]} == jobs
    elif kind == "application/json":
        from prov.model import ProvDocument

        assert len(ProvDocument.deserialize(content=answer.text, format="json").get_records()) > 5
    else:
        assert service.larkfield["rid"] in answer.text
        assert "Proof: " in answer.text
    tag = answer.headers["etag"]
    assert service.ask("reader", "GET", service.at(path), headers={"If-None-Match": tag}).status_code == 304
    assert service.ask("reader", "GET", service.at(path), headers={"Accept": "image/png"}).status_code == 406


def test_what_is_accepted_of_new_plants_can_be_said(service):
    asked = "/orchards/larkfield/bloom?on=2026-05-18&wanted=borage"
    usual, sown = (service.ask("reader", "GET", asked + more).json() for more in ("", "&annuals=false&most=3"))
    assert (usual["terms"]["annuals"], usual["terms"]["most"]) == (True, None)
    assert (sown["terms"]["annuals"], sown["terms"]["most"]) == (False, 3)
    assert "borage" in str(sown["left_out"])
    assert service.ask("reader", "GET", f"{asked}&most=0").status_code == 422


def test_with_prices_the_cheapest_plants_are_sought(service):
    asked = "/orchards/larkfield/bloom?on=2026-05-18"
    chosen = service.ask("reader", "GET", asked).json()["choices"][0]["plants"]
    prices = dict.fromkeys([one["plant"] for one in chosen], 6.5)
    query = ",".join(f"{plant}={price}" for plant, price in prices.items())
    priced = service.ask("reader", "GET", f"{asked}&prices={query}").json()
    assert priced["terms"]["prices"] == prices
    assert {one["plant"] for choice in priced["choices"] for one in choice["plants"]} <= set(prices)
    assert priced["choices"][0]["price"] == sum(prices.values())
    dearer = service.ask("reader", "GET", f"{asked}&prices={query.replace('6.5', '7.5', 1)}").json()
    assert dearer["choices"][0]["price"] == priced["choices"][0]["price"] + 1  # not the answer that was remembered


@pytest.mark.parametrize(
    ("prices", "said"),
    [("yarrow", "no price is given"), ("yarrow=0", "no price that can be read"), ("yarrow=cheap", "no price that can be"),
     ("yarrow=4,yarrow=5", "two prices"), ("moonflower=4", "moonflower"), (",".join(["yarrow=4"] * 101), "101 prices")],
)  # fmt: skip
def test_a_price_that_cannot_be_is_refused_and_said_why(service, prices, said):
    refused = service.ask("reader", "GET", f"/orchards/larkfield/bloom?on=2026-05-18&prices={prices}")
    assert refused.status_code == 422
    assert said in refused.text


def test_what_has_not_changed_is_not_sent_again(fresh):
    for path in (
        "/orchards",
        "/orchards/larkfield",
        "/orchards/larkfield/observations",
        f"/orchards/larkfield/advice?on={DAY}",
        fresh.at("/advice/{advice}"),
        fresh.at("/advice/{advice}/recommendations/{rid}/why"),
        "/knowledge/plants",
        "/rules",
    ):
        tag = fresh.ask("reader", "GET", path).headers["etag"]
        again = fresh.ask("reader", "GET", path, headers={"If-None-Match": f'W/"x", {tag}'})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag), path
    tag = fresh.ask("reader", "GET", "/orchards/larkfield/observations").headers["etag"]
    fresh.ask("recorder", "POST", "/orchards/larkfield/observations", json=SNOW)
    changed = fresh.ask("reader", "GET", "/orchards/larkfield/observations", headers={"If-None-Match": tag})
    assert changed.status_code == 200
    assert changed.headers["etag"] != tag


def test_an_orchard_is_replaced_only_by_who_has_seen_it(fresh):
    seen = fresh.ask("reader", "GET", "/orchards/larkfield")
    file = seen.json()
    file["blocks"][0]["trees"] = 12
    put = fresh.ask("admin", "PUT", "/orchards/larkfield", json=file, headers={"If-Match": seen.headers["etag"]})
    assert put.status_code == 200
    assert put.headers["etag"] != seen.headers["etag"]
    late = fresh.ask("admin", "PUT", "/orchards/larkfield", json=file, headers={"If-Match": seen.headers["etag"]})
    assert late.status_code == 412
    assert fresh.ask("reader", "GET", "/orchards/larkfield").json()["blocks"][0]["trees"] == 12


def test_a_post_sent_twice_records_once(fresh):
    key = {"Idempotency-Key": "walk-1"}
    path = "/orchards/larkfield/observations"
    count = len(fresh.ask("reader", "GET", path).json()["items"])
    first, second = (fresh.ask("recorder", "POST", path, json=[SNOW], headers=key) for _ in range(2))
    assert first.status_code == second.status_code == 201
    assert first.json() == second.json()
    assert len(fresh.ask("reader", "GET", path).json()["items"]) == count + 1
    other = fresh.ask("recorder", "POST", path, json=[{**SNOW, "depth": "2 in"}], headers=key)
    assert problem_of(other)["status"] == 409
    someone_else = fresh.ask("everywhere", "POST", path, json=[{**SNOW, "depth": "2 in"}], headers=key)
    assert someone_else.status_code == 201  # a key is its asker's own

    made = {"advice": fresh.larkfield["advice"], "recommendation": fresh.larkfield["rid"], "state": "done", "hours": 3}
    told = [fresh.ask("recorder", "POST", "/orchards/larkfield/decisions", json=made, headers=key) for _ in range(2)]
    assert told[0].json() == told[1].json()
    assert told[0].json()["by"] == "recorder"
    assert len(fresh.ask("reader", "GET", "/orchards/larkfield/decisions").json()["items"]) == 1


def test_nothing_is_half_stored(fresh):
    path = "/orchards/larkfield/observations"
    before = fresh.ask("reader", "GET", path).json()
    answer = fresh.ask("recorder", "POST", path, json=[SNOW, {**SNOW, "depth": "four"}])
    assert answer.status_code == 422
    assert problem_of(answer)["errors"][0]["place"] == "[1].depth"
    assert fresh.ask("reader", "GET", path).json() == before


def test_an_observation_is_corrected_and_withdrawn_by_who_has_seen_it(fresh):
    path = fresh.at("/orchards/{orchard}/observations/{observation}")
    seen = fresh.ask("reader", "GET", path)
    given = {**seen.json(), "stage": "full-bloom"}
    assert fresh.ask("recorder", "PUT", path, json=given).status_code == 428
    put = fresh.ask("recorder", "PUT", path, json=given, headers={"If-Match": seen.headers["etag"]})
    assert put.json()["stage"] == "full-bloom"
    late = fresh.ask("recorder", "DELETE", path, headers={"If-Match": seen.headers["etag"]})
    assert late.status_code == 412
    assert fresh.ask("recorder", "DELETE", path, headers={"If-Match": put.headers["etag"]}).status_code == 204
    assert fresh.ask("reader", "GET", path).status_code == 404


def test_pages_hold_everything_once_and_end(fresh):
    days = [f"2026-02-{day:02}" for day in range(1, 12)]
    fresh.ask("recorder", "POST", "/orchards/larkfield/observations", json=[{**SNOW, "date": day} for day in days])
    found, cursor = [], ""
    for _ in range(20):
        page = fresh.ask("reader", "GET", f"/orchards/larkfield/observations?limit=3{cursor}").json()
        found += [one["id"] for one in page["items"]]
        if page["next"] is None:
            break
        assert len(page["items"]) == 3
        cursor = f"&after={page['next']}"
    assert page["next"] is None
    assert len(found) == len(set(found)) == 13
    since = fresh.ask("reader", "GET", "/orchards/larkfield/observations?since=2026-05-01").json()["items"]
    assert {one["kind"] for one in since} == {"tree-stage", "sward"}


def test_a_spreadsheet_of_observations_and_of_weather(fresh):
    csv = {"Content-Type": "text/csv; charset=utf-8"}
    rows = "date,kind,block,pest,count,per,trap\n2026-05-18,pest-count,upper,codling-moth,5,trap,pheromone\n"
    answer = fresh.ask("recorder", "POST", "/orchards/larkfield/observations", content=rows, headers=csv)
    assert answer.json()["ids"][0].startswith("pest-count-2026-05-18-upper-")
    path = "/orchards/larkfield/weather"
    hours = "time,temp_f,rain_in\n2026-05-17T06:00,52,0.1\n2026-05-17T07:00,54,\n"
    told = [fresh.ask("recorder", "POST", path, content=hours, headers=csv).json() for _ in range(2)]
    assert told == [{"new": 2, "corrected": 0, "unchanged": 0}, {"new": 0, "corrected": 0, "unchanged": 2}]
    mended = [{"time": "2026-05-17T06:00-04:00", "rain_in": 0.2}]
    assert fresh.ask("recorder", "POST", path, json=mended).json()["corrected"] == 1
    ahead = [{"time": "2026-05-19T06:00-04:00", "temp_c": 12}]
    assert fresh.ask("recorder", "POST", f"{path}?forecast=true", json=ahead).json()["new"] == 1
    bad = fresh.ask("recorder", "POST", path, content="time,temp_f\n2026-05-17T06:00,900\n", headers=csv)
    assert "row 2, column temp_f" in problem_of(bad)["detail"]


def test_work_that_is_done_is_known_to_later_advice(fresh):
    advice = fresh.ask("reader", "GET", f"/orchards/larkfield/advice?on={DAY}").json()
    mow = next(one for one in advice["recommendations"] if one["practice"] == "first-mow")
    made = {"advice": advice["advice"], "recommendation": mow["id"], "state": "done", "hours": "2 h", "on": DAY}
    done = fresh.ask("recorder", "POST", "/orchards/larkfield/decisions", json=made).json()
    assert done["observation"].startswith("work-")
    later = fresh.ask("reader", "GET", "/orchards/larkfield/advice?on=2026-05-19").json()
    assert not [one for one in later["recommendations"] if one["practice"] == "first-mow" and one["stance"] == "do"]
    assert fresh.ask("reader", "GET", f"/advice/{advice['advice']}").json() == advice


def test_what_was_decided_is_taken_back_and_work_again_advised(fresh):
    path = "/orchards/larkfield/decisions"
    before = fresh.ask("reader", "GET", f"/orchards/larkfield/advice?on={DAY}").json()
    made = {"advice": fresh.larkfield["advice"], "recommendation": fresh.larkfield["rid"]}
    done = fresh.ask("recorder", "POST", path, json={**made, "state": "done", "hours": 3, "on": DAY}).json()
    assert fresh.ask("reader", "GET", f"/orchards/larkfield/advice?on={DAY}").json() != before
    back = fresh.ask("recorder", "POST", path, json={**made, "state": "taken-back", "reason": "by-mistake"})
    assert back.status_code == 201
    assert (back.json()["state"], back.json()["on"], back.json()["observation"]) == ("taken-back", DAY, None)
    assert fresh.ask("reader", "GET", f"/orchards/larkfield/advice?on={DAY}").json() == before
    assert fresh.ask("reader", "GET", f"/orchards/larkfield/observations/{done['observation']}").status_code == 404
    listed = fresh.ask("reader", "GET", path).json()["items"]
    assert [one["state"] for one in listed] == ["done", "taken-back"]
    again = fresh.ask("recorder", "POST", path, json={**made, "state": "taken-back"})
    assert again.status_code == 409
    assert "nothing stands decided" in problem_of(again)["detail"]
    for more in ({"hours": 1}, {"on": DAY}, {"amount": "2 m3"}):
        assert fresh.ask("recorder", "POST", path, json={**made, "state": "taken-back", **more}).status_code == 422
    assert "by-mistake" in fresh.ask("reader", "GET", "/reasons").json()["taken-back"]


def test_answers_are_the_library_s(fresh):
    from advisor import advise

    answer = fresh.ask("reader", "POST", f"/advice?on={DAY}", json=LARKFIELD).json()
    assert answer == json.loads(json.dumps(advise(LARKFIELD, on=DAY)))
    asked = {"file": LARKFIELD, "changes": {"set": {"blocks.upper.floor": "turf"}}}
    found = fresh.ask("reader", "POST", f"/what-if?on={DAY}", json=asked).json()
    assert found == json.loads(json.dumps(advise(LARKFIELD, on=DAY).what_if(asked["changes"])))
    kept = {"advice": fresh.larkfield["advice"], "changes": {"drop": [fresh.larkfield["observation"]]}}
    assert fresh.ask("reader", "POST", "/what-if", json=kept).status_code == 200
    tree = fresh.ask("reader", "GET", fresh.at("/advice/{advice}/recommendations/{rid}/why")).json()
    assert tree["kind"] == "recommendation"
    assert fresh.ask("reader", "GET", fresh.at("/advice/{advice}/recommendations/no-such/why")).status_code in (
        404,
        422,
    )


def test_too_large_a_body_is_refused_before_it_is_read(tmp_path):
    small = make_service(tmp_path, most_bytes=5_000)
    large = json.dumps({**LARKFIELD, "note": "x" * 6_000})

    def parts():
        yield from (large[at : at + 500].encode() for at in range(0, len(large), 500))

    for content in (large, parts()):
        answer = small.ask("admin", "POST", "/advice", content=content, headers=JSON_TEXT)
        assert problem_of(answer)["status"] == 413
