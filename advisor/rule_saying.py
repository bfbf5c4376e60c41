"""Read what a rule says, and its cases, into the typed tree."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.conditions import (
    EFFECTS,
    STANCES,
    STRENGTHS,
    Bound,
    Case,
    Derive,
    FigureRef,
    Propose,
    Reserve,
    Var,
    output_bounds,
)
from advisor.fact import Value
from advisor.reading import Place
from advisor.rule_shapes import Shapes, nearest

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


class SayingReader(Shapes):
    """Reads `derive`, `propose`, `reserve` and `cases`."""

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
