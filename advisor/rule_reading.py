"""Read one rule of a pack into the typed tree, naming the line of everything that cannot be read."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any

from advisor.conditions import (
    BIND,
    COMPARING,
    CONSIDERED,
    EFFECTS,
    LAYERS,
    OPERATORS,
    STANCES,
    STRENGTHS,
    Bound,
    Bounds,
    Case,
    Condition,
    Derive,
    Field,
    FigureRef,
    Kind,
    Propose,
    Reserve,
    Rule,
    StageRef,
    Test,
    Var,
    output_bounds,
)
from advisor.errors import Problem
from advisor.fact import Value
from advisor.reading import Document, Place, written

Stages = Callable[[str, str | None], float | None]

RULE_KEYS = (
    "id",
    "layer",
    "when",
    "unless",
    "even-if-not-seen",
    "derive",
    "propose",
    "reserve",
    "because",
    "evidence",
    "sources",
    "cases",
    "note",
)
PROPOSE_KEYS = (
    "practice",
    "stance",
    "target",
    "place",
    "habitat",
    "material",
    "window",
    "urgency",
    "summary",
    "how",
    "cautions",
    "amount",
    "hours",
    "strength",
    "trade_off",
)
RESERVE_KEYS = ("effect", "until", "strength", "unseen", "answer", "how", "cautions")
CASE_KEYS = ("name", "given", "fires", "region")
OUTPUT_OF_LAYER = {"signs": "derive", "pressures": "derive", "proposals": "propose", "reservations": "reserve"}
_VARIABLE = re.compile(r"\$[a-z][a-z0-9_]*")


class Unreadable(Exception):
    """A problem was noted; what it stands in cannot be read."""


def nearest(word: str, known: Iterable[str]) -> str:
    """ "Did you mean ...?" with the nearest known word, or nothing."""
    close = difflib.get_close_matches(word, list(known), 1)
    return f" Did you mean {close[0]}?" if close else ""


class RuleReader:
    """Reads the rules of one document; `problems` collects what is wrong."""

    def __init__(self, document: Document, kinds: Mapping[str, Kind], stages: Stages, problems: list[Problem]) -> None:
        self.document = document
        self.kinds = kinds
        self.stages = stages
        self.problems = problems

    def refuse(self, place: Place, message: str, mend: str, value: object = None) -> Unreadable:
        found = None if value is None else str(value)[:80]
        self.problems.append(
            Problem(self.document.file, written(place), message, mend, self.document.line(place), found)
        )
        return Unreadable()

    # --- plain shapes ----------------------------------------------------------------------------------------------

    def mapping(
        self, data: Any, place: Place, keys: Collection[str] | None = None, needed: Collection[str] = ()
    ) -> dict[str, Any]:
        if not isinstance(data, dict):
            raise self.refuse(place, "this must be a list of names and values", "Write `name: value` lines.", data)
        if keys is not None:
            for key in data:
                if key not in keys:
                    raise self.refuse(
                        (*place, key),
                        f"{key!r} is not known here",
                        f"Use one of: {', '.join(keys)}.{nearest(key, keys)}",
                    )
        for key in needed:
            if data.get(key) is None:
                raise self.refuse(place, f"{key!r} is missing", f"Add `{key}: ...`.")
        return data

    def text(self, data: Any, place: Place) -> str:
        if not isinstance(data, str) or not data.strip():
            raise self.refuse(
                place, "this must be words", "Write a word or a sentence, in quotes if it holds a colon.", data
            )
        return " ".join(data.split())

    def texts(self, data: Any, place: Place) -> tuple[str, ...]:
        if data is None:
            return ()
        if isinstance(data, str):
            return (self.text(data, place),)
        if not isinstance(data, list):
            raise self.refuse(place, "this must be a list of sentences", "Write `- ...` lines.", data)
        return tuple(self.text(item, (*place, position)) for position, item in enumerate(data))

    def one_of(self, data: Any, place: Place, words: Collection[str]) -> str:
        if data not in words:
            raise self.refuse(
                place, f"this must be one of {', '.join(words)}", "Use one of them." + nearest(str(data), words), data
            )
        return str(data)

    # --- a rule ----------------------------------------------------------------------------------------------------

    def rule(self, data: Any, place: Place) -> Rule | None:
        """The rule, or None if something in it cannot be read."""
        before = len(self.problems)
        try:
            rule = self._rule(data, place)
        except Unreadable:
            return None
        return rule if len(self.problems) == before else None

    def _rule(self, data: Any, place: Place) -> Rule:
        data = self.mapping(data, place, RULE_KEYS, ("id", "layer", "when", "because"))
        layer = self.one_of(data["layer"], (*place, "layer"), LAYERS)
        says = OUTPUT_OF_LAYER[layer]
        if says not in data or sum(key in data for key in ("derive", "propose", "reserve")) > 1:
            raise self.refuse(
                place,
                f"a rule of the layer {layer} says what it does under `{says}`, and nothing else",
                f"Write one `{says}:`.",
            )
        bound: set[str] = set()
        when = self.conditions(data["when"], (*place, "when"), bound, False)
        unless = self.conditions(data.get("unless", []), (*place, "unless"), bound, True)
        if not when:
            raise self.refuse((*place, "when"), "a rule needs at least one condition", "Say when it holds.")
        self._joins(layer, when, unless, place)
        output = self._output(says, data[says], (*place, says))
        self._bound_only(output, bound, (*place, says))
        if isinstance(output, Derive) and self.kinds[output.kind].layer != layer:
            raise self.refuse(
                (*place, says),
                f"{output.kind} is asserted in the layer {self.kinds[output.kind].layer}, not in {layer}",
                "Move the rule or the kind to the other layer.",
            )
        even = data.get("even-if-not-seen") or []
        seen = {condition.kind for condition in unless if self.kinds[condition.kind].of == "observed"}
        if not isinstance(even, list) or not set(map(str, even)) <= seen:
            raise self.refuse(
                (*place, "even-if-not-seen"),
                "this lists observed kinds that stand under `unless`",
                f"Possible here: {', '.join(sorted(seen)) or 'none'}.",
                even,
            )
        return Rule(
            id=self.text(data["id"], (*place, "id")),
            layer=layer,
            when=when,
            output=output,
            unless=unless,
            even_if_not_seen=frozenset(map(str, even)),
            because=self.text(data["because"], (*place, "because")),
            evidence=str(data.get("evidence") or ""),
            sources=self.texts(data.get("sources"), (*place, "sources")),
            cases=self.cases(data.get("cases") or [], (*place, "cases")),
            file=self.document.file,
            line=self.document.line(place),
        )

    def _joins(self, layer: str, when: tuple[Condition, ...], unless: tuple[Condition, ...], place: Place) -> None:
        positive = [condition.kind for condition in when]
        for position, kind in enumerate(positive):
            self._readable(layer, kind, (*place, "when", position))
            if kind in positive[:position]:
                raise self.refuse(
                    (*place, "when", position),
                    f"{kind} stands twice under `when`; one fact fills only one condition",
                    "Derive a kind of its own for one of the two in an earlier layer, and read that.",
                )
        if layer == "reservations" and CONSIDERED not in positive:
            raise self.refuse(
                (*place, "when"),
                f"a reservation is about something {CONSIDERED}",
                f"Add `- {CONSIDERED}: {{practice: ...}}` under `when`.",
            )
        for position, condition in enumerate(unless):
            here = (*place, "unless", position)
            read = self.kinds[condition.kind]
            self._readable(layer, condition.kind, here)
            if condition.kind in positive:
                raise self.refuse(
                    here,
                    f"{condition.kind} stands under `when` and under `unless`",
                    "Derive a kind of its own for one of the two in an earlier layer, and read that.",
                )
            if read.of == "derived" and read.layer == layer:
                raise self.refuse(
                    here,
                    f"{condition.kind} is still being derived in the layer {layer}, so `unless` cannot read it",
                    "Move this rule to a later layer, or the kind to an earlier one.",
                )

    def _readable(self, layer: str, kind: str, place: Place) -> None:
        made_in = self.kinds[kind].layer
        late = made_in is not None and LAYERS.index(made_in) > LAYERS.index(layer)
        if late or (kind == CONSIDERED and layer != "reservations"):
            raise self.refuse(place, f"{kind} is not there yet in the layer {layer}", "Move the rule to a later layer.")

    # --- conditions ------------------------------------------------------------------------------------------------

    def conditions(self, data: Any, place: Place, bound: set[str], negated: bool) -> tuple[Condition, ...]:
        if not isinstance(data, list):
            raise self.refuse(place, "this must be a list of conditions", "Write `- kind: {field: test}` lines.", data)
        result = []
        for position, item in enumerate(data):
            here: Place = (*place, position)
            item = self.mapping(item, here)
            if len(item) != 1:
                raise self.refuse(here, "each condition names one kind", "Write one `- kind: {field: test}` for each.")
            ((name, tests),) = item.items()
            kind = self.kinds.get(name)
            if kind is None:
                raise self.refuse(
                    (*here, name), f"{name!r} is no kind of fact", f"See kinds.yaml.{nearest(name, self.kinds)}"
                )
            tests = self.mapping({} if tests is None else tests, (*here, name), None)
            fruit = tests.get("fruit") if isinstance(tests.get("fruit"), str) else None
            newly: set[str] = set()
            read: list[Test] = []
            for field, test in tests.items():
                spot = (*here, name, field)
                if field not in kind.fields:
                    raise self.refuse(
                        spot,
                        f"{name} has no field {field!r}",
                        f"It has: {', '.join(kind.fields)}.{nearest(field, kind.fields)}",
                    )
                read.extend(self.tests(field, kind.fields[field], test, spot, bound, newly, negated, fruit))
            bound |= newly
            result.append(Condition(name, tuple(read), self.document.line((*here, name))))
        return tuple(result)

    def tests(
        self,
        name: str,
        field: Field,
        data: Any,
        place: Place,
        bound: set[str],
        newly: set[str],
        negated: bool,
        fruit: str | None,
    ) -> list[Test]:
        """The tests of one field: a plain value, or one or more operators."""
        given = data if isinstance(data, dict) and "figure" not in data else {"is": data}
        if not given:
            raise self.refuse(place, "no test stands here", f"Use one of: {', '.join(OPERATORS)}.")
        result = []
        for op, value in given.items():
            self.one_of(op, (*place, op), OPERATORS)
            result.append(self.test(name, field, op, value, place, bound, newly, negated, fruit))
        return result

    def test(
        self,
        name: str,
        field: Field,
        op: str,
        value: Any,
        place: Place,
        bound: set[str],
        newly: set[str],
        negated: bool,
        fruit: str | None,
    ) -> Test:
        if op == "known":
            if value is not True:
                raise self.refuse(place, "only `known: true` can be asked", "Leave the test out.", value)
            return Test(name, "known", True)
        if op in COMPARING and field.type != "number":
            raise self.refuse(place, f"`{op}` compares numbers, and {name} is {field.type}", "Use `is` or `in`.")
        if op in ("in", "between"):
            if not isinstance(value, list) or not value or (op == "between" and len(value) != 2):
                raise self.refuse(
                    place,
                    f"`{op}` takes a list of {'two ends' if op == 'between' else 'values'}",
                    "Write it in brackets: [a, b].",
                    value,
                )
            bounds: Bounds = tuple(self.bound(field, item, place, fruit) for item in value)
            if op == "in" and any(isinstance(bound, Var) for bound in bounds):  # type: ignore[union-attr]
                raise self.refuse(place, "`in` lists plain values", "Use `field: $name` for a variable.", value)
        else:
            bounds = self.bound(field, value, place, fruit)
        test = Test(name, op, bounds)
        for variable in test.variables():
            if variable in newly:
                raise self.refuse(
                    place, f"${variable} is bound in this same condition", "Bind it in an earlier condition."
                )
            if variable in bound:
                if op in ("is", "is-not") and field.type != "text":
                    raise self.refuse(
                        place,
                        "only words are joined; numbers serve as bounds",
                        "Use at-least, below or between.",
                        f"${variable}",
                    )
            elif op == "is" and not negated:
                newly.add(variable)
                return Test(name, BIND, bounds)
            else:
                raise self.refuse(
                    place, f"${variable} is not bound", "Bind it under `when`, in an earlier condition: `field: $name`."
                )
        return test

    def bound(self, field: Field, value: Any, place: Place, fruit: str | None) -> Bound:
        if isinstance(value, dict):
            figure = self.mapping(value, place, ("figure",), ("figure",))["figure"]
            return FigureRef(self.text(figure, place))
        if isinstance(value, str) and value.startswith("$"):
            return self.variable(value, place)
        if isinstance(value, str) and field.type == "number" and field.unit == "bbch":
            code = self.stages(value, fruit)
            if code is None:
                raise self.refuse(
                    place, f"{value!r} is no growth stage", "Use a stage name such as petal-fall, or a figure.", value
                )
            return StageRef(value, code)
        return self.literal(field, value, place)

    def literal(self, field: Field, value: Any, place: Place) -> Value:
        fits = {
            "text": isinstance(value, str),
            "flag": isinstance(value, bool),
            "number": isinstance(value, int | float) and not isinstance(value, bool),
        }[field.type]
        if not fits:
            raise self.refuse(
                place,
                f"this field holds {'true or false' if field.type == 'flag' else 'a ' + field.type}",
                "Write a value of that sort.",
                value,
            )
        if field.values and value not in field.values:
            raise self.refuse(
                place,
                f"this field holds {', '.join(field.values)}",
                "Use one of them." + nearest(str(value), field.values),
                value,
            )
        return value  # type: ignore[no-any-return]

    def variable(self, value: str, place: Place) -> Var:
        if not _VARIABLE.fullmatch(value):
            raise self.refuse(place, "a variable is $ and a lower-case word", "Write it like $block.", value)
        return Var(value[1:])

    # --- what a rule says ------------------------------------------------------------------------------------------

    def free(self, value: Any, place: Place) -> Bound:
        """A value of what a rule says: a word, number, flag, `$variable` or figure."""
        if isinstance(value, dict):
            return FigureRef(self.text(self.mapping(value, place, ("figure",), ("figure",))["figure"], place))
        if isinstance(value, str) and value.startswith("$"):
            return self.variable(value, place)
        if isinstance(value, str | int | float):
            return value
        raise self.refuse(place, "this must be a word, a number, a $variable or a figure", "Write one of these.", value)

    def maybe(self, data: Mapping[str, Any], key: str, place: Place) -> Bound | None:
        return None if data.get(key) is None else self.free(data[key], (*place, key))

    def _output(self, says: str, data: Any, place: Place) -> Derive | Propose | Reserve:
        if says == "derive":
            return self._derive(data, place)
        return self._propose(data, place) if says == "propose" else self._reserve(data, place)

    def _derive(self, data: Any, place: Place) -> Derive:
        data = self.mapping(data, place)
        if len(data) != 1:
            raise self.refuse(place, "a rule derives one fact", "Name one kind; write another rule for another.")
        ((name, fields),) = data.items()
        kind = self.kinds.get(name)
        if kind is None or kind.of != "derived":
            derived = [name for name, kind in self.kinds.items() if kind.of == "derived"]
            raise self.refuse(
                (*place, name),
                f"{name!r} is no derived kind",
                f"Declare it in kinds.yaml, class derived.{nearest(name, derived)}",
            )
        fields = self.mapping(fields or {}, (*place, name), kind.fields, kind.keys)
        values: dict[str, Bound] = {}
        for field, value in fields.items():
            here = (*place, name, field)
            read = self.free(value, here)
            values[field] = read if isinstance(read, Var | FigureRef) else self.literal(kind.fields[field], read, here)
        return Derive(name, values)

    def _propose(self, data: Any, place: Place) -> Propose:
        data = self.mapping(data, place, PROPOSE_KEYS, ("practice", "stance", "summary"))
        window = self.mapping(data.get("window") or {}, (*place, "window"), ("opens", "closes"))
        amount = data.get("amount")
        if amount is not None:
            amount = self.mapping(amount, (*place, "amount"), ("value", "unit"), ("value", "unit"))
        hours = data.get("hours")
        if hours is not None:
            hours = self.text(
                self.mapping(hours, (*place, "hours"), ("rate",), ("rate",))["rate"], (*place, "hours", "rate")
            )
        opens, closes = (self.maybe(window, key, (*place, "window")) for key in ("opens", "closes"))
        urgency = self.maybe(data, "urgency", place)
        if isinstance(urgency, int | float) and not 0 <= urgency <= 1:
            raise self.refuse((*place, "urgency"), "urgency lies between 0 and 1", "Write a share.", urgency)
        return Propose(
            practice=self.free(data["practice"], (*place, "practice")),
            stance=self.one_of(data["stance"], (*place, "stance"), STANCES),
            summary=self.text(data["summary"], (*place, "summary")),
            target=self.maybe(data, "target", place),
            block=self.maybe(data, "place", place),
            habitat=self.maybe(data, "habitat", place),
            material=self.maybe(data, "material", place),
            opens=0 if opens is None else opens,
            closes=closes,
            urgency=0.5 if urgency is None else urgency,
            how=self.texts(data.get("how"), (*place, "how")),
            cautions=self.texts(data.get("cautions"), (*place, "cautions")),
            amount=None
            if amount is None
            else (
                self.free(amount["value"], (*place, "amount", "value")),
                self.text(amount["unit"], (*place, "amount", "unit")),
            ),
            hours=hours,
            strength=self.one_of(data.get("strength") or "fair", (*place, "strength"), STRENGTHS),
            trade_off=None if data.get("trade_off") is None else self.text(data["trade_off"], (*place, "trade_off")),
        )

    def _reserve(self, data: Any, place: Place) -> Reserve:
        data = self.mapping(data, place, RESERVE_KEYS, ("effect", "answer"))
        until = data.get("until")
        if isinstance(until, dict) and "days" in until:
            until = self.mapping(until, (*place, "until"), ("days",))["days"]
        strength = self.one_of(data.get("strength") or "fair", (*place, "strength"), STRENGTHS)
        unseen = data.get("unseen") or ("wait" if strength == "must" else "pass")
        return Reserve(
            effect=self.one_of(data["effect"], (*place, "effect"), EFFECTS),
            answer=self.text(data["answer"], (*place, "answer")),
            until=None if until is None else self.free(until, (*place, "until")),
            strength=strength,
            unseen=self.one_of(unseen, (*place, "unseen"), ("wait", "pass")),
            how=self.texts(data.get("how"), (*place, "how")),
            cautions=self.texts(data.get("cautions"), (*place, "cautions")),
        )

    def _bound_only(self, output: Derive | Propose | Reserve, bound: set[str], place: Place) -> None:
        for value in output_bounds(output):
            if isinstance(value, Var) and value.name not in bound:
                raise self.refuse(place, f"${value.name} is not bound", "Bind it under `when`: `field: $name`.")

    # --- cases -----------------------------------------------------------------------------------------------------

    def cases(self, data: Any, place: Place) -> tuple[Case, ...]:
        if not isinstance(data, list):
            raise self.refuse(place, "cases are a list", "Write `- name: ...` entries.", data)
        result = []
        for position, item in enumerate(data):
            here: Place = (*place, position)
            item = self.mapping(item, here, CASE_KEYS, ("name", "given", "fires"))
            if not isinstance(item["fires"], bool):
                raise self.refuse((*here, "fires"), "`fires` is true or false", "Write true or false.", item["fires"])
            given = item["given"]
            if not isinstance(given, list):
                raise self.refuse(
                    (*here, "given"), "`given` is a list of facts", "Write `- kind: {field: value}` lines.", given
                )
            facts = tuple(self.given(fact, (*here, "given", number)) for number, fact in enumerate(given))
            region = None if item.get("region") is None else self.text(item["region"], (*here, "region"))
            result.append(
                Case(self.text(item["name"], (*here, "name")), facts, item["fires"], region, self.document.line(here))
            )
        return tuple(result)

    def given(self, data: Any, place: Place) -> tuple[str, Mapping[str, Value]]:
        data = self.mapping(data, place)
        if len(data) != 1 or next(iter(data)) not in self.kinds:
            raise self.refuse(
                place,
                "a fact of a case names one known kind",
                f"See kinds.yaml.{nearest(next(iter(data), ''), self.kinds)}",
                list(data),
            )
        ((name, fields),) = data.items()
        kind = self.kinds[name]
        values: dict[str, Value] = {}
        needed = [key for key in kind.keys if key != "id"]
        for field, value in self.mapping(fields or {}, (*place, name), kind.fields, needed).items():
            here = (*place, name, field)
            if isinstance(value, str) and kind.fields[field].unit == "bbch":
                code = self.stages(value, str(fields.get("fruit")) if "fruit" in fields else None)
                value = value if code is None else code
            values[field] = self.literal(kind.fields[field], value, here)
        return name, values
