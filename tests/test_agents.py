"""The tools for software agents, driven by the protocol's own client over standard input and output."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from anyio.from_thread import start_blocking_portal
from journal_orchards import ON, ORCHARD, STAGE, SWARD, VOLES, hours
from mcp import Client, StdioServerParameters

import advisor
from advisor import advise, load_orchard
from advisor.journal import Journal

READING = ("advise", "why", "why_not", "what_if", "look_next", "plan", "bloom")
FILE = {**ORCHARD, "observations": [STAGE, SWARD]}
DEMO = str(Path(advisor.__file__).parent / "demo" / "orchard.yaml")

Call = Callable[..., Any]


@contextmanager
def talking(*arguments: str) -> Iterator[tuple[Any, Call]]:
    """A client of `underbough mcp`, and a way to call a tool: what it answers, or the text of its refusal."""
    command = StdioServerParameters(
        command=sys.executable, args=["-W", "error", "-m", "advisor.cli", "mcp", *arguments]
    )
    with start_blocking_portal() as portal, portal.wrap_async_context_manager(Client(command)) as client:

        def call(name: str, **given: Any) -> Any:
            result = portal.call(client.call_tool, name, given)
            return result.content[0].text if result.is_error else result.structured_content

        yield portal.call(client.list_tools).tools, call


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("agents")


@pytest.fixture(scope="module")
def talk(folder: Path) -> Iterator[tuple[Any, Call]]:
    with talking("--journal", str(folder / "journal.db")) as both:
        yield both


@pytest.fixture
def tools(talk: tuple[Any, Call]) -> dict[str, Any]:
    return {tool.name: tool for tool in talk[0]}


@pytest.fixture
def call(talk: tuple[Any, Call]) -> Call:
    return talk[1]


def test_the_tools_say_what_they_return_and_whether_they_only_read(tools: dict[str, Any]) -> None:
    assert set(tools) == {*READING, "record"}
    for name, tool in tools.items():
        assert tool.output_schema["type"] == "object", name
        assert tool.output_schema["properties"], name
        assert tool.description.endswith("."), name
        assert tool.annotations.read_only_hint is (name != "record"), name
    assert tools["record"].annotations.destructive_hint is False


def test_reading_makes_no_journal(call: Call, folder: Path) -> None:
    assert "there is no journal here" in call("advise", orchard="south", on=ON)
    assert list(folder.iterdir()) == []


def test_advice_is_what_the_library_says(call: Call) -> None:
    assert call("advise", file=FILE, on=ON) == advise(load_orchard(FILE), ON)


def test_reasons_are_given_as_the_library_gives_them(call: Call) -> None:
    answer = advise(load_orchard(FILE), ON)
    id = answer.recommendations[0].id
    why = call("why", recommendation=id, file=FILE, on=ON)
    assert why == answer.why(id)
    assert why["from"]
    why_not = call("why_not", practice="copper", block="pips", file=FILE, on=ON)
    assert why_not == answer.why_not("copper", "pips")
    changes = {"set": {"blocks.pips.floor": "turf"}, "add": [VOLES]}
    assert call("what_if", changes=changes, file=FILE, on=ON) == answer.what_if(changes)
    assert call("what_if", changes=changes, file=FILE, on=ON)["appears"]


def test_where_to_look_next_is_told_most_decisive_first(call: Call) -> None:
    looks = call("look_next", file=FILE, on=ON)["looks"]
    assert looks == advise(load_orchard(FILE), ON).look_next()
    tried = [one["decisive"] for one in looks if one["decisive"] is not None]
    assert tried == sorted(tried, reverse=True)
    assert all(one["minutes"] > 0 for one in looks)


def test_another_day_can_be_asked_about(call: Call) -> None:
    """As the tool's own description says it."""
    assert call("what_if", changes={"on": "2026-11-20"}, file=FILE, on=ON)["date"] == "2026-11-20"


