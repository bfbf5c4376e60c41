"""Who may ask: tokens and their keeping, this machine without tokens, other sites, calendars' keys, how often."""

import json
import logging
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import ExitStack, closing
from pathlib import Path

import pytest
from api_service import DAY, LARKFIELD, make_service, problem_of
from fastapi.testclient import TestClient
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.api.limits import MOST_ASKERS, Rate, Shared
from advisor.api.service import make_app
from advisor.api.settings import Settings
from advisor.errors import InputError
from counts import count


def test_tokens_are_kept_as_hashes_and_end_when_revoked(tmp_path):
    made = make_service(tmp_path)
    secret = made.tokens["reader"]
    assert len(secret) > 40
    content = b"".join(path.read_bytes() for path in tmp_path.iterdir())
    assert b"reader" in content
    assert secret.encode() not in content
    assert made.tokens["calendar"].encode() not in content
    assert made.ask("reader", "GET", "/orchards/larkfield").status_code == 200
    tokens = made.app.state.shelf.tokens()
    name = next(one.id for one in tokens.all() if one.name == "reader")
    assert tokens.revoke(name)
    assert not tokens.revoke(name)
    refused = made.ask("reader", "GET", "/orchards/larkfield")
    assert problem_of(refused)["status"] == 401
    rows = sqlite3.connect(tmp_path / "journal.db").execute("SELECT hash FROM tokens").fetchall()
    assert {len(hash_) for (hash_,) in rows} == {64}


@pytest.mark.parametrize("header", ["Bearer", "Bearer ", "Bearer wrong", "Basic bGFyazpmaWVsZA==", "ub_", ""])
def test_a_wrong_header_is_refused_and_never_taken_for_nobody(tmp_path, header):
    app = make_app(Settings(journal=str(tmp_path / "journal.db")))  # nobody would be let in here
    answer = TestClient(app).get("/orchards", headers={"Authorization": header})
    assert problem_of(answer)["status"] == 401
    assert answer.headers["www-authenticate"] == "Bearer"


def local(tmp_path, host="testserver", client=("127.0.0.1", 5000)):
    app = make_app(Settings(journal=str(tmp_path / "journal.db")))
    return TestClient(app, base_url=f"http://{host}", client=client)


@pytest.mark.parametrize("host", ["localhost:8000", "127.0.0.1", "[::1]:8000"])
def test_on_this_machine_no_token_is_wanted(tmp_path, host):
    assert local(tmp_path, host).get("/orchards").status_code == 200


@pytest.mark.parametrize(
    ("host", "client"),
    [
        ("localhost", ("192.168.1.20", 5000)),
        ("localhost", ("::ffff:192.168.1.20", 5000)),
        ("orchard.example", ("127.0.0.1", 5000)),  # a name elsewhere that was made to point here, or a proxy
        ("192.168.1.20", ("127.0.0.1", 5000)),
    ],
)
def test_from_elsewhere_a_token_is_wanted_though_this_machine_needs_none(tmp_path, host, client):
    assert local(tmp_path, host, client).get("/orchards").status_code == 401


def test_a_page_of_another_site_changes_nothing(tmp_path):
    client = local(tmp_path)
    for origin in ("https://elsewhere.example", "null", "http://localhost:9999"):
        answer = client.put("/orchards/larkfield", json=LARKFIELD, headers={"Origin": origin})
        assert answer.status_code == 403, origin
    assert client.get("/orchards").json()["items"] == []
    own = client.put("/orchards/larkfield", json=LARKFIELD, headers={"Origin": "http://testserver"})
    assert own.status_code == 201


def test_the_cookie_of_the_pages_is_the_same_asker(tmp_path):
    made = make_service(tmp_path)
    client = TestClient(made.app, cookies={"underbough": made.tokens["recorder"]})
    assert client.get("/orchards/larkfield").status_code == 200
    seen = {"date": DAY, "kind": "snow", "depth": "1 in"}
    path = "/orchards/larkfield/observations"
    elsewhere = client.post(path, json=seen, headers={"Origin": "https://elsewhere.example"})
    assert elsewhere.status_code == 403
    assert client.post(path, json=seen, headers={"Origin": "http://testserver"}).status_code == 201
    gone = TestClient(made.app, cookies={"underbough": "ub_unknown"})
    assert gone.get("/orchards/larkfield").status_code == 401


