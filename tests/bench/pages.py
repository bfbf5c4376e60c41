"""The week page on a weak signal: its bytes and requests, and what rendering takes beside the JSON answer in one run.

Run by hand: python tests/bench/pages.py [COUNT]. Shares of one run, never compared with a clock elsewhere.
"""

from __future__ import annotations

import re
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent))

from fastapi.testclient import TestClient
from page_house import DEMO_DAY, furnish, settings

from advisor.api.service import make_app
from advisor.journal import Journal

MOST_BYTES, MOST_REQUESTS = 150_000, 6


def loaded(client: TestClient, path: str, packed: bool) -> tuple[int, int]:
    """Bytes and requests of a page with all that it loads, as a browser with an empty cache asks for them."""
    how = {"Accept-Encoding": "gzip" if packed else "identity"}
    page = client.get(path, headers=how)
    assert page.status_code == 200, page.text
    files = set(re.findall(r'<(?:link|script)[^>]* (?:href|src)="(/static/[^"]+)"', page.text))
    answers = [page, *(client.get(file, headers=how) for file in sorted(files))]
    return sum(int(answer.headers["content-length"]) for answer in answers), len(answers)


def median(work: Callable[[], Any], count: int) -> float:
    spent = []
    for _ in range(count):
        begin = time.perf_counter()
        work()
        spent.append(time.perf_counter() - begin)
    return statistics.median(spent)


def main(count: int = 30) -> None:
    from advise_shares import orchard, weather_csv

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.db"
        furnish(path)
        with Journal.open(path) as journal:
            journal.put_orchard("twelve", {**orchard(), "weather": weather_csv()})
        client = TestClient(make_app(settings(path)))
        for name, id, on in (
            ("the demo", "larkfield", DEMO_DAY),
            ("twelve blocks, a year of hours", "twelve", "2026-10-28"),
        ):
            week, json_ = f"/at/{id}/this-week?on={on}", f"/orchards/{id}/advice?on={on}"
            plain, requests = loaded(client, week, packed=False)
            packed, _ = loaded(client, week, packed=True)
            print(f"{name}: {requests} requests (at most {MOST_REQUESTS}), {packed:,} bytes sent packed, {plain:,} plain "
                  f"(at most {MOST_BYTES:,})")  # fmt: skip
            answer = median(lambda json_=json_: client.get(json_), count)
            page = median(lambda week=week: client.get(week), count)
            print(f"  an advice that is kept: the page takes {page / answer:.2f} of the JSON answer's time "
                  f"({page * 1e3:.0f} against {answer * 1e3:.0f} ms here)")  # fmt: skip


if __name__ == "__main__":
    main(*(int(given) for given in sys.argv[1:2]))
