"""The OpenAPI document and what the service does agree: requests made up from it, good and bad, over a one-block orchard."""

import json
import re
from collections import Counter
from math import ceil

import pytest
from api_service import DAY, make_service
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis.errors import Unsatisfiable
from jsonschema import Draft202012Validator

from advisor.api.shapes import EXAMPLE, components
from advisor.observation import KINDS
from counts import count

# What no schema can say, since it lies between two parts of a request or of the orchard: such a request fits the
# document and is refused all the same, with 422.
BETWEEN_THE_LINES = [
    r"no (block|habitat|block or habitat) has the id",  # what is seen names a place that stands elsewhere
    r"the id .* stands for",  # two places, or two looks, under one id
    r"is before .* was planted",  # the year of a look and that of a block
    r"the hours span \d+ years",  # from the first row of a table to its last
    r"these are days, not hours",  # no row of a table holds a time of day
    r"the dew point cannot lie above the temperature",  # two fields of one hour
    r"and \d+ more of the kind",  # how many rows besides those that are listed
    r"the low .* lies above the high",  # two fields of one night
    r"an efficiency of 0 waters nothing",  # a share goes from 0 on; a way to water that wastes all of it is none
    r"is no span of days",  # the last day before the first
    r"has two prices",  # two names of one plant
    r"this recommendation is for safety",  # which advice it is of, and a reason without words
]
# A text/csv body is any text to the document; what a spreadsheet must hold is said in words.
CSV = "text/csv"
# `changes` name places and ids of the orchard that is sent along.
CHANGES = [r"^changes", r"is no place of an orchard file", r"lies in no", r"too large to mean anything"]


@pytest.fixture(scope="module")
def service(tmp_path_factory):
    made = make_service(tmp_path_factory.mktemp("service"))
    file = {key: EXAMPLE[key] for key in ("orchard", "blocks")}
    answer = made.ask("admin", "PUT", "/orchards/larkfield", json=file, headers={"If-Match": "*"})
    assert answer.status_code == 200
    return made


def test_the_document_is_openapi_3_1_and_names_every_kind(service):
    document = service.client.get("/openapi.json").json()
    assert document["openapi"].startswith("3.1")
    observation = document["components"]["schemas"]["Observation"]
    assert observation["discriminator"]["propertyName"] == "kind"
    assert set(observation["discriminator"]["mapping"]) == set(KINDS)
    assert len(observation["oneOf"]) == len(KINDS)
    references = set(re.findall(r'"\$ref": "#/components/schemas/([^"]+)"', json.dumps(document)))
    assert references <= set(document["components"]["schemas"])


@pytest.mark.parametrize("days_off", ["sunday", "2026-07-03", ["sundays", "2026-07-03 to 2026-07-10"]])
def test_days_off_fit_the_document_as_the_readme_writes_them(service, days_off):
    file = {"orchard": {**EXAMPLE["orchard"], "days_off": days_off}, "blocks": EXAMPLE["blocks"]}
    schema = {"components": {"schemas": dict(components())}, "$ref": "#/components/schemas/OrchardFile"}
    assert not [error.message for error in Draft202012Validator(schema).iter_errors(file)]
    assert service.ask("admin", "POST", f"/advice?on={DAY}", json=file).status_code == 200


def test_no_pattern_lists_number_after_number(service):
    patterns = re.findall(r'"pattern": ?"((?:[^"\\]|\\.)*)"', service.client.get("/openapi.json").text)
    assert len(patterns) > 100
    assert max(map(len, patterns)) < 5_000


def test_the_examples_fit_their_shapes_and_are_taken(service):
    document = service.client.get("/openapi.json").json()
    shapes = {"components": {"schemas": document["components"]["schemas"]}}
    tried = 0
    for path, item in document["paths"].items():
        for method, operation in item.items():
            content = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
            for example in content.get("examples", {}).values():
                errors = Draft202012Validator({**shapes, **content["schema"]}).iter_errors(example["value"])
                assert not [error.message for error in errors], (method, path)
                if "{" not in path:
                    answer = service.ask("reader", method.upper(), f"{path}?on={DAY}", json=example["value"])
                    assert answer.status_code == 200, (path, answer.text)
                tried += 1
    assert tried >= 8