def test_a_calendar_s_key_reads_one_calendar_and_nothing_else(tmp_path):
    made = make_service(tmp_path)
    key = made.ask("admin", "POST", "/orchards/larkfield/calendar-keys").json()
    path = key["address"].removeprefix("http://testserver")
    first = made.ask(None, "GET", path)
    assert first.headers["content-type"].startswith("text/calendar")
    assert first.text.startswith("BEGIN:VCALENDAR")
    assert made.ask(None, "GET", path).content == first.content
    assert made.ask(None, "GET", path.replace("larkfield", "elsewhere")).status_code == 404
    made.tokens["key"] = key["key"]
    assert made.ask("key", "GET", "/orchards/larkfield").status_code == 401
    assert made.ask(None, "GET", path.replace(key["key"], made.tokens["admin"])).status_code == 401
    listed = made.ask("admin", "GET", "/orchards/larkfield/calendar-keys").json()
    assert key["id"] in [one["id"] for one in listed]
    assert key["key"] not in json.dumps(listed)
    assert made.ask("stranger", "DELETE", f"/orchards/elsewhere/calendar-keys/{key['id']}").status_code == 404
    assert made.ask("admin", "DELETE", f"/orchards/larkfield/calendar-keys/{key['id']}").status_code == 204
    assert made.ask(None, "GET", path).status_code == 401
    assert made.ask("reader", "GET", "/orchards/larkfield/calendar.ics").status_code == 200


def test_a_changed_plan_raises_the_number_of_its_entries(tmp_path):
    """RFC 5545, 3.8.7.4: SEQUENCE grows with each revision of an entry."""
    import icalendar

    made = make_service(tmp_path)

    def entries():
        text = made.ask("reader", "GET", "/orchards/larkfield/calendar.ics").content
        return {str(one["uid"]): one for one in icalendar.Calendar.from_ical(text).walk("VEVENT")}

    before = entries()
    assert before
    file = made.ask("admin", "GET", "/orchards/larkfield").json()
    file["blocks"][0]["trees"] = 50
    answer = made.ask("admin", "PUT", "/orchards/larkfield", json=file, headers={"If-Match": "*"})
    assert answer.status_code == 200
    after = entries()
    changed = [uid for uid in before if uid in after and before[uid]["summary"] != after[uid]["summary"]]
    assert changed
    for uid in changed:
        assert after[uid]["sequence"] == before[uid]["sequence"] + 1


# --- how often --------------------------------------------------------------------------------


def test_who_asks_too_often_waits_and_others_do_not(tmp_path):
    made = make_service(tmp_path, per_minute=None)
    made.app.state.door.rate = Rate(60, burst=3)
    answers = [made.ask("reader", "GET", "/orchards") for _ in range(4)]
    assert [one.status_code for one in answers] == [200, 200, 200, 429]
    assert problem_of(answers[3])["status"] == 429
    assert 1 <= int(answers[3].headers["retry-after"]) <= 60
    assert made.ask("recorder", "GET", "/orchards").status_code == 200
    guesses = [made.client.get("/orchards", headers={"Authorization": f"Bearer ub_{n}"}).status_code for n in range(5)]
    assert guesses == [401, 401, 401, 429, 429]  # each guess is another token, but all come from one address
    assert made.ask("recorder", "GET", "/orchards").status_code == 200


@settings(max_examples=count("rate limits over random arrivals"), deadline=None, database=None)
@given(
    shared=st.booleans(),
    gaps=st.lists(st.floats(0, 30), min_size=1, max_size=80),
    per_minute=st.floats(1, 600),
    burst=st.integers(1, 20),
)
def test_no_asker_gets_more_than_burst_and_rate_allow(shared, gaps, per_minute, burst):
    """By the definition of a token bucket: in any span at most its capacity plus what flows in."""
    now = 1.0
    let_in = []
    with tempfile.NamedTemporaryFile() as file, ExitStack() as stack:
        buckets = [stack.enter_context(closing(Shared(Path(file.name)))) for _ in range(3)] if shared else [None]
        rates = [Rate(per_minute, burst, clock=lambda: now, buckets=one) for one in buckets]
        for number, gap in enumerate(gaps):
            now += gap
            wait = rates[number % len(rates)].wait("someone")
            if wait > 0:
                now += wait + 1e-6  # who waits as long as was said is let in
                assert rates[-1].wait("someone") == 0
            let_in.append(now)
    for first in range(len(let_in)):
        for last in range(first, len(let_in)):
            most = burst + (let_in[last] - let_in[first]) * per_minute / 60
            assert last - first + 1 <= most + 1e-3


def test_the_rate_forgets_who_asked_longest_ago():
    rate = Rate(60, 1, clock=lambda: 0.0)
    assert rate.wait("first") == 0
    assert rate.wait("first") > 0
    for n in range(MOST_ASKERS):
        rate.wait(str(n))
    assert rate.wait("first") == 0


def test_several_processes_count_together(tmp_path):
    """Four workers of one server let in no more than one would: the burst, for nothing flows in meanwhile."""
    file = tmp_path / "buckets"
    file.touch()
    program = (
        "import sys; from pathlib import Path; from advisor.api.limits import Rate, Shared\n"
        "rate = Rate(0.001, 40, buckets=Shared(Path(sys.argv[1])))\n"
        "print(sum(rate.wait('someone') == 0 for _ in range(60)), sum(rate.wait(f'other {n}') == 0 for n in range(30)))"
    )
    workers = [subprocess.Popen([sys.executable, "-c", program, str(file)], stdout=subprocess.PIPE, text=True)
               for _ in range(4)]  # fmt: skip
    told = [worker.communicate(timeout=120)[0].split() for worker in workers]
    assert sum(int(one) for one, _ in told) == 40
    assert [int(others) for _, others in told] == [30, 30, 30, 30]  # nobody is kept out by another's asking


