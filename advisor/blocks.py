"""What a grower has: the orchard, its blocks and habitats, tools and hours.

The models are the fields of an orchard file; every length is in metres, every area in square metres, whatever unit it
was written in. None means not given, never zero. `advisor.orchard` reads a whole file into them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import BeforeValidator, model_validator

from advisor import quantity, words, written_schema
from advisor.given import (
    Area,
    Day,
    Distance,
    Elevation,
    Given,
    Hours,
    Id,
    Length,
    MaterialId,
    Number,
    PlantId,
    PracticeId,
    Rain,
    Share,
    Temperature,
    Text,
    ToolId,
    TroubleId,
    WaterRate,
    Year,
    ZoneName,
    between,
    read_date,
)  # fmt: skip
from advisor.quantity import Unreadable
from advisor.science.hardiness import coldest_of

Fruit = Literal["apple", "pear", "quince", "peach", "nectarine", "apricot", "plum", "sweet-cherry", "tart-cherry"]
Region = Literal["new-york", "new-england", "michigan", "ontario", "mid-atlantic", "washington", "california", "uk",
                 "central-europe", "new-zealand", "australia"]
Soil = Literal["sand", "loamy-sand", "sandy-loam", "loam", "silt-loam", "silt", "sandy-clay-loam", "clay-loam",
               "silty-clay-loam", "sandy-clay", "silty-clay", "clay"]


def _winter(given: object) -> object:
    """`zone 5b` is short for the coldest usual winter night of that hardiness zone; a temperature stays as it is."""
    word = given.strip().lower() if isinstance(given, str) else ""
    if not word.startswith("zone"):
        return given
    try:
        return f"{coldest_of(word.removeprefix('zone').strip())!r} °C"
    except ValueError:
        raise Unreadable(
            f"{word[:60]!r} is no hardiness zone", "Write zone 1a to zone 13b, or the temperature, such as -26 °C."
        ) from None


def _as_kind(given: object) -> object:
    """`mesh` is short for `{kind: mesh}`."""
    return {"kind": given} if isinstance(given, str) else given


def _monthly(given: object) -> dict[int, float]:
    """Hours a week by month (1-12), from one number or from month names; a month not named is left out."""
    if not isinstance(given, Mapping):
        hours = quantity.read(given, "hours")
        return dict.fromkeys(range(1, 13), hours)
    found: dict[int, float] = {}
    for name, value in given.items():
        word = str(name).strip().lower()
        months = [number for number, month in enumerate(words.MONTHS, 1) if len(word) > 2 and month.startswith(word)]
        if isinstance(name, int) and 1 <= name <= 12:
            months = [name]
        if len(months) != 1:
            close = words.nearest(word, words.MONTHS, 1)
            raise Unreadable(f"{str(name)[:40]!r} is not a month", f"Write {close[0] if close else 'march'}.")
        found[months[0]] = quantity.read(value, "hours")
    return found


_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def _as_list(given: object) -> object:
    """`hand-thin` is short for `[hand-thin]`."""
    return (given,) if isinstance(given, str) else given


def _days_off(given: object) -> tuple[str, ...]:
    """Weekdays by name, dates, and spans of dates: `sunday`, `2026-07-03`, `2026-07-03 to 2026-07-10`."""
    entries = given if isinstance(given, list | tuple) else (given,)
    return tuple(_day_off(entry) for entry in entries)


def _day_off(given: object) -> str:
    word = str(given).strip().lower()
    names = [day for day in _WEEKDAYS if len(word) > 2 and day.startswith(word.removesuffix("s"))]
    if len(names) == 1:
        return names[0]
    try:
        dates = [read_date(part) for part in re.split(r"\s*/\s*|\s+to\s+", word)]
    except Unreadable:
        close = words.nearest(word, _WEEKDAYS, 1)
        raise Unreadable(f"{str(given)[:40]!r} is neither a weekday nor a date",
                         f"Write {close[0] if close else 'sunday'}, 2026-07-03, or 2026-07-03 to 2026-07-10.") from None
    if len(dates) > 2 or dates != sorted(dates):
        raise Unreadable(f"{str(given)[:40]!r} is no span of days", "Write the first day, to, and the last day.")
    return "/".join(day.isoformat() for day in dates)


class Helpers(Given):
    """People who come to help on a day: how many, how long [h], at what; what each picks or thins in an hour."""

    day: Day
    hours: Hours
    people: Annotated[int, between(1, 200, whole=True)] = 1
    who: Text | None = None
    practice: Annotated[
        tuple[PracticeId, ...], BeforeValidator(_as_list, written_schema.word("practice") | tuple[PracticeId, ...])
    ] | None = None
    fruit_per_hour: Number | None = None
    kg_per_hour: Number | None = None


class Orchard(Given):
    """The orchard as a whole. `id` is the name that a journal keeps it under."""

    id: Id | None = None
    name: Text
    latitude: Annotated[float, between(-90, 90)]
    longitude: Annotated[float, between(-180, 180)] | None = None
    timezone: ZoneName | None = None
    elevation: Elevation | None = None
    standard: Literal["organic", "none"] | None = None
    units: Literal["metric", "us"] = "metric"
    hours_per_week: Annotated[dict[int, float], BeforeValidator(_monthly, written_schema.hours_by_month())] | None = None
    helpers: tuple[Helpers, ...] | None = None
    days_off: Annotated[
        tuple[str, ...], BeforeValidator(_days_off, written_schema.days_off(_WEEKDAYS))
    ] | None = None
    tools: tuple[ToolId, ...] | None = None
    usual_snow: Length | None = None
    coldest: Annotated[Temperature, BeforeValidator(_winter, written_schema.winter())] | None = None
    """The coldest night of a usual winter. [°C]"""
    guidance: Region | None = None
    note: Text | None = None


CLOSEST = 0.1  # m; closer than that nothing planted stands


def _apart(given: object) -> float:
    """A distance that has room for a tree. [m]"""
    metres = quantity.read(given, "spacing")
    if not metres >= CLOSEST:
        raise Unreadable(f"{str(given)[:60]!r} leaves no room for a tree", "Write a distance, such as 6 m or 20 ft.")
    return metres


Apart = Annotated[float, BeforeValidator(_apart, written_schema.apart())]


class Spacing(Given):
    """Distance from row to row and from tree to tree. [m]"""

    row: Apart
    tree: Apart


def _spacing(given: object) -> object:
    """`6 m x 5 m`, or `20 ft x 16 ft`; a unit after the second number serves both."""
    if not isinstance(given, str):
        return given
    parts = re.split(r"\s*[x×*]\s*|\s+by\s+", given.strip())
    if len(parts) != 2:
        raise Unreadable(f"{given[:60]!r} is not a spacing", "Write row x tree, such as 6 m x 5 m.")
    unit = re.search(r"[^\d.\s/-].*$", parts[1])
    if unit and re.fullmatch(r"[\d.]+", parts[0]):
        parts[0] += f" {unit.group()}"
    row, tree = map(_apart, parts)
    return {"row": f"{row!r} m", "tree": f"{tree!r} m"}


class Mulch(Given):
    """Mulch that lies under the trees; the gap is measured from the bark."""

    material: MaterialId
    depth: Length | None = None
    trunk_gap: Length | None = None


class Guards(Given):
    """What stands round the trunks against gnawing."""

    kind: Literal["mesh", "spiral", "none"]
    height: Length | None = None
    packed_with: Text | None = None


class Irrigation(Given):
    """How the block is watered; `weekly` is the water given in a week. [mm]"""

    kind: Literal["drip", "sprinkler", "micro-sprinkler", "flood", "hand", "none"]
    efficiency: Share | None = None
    weekly: Rain | None = None

    @model_validator(mode="after")
    def _not_wasted_whole(self) -> Irrigation:
        if self.efficiency == 0:
            raise Unreadable("an efficiency of 0 waters nothing",
                             "Write the share of the water that reaches the roots.")
        return self


class FrostGear(Given):
    """What the block is kept from frost with; `rate` is that of the sprinklers. [mm/h]"""

    kind: Literal["sprinkler", "under-tree-sprinkler", "wind-machine", "heater", "cover", "none"]
    rate: WaterRate | None = None


class PollenPartner(Given):
    """The nearest tree of another cultivar that blooms with the block."""

    cultivar: Text
    distance: Distance | None = None


class Block(Given):
    """Trees of one fruit that are tended alike."""

    id: Id
    fruit: Fruit
    trees: Annotated[int, between(1, 1_000_000, whole=True)] | None = None
    cultivars: tuple[Text, ...] | None = None
    rootstock: Text | None = None
    planted: Year | None = None
    first_leaf: Year | None = None
    spacing: Annotated[Spacing, BeforeValidator(_spacing, written_schema.spacing(Spacing))] | None = None
    rows: Annotated[int, between(1, 100_000, whole=True)] | None = None
    area: Area | None = None
    floor: Literal["meadow", "turf", "clover", "bare", "mulched"] | None = None
    understory: tuple[PlantId, ...] | None = None
    mulch: Mulch | None = None
    guards: Annotated[Guards, BeforeValidator(_as_kind, written_schema.short(Guards))] | None = None
    site: Literal["dry", "moist", "wet"] | None = None
    lie: Literal["hollow", "slope", "top"] | None = None
    use: Literal["dessert", "cider", "home"] | None = None
    soil: Soil | None = None
    root_depth: Length | None = None
    irrigation: Annotated[Irrigation, BeforeValidator(_as_kind, written_schema.short(Irrigation))] | None = None
    frost_gear: Annotated[FrostGear, BeforeValidator(_as_kind, written_schema.short(FrostGear))] | None = None
    neglected_trees: Distance | None = None
    pollen_partner: PollenPartner | None = None
    history: tuple[TroubleId, ...] | None = None
    note: Text | None = None

    @property
    def ground_area(self) -> float | None:
        """The ground of the block [m2]: as given, or trees times spacing; None where neither is known."""
        if self.area is not None:
            return self.area
        if self.trees is None or self.spacing is None:
            return None
        return self.trees * self.spacing.row * self.spacing.tree


class Habitat(Given):
    """A place kept for plants and creatures; `distance` is to the nearest block."""

    id: Id
    kind: Literal["hedge", "flower-strip", "meadow", "stem-bed", "tussock-bank", "wood-edge", "pond", "nest-boxes"]
    plants: tuple[PlantId, ...] | None = None
    area: Area | None = None
    distance: Distance | None = None
    note: Text | None = None


# Rough middles of the fruit districts whose published thresholds are used, for finding the nearest (from memory).
_MIDDLES: dict[str, tuple[float, float]] = {
    "new-york": (43.0, -76.5), "new-england": (43.3, -71.8), "michigan": (43.2, -85.6), "ontario": (43.4, -80.2),
    "mid-atlantic": (39.5, -77.6), "washington": (47.0, -120.0), "california": (37.7, -120.9), "uk": (52.2, -1.4),
    "central-europe": (48.5, 10.0), "new-zealand": (-41.0, 174.0), "australia": (-36.5, 146.0),
}  # fmt: skip


def nearest_region(latitude: float, longitude: float) -> tuple[str, float]:
    """The guidance region nearest to a place, and how far its middle lies [km] along the great circle."""
    def distance(region: str) -> float:
        there_lat, there_lon = _MIDDLES[region]
        a, b = math.radians(latitude), math.radians(there_lat)
        half = (math.sin((b - a) / 2) ** 2
                + math.cos(a) * math.cos(b) * math.sin(math.radians(there_lon - longitude) / 2) ** 2)
        return 2 * 6371.0 * math.asin(math.sqrt(min(1.0, half)))

    region = min(_MIDDLES, key=distance)
    return region, distance(region)

