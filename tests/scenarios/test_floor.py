"""The orchard floor, asked end to end: each situation beside the same one with its deciding fact turned."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import pytest

from advisor import advise
from scenarios.orchards import UPPER, answered, orchard, recommended

Seen = Sequence[Mapping[str, Any]]

PETAL_FALL = {"date": "2026-05-17", "kind": "tree-stage", "block": "upper", "stage": "petal-fall"}
FULL_BLOOM = {"date": "2026-05-08", "kind": "tree-stage", "block": "upper", "stage": "full-bloom"}
NO_NESTS = {"date": "2026-05-17", "kind": "wildlife-sign", "who": "none"}
NESTS = {"date": "2026-05-17", "kind": "wildlife-sign", "who": "ground-nesting-birds"}
DRY = {"date": "2026-05-07", "kind": "soil-water", "feel": "dry"}
LEAF_FALL = {"date": "2026-10-28", "kind": "tree-stage", "block": "upper", "stage": "leaf-fall"}
YOUNG = {**UPPER, "planted": 2024}


def stage(word: str, date: str) -> dict[str, Any]:
    return {"date": date, "kind": "tree-stage", "block": "upper", "stage": word}


def sward(date: str, **fields: Any) -> dict[str, Any]:
    return {"date": date, "kind": "sward", "block": "upper", **fields}


def work(practice: str, date: str) -> dict[str, Any]:
    return {"date": date, "kind": "work", "block": "upper", "practice": practice}


def frost(day: str, low: str, kind: str, on: str) -> dict[str, Any]:
    return {"date": on, "kind": "forecast", "day": day, "low": low, "frost": kind}


@dataclass(frozen=True)
class Pair:
    """An intent on a day: what is seen and the stance that answers it; the same with one thing turned."""

    practice: str
    on: str
    seen: Seen
    stance: str
    turned: Seen
    other: str
    source: str
    block: Mapping[str, Any] = field(default_factory=lambda: UPPER)
    other_block: Mapping[str, Any] | None = None
    about: Mapping[str, Any] = field(default_factory=dict)
    other_about: Mapping[str, Any] | None = None
    intent: Mapping[str, Any] = field(default_factory=dict)
    other_intent: Mapping[str, Any] | None = None


PAIRS = {
    "the ring waits for petal fall": Pair(
        "first-mow", "2026-05-18",
        [PETAL_FALL, sward("2026-05-17", height="45 cm", seed_heads="emerging")], "do",
        [stage("green-tip", "2026-05-17"), sward("2026-05-17", height="45 cm", seed_heads="emerging")], "wait",
        "Bradshaw, University of Vermont; Merwin and Ray 1997: bloom to midsummer is what costs",
    ),
    "in bloom the ring waits a week": Pair(
        "first-mow", "2026-05-18",
        [stage("fruit-set", "2026-05-17"), sward("2026-05-17", height="18 in")], "do",
        [stage("full-bloom", "2026-05-17"), sward("2026-05-17", height="18 in")], "wait",
        "common practice, no source",
    ),
    "a short sward makes no mulch": Pair(
        "first-mow", "2026-05-18",
        [PETAL_FALL, sward("2026-05-17", height="45 cm")], "do",
        [PETAL_FALL, sward("2026-05-17", height="12 cm")], "wait",
        "common practice, no source",
    ),
    "nests found, or looked for and absent": Pair(
        "first-mow", "2026-05-18",
        [PETAL_FALL, sward("2026-05-17", height="45 cm"), NO_NESTS], "do",
        [PETAL_FALL, sward("2026-05-17", height="45 cm"), NESTS], "wait",
        "Garrett Soil Conservation District: no cutting from May to mid August where ground birds nest",
    ),
    "too late for a first cut": Pair(
        "first-mow", "2026-06-10",
        [FULL_BLOOM, stage("june-drop", "2026-06-09"), sward("2026-06-09", height="60 cm")], "do",
        [stage("full-bloom", "2026-03-25"), stage("june-drop", "2026-06-09"), sward("2026-06-09", height="60 cm")],
        "avoid",
        "Bradshaw, University of Vermont: bloom to about mid July",
    ),
    "no mower is owned": Pair(
        "first-mow", "2026-05-18",
        [PETAL_FALL, sward("2026-05-17", height="45 cm")], "do",
        [PETAL_FALL, sward("2026-05-17", height="45 cm")], "wait",
        "common practice, no source",
        about={"tools": ["scythe", "ladder"]}, other_about={"tools": ["ladder", "wheelbarrow"]},
    ),
    "alleys about once a month": Pair(
        "mow-alleys", "2026-06-20",
        [stage("june-drop", "2026-06-15"), sward("2026-06-19", height="35 cm", in_flower=0),
         work("mow-alleys", "2026-05-10")], "do",
        [stage("june-drop", "2026-06-15"), sward("2026-06-19", height="35 cm", in_flower=0),
         work("mow-alleys", "2026-06-15")], "wait",
        "Horton and others 2003: once a month against two or three times",
    ),
    "not all at once from under bees": Pair(
        "mow-alleys", "2026-06-05",
        [stage("fruit-set", "2026-06-01"), sward("2026-06-04", height="35 cm", in_flower=0.02)], "do",
        [stage("fruit-set", "2026-06-01"), sward("2026-06-04", height="35 cm", in_flower=0.4)], "wait",
        "Oeser 2022: alternate mowing in organic orchards",
    ),
    "dandelions under blossom": Pair(
        "mow-alleys", "2026-05-10",
        [stage("full-bloom", "2026-05-08"), sward("2026-05-09", height="25 cm", in_flower=0)], "do",
        [stage("full-bloom", "2026-05-08"), sward("2026-05-09", height="25 cm", in_flower=0.3)], "wait",
        "from memory: evidence that dandelions cost fruit set is mixed",
    ),
    "soft ground waits": Pair(
        "mow-alleys", "2026-06-05",
        [stage("fruit-set", "2026-06-01"), {"date": "2026-06-04", "kind": "soil-water", "bears_mower": True}], "do",
        [stage("fruit-set", "2026-06-01"), {"date": "2026-06-04", "kind": "soil-water", "bears_mower": False}], "wait",
        "common practice, no source",
    ),
    "no shaven lawn": Pair(
        "mow-alleys", "2026-06-05",
        [stage("fruit-set", "2026-06-01")], "do", [stage("fruit-set", "2026-06-01")], "wait",
        "common practice, no source", intent={"height": "4 in"}, other_intent={"height": "1.5 in"},
    ),
    "half the alleys, then two weeks": Pair(
        "mow-every-other-alley", "2026-06-20",
        [stage("june-drop", "2026-06-15"), work("mow-every-other-alley", "2026-05-31")], "do",
        [stage("june-drop", "2026-06-15"), work("mow-every-other-alley", "2026-06-15")], "wait",
        "from memory: the other alleys 2 to 3 weeks later",
    ),
    "the last cut about leaf fall": Pair(
        "autumn-mow", "2026-11-01",
        [LEAF_FALL, sward("2026-10-30", height="30 cm")], "do",
        [LEAF_FALL, sward("2026-10-30", height="30 cm"), {"date": "2026-10-31", "kind": "soil-water",
                                                          "bears_mower": False}], "wait",
        "NIAB: short grass in autumn helps worms; ground that bears: common practice, no source",
    ),
    "the last cut is not made under snow": Pair(
        "autumn-mow", "2026-11-01",
        [LEAF_FALL], "do", [LEAF_FALL, {"date": "2026-10-31", "kind": "snow", "depth": "30 cm"}], "wait",
        "common practice, no source",
    ),
    "all the alleys after a month, whether or not anybody looked for flowers": Pair(
        "mow-alleys", "2026-06-20",
        [stage("june-drop", "2026-06-15"), sward("2026-06-19", height="35 cm"),
         work("mow-alleys", "2026-05-15")], "do",
        [stage("june-drop", "2026-06-15"), sward("2026-06-19", height="35 cm"),
         work("mow-alleys", "2026-05-30")], "wait",
        "Horton and others 2003: once a month against two or three times",
    ),
    "tall grass before snow, though nobody noted a stage": Pair(
        "leave-tall", "2026-11-10",
        [{"date": "2026-11-08", "kind": "vole-sign", "runways": "none"}], "do",
        [{"date": "2026-11-08", "kind": "vole-sign", "runways": "none"}], "avoid",
        "Penn State Extension: voles of last season", other_block={**UPPER, "history": ["voles"]},
    ),
    "clover, but not among young trees with voles": Pair(
        "sow-clover", "2026-04-20",
        [stage("green-tip", "2026-04-18")], "do", [stage("green-tip", "2026-04-18")], "avoid",
        "Granatstein, Davenport and Kirby 2017: late nitrogen and voles are the risks",
        block=YOUNG, other_block={**YOUNG, "history": ["voles"]},
    ),
    "clover feeds fire blight": Pair(
        "sow-clover", "2026-04-20",
        [stage("green-tip", "2026-04-18")], "do", [stage("green-tip", "2026-04-18")], "avoid",
        "Granatstein, Davenport and Kirby 2017; fire blight: common practice, no source",
        other_block={**UPPER, "history": ["fire-blight"]},
    ),
    "a bare strip in spring only, and only for young trees": Pair(
        "keep-strip-bare", "2026-05-09", [FULL_BLOOM], "do", [FULL_BLOOM], "avoid",
        "Merwin and Ray 1997; HortScience 44:168 (2009): bare strips lose humus",
        block=YOUNG, other_block=UPPER,
    ),
    "tall grass in summer unless codling is known": Pair(
        "leave-tall", "2026-07-20", [FULL_BLOOM, sward("2026-07-18", height="50 cm", in_flower=0.1)], "do",
        [FULL_BLOOM, sward("2026-07-18", height="50 cm", in_flower=0.1)], "wait",
        "codling egg predation over short and uncut swards: 66 % against 38 % in July and August",
        other_block={**UPPER, "history": ["codling-moth"]},
    ),
    "tall grass before snow": Pair(
        "leave-tall", "2026-10-30",
        [LEAF_FALL, {"date": "2026-10-29", "kind": "vole-sign", "runways": "none"}], "do",
        [LEAF_FALL, {"date": "2026-10-29", "kind": "vole-sign", "runways": "fresh"}], "avoid",
        "Penn State Extension; University of Vermont 2024",
    ),
    "a ring cleared in autumn": Pair(
        "clear-tree-ring", "2026-10-30", [LEAF_FALL], "do", [LEAF_FALL, work("clear-tree-ring", "2026-10-20")], "wait",
        "University of Vermont 2024: at least 60 cm; interval: common practice, no source",
    ),
    "flowers before an insecticide": Pair(
        "mow-bloom-before-spray", "2026-05-25",
        [stage("fruit-set", "2026-05-23"), sward("2026-05-24", in_flower=0.3)], "do",
        [stage("fruit-set", "2026-05-23"), sward("2026-05-24", in_flower=0)], "avoid",
        "University of Nebraska: mow weeds in bloom before an insecticide",
    ),
    "dry soil before a calm frost": Pair(
        "wet-the-soil", "2026-05-08",
        [FULL_BLOOM, DRY,
         frost("2026-05-10", "-3 degC", "calm", "2026-05-08")], "do",
        [FULL_BLOOM, DRY,
         frost("2026-05-10", "-3 degC", "windy", "2026-05-08")], "avoid",
        "Snyder and Connell 1993; FAO 2005",
    ),
    "moist soil needs no water": Pair(
        "wet-the-soil", "2026-05-08",
        [FULL_BLOOM, DRY], "do",
        [FULL_BLOOM, {"date": "2026-05-07", "kind": "soil-water", "feel": "moist"}], "avoid",
        "common practice, no source",
    ),
    "no tilling before a frost": Pair(
        "cultivate", "2026-05-08",
        [FULL_BLOOM], "do", [FULL_BLOOM, frost("2026-05-10", "-3 degC", "calm", "2026-05-08")], "wait",
        "Michigan State University: freshly cultivated soil is colder than mown sod",
        block=YOUNG,
    ),
    "no deep tilling": Pair(
        "cultivate", "2026-05-09", [FULL_BLOOM], "do", [FULL_BLOOM], "avoid", "common practice, no source",
        block=YOUNG, intent={"depth": "1 in"}, other_intent={"depth": "6 in"},
    ),
    "animals under grown trees, not among young ones": Pair(
        "graze", "2026-11-01", [LEAF_FALL], "do", [LEAF_FALL], "avoid", "common practice, no source", other_block=YOUNG,
    ),
}


def asked(pair: Pair, turned: bool) -> Mapping[str, Any]:
    block = (pair.other_block or pair.block) if turned else pair.block
    about = pair.about if not turned or pair.other_about is None else pair.other_about
    meant = pair.intent if not turned or pair.other_intent is None else pair.other_intent
    intent = {"id": "wish", "date": pair.on, "kind": "intent", "block": "upper", "practice": pair.practice, **meant}
    file = orchard([block], [*(pair.turned if turned else pair.seen), intent], **about)
    return answered(file, pair.on, "wish")


@pytest.mark.parametrize("name", PAIRS)
def test_turning_the_deciding_fact_turns_the_answer(name: str) -> None:
    pair = PAIRS[name]
    first, second = asked(pair, False), asked(pair, True)
    said = (pair.source, first["because"], second["because"])
    assert (first["stance"], second["stance"]) == (pair.stance, pair.other), said
    assert second["because"]
    for answer in (first, second):
        assert 0 < len(answer["summary"]) <= 140
        assert "…" not in answer["summary"]


def test_the_first_cut_is_proposed_in_its_window_with_its_reason() -> None:
    # Bradshaw, University of Vermont; Merwin and Ray 1997
    file = orchard([UPPER], [PETAL_FALL, sward("2026-05-17", height="45 cm", seed_heads="emerging")], tools=["scythe"])
    (cut,) = recommended(file, "2026-05-18", "first-mow")
    assert (cut["stance"], cut["target"]) == ("do", "feeder-roots")
    assert (str(cut["window"]["opens"]), str(cut["window"]["closes"])) == ("2026-05-18", "2026-05-30")
    assert any("45 cm" in reason for reason in cut["because"])
    assert any("30 parts carbon" in line for line in cut["how"])  # headed, whatever the date
    assert all(cut[part] for part in ("hours", "cautions", "gains", "costs"))
    short = orchard([UPPER], [PETAL_FALL, sward("2026-05-17", height="12 cm")], tools=["scythe"])
    assert not recommended(short, "2026-05-18", "first-mow", stance="do")


def test_how_woody_the_cut_is_follows_the_seed_heads_and_not_the_date() -> None:
    # stages of grass: Alberta Agriculture; leafy clippings: Golueke 1972
    said = {}
    for heads in ("none", "ripe"):
        for day in ("2026-05-20", "2026-06-03"):
            file = orchard([UPPER], [stage("petal-fall", day), sward(day, height="45 cm", seed_heads=heads)])
            (cut,) = recommended(file, day, "first-mow", stance="do")
            said[heads, day] = [line for line in cut["how"] if "parts carbon" in line]
    leafy, ripe = said["none", "2026-05-20"], said["ripe", "2026-05-20"]
    assert leafy != ripe
    assert (said["none", "2026-06-03"], said["ripe", "2026-06-03"]) == (leafy, ripe)


def test_bees_in_the_sward_ask_for_half_now_and_half_later() -> None:
    # Oeser 2022
    few = [stage("fruit-set", "2026-06-01"), sward("2026-06-04", height="40 cm", in_flower=0.02)]
    bees = {"date": "2026-06-04", "kind": "bees", "who": "bumble-bee", "at": "sward", "per_tree_minute": 5}
    assert recommended(orchard([UPPER], few), "2026-06-05", "mow-alleys", stance="do")
    full = [stage("fruit-set", "2026-06-01"), sward("2026-06-04", height="40 cm", in_flower=0.35)]
    for seen in (full, [*few, bees]):
        file = orchard([UPPER], seen)
        assert not recommended(file, "2026-06-05", "mow-alleys", stance="do")
        assert recommended(file, "2026-06-05", "mow-every-other-alley", stance="do", target="bumble-bee")


def test_codling_settles_how_tall_the_alleys_stand_in_july() -> None:
    # egg predation 66 % over a short sward, 38 % over an uncut one, July and August
    seen = [FULL_BLOOM, stage("half-grown", "2026-07-18"), sward("2026-07-18", height="50 cm", in_flower=0.1)]
    clean = recommended(orchard([UPPER], seen), "2026-07-20", "leave-tall", stance="do")
    assert "38 %" in clean[0]["trade_off"]
    assert not recommended(orchard([UPPER], seen), "2026-07-20", "mow-alleys", target="codling-moth")
    known = orchard([{**UPPER, "history": ["codling-moth"]}], seen)
    (cut,) = recommended(known, "2026-07-20", "mow-alleys", target="codling-moth")
    assert cut["stance"] == "do"
    assert "66 %" in cut["trade_off"]
    assert not recommended(known, "2026-07-20", "leave-tall", stance="do")


def test_a_calm_frost_wants_the_sward_low_and_a_windy_one_does_not() -> None:
    # FAO 2005; Snyder and Connell 1993; Michigan State University
    def file(kind: str, height: str = "30 cm") -> dict[str, Any]:
        return orchard([UPPER], [FULL_BLOOM, sward("2026-05-07", height=height, in_flower=0.2),
                                 frost("2026-05-09", "-3 degC", kind, "2026-05-08")])

    (cut,) = recommended(file("calm"), "2026-05-08", "mow-alleys")
    assert (cut["stance"], cut["target"]) == ("do", "fruit-set")
    assert not recommended(file("windy"), "2026-05-08", "mow-alleys", stance="do")
    assert not recommended(file("calm", "5 cm"), "2026-05-08", "mow-alleys", stance="do")


def test_the_sward_in_bloom_is_cut_before_an_insecticide_and_not_before_sulphur() -> None:
    # University of Nebraska; Washington State University
    seen = [stage("fruit-set", "2026-05-23"), sward("2026-05-24", height="25 cm", in_flower=0.3)]
    spray = {"id": "spray", "date": "2026-05-25", "kind": "intent", "block": "upper", "day": "2026-05-27"}
    kills = orchard([UPPER], [*seen, {**spray, "practice": "insecticide", "material": "spinosad"}])
    (cut,) = recommended(kills, "2026-05-25", "mow-bloom-before-spray", stance="do")
    assert str(cut["window"]["closes"]) <= "2026-05-27"
    assert cut["strength"] == "strong"
    spares = orchard([UPPER], [*seen, {**spray, "practice": "sulphur", "material": "wettable-sulphur"}])
    assert not recommended(spares, "2026-05-25", "mow-bloom-before-spray", stance="do")


def test_voles_widen_the_ring_and_make_the_last_cut_matter() -> None:
    # University of Vermont 2024; 90 cm where voles are common: from memory
    seen = [LEAF_FALL, sward("2026-10-28", height="30 cm")]
    plain, voles = orchard([UPPER], seen), orchard([{**UPPER, "history": ["voles"]}], seen)
    for practice in ("clear-tree-ring", "autumn-mow"):
        (quiet,) = recommended(plain, "2026-11-01", practice, stance="do")
        (pressed,) = recommended(voles, "2026-11-01", practice, stance="do")
        assert (quiet["strength"], pressed["strength"]) == ("fair", "strong")
    (ring,) = recommended(voles, "2026-11-01", "clear-tree-ring")
    assert "90 cm" in ring["summary"]
    short = orchard([UPPER], [LEAF_FALL, sward("2026-10-28", height="6 cm")])
    assert not recommended(short, "2026-11-01", "autumn-mow")


@pytest.mark.parametrize(
    ("on", "seen", "stance"),
    [
        ("2026-05-09", FULL_BLOOM, "wait"),
        ("2026-07-20", stage("half-grown", "2026-07-18"), "wait"),
        ("2026-11-01", LEAF_FALL, "do"),
    ],
)
def test_the_last_cut_is_for_autumn(on: str, seen: Mapping[str, Any], stance: str) -> None:
    # NIAB: short grass in autumn; the time of it: common practice, no source
    wish = {"id": "wish", "date": on, "kind": "intent", "block": "upper", "practice": "autumn-mow"}
    assert answered(orchard([UPPER], [seen, wish]), on, "wish")["stance"] == stance


def test_the_south_does_the_same_half_a_year_later() -> None:
    # the same published windows, counted from bloom and not from the calendar
    south = {"name": "Southfield", "latitude": -41.3, "longitude": 173.2, "timezone": "Pacific/Auckland"}
    seen = [stage("petal-fall", "2026-10-20"), sward("2026-10-20", height="45 cm")]
    assert recommended(orchard([UPPER], seen, **south), "2026-10-21", "first-mow", stance="do")
    autumn = [stage("leaf-fall", "2026-04-28"), sward("2026-04-28", height="30 cm")]
    assert recommended(orchard([UPPER], autumn, **south), "2026-05-02", "autumn-mow", stance="do")
    strip = {"id": "wish", "date": "2026-02-10", "kind": "intent", "block": "upper", "practice": "keep-strip-bare"}
    assert answered(orchard([YOUNG], [strip], **south), "2026-02-10", "wish")["stance"] == "avoid"


@pytest.mark.parametrize("on", ["2026-08-10", "2026-08-25"])
def test_a_bare_strip_is_not_needed_in_august_even_if_nobody_dated_the_bloom(on: str) -> None:
    # Merwin and Ray 1997; Bradshaw
    strip = {"id": "wish", "date": on, "kind": "intent", "block": "upper", "practice": "keep-strip-bare"}
    assert answered(orchard([YOUNG], [strip]), on, "wish")["stance"] == "avoid"
    assert answered(orchard([YOUNG], [FULL_BLOOM, strip]), on, "wish")["stance"] == "avoid"


def test_what_nobody_looked_at_is_asked_for() -> None:
    # common practice, no source
    wish = {"id": "wish", "date": "2026-10-30", "kind": "intent", "block": "upper", "practice": "leave-tall"}
    answer = advise(orchard([UPPER], [LEAF_FALL, wish]), on="2026-10-30")
    (tall,) = [r for r in answer["recommendations"] if r["answers"] == "wish"]
    assert tall["stance"] == "wait"
    assert any(u["look_at"] == "vole-sign" and "leave-tall" in u["could_change"] for u in answer["unknowns"])
    first = {"id": "wish", "date": "2026-05-18", "kind": "intent", "block": "upper", "practice": "first-mow"}
    unseen = advise(orchard([UPPER], [first]), on="2026-05-18")
    assert next(r for r in unseen["recommendations"] if r["answers"] == "wish")["stance"] == "wait"
    assert any(u["look_at"] == "tree-stage" for u in unseen["unknowns"])


def test_flower_habitat_is_cut_in_part_only() -> None:
    # Garrett Soil Conservation District: no more than 30 % in a year
    strip = {"id": "strip", "kind": "flower-strip", "area": "200 m2"}
    wish = {"id": "wish", "date": "2026-11-01", "kind": "intent", "habitat": "strip", "practice": "autumn-mow"}
    for share, stance in ((0.25, "do"), (0.8, "avoid"), (None, "avoid")):
        meant = wish if share is None else {**wish, "share": share}
        assert answered(orchard([UPPER], [LEAF_FALL, meant], [strip]), "2026-11-01", "wish")["stance"] == stance


def test_young_trees_in_turf_get_a_clear_ring_from_bloom_and_none_once_mulched() -> None:
    # Merwin and Ray 1997
    seen = [PETAL_FALL, sward("2026-05-17", height="15 cm")]
    block = {**YOUNG, "floor": "turf"}
    (ring,) = recommended(orchard([block], seen), "2026-05-18", "clear-tree-ring")
    assert (ring["stance"], ring["target"]) == ("do", "feeder-roots")
    mulched = {**block, "mulch": {"material": "wood-chips", "depth": "8 cm", "trunk_gap": "20 cm"}}
    assert not recommended(orchard([mulched], seen), "2026-05-18", "clear-tree-ring")
    assert not recommended(orchard([{**UPPER, "floor": "turf"}], seen), "2026-05-18", "clear-tree-ring")
