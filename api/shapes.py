"""The shapes of what may be sent, as JSON Schema for the OpenAPI document: made from the models that read it.

components   every shape by its name
DecisionMade what a grower says of a recommendation
body         what a route says of its request body, with an example
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, TypeAdapter
from pydantic.json_schema import models_json_schema

from advisor.blocks import Block, Habitat, Orchard
from advisor.given import AnyAmount, Area, Day, Given, Hours, MaterialId, Share, Text
from advisor.journal.deciding import MOST_HOURS, NEED_REASON, TAKEN_BACK
from advisor.observation import adapter
from advisor.orchard import MOST_BLOCKS, MOST_OBSERVATIONS
from advisor.words import known
from advisor.written_schema import DATE, MOMENT, Schema, either, text_like

JSON = "application/json"
_REF = "#/components/schemas/{model}"

EXAMPLE = {
    "orchard": {"name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York"},
    "blocks": [{"id": "upper", "fruit": "apple", "trees": 40, "spacing": "6 m x 5 m", "floor": "meadow"}],
    "observations": [
        {"date": "2026-05-17", "kind": "tree-stage", "block": "upper", "stage": "petal-fall"},
        {"date": "2026-05-18", "kind": "sward", "block": "upper", "height": "45 cm", "seed_heads": "emerging"},
    ],
}
HOUR = {"time": "2026-05-18T06:00-04:00", "temp_c": 11.5, "humidity_pct": 92, "rain_mm": 0.4, "wet": 1}

_DECIMALS = r"(\.[0-9]{1,6})?"
# Column: (lowest, highest, how the same looks as text).
_METRIC: dict[str, tuple[float, float, str]] = {
    "temp_c": (-60, 60, rf"-?[0-5]?[0-9]{_DECIMALS}"),
    "humidity_pct": (0, 105, rf"[0-9]?[0-9]{_DECIMALS}|100"),
    "rain_mm": (0, 300, rf"[12]?[0-9]?[0-9]{_DECIMALS}"),
    "wind_ms": (0, 90, rf"[0-8]?[0-9]{_DECIMALS}"),
    "wet": (0, 1, rf"0{_DECIMALS}|1"),
    "solar_wm2": (-20, 1_600, rf"1?[0-5]?[0-9]?[0-9]{_DECIMALS}"),
    "dew_point_c": (-90, 45, rf"-?[0-3]?[0-9]{_DECIMALS}"),
}
_US: dict[str, tuple[float, float, str]] = {
    "temp_f": (-76, 140, rf"-?[0-6]?[0-9]{_DECIMALS}|[7-9][0-9]{_DECIMALS}"),
    "humidity_pct": _METRIC["humidity_pct"],
    "rain_in": (0, 11.8, rf"[0-9]{_DECIMALS}"),
    "wind_mph": (0, 201, rf"1?[0-9]?[0-9]{_DECIMALS}"),
    "wet": _METRIC["wet"],
    "solar_wm2": _METRIC["solar_wm2"],
    "dew_point_f": (-130, 113, rf"-?[0-9]?[0-9]{_DECIMALS}"),
}


class DecisionMade(Given):
    """A decision. reason: one of those offered (GET /reasons), or own words; wanted for refused and overridden.

    taken-back undoes the decision before: its work is withdrawn, and nothing is decided then; it takes neither hours, day
    nor work. on: the day it was done. amount, material, area, content: further fields of the work that `done` records.
    """

    advice: Annotated[str, Field(pattern="^[0-9a-f]{16}$")]
    recommendation: Annotated[str, Field(min_length=1, max_length=200)]
    state: Literal["done", "refused", "overridden", "taken-back"]
    reason: Text | None = None
    hours: Hours | None = None
    note: Text | None = None
    by: Text | None = None
    on: Day | None = None
    amount: AnyAmount | None = None
    material: MaterialId | None = None
    area: Area | None = None
    content: Share | None = None


def ref(name: str) -> Schema:
    """A reference to a shape."""
    return {"$ref": _REF.format(model=name)}


def body(shape: str, example: object, **others: Schema) -> dict[str, Any]:
    """What a route says of its body. others: media types besides JSON, underscores for the stroke, and their shapes."""
    content: dict[str, Any] = {JSON: {"schema": ref(shape), "examples": {"larkfield": {"value": example}}}}
    content |= {kind.replace("_", "/"): {"schema": schema} for kind, schema in others.items()}
    return {"requestBody": {"required": True, "content": content}}


@lru_cache(maxsize=1)
def components() -> Mapping[str, Schema]:
    """Every shape that may be sent, by name."""
    models: list[tuple[type[BaseModel], Any]] = [(model, "validation") for model in (Orchard, Block, Habitat)]
    _, found = models_json_schema(models, ref_template=_REF)
    observation = adapter().json_schema(ref_template=_REF)
    parts: dict[str, Schema] = {**found["$defs"], **observation.pop("$defs")}
    observation["title"] = "Observation"
    observation["description"] = "What was seen, told apart by `kind`."
    parts["Observation"] = observation
    parts["MetricHour"], parts["UsHour"] = _hour(_METRIC, "metric"), _hour(_US, "US")
    parts["Hours"] = {
        "description": "Hourly weather; what is left out or null is unknown.",
        "anyOf": [{"type": "array", "items": ref(name)} for name in ("MetricHour", "UsHour")],
        "examples": [[HOUR]],
    }
    parts["OrchardFile"] = _object(
        {
            "orchard": ref("Orchard"),
            "blocks": {"type": "array", "items": ref("Block"), "minItems": 1, "maxItems": MOST_BLOCKS},
            "habitats": _or_null({"type": "array", "items": ref("Habitat"), "maxItems": MOST_BLOCKS}),
            "observations": _or_null({"type": "array", "items": ref("Observation"), "maxItems": MOST_OBSERVATIONS}),
            "weather": _or_null(ref("Hours")),
            "forecast": _or_null(ref("Hours")),
        },
        ("orchard", "blocks"),
        "What the grower has and sees: the orchard file as JSON.",
        EXAMPLE,
    )
    listed = {"type": "array", "items": ref("Observation"), "maxItems": MOST_OBSERVATIONS}
    parts["Observations"] = {
        "description": "One observation, a list of them, or the content of an observations file.",
        "anyOf": [listed, ref("Observation"), _object({"observations": listed}, ("observations",))],
    }
    parts["DecisionMade"] = _decision()
    parts["WhyNotAsked"] = _asked(
        {
            "practice": either({"enum": sorted(known("practice"))}),
            "block": _or_null({"type": "string", "minLength": 1, "maxLength": 80}),
        },
        ("practice",),
        "Which practice, in which block, of which advice or orchard file.",
        {"file": EXAMPLE, "practice": "first-mow", "block": "upper"},
    )
    parts["WhatIfAsked"] = _asked(
        {"changes": ref("Changes")},
        ("changes",),
        "What is to be otherwise, in which advice or orchard file.",
        {"file": EXAMPLE, "changes": {"set": {"blocks.upper.floor": "turf"}}},
    )
    parts["Changes"] = _changes()
    return parts


def _object(
    properties: Mapping[str, Schema], required: tuple[str, ...], description: str = "", example: object = None
) -> Schema:
    found: Schema = {
        "type": "object",
        "properties": dict(properties),
        "required": list(required),
        "additionalProperties": False,
    }
    if description:
        found["description"] = description
    return found if example is None else {**found, "examples": [example]}


def _or_null(schema: Schema) -> Schema:
    return either(schema, {"type": "null"})


def _hour(columns: Mapping[str, tuple[float, float, str]], system: str) -> Schema:
    """One hour in one system of units: its time and at least one reading."""
    readings: dict[str, Schema] = {}
    for name, (low, high, digits) in columns.items():
        ways: list[Schema] = [{"type": "number", "minimum": low, "maximum": high}]
        if name == "wet":
            ways.append({"type": "boolean"})
        readings[name] = either(*ways, text_like(f"({digits})?"), {"type": "null"})
    time = text_like(f"{DATE}|{MOMENT}", description="The start of the hour, with its offset or in the orchard's zone.")
    found = _object({"time": time, **readings}, ("time",), f"The weather of one hour, in {system} units.")
    return {**found, "anyOf": [{"required": [name]} for name in columns]}


def _decision() -> Schema:
    found = TypeAdapter(DecisionMade).json_schema(ref_template=_REF)
    span = {"type": "number", "minimum": 0, "maximum": MOST_HOURS}
    found["properties"]["hours"] = either(
        span, text_like(rf"[0-9]{{1,2}}{_DECIMALS}( ?(h|minutes))?"), {"type": "null"}
    )
    of_work = ("hours", "on", "amount", "material", "area", "content")
    found["anyOf"] = [
        {"properties": {"state": {"const": "done"}}},
        {"properties": {"state": {"enum": list(NEED_REASON)}, "reason": {"type": "string"}}, "required": ["reason"]},
        {"properties": {"state": {"const": TAKEN_BACK}, **{name: {"type": "null"} for name in of_work}}},
    ]
    return found


def _changes() -> Schema:
    from advisor.explain.changes import Changes

    found = Changes.model_json_schema(ref_template=_REF)
    properties = found["properties"]
    properties["add"] = {"type": "array", "items": {"type": "object"}, "description": "Observations to add."}
    properties["on"] = _or_null(text_like(f"{DATE}|{MOMENT}", examples=["2026-05-20"]))
    for name in ("weather", "forecast"):
        properties[name] = _or_null(ref("Hours"))
    return found


def _asked(fields: Mapping[str, Schema], wanted: tuple[str, ...], description: str, example: object) -> Schema:
    """A question about an orchard file or a kept advice: exactly one of the two."""
    from_where = {"file": ref("OrchardFile"), "advice": {"type": "string", "pattern": "^[0-9a-f]{16}$"}}
    found = _object({**from_where, **fields}, wanted, description, example)
    found["oneOf"] = [{"required": ["file"]}, {"required": ["advice"]}]
    return found
