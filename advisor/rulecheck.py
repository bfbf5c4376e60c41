"""Check that rules are sound: what they rest on exists, what they say fits, and every case comes out as it says.

What cannot even be read is refused on loading. What is read can still be wrong, and check_rules names it, each problem
with its file, its line and a sentence that says how to mend it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from advisor.bounds import UnfitFigure, figure_use
from advisor.comparisons import compare
from advisor.conditions import (
    BIND,
    CONSIDERED,
    EVIDENCE,
    Case,
    Condition,
    Derive,
    Kind,
    Propose,
    Rule,
    StageRef,
    Test,
    Var,
)
from advisor.errors import Problem
from advisor.evaluate import Evaluator
from advisor.fact import Fact, Value
from advisor.inference import RuleError, compiled, considered_fields, run
from advisor.outcome import Proposal, Reservation
from advisor.program import OverLimit, Program
from advisor.rule_shapes import nearest
from advisor.rulebook import Rulebook

LONGEST_SUMMARY = 140
# fields whose words are ids of the knowledge, and the kinds of node that they name
NAMED = {
    "practice": ("practice",),
    "pest": ("pest",),
    "disease": ("disease",),
    "ally": ("ally",),
    "plant": ("plant",),
    "material": ("material",),
}
ALWAYS = frozenset({"none"})


def check_rules(rulebook: Rulebook, knowledge: Any = None) -> list[Problem]:
    """Everything that is wrong with the rules, or an empty list.

    knowledge: nodes by key, each with `id` and `kind`, and sources by id; without it, names are not looked up.
    """
    problems = [problem for rule in rulebook.rules for problem in _rule(rule, rulebook, knowledge)]
    problems.extend(_asserted(rulebook))
    problems.extend(_opposed(rulebook))
    if not problems:
        try:
            compiled(rulebook, None)
        except OverLimit as fault:
            problems.append(
                Problem("rules", "", str(fault), "Split the pack, or derive signs that several rules share.")
            )
    return problems


def _rule(rule: Rule, book: Rulebook, knowledge: Any) -> Iterator[Problem]:
    found = [*_evidence(rule, knowledge), *_figures(rule, book), *_bare(rule), *_slots(rule, book.kinds)]
    if not found:
        found = [*_excluded(rule, book), *_window(rule, book), *_limits(rule, book)]
    if knowledge is not None:
        found.extend(_names(rule, knowledge))
    yield from found
    yield from _cases(rule, book, able=not found)


def _problem(rule: Rule, message: str, mend: str, line: int | None = None, value: str | None = None) -> Problem:
    return Problem(rule.file, rule.id, message, mend, line or rule.line, value)


# --- what a rule rests on --------------------------------------------------------------------------------------------


def _evidence(rule: Rule, knowledge: Any) -> Iterator[Problem]:
    if rule.evidence not in EVIDENCE:
        yield _problem(
            rule,
            "the rule does not say what it rests on" if not rule.evidence else "this is no mark of evidence",
            f"Write `evidence:` with one of {', '.join(EVIDENCE)}.",
            value=rule.evidence or None,
        )
    if rule.evidence == "published" and not rule.sources:
        yield _problem(
            rule, "published evidence without a source", "List it under `sources`, or mark the evidence for what it is."
        )
    for source in rule.sources if knowledge is not None else ():
        if source not in knowledge.sources:
            yield _problem(
                rule,
                "nobody knows this source",
                f"Add it to the sources.{nearest(source, knowledge.sources)}",
                value=source,
            )


def _figures(rule: Rule, book: Rulebook) -> Iterator[Problem]:
    for condition in rule.conditions():
        for test in condition.tests:
            field = book.kinds[condition.kind].fields[test.field]
            for id in test.figures():
                yield from _figure(rule, book, id, field.unit, condition.line, numeric=field.type == "number")
    compared = {id for condition in rule.conditions() for test in condition.tests for id in test.figures()}
    for id in rule.figures():
        if id not in compared:
            yield from _figure(rule, book, id, "any", None, numeric=False)


def _figure(rule: Rule, book: Rulebook, id: str, unit: str, line: int | None, numeric: bool) -> Iterator[Problem]:
    if id not in book.figures:
        yield _problem(rule, "nobody knows this figure", f"Add it to the figures.{nearest(id, book.figures)}", line, id)
        return
    try:
        use = figure_use(book.figures, id, None, unit)
    except UnfitFigure as fault:
        yield _problem(
            rule, f"the unit of the figure does not fit: {fault}", "Use a figure in the unit of the field.", line, id
        )
        return
    if numeric and isinstance(use.worth, str):
        yield _problem(rule, "the figure is a word, and the field a number", "Use another figure.", line, id)


def _bare(rule: Rule) -> Iterator[Problem]:
    for condition in rule.conditions():
        for test in condition.tests:
            for bound in test.bounds():
                if isinstance(bound, int | float) and not isinstance(bound, bool) and bound not in (0, 1):
                    yield _problem(
                        rule,
                        f"{condition.kind}.{test.field} is compared with a bare number",
                        "Put it into the figures with its unit and source, and write {figure: id}.",
                        condition.line,
                        f"{bound:g}",
                    )


def _names(rule: Rule, knowledge: Any) -> Iterator[Problem]:
    known: dict[str, set[str]] = {}
    for node in knowledge.nodes.values():
        known.setdefault(node.kind, set()).add(node.id)

    def missing(word: object, kinds: Iterable[str], line: int | None, what: str) -> Iterator[Problem]:
        ids = set().union(*(known.get(kind, set()) for kind in kinds)) | ALWAYS
        if isinstance(word, str) and word not in ids and not word.startswith("other:"):
            yield _problem(
                rule, f"nobody knows this {what}", f"Add it to the knowledge.{nearest(word, sorted(ids))}", line, word
            )

    for condition in rule.conditions():
        for test in condition.tests:
            for bound in test.bounds():
                if test.field in NAMED and test.op in ("is", "is-not", "in"):
                    yield from missing(bound, NAMED[test.field], condition.line, test.field)
    if isinstance(rule.output, Propose):
        yield from missing(rule.output.practice, ("practice",), None, "practice")
        yield from missing(rule.output.target, known, None, "target")
        yield from missing(rule.output.material, ("material",), None, "material")


def _slots(rule: Rule, kinds: Mapping[str, Kind]) -> Iterator[Problem]:
    """Sentences may only speak of what is there whenever the rule fires."""
    sure: set[str] = set(rule.figures())
    for condition in rule.when:
        names = {*kinds[condition.kind].keys, *(test.field for test in condition.tests)}
        sure |= names | {f"{condition.kind}.{name}" for name in names}
        sure |= {test.bound.name for test in condition.tests if test.op == BIND and isinstance(test.bound, Var)}
    for slot in rule.slots():
        if slot not in sure:
            yield _problem(
                rule,
                "a sentence speaks of what the rule does not know",
                f"Bind it or test it (`known: true`) under `when`.{nearest(slot, sure)}",
                value=f"{{{slot}}}",
            )


# --- whether it can ever fire, and whether the engine can hold it ---------------------------------------------------


def _excluded(rule: Rule, book: Rulebook) -> Iterator[Problem]:
    for written in rule.when:
        condition = book.resolver(None).condition(written)
        for name in dict.fromkeys(test.field for test in condition.tests):
            tests = [test for test in condition.tests if test.field == name and not any(test.variables())]
            if not _possible(tests, book.kinds[condition.kind].fields[name].values):
                yield _problem(
                    rule,
                    f"the tests of {condition.kind}.{name} exclude one another",
                    "Keep the one that is meant.",
                    condition.line,
                )


def _window(rule: Rule, book: Rulebook) -> Iterator[Problem]:
    """A window that closes before it opens; one that hangs on facts shows only when it fires."""
    settled = book.resolver(None).settled(rule)
    if not isinstance(settled, Propose):
        return
    opens, closes = settled.opens, settled.closes
    if isinstance(opens, int | float) and isinstance(closes, int | float) and closes < opens:
        yield _problem(
            rule,
            f"the window opens in {opens:g} days and closes in {closes:g}",
            "Let it close on the day it opens, or later.",
        )


def _possible(tests: list[Test], values: Iterable[str]) -> bool:
    """Whether some value passes all the tests: only their own bounds, and points between and beyond, need trying."""
    bounds = [bound for test in tests for bound in test.bounds() if test.op != "known"]
    numbers = sorted(float(bound) for bound in bounds if isinstance(bound, int | float) and not isinstance(bound, bool))
    tries: list[Value] = [*numbers, *((low + high) / 2 for low, high in itertools.pairwise(numbers))]
    if numbers:
        tries += [numbers[0] - 1, numbers[-1] + 1]
    elif any(isinstance(bound, bool) for bound in bounds):
        tries = [True, False]
    else:
        tries = [*(bound for bound in bounds if isinstance(bound, str)), *(list(values) or ["some other word"])]
    return not tests or any(all(compare(test.op, value, test.bound) for test in tests) for value in tries)


def _limits(rule: Rule, book: Rulebook) -> Iterator[Problem]:
    try:
        Program([rule], book.resolver(None)).close()
    except OverLimit as fault:
        yield _problem(rule, str(fault), "Derive a sign from some of its conditions in an earlier layer.")


# --- the rules together ----------------------------------------------------------------------------------------------


def _asserted(book: Rulebook) -> Iterator[Problem]:
    made = {rule.output.kind for rule in book.rules if isinstance(rule.output, Derive)}
    for rule in book.rules:
        for condition in rule.conditions():
            if book.kinds[condition.kind].of == "derived" and condition.kind not in made:
                yield _problem(
                    rule,
                    "no rule asserts this kind",
                    "Write a rule that derives it, or leave the condition out.",
                    condition.line,
                    condition.kind,
                )


def _opposed(book: Rulebook) -> Iterator[Problem]:
    """Two rules that say "do" and "do not" on the same conditions need a reservation on that practice between them."""
    alike: dict[object, list[Rule]] = {}
    for rule in book.layer("proposals"):
        assert isinstance(rule.output, Propose)
        alike.setdefault((_shape(rule), rule.output.practice, rule.output.target), []).append(rule)
    for rules in alike.values():
        for position, rule in enumerate(rules):
            for other in rules[:position]:
                if _opposite(rule, other) and not _reserved(rule, book):
                    yield _problem(
                        rule,
                        f"the rules {other.id} and {rule.id} rest on the same conditions and say the opposite",
                        "Tell their conditions apart, or write a reservation that settles it.",
                    )


def _opposite(rule: Rule, other: Rule) -> bool:
    stances = {rule.output.stance, other.output.stance}  # type: ignore[union-attr]
    return "do" in stances and bool(stances & {"avoid", "wait"})


def _shape(rule: Rule) -> object:
    """The conditions of a rule, with its variables named by their order."""
    names: dict[str, str] = {}

    def test_shape(test: Test) -> tuple[object, ...]:
        bounds = tuple(
            names.setdefault(bound.name, f"v{len(names)}")
            if isinstance(bound, Var)
            else bound.bbch
            if isinstance(bound, StageRef)
            else bound
            for bound in test.bounds()
        )
        return test.field, test.op, repr(bounds)

    def shapes(conditions: Iterable[Condition]) -> frozenset[object]:
        ordered = sorted(conditions, key=lambda condition: condition.kind)
        return frozenset(
            (c.kind, frozenset(test_shape(test) for test in sorted(c.tests, key=lambda test: test.field)))
            for c in ordered
        )

    return shapes(rule.when), shapes(rule.unless)


def _reserved(rule: Rule, book: Rulebook) -> bool:
    """Whether a reservation names the practice and target of a rule: one on the practice alone speaks of other things."""
    assert isinstance(rule.output, Propose)
    wanted = {"practice": rule.output.practice, "target": rule.output.target}
    return any(
        condition.kind == CONSIDERED
        and all(
            any(test.field == name and word in test.bounds() for test in condition.tests)
            for name, word in wanted.items()
            if word is not None
        )
        for reservation in book.layer("reservations")
        for condition in reservation.when
    )


# --- cases -----------------------------------------------------------------------------------------------------------


def _cases(rule: Rule, book: Rulebook, able: bool) -> Iterator[Problem]:
    for fires, word in ((True, "fires"), (False, "does not fire")):
        if not any(case.fires is fires for case in rule.cases):
            yield _problem(
                rule, f"no case in which the rule {word}", f"Add one under `cases`, with `fires: {str(fires).lower()}`."
            )
    if not able:
        return
    alone = book.only([rule])
    for case in rule.cases:
        yield from _case(rule, case, alone)


def _case(rule: Rule, case: Case, alone: Rulebook) -> Iterator[Problem]:
    def wrong(message: str, mend: str, value: str | None = None) -> Problem:
        return _problem(rule, f"case {case.name!r}: {message}", mend, case.line, value)

    try:
        inference = run(alone, facts_of(case, alone.kinds), case.region)
        plain = Evaluator(alone.resolver(case.region), inference.facts.values()).fires(rule)
        outputs = [firing.output for firing in inference.firings]
        fired = bool(outputs)
        if fired != plain:
            yield wrong("the engine and the plain evaluator disagree", "This is a fault of the program: report it.")
        elif fired != case.fires:
            yield wrong(
                f"the rule {'fires' if fired else 'does not fire'}, and the case says otherwise",
                "Mend the rule or the case. " + _nearest_miss(rule, inference.evaluator if not fired else None),
            )
        for firing in inference.firings:
            _ = firing.because
        for output in outputs:
            if isinstance(output, Proposal):
                _ = output.how, output.cautions, output.trade_off
            if isinstance(output, Reservation):
                _ = output.how, output.cautions
            text = (
                output.summary
                if isinstance(output, Proposal)
                else output.answer
                if isinstance(output, Reservation)
                else ""
            )
            if len(text) > LONGEST_SUMMARY:
                yield wrong(
                    f"the sentence has {len(text)} characters; at most {LONGEST_SUMMARY} are shown", "Shorten it.", text
                )
    except RuleError as fault:
        yield wrong(str(fault), "Mend what the rule says.")
    except ValueError as fault:
        yield wrong(str(fault), "Mend the facts of the case.")


def _nearest_miss(rule: Rule, evaluator: Evaluator | None) -> str:
    if evaluator is None:
        return ""
    for state in evaluator.explain(rule):
        if state.state is not True:
            word = "unknown" if state.state is None else "false"
            tests = [
                f"{test.field} is {test.observed!r}, wanted {test.op} {test.expected!r}"
                for test in state.tests
                if (test.state is not True) != state.negated
            ]
            return f"{'unless ' if state.negated else ''}{state.condition.kind} is {word}{': ' if tests else ''}{'; '.join(tests)}."
    return ""


def facts_of(case: Case, kinds: Mapping[str, Kind]) -> list[Fact]:
    """The facts that a case gives, with ids of their own."""
    facts = []
    for number, (kind, given) in enumerate(case.given):
        fields: dict[str, Value] = dict(given)
        if "id" in kinds[kind].keys:
            fields.setdefault("id", f"case-{number}")
        if kind == CONSIDERED:
            fields = considered_fields(fields, str(fields.get("made_by", "proposal")))
        keys = [str(fields[key]) for key in kinds[kind].keys]
        facts.append(Fact(":".join((kind, *keys, str(number))), kind, fields))
    return facts
