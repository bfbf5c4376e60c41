"""A rule in plain words, as it stands in its pack: no orchard, no observation, only what it asks and what it then says."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from pathlib import PurePath
from typing import Any

from advisor.advice import default_rules
from advisor.api.pages import saying
from advisor.conditions import SLOT, Case, Condition, Derive, FigureRef, Propose, Reserve, Rule, StageRef, Var
from advisor.ecosystem import knowledge
from advisor.explain.telling import Teller
from advisor.explain.wording import Wording, words_of
from advisor.sentences import in_words

Shown = dict[str, Any]

LAYERS = {
    "signs": "What the looks and numbers amount to",
    "pressures": "What threatens, or is needed",
    "proposals": "What is advised",
    "reservations": "What holds a proposal back",
}
EFFECTS = {"hold": "Hold it", "forbid": "Forbid it", "caution": "Let it pass, with care"}
STRENGTHS = {**saying.STRENGTH_WORDS}


@lru_cache(maxsize=1)
def _say() -> tuple[Wording, Teller]:
    book, known = default_rules(), knowledge()
    resolver = book.resolver(None)
    teller = Teller(resolver, known, "metric")
    return Wording(resolver, known, teller.value), teller


def title(rule: Rule) -> str:
    return saying.sentence(words_of(rule.id))


def pack(rule: Rule) -> str:
    """The subject that the rule stands under."""
    return PurePath(rule.file).stem


def gist(rule: Rule) -> str:
    """The rule in one sentence."""
    output = rule.output
    said = output.summary if isinstance(output, Propose) else output.answer if isinstance(output, Reserve) else ""
    return filled(said or rule.because)


def filled(text: str) -> str:
    """A sentence with its figures filled in; what only a place can fill in stands in brackets."""

    def word(slot: Any) -> str:
        name = slot[1]
        if name in knowledge().figures:
            return figure_value(name)
        return f"[{words_of(name.rpartition('.')[2])}]"

    return SLOT.sub(word, text)


def figure_value(id: str) -> str:
    figure = knowledge().figures[id]
    row = figure.value()
    if isinstance(row.value, str):
        return words_of(row.value)
    if figure.unit.startswith("per "):
        return f"{row.value:g} {figure.unit}"
    return _say()[1].value(row.value, figure.unit)


def rule_page(rule: Rule) -> Shown:
    """What stands on the page of a rule."""
    wording, _ = _say()
    known = knowledge()
    return {
        "id": rule.id,
        "title": title(rule),
        "pack": pack(rule),
        "layer": LAYERS[rule.layer],
        "when": [_condition(one) for one in rule.when],
        "unless": [
            {**_condition(one), "unseen": one.kind in rule.even_if_not_seen} for one in rule.unless
        ],
        "then": _then(rule.output),
        "because": filled(rule.because),
        "evidence": saying.sentence(saying.EVIDENCE_WORDS.get(rule.evidence, rule.evidence)),
        "sources": [(name, wording.source(name)) for name in rule.sources],
        "figures": [_figure(id) for id in rule.figures() if id in known.figures],
        "cases": [_case(one) for one in rule.cases],
        "behind": _neighbours(rule, [one.kind for one in rule.conditions()], derive=True),
        "leads_to": _neighbours(rule, [rule.output.kind], derive=False) if isinstance(rule.output, Derive) else [],
    }  # fmt: skip


def _condition(one: Condition) -> Shown:
    wording, _ = _say()
    kind = default_rules().kinds[one.kind]
    return {"text": saying.sentence(wording.condition(one, {})), "meaning": _in_words(kind.meaning), "unseen": False}


def _in_words(text: str) -> str:
    """A text of the rule books without the marks round names of fields."""
    return re.sub(r"`([^`]+)`", lambda name: f"\u201c{words_of(name[1])}\u201d", text)


def _bound(value: Any, unit: str = "") -> str:
    if isinstance(value, Var):
        return f"[{words_of(value.name)}]"
    if isinstance(value, FigureRef):
        return figure_value(value.id)
    if isinstance(value, StageRef):
        return in_words(value.name)
    return _say()[1].value(value, unit) if value is not None else ""


def _then(output: Derive | Propose | Reserve) -> Shown:
    found = {"practice": None}
    if isinstance(output, Derive):
        said = ", ".join(f"{words_of(name)} {_bound(value)}" for name, value in output.fields.items())
        return found | {
            "head": f"It is taken as known: {words_of(output.kind)}",
            "lines": [said] if said else [],
            "care": [],
        }
    if isinstance(output, Reserve):
        until = f", for {_bound(output.until, 'days')}" if output.until is not None else ""
        unseen = "Where nobody has looked, the proposal waits." if output.unseen == "wait" else ""
        lines = [filled(output.answer), *map(filled, output.how), *([unseen] if unseen else [])]
        head = f"{EFFECTS[output.effect]}{until}. {saying.sentence(STRENGTHS[output.strength])}"
        return found | {"head": head, "lines": lines, "care": [filled(one) for one in output.cautions]}
    practice = _bound(output.practice)
    target = f", for or against {_bound(output.target)}" if output.target is not None else ""
    head = f"{saying.STANCE_WORDS[output.stance]}: {practice}{target}. {saying.sentence(STRENGTHS[output.strength])}"
    lines = [filled(output.summary), _window(output), *map(filled, output.how)]
    if output.trade_off:
        lines.append(filled(output.trade_off))
    practice_id = output.practice if isinstance(output.practice, str) else None
    return {"head": head, "lines": lines, "care": [filled(one) for one in output.cautions], "practice": practice_id}


def _window(output: Propose) -> str:
    opens = "today" if output.opens == 0 else f"in {_bound(output.opens, 'days')}"
    closes = "on, with no end" if output.closes is None else f"to {_bound(output.closes, 'days')} from today"
    return f"From {opens} {closes}."


def _figure(id: str) -> Shown:
    figure = knowledge().figures[id]
    return {"id": id, "what": figure.what, "value": figure_value(id), "regions": len(figure.rows)}


def _case(case: Case) -> Shown:
    said = [
        f"{words_of(kind)}: {', '.join(f'{words_of(name)} {_plain(value)}' for name, value in fields.items())}"
        for kind, fields in case.given
    ]
    return {"name": case.name, "given": said, "fires": case.fires}


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | int):
        return f"{value:g}"
    return words_of(str(value)) if isinstance(value, str) else str(value)


def _neighbours(rule: Rule, kinds: list[str], *, derive: bool) -> list[Shown]:
    """The rules that make what this one reads, or read what it makes."""
    wanted = set(kinds)
    found = []
    for other in default_rules().rules:
        if other.id == rule.id:
            continue
        makes = isinstance(other.output, Derive) and other.output.kind in wanted
        reads = bool(other.kinds_read() & wanted)
        if makes if derive else reads:
            found.append({"id": other.id, "title": title(other), "gist": gist(other)})
    return sorted(found, key=lambda one: one["title"])


def packs() -> list[tuple[str, str, int]]:
    """The subjects with how many rules each holds."""
    counts: dict[str, int] = {}
    for rule in default_rules().rules:
        counts[pack(rule)] = counts.get(pack(rule), 0) + 1
    return [(name, saying.sentence(words_of(name)), counts[name]) for name in sorted(counts)]


def find_rules(word: str = "", of_pack: str = "") -> list[Rule]:
    """The rules of a subject, or those in which every word stands, by layer and title."""
    wanted = in_words(word.lower()).split()
    order = list(LAYERS)
    found = [
        rule
        for rule in default_rules().rules
        if (not of_pack or pack(rule) == of_pack) and all(one in _text(rule.id) for one in wanted)
    ]
    return sorted(found, key=lambda rule: (order.index(rule.layer), rule.id))


def _text(id: str) -> str:
    return _texts()[id]


@lru_cache(maxsize=1)
def _texts() -> Mapping[str, str]:
    """What a search looks through, by rule."""
    found = {}
    for rule in default_rules().rules:
        output = rule.output
        named = []
        if isinstance(output, Propose):
            named = [saying.name_of(one) for one in (output.practice, output.target) if isinstance(one, str)]
        found[rule.id] = in_words(" ".join((rule.id, *rule.texts(), *named)).lower())
    return found


def rules_about(id: str) -> list[Shown]:
    """The rules that name a practice, plant, pest or disease, by title."""
    found = []
    for rule in default_rules().rules:
        output = rule.output
        said = {output.practice, output.target, output.material} if isinstance(output, Propose) else set()
        asked = {bound for one in rule.conditions() for test in one.tests for bound in test.bounds()}
        if id in said or id in asked:
            found.append({"id": rule.id, "title": title(rule), "gist": gist(rule), "says": id in said})
    return sorted(found, key=lambda one: (not one["says"], one["title"]))
