"""Read one rule of a pack into the typed tree, naming the line of everything that cannot be read."""

from __future__ import annotations

from typing import Any

from advisor.conditions import (
    BIND,
    COMPARING,
    CONSIDERED,
    LAYERS,
    OPERATORS,
    Bound,
    Bounds,
    Condition,
    Derive,
    Field,
    FigureRef,
    Rule,
    StageRef,
    Test,
    Var,
)
from advisor.reading import Place
from advisor.rule_saying import SayingReader
from advisor.rule_shapes import Unreadable, nearest

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
OUTPUT_OF_LAYER = {"signs": "derive", "pressures": "derive", "proposals": "propose", "reservations": "reserve"}


class RuleReader(SayingReader):
    """Reads the rules of one document; `problems` collects what is wrong."""

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
                if op not in COMPARING:
                    raise self.refuse(
                        place, f"${variable} is bound in this same condition", "Bind it in an earlier condition."
                    )
            elif variable in bound:
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
