"""A made-up orchard of any size in plain facts, with rules of the usual shape: for measuring, not for growing."""

from __future__ import annotations

import random

from advisor.conditions import (
    BIND,
    LAYERS,
    Bound,
    Condition,
    Derive,
    Field,
    Kind,
    Propose,
    Reserve,
    Rule,
    Test,
    Var,
)
from advisor.fact import Fact, Value
from advisor.rulebook import Rulebook

TEXT, NUMBER, FLAG = Field("text"), Field("number"), Field("flag")
PESTS = [f"pest-{n}" for n in range(30)]
DISEASES = [f"disease-{n}" for n in range(25)]
ALLIES = [f"ally-{n}" for n in range(20)]
PRACTICES = [f"practice-{n}" for n in range(60)]
FRUITS = ["apple", "pear", "plum", "sweet-cherry"]
ABOUT = {"pest": PESTS, "disease": DISEASES, "ally": ALLIES, "practice": PRACTICES}

B = Var("block")
BLOCK = Test("block", "is", B)
OPEN = Test("block", BIND, B)


def kinds() -> dict[str, Kind]:
    def kind(name: str, of: str, keys: tuple[str, ...], layer: str | None = None, **fields: Field) -> Kind:
        return Kind(name, of, keys, {**dict.fromkeys(keys, TEXT), **fields}, layer)

    made = [
        kind("block", "given", ("block",), fruit=TEXT, trees=NUMBER, age=NUMBER, bearing=FLAG, floor=TEXT, site=TEXT),
        kind("stage", "computed", ("block",), fruit=TEXT, bbch=NUMBER, seen=FLAG),
        kind("sward", "observed", ("block",), height=NUMBER, seed_heads=TEXT, cover=NUMBER, in_flower=NUMBER),
        kind("soil", "computed", ("block",), water=NUMBER, crust=FLAG),
        kind("mulch", "observed", ("block",), depth=NUMBER, trunk_gap=NUMBER, material=TEXT),
        kind("pest-count", "observed", ("block", "pest"), count=NUMBER, infested=NUMBER, at=TEXT),
        kind("pest-risk", "computed", ("block", "pest"), heat=NUMBER, share=NUMBER),
        kind("ally-count", "observed", ("block", "ally"), share=NUMBER, abundance=TEXT),
        kind("disease-sign", "observed", ("block", "disease"), share=NUMBER, where=TEXT),
        kind("infection", "computed", ("block", "disease"), hours=NUMBER, severity=TEXT),
        kind("work", "given", ("block", "practice"), days_ago=NUMBER, this_season=FLAG),
        kind("outlook", "computed", (), rain=NUMBER, low=NUMBER, wind=NUMBER),
        kind(
            "considered",
            "given",
            ("id", "practice"),
            block=TEXT,
            habitat=TEXT,
            target=TEXT,
            material=TEXT,
            made_by=TEXT,
            stance=TEXT,
            day=NUMBER,
            intent=TEXT,
        ),
        kind("intent", "given", ("id", "practice"), block=TEXT, habitat=TEXT, target=TEXT, material=TEXT, day=NUMBER),
    ]
    for layer in LAYERS[:2]:
        for number in range(12):
            made.append(kind(f"{layer}-{number}", "derived", ("block",), layer, about=TEXT, level=NUMBER))
    return {kind.name: kind for kind in made}


def facts(blocks: int, rnd: random.Random, reported: float = 0.8) -> list[Fact]:
    """About 200 facts a block: every pest, disease, ally and half of the practices, some of them not looked at."""
    made: list[Fact] = []

    def say(kind: str, *about: str, **fields: Value) -> None:
        made.append(Fact(":".join((kind, *about)), kind, fields))

    say(
        "outlook",
        rain=round(rnd.uniform(0, 20), 1),
        low=round(rnd.uniform(-4, 12), 1),
        wind=round(rnd.uniform(0, 9), 1),
    )
    for number in range(blocks):
        block = f"block-{number}"
        fruit = rnd.choice(FRUITS)
        say(
            "block",
            block,
            block=block,
            fruit=fruit,
            trees=rnd.randint(10, 400),
            age=rnd.randint(1, 40),
            bearing=rnd.random() < 0.8,
            floor=rnd.choice(["meadow", "turf", "bare"]),
            site=rnd.choice(["dry", "moist"]),
        )
        say(
            "stage", block, block=block, fruit=fruit, bbch=rnd.choice([53, 57, 65, 69, 71, 75]), seen=rnd.random() < 0.5
        )
        say("soil", block, block=block, water=round(rnd.uniform(0, 80), 1), crust=rnd.random() < 0.3)
        if rnd.random() < reported:
            say(
                "sward",
                block,
                block=block,
                height=rnd.randint(5, 90),
                seed_heads=rnd.choice(["none", "emerging", "set"]),
                cover=round(rnd.random(), 2),
                in_flower=round(rnd.random(), 2),
            )
            say("mulch", block, block=block, depth=rnd.randint(0, 20), trunk_gap=rnd.randint(0, 40), material="hay")
        for pest in PESTS:
            if rnd.random() < reported:
                say(
                    "pest-count",
                    block,
                    pest,
                    block=block,
                    pest=pest,
                    count=rnd.randint(0, 20),
                    infested=round(rnd.random(), 2),
                    at=rnd.choice(["edge", "inside"]),
                )
            say(
                "pest-risk",
                block,
                pest,
                block=block,
                pest=pest,
                heat=round(rnd.uniform(0, 900), 1),
                share=round(rnd.random(), 3),
            )
        for ally in ALLIES:
            if rnd.random() < reported:
                say(
                    "ally-count",
                    block,
                    ally,
                    block=block,
                    ally=ally,
                    share=round(rnd.random(), 2),
                    abundance=rnd.choice(["none", "few", "many"]),
                )
        for disease in DISEASES:
            if rnd.random() < reported:
                say(
                    "disease-sign",
                    block,
                    disease,
                    block=block,
                    disease=disease,
                    share=round(rnd.random(), 2),
                    where=rnd.choice(["leaf", "fruit", "wood"]),
                )
            say(
                "infection",
                block,
                disease,
                block=block,
                disease=disease,
                hours=rnd.randint(0, 40),
                severity=rnd.choice(["light", "moderate", "severe"]),
            )
        for practice in rnd.sample(PRACTICES, 30):
            say(
                "work",
                block,
                practice,
                block=block,
                practice=practice,
                days_ago=rnd.randint(0, 200),
                this_season=rnd.random() < 0.6,
            )
    return made


