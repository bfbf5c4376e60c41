"""How many random cases each property test runs: the everyday count, and the long one of `.ci/run --long`.

One table, so that the long run is the same tests with larger numbers. UNDERBOUGH_LONG=1 chooses the long column.
"""

import os

LONG = os.environ.get("UNDERBOUGH_LONG") == "1"

COUNTS = {
    # name: (everyday, long)
    "engine programs, small": (300, 2_000),
    "engine programs, large": (20, 200),
    "engine sessions for flat memory": (2_000, 20_000),
    "weather science against the slow version": (100, 3_000),
    "wet spells against plain Python": (200, 4_000),
    "mixing a heap to a goal": (200, 4_000),
    "choice of plants against every subset": (150, 4_000),
    "one more plant never makes a gap": (100, 2_000),
    "why over generated orchards": (30, 300),
    "smallest changes over generated orchards": (30, 300),
    "what-if of nothing": (30, 300),
    "order of inputs": (30, 300),
    "same inputs, same bytes": (30, 300),
    "plans of random problems": (40, 600),
    "plans against trying everything": (12, 150),
    "plans of random orchards": (60, 500),
    "tampering with a chain": (200, 4_000),
    "kills of a writing journal": (20, 200),
    "rate limits over random arrivals": (100, 2_000),
    "forms filled in at random": (150, 4_000),
    "requests made up from the API's document": (400, 2_000),
}


def count(name: str) -> int:
    """The number of cases for a named test."""
    return COUNTS[name][LONG]
