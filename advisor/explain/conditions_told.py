"""A rule with each of its conditions told, those on what other rules derive followed down to what was seen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.advice import Run
from advisor.conditions import PLACES, Derive, Propose, Rule
from advisor.evaluate import ConditionState
from advisor.explain.deriving import fitting
from advisor.explain.fixes import DEEPEST
from advisor.explain.telling import UNKNOWN, Teller
from advisor.fact import Value


def rule_told(
    run: Run, teller: Teller, rule: Rule, bindings: Mapping[str, Value], path: tuple[str, ...] = ()
) -> dict[str, Any]:
    """{id, stance, evidence, sources, conditions}; false conditions first, then unknown ones."""
    conditions = []
    for state in run.inference.evaluator.explain(rule, bindings):
        about = {name: bindings[name] for name in PLACES if name in bindings}
        fact = run.inference.facts.get(state.fact) if state.fact else None
        entries = teller.conditions(state, {**about, **(fact.fields if fact else {})})
        assumed = state.state is None and state.negated and state.condition.kind in rule.even_if_not_seen
        for entry in entries:
            if assumed:
                entry |= {"state": True, "text": f"{entry['text']} (taken as not there, though nobody has looked)"}
            entry["from"] = [] if entry["state"] is True else behind(run, teller, state, (*path, rule.id))
        conditions += entries
    stance = rule.output.stance if isinstance(rule.output, Propose) else None
    return {
        "id": rule.id,
        "stance": stance,
        "evidence": rule.evidence,
        "sources": list(rule.sources),
        "conditions": sorted(conditions, key=lambda one: {False: 0, UNKNOWN: 1, True: 2}[one["state"]]),
    }


def behind(run: Run, teller: Teller, state: ConditionState, path: tuple[str, ...]) -> list[dict[str, Any]]:
    """Of a condition on a derived kind, the rule that comes nearest to deriving it (or derives it), told."""
    if run.rulebook.kinds[state.condition.kind].of != "derived" or len(path) > DEEPEST:
        return []
    options = []
    for rule in run.rulebook.rules:
        if isinstance(rule.output, Derive) and rule.output.kind == state.condition.kind and rule.id not in path:
            bindings = fitting(rule, state.tests, run)
            if bindings is not None:
                states = run.inference.evaluator.explain(rule, bindings)
                false = sum(s.state is False for s in states)
                unknown = sum(s.state is None for s in states)
                options.append(((false, unknown, rule.id), rule, bindings))
    return [
        rule_told(run, teller, rule, bindings, path) for _, rule, bindings in sorted(options, key=lambda o: o[0])[:1]
    ]
