"""No token, orchard or file of one owner reaches another: every route of the app, so that a new one cannot be forgotten."""

import hmac
import re

import pytest
from api_service import MARK
from fastapi.routing import APIRoute

from advisor.api.service import make_app

# Routes that anybody may ask; they tell nothing of any orchard.
OPEN = {"GET /health", "GET /sw.js"}  # the script that opens pages without signal is the same for all
# Pages and files that lead to signing in, before anyone has a token.
DOOR = {"GET /sign-in", "POST /sign-in", "POST /sign-out", "POST /light"}


APP = make_app()


def every_route(routes):
    """Every method and path, those of included routers too (some versions of the framework keep them nested)."""
    for route in routes:
        if isinstance(route, APIRoute):
            yield from (f"{method} {route.path}" for method in sorted(route.methods))
        elif hasattr(route, "original_router"):
            yield from every_route(route.original_router.routes)


EVERY_ROUTE = list(dict.fromkeys(every_route(APP.routes)))
OF_AN_ORCHARD = [route for route in EVERY_ROUTE if re.search(r"\{(orchard|advice)\}", route)]
OTHERS = [route for route in EVERY_ROUTE if route not in OF_AN_ORCHARD]


def is_page(route):
    """The pages answer in HTML and lead to the door; the JSON routes refuse."""
    return re.match(r"\w+ /(at|read|set-up|sign-in|sign-out|light|static)\b|\w+ /$", route) is not None


def sent(service, who, route, path=None, **more):
    """One request of a route; forms carry the value that the holder's own pages would give them."""
    method, pattern = route.split()
    if is_page(route) and method == "POST":
        token = service.tokens[who].encode() if who else b""
        more["data"] = {"check": hmac.new(token, b"form", "sha256").hexdigest()}
    return service.ask(who, method, path or service.at(pattern), **more)


def test_every_documented_route_is_among_them():
    documented = {f"{method.upper()} {path}" for path, item in APP.openapi()["paths"].items() for method in item}
    assert documented <= set(EVERY_ROUTE)
    assert len(OF_AN_ORCHARD) > 15
    assert "POST /advice" in OTHERS


@pytest.mark.parametrize("route", EVERY_ROUTE)
def test_nobody_is_let_in_without_a_token(service, route):
    answer = sent(service, None, route)
    assert MARK not in answer.text
    if route in OPEN or "static" in route or route in DOOR:
        return
    if is_page(route):
        assert answer.status_code in (303, 307, 401, 403), answer.text
    else:
        assert answer.status_code == 401
        assert answer.headers["www-authenticate"] == "Bearer"


@pytest.mark.parametrize("route", OF_AN_ORCHARD)
def test_a_stranger_finds_nothing_of_larkfield(service, route):
    answer = sent(service, "stranger", route, headers={"If-Match": "*"})
    assert answer.status_code == 404, answer.text
    assert MARK not in answer.text


@pytest.mark.parametrize("route", OF_AN_ORCHARD)
def test_larkfield_and_an_orchard_that_is_not_there_look_the_same_to_a_stranger(service, route):
    there = service.at(route.split()[1])
    nowhere = there.replace("larkfield", "nowhere-1").replace(service.larkfield["advice"], "0" * 16)
    answers = [sent(service, "stranger", route, one) for one in (there, nowhere)]
    assert [one.status_code for one in answers] == [404, 404]
    ids = re.compile("larkfield|nowhere-1|" + service.larkfield["advice"] + "|0{16}")
    said = [ids.sub("ID", one.json()["detail"] if not is_page(route) else one.text) for one in answers]
    assert said[0] == said[1]


