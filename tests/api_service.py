"""A service that asks for tokens, with two owners: Larkfield's, and one of another orchard."""

import json
from dataclasses import dataclass, field

from fastapi import FastAPI
from fastapi.testclient import TestClient

from advisor.api.asking import EVERY
from advisor.api.service import make_app
from advisor.api.settings import Settings

DAY = "2026-05-18"
MARK = "Zephyrine"  # stands in everything of Larkfield, and must reach nobody else

LARKFIELD = {
    "orchard": {
        "name": f"Larkfield {MARK}",
        "latitude": 42.4,
        "longitude": -76.5,
        "timezone": "America/New_York",
    },
    "blocks": [{"id": "upper", "fruit": "apple", "trees": 10, "spacing": "6 m x 5 m", "note": MARK}],
    "observations": [
        {"date": "2026-05-17", "kind": "tree-stage", "block": "upper", "stage": "petal-fall", "note": MARK},
        {"date": DAY, "kind": "sward", "block": "upper", "height": "18 in", "seed_heads": "emerging", "note": MARK},
    ],
}
SOUTH = {
    "orchard": {"name": "Southfield", "latitude": -41.3, "units": "us"},
    "blocks": [{"id": "north", "fruit": "pear"}],
}


@dataclass
class Service:
    """A running service. tokens: by the name of who holds them. larkfield: ids of what is kept there."""

    app: FastAPI
    client: TestClient
    tokens: dict[str, str]
    larkfield: dict[str, str] = field(default_factory=dict)

    def ask(self, who, method, path, *, headers=None, **more):
        """One request by a token's holder; None: by nobody."""
        sent = {} if who is None else {"Authorization": f"Bearer {self.tokens[who]}"}
        return self.client.request(method, path, headers={**sent, **(headers or {})}, follow_redirects=False, **more)

    def at(self, path):
        """A route's pattern with the ids of Larkfield."""
        for name, value in self.larkfield.items():
            path = path.replace(f"{{{name}}}", value)
        return path


def make_service(folder, **settings):
    """A service with a journal of its own and Larkfield in it."""
    usual = {"journal": str(folder / "journal.db"), "tokens": True, "per_minute": None}
    app = make_app(Settings(**{**usual, **settings}))
    tokens = {
        name: app.state.shelf.tokens().create(name, grants)[1]
        for name, grants in {
            "admin": {"larkfield": "admin"},
            "recorder": {"larkfield": "record"},
            "reader": {"larkfield": "read"},
            "stranger": {"elsewhere": "admin"},
            "everywhere": {EVERY: "admin"},
        }.items()
    }
    made = Service(app, TestClient(app, raise_server_exceptions=False), tokens)
    assert made.ask("admin", "PUT", "/orchards/larkfield", json=LARKFIELD).status_code == 201
    assert made.ask("stranger", "PUT", "/orchards/elsewhere", json=SOUTH).status_code == 201
    advice = made.ask("reader", "GET", f"/orchards/larkfield/advice?on={DAY}").json()
    seen = made.ask("reader", "GET", "/orchards/larkfield/observations").json()["items"][0]
    key = made.ask("admin", "POST", "/orchards/larkfield/calendar-keys").json()
    made.larkfield = {
        "orchard": "larkfield",
        "advice": advice["advice"],
        "recommendation": advice["recommendations"][0]["id"],
        "rid": advice["recommendations"][0]["id"],
        "observation": seen["id"],
        "key": key["id"],
    }
    made.tokens["calendar"] = key["key"]
    return made


def problem_of(answer):
    """The problem document of an answer, checked for its form (RFC 9457, section 3)."""
    assert answer.headers["content-type"] == "application/problem+json"
    document = json.loads(answer.content)
    assert {"type", "title", "status", "detail"} <= set(document)
    assert document["status"] == answer.status_code
    return document
