"""The base install: everything but journal, pages, calendars, agents and PROV works without a single extra."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path
from typing import Any

import pytest

from advisor.extras import EXTRAS
from scenarios.orchards import UPPER, orchard

HOUSE = Path(__file__).parent.parent
PROJECT = tomllib.loads((HOUSE / "pyproject.toml").read_text())["project"]
DAY = "2026-05-18"


def plain(requirement: str) -> str:
    """The name of what is required."""
    return re.split(r"[^\w.-]", requirement)[0].lower()


def libraries() -> set[str]:
    """What can be imported only where an extra is installed."""
    wanted = {
        plain(one)
        for extra, some in PROJECT["optional-dependencies"].items()
        if extra != "test"
        for one in some
        if plain(one) != "underbough"
    }
    return {name for name, homes in packages_distributions().items() if {home.lower() for home in homes} & wanted}


TRY_EACH = """
import importlib
for name in sys.argv[1:]:
    try:
        importlib.import_module(name)
    except ModuleNotFoundError:
        print(name)
"""
WITHOUT = """
import sys
for name in {names}:
    sys.modules[name] = None  # what importing it does where it is not installed
"""


def without_extras(code: str, *arguments: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """What code does in a process of its own in which no library of an extra can be imported."""
    names = sorted(libraries())
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", WITHOUT.format(names=names) + code, *arguments],
        capture_output=True, text=True, check=False, cwd=cwd,
    )  # fmt: skip


def underbough(*arguments: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    return without_extras("from advisor.cli import main\nmain()", *arguments, cwd=cwd)


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("base") / "orchard.json"
    path.write_text(json.dumps(orchard(observations=[{"kind": "tree-stage", "date": DAY, "stage": "petal-fall"}])))
    return str(path)


def test_every_library_of_an_extra_is_blocked_here_and_named_in_one_place() -> None:
    assert set(EXTRAS) <= libraries()
    assert without_extras("import numpy, fastapi").returncode == 0
    assert set(without_extras(TRY_EACH, *libraries()).stdout.split()) == libraries()
    for library, extra in EXTRAS.items():
        brought = {home.lower() for home in packages_distributions()[library]}
        assert brought & {plain(one) for one in PROJECT["optional-dependencies"][extra]}


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (["demo"], "Larkfield, 2026-05-18"),
        (["advise", "FILE", "--on", DAY], "Larkfield"),
        (["check"], "All sound."),
        (["plan", "FILE", "--on", DAY], "underbough[scale]"),
        (["bloom", "FILE", "--on", DAY], "underbough[scale]"),
        (["why-not", "FILE", "sulphur", "--on", DAY], "sulphur"),
    ],
)
def test_a_command_that_keeps_nothing_needs_no_extra(file: str, command: list[str], words: str) -> None:
    told = underbough(*[file if one == "FILE" else one for one in command])
    assert told.returncode == 0, told.stderr
    assert words in " ".join(told.stdout.split())


@pytest.mark.parametrize(
    ("command", "extra"),
    [
        (["journal", "show"], "server"),
        (["serve"], "server"),
        (["token", "list"], "server"),
        (["mcp"], "agents"),
        (["plan", "FILE", "--on", DAY, "--ics", "plan.ics"], "server"),
        (["why", "FILE", "ID", "--on", DAY, "--prov", "why.json"], "all"),
    ],
)
def test_a_command_that_needs_an_extra_names_it(file: str, tmp_path: Path, command: list[str], extra: str) -> None:
    if "ID" in command:
        answer = json.loads(underbough("advise", file, "--on", DAY, "--json").stdout)
        command = [answer["recommendations"][0]["id"] if one == "ID" else one for one in command]
    told = underbough(*[file if one == "FILE" else one for one in command], cwd=tmp_path)
    assert (told.returncode, told.stdout) == (1, ""), told.stderr
    assert f"underbough[{extra}]" in told.stderr
    assert "Traceback" not in told.stderr
    assert list(tmp_path.iterdir()) == []


ASKED = """
import json
from fastapi.testclient import TestClient
from advisor.api.service import app

given = json.loads(sys.argv[1])
ways = [("GET", "/health", None), ("GET", "/openapi.json", None), ("GET", "/rules?limit=1", None),
        ("GET", "/knowledge/plants?limit=1", None), ("POST", "/advice?on=2026-05-18", given),
        ("POST", "/why-not?on=2026-05-18", {"file": given, "practice": "sulphur"}),
        ("POST", "/what-if?on=2026-05-18", {"file": given, "changes": {"rain": 0}}), ("GET", "/orchards", None)]
with TestClient(app) as client:
    print(json.dumps([[path, (told := client.request(how, path, json=body)).status_code, told.text[:300]]
                      for how, path, body in ways]))
"""


def test_the_service_answers_what_needs_no_memory_and_says_what_the_rest_needs() -> None:
    given: dict[str, Any] = orchard([UPPER], observations=[{"kind": "tree-stage", "date": DAY, "stage": "petal-fall"}])
    told = without_extras(ASKED, json.dumps(given))
    assert told.returncode == 0, told.stderr
    *stateless, kept = json.loads(told.stdout)
    assert {status for _, status, _ in stateless} == {200}, stateless
    assert kept[1] == 501
    assert "underbough[server]" in kept[2]
