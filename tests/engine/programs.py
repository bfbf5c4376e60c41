"""Random rules and facts, and the plain evaluator run over all layers, for the engine to be held to."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from advisor.bounds import Resolver
from advisor.conditions import (
    BIND,
    CONSIDERED,
    LAYERS,
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
from advisor.evaluate import Evaluator
from advisor.fact import Fact, Value
from advisor.inference import Inference, considered_facts
from advisor.outcome import Show, outcome, show_plainly
from advisor.rulebook import Rulebook

BLOCKS = ("upper", "lower", 'the "old" one', "Äpfel\\süd")
PARTS = ("trunk", "ring", "alley")
WORDS = ("none", "few", "many", "7", "true")
NUMBERS = (0, 1, 7, 7.0, -3.5, 0.00005, 123456789012, 0.1 + 0.2, 20.5)
FIELDS = {
    "part": Field("text"),
    "word": Field("text"),
    "other": Field("text"),
    "number": Field("number"),
    "second": Field("number"),
    "flag": Field("flag"),
}
CONSIDERED_FIELDS = {
    "id": Field("text"),
    "practice": Field("text"),
    "block": Field("text"),
    "habitat": Field("text"),
    "target": Field("text"),
    "material": Field("text"),
    "made_by": Field("text"),
    "stance": Field("text"),
    "day": Field("number"),
    "intent": Field("text"),
    "word": Field("text"),
}


def make_kinds(rnd: random.Random, count: int, derived: int) -> dict[str, Kind]:
    kinds = {}
    for number in range(count):
        of = ("given", "observed", "computed")[number % 3]
        keys = rnd.choice((("block",), ("block", "part"), (), ("part",)))
        kinds[f"{of}-{number}"] = Kind(f"{of}-{number}", of, keys, {"block": Field("text"), **FIELDS})
    for number in range(derived):
        layer = LAYERS[number % 2]
        kinds[f"{layer}-{number}"] = Kind(
            f"{layer}-{number}", "derived", ("block",), {"block": Field("text"), **FIELDS}, layer
        )
    kinds["intent"] = Kind("intent", "given", ("id", "practice"), CONSIDERED_FIELDS)
    kinds[CONSIDERED] = Kind(CONSIDERED, "given", ("id", "practice"), CONSIDERED_FIELDS)
    return kinds


def make_test(
    rnd: random.Random, name: str, field: Field, bound: dict[str, str], fresh: set[str], negated: bool
) -> Test:
    """One random test; `bound` holds the variables of earlier conditions with their types, `fresh` those of this one."""
    same_type = [variable for variable, of in bound.items() if of == field.type]
    roll = rnd.random()
    if roll < 0.15:
        return Test(name, "known", True)
    if field.type == "text":
        if roll < 0.4 and same_type:
            return Test(name, rnd.choice(("is", "is", "is-not")), Var(rnd.choice(same_type)))
        if roll < 0.55 and not negated:
            variable = f"t{len(bound) + len(fresh)}"
            fresh.add(variable)
            return Test(name, BIND, Var(variable))
        if roll < 0.8:
            return Test(name, rnd.choice(("is", "is-not")), rnd.choice(WORDS))
        return Test(name, "in", tuple(rnd.sample(WORDS, rnd.randint(1, 3))))
    if field.type == "flag":
        return Test(name, rnd.choice(("is", "is-not")), rnd.random() < 0.5)
    if roll < 0.3 and same_type:
        return Test(name, rnd.choice(("at-least", "below", "above", "at-most")), Var(rnd.choice(same_type)))
    if roll < 0.45 and not negated:
        variable = f"n{len(bound) + len(fresh)}"
        fresh.add(variable)
        return Test(name, BIND, Var(variable))
    if roll < 0.6:
        return Test(name, "between", tuple(sorted(rnd.sample(NUMBERS, 2))))
    if roll < 0.7:
        return Test(name, rnd.choice(("is", "is-not")), rnd.choice(NUMBERS))
    return Test(name, rnd.choice(("at-least", "below", "above", "at-most")), rnd.choice(NUMBERS))


def make_condition(rnd: random.Random, kind: Kind, bound: dict[str, str], negated: bool, joined: float) -> Condition:
    tests = []
    fresh: set[str] = set()
    new: dict[str, str] = {}
    if rnd.random() < joined:
        if "b" in bound:
            tests.append(Test("block", "is", Var("b")))
        elif not negated:
            tests.append(Test("block", BIND, Var("b")))
            new["b"] = "text"
    elif rnd.random() < 0.3:
        tests.append(Test("block", rnd.choice(("is", "is-not")), rnd.choice(BLOCKS)))
    names = [name for name in kind.fields if name != "block"]
    for name in rnd.sample(names, rnd.choice((0, 1, 1, 2, 3))):
        before = set(fresh)
        tests.append(make_test(rnd, name, kind.fields[name], bound, fresh, negated))
        new.update(dict.fromkeys(fresh - before, kind.fields[name].type))
    numbers = [test for test in tests if test.op == BIND and new[test.bound.name] == "number"]
    if numbers and rnd.random() < 0.3:  # two numbers of one fact
        other = rnd.choice([name for name, field in kind.fields.items() if field.type == "number"])
        tests.append(Test(other, rnd.choice(("at-least", "below", "above", "at-most")), numbers[0].bound))
    bound.update(new)
    return Condition(kind.name, tuple(tests))


def make_rule(rnd: random.Random, id: str, kinds: dict[str, Kind], layer: str, joined: float) -> Rule:
    depth = LAYERS.index(layer)
    readable = [kind for kind in kinds.values() if kind.layer is None or LAYERS.index(kind.layer) <= depth]
    readable = [kind for kind in readable if kind.name not in (CONSIDERED, "intent")]
    closed = [kind for kind in readable if kind.layer != layer]
    bound: dict[str, str] = {}
    when = []
    positive = rnd.sample(readable, min(len(readable), rnd.choice((1, 2, 2, 3, 4))))
    if layer == "reservations":
        positive.insert(rnd.randrange(len(positive) + 1), kinds[CONSIDERED])
    for kind in positive:
        when.append(make_condition(rnd, kind, bound, False, joined))
    left = [kind for kind in closed if kind not in positive]
    negated = rnd.sample(left, min(len(left), rnd.choice((0, 0, 1, 2))))
    negated += rnd.sample(negated, rnd.choice((0, 0, len(negated))))
    unless = [make_condition(rnd, kind, bound, True, joined) for kind in negated]
    even = frozenset(kind.name for kind in negated if kind.of == "observed" and rnd.random() < 0.3)
    words = [Var(name) for name, of in bound.items() if of == "text"]
    numbers = [Var(name) for name, of in bound.items() if of == "number"]
    output: Derive | Propose | Reserve
    if depth < 2:
        made = rnd.choice([kind for kind in kinds.values() if kind.layer == layer])
        fields = {"block": Var("b") if "b" in bound else "upper"}
        if rnd.random() < 0.6:
            fields["word"] = rnd.choice([*words, *WORDS])
        if rnd.random() < 0.6:
            fields["number"] = rnd.choice([*numbers, *NUMBERS]) if joined < 1 else rnd.choice(NUMBERS)
        output = Derive(made.name, fields)
    elif layer == "proposals":
        output = Propose(
            rnd.choice(("mow", "prune", "spray")),
            rnd.choice(("do", "wait", "avoid", "look")),
            "Do it.",
            block=Var("b") if "b" in bound else None,
            target=rnd.choice([None, *words]),
            opens=rnd.choice([0, *numbers]),
        )
    else:
        output = Reserve(rnd.choice(("hold", "forbid", "caution")), "Not now.")
    return Rule(id, layer, tuple(when), output, tuple(unless), even, "Because.")


def make_rulebook(rnd: random.Random, rules: int, kinds: int = 6, derived: int = 4, joined: float = 0.85) -> Rulebook:
    """joined: the share of conditions that are joined by their block; without joins the firings multiply."""
    known = make_kinds(rnd, kinds, derived)
    made = [make_rule(rnd, f"rule-{number}", known, rnd.choice(LAYERS), joined) for number in range(rules)]
    return Rulebook(tuple(sorted(made, key=lambda rule: LAYERS.index(rule.layer))), known)


def make_fact(rnd: random.Random, kind: Kind, id: str, blocks: tuple[str, ...], lacking: float = 0.25) -> Fact:
    fields: dict[str, str | float | bool] = {}
    for name, field in kind.fields.items():
        if name not in kind.keys and rnd.random() < (lacking if name != "block" else 0.15):
            continue
        if name == "block":
            fields[name] = rnd.choice(blocks)
        elif field.type == "text":
            fields[name] = rnd.choice(PARTS if name == "part" else WORDS)
        else:
            fields[name] = rnd.random() < 0.5 if field.type == "flag" else rnd.choice(NUMBERS)
    if "id" in kind.fields:
        fields["id"] = id
    return Fact(f"{kind.name}:{id}", kind.name, fields)


def make_facts(rnd: random.Random, book: Rulebook, count: int, blocks: tuple[str, ...] = BLOCKS) -> list[Fact]:
    """Facts of every kind that comes from outside, some derived ones too, and intents."""
    kinds = [
        kind for kind in book.kinds.values() if kind.name != CONSIDERED and (kind.of != "derived" or rnd.random() < 0.2)
    ]
    return [make_fact(rnd, rnd.choice(kinds), str(number), blocks) for number in range(count)]


Fired = tuple[str, tuple[str, ...], tuple[str, ...]]


def fired(inference: Inference) -> set[Fired]:
    return {(firing.rule.id, firing.facts, firing.assumed) for firing in inference.firings}


@dataclass
class _Voice:
    """What the plain evaluator speaks with: it has asked already what was taken as not there."""

    resolver: Resolver
    taken: tuple[str, ...]
    show: Show = show_plainly

    def assumed(self, rule: Rule, bindings: Mapping[str, Value]) -> tuple[str, ...]:
        return self.taken


def plainly(book: Rulebook, facts: Iterable[Fact], region: str | None = None) -> tuple[set[Fired], dict[str, Fact]]:
    """What fires by the plain evaluator, layer after layer, and every fact at the end."""
    resolver = book.resolver(region)
    known = {fact.id: fact for fact in facts}
    result: set[Fired] = set()
    firings = []
    for layer in LAYERS:
        if layer == "reservations":
            known.update((fact.id, fact) for fact in considered_facts(firings, list(known.values())))
        new = True
        while new:
            new = False
            evaluator = Evaluator(resolver, list(known.values()))
            for rule in book.layer(layer):
                for match in evaluator.firings(rule):
                    key = (rule.id, match.fact_ids(), match.assumed)
                    if key in result:
                        continue
                    result.add(key)
                    facts_of_match = tuple(fact for fact in match.facts if fact is not None)
                    voice = _Voice(resolver, match.assumed)
                    ids = match.fact_ids()
                    firing = outcome(rule, match.bindings, facts_of_match, ids, voice)
                    firings.append(firing)
                    if isinstance(firing.output, Fact) and firing.output.id not in known:
                        known[firing.output.id] = firing.output
                        new = True
    return result, known