@pytest.mark.parametrize("route", OTHERS)
def test_what_is_of_no_orchard_tells_a_stranger_nothing_of_larkfield(service, route):
    method, path = route.split()
    asked = {"practice": "first-mow", "changes": {}, "advice": service.larkfield["advice"]}
    known = {"POST /why-not": ("advice", "practice"), "POST /what-if": ("advice", "changes")}
    body = {name: asked[name] for name in known.get(route, ())}
    answer = service.ask("stranger", method, service.at(path), json=body) if method == "POST" else service.ask(
        "stranger", method, service.at(path)
    )  # fmt: skip
    assert MARK not in answer.text
    if route in known:
        assert answer.status_code == 404, answer.text


@pytest.mark.parametrize("route", [one for one in OF_AN_ORCHARD if not is_page(one) and not one.startswith("GET")])
def test_who_may_only_read_changes_nothing(service, route):
    method, path = route.split()
    before = service.ask("admin", "GET", "/orchards/larkfield").headers["etag"]
    answer = service.ask("reader", method, service.at(path), headers={"If-Match": "*"})
    assert answer.status_code == 403, answer.text
    assert service.ask("admin", "GET", "/orchards/larkfield").headers["etag"] == before


@pytest.mark.parametrize("route", [one for one in OF_AN_ORCHARD if not is_page(one) and one.startswith("GET")])
def test_who_may_read_reads(service, route):
    method, path = route.split()
    if path.endswith("calendar-keys"):  # the keys are the owner's
        assert service.ask("reader", method, service.at(path)).status_code == 403
        path_by = "admin"
    else:
        path_by = "reader"
    answer = service.ask(path_by, method, service.at(path))
    assert answer.status_code == 200, answer.text


@pytest.mark.parametrize("route", ["PUT /orchards/{orchard}", "POST /orchards/{orchard}/calendar-keys"])
def test_who_may_record_does_not_own(service, route):
    method, path = route.split()
    assert service.ask("recorder", method, service.at(path), json={}).status_code == 403


def test_listings_hold_ones_own_orchards_alone(service):
    assert [one["id"] for one in service.ask("reader", "GET", "/orchards").json()["items"]] == ["larkfield"]
    assert [one["id"] for one in service.ask("stranger", "GET", "/orchards").json()["items"]] == ["elsewhere"]
    assert [one["id"] for one in service.ask("everywhere", "GET", "/orchards").json()["items"]] == [
        "elsewhere",
        "larkfield",
    ]


def test_a_decision_is_made_only_about_advice_for_the_same_orchard(service):
    made = {"advice": service.larkfield["advice"], "recommendation": service.larkfield["rid"], "state": "done"}
    answer = service.ask("stranger", "POST", "/orchards/elsewhere/decisions", json=made)
    assert answer.status_code == 404
    answer = service.ask("everywhere", "POST", "/orchards/elsewhere/decisions", json=made)
    assert answer.status_code == 404
    assert service.ask("everywhere", "GET", "/orchards/larkfield/decisions").json()["items"] == []


def test_the_same_orchard_file_of_two_owners_makes_two_advices(service):
    twin = service.ask("reader", "GET", "/orchards/larkfield").json()
    twin["orchard"].pop("id")
    assert service.ask("everywhere", "PUT", "/orchards/twin", json=twin).status_code == 201
    other = service.ask("everywhere", "GET", "/orchards/twin/advice?on=2026-05-18").json()["advice"]
    assert service.ask("reader", "GET", f"/advice/{other}").status_code == 404


def test_no_file_of_the_machine_is_read(service):
    body = {"orchard": {"name": "Larkfield", "latitude": 42.4}, "blocks": [{"id": "upper", "fruit": "apple"}]}
    for name in ("weather", "forecast", "observations"):
        for path in ("/etc/passwd", "journal.db"):
            answer = service.ask("reader", "POST", "/advice", json={**body, name: path})
            assert answer.status_code == 422
            assert "root:" not in answer.text
            if name == "observations":
                continue
            answer = service.ask("reader", "POST", "/what-if", json={"file": body, "changes": {name: path}})
            assert answer.status_code == 422
            assert "file name is not read" in answer.text
