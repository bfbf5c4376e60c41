"""How what people write looks as JSON Schema: for the document of the JSON service, never for reading.

Each type of `advisor.given` is read by a function that JSON Schema cannot see into; beside it stands one of these. The
schemas name the usual units; the readers know more of them.

    Annotated[float, BeforeValidator(read, json_schema_input_type=quantity("length"))]
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from typing import Annotated, Any, get_args
from zoneinfo import available_timezones

from pydantic import BaseModel, GetJsonSchemaHandler

from advisor import words

Schema = dict[str, Any]

_DECIMALS = r"(\.[0-9]{1,6})?"
_SMALL = rf"[0-9]{{1,5}}{_DECIMALS}"
_LARGE = rf"[0-9]{{1,7}}{_DECIMALS}"
_DAY = r"((0[13578]|1[02])-(0[1-9]|[12][0-9]|3[01])|(0[469]|11)-(0[1-9]|[12][0-9]|30)|02-(0[1-9]|1[0-9]|2[0-8]))"
_CLOCK = r"([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?"
DATE = rf"(19|20|21)[0-9]{{2}}-{_DAY}"  # the 29th of February is read as well, in its years
ZONE = r"(Z|[-+](0[0-9]|1[0-3]):[0-5][0-9])"
MOMENT = rf"{DATE}T{_CLOCK}{ZONE}?"

# Kind of quantity: (number and units as a pattern, an example). Numbers stay within what the readers take.
_QUANTITIES: dict[str, tuple[str, str]] = {
    "length": (rf"{_SMALL} ?(mm|cm|m|in|ft)", "35 cm"),
    "distance": (rf"{_SMALL} ?(mm|cm|m|in|ft)", "60 m"),
    "elevation": (rf"-?[0-3]?[0-9]{{1,2}}{_DECIMALS} ?(m|ft)|[1-8][0-9]{{3}}{_DECIMALS} ?(m|ft)", "250 m"),
    "area": (rf"{_LARGE} ?(m2|ha|ft2|acres)", "300 m2"),
    "mass": (rf"{_LARGE} ?(g|kg|t|oz|lb)", "300 kg"),
    "temperature": (
        rf"-?[0-5]?[0-9]{_DECIMALS} ?°?C|(-?[0-6]?[0-9]|[7-9][0-9]|1[0-3][0-9]){_DECIMALS} ?°?F",
        "21 °C",
    ),
    "rain": (rf"[0-9]{{1,3}}{_DECIMALS} ?mm|[0-9]{{1,2}}{_DECIMALS} ?in", "12 mm"),
    "depth-of-water": (rf"[0-9]{{1,3}}{_DECIMALS} ?mm|[0-9]{{1,2}}{_DECIMALS} ?in", "30 mm"),
    "speed": (rf"[0-9]{{1,2}}{_DECIMALS} ?(m/s|km/h|mph)", "3 m/s"),
    "hours": (rf"{_SMALL}( ?(h|minutes))?", "3.5 h"),
    "force": (rf"{_SMALL} ?(N|lbf)", "70 N"),
    "water-rate": (rf"[0-9]{{1,2}}{_DECIMALS} ?mm/h|[0-9]{_DECIMALS} ?in/h", "2.5 mm/h"),
    "share": (rf"0{_DECIMALS}|1(\.0{{1,6}})?|([0-9]{{1,2}}{_DECIMALS}|100) ?%", "25 %"),
    "percent": (rf"([0-9]{{1,2}}{_DECIMALS}|100) ?%", "14.5 %"),
    "amount": (
        rf"{_SMALL} ?(kg|g|t|lb|oz|L|gal|m3|m2|ha|ft2|acres|mm|cm|m|in|ft|h|minutes|kg/ha|lb/acre|L/ha|gal/acre)",
        "300 kg",
    ),
}
_BARE = {
    "hours": {"type": "number", "minimum": 0, "maximum": 100_000},
    "share": {"type": "number", "minimum": 0, "maximum": 1},
    "depth-of-water": {"type": "number", "minimum": 0, "maximum": 3_000},
}
_NOTHING = ("length", "distance", "area", "mass", "rain", "speed", "force", "water-rate", "elevation")  # 0 is 0 in every unit


_SOME_NUMBER = {"type": "number", "minimum": -(10**15), "maximum": 10**15}


class Written:
    """A mark on a type: how it is written. The schema is made when somebody asks, since the words are read then."""

    def __init__(self, make: Callable[[], Schema]) -> None:
        self._make = make

    def __get_pydantic_json_schema__(self, core: Any, handler: GetJsonSchemaHandler) -> Schema:
        return self._make()


def as_written(make: Callable[[], Schema]) -> Any:
    """The type for `json_schema_input_type` whose schema `make` gives."""
    return Annotated[Any, Written(make)]


def text_like(pattern: str, **more: Any) -> Schema:
    """Text of a pattern, the whole of it."""
    return {"type": "string", "pattern": f"^({pattern})$", **more}


def either(*schemas: Schema, **more: Any) -> Schema:
    """One of several ways to write it."""
    return {"anyOf": list(schemas), **more}


def quantity(kind: str) -> Any:
    """A number with its unit."""

    def make() -> Schema:
        pattern, example = _QUANTITIES[kind]
        ways = [text_like(pattern)]
        if kind in _BARE:
            ways.insert(0, _BARE[kind])
        if kind in _NOTHING:
            ways.append({"const": 0})
        return either(*ways, examples=[example]) if len(ways) > 1 else {**ways[0], "examples": [example]}

    return as_written(make)


def number(low: float, high: float, whole: bool) -> Any:
    """A plain number in a span, or the same as text."""

    def make() -> Schema:
        span: Schema = {"type": "integer" if whole else "number"}
        if math.isfinite(low):
            span["minimum"] = low
        span["maximum"] = high if math.isfinite(high) else 1_000_000_000
        return either(span, text_like(_digits(low, high, whole)))

    return as_written(make)


MOST_LISTED = 1_000


def _digits(low: float, high: float, whole: bool) -> str:
    decimals = r"(\.0{1,3})?" if whole else _DECIMALS
    if low <= 1 and high >= MOST_LISTED:  # shorter numbers than the highest, since a list of all would be endless
        more = 6 if math.isinf(high) else len(str(int(high))) - 2
        return rf"{'0|' if low <= 0 else ''}[1-9][0-9]{{0,{more}}}{decimals}"
    if low <= -high:
        most = int(high) // 10 - 1
        return rf"-?([0-9]|[1-9][0-9]){decimals}" if most > 8 else rf"-?([0-9]|[1-{most}][0-9]){decimals}"
    return "|".join(str(one) for one in range(math.ceil(low), math.floor(high) + 1))


def flag() -> Any:
    """true or false, or the words for them."""
    return as_written(lambda: either({"type": "boolean"}, {"enum": ["true", "false", "yes", "no"]}))


def code(low: int, high: int, *, but: range = range(0)) -> Any:
    """A whole number of a scale, without those that stand for something else."""

    def make() -> Schema:
        codes = [one for one in range(low, high + 1) if one not in but]
        return {"enum": [*codes, *map(str, codes)]}

    return as_written(make)


def year_or_never() -> Any:
    """A year, or never."""
    return as_written(
        lambda: either(
            {"type": "integer", "minimum": 1700, "maximum": 2200}, text_like("never|1[7-9][0-9]{2}|20[0-9]{2}")
        )
    )


def winter() -> Any:
    """The coldest night of a usual winter, as a temperature or a hardiness zone."""
    pattern, example = _QUANTITIES["temperature"]
    return as_written(lambda: text_like(rf"{pattern}|zone ([1-9]|1[0-3])[ab]?", examples=[example, "zone 5b"]))


_APART = rf"[1-9][0-9]?{_DECIMALS} ?(m|ft)"


def apart() -> Any:
    """The distance between two trees or rows."""
    return as_written(lambda: text_like(_APART, examples=["6 m"]))


def spacing(full: type[BaseModel]) -> Any:
    """Row x tree in one text, or as named fields."""
    return as_written(lambda: text_like(rf"{_APART} x {_APART}", examples=["6 m x 5 m"])) | full


def hours_by_month() -> Any:
    """Hours a week, one number for all or one for each month."""

    def make() -> Schema:
        hours = either(_BARE["hours"], text_like(_QUANTITIES["hours"][0]))
        months = {"type": "object", "properties": dict.fromkeys(words.MONTHS, hours), "additionalProperties": False}
        return either(*hours["anyOf"], months, examples=[22, {"march": 30}])

    return as_written(make)


def results(names: Iterable[str], units: Iterable[str], plain: Iterable[str]) -> Any:
    """Figures of a leaf or soil test, each with its unit; those of a pure scale without."""
    figure = text_like(rf"[0-9]{{1,2}}{_DECIMALS} ?({'|'.join(units)})", examples=["2.1 %"])
    scale = either({"type": "number", "minimum": 1, "maximum": 13}, text_like(rf"[1-9]{_DECIMALS}"), examples=[6.2])
    listed = dict.fromkeys(names, either(figure, {"type": "null"})) | dict.fromkeys(
        plain, either(scale, {"type": "null"})
    )

    def make() -> Schema:
        schema: Schema = {"type": "object", "properties": listed, "additionalProperties": False}
        at_least_one(listed, schema)
        return schema

    return as_written(make)


def short(full: type[BaseModel]) -> Any:
    """The kind alone for an object of that kind, or the object."""
    kinds = list(get_args(full.model_fields["kind"].annotation))
    return as_written(lambda: {"enum": kinds}) | full


def day() -> Any:
    """A date."""
    return as_written(lambda: text_like(DATE, examples=["2026-05-18"]))


def day_or_moment() -> Any:
    """A date, or a time in the orchard's zone or with its offset."""
    return as_written(lambda: text_like(f"{DATE}|{MOMENT}", examples=["2026-05-18", "2026-05-18T06:00-04:00"]))


