"""What the orchard file would have to say for a condition on what is given to hold: fields set, or why none can be.

A field that is not written yet is to be told (`say`); floor, guards, tools, plants and the like can be had (`have`); what
stands and cannot be changed is `given`, or comes with `time`, or is a matter of `fruit`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from advisor.advice import Run
from advisor.evaluate import TestState
from advisor.explain.looks import failing, satisfying, written
from advisor.explain.plans import Fix
from advisor.fact import Value
from advisor.facts.given import YOUNG_YEARS
from advisor.sentences import in_words

if TYPE_CHECKING:
    from advisor.explain.fixes import Ask

# Fields of a block's fact under the same name in the file: unknown ones can be told.
_PLAIN = ("trees", "floor", "site", "lie", "use", "soil", "rootstock", "neglected_trees", "rows", "area")
_SPACED = ("row_width", "tree_distance", "area")
_GEAR = {"guards": "guards", "irrigation": "irrigation", "frost-gear": "frost_gear"}
_LISTS = {
    "understory": ("understory", "plant"),
    "history": ("history", "trouble"),
    "habitat-plant": ("plants", "plant"),
}
_USUAL_SPACING = "6 m x 5 m"  # tried where a rule only asks that it be known


def given_fixes(run: Run, ask: Ask) -> Iterator[Fix | str]:
    """Fields of the orchard file to set, or the reason why none helps."""
    name = ask.kind.name
    if name == "tool":
        yield from _tool(run, ask)
    elif name == "block":
        yield from _block(run, ask)
    elif name in _GEAR:
        yield from _gear(run, ask, _GEAR[name])
    elif name in _LISTS:
        yield from _list(run, ask, *_LISTS[name])
    elif name == "orchard":
        yield from _orchard(run, ask)
    else:
        yield "given"


def _asked(ask: Ask, field: str) -> list[Any]:
    test = next((t for t in ask.tests if t.field == field and t.op != "bind"), None)
    test = test or next((t for t in ask.tests if t.field == field and t.expected is not None), None)
    if test is None or test.expected is None:
        return []
    return [*test.expected] if isinstance(test.expected, tuple) else [test.expected]


def _place(ask: Ask, name: str = "block") -> str | None:
    asked = next((t.expected for t in ask.tests if t.field == name and isinstance(t.expected, str)), None)
    value = asked or (ask.fact.fields.get(name) if ask.fact else None)
    return str(value) if value else None


def _tool(run: Run, ask: Ask) -> Iterator[Fix | str]:
    owned = run.now.file.orchard.tools
    if not ask.wanted:
        yield "given"
        return
    for tool in _asked(ask, "tool")[:3]:
        text = f"a {in_words(str(tool))} among the tools"
        yield Fix("say" if owned is None else "have", "orchard.tools", 1.0, text,
                  place="orchard.tools", value=[*(owned or ()), tool])  # fmt: skip


def _block(run: Run, ask: Ask) -> Iterator[Fix | str]:
    block = run.now.file.block(_place(ask) or "")
    if block is None or not ask.wanted:
        yield "given"
        return
    wanting = [t for t in ask.tests if t.state is not True and t.field != "block"]
    for test in wanting:
        here = f"blocks.{block.id}"
        if test.field == "fruit":
            yield "fruit"
        elif test.field in ("age", "young", "bearing"):
            if block.planted is None and block.first_leaf is None:
                young = (test.field == "young") == (test.expected is True) and test.field != "age"
                year = run.now.on.year - (2 if young else YOUNG_YEARS + 5)
                yield Fix("say", f"{here}.planted", 0.0, f"{block.id} planted in {year}, or so",
                          place=f"{here}.planted", value=year)  # fmt: skip
            else:
                yield "time" if test.field == "bearing" and test.expected is True else "given"
        elif test.field in _SPACED and block.spacing is None and test.op in ("known", "bind"):
            yield Fix("say", f"{here}.spacing", 0.0, f"the spacing of {block.id}, such as {_USUAL_SPACING}",
                      place=f"{here}.spacing", value=_USUAL_SPACING)  # fmt: skip
        elif test.field in _PLAIN and (test.observed is None or test.field == "floor"):
            field = ask.kind.fields[test.field]
            values = satisfying("known" if test.expected is None else test.op, test.expected, field, test.observed)
            for value in values[:2]:
                was = "" if test.observed is None else f" instead of {test.observed}"
                yield Fix("say" if test.observed is None else "have", f"{here}.{test.field}",
                          0.0 if test.observed is None else 1.0, f"{test.field.replace('_', ' ')} of {block.id}: {value}{was}",
                          place=f"{here}.{test.field}", value=written(value, field))  # fmt: skip
            if not values:
                yield "given"
        else:
            yield "given"


def _gear(run: Run, ask: Ask, field: str) -> Iterator[Fix | str]:
    block = run.now.file.block(_place(ask) or "")
    if block is None:
        yield "given"
        return
    place, present = f"blocks.{block.id}.{field}", getattr(block, field)
    told: dict[str, Any] = {} if present is None else {"kind": present.kind}
    options: list[dict[str, Any]] = [told]
    for test in ask.tests:
        if test.field in ("block",) or test.expected is None:
            continue
        known = ask.kind.fields[test.field]
        values = _values(ask, test)
        if ask.wanted and test.state is True and test.observed is not None:
            values = [test.observed]
        made = [_gear_field(test.field, written(value, known)) for value in values[:2]]
        if ask.wanted:
            options = [{**one, **more} for one in options for more in made]
        elif made:
            options = [{**told, **more} for more in made]
    for option in options:
        if "kind" in option and option != told:
            said = ", ".join(f"{n.replace('_', ' ')} {v}" for n, v in option.items())
            yield Fix("have", place, 1.0, f"{field.replace('_', ' ')} of {block.id}: {said}", place=place, value=option)
        else:
            yield "given"


def _gear_field(name: str, value: Any) -> Mapping[str, Any]:
    if name == "packed":
        return {"packed_with": "leaves"} if value else {}
    return {"kind" if name == "type" else name: value}


def _list(run: Run, ask: Ask, field: str, key: str) -> Iterator[Fix | str]:
    room = "habitat" if ask.kind.name == "habitat-plant" else "block"
    place = _place(ask, room)
    entry = run.now.file.place(place) if place else None
    if entry is None:
        yield "given"
        return
    present = list(getattr(entry, field) or ())
    where = f"{room}s.{entry.id}.{field}"
    if not ask.wanted:
        gone = ask.fact.fields.get(key) if ask.fact else None
        if field == "history" or gone not in present:
            yield "given"
        else:
            yield Fix(
                "have", where, 1.0, f"no {gone} in {entry.id}", place=where, value=[p for p in present if p != gone]
            )
        return
    for value in _asked(ask, key)[:3]:
        name = in_words(str(value))
        said = f"{name} in {entry.id} last season" if field == "history" else f"{name} grown in {entry.id}"
        what: Any = "say" if field == "history" or not present else "have"
        yield Fix(what, where, 1.0, said, place=where, value=[*present, value])


def _orchard(run: Run, ask: Ask) -> Iterator[Fix | str]:
    for test in ask.tests:
        if test.field not in ("standard", "usual_snow", "hours_per_week") or test.expected is None:
            yield "given"
            continue
        known = ask.kind.fields[test.field]
        values = _values(ask, test)
        for value in values[:2]:
            place = f"orchard.{test.field}"
            text = f"{test.field.replace('_', ' ')} of the orchard: {value}"
            yield Fix("say" if test.observed is None else "have", place, 0.0 if test.observed is None else 1.0, text,
                      place=place, value=written(value, known))  # fmt: skip


def _values(ask: Ask, test: TestState) -> Sequence[Value]:
    """Values of a field that pass its test where that is wanted, and that fail it where it is not."""
    known = ask.kind.fields[test.field]
    if ask.wanted:
        return satisfying(test.op, test.expected, known, test.observed)
    return failing(test.op, test.expected, known)
