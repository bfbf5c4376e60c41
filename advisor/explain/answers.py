"""What a look may find: a few answers each, from the bounds that rules test and from what such looks usually find."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from advisor.advice import Run
from advisor.conditions import PLACES, Condition, Kind, Propose, Rule, Test, Var
from advisor.explain.looks import absent, failing, filled_up, plausible, record, satisfying
from advisor.explain.seasons import CODES
from advisor.fact import Fact, Value
from advisor.season import can_stand_at, orchard_year
from advisor.unknowns import can_find

MOST_ANSWERS = 4  # tried for one look
STAGES_TRIED = (0, 57, 65, 71, 87)  # where nobody has said what stage trees are at
NEAR = 0.2  # an observation within this share of a bound may fall on the other side of it


@dataclass(frozen=True)
class Look:
    """A look that could be taken. about: the pest, disease, plant ...; fact: what is known of it now."""

    kind: str
    about: str | None
    block: str | None
    habitat: str | None
    fact: Fact | None = None


class Answers:
    """The answers to looks, for the rules of one run."""

    def __init__(self, run: Run) -> None:
        self.run = run
        self.kinds = run.rulebook.kinds
        self.year = orchard_year(run.now.on, run.now.latitude)

    @cached_property
    def asked(self) -> Mapping[str, list[Condition]]:
        """Every condition of the rules by the kind it reads, with plain bounds.

        First those of rules that are undecided, and of these the ones that propose something, the most urgent first.
        """
        undecided = {one.rule.id for one in self.run.inference.undecided}

        def order(rule: Rule) -> tuple[bool, bool, float, str]:
            urgency = getattr(rule.output, "urgency", 0.0)
            known = float(urgency) if isinstance(urgency, int | float) else 0.5
            return rule.id not in undecided, not isinstance(rule.output, Propose), -known, rule.id

        found: dict[str, list[Condition]] = {}
        resolver = self.run.rulebook.resolver(self.run.now.region)
        for rule in sorted(self.run.rulebook.rules, key=order):
            for condition in rule.conditions():
                if self.kinds[condition.kind].of == "observed":
                    found.setdefault(condition.kind, []).append(resolver.condition(condition))
        return found

    def of(self, look: Look, near: tuple[str, float] | None = None) -> list[dict[str, Any]]:
        """Observations that a look may come to; none where there is nothing to find at this stage.

        near: a field and the bound that it is near to: the other side of the bound is tried first.
        """
        if look.kind == "tree-stage":
            return self._stages(look)
        possible = look.habitat is not None or can_find(self.run.now, look.kind, look.about, look.block)
        if look.kind not in self.kinds or not possible:
            return []
        found: dict[str, dict[str, Any]] = {}
        for fields in (self._across(look, *near) if near else {}, *self._fields(look)):
            if fields:
                said = record(self.kinds[look.kind], {**self._base(look), **fields}, self.year)
                if said is not None and set(said) - {"kind", *PLACES, *self.kinds[look.kind].keys}:
                    found.setdefault(repr(sorted(said.items(), key=str)), said)
        for finding in plausible(look.kind):
            said = {"kind": look.kind, **self._keys(look), **finding}
            found.setdefault(repr(sorted(said.items(), key=str)), said)
        return list(found.values())[:MOST_ANSWERS]

    def _across(self, look: Look, name: str, bound: float) -> dict[str, Value]:
        """A field on the other side of a bound."""
        assert look.fact is not None
        op = "at-least" if float(look.fact.fields[name]) < bound else "below"
        (other,) = satisfying(op, bound, self.kinds[look.kind].fields[name], None)
        return {name: other}

    def _stages(self, look: Look) -> list[dict[str, Any]]:
        stage = self.run.now.stages.get(look.block or "")
        if stage is None or stage.bbch is None:
            now, fruit = self.run.now, {one.id: one.fruit for one in self.run.now.blocks}.get(look.block or "", "")
            codes = [code for code in STAGES_TRIED if can_stand_at(code, fruit, now.on, now.latitude)]
        else:
            later = [code for code in CODES if code > stage.bbch and code % 10 in (0, 5, 9)]
            codes = [stage.bbch, *later[:2]]
        return [{"kind": "tree-stage", "block": look.block, "bbch": code} for code in codes]

    def _keys(self, look: Look) -> dict[str, Value]:
        kind = self.kinds[look.kind]
        named = {kind.keys[0]: look.about} if kind.keys and look.about else {}
        place = look.block or (None if look.habitat else self._only_block(look))
        return {name: value for name, value in (*named.items(), ("block", place), ("habitat", look.habitat)) if value}

    def _only_block(self, look: Look) -> str | None:
        """Where a look at the whole orchard is tried, if not every block can have what it is about: the first that can."""
        fit = [block.id for block in self.run.now.blocks if can_find(self.run.now, look.kind, look.about, block.id)]
        return fit[0] if 0 < len(fit) < len(self.run.now.blocks) else None

    def _base(self, look: Look) -> dict[str, Value]:
        """What a new look keeps of what is known: keys and place, and other fields where they are not filled up."""
        known = dict(look.fact.fields) if look.fact and not filled_up(look.kind) else {}
        return {**known, **self._keys(look)}

    def _fields(self, look: Look) -> Iterator[dict[str, Value]]:
        """Fields to set: what conditions on such a look want, nothing found, and what fails their tests."""
        kind = self.kinds[look.kind]
        wanted = [dict(self._wanted(condition, kind, look)) for condition in self.asked.get(look.kind, ())
                  if self._concerns(condition, kind, look)]  # fmt: skip
        yield from wanted[:1]
        yield dict(absent(look.kind))
        yield from wanted[1:]
        for condition in self.asked.get(look.kind, ()) if not absent(look.kind) else ():
            if self._concerns(condition, kind, look):
                for test in self._testing(condition, kind):
                    yield from (
                        {test.field: value} for value in failing(test.op, test.bound, kind.fields[test.field])[:1]
                    )

    def _concerns(self, condition: Condition, kind: Kind, look: Look) -> bool:
        """Whether a condition may be about what is looked at: its place, and its pest, disease or plant."""
        for test in condition.tests:
            if test.field in PLACES and not getattr(look, test.field) and (look.block or look.habitat):
                return False
            if kind.keys and test.field == kind.keys[0] and not isinstance(test.bound, Var):
                values = test.bound if isinstance(test.bound, tuple) else (test.bound,)
                if look.about is not None and look.about not in values:
                    return False
        return True

    def _testing(self, condition: Condition, kind: Kind) -> list[Test]:
        about = (*kind.keys, *PLACES, "days_ago")
        return [t for t in condition.tests if t.field not in about and not list(t.variables()) and t.op != "bind"]

    def _wanted(self, condition: Condition, kind: Kind, look: Look) -> Iterator[tuple[str, Value]]:
        for test in self._testing(condition, kind):
            now = look.fact.fields.get(test.field) if look.fact else None
            for value in satisfying(test.op, test.bound, kind.fields[test.field], now)[:1]:
                yield test.field, value

    # --- near a bound ----------------------------------------------------------------------

    def near(self) -> Iterator[tuple[Look, str, Value, float]]:
        """Observations near a bound that rules test: the look, the field, its value and the bound."""
        for fact in self.run.inference.facts.values():
            kind = self.kinds[fact.kind]
            if kind.of != "observed":
                continue
            about = str(fact.fields[kind.keys[0]]) if kind.keys and kind.keys[0] in fact.fields else None
            block, habitat = (str(fact.fields[name]) if name in fact.fields else None for name in PLACES)
            look = Look(fact.kind, about, block, habitat, fact)
            for name, value in sorted(fact.fields.items()):
                if isinstance(value, str | bool) or name == "days_ago":
                    continue
                bounds = sorted(self._bounds(look, kind, name), key=lambda bound: abs(bound - float(value)))
                if bounds and 0 < abs(bounds[0] - float(value)) <= NEAR * max(abs(bounds[0]), abs(float(value))):
                    yield look, name, value, bounds[0]

    def _bounds(self, look: Look, kind: Kind, name: str) -> Iterator[float]:
        for condition in self.asked.get(look.kind, ()) if not absent(look.kind) else ():
            if self._concerns(condition, kind, look):
                for test in self._testing(condition, kind):
                    values = test.bound if isinstance(test.bound, tuple) else (test.bound,)
                    if test.field == name:
                        yield from (float(v) for v in values if isinstance(v, int | float) and not isinstance(v, bool))
