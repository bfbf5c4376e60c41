"""Why: the tree's shape, its proof over random orchards, and what is refused."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

import pytest
from explain_orchards import Asked, asked
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from advisor import advise
from advisor.advice import Answer
from advisor.errors import InputError
from advisor.explain.nodes import walk
from counts import count

SHAPE = {"kind", "id", "text", "value", "unit", "source", "needed", "from"}
LEAVES = {"observation", "orchard", "weather", "forecast", "knowledge", "figure", "path", "absence", "unknown", "proof"}


@pytest.fixture(scope="module")
def larkfield() -> Answer:
    return advise(str(files("advisor") / "demo" / "orchard.yaml"), on="2026-05-18")


def key(recommendation: Any) -> tuple[Any, ...]:
    return tuple(recommendation[name] for name in ("practice", "target", "block", "habitat", "stance"))


def again(answer: Answer, kept: set[str], tree: Any) -> set[tuple[Any, ...]]:
    """What the whole path advises with only these observations, and the weather where the tree names it."""
    inputs = answer.run.inputs
    named = {node.kind for node in walk(tree)}
    seen = [one for one in inputs.file.observations if one.id in kept]
    asked_again = inputs.again(
        file=inputs.file.with_observations(seen),
        measured=inputs.measured if "weather" in named else None,
        forecast=inputs.forecast if "forecast" in named else None,
    )
    return {key(one) for one in asked_again["recommendations"]}


def observations(tree: Any) -> dict[str, bool]:
    return {node.id: node.needed for node in walk(tree) if node.kind == "observation"}


@settings(max_examples=count("why over generated orchards"), deadline=None,
          suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large])  # fmt: skip
@given(given_orchard=asked(), choice=st.integers(0, 10_000))
def test_the_cited_inputs_alone_bring_a_recommendation_back(given_orchard: Asked, choice: int) -> None:
    answer = given_orchard.advise()
    assume(answer["recommendations"])
    one = answer["recommendations"][choice % len(answer["recommendations"])]
    tree = answer.why(one["id"])
    proof = next(node for node in tree["from"] if node.kind == "proof")
    assert proof.value is True, proof.text
    cited = observations(tree)
    assert None not in cited.values()
    assert set(one["depends_on"]) <= set(cited)
    assert key(one) in again(answer, set(cited), tree)
    assert all(set(node) == SHAPE for node in walk(tree))


@pytest.mark.parametrize("id", [
    "first-mow.feeder-roots.upper.2026", "guard-trunks.voles.lower.2026", "trap-voles.voles.lower.2026",
    "mow-every-other-alley.spider.upper.2026", "spare-allies.hover-fly.upper.2026",
])  # fmt: skip
def test_without_a_needed_observation_it_does_not_come_back(larkfield: Answer, id: str) -> None:
    one = next(each for each in larkfield["recommendations"] if each["id"] == id)
    tree = larkfield.why(id)
    cited = observations(tree)
    assert any(cited.values())
    for seen, needed in cited.items():
        assert (key(one) not in again(larkfield, set(cited) - {seen}, tree)) is needed, seen


def test_every_recommendation_of_larkfield_is_proven(larkfield: Answer) -> None:
    for one in larkfield["recommendations"]:
        tree = larkfield.why(one["id"])
        assert tree.value == one["stance"]
        assert tree.text == one["summary"]
        assert next(node for node in tree["from"] if node.kind == "proof").value is True
        assert {node.kind for node in walk(tree) if not node["from"]} >= {"orchard"} or observations(tree)
        json.dumps(tree, allow_nan=False)


def test_every_because_stands_in_the_tree(larkfield: Answer) -> None:
    for one in larkfield["recommendations"]:
        nodes = list(walk(larkfield.why(one["id"])))
        reasons = {text for text in one["because"] if "outweighed:" not in text}
        unlooked = {text for text in reasons if text.startswith("Nobody has looked")}
        assert reasons - unlooked <= {node.text for node in nodes if node.kind == "rule"}, one["id"]
        taken = [node for node in nodes if node.kind == "absence" and node.text.startswith("Nobody has looked")]
        assert taken or not unlooked, one["id"]


def test_every_figure_stands_in_the_tree_with_its_source(larkfield: Answer) -> None:
    sources = larkfield.run.now.knowledge.sources
    for one in larkfield["recommendations"]:
        figures = {node.id: node for node in walk(larkfield.why(one["id"])) if node.kind == "figure"}
        for figure in one["figures"]:
            node = figures[figure["id"]]
            assert node.value == figure["value"]
            title = sources[figure["source"]].title if figure["source"] else None
            assert title in node.source if title else node.source.startswith(("common practice", "from memory"))


def test_unproven_says_nothing_of_what_is_needed(larkfield: Answer) -> None:
    from advisor.explain import why

    tree = why(larkfield, "first-mow.feeder-roots.upper.2026", prove=False)
    assert {node.needed for node in walk(tree)} == {None}
    assert not [node for node in walk(tree) if node.kind == "proof"]


def test_an_unknown_id_is_refused_with_the_nearest(larkfield: Answer) -> None:
    with pytest.raises(InputError, match=r"Did you mean first-mow\.feeder-roots\.upper\.2026"):
        larkfield.why("first-mow.upper.2026")


def test_an_answer_without_recommendations_says_so() -> None:
    orchard = {"orchard": {"name": "Larkfield", "latitude": 42.4}, "blocks": [{"id": "upper", "fruit": "apple"}]}
    answer = advise(orchard, on="2026-01-05")
    with pytest.raises(InputError) as refused:
        answer.why("first-mow.upper.2026")
    assert answer["recommendations"] or "holds no recommendation" in str(refused.value)


def test_the_same_inputs_give_the_same_tree(larkfield: Answer) -> None:
    other = larkfield.run.inputs.again()
    for id in ("first-mow.feeder-roots.upper.2026", "insecticide.rosy-apple-aphid.upper.2026"):
        assert json.dumps(larkfield.why(id)) == json.dumps(other.why(id))
