"""Looking at pages keeps one advice for an orchard, a day and what is known, however often and by whomever it is looked at."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from browser_pages import PAGES
from fastapi.testclient import TestClient
from page_house import DEMO_DAY, furnish, settings

from advisor.api.service import make_app
from advisor.journal import Journal

OF_THE_DAY = [path for path in PAGES.values() if path.startswith("/at/larkfield/") and "on=" in path]
WALK = f"/at/larkfield/walk?on={DEMO_DAY}"


def serve(path: Path) -> Any:
    return TestClient(make_app(settings(path)), follow_redirects=False)


def kept(path: Path) -> list[str]:
    with Journal.open(path) as journal:
        return [advice.id for advice in journal.advices("larkfield")]


def test_pages_that_are_looked_at_again_keep_no_further_advice(tmp_path: Path) -> None:
    journal = tmp_path / "journal.db"
    furnish(journal)
    with serve(journal) as client:
        assert {client.get(path).status_code for path in OF_THE_DAY} == {200}
        assert client.get(f"/orchards/larkfield/advice?on={DEMO_DAY}").status_code == 200
    (first,) = kept(journal)
    with serve(journal) as another:  # which remembers nothing
        for path in OF_THE_DAY:
            another.get(path)
    assert kept(journal) == [first]


def test_a_look_makes_a_further_advice_and_taken_back_none(tmp_path: Path) -> None:
    journal = tmp_path / "journal.db"
    furnish(journal)
    with serve(journal) as client:
        check = re.search(r'name="check" value="([0-9a-f]+)"', client.get(WALK).text)[1]
        look = {"check": check, "date": DEMO_DAY, "kind": "vole-sign", "place": "plums", "runways": "none"}
        assert client.post(WALK, data=look).status_code == 303
        client.get(WALK)
        assert len(kept(journal)) == 2
        taken = re.search(r'name="take_back" value="(vole-sign[^"]*plums[^"]*)"', client.get(WALK).text)[1]
        assert client.post(WALK, data={"check": check, "take_back": taken}).status_code == 303
        client.get(WALK)
    assert len(kept(journal)) == 2
