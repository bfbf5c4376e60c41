"""What would have to be otherwise for a condition to hold, or no longer to hold: plans, or the reason why there is none.

Fixer      finds plans for the rules of one run
Hindrance  why something cannot be brought about by any look: time, weather, fruit, work that is done ...
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from advisor.advice import Run
from advisor.comparisons import passes
from advisor.conditions import BIND, CONSIDERED, PLACES, Derive, Kind, Rule, Test
from advisor.errors import InputError
from advisor.evaluate import ConditionState, TestState
from advisor.explain.deriving import fitting
from advisor.explain.given_places import given_fixes
from advisor.explain.looks import BEHIND, absent, failing, filled_up, plausible, satisfying, there
from advisor.explain.plans import Fix, Plan, all_of, best
from advisor.explain.seasons import OutOfSeason, in_season, season_fixes, stage_fixes
from advisor.explain.telling import Teller, words
from advisor.explain.trial import Trials
from advisor.fact import Fact, Value
from advisor.outcome import Firing
from advisor.sentences import in_words
from advisor.unknowns import lives_on

DEEPEST = 4  # rules behind rules
# Worked out from stage and date: only time makes them otherwise.
TIMED = ("feed-window", "calcium-window", "leaf-sample-window", "harvest-ahead", "ripening", "chill", "pear-chill")
GIVEN = ("block", "tool", "orchard", "guards", "irrigation", "frost-gear", "understory", "history", "habitat",
         "habitat-plant", "cultivar")  # fmt: skip


@dataclass(frozen=True)
class Hindrance:
    """why: past, time, done, held, weather, worked-out, given or fruit. text: the condition in words."""

    why: str
    text: str


@dataclass(frozen=True)
class Ask:
    """A fact of a kind that passes these tests is wanted, or (wanted False) that there be none."""

    kind: Kind
    tests: tuple[TestState, ...]
    fact: Fact | None
    wanted: bool
    state: ConditionState


class Fixer:
    """Plans for the rules of one run. hindrances: what was met that no plan can change."""

    def __init__(self, run: Run, trials: Trials, practice: str) -> None:
        """practice: what is to be brought about, which is never meant on its own account."""
        self.run = run
        self.trials = trials
        self.practice = practice
        self.teller = Teller.of(run)
        self.kinds = run.rulebook.kinds
        self.hindrances: dict[str, Hindrance] = {}
        self.deriving: dict[str, list[Rule]] = {}
        for rule in run.rulebook.rules:
            if isinstance(rule.output, Derive):
                self.deriving.setdefault(rule.output.kind, []).append(rule)
        self._behind: dict[str, list[tuple[Mapping[str, Any], Sequence[Fact]]]] = {}

    # --- rules -----------------------------------------------------------------------------

    def to_fire(self, rule: Rule, bindings: Mapping[str, Value], path: tuple[str, ...] = ()) -> list[Plan]:
        """Plans that make a rule fire for these bindings."""
        parts = []
        for state in self.run.inference.evaluator.explain(rule, bindings):
            if state.state is True:
                continue
            if state.state is None and state.negated and state.condition.kind in rule.even_if_not_seen:
                continue
            options = self.to_hold(self._ask(state, not state.negated), (*path, rule.id))
            if not options:
                return []
            parts.append(options)
        return all_of(parts)

    def to_stop(self, rule: Rule, bindings: Mapping[str, Value], path: tuple[str, ...] = ()) -> list[Plan]:
        """Plans that keep a rule from firing for these bindings: one of its conditions turned."""
        plans: list[Plan] = []
        for state in self.run.inference.evaluator.explain(rule, bindings):
            if state.condition.kind != CONSIDERED and state.state is not False:
                plans += self.to_hold(self._ask(state, state.negated), (*path, rule.id))
        return best(plans)

    def to_stop_all(self, firings: Iterable[Firing], path: tuple[str, ...] = ()) -> list[Plan]:
        """Plans that stop every one of some firings."""
        parts = {}
        for firing in firings:
            said = {name: value for name, value in firing.bindings.items() if isinstance(value, str)}
            plans = parts[firing.rule.id, repr(sorted(said.items()))] = self.to_stop(firing.rule, said, path)
            if not plans and not path:
                self.hindrances.setdefault(firing.rule.id, Hindrance("held", firing.because.rstrip(".")))
        return all_of(list(parts.values()))

    def _ask(self, state: ConditionState, wanted: bool) -> Ask:
        kind = self.kinds[state.condition.kind]
        fact = self.run.inference.facts.get(state.fact) if state.fact else None
        return Ask(kind, state.tests, fact, wanted, state)

    # --- one condition ---------------------------------------------------------------------

    def to_hold(self, ask: Ask, path: tuple[str, ...]) -> list[Plan]:
        """Plans after which there is such a fact, or none."""
        name = ask.kind.name
        if ask.kind.of == "derived":
            found = self._derived(ask, path)
        elif name == "stage":
            found = self._told(ask, stage_fixes(self.run, ask))
        elif name == "season":
            found = self._told(ask, season_fixes(self.run, ask))
        elif name in GIVEN:
            found = self._told(ask, given_fixes(self.run, ask))
        elif name in ("work", "work-with"):
            found = self._work(ask)
        elif name == "intent":
            found = self._intent(ask)
        elif ask.kind.of == "observed":
            found = [plan for fix in self._looks(ask) if (plan := self._when_seen(ask, fix, name))]
        else:
            found = self._worked_out(ask)
        return best(found)

    def _when_seen(self, ask: Ask, fix: Fix, kind: str) -> Plan | None:
        """A look, with the stage that has to come first; None where its time is past, or it can find nothing on that fruit."""
        said = {**fix.fields, **(fix.seen or {})}
        about = said.get("pest") or said.get("disease")
        fruit = next((block.fruit for block in self.run.now.blocks if block.id == said.get("block")), None)
        if fruit is not None and isinstance(about, str) and not lives_on(self.run.now, about, fruit):
            self.hinder(ask, "fruit")
            return None
        try:
            first = in_season(self.run, kind, said.get("block"))
        except OutOfSeason:
            self.hinder(ask, "past")
            return None
        return Plan(tuple(sorted((fix, *first), key=lambda one: one.key)))

    def _told(self, ask: Ask, fixes: Iterable[Fix | str]) -> list[Plan]:
        """Fixes as plans; a word in their place is why there is none."""
        found = []
        for fix in fixes:
            if isinstance(fix, str):
                self.hinder(ask, fix)
            else:
                found.append(Plan((fix,)))
        return found

    def hinder(self, ask: Ask, why: str) -> None:
        if ask.wanted == ask.state.negated:  # met on the way of stopping a rule: no condition of what is wanted
            return
        for told in self.teller.conditions(ask.state, self._about(ask)):
            if told["state"] is not True and (told["field"] == "fruit") == (why == "fruit"):
                self.hindrances.setdefault(told["text"], Hindrance(why, told["text"]))

    def _about(self, ask: Ask) -> dict[str, object]:
        known = {
            t.field: t.expected for t in ask.tests if t.field in (*PLACES, *ask.kind.keys) and t.expected is not None
        }
        return {**(ask.fact.fields if ask.fact else {}), **known}

    # --- looks -----------------------------------------------------------------------------

    def _looks(self, ask: Ask) -> Iterator[Fix]:
        """New observations of an observed kind."""
        keys = self._keys(ask)
        if keys is None:
            return
        here = {name: value for name, value in (ask.fact.fields if ask.fact else {}).items() if name != "days_ago"}
        base = {} if filled_up(ask.kind.name) else here
        asking = [t for t in ask.tests if t.field not in keys and t.field != "days_ago"]
        if any(t.field == "days_ago" and t.op in ("at-least", "above") and ask.wanted for t in ask.tests):
            self.hinder(ask, "time")
            return
        if ask.wanted:
            chosen: list[list[tuple[str, Value]]] = []
            for test in asking:
                known = test.observed if test.state else None
                field = ask.kind.fields[test.field]
                op = "known" if test.op == BIND and test.expected is None else test.op
                values = [known] if known is not None else list(satisfying(op, test.expected, field, test.observed))
                if not values:
                    return
                chosen.append([(test.field, value) for value in values])
            for picked in _choices(chosen):
                fields = {**base, **keys, **dict(picked)} if picked else {**base, **there(ask.kind.name), **keys}
                yield self._look(ask, fields, dict(picked))
            return
        said = [(t.field, value) for t in asking for value in failing(t.op, t.expected, ask.kind.fields[t.field])]
        for name, value in said:
            yield self._look(ask, {**base, **keys, name: value}, {name: value})
        none = absent(ask.kind.name)
        if not said and none:
            yield self._look(ask, {**keys, **none}, none)

    def _look(self, ask: Ask, fields: Mapping[str, Value], changed: Mapping[str, Value]) -> Fix:
        place = fields.get("block") or fields.get("habitat") or "orchard"
        about = ":".join(str(fields[key]) for key in ask.kind.keys if key in fields)
        told = self.teller.about(ask.kind.name, fields)
        texts = [f"{words(n)} {self.teller.value(v, ask.kind.fields[n].unit, n)}{self._instead(ask, n, v)}"
                 for n, v in changed.items()]  # fmt: skip
        return Fix("look", f"{ask.kind.name}:{place}:{about}", self._margin(ask, changed),
                   f"{told}: {', '.join(texts) or 'seen'}", kind=ask.kind, fields=dict(fields),
                   told=self._numbers(ask, changed))  # fmt: skip

    def _instead(self, ask: Ask, name: str, value: Value) -> str:
        was = ask.fact.fields.get(name) if ask.fact else None
        return "" if was in (None, value) else f" instead of {self.teller.value(was, ask.kind.fields[name].unit, name)}"

    def _numbers(self, ask: Ask, changed: Mapping[str, Value]) -> dict[str, Any]:
        """Observed, expected, unit and margin, where one field changes."""
        if len(changed) != 1:
            return {}
        ((name, value),) = changed.items()
        unit = ask.kind.fields[name].unit
        test = next((t for t in ask.tests if t.field == name), None)
        was = ask.fact.fields.get(name) if ask.fact else None
        return {"observed": self.teller.number(was, unit), "expected": self.teller.number(value, unit),
                "unit": self.teller.unit_of(unit),
                "margin": None if test is None or test.margin is None else self.teller.difference(test.margin, unit)}  # fmt: skip

    def _margin(self, ask: Ask, changed: Mapping[str, Value]) -> float:
        """How far off it is: 0 for what nobody has looked at, a share of the bound for numbers, 1 for other words."""
        total = 0.0
        for name, value in changed.items():
            was = ask.fact.fields.get(name) if ask.fact else None
            if was is None or was == value:
                continue
            numbers = isinstance(was, int | float) and isinstance(value, int | float) and not isinstance(value, bool)
            total += abs(float(value) - float(was)) / max(abs(float(value)), abs(float(was)), 1e-9) if numbers else 1.0
        return round(total, 4)

    def _keys(self, ask: Ask) -> dict[str, Value] | None:
        """What the look is about: keys and place, as the condition asks; None where that is open."""
        found: dict[str, Value] = {}
        for test in ask.tests:
            if test.field in (*ask.kind.keys, *PLACES):
                expected = test.expected[0] if isinstance(test.expected, tuple) else test.expected
                value = test.observed if test.observed is not None and test.state else expected
                if not isinstance(value, str | int | float):
                    return None
                found[test.field] = value
        if ask.fact is not None:
            found |= {n: v for n, v in ask.fact.fields.items() if n in (*ask.kind.keys, *PLACES) and n not in found}
        return found

    # --- work and intents ------------------------------------------------------------------

    def _work(self, ask: Ask) -> list[Plan]:
        wait = [t for t in ask.tests if t.field == "days_ago" and t.op in ("below", "at-most")]
        if not ask.wanted:
            if wait and isinstance(wait[0].expected, int | float) and ask.fact is not None:
                left = float(wait[0].expected) - float(ask.fact.fields["days_ago"]) + (wait[0].op == "at-most")
                return [Plan((self.later(max(1, round(left)), "so long after it was done"),))]
            self.hinder(ask, "done")
            return []
        keys = self._keys(ask)
        told = {t.field: t.expected for t in ask.tests if isinstance(t.expected, str) and t.op in ("is", BIND)}
        practice = told.get("practice") or next((t.expected[0] for t in ask.tests if t.field == "practice"
                                                 and isinstance(t.expected, tuple)), None)  # fmt: skip
        later = [t for t in ask.tests if t.field == "days_ago" and t.op in ("at-least", "above", "between")]
        if keys is None or practice is None or later:
            self.hinder(ask, "time" if later else "given")
            return []
        seen = {"kind": "work", **{n: v for n, v in told.items() if n in ("block", "habitat", "material", "target")}}
        place = str(seen.get("block") or seen.get("habitat") or "orchard")
        node = self.run.now.knowledge.node(str(practice), "practice")
        return [Plan((Fix("work", f"work:{place}:{practice}", 1.0, f"{node.name} done first in {place}",
                          seen={**seen, "practice": practice}),))]  # fmt: skip

    def _intent(self, ask: Ask) -> list[Plan]:
        practice = next((t.expected for t in ask.tests if t.field == "practice"), None)
        practice = practice[0] if isinstance(practice, tuple) else practice
        if not ask.wanted or not isinstance(practice, str) or practice == self.practice:
            self.hinder(ask, "given")
            return []
        told = {t.field: t.expected for t in ask.tests if isinstance(t.expected, str)
                and t.field in ("block", "habitat", "material", "target")}  # fmt: skip
        place = told.get("block") or told.get("habitat") or "orchard"
        name = self.run.now.knowledge.node(practice, "practice").name
        return [Plan((Fix("mean", f"intent:{place}:{practice}", 1.0, f"{name} meant in {place}",
                          seen={"kind": "intent", "practice": practice, **told}),))]  # fmt: skip

    def later(self, days: int, why: str) -> Fix:
        """So many days from now."""
        on = self.run.now.on + dt.timedelta(days=days)
        return Fix("wait", "on", 1 + days / 30, f"from {on} on, {why}", place="on", value=on)

    # --- derived and worked out -------------------------------------------------------------

    def _derived(self, ask: Ask, path: tuple[str, ...]) -> list[Plan]:
        if len(path) > DEEPEST:
            return []
        if not ask.wanted:
            if ask.fact is None:
                return []
            firings = {firing.id: firing for firing in self.run.inference.firings}
            behind = [fact for fact in self.run.inference.facts.values() if fact.kind == ask.kind.name
                      and passes(_condition(ask), fact.fields, {}) is not False]  # fmt: skip
            origins = [firings[o] for fact in behind for o in fact.origin if o in firings]
            return self.to_stop_all([f for f in origins if f.rule.id not in path], path) if origins else []
        plans: list[Plan] = []
        for rule in self.deriving.get(ask.kind.name, ()):
            bindings = fitting(rule, ask.tests, self.run)
            if bindings is not None and rule.id not in path:
                plans += self.to_fire(rule, bindings, path)
        return plans

    def _worked_out(self, ask: Ask) -> list[Plan]:
        """Of a kind that is worked out: the looks behind it that make it so, found by working it out again."""
        condition = _condition(ask)
        found = []
        for kind in BEHIND.get(ask.kind.name, ()):
            for seen, facts in self._tried(kind, ask):
                fits = [f for f in facts if f.kind == ask.kind.name and passes(condition, f.fields, {}) is True]
                if bool(fits) == ask.wanted:
                    place = str(seen.get("block") or "orchard")
                    about = (
                        next((str(seen[key]) for key in self.kinds[kind].keys if key in seen), "")
                        if kind in self.kinds
                        else ""
                    )
                    told = {n: v for n, v in seen.items() if n not in ("kind", "block", "day", *PLACES)}
                    text = f"{in_words(kind)} in {place}: {self._listed(told)}"
                    what = "look" if kind != "forecast" else "say"
                    fix = Fix(what, f"{kind}:{place}:{about}", 0.5, text, seen=seen)  # type: ignore[arg-type]
                    found += [plan for plan in (self._when_seen(ask, fix, kind),) if plan]
        if not found:
            timed = ask.kind.name in TIMED
            self.hinder(
                ask,
                "time" if timed else "worked-out" if set(BEHIND.get(ask.kind.name, ())) - {"forecast"} else "weather",
            )
        return found

    def _listed(self, told: Mapping[str, Any]) -> str:
        """What a look finds: starch 5, firmness 75 N."""
        parts = []
        for name, value in told.items():
            if isinstance(value, Mapping):
                parts += [f"{key} {item}" for key, item in value.items()]
            else:
                parts.append(f"{words(name)} {self.teller.written(value)}")
        return ", ".join(parts)

    def _tried(self, kind: str, ask: Ask) -> list[tuple[Mapping[str, Any], Sequence[Fact]]]:
        """Plausible looks of a kind, each with the facts that follow."""
        about = self._about(ask)
        key = f"{kind} {sorted((n, str(v)) for n, v in about.items() if n in ('block', 'pest', 'disease', 'ally', 'cultivar'))}"
        if key not in self._behind:
            self._behind[key] = []
            told = self.run.now.weather
            if kind == "forecast" and told is not None and told.end > self.run.now.now + dt.timedelta(days=1):
                return []  # the hours of tomorrow are forecast: that is no longer for the grower to say
            for finding in plausible(kind):
                seen: dict[str, Any] = {"kind": kind, **{n: v[0] if isinstance(v, tuple) else v for n, v in about.items()
                                                         if n in ("block", *_KEYS.get(kind, ()))}, **finding}  # fmt: skip
                if kind == "forecast":
                    seen.pop("block", None)
                    seen["day"] = (self.run.now.on + dt.timedelta(days=1)).isoformat()
                if any(name not in seen for name in _KEYS.get(kind, ()) if name != "cultivar"):
                    continue
                try:
                    facts = self.trials.facts_with(seen)
                except InputError:
                    continue
                self._behind[key].append((seen, facts))
        return self._behind[key]


# What a look must name, of what a condition is about.
_KEYS = {"pest-count": ("pest",), "pest-damage": ("pest",), "disease-sign": ("disease",), "ally-count": ("ally",),
         "plant-bloom": ("plant",), "fruit-sample": ("cultivar",), "crop-count": ("cultivar",)}  # fmt: skip


def _condition(ask: Ask) -> Any:
    """The condition with its bounds filled in, as far as they are known."""
    tests = tuple(Test(t.field, "is" if t.op == BIND else t.op, t.expected) for t in ask.tests  # type: ignore[arg-type]
                  if t.expected is not None)  # fmt: skip
    return type(ask.state.condition)(ask.kind.name, tests)


def _choices(options: Sequence[Sequence[tuple[str, Value]]]) -> Iterator[list[tuple[str, Value]]]:
    """The first of each, then each other alternative of one field at a time."""
    first = [each[0] for each in options]
    yield first
    for place, each in enumerate(options):
        for other in each[1:]:
            yield [*first[:place], other, *first[place + 1 :]]
