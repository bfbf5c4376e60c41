"""Insects in pairs: the situation, and the same with its deciding fact turned, where the answer must turn too."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import pytest

from advisor import advise
from scenarios.asking import SOUTH
from scenarios.orchards import UPPER, orchard
from scenarios.seasons import hours

UK = {"latitude": 52.0, "longitude": -2.0, "timezone": "Europe/London", "guidance": "uk"}
NORTH_WEST = {"latitude": 47.4, "longitude": -120.3, "timezone": "America/Los_Angeles", "guidance": "washington"}
MICHIGAN = {"latitude": 42.9, "longitude": -85.7, "timezone": "America/Detroit", "guidance": "michigan"}


@dataclass
class Case:
    """Something meant on a day, with what was seen and what weather was."""

    on: str
    practice: str
    expected: str
    target: str | None = None
    seen: list[dict[str, Any]] = field(default_factory=list)
    blocks: list[dict[str, Any]] = field(default_factory=lambda: [UPPER])
    weather: list[dict[str, object]] | None = None
    about: dict[str, Any] = field(default_factory=dict)
    intent: dict[str, Any] = field(default_factory=dict)

    def file(self, intent: bool = True) -> dict[str, Any]:
        meant = {"id": "meant", "date": self.on, "kind": "intent", "practice": self.practice, "block": "upper",
                 **({"target": self.target} if self.target else {}), **self.intent}
        seen = [{"date": self.on, "block": "upper", **one} for one in self.seen]
        file = orchard(self.blocks, [*seen, *([meant] if intent else [])], **self.about)
        return {**file, **({"weather": self.weather} if self.weather else {})}

    def answer(self) -> Mapping[str, Any]:
        (one,) = [r for r in advise(self.file(), on=self.on)["recommendations"] if r["answers"] == "meant"]
        return one

    def advised(self, stance: str = "do") -> bool:
        found = advise(self.file(intent=False), on=self.on)["recommendations"]
        return any((r["practice"], r["target"], r["stance"]) == (self.practice, self.target, stance) for r in found)


def stage(word: str, **more: Any) -> dict[str, Any]:
    return {"kind": "tree-stage", "stage": word, **more}


def catch(count: float, date: str, pest: str = "codling-moth", **more: Any) -> dict[str, Any]:
    return {"kind": "pest-count", "pest": pest, "count": count, "per": "trap", "trap": "pheromone", "days": 7,
            "date": date, **more}


def counted(pest: str, **more: Any) -> dict[str, Any]:
    return {"kind": "pest-count", "pest": pest, **more}


def damage(pest: str, **more: Any) -> dict[str, Any]:
    return {"kind": "pest-damage", "pest": pest, **more}


def none_eats(*allies: str) -> list[dict[str, Any]]:
    return [{"kind": "ally-count", "ally": ally, "share": 0.0} for ally in allies]


def block(fruit: str = "apple", **more: Any) -> list[dict[str, Any]]:
    return [{**UPPER, "fruit": fruit, **more}]


GREEN, MITE, CURCULIO = "green-apple-aphid", "european-red-mite", "plum-curculio"
MAGGOT, CHERRY_FLY, BORER = "apple-maggot", "cherry-fruit-fly", "peachtree-borer"

SPARE = {"kind": "sward", "in_flower": 0.0, "height": "10 cm"}  # nothing in the sward that bees visit
APHID_EATERS = none_eats("hover-fly", "lacewing", "lady-beetle", "earwig")
FLIGHT = [stage("petal-fall", date="2026-05-20"), catch(4, "2026-05-20"), catch(6, "2026-05-27")]
WARM = hours("2026-05-01", "2026-06-30", 18.0)  # 8 °C, or 14.4 °F, over the base of the moth each day
BEFORE_HATCH: dict[str, Any] = {"seen": [*FLIGHT, stage("fruit-set")], "weather": WARM}
VIRUS = {"material": "granulosis-virus"}


def at_hatch(*more: dict[str, Any]) -> dict[str, Any]:
    return {"seen": [*FLIGHT, catch(6, "2026-06-04"), catch(5, "2026-06-10"), stage("june-drop", date="2026-06-08"),
                     *more], "weather": WARM}


HATCHED = hours("2026-05-01", "2026-08-31", 18.0)
SPRING_SOUTH = hours("2026-10-20", "2026-12-31", 18.0)
SOUTH_FLIGHT = [stage("petal-fall", date="2026-11-20"), catch(4, "2026-11-20"), catch(6, "2026-11-27"),
                catch(6, "2026-12-04")]

PAIRS = [
    # Michigan State University: 250 °F days after the biofix the first eggs hatch
    pytest.param(
        Case("2026-06-10", "microbial-spray", "do", "codling-moth", **at_hatch(), intent=VIRUS),
        Case("2026-05-28", "microbial-spray", "wait", "codling-moth", **BEFORE_HATCH, intent=VIRUS),
        id="virus at the hatch of codling eggs, not before",
    ),
    # Washington State University, Brunner 2018: two moths or more in each of two weeks running
    pytest.param(
        Case("2026-06-10", "microbial-spray", "do", "codling-moth", **at_hatch(), intent=VIRUS, about=NORTH_WEST),
        Case("2026-06-10", "microbial-spray", "avoid", "codling-moth",
             [*FLIGHT, catch(1, "2026-06-04"), catch(0, "2026-06-10"), stage("june-drop", date="2026-06-08")],
             weather=WARM, intent=VIRUS, about=NORTH_WEST),
        id="virus where the catch is over its figure, not where it is under",
    ),
    # Washington State University (2 moths) against NIAB (5 moths): the guidance chosen decides
    pytest.param(
        Case("2026-06-10", "microbial-spray", "do", "codling-moth",
             [*FLIGHT, catch(3, "2026-06-04"), catch(3, "2026-06-10"), stage("june-drop", date="2026-06-08")],
             weather=WARM, intent=VIRUS, about=NORTH_WEST),
        Case("2026-06-10", "microbial-spray", "avoid", "codling-moth",
             [*FLIGHT, catch(3, "2026-06-04"), catch(3, "2026-06-10"), stage("june-drop", date="2026-06-08")],
             weather=WARM, intent=VIRUS, about=UK),
        id="three moths are many in Washington and few in the UK",
    ),
    # Washington State University, Brunner 2018: one week does not tell yet
    pytest.param(
        Case("2026-06-10", "insecticide", "do", "codling-moth", at_hatch(SPARE)["seen"], weather=WARM, about=NORTH_WEST,
             intent={"material": "spinosad", "at": "20:30"}),
        Case("2026-06-10", "insecticide", "wait", "codling-moth",
             [stage("petal-fall", date="2026-05-20"), catch(5, "2026-06-10"), stage("june-drop", date="2026-06-08"),
              SPARE], weather=hours("2026-01-01", "2026-06-10", 9.5), about=NORTH_WEST,
             intent={"material": "spinosad", "at": "20:30"}),
        id="a single week decides nothing in Washington",
    ),
    # Michigan State University: moths of the second brood from 1,060 °F days, their eggs from 1,250
    pytest.param(
        Case("2026-06-10", "microbial-spray", "do", "codling-moth", **at_hatch(), intent=VIRUS),
        Case("2026-08-05", "microbial-spray", "avoid", "codling-moth",
             [*FLIGHT, catch(4, "2026-07-29"), catch(4, "2026-08-05"), stage("half-grown")], weather=HATCHED,
             intent=VIRUS),
        id="no cover after the hatch is over",
    ),
    # the same heat half a year later, at 41 °S (Michigan State University)
    pytest.param(
        Case("2026-12-10", "microbial-spray", "do", "codling-moth",
             [*SOUTH_FLIGHT, catch(6, "2026-12-10"), stage("june-drop", date="2026-12-08")], weather=SPRING_SOUTH,
             about=SOUTH, intent=VIRUS),
        Case("2026-11-28", "microbial-spray", "wait", "codling-moth", [*SOUTH_FLIGHT, stage("fruit-set")],
             weather=SPRING_SOUTH, about=SOUTH, intent=VIRUS),
        id="codling moth in the south",
    ),
    # University of Missouri 2013 and Purdue University: eggs hatch from tight cluster, half by pink
    pytest.param(
        Case("2026-04-20", "oil", "do", MITE, [stage("half-inch-green"),
             counted(MITE, count=9, per="bud")], intent={"material": "dormant-oil"}),
        Case("2026-05-18", "oil", "avoid", MITE, [stage("petal-fall")], block(history=[MITE]),
             intent={"material": "dormant-oil"}),
        id="oil on mite eggs at half-inch green, not after pink",
    ),
    # Purdue University, oil sprays: half-inch green to tight cluster
    pytest.param(
        Case("2026-04-20", "oil", "do", MITE, [stage("half-inch-green")],
             block(history=[MITE])),
        Case("2026-03-10", "oil", "wait", MITE, [stage("dormant")], block(history=[MITE])),
        id="oil on mite eggs not in deep dormancy",
    ),
    # Purdue University, oil sprays; University of California: under their cover scales are safe until crawlers come
    pytest.param(
        Case("2026-04-20", "oil", "do", "san-jose-scale", [stage("half-inch-green")], block(history=["san-jose-scale"]),
             intent={"material": "dormant-oil"}),
        Case("2026-05-21", "oil", "wait", "san-jose-scale", [stage("petal-fall")], block(history=["san-jose-scale"]),
             weather=hours("2026-02-25", "2026-05-21", 9.0), intent={"material": "summer-oil"}),
        id="oil on scale before bloom, and then not until crawlers are out",
    ),
    # University of Vermont 2008: curculio lays from petal fall until 308 °F days
    pytest.param(
        Case("2026-05-20", "kaolin", "do", CURCULIO, [stage("petal-fall")], block(history=[CURCULIO]),
             weather=hours("2026-05-01", "2026-05-20", 15.0)),
        Case("2026-06-25", "kaolin", "avoid", CURCULIO, [stage("petal-fall", date="2026-05-20"), stage("june-drop")],
             block(history=[CURCULIO]), weather=hours("2026-05-01", "2026-06-25", 17.0)),
        id="kaolin from petal fall until curculio has laid",
    ),
    # NIAB, green apple aphid: under three in ten shoots it is left alone
    pytest.param(
        Case("2026-06-25", "insecticide", "do", GREEN, [stage("half-grown"), counted(GREEN, infested=0.45),
             SPARE, *APHID_EATERS], intent={"material": "neem", "at": "20:30"}),
        Case("2026-06-25", "insecticide", "avoid", GREEN, [stage("half-grown"), SPARE, *APHID_EATERS,
             counted(GREEN, infested=0.1, per="shoot")], intent={"material": "neem", "at": "20:30"}),
        id="few green aphids are left alone",
    ),
    # common practice, no source: two counts of one day that disagree decide nothing
    pytest.param(
        Case("2026-06-25", "insecticide", "do", GREEN, [stage("half-grown"), counted(GREEN, infested=0.45),
             SPARE, *APHID_EATERS], intent={"material": "neem", "at": "20:30"}),
        Case("2026-06-25", "insecticide", "wait", GREEN, [stage("half-grown"), SPARE, *APHID_EATERS,
             counted(GREEN, infested=0.45, per="shoot"), counted(GREEN, infested=0.05, per="shoot")],
             intent={"material": "neem", "at": "20:30"}),
        id="counts at odds are counted again",
    ),
    # NIAB, thresholds for pest assessment: nobody sprays what nobody counted
    pytest.param(
        Case("2026-06-25", "soap", "do", GREEN, [stage("half-grown"), counted(GREEN, infested=0.45), *APHID_EATERS]),
        Case("2026-06-25", "soap", "wait", GREEN, [stage("half-grown"), *APHID_EATERS]),
        id="soap waits for the count",
    ),
    # NIAB, natural enemies of green apple aphid: hover flies and others end most colonies by midsummer
    pytest.param(
        Case("2026-06-25", "soap", "do", GREEN, [stage("half-grown"), counted(GREEN, infested=0.45), *APHID_EATERS]),
        Case("2026-06-25", "soap", "wait", GREEN, [stage("half-grown"), counted(GREEN, infested=0.45),
             {"kind": "ally-count", "ally": "hover-fly", "share": 0.4}]),
        id="soap waits where hover flies are in the colonies",
    ),
    # Agnello and others 1990: 5 flies on a baited sphere
    pytest.param(
        Case("2026-08-01", "insecticide", "do", MAGGOT, [stage("half-grown"), SPARE,
             counted(MAGGOT, count=3, per="trap", trap="baited-red-sphere", date="2026-07-25"),
             counted(MAGGOT, count=3, per="trap", trap="baited-red-sphere")],
             intent={"material": "spinosad", "at": "20:30"}),
        Case("2026-08-01", "insecticide", "avoid", MAGGOT, [stage("half-grown"), SPARE,
             counted(MAGGOT, count=1, per="trap", trap="baited-red-sphere", date="2026-07-25"),
             counted(MAGGOT, count=2, per="trap", trap="baited-red-sphere")],
             intent={"material": "spinosad", "at": "20:30"}),
        id="maggot flies are summed against five on a sphere",
    ),
    # tart cherry study of 2022 and Good Fruit Grower 2018: go by the colour of the fruit, not by the catch
    pytest.param(
        Case("2026-07-01", "insecticide", "do", "spotted-wing-drosophila", [stage("colouring"), SPARE,
             counted("spotted-wing-drosophila", count=9, per="trap")], block("tart-cherry"),
             intent={"material": "spinosad", "at": "20:30"}),
        Case("2026-06-10", "insecticide", "wait", "spotted-wing-drosophila", [stage("half-grown"), SPARE,
             counted("spotted-wing-drosophila", count=9, per="trap")], block("tart-cherry"),
             intent={"material": "spinosad", "at": "20:30"}),
        id="green cherries are safe from drosophila",
    ),
    # Utah State University, greater peachtree borer: gum with frass at the foot of the trunk
    pytest.param(
        Case("2026-09-01", "dig-out-borers", "do", BORER, [damage(BORER, share=0.2, of="trunks",
             sign="gum")], block("peach")),
        Case("2026-09-01", "dig-out-borers", "avoid", BORER, [damage(BORER, share=0.0, of="trunks")],
             block("peach")),
        id="borers are dug out where they are",
    ),
    # common practice, no source
    pytest.param(
        Case("2026-06-01", "bag-fruit", "do", None, [stage("fruit-set")]),
        Case("2026-05-05", "bag-fruit", "wait", None, [stage("pink")]),
        id="fruit is bagged when there is fruit",
    ),
    # common practice, no source: enemies live under the bark in summer
    pytest.param(
        Case("2026-02-10", "scrub-trunks", "do", None, [stage("dormant")]),
        Case("2026-06-25", "scrub-trunks", "wait", None, [stage("half-grown")]),
        id="old bark is scrubbed in winter",
    ),
    # Cornell IPM Publication 215, 1998: up to 5 moving mites a leaf are borne in July
    pytest.param(
        Case("2026-07-15", "oil", "do", MITE, [stage("full-bloom", date="2026-05-08"), stage("half-grown"),
             counted(MITE, count=9, per="leaf"), *none_eats("predatory-mite")],
             intent={"material": "summer-oil"}),
        Case("2026-07-15", "oil", "avoid", MITE, [stage("full-bloom", date="2026-05-08"),
             stage("half-grown"), counted(MITE, count=3, per="leaf"), *none_eats("predatory-mite")],
             intent={"material": "summer-oil"}),
        id="three mites a leaf are borne in July",
    ),
    # Jones and others 1991: western cherry fruit fly from 573 °C days above 5 °C
    pytest.param(
        Case("2026-06-20", "insecticide", "do", CHERRY_FLY, [stage("half-grown"), SPARE,
             counted(CHERRY_FLY, count=4, per="trap")], block("sweet-cherry"),
             weather=hours("2026-02-25", "2026-06-20", lambda day: 2 + day * 0.2),
             intent={"material": "spinosad", "at": "20:30"}),
        Case("2026-05-20", "insecticide", "wait", CHERRY_FLY, [stage("fruit-set"), SPARE], block("sweet-cherry"),
             weather=hours("2026-02-25", "2026-05-20", 8.0), intent={"material": "spinosad", "at": "20:30"}),
        id="cherry flies are met when they fly",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("situation", "turned"), PAIRS)
def test_an_intent_is_answered_by_the_deciding_fact(situation: Case, turned: Case) -> None:
    for case in (situation, turned):
        answer = case.answer()
        assert answer["stance"] == case.expected, (case.on, answer["summary"], answer["because"])


ADVISED = [
    # Brunner 2018, Michigan State University: what is due is advised without being asked
    pytest.param(
        Case("2026-06-10", "microbial-spray", "do", "codling-moth", **at_hatch()),
        Case("2026-06-10", "microbial-spray", "none", "codling-moth",
             [*FLIGHT, catch(0, "2026-06-04"), catch(0, "2026-06-10"), stage("june-drop", date="2026-06-08")],
             weather=WARM),
        id="virus at the hatch",
    ),
    # Washington State University: traps by pink
    pytest.param(
        Case("2026-05-05", "hang-traps", "do", "codling-moth", [stage("pink")], block(history=["codling-moth"])),
        Case("2026-05-05", "hang-traps", "none", "codling-moth", [stage("green-tip")], block(history=["codling-moth"])),
        id="codling traps by pink, and not weeks before",
    ),
    # University of Vermont 2008
    pytest.param(
        Case("2026-05-20", "kaolin", "do", CURCULIO, [stage("petal-fall")], block(history=[CURCULIO])),
        Case("2026-05-05", "kaolin", "none", CURCULIO, [stage("pink")], block(history=[CURCULIO])),
        id="kaolin at petal fall after a curculio year",
    ),
    # NIAB, rosy apple aphid
    pytest.param(
        Case("2026-05-05", "squash-colonies", "do", "rosy-apple-aphid", [stage("pink"),
             counted("rosy-apple-aphid", infested=0.04, per="cluster")]),
        Case("2026-05-05", "squash-colonies", "none", "rosy-apple-aphid", [stage("pink"),
             counted("rosy-apple-aphid", infested=0.0, per="cluster")]),
        id="the first rosy aphids are squashed, and none is absence",
    ),
    # Cornell, apple maggot fact sheet
    pytest.param(
        Case("2026-09-05", "pick-up-drops", "do", MAGGOT, [stage("colouring")], block(history=[MAGGOT])),
        Case("2026-09-05", "pick-up-drops", "none", MAGGOT, [stage("colouring"),
             {"kind": "work", "practice": "pick-up-drops", "date": "2026-09-04"}], block(history=[MAGGOT])),
        id="maggoty drops every few days",
    ),
    # University of California, red mite: dust
    pytest.param(
        Case("2026-07-15", "lay-dust", "do", MITE, [stage("half-grown"),
             counted(MITE, count=3, per="leaf")], weather=hours("2026-06-25", "2026-07-15", 22.0)),
        Case("2026-07-15", "lay-dust", "none", MITE, [stage("half-grown"),
             counted(MITE, count=0, per="leaf")], weather=hours("2026-06-25", "2026-07-15", 22.0)),
        id="dust is damped where mites are",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("situation", "turned"), ADVISED)
def test_what_is_advised_turns_with_the_deciding_fact(situation: Case, turned: Case) -> None:
    assert situation.advised()
    assert not turned.advised()


def test_the_day_of_the_hatch_is_named() -> None:
    """250 °F days at 14.4 a day from the biofix on 20 May are reached on its 18th day (Michigan State University)."""
    answer = Case("2026-05-28", "microbial-spray", "wait", "codling-moth", **BEFORE_HATCH, intent=VIRUS).answer()
    assert answer["window"]["opens"] == "2026-06-06"


def test_a_count_that_nobody_took_is_asked_for() -> None:
    case = Case("2026-06-25", "soap", "wait", GREEN, [stage("half-grown"), *APHID_EATERS])
    wanted = [u for u in advise(case.file(), on=case.on)["unknowns"] if u["about"] == GREEN]
    assert [(u["look_at"], u["block"]) for u in wanted] == [("pest-count", "upper")]
    assert "soap" in wanted[0]["could_change"]


def test_without_weather_no_hatch_is_called_open_or_over() -> None:
    """The catch is over its figure, but nobody knows whether the eggs hatch: the virus waits."""
    known = at_hatch()["seen"]
    answer = Case("2026-06-10", "microbial-spray", "wait", "codling-moth", known, intent=VIRUS).answer()
    assert answer["stance"] == "wait"
    found = advise(Case("2026-06-10", "microbial-spray", "", "codling-moth", known).file(intent=False), on="2026-06-10")
    assert not [r for r in found["recommendations"] if r["practice"] == "microbial-spray" and r["stance"] == "do"]


def test_the_figure_and_its_region_are_named() -> None:
    answer = Case("2026-06-25", "insecticide", "avoid", GREEN,
                  [stage("half-grown"), counted(GREEN, infested=0.1, per="shoot"), SPARE]).answer()
    assert any("30 %" in line for line in answer["because"])
    assert any("green-apple-aphid.shoots-infested" in line for line in answer["workings"])


@pytest.mark.parametrize("on", ["2026-01-15", "2026-11-20"])
def test_nobody_is_sent_to_look_for_insects_out_of_season(on: str) -> None:
    history = ["codling-moth", CURCULIO, MAGGOT, "rosy-apple-aphid", "leafroller", "apple-sawfly"]
    bare = stage("leafless" if on > "2026-06" else "dormant")
    file = Case(on, "scout", "", None, [bare], block(history=history)).file(intent=False)
    looks = [r for r in advise(file, on=on)["recommendations"]
             if r["practice"] in ("scout", "hang-traps") and r["target"] in history]
    assert looks == []
