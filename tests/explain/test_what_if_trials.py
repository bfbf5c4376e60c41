"""A quick try comes to what the whole path comes to, whatever kind of look is added or dropped."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from advisor import advise
from advisor.advice import answer_to
from advisor.explain.changes import changed, read_changes
from advisor.explain.trial import Trials
from advisor.observation import KINDS
from advisor.presenting import named

DEMO = Path(__file__).parents[2] / "advisor" / "demo" / "orchard.yaml"
DAY = dt.date(2026, 5, 18)

# One look of every kind, other than what the demonstration orchard holds.
LOOKS = {
    "tree-stage": {"block": "upper", "stage": "fruit-set"},
    "tree-sign": {"block": "lower", "sign": "wilting", "share": 0.3},
    "sward": {"block": "upper", "height": "12 cm"},
    "plant-bloom": {"habitat": "pond-margin", "plant": "yarrow", "open": 0.5},
    "mulch": {"block": "plums", "material": "hay", "depth": "20 cm", "trunk_gap": "2 cm"},
    "heap": {"parts": [{"material": "hay", "mass": "100 kg"}], "feel": "wet", "smell": "ammonia"},
    "stems": {"habitat": "stem-bed", "standing": 0.1, "first_cut": 2024},
    "leaf-fall": {"block": "lower", "fallen": 1, "scab_on_leaves": 0.2, "reachable": 0.1, "state": "dry"},
    "pest-count": {
        "block": "upper",
        "pest": "codling-moth",
        "count": 30,
        "per": "trap",
        "trap": "pheromone",
        "days": 7,
    },
    "pest-damage": {"block": "upper", "pest": "plum-curculio", "share": 0.1, "of": "fruit", "fresh": True},
    "ally-count": {"block": "upper", "ally": "lady-beetle", "abundance": "none"},
    "disease-sign": {"block": "lower", "disease": "fire-blight", "strikes": 3},
    "mummies": {"block": "plums", "per_tree": 4, "at": "tree"},
    "fruit-set": {"block": "upper", "fruit_per_cluster": 4, "clusters_with_fruit": 0.9},
    "crop-count": {"block": "upper", "fruit_per_tree": 900, "girth": "50 cm"},
    "bud-kill": {"block": "lower", "dead": 0.9, "sample": 100},
    "shoot-growth": {"block": "upper", "length": "90 cm", "terminal_set": False},
    "leaf-test": {"block": "upper", "results": {"N": "1.6 %"}},
    "soil-test": {"block": "upper", "results": {"ph": 5.1}},
    "fruit-sample": {"block": "upper", "cultivar": "Liberty", "starch": 6},
    "bees": {"block": "lower", "per_tree_minute": 1, "who": "honey-bee", "at": "tree"},
    "vole-sign": {"block": "lower", "runways": "none", "gnawing": False},
    "wildlife-sign": {"block": "lower", "who": "ground-nesting-birds"},
    "snow": {"block": "lower", "depth": "30 cm"},
    "soil-water": {"block": "lower", "feel": "dry", "depletion": "80 mm"},
    "work": {"block": "upper", "practice": "irrigate", "amount": "20 mm"},
    "forecast": {"day": "2026-05-20", "low": "-4 °C", "rain": "12 mm"},
    "intent": {"block": "upper", "practice": "sulphur", "material": "wettable-sulphur", "day": "2026-05-19"},
}


@pytest.fixture(scope="module")
def answer():
    return advise(DEMO, on=DAY)


def same_as_the_whole_path(answer, changes):
    asked = read_changes(changes)
    whole = answer.run.inputs.again(**changed(asked, answer.run.inputs))
    tried = Trials(answer).run(asked)
    assert {f.id: f for f in tried.gathered.facts} == {f.id: f for f in whole.run.gathered.facts}
    assert tried.gathered.stale == whole.run.gathered.stale
    seen = [(name, o.stance, o.opens, o.closes, o.urgency, o.strength, o.lost, o.waits_for)
            for name, o in named(tried.now, tried.outcomes).items()]  # fmt: skip
    assert seen == [(name, o.stance, o.opens, o.closes, o.urgency, o.strength, o.lost, o.waits_for)
                    for name, o in named(whole.run.now, whole.run.outcomes).items()]  # fmt: skip
    return whole


def test_every_kind_of_observation_is_tried():
    assert set(LOOKS) == set(KINDS)


@pytest.mark.parametrize("kind", sorted(LOOKS))
def test_a_look_added_comes_to_what_the_whole_path_comes_to(answer, kind):
    whole = same_as_the_whole_path(answer, {"add": [{"kind": kind, **LOOKS[kind]}]})
    assert any(o.kind == kind for o in whole.run.now.observations)


def test_each_observation_dropped_comes_to_what_the_whole_path_comes_to(answer):
    for seen in answer.run.inputs.file.observations:
        same_as_the_whole_path(answer, {"drop": [seen.id]})


@pytest.mark.parametrize(
    "changes",
    [
        {"set": {"blocks.lower.guards": "mesh", "orchard.tools": ["scythe"]}},
        {"warmer": 2, "rain": 0.5},
        {"on": "2026-05-25"},
        {"set": {"blocks.upper.mulch": None}, "add": [{"kind": "mulch", "block": "upper", "depth": "1 cm"}]},
    ],
)
def test_other_changes_come_to_what_the_whole_path_comes_to(answer, changes):
    same_as_the_whole_path(answer, changes)


def test_the_try_does_not_change_the_answer_it_starts_from(answer):
    before = answer_to(answer.run.inputs)
    Trials(answer).run(read_changes({"add": [{"kind": "sward", **LOOKS["sward"]}]}))
    assert answer == before
