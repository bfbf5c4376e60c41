"""Over random orchards: the change that is suggested holds, nothing changes nothing, order does not matter, bytes repeat."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

from explain_orchards import asked
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor import advise
from advisor.advice import default_rules
from advisor.conditions import Propose
from advisor.explain.changes import changed, read_changes
from counts import count

RELAXED = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.data_too_large]}
PRACTICES = sorted({
    str(r.output.practice) for r in default_rules().rules if isinstance(r.output, Propose) and r.output.stance in ("do", "look")
})  # fmt: skip


def brought(answer, asked_for, found):
    """The recommendations of the practice at the place, after changes, that say do (or look)."""
    again = answer.run.inputs.again(**changed(read_changes(asked_for), answer.run.inputs))
    place = (found["block"], found["habitat"])
    return [
        r for r in again["recommendations"]
        if r["practice"] == found["practice"] and (r["block"], r["habitat"]) == place
        and r["stance"] == found["smallest_change"]["brings"]["stance"]
    ]  # fmt: skip


@settings(max_examples=count("smallest changes over generated orchards"), **RELAXED)
@given(asked(), st.sampled_from(PRACTICES), st.integers(0, 9))
def test_the_smallest_change_holds_when_run_again_and_none_of_it_is_needless(one, practice, number):
    answer = one.advise()
    places = [entry["id"] for entry in (*one.file["blocks"], *one.file["habitats"])]
    found = answer.why_not(practice, places[number % len(places)])
    assert (found["status"] == "advised") == any(
        r["practice"] == practice and (r["block"] or r["habitat"]) == places[number % len(places)]
        and r["stance"] in ("do", "look") and (r["stance"] == "do" or not _does(practice))
        for r in answer["recommendations"]
    )  # fmt: skip
    assert found["reason"]
    change = found["smallest_change"]
    if change is None:
        return
    assert change["inputs"] == len(change["changes"]) > 0
    assert brought(answer, change["ask"], found)
    if any(entry["first"] for entry in change["changes"]):  # a stage at which there is something to see
        return
    for fewer in one_left_out(change["ask"]):
        assert not brought(answer, fewer, found), fewer


def _does(practice):
    return any(r.output.practice == practice and r.output.stance == "do" for r in default_rules().rules
               if isinstance(r.output, Propose))  # fmt: skip


def one_left_out(ask):
    """The same changes without one of them, for each, where there are several."""
    parts = [("set", place) for place in ask.get("set", {})] + [
        ("add", place) for place in range(len(ask.get("add", ())))
    ]
    parts += [("on", None)] if "on" in ask else []
    for kind, place in parts if len(parts) > 1 else ():
        if kind == "on":
            yield {name: value for name, value in ask.items() if name != "on"}
        elif kind == "set":
            yield {**ask, "set": {name: value for name, value in ask["set"].items() if name != place}}
        else:
            yield {**ask, "add": [entry for number, entry in enumerate(ask["add"]) if number != place]}


@settings(max_examples=count("what-if of nothing"), **RELAXED)
@given(asked(), st.sampled_from([{}, {"set": {}, "add": [], "drop": []}, {"warmer": 0, "rain": 1}]))
def test_what_if_of_nothing_changes_nothing(one, nothing):
    found = one.advise().what_if(nothing)
    assert (found["appears"], found["disappears"], found["moves"], found["changes"]) == ([], [], [], {})


@settings(max_examples=count("order of inputs"), **RELAXED)
@given(asked(), st.randoms(use_true_random=False))
def test_advice_does_not_depend_on_the_order_of_inputs(one, random):
    file = json.loads(json.dumps(one.file))
    for entries in (file["observations"], file["blocks"], file["habitats"]):
        random.shuffle(entries)
    for block in file["blocks"]:
        for name in ("history", "understory"):
            random.shuffle(block.get(name, []))
    weather = one.past.rows(), one.ahead.rows() if one.ahead else None
    shuffled = advise(file, on=one.on, weather=weather[0], forecast=weather[1])
    answer = one.advise()
    for part in ("recommendations", "unknowns", "conditions"):
        assert shuffled[part] == answer[part]


def test_same_inputs_give_the_same_bytes_whatever_the_hash_seed(tmp_path: Path):
    kept: list[dict[str, object]] = []
    expected: list[str] = []

    @settings(max_examples=count("same inputs, same bytes"), database=None, **RELAXED)
    @given(asked())
    def collect(one):
        answer = one.advise()
        assert digest(answer) == digest(one.advise())
        kept.append({"file": one.file, "on": one.on, "weather": one.past.rows(),
                     "forecast": one.ahead.rows() if one.ahead else None})  # fmt: skip
        expected.append(digest(answer))

    collect()
    given_file = tmp_path / "asked.json"
    given_file.write_text(json.dumps(kept), encoding="utf-8")
    for seed in ("0", "4711"):
        done = subprocess.run(
            [sys.executable, str(Path(__file__)), str(given_file)],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(Path(__file__).parents[1])},
            capture_output=True, text=True, check=True, timeout=1800,
        )  # fmt: skip
        assert done.stdout.split() == expected


def digest(answer) -> str:
    return hashlib.sha256(json.dumps(answer).encode()).hexdigest()


if __name__ == "__main__":  # the child of the test above
    for inputs in json.loads(Path(sys.argv[1]).read_text(encoding="utf-8")):
        print(digest(advise(inputs["file"], on=dt.date.fromisoformat(inputs["on"]), weather=inputs["weather"],
                            forecast=inputs["forecast"])))  # fmt: skip
