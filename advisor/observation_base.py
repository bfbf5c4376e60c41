"""What all observations share: date, place, and an id that follows from the content."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import re
from collections.abc import Mapping
from typing import Annotated, Any, ClassVar

from pydantic import BeforeValidator, GetJsonSchemaHandler, ValidationInfo, model_validator

from advisor import written_schema
from advisor.given import Given, Id, Text, in_our_years, read_date
from advisor.quantity import Unreadable

LONGEST_ID = 200


def _moment(given: object, info: ValidationInfo) -> dt.datetime | None:
    """The aware moment of an ISO time; a time without an offset stands in the orchard's zone. None for a plain date."""
    if given is None or (isinstance(given, dt.date) and not isinstance(given, dt.datetime)):
        return None
    if not isinstance(given, dt.datetime):
        text = str(given).strip()
        if re.fullmatch(r"\d{4}-?\d\d-?\d\d", text):
            return None
        try:
            given = dt.datetime.fromisoformat(text)
        except ValueError:
            raise Unreadable(f"{text[:40]!r} is neither a date nor a time",
                             "Write 2026-05-18 or 2026-05-18T06:00.") from None
    in_our_years(given)
    return given if given.tzinfo else given.replace(tzinfo=_zone(info))


def _zone(info: ValidationInfo) -> dt.tzinfo:
    zone = (info.context or {}).get("zone", dt.UTC)
    return zone if isinstance(zone, dt.tzinfo) else dt.UTC


def _day_of(given: object, info: ValidationInfo) -> dt.date:
    moment = _moment(given, info)
    if moment is not None:
        return moment.astimezone(_zone(info)).date()
    return read_date(given)


def _own_id(given: object) -> object:
    """An id of the grower's own, or nothing for one that follows from the content."""
    if isinstance(given, str) and not (given.isprintable() and len(given) <= LONGEST_ID):
        raise Unreadable(f"{given[:40]!r} cannot be an id", f"Use at most {LONGEST_ID} letters, digits and signs.")
    return "" if given is None else given


class Seen(Given):
    """What every observation has: when, where, and an id that follows from its content alone.

    date: the orchard's own date. moment: where a time was given, aware. Neither block nor habitat: the whole orchard.
    """

    one_of: ClassVar[tuple[str, ...]] = ()  # of these at least one is wanted, or the observation says nothing

    id: Annotated[str, BeforeValidator(_own_id, written_schema.own_id())] = ""
    date: Annotated[dt.date, BeforeValidator(_day_of, written_schema.day_or_moment())]
    moment: Annotated[dt.datetime | None, BeforeValidator(_moment, written_schema.day_or_moment())] = None
    block: Id | None = None
    habitat: Id | None = None
    note: Text | None = None

    @classmethod
    def __get_pydantic_json_schema__(cls, core: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        schema = handler.resolve_ref_schema(handler(core))
        if cls.one_of:
            written_schema.at_least_one(cls.one_of, schema)
        written_schema.not_both("block", "habitat", schema)
        schema["properties"].pop("moment", None)  # follows from the date
        return schema

    @model_validator(mode="before")
    @classmethod
    def _keep_the_time(cls, data: Any) -> Any:
        if not isinstance(data, Mapping):
            return data
        if "moment" in data:
            raise Unreadable("the field 'moment' is not known", "Write the time with the date: 2026-05-18T06:00.")
        return {**data, "moment": data["date"]} if "T" in str(data.get("date", "")).replace(" ", "T") else data

    @model_validator(mode="after")
    def _say_something(self) -> Seen:
        kind = str(getattr(self, "kind", "observation"))
        if self.one_of and all(getattr(self, name) is None for name in self.one_of):
            raise Unreadable(f"this {kind} says nothing", f"Give at least one of: {', '.join(self.one_of)}.")
        if self.block is not None and self.habitat is not None:
            raise Unreadable(f"this {kind} names both a block and a habitat", "Keep one of the two.")
        if not self.id:
            object.__setattr__(self, "id", self.id_from_content())
        return self

    @property
    def order(self) -> tuple[dt.date, str, str]:
        """What observations are sorted by: date, then time of day (none first), then id."""
        return self.date, self.moment.astimezone(dt.UTC).isoformat() if self.moment else "", self.id

    def id_from_content(self, digits: int = 4) -> str:
        """Kind, date, place and hex digits of the content's hash (in inside units, so 35 cm and 0.35 m are one)."""
        content = json.dumps(self.model_dump(mode="json", exclude={"id"}, exclude_none=True), sort_keys=True)
        place = self.block or self.habitat or "orchard"
        mark = hashlib.sha256(content.encode()).hexdigest()[:digits]
        return f"{getattr(self, 'kind', 'observation')}-{self.date}-{place}-{mark}"
