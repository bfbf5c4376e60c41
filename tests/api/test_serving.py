"""The service as it is started by its command: what the README shows, https, and what it refuses."""

import json
import os
import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import contextmanager
from pathlib import Path

import pytest
from api_service import DAY, LARKFIELD

from advisor.reading import parse_yaml
from needs import lacking

README = Path(__file__).parents[2] / "README.md"
UNDERBOUGH = [sys.executable, "-m", "advisor.cli"]


def run(folder, *words):
    return subprocess.run([*UNDERBOUGH, *words], cwd=folder, capture_output=True, text=True, timeout=300)


def free_port():
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


def get(address, *, token=None, secure=None):
    """Status and text of one GET."""
    headers = {"Authorization": f"Bearer {token}"} if token else {}
    try:
        with urllib.request.urlopen(
            urllib.request.Request(address, headers=headers), timeout=120, context=secure
        ) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as refused:
        return refused.code, refused.read().decode()


@contextmanager
def serving(folder, *words, secure=None, **env):
    """The address of a service in a process of its own, ended by its id."""
    port = free_port()
    log = folder / "log.txt"
    with log.open("w") as lines:
        process = subprocess.Popen(
            [*UNDERBOUGH, "serve", "--port", str(port), *words], cwd=folder, stderr=lines, env={**os.environ, **env}
        )
    address = f"http{'s' if secure else ''}://127.0.0.1:{port}"
    try:
        give_up = time.monotonic() + 300
        while True:
            assert process.poll() is None, log.read_text()
            try:
                get(f"{address}/health", secure=secure)
                break
            except OSError:
                assert time.monotonic() < give_up, log.read_text()
                time.sleep(0.1)
        yield address, log
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(300)


def examples(heading):
    """The shell examples under a heading of the README."""
    section = README.read_text().split(f"## {heading}\n")[1].split("\n## ")[0]
    return re.findall(r"```sh\n(.*?)```", section, re.DOTALL)


def orchard_of_the_readme():
    file = next(
        text for text in re.findall(r"```yaml\n(.*?)```", README.read_text(), re.DOTALL) if text.startswith("orchard:")
    )
    data = parse_yaml(file, "README.md").data
    data.pop("weather")
    return data


def test_the_curl_calls_of_the_readme(tmp_path):
    if shutil.which("curl") is None:
        lacking("curl")
    (tmp_path / "orchard.json").write_text(json.dumps(orchard_of_the_readme()))
    calls = examples("Serve it")[0].replace("\\\n", " ")
    with serving(tmp_path) as (address, log):
        answers = []
        for line in calls.splitlines():
            if not line.startswith("curl"):
                continue
            assert "http://127.0.0.1:8000" in line
            line = line.replace("http://127.0.0.1:8000", address)
            told = subprocess.run(["bash", "-c", line], cwd=tmp_path, capture_output=True, text=True, timeout=300)
            answers.append(json.loads(told.stdout))
    once, put, recorded, later = answers
    assert once["date"] == DAY
    assert once["recommendations"]
    assert put["orchard"]["id"] == "larkfield"
    assert recorded["ids"][0].startswith("mulch-2026-05-18-upper")
    practices = [{one["practice"] for one in answer["recommendations"]} for answer in (once, later)]
    assert practices[1] != practices[0]  # chips 2 in from the bark
    lines = [json.loads(line) for line in log.read_text().splitlines() if line.startswith("{")]
    assert [line["route"] for line in lines if line["route"] != "/health"][:2] == ["/advice", "/orchards/{orchard}"]
    assert "Idempotency-Key" not in log.read_text()


def test_others_are_let_in_only_with_a_token(tmp_path):
    refused = run(tmp_path, "serve", "--host", "0.0.0.0")
    assert refused.returncode == 1
    assert refused.stdout == ""
    assert "underbough token create" in refused.stderr
    made = run(tmp_path, "token", "create", "kitchen tablet", "--grant", "larkfield:admin", "--json")
    assert made.returncode == 0
    token = json.loads(made.stdout)["token"]
    listed = run(tmp_path, "token", "list")
    assert "kitchen tablet" in listed.stdout
    assert token not in listed.stdout
    with serving(tmp_path, "--host", "0.0.0.0") as (address, log):
        assert get(f"{address}/orchards")[0] == 401
        assert get(f"{address}/orchards", token=token) == (200, '{"items":[],"next":null}')
        id_ = json.loads(made.stdout)["id"]
        assert run(tmp_path, "token", "revoke", id_).returncode == 0
        assert get(f"{address}/orchards", token=token)[0] == 401
        assert token not in log.read_text()
        assert "Without --cert" in log.read_text()
    assert run(tmp_path, "token", "revoke", id_).returncode == 1


def test_https_with_a_certificate(tmp_path):
    if shutil.which("openssl") is None:
        lacking("openssl")
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost",
         "-addext", "subjectAltName=IP:127.0.0.1", "-keyout", "orchard.key", "-out", "orchard.pem"],
        cwd=tmp_path, check=True, capture_output=True,
    )  # fmt: skip
    secure = ssl.create_default_context(cafile=tmp_path / "orchard.pem")
    with serving(tmp_path, "--cert", "orchard.pem", "--key", "orchard.key", secure=secure) as (address, _):
        assert get(f"{address}/orchards", secure=secure)[0] == 200


def test_two_workers_share_one_journal(tmp_path):
    with serving(tmp_path, "--workers", "2") as (address, _):
        body = json.dumps(LARKFIELD).encode()
        headers = {"Content-Type": "application/json"}
        put = urllib.request.Request(f"{address}/orchards/larkfield", body, headers, method="PUT")
        with urllib.request.urlopen(put, timeout=120) as answer:
            assert answer.status == 201
        told = {get(f"{address}/orchards/larkfield/advice?on={DAY}") for _ in range(12)}
    assert len(told) == 1
    assert told.pop()[0] == 200


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["serve", "--cert", "none.pem", "--key", "none.key"], 1, "there is no such file"),
        (["serve", "--port", "70000"], 2, "65535"),
        (["token", "create", "tablet", "--grant", "larkfield"], 1, "larkfield:record"),
        (["token", "create", "tablet", "--grant", "larkfield:own"], 1, "read, record, admin"),
        (["token", "revoke", "0123456789ab"], 1, "underbough token list"),
    ],
)
def test_what_is_refused_says_how_to_mend_it(tmp_path, words, code, says):
    told = run(tmp_path, *words)
    assert (told.returncode, told.stdout) == (code, "")
    assert says in told.stderr
