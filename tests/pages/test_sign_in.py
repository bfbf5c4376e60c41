"""Signing in with a token, once; forms that only our own pages can send; nothing that leaves this server."""

import re

import pytest
from fastapi.testclient import TestClient

from advisor.api.pages.layout import POLICY
from advisor.api.pages.sign_in import inside

WEEK = "/at/larkfield/this-week?on=2026-05-18"


@pytest.fixture
def client(service):
    """A browser that has not signed in."""
    return TestClient(service.app, follow_redirects=False, raise_server_exceptions=False)


def check_of(page):
    return re.search(r'name="check" value="([0-9a-f]+)"', page.text)[1]


def sign_in(client, token, **more):
    check = check_of(client.get("/sign-in"))
    return client.post("/sign-in", data={"check": check, "token": token, **more})


def test_a_page_leads_to_signing_in_and_from_there_back(service, client):
    refused = client.get(WEEK)
    assert refused.status_code == 303
    assert refused.headers["location"] == "/sign-in?next=%2Fat%2Flarkfield%2Fthis-week%3Fon%3D2026-05-18"
    page = client.get(refused.headers["location"])
    assert 'value="/at/larkfield/this-week?on=2026-05-18"' in page.text
    let_in = sign_in(client, service.tokens["reader"], next=WEEK)
    assert let_in.status_code == 303
    assert let_in.headers["location"] == WEEK
    assert client.get(WEEK).status_code == 200


def test_the_cookie_is_for_this_server_alone_and_out_of_reach_of_scripts(service, client):
    cookie = sign_in(client, service.tokens["reader"]).headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert "Secure" not in cookie  # this test speaks plain HTTP
    safe = TestClient(service.app, base_url="https://testserver", follow_redirects=False)
    assert "Secure" in sign_in(safe, service.tokens["reader"]).headers["set-cookie"]


@pytest.mark.parametrize("token", ["", "ub_not-a-token", "ub_" + "x" * 5000])
def test_a_wrong_token_is_refused_without_a_cookie(client, token):
    refused = sign_in(client, token)
    assert refused.status_code == 403
    assert "set-cookie" not in refused.headers
    assert "not known here" in refused.text
    assert client.get(WEEK).status_code == 303


def test_a_calendar_key_opens_no_page(service, client):
    assert sign_in(client, service.tokens["calendar"]).status_code == 403


def test_signing_out_forgets_the_token_and_what_was_kept(service, client):
    sign_in(client, service.tokens["reader"])
    check = check_of(client.get(WEEK))
    gone = client.post("/sign-out", data={"check": check})
    assert gone.headers["location"] == "/sign-in"
    assert gone.headers["clear-site-data"] == '"cache", "storage"'
    assert client.get(WEEK).status_code == 303


def test_a_form_without_our_value_changes_nothing(service, client):
    sign_in(client, service.tokens["recorder"])
    page = client.get(WEEK)
    rid, advice = (re.search(rf'name="{name}" value="([^"]+)"', page.text)[1] for name in ("rid", "advice"))
    form = {"rid": rid, "advice": advice, "state": "done"}
    other = TestClient(service.app, cookies={"underbough": service.tokens["everywhere"]}, follow_redirects=False)
    stolen = check_of(other.get(WEEK))
    for check in ({}, {"check": ""}, {"check": "0" * 64}, {"check": "\u00e9"}, {"check": stolen}):
        refused = client.post(WEEK, data={**form, **check})
        assert refused.status_code == 403, check
    foreign = client.post(WEEK, data={**form, "check": check_of(page)}, headers={"Origin": "https://elsewhere.example"})
    assert foreign.status_code == 403
    assert 'class="decided"' not in client.get(WEEK).text
    assert client.post(WEEK, data={**form, "check": check_of(page)}).status_code == 303
    assert 'class="decided"' in client.get(WEEK).text


