"""The parts from which the models of what is given are made: strict fields, and refusals in plain words.

Given       base of every model: unknown fields refused, never changed after reading, numbers finite
Count ...   types of single fields; quantities come in as text with a unit and stay as floats in the inside unit
problems_of what pydantic found, as Problems that people can act on
"""

from __future__ import annotations

import datetime as dt
import math
import re
import types
from collections.abc import Callable, Iterable
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError

from advisor import quantity, words, written_schema
from advisor.errors import Problem
from advisor.quantity import Unreadable
from advisor.reading import Document, Place, written


class Given(BaseModel):
    """Base of every model of what is given."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, str_strip_whitespace=True,
                              str_max_length=2_000, validate_by_name=True, validate_by_alias=True)


def _whole(given: object) -> int:
    value = _number(given)
    if value != int(value):
        raise Unreadable(f"{given!r} is not a whole number", "Write a whole number.")
    return int(value)


def _number(given: object) -> float:
    if isinstance(given, str):
        text = given.strip()
        try:
            given = float(text)
        except ValueError:
            raise Unreadable(f"{text[:60]!r} is not a number", "Write a plain number, such as 3 or 2.5.") from None
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise Unreadable(f"{str(given)[:60]} is not a number", "Write a plain number, such as 3 or 2.5.")
    if not math.isfinite(given):
        raise Unreadable(f"{given} is not a number that can be counted or measured", "Leave out what is not known.")
    return float(given)


def between(low: float, high: float, *, whole: bool = False) -> BeforeValidator:
    """A plain number in a span, both ends included."""

    def check(given: object) -> float | int:
        value = _whole(given) if whole else _number(given)
        if not low <= value <= high:
            span = f"at least {low:g}" if math.isinf(high) else f"from {low:g} to {high:.10g}"
            raise Unreadable(f"{given} is out of place here", f"Write a number {span}.")
        return value

    return BeforeValidator(check, written_schema.number(low, high, whole))


def _flag(given: object) -> bool:
    if isinstance(given, bool):
        return given
    if isinstance(given, str) and given.strip().lower() in ("true", "yes", "false", "no"):
        return given.strip().lower() in ("true", "yes")
    raise Unreadable(f"{str(given)[:60]!r} is neither true nor false", "Write true or false.")


EARLIEST_YEAR, LATEST_YEAR = 1700, 2200


def in_our_years(day: dt.date) -> dt.date:
    """The same date or moment; refused where its year can only be a slip of the pen (and would overflow by a zone)."""
    if not EARLIEST_YEAR <= day.year <= LATEST_YEAR:
        raise Unreadable(f"the year {day.year} cannot be meant", f"Write a year from {EARLIEST_YEAR} to {LATEST_YEAR}.")
    return day


def read_date(given: object) -> dt.date:
    """A plain date, 2026-05-18."""
    if given is None or given == "":
        raise Unreadable("no date is written here", "Write year-month-day, such as 2026-05-18.")
    if isinstance(given, dt.date) and not isinstance(given, dt.datetime):
        return in_our_years(given)
    try:
        return in_our_years(dt.date.fromisoformat(str(given).strip()))
    except ValueError as fault:
        if isinstance(fault, Unreadable):
            raise
        raise Unreadable(f"{str(given)[:40]!r} is not a date", "Write year-month-day, such as 2026-05-18.") from None


def _text(given: object) -> str:
    if given is None:
        raise Unreadable("nothing is written here", "Leave the field out if it is not known.")
    if isinstance(given, bool | dict | list):
        raise Unreadable(f"{str(given)[:60]!r} is not a word", "Write a word or a short sentence.")
    if isinstance(given, str) and not given.strip():
        raise Unreadable("nothing is written here", "Leave the field out if it is not known.")
    return str(given)


_ID = re.compile(r"[\w][\w.:-]{0,79}")


def _id(given: object) -> str:
    text = _text(given).strip()
    if not _ID.fullmatch(text):
        raise Unreadable(f"{text[:60]!r} cannot be an id", "Use letters, digits and hyphens, no spaces, at most 80.")
    return text


def of_kind(kind: str) -> BeforeValidator:
    """An id of the knowledge, or other:NAME."""
    return BeforeValidator(lambda given: words.resolve(kind, given), written_schema.word(kind))


def quantity_of(kind: str) -> BeforeValidator:
    """A quantity, kept as a float in its inside unit."""
    return BeforeValidator(lambda given: quantity.read(given, kind), written_schema.quantity(kind))


Count = Annotated[int, between(0, math.inf, whole=True)]
Number = Annotated[float, between(0, math.inf)]
Flag = Annotated[bool, BeforeValidator(_flag, written_schema.flag())]
Day = Annotated[dt.date, BeforeValidator(read_date, written_schema.day())]
Year = Annotated[int, between(EARLIEST_YEAR, LATEST_YEAR, whole=True)]
Text = Annotated[str, BeforeValidator(_text, written_schema.text())]
ZoneName = Annotated[str, BeforeValidator(_text, written_schema.zone())]
Id = Annotated[str, BeforeValidator(_id, written_schema.name())]

Length = Annotated[float, quantity_of("length")]
Distance = Annotated[float, quantity_of("distance")]
Elevation = Annotated[float, quantity_of("elevation")]
Area = Annotated[float, quantity_of("area")]
Mass = Annotated[float, quantity_of("mass")]
Temperature = Annotated[float, quantity_of("temperature")]
Rain = Annotated[float, quantity_of("rain")]
SoilWaterDepth = Annotated[float, quantity_of("depth-of-water")]
Speed = Annotated[float, quantity_of("speed")]
Hours = Annotated[float, quantity_of("hours")]
Force = Annotated[float, quantity_of("force")]
WaterRate = Annotated[float, quantity_of("water-rate")]
Share = Annotated[float, quantity_of("share")]
Percent = Annotated[float, quantity_of("percent")]
AnyAmount = Annotated[quantity.Amount, BeforeValidator(quantity.amount, written_schema.quantity("amount"))]

PlantId = Annotated[str, of_kind("plant")]
PestId = Annotated[str, of_kind("pest")]
DiseaseId = Annotated[str, of_kind("disease")]
AllyId = Annotated[str, of_kind("ally")]
PracticeId = Annotated[str, of_kind("practice")]
MaterialId = Annotated[str, of_kind("material")]
TroubleId = Annotated[str, of_kind("trouble")]
TargetId = Annotated[str, of_kind("target")]
ToolId = Annotated[str, of_kind("tool")]
WildlifeId = Annotated[str, of_kind("wildlife")]


# --- Refusals in plain words ------------------------------------------------------------------


def problems_of(fault: ValidationError, model: type[BaseModel], document: Document, place: Place = (),
                where: Callable[[Place], str] = written) -> list[Problem]:
    """What pydantic found wrong with `model` read from `place` of a document, one Problem each.

    where: writes a place within the model's data for people (CSV rows have rows and columns instead).
    """
    found = []
    for error in fault.errors(include_url=False):
        inner = tuple(part for part in error["loc"] if not str(part).startswith("function-"))
        message, mend = _plain(error, inner, model)
        whole = (*place, *inner)
        value = error.get("input")
        plain = isinstance(value, str | int | float) and error["type"] != "missing"
        short = str(value)[:60] if plain else None
        found.append(Problem(document.file, where(whole), message, mend, document.line(whole), short))
    return found


def _plain(error: Any, inner: Place, model: type[BaseModel]) -> tuple[str, str]:
    kind = error["type"]
    cause = error.get("ctx", {}).get("error")
    field = str(inner[-1]) if inner else ""
    if isinstance(cause, Unreadable):
        return cause.message, cause.mend
    if kind == "missing":
        return f"{field} is missing", f"Write {field}."
    if kind == "extra_forbidden":
        return unknown_field(field, _fields(_model_at(model, inner[:-1])))
    if kind == "literal_error":
        allowed = [str(word) for word in _literals(error["ctx"]["expected"])]
        close = words.nearest(str(error["input"]), allowed, 1)
        offer = f"Did you mean {close[0]}? " if close else ""
        return (f"{str(error['input'])[:60]!r} is not a word that {field} knows",
                f"{offer}Write one of: {', '.join(allowed)}.")
    if kind in ("tuple_type", "list_type"):
        return f"{field} must be a list", f"Write it as a list: [{str(error['input'])[:40]}]."
    if kind in ("model_type", "model_attributes_type", "dict_type", "mapping_type"):
        return f"{field or 'this'} must hold named fields", "Write it as name: value, one a line."
    if kind in ("string_type", "int_type", "float_type", "bool_type", "date_type"):
        return f"{field} is not what it should be", "Write a single plain value."
    if kind == "string_too_long":
        return f"{field} is too long", "Write at most 2,000 characters."
    if kind == "too_short":
        return f"{field} is empty", "Write at least one."
    if kind == "string_pattern_mismatch":
        return f"{field} is not written so", f"Write what fits the pattern {error['ctx']['pattern']}."
    if cause is not None:
        return str(cause), "Check it."
    return f"{field or 'this'} cannot be read", "Check how it is written."


def unknown_field(name: str, fields: Iterable[str]) -> tuple[str, str]:
    """Message and mend for a field nobody knows."""
    fields = sorted(fields)
    close = words.nearest(name, fields, 1)
    if close:
        return f"the field {name[:60]!r} is not known", f"Did you mean {close[0]}?"
    return f"the field {name[:60]!r} is not known", f"Known here: {', '.join(fields)}."


def _literals(expected: str) -> list[str]:
    """The words of pydantic's "'a', 'b' or 'c'"."""
    return re.findall(r"'([^']*)'", expected)


def _fields(model: type[BaseModel] | None) -> list[str]:
    own = {"moment"}  # follows from the date
    return [info.alias or name for name, info in model.model_fields.items() if name not in own] if model else []


def _model_at(model: type[BaseModel], place: Place) -> type[BaseModel] | None:
    """The model that stands at a place inside another."""
    for part in place:
        if isinstance(part, int):
            continue
        by_alias = {info.alias or name: info for name, info in model.model_fields.items()}
        inner = _model_in(by_alias[part].annotation) if part in by_alias else None
        if inner is None:
            return None
        model = inner
    return model


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if get_origin(annotation) in (Annotated, Union, types.UnionType, tuple, list, dict):
        for part in get_args(annotation):
            inner = _model_in(part)
            if inner is not None:
                return inner
    return None
