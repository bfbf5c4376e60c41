"""Requests a second of POST /advice and GET advice on two workers, beside a route that returns a stored answer.

    python tests/bench/requests.py [seconds for each measurement, 8 by default]

Both servers run uvicorn with two workers on loopback, one after the other, and are asked by the same client in one run,
so the ratio says what the advice costs over moving bytes. Then 50 clients ask at once: p99 over p50. Bounded in time and
in count; every answer must be the right one.
"""

from __future__ import annotations

import http.client
import json
import os
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

DAY = "2026-05-18"
MOST_REQUESTS = 20_000
LARKFIELD = {
    "orchard": {"name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York"},
    "blocks": [{"id": "upper", "fruit": "apple", "trees": 40, "spacing": "6 m x 5 m", "floor": "meadow"}],
    "observations": [
        {"date": "2026-05-17", "kind": "tree-stage", "block": "upper", "stage": "petal-fall"},
        {"date": DAY, "kind": "sward", "block": "upper", "height": "45 cm", "seed_heads": "emerging"},
    ],
}
BODY = json.dumps(LARKFIELD).encode()
JSON = {"Content-Type": "application/json"}
ASKED = {
    "POST /advice": ("POST", f"/advice?on={DAY}", BODY),
    "GET advice": ("GET", f"/orchards/larkfield/advice?on={DAY}", None),
}


def ask(link: http.client.HTTPConnection, method: str, path: str, body: bytes | None) -> bytes:
    link.request(method, path, body, JSON if body else {})
    answer = link.getresponse()
    content = answer.read()
    assert answer.status in (200, 201), (answer.status, content[:300])
    return content


@contextmanager
def server(command: list[str], folder: str, **env: str) -> Iterator[int]:
    """The port of a server in a process of its own, ended by its id."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port = listener.getsockname()[1]
    with Path(folder, "log.txt").open("w") as log:
        process = subprocess.Popen(
            [*command, "--port", str(port), "--workers", "2"], cwd=folder, stderr=log, stdout=log,
            env={**os.environ, **env},
        )  # fmt: skip
    try:
        for _ in range(300):
            try:
                socket.create_connection(("127.0.0.1", port), 1).close()
                break
            except OSError:
                time.sleep(0.2)
        time.sleep(3)  # until the second worker listens too
        yield port
    finally:
        process.terminate()
        process.wait(300)


def measure(port: int, name: str, clients: int, seconds: float, expected: bytes | None) -> tuple[float, list[float]]:
    """Requests a second, and the time of each request [s]."""
    times: list[float] = []
    wrong: list[bytes] = []
    stop = time.perf_counter() + seconds

    def client() -> None:
        link = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        ask(link, *ASKED[name])  # to connect, and to warm that worker
        while time.perf_counter() < stop and len(times) < MOST_REQUESTS:
            begun = time.perf_counter()
            content = ask(link, *ASKED[name])
            times.append(time.perf_counter() - begun)
            if expected is not None and content != expected:
                wrong.append(content)
        link.close()

    threads = [threading.Thread(target=client) for _ in range(clients)]
    begun = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong, "an answer was not the stored one"
    return len(times) / (time.perf_counter() - begun), sorted(times)


def series(port: int, seconds: float, expected: dict[str, bytes]) -> dict[str, tuple[float, float, float]]:
    """Of each request: how many a second by 4 clients; p50 and p99 under 50 clients [s]."""
    found = {}
    for name in ASKED:
        rate, _ = measure(port, name, 4, seconds, expected.get(name))
        _, times = measure(port, name, 50, seconds, expected.get(name))
        found[name] = (rate, times[len(times) // 2], times[int(len(times) * 0.99)])
    return found


def main(seconds: float) -> None:
    with tempfile.TemporaryDirectory() as folder:
        stored = Path(folder, "answer.json")
        ours = [sys.executable, "-m", "advisor.cli", "serve"]
        with server(ours, folder, UNDERBOUGH_RATE="0", UNDERBOUGH_JOURNAL=str(Path(folder, "bench.db"))) as port:
            link = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
            expected = {"POST /advice": ask(link, *ASKED["POST /advice"])}
            ask(link, "PUT", "/orchards/larkfield", BODY)
            expected["GET advice"] = ask(link, *ASKED["GET advice"])
            link.close()
            stored.write_bytes(expected["GET advice"])
            advised = series(port, seconds, expected)
        peer = [sys.executable, "-m", "uvicorn", "stored_answer:app", "--app-dir", str(Path(__file__).parent),
                "--log-level", "warning"]  # fmt: skip
        with server(peer, folder, STORED_ANSWER=str(stored)) as port:
            plain = series(port, seconds, {})
        print(f"answer of {stored.stat().st_size:,} bytes, two workers, {seconds:g} s for each figure")
        for name in ASKED:
            (rate, p50, p99), (peer_rate, peer_p50, peer_p99) = advised[name], plain[name]
            print(
                f"{name:13} {rate:8.1f} a second, stored answer {peer_rate:8.1f}: ratio {rate / peer_rate:.3f}; "
                f"50 clients: p50 {p50 * 1000:.0f} ms, p99 {p99 * 1000:.0f} ms, p99/p50 {p99 / p50:.2f} "
                f"(stored {peer_p99 / peer_p50:.2f})"
            )


if __name__ == "__main__":
    sys.path.pop(0)  # this folder, where this file would stand for a library of its name
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 8.0)