def test_a_form_that_is_sent_twice_is_kept_once(service, client):
    sign_in(client, service.tokens["recorder"])
    page = client.get(WEEK)
    advice, rid = re.findall(
        r'name="advice" value="([^"]+)"><input type="hidden" name="rid" value="([^"]+)"', page.text
    )[-1]
    form = {"check": check_of(page), "advice": advice, "rid": rid, "state": "done", "hours": "2"}
    for _ in range(3):
        assert client.post(WEEK, data=form).status_code == 303
    kept = [one for one in service.app.state.shelf.journal().decisions("larkfield") if one.recommendation == rid]
    assert [(one.state, one.hours) for one in kept] == [("done", 2.0)]


def test_a_slip_is_taken_back_and_the_work_ticked_again(service, client):
    """Also by a second tap on a form: it is kept once, and what is then ticked anew is another decision."""
    sign_in(client, service.tokens["recorder"])
    journal = service.app.state.shelf.journal()

    def forms_with(button):
        """The fields of each form of the week that has this button, by what it is about."""
        forms = re.findall(r"<form.*?</form>", client.get(WEEK).text, re.DOTALL)
        found = [
            dict(re.findall(r'name="([^"]+)" value="([^"]*)"', one)) for one in forms if f'value="{button}"' in one
        ]
        return {one["rid"]: one for one in found}

    for back in forms_with("taken-back").values():  # what other tests ticked
        client.post(WEEK, data={**back, "state": "taken-back"})
    rid = next(iter(forms_with("done")))
    at_first = len(journal.observations("larkfield"))
    for turn in range(2):
        tick = forms_with("done")[rid]
        for _ in range(2):
            assert client.post(WEEK, data={**tick, "hours": "2", "state": "done"}).status_code == 303
        assert len(journal.observations("larkfield")) == at_first + 1, turn
        assert rid not in forms_with("done")
        back = forms_with("taken-back")[rid]
        for _ in range(2):
            told = client.post(WEEK, data={**back, "state": "taken-back"})
            assert told.status_code == 303
        assert ">Taken back.</p>" in client.get(told.headers["location"]).text
        assert len(journal.observations("larkfield")) == at_first
        assert rid not in forms_with("taken-back")
    kept = [one.state for one in journal.decisions("larkfield") if one.recommendation == rid]
    assert kept[-4:] == ["done", "taken-back", "done", "taken-back"]
    assert client.post(WEEK, data={**tick, "upto": "99999", "state": "taken-back"}).status_code == 409


def test_a_reader_is_offered_nothing_to_record(service, client):
    sign_in(client, service.tokens["reader"])
    page = client.get(WEEK)
    assert ">Done</button>" not in page.text
    refused = client.post(WEEK, data={"check": check_of(page), "rid": "x", "advice": "y", "state": "done"})
    assert refused.status_code == 403


def test_an_orchard_of_others_is_not_there(service, client):
    sign_in(client, service.tokens["stranger"])
    for page in ("this-week", "season", "why/first-mow.feeder-roots.upper.2026"):
        theirs = client.get(f"/at/larkfield/{page}")
        nobodys = client.get(f"/at/nowhere/{page}")
        assert theirs.status_code == nobodys.status_code == 404
        assert theirs.text.replace("larkfield", "nowhere") == nobodys.text
    home = client.get("/")
    assert home.headers["location"] == "/at/elsewhere/this-week"


def test_an_advice_of_another_orchard_cannot_be_decided_through_ones_own(service, client):
    sign_in(client, service.tokens["stranger"])
    check = check_of(client.get("/at/elsewhere/this-week?on=2026-05-18"))
    form = {"check": check, "advice": service.larkfield["advice"], "rid": service.larkfield["rid"], "state": "done"}
    assert client.post("/at/elsewhere/this-week", data=form).status_code == 404


def test_other_bodies_than_forms_are_refused(service, client):
    sign_in(client, service.tokens["recorder"])
    assert client.post(WEEK, json={"state": "done"}).status_code == 415
    kind = {"Content-Type": "application/x-www-form-urlencoded"}
    assert client.post(WEEK, content=b"state=%ff", headers=kind).status_code == 400
    assert client.post(WEEK, content=b"a=" + b"x" * 2_000_001, headers=kind).status_code == 413


