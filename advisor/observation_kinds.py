"""One model for each kind of observation. Inside units throughout; None is unknown, never zero."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, model_validator

from advisor import quantity, stages, words, written_schema
from advisor.given import (
    AllyId,
    AnyAmount,
    Area,
    Count,
    Day,
    DiseaseId,
    Flag,
    Force,
    Given,
    Hours,
    Length,
    Mass,
    MaterialId,
    Number,
    Percent,
    PestId,
    PlantId,
    PracticeId,
    Rain,
    Share,
    SoilWaterDepth,
    Speed,
    TargetId,
    Temperature,
    Text,
    WildlifeId,
    between,
)
from advisor.observation_base import Seen
from advisor.quantity import Amount, Unreadable
from advisor.results import Results


def _stage(given: object) -> str:
    word = re.sub(r"[\s_]+", "-", str(given).strip().lower())
    if word not in stages.NAMES:
        close = words.nearest(word, stages.NAMES)
        offer = f"Did you mean {' or '.join(close)}?" if close else "Write a stage such as petal-fall, or bbch."
        raise Unreadable(f"{str(given)[:40]!r} is not a stage", offer)
    return word


def _code(given: object) -> int:
    value = quantity.read(given, "share") if isinstance(given, bool) else given
    try:
        code = int(re.sub(r"\.0*$", "", str(value).strip()))  # spreadsheets write 65.0
    except ValueError:
        raise Unreadable(f"{str(given)[:40]!r} is not a BBCH code", "Write a number from 0 to 99.") from None
    if not 0 <= code <= 99:
        raise Unreadable(f"{code} is not a BBCH code", "Write a number from 0 to 99.")
    if 20 <= code <= 49:
        raise Unreadable(f"BBCH {code} tells how the shoots grow, not the stage of flower or fruit",
                         "Give the code of flower or fruit (51 to 89), and shoot-growth as its own observation.")
    return code


class TreeStage(Seen):
    """Stage of the trees, by word or BBCH code; `open` is the share of blossom open."""

    one_of = ("stage", "bbch", "open")
    kind: Literal["tree-stage"]
    stage: Annotated[str, BeforeValidator(_stage, written_schema.one_of(stages.NAMES))] | None = None
    bbch: Annotated[int, BeforeValidator(_code, written_schema.code(0, 99, but=range(20, 50)))] | None = None
    open: Share | None = None
    cultivar: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _a_number_is_a_code(cls, data: Any) -> Any:
        written = str(data.get("stage", "")).strip() if isinstance(data, Mapping) else ""
        if re.fullmatch(r"\d+(\.0*)?", written) and data.get("bbch") is None:
            return {**{key: value for key, value in data.items() if key != "stage"}, "bbch": data["stage"]}
        return data

    def code(self, fruit: str | None) -> int | None:
        """The BBCH code on the scale of flower and fruit, for trees of a fruit; None if only `open: 0` is said."""
        if self.bbch is not None:
            return stages.flower_code(self.bbch)
        if self.stage is not None:
            return stages.bbch_of(self.stage, fruit)
        return stages.code_of_open(self.open or 0.0)


class TreeSign(Seen):
    kind: Literal["tree-sign"]
    sign: Literal["wilting", "yellowing", "weak", "sunburn", "broken-limbs", "dead-wood", "early-leaf-loss",
                  "dense-canopy", "hail"]  # fmt: skip
    share: Share | None = None


class Sward(Seen):
    one_of = ("height", "seed_heads", "cover", "in_flower", "dominant")
    kind: Literal["sward"]
    height: Length | None = None
    seed_heads: Literal["none", "emerging", "set", "ripe"] | None = None
    cover: Share | None = None
    in_flower: Share | None = None
    dominant: Literal["grass", "mixed", "broadleaf"] | None = None


class PlantBloom(Seen):
    kind: Literal["plant-bloom"]
    plant: PlantId
    open: Share


class MulchSeen(Seen):
    one_of = ("material", "depth", "trunk_gap", "union_covered")
    kind: Literal["mulch"]
    material: MaterialId | None = None
    depth: Length | None = None
    trunk_gap: Length | None = None
    union_covered: Flag | None = None


class Part(Given):
    """One stuff of a heap; carbon and nitrogen in % of the dry matter, moisture in % of the whole."""

    material: MaterialId
    mass: Mass
    carbon: Percent | None = None
    nitrogen: Percent | None = None
    moisture: Percent | None = None


class Heap(Seen):
    one_of = ("parts", "feel", "smell")
    kind: Literal["heap"]
    parts: tuple[Part, ...] | None = None
    feel: Literal["wet", "moist", "dry"] | None = None
    smell: Literal["none", "ammonia", "rotten"] | None = None
    goal_cn: Number | None = None


class Stems(Seen):
    one_of = ("standing", "height", "first_cut")
    kind: Literal["stems"]
    standing: Share | None = None
    height: Length | None = None
    first_cut: (
        Annotated[int | str, BeforeValidator(lambda given: _year_or_never(given), written_schema.year_or_never())] | None
    ) = None


def _year_or_never(given: object) -> int | str:
    text = str(given).strip().lower()
    if text == "never":
        return text
    text = text.removesuffix(".0")  # a whole number, as spreadsheets and JSON may write it
    if not (text.isdigit() and 1700 <= int(text) <= 2200):
        raise Unreadable(f"{text[:40]!r} is neither a year nor never", "Write the year of the first cut, or never.")
    return int(text)


class LeafFall(Seen):
    one_of = ("fallen", "scab_on_leaves", "reachable", "state")
    kind: Literal["leaf-fall"]
    fallen: Share | None = None
    scab_on_leaves: Share | None = None
    reachable: Share | None = None
    state: Literal["dry", "wet", "matted"] | None = None


class PestCount(Seen):
    one_of = ("count", "infested", "curled", "over", "winged")
    kind: Literal["pest-count"]
    pest: PestId
    count: Number | None = None
    per: Literal["trap", "tap", "leaf", "shoot", "cluster", "fruit", "bud", "twig", "tree", "trunk-trap"] | None = None
    trap: Literal["pheromone", "white-sticky", "red-sphere", "baited-red-sphere", "pyramid", "trunk-band",
                  "tape"] | None = None  # fmt: skip
    days: Number | None = None
    trap_area: Area | None = None
    sample: Count | None = None
    infested: Share | None = None
    curled: Share | None = None
    over: Share | None = None
    level: Number | None = None
    winged: Flag | None = None
    at: Literal["edge", "inside"] | None = None


class PestDamage(Seen):
    one_of = ("share", "of", "fresh", "sign")
    kind: Literal["pest-damage"]
    pest: PestId
    share: Share | None = None
    of: Literal["fruit", "shoots", "leaves", "spurs", "trunks"] | None = None
    fresh: Flag | None = None
    sign: Literal["scar", "entry", "curl", "gum", "frass", "spots"] | None = None
    height: Length | None = None


class AllyCount(Seen):
    one_of = ("count", "share", "abundance")
    kind: Literal["ally-count"]
    ally: AllyId
    count: Number | None = None
    per: Text | None = None
    days: Number | None = None
    sample: Count | None = None
    share: Share | None = None
    abundance: Literal["none", "few", "common", "many"] | None = None


class DiseaseSign(Seen):
    kind: Literal["disease-sign"]
    disease: DiseaseId
    share: Share | None = None
    strikes: Number | None = None
    per_tree: Number | None = None
    where: Literal["leaf", "shoot", "blossom", "fruit", "wood", "bud", "litter", "juniper", "air"] | None = None
    sign: Text | None = None
    height: Length | None = None
    horns: Literal["dry", "swollen", "spent"] | None = None


class Mummies(Seen):
    kind: Literal["mummies"]
    per_tree: Number
    at: Literal["tree", "ground"] | None = None
    of: Literal["rotted-fruit", "thinnings"] | None = None


class FruitSet(Seen):
    one_of = ("fruit_per_cluster", "clusters_with_fruit")
    kind: Literal["fruit-set"]
    fruit_per_cluster: Number | None = None
    clusters_with_fruit: Share | None = None


class CropCount(Seen):
    one_of = ("fruit_per_tree", "girth", "diameter", "fruit_diameter", "spacing", "touching", "limbs")
    kind: Literal["crop-count"]
    fruit_per_tree: Number | None = None
    girth: Length | None = None
    diameter: Length | None = None
    cultivar: Text | None = None
    fruit_diameter: Length | None = None
    spacing: Length | None = None
    touching: Share | None = None
    limbs: Literal["upright", "bending", "breaking"] | None = None


class BudKill(Seen):
    one_of = ("dead", "live_per_lateral")
    kind: Literal["bud-kill"]
    dead: Share | None = None
    sample: Count | None = None
    live_per_lateral: Number | None = None
    wanted_per_lateral: Number | None = None


class ShootGrowth(Seen):
    one_of = ("length", "terminal_set")
    kind: Literal["shoot-growth"]
    length: Length | None = None
    terminal_set: Flag | None = None


class LeafTest(Seen):
    kind: Literal["leaf-test"]
    results: Results
    cultivar: Text | None = None


class SoilTest(Seen):
    kind: Literal["soil-test"]
    results: Results
    cultivar: Text | None = None


class FruitSample(Seen):
    one_of = ("starch", "firmness", "soluble_solids", "ground_colour", "blush", "parts_when_lifted")
    kind: Literal["fruit-sample"]
    cultivar: Text | None = None
    starch: Annotated[float, between(1, 8)] | None = None
    firmness: Force | None = None
    soluble_solids: Percent | None = None
    ground_colour: Literal["green", "light-green", "yellow"] | None = None
    blush: Share | None = None
    parts_when_lifted: Flag | None = None
    fruit: Count | None = None


class Bees(Seen):
    kind: Literal["bees"]
    per_tree_minute: Number
    who: Literal["honey-bee", "bumble-bee", "mason-bee", "wild"] | None = None
    at: Literal["tree", "sward"] | None = None


class VoleSign(Seen):
    one_of = ("runways", "slices_eaten", "gnawing", "drops_chewed")
    kind: Literal["vole-sign"]
    runways: Literal["none", "old", "fresh"] | None = None
    slices_eaten: Share | None = None
    gnawing: Flag | None = None
    drops_chewed: Flag | None = None


class WildlifeSign(Seen):
    kind: Literal["wildlife-sign"]
    who: WildlifeId


class Snow(Seen):
    kind: Literal["snow"]
    depth: Length


class SoilWater(Seen):
    one_of = ("depletion", "feel", "crust", "bears_mower")
    kind: Literal["soil-water"]
    depletion: SoilWaterDepth | None = None
    feel: Literal["wet", "moist", "dry", "cracked"] | None = None
    crust: Flag | None = None
    bears_mower: Flag | None = None


class Work(Seen):
    kind: Literal["work"]
    practice: PracticeId
    hours: Hours | None = None
    amount: AnyAmount | None = None
    area: Area | None = None
    material: MaterialId | None = None
    content: Share | None = None
    target: TargetId | None = None
    by: Text | None = None


class ForecastSeen(Seen):
    one_of = ("low", "high", "rain", "snow", "wind", "dew_point", "humidity", "sky", "frost")
    kind: Literal["forecast"]
    day: Day | None = None
    low: Temperature | None = None
    high: Temperature | None = None
    rain: Rain | None = None
    snow: Length | None = None
    wind: Speed | None = None
    dew_point: Temperature | None = None
    humidity: Percent | None = None
    sky: Literal["clear", "overcast"] | None = None
    hours_at_low: Hours | None = None
    frost: Literal["calm", "windy"] | None = None

    @model_validator(mode="after")
    def _low_below_high(self) -> ForecastSeen:
        if self.low is not None and self.high is not None and self.low > self.high:
            raise Unreadable(f"the low ({self.low:g} °C) lies above the high ({self.high:g} °C)",
                             "Check whether they are exchanged, and their units.")
        return self


def _rate(given: object) -> str | Amount:
    if isinstance(given, str) and given.strip().lower() in ("label", "half", "dormant"):
        return given.strip().lower()
    try:
        return quantity.amount(given)
    except Unreadable as fault:
        raise Unreadable(fault.message, f"Write label, half, dormant, or a quantity. {fault.mend}") from None


def _time(given: object) -> str:
    try:
        return f"{dt.time.fromisoformat(str(given).strip().zfill(5)):%H:%M}"
    except ValueError:
        raise Unreadable(f"{str(given)[:40]!r} is not a time of day", "Write it as 06:30.") from None


class Intent(Seen):
    """Something the grower means to do; advice must judge it."""

    kind: Literal["intent"]
    practice: PracticeId
    day: Day | None = None
    at: Annotated[str, BeforeValidator(_time, written_schema.clock())] | None = None
    material: MaterialId | None = None
    target: TargetId | None = None
    amount: AnyAmount | None = None
    rate: Annotated[str | Amount, BeforeValidator(_rate, written_schema.rate())] | None = None
    with_: Annotated[tuple[MaterialId, ...] | None, Field(alias="with")] = None
    nitrogen: AnyAmount | None = None
    depth: Length | None = None
    height: Length | None = None
    share: Share | None = None
    count: Count | None = None
    degree: Literal["light", "hard"] | None = None
    cuts: Literal["thinning", "heading"] | None = None
    thickness: Length | None = None  # of the thickest branch that is chipped
    plants: tuple[PlantId, ...] | None = None  # what the chips are cut from
    fresh: Flag | None = None  # used within days of chipping
    until: Day | None = None
    in_: Annotated[Literal["cold-store", "cellar", "controlled"] | None, Field(alias="in")] = None
    when: Text | None = None
