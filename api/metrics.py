"""Counters and times of one process, in Prometheus' text format.

Routes are counted by their pattern, never by the orchard they name. With several workers each counts its own.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from threading import Lock

MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"
BOUNDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)  # s


class Metrics:
    """What was asked and how long it took."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._requests: Counter[tuple[str, str, int]] = Counter()
        self._times: dict[str, list[int]] = {}
        self._seconds: dict[str, float] = {}
        self._now = 0

    def begin(self) -> None:
        with self._lock:
            self._now += 1

    def end(self, method: str, route: str, status: int, seconds: float) -> None:
        """Count one request that was answered."""
        with self._lock:
            self._now -= 1
            self._requests[method, route, status] += 1
            self._times.setdefault(route, [0] * (len(BOUNDS) + 1))[bisect_left(BOUNDS, seconds)] += 1
            self._seconds[route] = self._seconds.get(route, 0.0) + seconds

    def text(self) -> str:
        """Everything, in the text format."""
        with self._lock:
            lines = [
                "# HELP underbough_requests_total Requests answered.",
                "# TYPE underbough_requests_total counter",
                *(
                    f'underbough_requests_total{{method="{method}",route="{_quoted(route)}",status="{status}"}} {count}'
                    for (method, route, status), count in sorted(self._requests.items())
                ),
                "# HELP underbough_requests_now Requests being answered.",
                "# TYPE underbough_requests_now gauge",
                f"underbough_requests_now {self._now}",
                "# HELP underbough_request_seconds Time to answer.",
                "# TYPE underbough_request_seconds histogram",
            ]
            for route, counts in sorted(self._times.items()):
                lines += self._histogram(_quoted(route), counts, self._seconds[route])
        return "\n".join(lines) + "\n"

    @staticmethod
    def _histogram(route: str, counts: list[int], seconds: float) -> list[str]:
        found, total = [], 0
        for bound, count in zip((*map(str, BOUNDS), "+Inf"), counts, strict=True):
            total += count
            found.append(f'underbough_request_seconds_bucket{{route="{route}",le="{bound}"}} {total}')
        return [
            *found,
            f'underbough_request_seconds_sum{{route="{route}"}} {seconds:.6f}',
            f'underbough_request_seconds_count{{route="{route}"}} {total}',
        ]


def _quoted(text: str) -> str:
    return text.replace("\\", r"\\").replace('"', r"\"").replace("\n", r"\n")