def test_a_full_row_forgets_who_asked_longest_ago(tmp_path):
    now = 1.0
    file = tmp_path / "buckets"
    file.touch()
    with closing(Shared(file)) as buckets:
        buckets._ROWS = 1
        rate = Rate(0.001, 1, clock=lambda: now, buckets=buckets)
        for n in range(8):
            now += 1
            assert rate.wait(str(n)) == 0
        assert rate.wait("0") > 0  # and so asks last of all
        now += 1
        assert rate.wait("ninth") == 0
        assert rate.wait("0") > 0
        assert rate.wait("1") == 0


# --- what is said of it -----------------------------------------------------------------------


def test_logs_tell_what_was_asked_and_keep_secrets(tmp_path, caplog):
    made = make_service(tmp_path)
    caplog.set_level(logging.INFO, "underbough")
    caplog.clear()
    made.ask("reader", "GET", "/orchards/larkfield")
    made.ask(None, "GET", f"/orchards/larkfield/calendar.ics?key={made.tokens['calendar']}")
    made.client.get("/orchards", headers={"Authorization": "Bearer ub_guessed"})
    made.ask("recorder", "POST", "/orchards/larkfield/observations", json={"kind": "snow", "note": "sesame"})
    made.ask(None, "GET", "/wp-secret")
    lines = [json.loads(record.message) for record in caplog.records if record.name == "underbough.requests"]
    assert [(one["method"], one["route"], one["status"]) for one in lines] == [
        ("GET", "/orchards/{orchard}", 200),
        ("GET", "/orchards/{orchard}/calendar.ics", 200),
        ("GET", "/orchards", 401),
        ("POST", "/orchards/{orchard}/observations", 422),
        ("GET", "nowhere", 404),
    ]
    tokens = {one.name: one.id for one in made.app.state.shelf.tokens().all()}
    assert lines[0]["asker"] == tokens["reader"]
    assert lines[0]["bytes"] > 100
    assert lines[0]["milliseconds"] > 0
    text = caplog.text
    for secret in (*made.tokens.values(), "ub_guessed", "sesame"):
        assert secret not in text


def test_metrics_are_prometheus_text(tmp_path):
    """The text format of Prometheus, version 0.0.4: families with HELP and TYPE, cumulative buckets up to +Inf."""
    made = make_service(tmp_path)
    for _ in range(3):
        made.ask("reader", "GET", "/rules?limit=1")
    answer = made.ask("reader", "GET", "/metrics")
    assert answer.headers["content-type"] == "text/plain; version=0.0.4; charset=utf-8"
    lines = answer.text.splitlines()
    assert 'underbough_requests_total{method="GET",route="/rules",status="200"} 3' in lines
    buckets = [line for line in lines if line.startswith('underbough_request_seconds_bucket{route="/rules"')]
    counts = [int(line.rpartition(" ")[2]) for line in buckets]
    assert counts == sorted(counts)
    assert 'le="+Inf"' in buckets[-1]
    assert counts[-1] == 3
    assert 'underbough_request_seconds_count{route="/rules"} 3' in lines
    assert "larkfield" not in answer.text
    assert all(line.startswith("#") or len(line.rsplit(" ", 1)) == 2 for line in lines)


@pytest.mark.parametrize(
    ("name", "value"), [("UNDERBOUGH_RATE", "often"), ("UNDERBOUGH_RATE", "-1"), ("UNDERBOUGH_TOKENS", "maybe")]
)
def test_a_setting_that_cannot_be_read_is_refused_by_name(name, value):
    with pytest.raises(InputError, match=name):
        Settings.from_environment({name: value})
    assert Settings.from_environment({"UNDERBOUGH_RATE": "0"}).per_minute is None
    assert Settings.from_environment({"UNDERBOUGH_TOKENS": "required"}).tokens
    assert "mark" not in repr(Settings())


def test_without_the_extra_advice_is_given_and_nothing_kept(monkeypatch, tmp_path):
    monkeypatch.setitem(sys.modules, "sqlalchemy", None)
    client = TestClient(make_app(Settings(journal=str(tmp_path / "journal.db"))))
    assert client.post(f"/advice?on={DAY}", json=LARKFIELD).status_code == 200
    assert client.get("/knowledge/pests?limit=1").status_code == 200
    answer = client.get("/orchards")
    assert problem_of(answer)["status"] == 501
    assert "underbough[server]" in answer.json()["detail"]
    assert list(tmp_path.iterdir()) == []
