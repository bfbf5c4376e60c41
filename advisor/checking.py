"""Check everything that advice rests on: the knowledge, the rules, their cases, and what no rule reads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from advisor import ecosystem
from advisor.advice import default_rules, rules_by
from advisor.conditions import Derive, Propose, Reserve, Var
from advisor.ecosystem import Ally, Disease, Knowledge, Pest, Practice
from advisor.errors import Problem
from advisor.rulebook import Rulebook
from advisor.rulecheck import check_rules


@dataclass(frozen=True)
class Report:
    """What was checked, what is wrong, and what no rule reads (which is no fault, but worth knowing)."""

    problems: tuple[Problem, ...]
    counts: dict[str, int]
    unread: dict[str, tuple[str, ...]]
    overrides: tuple[str, ...]

    def as_data(self) -> dict[str, Any]:
        return {
            "problems": [str(problem) for problem in self.problems],
            "counts": self.counts,
            "no_rule_reads": {kind: list(names) for kind, names in self.unread.items()},
            "overrides": list(self.overrides),
        }

    def as_text(self) -> str:
        lines = [", ".join(f"{number} {name}" for name, number in self.counts.items()) + "."]
        for kind, names in self.unread.items():
            if names:
                lines.append(f"No rule reads {len(names)} {kind}: {', '.join(names)}.")
        lines += [f"Overridden: {line}" for line in self.overrides]
        lines.append(f"{len(self.problems)} problems." if self.problems else "All sound.")
        return "\n".join(lines)


def load_own(rules: Sequence[Path], knowledge: Sequence[Path]) -> tuple[Rulebook | None, Knowledge | None]:
    """The grower's own packs over the program's; None, None where there are none (the cached ones serve)."""
    if not rules and not knowledge:
        return None, None
    known = ecosystem.load_knowledge(ecosystem.shipped_folder(), *knowledge) if knowledge else ecosystem.knowledge()
    return rules_by(known, *rules), known


def check_all(rules: Sequence[Path], knowledge: Sequence[Path]) -> Report:
    """Check the program's own rules and knowledge, with the grower's over them."""
    book, known = load_own(rules, knowledge)
    if book is None or known is None:
        book, known = default_rules(), ecosystem.knowledge()
    problems = (*ecosystem.check(known), *check_rules(book, known), *uncovered(book, known))
    counts = {
        "rules": len(book.rules),
        "cases": sum(len(rule.cases) for rule in book.rules),
        "nodes": len(known.nodes),
        "links": len(known.links),
        "figures": len(known.figures),
        "sources": len(known.sources),
    }
    overrides = tuple(str(o) for o in (*book.overrides, *known.overrides))
    return Report(problems, counts, unread(book, known), overrides)


# Every practice has a rule that proposes it and one that holds it, but for these.
NEVER_PROPOSED = {
    "biology-spray": "no source shows that it earns its work; judged where somebody means it",
    "insecticide": "what kills all comes last, and only where the grower means it",
    "lime-sulphur": "sulphur and copper serve with less harm; judged where somebody means it",
    "plant-trees": "a grower's own decision",
}
NEVER_HELD = {
    "call-helpers": "hands do no harm",
    "chill-fruit": "what must not be chilled is held by its fruit, with storing",
    "count-buds": "a look does no harm",
    "fence-out-deer": "a fence does no harm to trees at any time",
    "frost-watch": "a look does no harm",
    "lay-dust": "damp lanes do no harm",
    "scout": "a look does no harm",
    "spare-allies": "sparing does no harm",
    "stake-trees": "a stake does no harm",
}


def uncovered(book: Rulebook, known: Knowledge) -> list[Problem]:
    """Practices that no rule proposes, or that no rule holds, and that are not excepted by name."""
    proposed: set[str] = set()
    held: set[str] = set()
    for rule in book.rules:
        if isinstance(rule.output, Propose) and not isinstance(rule.output.practice, Var):
            proposed.add(str(rule.output.practice))
            if rule.output.stance in ("wait", "avoid"):
                held.add(str(rule.output.practice))
        elif isinstance(rule.output, Reserve) and rule.output.effect in ("hold", "forbid"):
            held |= rule.practices_considered()
    problems = []
    own = ecosystem.knowledge().of_kind(Practice)  # a grower may add a practice before its rules
    for practice in sorted(id for id in known.of_kind(Practice) if id in own):
        for done, excepted, word in ((proposed, NEVER_PROPOSED, "proposes"), (held, NEVER_HELD, "holds or forbids")):
            if practice not in done and practice not in excepted:
                problems.append(
                    Problem("rules", practice, f"no rule {word} {practice}", "Write one, with a case that fires.")
                )
    return problems


def unread(book: Rulebook, known: Knowledge) -> dict[str, tuple[str, ...]]:
    """Practices, pests, diseases and allies that no rule names (a rule that binds any of them names none)."""
    words: set[str] = set()
    for rule in book.rules:
        for condition in (*rule.when, *rule.unless):
            for test in condition.tests:
                words |= {bound for bound in test.bounds() if isinstance(bound, str)}
        if isinstance(rule.output, Propose):
            words |= {str(word) for word in (rule.output.practice, rule.output.target) if isinstance(word, str)}
        elif isinstance(rule.output, Derive):
            words |= {str(value) for value in rule.output.fields.values() if isinstance(value, str)}
    named: dict[str, set[str]] = {
        "practices": set(known.of_kind(Practice)),
        "pests": set(known.of_kind(Pest)),
        "diseases": set(known.of_kind(Disease)),
        "allies": set(known.of_kind(Ally)),
    }
    return {kind: tuple(sorted(ids - words)) for kind, ids in named.items()}