@pytest.mark.parametrize(
    ("shape", "bad"),
    [
        ("Observation", {"date": DAY, "kind": "sward", "block": "upper"}),  # says nothing
        ("Observation", {"date": DAY, "kind": "sward", "block": "upper", "habitat": "hedge", "height": "9 in"}),
        ("Observation", {"date": DAY, "kind": "sward", "height": "9"}),  # no unit
        ("Observation", {"date": DAY, "kind": "sward", "height": "9 kg"}),
        ("Observation", {"date": DAY, "kind": "pest-count", "pest": "unicorn", "count": 3}),
        ("Observation", {"date": DAY, "kind": "plant-bloom", "plant": "chives", "open": 40}),
        ("OrchardFile", {"orchard": {"name": "Larkfield", "latitude": 42}, "blocks": []}),
        (
            "OrchardFile",
            {"orchard": {"name": "Larkfield", "latitude": 99}, "blocks": [{"id": "upper", "fruit": "apple"}]},
        ),
        ("Hours", [{"time": "2026-05-18T06:00"}]),
        ("Hours", [{"time": "six", "temp_c": 3}]),
        ("DecisionMade", {"advice": "0" * 16, "recommendation": "x", "state": "refused"}),
        ("DecisionMade", {"advice": "0" * 16, "recommendation": "x", "state": "taken-back", "hours": 2}),
    ],
)
def test_the_shapes_refuse_what_the_readers_refuse(service, shape, bad):
    schema = {"components": {"schemas": dict(components())}, "$ref": f"#/components/schemas/{shape}"}
    assert list(Draft202012Validator(schema).iter_errors(bad))
    posts = {"Observation": "observations", "Hours": "weather", "DecisionMade": "decisions"}
    path = f"/orchards/larkfield/{posts[shape]}" if shape in posts else "/advice"
    assert service.ask("recorder", "POST", path, json=bad).status_code in (404, 422)


def test_requests_made_up_from_the_document_are_answered_as_it_says(service):
    schemathesis = pytest.importorskip("schemathesis")
    from schemathesis.config import SchemathesisConfig
    from schemathesis.generation import GenerationMode

    refused = ["401", "403", "404", "405", "406", "409", "412", "413", "415", "422", "428"]
    checks = {
        "positive_data_acceptance": {"expected-statuses": ["2xx", "401", "404", "409", "412", "422", "428"]},
        "negative_data_rejection": {"expected-statuses": refused},
    }
    schema = schemathesis.openapi.from_asgi(
        "/openapi.json", service.app, config=SchemathesisConfig.from_dict({"checks": checks})
    )
    operations = [found.ok() for found in schema.get_all_operations()]
    holder = {"Authorization": f"Bearer {service.tokens['admin']}"}
    each = ceil(1.3 * count("requests made up from the API's document") / (2 * len(operations)))  # some take little
    asked, unsaid = Counter(), []

    def ask(case):
        # what is written as nothing in an address is not sent at all, so it cannot be refused
        assume(all(value is not None and value != [] and value != {} for value in (case.query or {}).values()))
        _meet_what_is_kept(case, service)
        answer = case.call(headers=holder)
        asked[answer.status_code] += 1
        case.validate_response(answer, headers=holder)
        if case.meta.generation.mode is GenerationMode.POSITIVE and answer.status_code == 422:
            unsaid.extend(_not_between_the_lines(case, answer.json()))

    for operation in operations:
        for mode in GenerationMode:
            made_up = settings(
                max_examples=each,
                deadline=None,
                database=None,
                derandomize=True,
                phases=[Phase.generate, Phase.shrink],
                suppress_health_check=list(HealthCheck),
            )(given(case=operation.as_strategy(generation_mode=mode))(lambda case: ask(case)))
            try:
                made_up()
            except Unsatisfiable:  # a route that takes nothing can be sent nothing wrong
                assert mode is GenerationMode.NEGATIVE
    assert not sorted(set(unsaid))
    assert sum(asked.values()) >= count("requests made up from the API's document")
    assert max(asked) < 500
    assert {200, 201, 404, 422} <= set(asked)


def _meet_what_is_kept(case, service):
    """Let addresses and bodies that fit name what is there, so that requests get past 404; bad ones stay as they are."""
    from schemathesis.core.parameters import ParameterLocation
    from schemathesis.generation import GenerationMode

    parts = case.meta.components
    path = parts.get(ParameterLocation.PATH)
    if path is None or path.mode is GenerationMode.POSITIVE:
        for name in case.path_parameters or {}:
            if name in service.larkfield and name != "key":
                case.path_parameters[name] = service.larkfield[name]
    body = parts.get(ParameterLocation.BODY)
    if isinstance(case.body, dict) and (body is None or body.mode is GenerationMode.POSITIVE):
        for name in ("advice", "recommendation"):
            if name in case.body:
                case.body[name] = service.larkfield[name]
        if "block" in case.body and case.body["block"] is not None and "kind" in case.body:
            case.body["block"] = "upper"


def _not_between_the_lines(case, document):
    """Refusals of a request that fits the document, for a reason that the document could have told."""
    if case.media_type == CSV:
        return
    allowed = BETWEEN_THE_LINES + (CHANGES if case.path == "/what-if" else [])
    for one in document["errors"]:
        said = f"{one['file']} {one['place']} {one['message']}"
        if not any(re.search(pattern, said) for pattern in allowed):
            yield f"{case.method} {case.path}: {said} ({one['value']})"