@pytest.mark.parametrize("address", ["/", WEEK, "/read/rules?orchard=larkfield"])
def test_ways_back_lead_inside(address):
    assert inside(address) == address


@pytest.mark.parametrize(
    "address",
    ["", "https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example", "javascript:alert(1)", "/\r\nSet-Cookie: a=b",
     "/\t/elsewhere.example", "week"],
)  # fmt: skip
def test_ways_back_never_lead_outside(address):
    assert inside(address) == "/"


@pytest.mark.parametrize("path", ["/sign-in", WEEK, "/at/nowhere/this-week", "/at/larkfield/season?on=2026-05-18"])
def test_pages_hold_no_script_or_style_of_their_own_and_name_no_other_server(service, client, path):
    """Content Security Policy Level 3 (W3C): without 'unsafe-inline' neither inline script nor style is run."""
    sign_in(client, service.tokens["reader"])
    page = client.get(path)
    assert page.headers["content-security-policy"] == POLICY
    assert "unsafe" not in POLICY
    assert page.headers["x-content-type-options"] == "nosniff"
    assert not re.search(r"<style|<script(?![^>]*src=)|\son\w+=|\sstyle=|javascript:", page.text)
    addresses = re.findall(r'(?:href|src|action)="([^"]+)"', page.text)
    assert addresses
    assert all(re.match(r"/(?!/)|#|\?", one) for one in addresses)


def test_what_growers_write_is_shown_and_never_run(service, client):
    sign_in(client, service.tokens["everywhere"])
    rid, advice = service.larkfield["rid"], service.larkfield["advice"]
    words = '<img src=x onerror="alert(1)">'
    form = {"check": check_of(client.get(WEEK)), "rid": rid, "advice": advice, "state": "refused", "words": words}
    assert client.post(WEEK, data=form).status_code == 303
    shown = client.get(WEEK).text
    assert "<img" not in shown
    assert "&lt;img src=x onerror=" in shown


def test_files_are_kept_by_the_browser_and_seen_anew_when_they_change(client):
    address = re.search(r'href="(/static/underbough\.css\?v=\w+)"', client.get("/sign-in").text)[1]
    file = client.get(address)
    assert file.headers["cache-control"] == "public, max-age=31536000, immutable"
    assert client.get("/static/underbough.css?v=old").headers["cache-control"] == "no-cache"
    again = client.get("/static/underbough.css", headers={"If-None-Match": file.headers["etag"]})
    assert again.status_code == 304
    for name in ("..%2fdesk.py", "desk.py", "underbough.css%00"):
        assert client.get(f"/static/{name}").status_code == 404


def test_pages_and_files_are_packed_for_those_who_take_it(client):
    for path in ("/sign-in", "/static/underbough.css"):
        plain = client.get(path, headers={"Accept-Encoding": "identity, gzip;q=0"})
        packed = client.get(path, headers={"Accept-Encoding": "gzip, br"})
        assert "content-encoding" not in plain.headers
        assert packed.headers["content-encoding"] == "gzip"
        assert int(packed.headers["content-length"]) < int(plain.headers["content-length"])
        assert "Accept-Encoding" in plain.headers["vary"]


def test_errors_elsewhere_stay_problem_documents(service, client):
    assert client.get("/orchards/nowhere").headers["content-type"] == "application/problem+json"
    assert client.get("/no-such-route").headers["content-type"] == "application/problem+json"
    reads = {"Sec-Fetch-Mode": "navigate", "Accept": "text/html,*/*"}
    assert client.get("/no-such-route", headers=reads).headers["content-type"].startswith("text/html")


def test_a_wrong_day_is_told_on_a_page(service, client):
    sign_in(client, service.tokens["reader"])
    page = client.get("/at/larkfield/this-week?on=yesterday")
    assert page.status_code == 422
    assert "not a date or an ISO time" in page.text
    assert "Write it like 2026-05-18." in page.text
