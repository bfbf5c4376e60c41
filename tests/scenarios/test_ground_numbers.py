"""Ground, feed, crop and pruning by numbers, in pairs: what a grower told gives the number, and without it there is none."""

from __future__ import annotations

import io
from typing import Any

import pytest
from rich.console import Console

from advisor import advise
from advisor.terminal import write
from scenarios.asking import SOUTH, Ask, apples, stage

GROVE = {"spacing": "6 m x 5 m", "floor": "meadow", "rootstock": "MM.106"}
LEAFLESS = stage("leafless")


def ask(on: str, practice: str, *seen: dict[str, Any], block: dict[str, Any] | None = None, **intent: Any) -> Ask:
    about = intent.pop("about", {})
    grove = apples(**{**GROVE, **(block or {})})
    return Ask(on, practice, "", list(seen), grove, about=about, intent={"block": "upper", **intent})


def lines(asked: Ask) -> str:
    """All that a grower reads of the answer, workings and cautions too."""
    answer = asked.answer()
    return " ".join([answer["summary"], *answer["how"], *answer["cautions"], *answer["workings"]])


PAIRS = [
    pytest.param(
        ask("2026-11-25", "spread-ramial-chips", LEAFLESS, amount="3 m3"),
        ask("2026-11-25", "spread-ramial-chips", LEAFLESS),
        "3 m3 of chips cover 40 m2 at 7.5 cm: whole rings or strips for 5 trees",
        id="chips by volume cover so many rings",
    ),
    pytest.param(
        ask("2026-06-25", "spread-ramial-chips", LEAFLESS, amount="3 m3", about=SOUTH),
        ask("2026-06-25", "spread-ramial-chips", LEAFLESS, about=SOUTH),
        "they hold 5.4 kg of nitrogen",
        id="what chips hold, in the south",
    ),
    pytest.param(
        ask("2026-11-25", "spread-ramial-chips", LEAFLESS, thickness="3 cm"),
        ask("2026-11-25", "spread-ramial-chips", LEAFLESS, thickness="15 cm"),
        "it is ramial wood",
        id="thin branches are ramial, stems are not",
    ),
    pytest.param(
        ask("2026-11-25", "spread-ramial-chips", LEAFLESS, thickness="15 cm"),
        ask("2026-11-25", "spread-ramial-chips", LEAFLESS, thickness="3 cm"),
        "Branches of 15 cm are stem wood",
        id="stems are told from ramial wood",
    ),
    pytest.param(
        ask("2026-11-25", "spread-ramial-chips", LEAFLESS, plants=["black-walnut"]),
        ask("2026-11-25", "spread-ramial-chips", LEAFLESS, plants=["hazel"]),
        "Keep chips of black walnut off upper",
        id="walnut is kept off",
    ),
    pytest.param(
        ask("2026-11-25", "spread-ramial-chips", LEAFLESS, amount="60 m3"),
        ask("2026-11-25", "spread-ramial-chips", LEAFLESS, amount="6 m3"),
        "A first dose for a whole floor is 18 m3 to 24 m3",
        id="more chips than a first dose",
    ),
    pytest.param(
        ask("2026-11-25", "spread-ramial-chips", LEAFLESS),
        ask("2026-11-25", "spread-ramial-chips", LEAFLESS, block={"trees": 1, "spacing": "40 m x 40 m"}),
        "of field hedge give it in a year",
        id="the hedge that gives what prunings lack",
    ),
    pytest.param(
        ask("2026-04-20", "spread-compost", stage("green-tip"), amount="1 t"),
        ask("2026-04-20", "spread-compost", stage("green-tip")),
        "of nitrogen this year; by trunk and leaf the trees of upper still want",
        id="compost counted for what it frees",
    ),
    pytest.param(
        ask("2026-06-05", "plant-tea", stage("fruit-set"), material="comfrey-tea", amount="10 kg"),
        ask("2026-06-05", "plant-tea", stage("fruit-set"), material="comfrey-tea"),
        "10 kg of leaf in 20 L of water, steeped 28 days or more, make 220 L thinned for the soil",
        id="a batch of tea from the leaf there is",
    ),
    pytest.param(
        ask("2026-06-05", "plant-tea", stage("fruit-set"), material="comfrey-tea"),
        ask("2026-06-05", "plant-tea", stage("fruit-set"), material="nettle-tea"),
        "harm the liver",
        id="comfrey has a caution of its own",
    ),
    pytest.param(
        ask("2026-11-25", "lime", LEAFLESS, {"kind": "soil-test", "results": {"ph": 5.5}}),
        ask("2026-11-25", "lime", LEAFLESS, {"kind": "soil-test", "results": {"ph": 5.5, "buffer_ph": 6.3}}),
        "heavy clay would take 960 kg in all",
        id="the most lime that pH alone allows",
    ),
    pytest.param(
        ask("2026-06-20", "mow-alleys", {"kind": "sward", "block": "upper", "height": "30 cm", "seed_heads": "none"}),
        ask("2026-06-20", "mow-alleys", {"kind": "sward", "block": "upper", "height": "30 cm", "seed_heads": "ripe"}),
        "serve as mulch, compost, plant tea and fodder",
        id="a leafy cut feeds stock, a ripe one does not",
    ),
    pytest.param(
        ask("2026-02-20", "dormant-prune", stage("dormant"), share=0.22, block={"planted": 1990}),
        ask("2026-02-20", "dormant-prune", stage("dormant"), share=0.22, block={"planted": 2012}),
        "Not 22 % of these trees",
        id="old trees lose no more than a fifth",
    ),
    pytest.param(
        ask("2026-08-20", "dormant-prune", stage("dormant"), share=0.22, block={"planted": 1990}, about=SOUTH),
        ask("2026-08-20", "dormant-prune", stage("dormant"), share=0.22, block={"planted": 2012}, about=SOUTH),
        "Not 22 % of these trees",
        id="old trees in the south",
    ),
    pytest.param(
        ask("2026-05-12", "thin-blossom", stage("full-bloom"), block={"fruit": "peach", "rootstock": None}),
        ask("2026-05-12", "thin-blossom", stage("full-bloom"), block={"fruit": "sweet-cherry", "rootstock": None}),
        "Brush or flail open flowers off",
        id="peach blossom may be brushed",
    ),
    pytest.param(
        ask("2026-06-15", "hand-thin", stage("june-drop"), {"kind": "crop-count", "block": "upper", "spacing": "5 cm"},
            block={"fruit": "peach", "rootstock": None}),
        ask("2026-06-15", "hand-thin", stage("june-drop"), {"kind": "crop-count", "block": "upper", "spacing": "5 cm"},
            block={"fruit": "plum", "rootstock": None}),
        "On 1 m of limb stay 4 to 6",
        id="peaches to a metre of limb",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("told", "turned", "number"), PAIRS)
def test_what_is_told_gives_the_number(told: Ask, turned: Ask, number: str) -> None:
    assert number in lines(told)
    assert number not in lines(turned)


def test_us_units_are_spoken_throughout() -> None:
    asked = ask("2026-11-25", "spread-ramial-chips", LEAFLESS, amount="4 yd3", about={"units": "us"})
    answer = asked.answer()
    assert any("4 yd3 of chips cover" in line and "ft2" in line for line in answer["how"])
    assert not any(" m2" in line or " kg" in line for line in answer["how"])


def test_a_terminal_shows_how_an_amount_was_reckoned() -> None:
    seen = [stage("june-drop"), {"kind": "crop-count", "block": "upper", "fruit_per_tree": 400, "cultivar": "Gala"}]
    asked = ask("2026-06-15", "hand-thin", *seen, block={"planted": 2005, "cultivars": ["Gala"]})
    out = io.StringIO()
    write(advise(asked.file([]), on=asked.on), Console(file=out, width=200))
    (line,) = [line for line in out.getvalue().splitlines() if "reckoned: MM.106" in line]
    assert "= 250 fruit a tree; counted 400, so 150 too many" in line
