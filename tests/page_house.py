"""A service with two orchards for the tests of the pages: the demo, and one in the south with US units and little known."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path
from typing import Any

from advisor.api.service import make_app
from advisor.api.settings import Settings
from advisor.journal import Journal
from advisor.orchard import load_orchard

DEMO_DAY = "2026-05-18"
SOUTH_DAY = "2026-11-02"
SOUTH: dict[str, Any] = {
    "orchard": {"name": "South Lark", "latitude": -41.2, "longitude": 173.0, "units": "us"},
    "blocks": [
        {"id": "ridge", "fruit": "apple", "trees": 12, "floor": "turf", "history": ["codling-moth"]},
        {"id": "wall", "fruit": "peach"},
    ],
    "observations": [
        {"date": "2026-10-20", "kind": "tree-stage", "block": "ridge", "stage": "petal-fall"},
        {"date": "2026-10-30", "kind": "sward", "block": "ridge", "height": "14 in", "seed_heads": "emerging"},
    ],
}


def furnish(path: Path) -> None:
    """Put both orchards into a journal."""
    demo = load_orchard(str(files("advisor") / "demo" / "orchard.yaml"))
    with Journal.open(path) as journal:
        journal.put_orchard("larkfield", demo.given)
        journal.put_orchard("south-lark", SOUTH)


def settings(path: Path, **more: Any) -> Settings:
    return Settings(journal=str(path), per_minute=None, **more)


@contextmanager
def serving(how: Settings) -> Iterator[str]:
    """Run the service in a thread on a free port of this machine; its address."""
    import uvicorn

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = uvicorn.Server(uvicorn.Config(make_app(how), host="127.0.0.1", port=port, log_level="warning", ws="none"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    give_up = time.monotonic() + 120
    while not server.started and thread.is_alive() and time.monotonic() < give_up:
        time.sleep(0.02)
    assert server.started, "the service did not start"
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.should_exit = True
        thread.join(120)