def _watched(rnd: random.Random) -> Condition:
    """A condition on one of the big kinds: a named pest, ally, disease or practice, and a threshold."""
    kind, about, field = rnd.choice(
        (
            ("pest-count", "pest", "infested"),
            ("pest-risk", "pest", "share"),
            ("ally-count", "ally", "share"),
            ("disease-sign", "disease", "share"),
            ("infection", "disease", "hours"),
            ("work", "practice", "days_ago"),
        )
    )
    name = rnd.choice(ABOUT[about])
    bound: Bound = (
        rnd.randint(5, 35)
        if field == "hours"
        else rnd.randint(5, 100)
        if field == "days_ago"
        else round(rnd.random(), 2)
    )
    return Condition(kind, (BLOCK, Test(about, "is", name), Test(field, rnd.choice(("at-least", "below")), bound)))


def _situation(rnd: random.Random) -> list[Condition]:
    """The block, and most often its stage or its floor."""
    low = rnd.choice([53, 57, 65, 69])
    first = Condition(
        "block",
        (
            OPEN,
            Test("fruit", "in", tuple(rnd.sample(FRUITS, 2))),
            *((Test("bearing", "is", True),) if rnd.random() < 0.4 else ()),
        ),
    )
    others = [
        Condition("stage", (BLOCK, Test("bbch", "between", (low, low + 6)))),
        Condition("sward", (BLOCK, Test("height", "at-least", rnd.randint(10, 60)))),
        Condition("soil", (BLOCK, Test("water", "below", rnd.randint(10, 70)))),
        Condition("outlook", (Test("rain", "below", rnd.randint(2, 20)),)),
    ]
    return [first, *rnd.sample(others, rnd.choice((1, 1, 2)))]


def rulebook(count: int, rnd: random.Random) -> Rulebook:
    """Rules of all four layers: a fifth signs, a fifth pressures, half proposals, a tenth reservations."""
    known = kinds()
    made = []
    for number in range(count):
        layer = LAYERS[(0, 0, 1, 1, 2, 2, 2, 2, 2, 3)[number % 10]]
        when = _situation(rnd)
        taken = {condition.kind for condition in when}

        def other(taken: set[str] = taken) -> Condition:
            while (condition := _watched(rnd)).kind in taken:
                pass
            taken.add(condition.kind)
            return condition

        output: Derive | Propose | Reserve
        if layer in LAYERS[:2]:
            when.append(other())
            output = Derive(f"{layer}-{rnd.randrange(12)}", {"block": B, "about": rnd.choice(PESTS), "level": 1})
        elif layer == "proposals":
            when.append(other())
            when.append(Condition(f"{rnd.choice(LAYERS[:2])}-{rnd.randrange(12)}", (BLOCK,)))
            output = Propose(rnd.choice(PRACTICES), "do", "Do it in {block}.", block=B, target=rnd.choice(PESTS))
        else:
            when = [
                Condition("considered", (OPEN, Test("practice", "in", tuple(rnd.sample(PRACTICES, 4))))),
                other(taken),
            ]
            output = Reserve("hold", "Not yet in {block}.")
        unless = [other()] if rnd.random() < 0.6 else []
        made.append(Rule(f"rule-{number}", layer, tuple(when), output, tuple(unless), because="Because."))
    return Rulebook(tuple(sorted(made, key=lambda rule: LAYERS.index(rule.layer))), known)
