"""why-not, what-if and look-next from the command line: text to read, JSON alone on stdout, refusals on stderr."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

DEMO = str(Path(__file__).parents[2] / "advisor" / "demo" / "orchard.yaml")


def run(*words):
    done = subprocess.run([sys.executable, "-m", "advisor.cli", *words], capture_output=True, text=True, check=False,
                          timeout=300)  # fmt: skip
    return done.returncode, done.stdout, done.stderr


def test_why_not_in_words_and_as_json():
    asked = ("why-not", DEMO, "first-mow", "--block", "lower", "--on", "2026-05-18")
    code, out, err = run(*asked)
    assert (code, err) == (0, "")
    assert out.startswith("First mow in lower is not proposed.")
    assert "height 18 cm, wanted at least 20 cm" in out
    code, out, err = run(*asked, "--json")
    found = json.loads(out)
    assert (code, err, found["status"], found["smallest_change"]["verified"]) == (0, "", "not-proposed", True)


def test_what_if_in_words_and_as_json():
    asked = ("what-if", DEMO, "--on", "2026-05-18", "--set", "blocks.lower.guards={kind: mesh, height: 60 cm}",
             "--add", '{"kind": "sward", "block": "upper", "height": "10 cm"}', "--warmer", "1", "--rain", "0")  # fmt: skip
    code, out, err = run(*asked)
    assert (code, err) == (0, "")
    assert "guard-trunks.voles.lower.2026" in out
    assert out.rstrip().endswith(
        "Note: Relative humidity, dew point, wind and leaf wetness are kept as they were given."
    )
    code, out, err = run(*asked, "--json")
    found = json.loads(out)
    assert {"appears", "disappears", "moves"} <= set(found)
    assert found["changes"]["rain"] == 0
    code, out, _ = run("what-if", DEMO, "--on", "2026-05-18")
    assert (code, out.strip()) == (0, "Nothing in the advice changes.")


def test_look_next_in_words_and_as_json():
    code, out, err = run("look-next", DEMO, "--on", "2026-05-18")
    assert (code, err) == (0, "")
    assert "% of the advice" in out
    code, out, _ = run("look-next", DEMO, "--on", "2026-05-18", "--json")
    assert {"look_at", "decisive", "answers", "minutes"} <= set(json.loads(out)[0])


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("why-not", DEMO, "frist-mow", "--on", "2026-05-18"), 1, "first-mow"),
        (("what-if", DEMO, "--on", "2026-05-18", "--set", "nonsense"), 1, "PLACE=VALUE"),
        (("what-if", DEMO, "--on", "2026-05-18", "--add", "{kind"), 1, "--add"),
        (("what-if", DEMO, "--on", "2026-05-18", "--add", "3"), 1, "named fields"),
        (("what-if", DEMO, "--on", "2026-05-18", "--drop", "nobody"), 1, "nobody"),
        (("what-if", DEMO, "--warmer", "hot"), 2, "--warmer"),
        (("why-not", DEMO), 2, "PRACTICE"),
    ],
)
def test_what_is_refused_says_so_on_stderr_alone(words, code, said):
    done, out, err = run(*words)
    assert (done, out) == (code, "")
    assert said in err