def test_hours_and_bloom_are_told(call: Call) -> None:
    plan = call("plan", file=FILE, on=ON, weeks=2)
    assert plan["date"] == ON
    assert len(plan["next_weeks"]) == 2
    bloom = call("bloom", file=FILE, on=ON, wanted=["borage"])
    assert bloom["hemisphere"] == "south"
    assert "borage" in str(bloom)
    assert call("bloom", file=FILE, on=ON, terms={"annuals": False})["terms"]["annuals"] is False
    assert "Terms are: " in call("bloom", file=FILE, on=ON, terms={"annual": False})


def test_what_is_recorded_is_kept_once_and_known_to_later_advice(call: Call, folder: Path) -> None:
    assert call("record", orchard="south", file=FILE) == {
        "orchard": "south",
        "version": 1,
        "observations": [],
        "hours": {},
    }
    first = call("record", orchard="south", observations=[VOLES], key="a-1")
    assert call("record", orchard="south", observations=[VOLES], key="a-1") == first
    hourly = hours("2026-11-08T00:00", 24, temp_f=50, rain_in=0)
    assert call("record", orchard="south", weather=hourly)["hours"] == {
        "weather": {"new": 24, "corrected": 0, "unchanged": 0}
    }
    assert call("record", orchard="south", forecast=hourly)["hours"]["forecast"]["new"] == 24
    with Journal.open(folder / "journal.db", make=False) as journal:
        assert journal.verify() == []
        kinds = [entry.kind for entry in journal.entries("south")]
        file = journal.file_of("south")
        known = advise(file, ON)
    assert kinds == ["orchard", "observation", "observation", "observation", "receipt", "weather", "forecast"]
    assert first["observations"][0] in [one.id for one in file.observations]
    assert call("advise", orchard="south", on=ON) == known  # and asking keeps nothing
    with Journal.open(folder / "journal.db") as journal:
        assert journal.head.records == len(kinds)


@pytest.mark.parametrize(
    ("name", "given", "said"),
    [
        ("advise", {}, "not said which orchard is meant"),
        ("advise", {"orchard": "south", "file": FILE}, "both an orchard and a file"),
        ("advise", {"orchard": "nowhere"}, "nowhere|no journal here"),
        ("advise", {"file": {**FILE, "blocks": []}}, "no block is given"),
        ("advise", {"file": {**FILE, "weather": "/etc/passwd"}}, "a file name is not read here"),
        ("advise", {"file": FILE, "on": "soon"}, "not a date"),
        ("why", {"file": FILE, "on": ON, "recommendation": "x"}, "no recommendation"),
        ("why_not", {"file": FILE, "on": ON, "practice": "dance"}, "dance"),
        ("what_if", {"file": FILE, "on": ON, "changes": {"weather": "weather.csv"}}, "a file name is not read here"),
        ("plan", {"file": FILE, "on": ON, "weeks": 99}, "weeks"),
        ("record", {"orchard": "south"}, "0 things to record"),
        ("record", {"orchard": "South Field", "file": FILE}, "cannot be the id of an orchard"),
        ("record", {"orchard": "south", "observations": [{**SWARD, "height": "20"}]}, "Write 20 cm or"),
    ],
)
def test_what_is_refused_is_said_with_how_to_mend_it(call: Call, name: str, given: dict[str, Any], said: str) -> None:
    answered = call(name, **given)
    assert isinstance(answered, str)
    assert any(part in answered for part in said.split("|")), answered


def test_a_file_named_at_the_start_is_meant_where_none_is_named(folder: Path) -> None:
    with talking(DEMO, "--journal", str(folder / "none.db")) as (_, call):
        assert call("advise", on="2026-05-18") == advise(DEMO, "2026-05-18")
    assert not (folder / "none.db").exists()


def test_without_the_library_the_extra_is_named(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from advisor.cli import main

    for name in [name for name in sys.modules if name.partition(".")[0] == "mcp"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "mcp", None)
    monkeypatch.setattr("sys.argv", ["underbough", "mcp"])
    with pytest.raises(SystemExit) as left:
        main()
    assert left.value.code == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert "underbough[agents]" in told.err
