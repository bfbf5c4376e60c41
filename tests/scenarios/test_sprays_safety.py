"""Sprays and safety in pairs: the situation, and the same with its deciding fact turned, each with its source."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from advisor import advise
from scenarios.asking import SOUTH, Ask, apples, stage
from scenarios.orchards import answered, orchard

UP = {"block": "upper"}
BARE_FLOOR = {"kind": "sward", "in_flower": 0}
CLOVER = {"kind": "sward", "in_flower": 0.3}
ROSY = {"kind": "pest-count", "pest": "rosy-apple-aphid", "infested": 0.1, "per": "cluster"}
GREEN = {"kind": "pest-count", "pest": "green-apple-aphid", "infested": 0.6, "per": "shoot"}
NO_HOVER_FLIES = {"kind": "ally-count", "ally": "hover-fly", "share": 0}
HOVER_FLIES = {"kind": "ally-count", "ally": "hover-fly", "share": 0.5}
MILDEW = {"kind": "disease-sign", "disease": "powdery-mildew", "share": 0.1, "where": "shoot"}
POND = {"id": "pond", "kind": "pond", "area": "50 m2", "distance": "8 m"}
FAR_POND = {**POND, "distance": "80 m"}


def work(practice: str, date: str, **more: Any) -> dict[str, Any]:
    return {"kind": "work", "practice": practice, "date": date, **UP, **more}


def sky(day: str, **more: Any) -> dict[str, Any]:
    """The written forecast of a day: mild, dry and calm unless something else is said."""
    return {"kind": "forecast", "day": day, "low": "6 °C", "high": "17 °C", "rain": "0 mm", "wind": "2 m/s", **more}


def meant(material: str | None = None, target: str | None = None, **more: Any) -> dict[str, Any]:
    named = {"material": material, "target": target}
    return {"intent": {**UP, **{name: word for name, word in named.items() if word}, **more}}


SPINOSAD = meant("spinosad", "rosy-apple-aphid")
ON_GREEN = meant("spinosad", "green-apple-aphid")
AT_PETAL_FALL = [stage("petal-fall"), ROSY, NO_HOVER_FLIES]
DORMANT_DRY = [stage("dormant"), sky("2026-03-21")]
SILVER_TIP = [stage("silver-tip"), sky("2026-04-11")]
PICKING = Ask("2026-09-10", "pick", "do", [stage("harvest")], **meant())

# title, source, the situation, the same with its deciding fact turned
PAIRS: list[tuple[str, str, Ask, Ask]] = [
    (
        "lime sulphur alone, and with whey in the tank",
        "chemical safety sheets on calcium polysulphide (from memory)",
        Ask("2026-03-20", "lime-sulphur", "do", DORMANT_DRY, **meant()),
        Ask("2026-03-20", "lime-sulphur", "avoid", DORMANT_DRY, **meant(**{"with": ["whey"]})),
    ),
    (
        "a ferment alone, and with lime sulphur in the tank",
        "chemical safety sheets on calcium polysulphide (from memory)",
        Ask("2026-05-25", "biology-spray", "do", [stage("fruit-set")], **meant("sour-ferment")),
        Ask("2026-05-25", "biology-spray", "avoid", [stage("fruit-set")],
            **meant("sour-ferment", **{"with": ["lime-sulphur"]})),
    ),
    (
        "lime sulphur three weeks and three days after a ferment",
        "gas: chemical safety sheets (from memory); the days: common practice, no source",
        Ask("2026-03-20", "lime-sulphur", "do", [*DORMANT_DRY, work("biology-spray", "2026-02-27")], **meant()),
        Ask("2026-03-20", "lime-sulphur", "wait", [*DORMANT_DRY, work("biology-spray", "2026-03-17")], **meant()),
    ),
    (
        "whey three weeks and three days after lime sulphur",
        "gas: chemical safety sheets (from memory); the days: common practice, no source",
        Ask("2026-05-25", "biology-spray", "do", [stage("fruit-set"), work("lime-sulphur", "2026-05-01")],
            **meant("whey")),
        Ask("2026-05-25", "biology-spray", "wait", [stage("fruit-set"), work("lime-sulphur", "2026-05-22")],
            **meant("whey")),
    ),
    (
        "an insecticide after petal fall, and on open bloom",
        "Washington State University, bee protection",
        Ask("2026-05-18", "insecticide", "do", [*AT_PETAL_FALL, BARE_FLOOR],
            **meant("pyrethrin", "rosy-apple-aphid")),
        Ask("2026-05-18", "insecticide", "avoid", [stage("full-bloom"), ROSY, NO_HOVER_FLIES, BARE_FLOOR],
            **meant("pyrethrin", "rosy-apple-aphid")),
    ),
    (
        "spring in the south: the same in November, and in bloom in October",
        "Washington State University, bee protection",
        Ask("2026-11-05", "insecticide", "do", [*AT_PETAL_FALL, BARE_FLOOR], about=SOUTH, **SPINOSAD),
        Ask("2026-10-15", "insecticide", "avoid", [stage("full-bloom"), ROSY, NO_HOVER_FLIES, BARE_FLOOR],
            about=SOUTH, **SPINOSAD),
    ),
    (
        "spinosad over a sward without flowers, and over clover in flower",
        "Washington State University, bee protection; University of Nebraska",
        Ask("2026-05-18", "insecticide", "do", [*AT_PETAL_FALL, BARE_FLOOR], **SPINOSAD),
        Ask("2026-05-18", "insecticide", "wait", [*AT_PETAL_FALL, CLOVER], **SPINOSAD),
    ),
    (
        "clover in flower, mown the day before, and not mown",
        "Washington State University, bee protection",
        Ask("2026-05-18", "insecticide", "do",
            [*AT_PETAL_FALL, {**CLOVER, "date": "2026-05-16"}, work("mow-bloom-before-spray", "2026-05-17")],
            **SPINOSAD),
        Ask("2026-05-18", "insecticide", "wait", [*AT_PETAL_FALL, {**CLOVER, "date": "2026-05-16"}], **SPINOSAD),
    ),
    (
        "a floor that was looked at, and one that nobody looked at",
        "Washington State University, bee protection",
        Ask("2026-05-18", "insecticide", "do", [*AT_PETAL_FALL, BARE_FLOOR], **SPINOSAD),
        Ask("2026-05-18", "insecticide", "wait", AT_PETAL_FALL, **SPINOSAD),
    ),
    (
        "comfrey below the trees, not in bloom and in bloom",
        "Washington State University, bee protection",
        Ask("2026-05-18", "insecticide", "do",
            [*AT_PETAL_FALL, BARE_FLOOR, {"kind": "plant-bloom", "plant": "common-comfrey", "open": 0, **UP}],
            blocks=apples(understory=["common-comfrey"]), **SPINOSAD),
        Ask("2026-05-18", "insecticide", "wait",
            [*AT_PETAL_FALL, BARE_FLOOR, {"kind": "plant-bloom", "plant": "common-comfrey", "open": 0.4, **UP}],
            blocks=apples(understory=["common-comfrey"]), **SPINOSAD),
    ),
    (
        "a bloom protectant alone, and with spinosad in its tank",
        "Washington State University, bee protection",
        Ask("2026-05-10", "protect-bloom", "do", [stage("full-bloom"), sky("2026-05-11")],
            **meant("biological-blossom-protectant", "brown-rot")),
        Ask("2026-05-10", "protect-bloom", "avoid", [stage("full-bloom"), sky("2026-05-11")],
            **meant("biological-blossom-protectant", "brown-rot", **{"with": ["spinosad"]})),
    ),
    (
        "a bacterium against caterpillars on bloom, and pyrethrin",
        "common practice, no source: the bacterium spares bees",
        Ask("2026-05-08", "microbial-spray", "do",
            [stage("full-bloom"), {"kind": "pest-count", "pest": "caterpillars", "infested": 0.2, "per": "cluster"},
             sky("2026-05-09")], **meant("bacillus-thuringiensis", "caterpillars")),
        Ask("2026-05-08", "insecticide", "avoid",
            [stage("full-bloom"), {"kind": "pest-count", "pest": "caterpillars", "infested": 0.2, "per": "cluster"},
             sky("2026-05-09")], **meant("pyrethrin", "caterpillars")),
    ),
    (
        "grazing in winter, and in a winter after copper",
        "Merck Veterinary Manual, copper and sheep (from memory); the days: common practice, no source",
        Ask("2026-12-01", "graze", "do", [stage("leafless")], blocks=apples(guards="mesh"), **meant()),
        Ask("2026-12-01", "graze", "avoid", [stage("leafless"), work("copper", "2026-11-05")],
            blocks=apples(guards="mesh"), **meant()),
    ),
    (
        "grazing over clover, and over comfrey",
        "Merck Veterinary Manual, liver poisons of comfrey and ragwort (from memory)",
        Ask("2026-12-01", "graze", "do", [stage("leafless")],
            blocks=apples(guards="mesh", understory=["white-clover"]), **meant()),
        Ask("2026-12-01", "graze", "avoid", [stage("leafless")],
            blocks=apples(guards="mesh", understory=["sterile-comfrey"]), **meant()),
    ),
    (
        "grazing plums, and plums with summer prunings on the ground",
        "Merck Veterinary Manual, cyanide in wilted stone-fruit leaves (from memory)",
        Ask("2026-10-20", "graze", "do", [stage("after-harvest")],
            blocks=apples(fruit="plum", guards="mesh", use="dessert"), **meant()),
        Ask("2026-10-20", "graze", "avoid", [stage("after-harvest"), work("summer-prune", "2026-10-14")],
            blocks=apples(fruit="plum", guards="mesh", use="dessert"), **meant()),
    ),
    (
        "manure five months and two months before the day of picking",
        "7 CFR 205.203, National Organic Program",
        Ask("2026-04-01", "spread-manure", "do",
            [stage("dormant"), {"kind": "intent", "practice": "pick", "day": "2026-09-10", **UP}], **meant()),
        Ask("2026-07-10", "spread-manure", "wait",
            [stage("half-grown"), {"kind": "intent", "practice": "pick", "day": "2026-09-10", **UP}], **meant()),
    ),
    (
        "manure a hundred days before dessert fruit, and before cider fruit from the ground",
        "7 CFR 205.203, National Organic Program",
        Ask("2026-04-01", "spread-manure", "do",
            [stage("dormant"), {"kind": "intent", "practice": "pick", "day": "2026-07-10", **UP}],
            blocks=apples(use="dessert"), **meant()),
        Ask("2026-04-01", "spread-manure", "wait",
            [stage("dormant"), {"kind": "intent", "practice": "pick", "day": "2026-07-10", **UP}],
            blocks=apples(use="cider"), **meant()),
    ),
    (
        "drops of a cider orchard, and where sheep grazed",
        "United States Food and Drug Administration, juice guidance (from memory)",
        Ask("2026-09-10", "pick-up-drops", "do", [stage("harvest")], blocks=apples(use="cider"), **meant()),
        Ask("2026-09-10", "pick-up-drops", "avoid", [stage("harvest"), work("graze", "2026-07-20")],
            blocks=apples(use="cider"), **meant()),
    ),
    (
        "copper eighty metres and eight metres from a pond",
        "the label; the distance is from memory",
        Ask("2026-04-10", "copper", "do", SILVER_TIP, habitats=[FAR_POND], **meant()),
        Ask("2026-04-10", "copper", "avoid", SILVER_TIP, habitats=[POND], **meant()),
    ),
    (
        "picking a month and five days after spinosad",
        "usual labels (from memory); use as labelled, 7 USC 136j",
        replace(PICKING, seen=[stage("harvest"), work("insecticide", "2026-08-10", material="spinosad")]),
        replace(PICKING, expected="wait",
                seen=[stage("harvest"), work("insecticide", "2026-09-05", material="spinosad")]),
    ),
    (
        "thinning by hand three days and one day after lime sulphur",
        "Cornell University, resource guide 2013: 48 hours to entry",
        Ask("2026-06-10", "hand-thin", "do",
            [stage("june-drop"), work("lime-sulphur", "2026-06-07"),
             {"kind": "crop-count", "spacing": "8 cm", "touching": 0.6, "date": "2026-06-09"}], **meant()),
        Ask("2026-06-10", "hand-thin", "wait",
            [stage("june-drop"), work("lime-sulphur", "2026-06-09"),
             {"kind": "crop-count", "spacing": "8 cm", "touching": 0.6, "date": "2026-06-09"}], **meant()),
    ),
    (
        "a labelled soap, and dish soap",
        "use as labelled, 7 USC 136j",
        Ask("2026-06-10", "soap", "do", [stage("fruit-set"), GREEN, NO_HOVER_FLIES, sky("2026-06-11")],
            **meant("soap", "green-apple-aphid")),
        Ask("2026-06-10", "soap", "avoid", [stage("fruit-set"), GREEN, NO_HOVER_FLIES, sky("2026-06-11")],
            **meant("dish-soap", "green-apple-aphid")),
    ),
    (
        "green aphid without enemies, and with hover flies in half of the colonies",
        "natural enemies guide; common practice for the share",
        Ask("2026-06-15", "insecticide", "do", [stage("fruit-set"), GREEN, NO_HOVER_FLIES, BARE_FLOOR], **ON_GREEN),
        Ask("2026-06-15", "insecticide", "wait", [stage("fruit-set"), GREEN, HOVER_FLIES, BARE_FLOOR], **ON_GREEN),
    ),
    (
        "enemies looked for, and nobody looked",
        "common practice, no source",
        Ask("2026-06-15", "insecticide", "do", [stage("fruit-set"), GREEN, NO_HOVER_FLIES, BARE_FLOOR], **ON_GREEN),
        Ask("2026-06-15", "insecticide", "wait", [stage("fruit-set"), GREEN, BARE_FLOOR], **ON_GREEN),
    ),
    (
        "a spray with a pest named and counted, and one for nothing",
        "common practice, no source",
        Ask("2026-06-15", "insecticide", "do", [stage("fruit-set"), GREEN, NO_HOVER_FLIES, BARE_FLOOR], **ON_GREEN),
        Ask("2026-06-15", "insecticide", "wait", [stage("fruit-set"), GREEN, NO_HOVER_FLIES, BARE_FLOOR],
            **meant("spinosad")),
    ),
    (
        "copper at silver tip, and at pink",
        "Rosenberger 2013, Good Fruit Grower; Virginia Tech, dormant apple",
        Ask("2026-04-10", "copper", "do", SILVER_TIP, **meant()),
        Ask("2026-04-10", "copper", "avoid", [stage("pink"), sky("2026-04-11")], **meant()),
    ),
    (
        "copper at a stage seen today, and at one seen weeks ago",
        "Rosenberger 2013, Good Fruit Grower; that spring stages go stale is common practice",
        Ask("2026-04-10", "copper", "do", SILVER_TIP, **meant()),
        Ask("2026-04-24", "copper", "wait", [stage("silver-tip", date="2026-04-10"), sky("2026-04-25")], **meant()),
    ),
    (
        "oil at a known stage, and at none",
        "Bradshaw 2020, University of Vermont",
        Ask("2026-04-10", "oil", "do", SILVER_TIP, **meant()),
        Ask("2026-04-10", "oil", "wait", [sky("2026-04-11")], **meant()),
    ),
    (
        "copper at half-inch green on cider fruit, and on dessert fruit",
        "Virginia Tech, dormant apple",
        Ask("2026-04-18", "copper", "do", [stage("half-inch-green"), sky("2026-04-19")],
            blocks=apples(use="cider"), **meant()),
        Ask("2026-04-18", "copper", "avoid", [stage("half-inch-green"), sky("2026-04-19")],
            blocks=apples(use="dessert"), **meant()),
    ),
    (
        "copper without frost, and before frost",
        "Rosenberger 2013, Good Fruit Grower",
        Ask("2026-04-10", "copper", "do", SILVER_TIP, **meant()),
        Ask("2026-04-10", "copper", "wait", [stage("silver-tip"), sky("2026-04-11", low="-2 °C")], **meant()),
    ),
    (
        "copper after two and after ten kilograms a spray in the years that count",
        "Commission Implementing Regulation (EU) 2018/1981",
        Ask("2026-04-10", "copper", "do",
            [*SILVER_TIP, *[work("copper", f"{y}-04-10", amount="0.24 kg", content=1.0) for y in (2023, 2024, 2025)]],
            **meant()),
        Ask("2026-04-10", "copper", "avoid",
            [*SILVER_TIP, *[work("copper", f"{y}-04-10", amount="1.2 kg", content=1.0) for y in (2023, 2024, 2025)]],
            **meant()),
    ),
    (
        "copper against leaf curl on peaches at rest, and with their buds open",
        "University of California, peach leaf curl",
        Ask("2026-03-01", "copper", "do", [stage("dormant"), sky("2026-03-02")], blocks=apples(fruit="peach"),
            **meant(target="peach-leaf-curl")),
        Ask("2026-04-10", "copper", "avoid", [stage("calyx-red"), sky("2026-04-11")], blocks=apples(fruit="peach"),
            **meant(target="peach-leaf-curl")),
    ),
    (
        "oil fifteen and ten days after sulphur",
        "Yoder 2011, Virginia Tech",
        Ask("2026-04-25", "oil", "do", [stage("green-tip"), work("sulphur", "2026-04-10"), sky("2026-04-26")],
            **meant()),
        Ask("2026-04-20", "oil", "wait", [stage("green-tip"), work("sulphur", "2026-04-10"), sky("2026-04-21")],
            **meant()),
    ),
    (
        "oil on mild days, and before frost",
        "Bradshaw 2020, University of Vermont",
        Ask("2026-04-10", "oil", "do", SILVER_TIP, **meant()),
        Ask("2026-04-10", "oil", "wait", [stage("silver-tip"), sky("2026-04-11", low="-3 °C")], **meant()),
    ),
    (
        "oil at the dormant rate on bare wood, and at tight cluster",
        "Bradshaw 2020, University of Vermont",
        Ask("2026-03-20", "oil", "do", DORMANT_DRY, **meant(rate="dormant")),
        Ask("2026-04-25", "oil", "avoid", [stage("tight-cluster"), sky("2026-04-26")], **meant(rate="dormant")),
    ),
    (
        "sulphur at 22 °C, and at 31 °C (in US units)",
        "Missouri Botanical Garden, sulphur as a fungicide",
        Ask("2026-06-10", "sulphur", "do", [stage("fruit-set"), sky("2026-06-11", high="72 °F", rain="0.3 in")],
            about={"units": "us"}, **meant()),
        Ask("2026-06-10", "sulphur", "wait", [stage("fruit-set"), sky("2026-06-11", high="88 °F", rain="0.3 in")],
            about={"units": "us"}, **meant()),
    ),
    (
        "calcium at 24 °C, and at 32 °C",
        "common practice, no source",
        Ask("2026-07-10", "calcium-spray", "do", [stage("half-grown"), sky("2026-07-11", high="24 °C")],
            **meant("calcium-chloride")),
        Ask("2026-07-10", "calcium-spray", "wait", [stage("half-grown"), sky("2026-07-11", high="32 °C")],
            **meant("calcium-chloride")),
    ),
    (
        "bicarbonate alone, and with a manganese feed",
        "Dutch growers' trial 2007",
        Ask("2026-06-10", "bicarbonate", "do", [stage("fruit-set"), MILDEW, sky("2026-06-11")],
            **meant(target="powdery-mildew")),
        Ask("2026-06-10", "bicarbonate", "avoid", [stage("fruit-set"), MILDEW, sky("2026-06-11")],
            **meant(target="powdery-mildew", **{"with": ["manganese"]})),
    ),
    (
        "soap before a dry day, and before rain",
        "common practice, no source",
        Ask("2026-06-10", "soap", "do", [stage("fruit-set"), GREEN, NO_HOVER_FLIES, sky("2026-06-11")],
            **meant("soap", "green-apple-aphid")),
        Ask("2026-06-10", "soap", "wait",
            [stage("fruit-set"), GREEN, NO_HOVER_FLIES, sky("2026-06-11", rain="9 mm")],
            **meant("soap", "green-apple-aphid")),
    ),
    (
        "kaolin in calm air, and in wind",
        "many labels: 10 miles an hour (common practice)",
        Ask("2026-05-20", "kaolin", "do", [stage("petal-fall"), sky("2026-05-20"), sky("2026-05-21")], **meant()),
        Ask("2026-05-20", "kaolin", "wait",
            [stage("petal-fall"), sky("2026-05-20", wind="8 m/s"), sky("2026-05-21")], **meant()),
    ),
    (
        "kaolin where curculio was, and where rosy aphid was",
        "Knight and others 2001, Canadian Entomologist 133",
        Ask("2026-05-20", "kaolin", "do", [stage("petal-fall"), sky("2026-05-21")],
            blocks=apples(history=["plum-curculio"]), **meant()),
        Ask("2026-05-20", "kaolin", "wait", [stage("petal-fall"), sky("2026-05-21")],
            blocks=apples(history=["rosy-apple-aphid"]), **meant()),
    ),
    (
        "sulphur on bloom at nightfall, and at noon",
        "University of Nebraska, bees and sprays in bloom",
        Ask("2026-05-08", "sulphur", "do", [stage("full-bloom"), sky("2026-05-09", rain="6 mm")],
            **meant(at="20:30")),
        Ask("2026-05-08", "sulphur", "wait", [stage("full-bloom"), sky("2026-05-09", rain="6 mm")],
            **meant(at="12:00")),
    ),
    (
        "urea in an orchard without a standard, and in an organic one",
        "7 CFR 205.601, National Organic Program",
        Ask("2026-11-05", "shred-leaves", "do",
            [stage("leaf-fall"), {"kind": "leaf-fall", "fallen": 0.98, "scab_on_leaves": 0.1, "reachable": 0.9,
                                  "state": "dry"}],
            about={"standard": "none"}, blocks=apples(history=["apple-scab"]), **meant("urea")),
        Ask("2026-11-05", "shred-leaves", "avoid",
            [stage("leaf-fall"), {"kind": "leaf-fall", "fallen": 0.98, "scab_on_leaves": 0.1, "reachable": 0.9,
                                  "state": "dry"}],
            about={"standard": "organic"}, blocks=apples(history=["apple-scab"]), **meant("urea")),
    ),
    (
        "steeped leaf three months before picking, and a month before",
        "common practice, kept to the raw manure interval",
        Ask("2026-06-01", "plant-tea", "do",
            [stage("fruit-set"), {"kind": "intent", "practice": "pick", "day": "2026-09-20", **UP}],
            **meant("comfrey-tea")),
        Ask("2026-08-20", "plant-tea", "wait",
            [stage("half-grown"), {"kind": "intent", "practice": "pick", "day": "2026-09-20", **UP}],
            **meant("comfrey-tea")),
    ),
]


@pytest.mark.parametrize(("situation", "turned"), [pytest.param(a, b, id=title) for title, _, a, b in PAIRS])
def test_the_answer_turns_with_the_deciding_fact(situation: Ask, turned: Ask) -> None:
    for ask in (situation, turned):
        answer = ask.answer()
        assert answer["stance"] == ask.expected, (answer["summary"], answer["because"])


def test_every_pair_names_its_source_and_most_end_in_do() -> None:
    assert all(source for _, source, _, _ in PAIRS)
    assert all(situation.expected == "do" != turned.expected for _, _, situation, turned in PAIRS)


MUST = {
    "lime sulphur alone, and with whey in the tank", "whey three weeks and three days after lime sulphur",
    "an insecticide after petal fall, and on open bloom", "comfrey below the trees, not in bloom and in bloom",
    "spinosad over a sward without flowers, and over clover in flower",
    "grazing in winter, and in a winter after copper", "grazing over clover, and over comfrey",
    "grazing plums, and plums with summer prunings on the ground",
    "manure five months and two months before the day of picking",
    "drops of a cider orchard, and where sheep grazed", "copper eighty metres and eight metres from a pond",
    "picking a month and five days after spinosad", "a labelled soap, and dish soap",
    "thinning by hand three days and one day after lime sulphur",
}  # fmt: skip


@pytest.mark.parametrize("turned", [pytest.param(b, id=title) for title, _, _, b in PAIRS if title in MUST])
def test_safety_is_said_with_must(turned: Ask) -> None:
    assert turned.answer()["strength"] == "must"


def test_the_wait_for_oil_after_sulphur_has_its_date() -> None:
    ask = Ask("2026-04-20", "oil", "wait", [stage("green-tip"), work("sulphur", "2026-04-10"), sky("2026-04-21")],
              **meant())
    assert ask.answer()["window"]["opens"] == "2026-04-24"


def test_the_lacking_look_is_named() -> None:
    intent = {"id": "meant", "date": "2026-05-18", "kind": "intent", "practice": "insecticide", **SPINOSAD["intent"]}
    sward = Ask("2026-05-18", "insecticide", "wait", AT_PETAL_FALL, **SPINOSAD)
    allies = Ask("2026-05-18", "insecticide", "wait", [stage("petal-fall"), ROSY, BARE_FLOOR], **SPINOSAD)
    stages = Ask("2026-05-18", "insecticide", "wait", [ROSY, NO_HOVER_FLIES, BARE_FLOOR], **SPINOSAD)
    for ask, look in ((sward, "sward"), (allies, "ally-count"), (stages, "tree-stage")):
        assert ask.answer()["stance"] == "wait"
        unknowns = advise(ask.file([intent]), on=ask.on)["unknowns"]
        assert any(u["look_at"] == look and u["block"] == "upper" for u in unknowns), look


def test_every_spray_that_may_go_on_asks_for_the_label() -> None:
    for practice in ("copper", "oil", "sulphur", "lime-sulphur", "kaolin", "bicarbonate"):
        answer = Ask("2026-03-20", practice, "do", DORMANT_DRY, **meant()).answer()
        assert answer["stance"] == "do"
        assert any("label's rate" in line for line in answer["how"])
        assert any("label" in line for line in answer["cautions"])


@pytest.mark.parametrize(
    ("first", "second", "bud", "apart", "stance"),
    [
        ("wettable-sulphur", "summer-oil", "half-inch-green", 5, "wait"),
        ("summer-oil", "wettable-sulphur", "half-inch-green", 13, "wait"),
        ("dormant-oil", "lime-sulphur", "half-inch-green", 5, "wait"),
        ("dormant-oil", "lime-sulphur", "dormant", 5, "do"),
        ("wettable-sulphur", "summer-oil", "half-inch-green", 14, "do"),
    ],
)
def test_oil_and_sulphur_that_are_both_meant_keep_their_distance(
    first: str, second: str, bud: str, apart: int, stance: str
) -> None:
    """Yoder 2011: 14 days between oil and sulphur on green tissue."""
    practice = {"wettable-sulphur": "sulphur", "lime-sulphur": "lime-sulphur"}
    file = orchard(observations=[
        {"date": "2026-04-10", "kind": "tree-stage", "stage": bud},
        *({"id": name, "date": "2026-04-10", "kind": "intent", "practice": practice.get(what, "oil"), "material": what,
           "block": "upper", "day": f"2026-04-{day:02}"}
          for name, what, day in (("earlier", first, 11), ("later", second, 11 + apart))),
    ])  # fmt: skip
    kept = "both are meant" in answered(file, "2026-04-10", "later")["summary"]
    assert kept is (stance == "wait")
    assert "both are meant" not in answered(file, "2026-04-10", "earlier")["summary"]