def clock() -> Any:
    """A time of day."""
    return as_written(lambda: text_like(r"([01][0-9]|2[0-3]):[0-5][0-9]", examples=["06:30"]))


def days_off(weekdays: Iterable[str]) -> Any:
    """Weekdays, dates and spans of dates: one, or a list."""
    one = text_like(f"({'|'.join(weekdays)})s?|{DATE}( to {DATE})?")
    written = ["sunday", ["2026-07-03 to 2026-07-10"]]
    return as_written(lambda: either(one, {"type": "array", "items": one}, examples=written))


def text() -> Any:
    """A word or a sentence."""
    return as_written(lambda: either({"type": "string", "pattern": r"[^\s\x1c-\x1f\x85]", "maxLength": 2_000}, _SOME_NUMBER))


def name() -> Any:
    """An id of the grower's own."""
    return as_written(
        lambda: either(
            text_like(r"[A-Za-z0-9][A-Za-z0-9_.:-]{0,79}"), {"type": "integer", "minimum": 0, "maximum": 10**9}
        )
    )


def own_id() -> Any:
    """The id of an observation, if it has one of its own."""
    return as_written(lambda: either(text_like("[!-~]{0,200}"), {"type": "null"}))


def word(kind: str) -> Any:
    """An id of the knowledge, or other: and a name."""
    return as_written(
        lambda: either(
            {"enum": sorted(words.known(kind)) or [f"other:{kind}"]}, text_like(r"other:[A-Za-z0-9][A-Za-z0-9-]{0,60}")
        )
    )


def one_of(names: Iterable[str]) -> Any:
    """One of these words."""
    listed = sorted(names)
    return as_written(lambda: {"enum": listed})


def zone() -> Any:
    """The name of a time zone."""
    return as_written(lambda: {"enum": sorted(available_timezones()), "examples": ["America/New_York"]})


def rate() -> Any:
    """A rate by the label, or an amount."""
    return as_written(
        lambda: either({"enum": ["label", "half", "dormant"]}, text_like(_QUANTITIES["amount"][0]), examples=["label"])
    )


def at_least_one(fields: Iterable[str], schema: Schema) -> None:
    """Say in an object's schema that at least one of these fields is wanted, and not as null."""
    said = ["string", "number", "boolean", "object", "array"]
    ways = [{"required": [name], "properties": {name: {"type": said}}} for name in fields]
    schema.setdefault("allOf", []).append({"anyOf": ways})


def not_both(first: str, second: str, schema: Schema) -> None:
    """Say in an object's schema that of two fields one at most is given."""
    ways: list[Mapping[str, Any]] = [{"properties": {name: {"type": "null"}}} for name in (first, second)]
    schema.setdefault("allOf", []).append({"anyOf": ways})
