"""Read the plain shapes that rule packs and lists of kinds are made of, naming the line of everything that is wrong."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any

from advisor.conditions import Bound, Field, FigureRef, Kind, Var
from advisor.errors import Problem
from advisor.fact import Value
from advisor.reading import Document, Place, written

Stages = Callable[[str, str | None], float | None]
_VARIABLE = re.compile(r"\$[a-z][a-z0-9_]*")


class Unreadable(Exception):
    """A problem was noted; what it stands in cannot be read."""


def nearest(word: str, known: Iterable[str]) -> str:
    """A question, did you mean ..., with the nearest known word, or nothing."""
    close = difflib.get_close_matches(word, list(known), 1)
    return f" Did you mean {close[0]}?" if close else ""


class Shapes:
    """Reads the shapes of one document; `problems` collects what is wrong."""

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
