"""What is said when an input is refused.

InputError   something a person gave cannot be read or makes no sense; carries one Problem or several
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing wrong with an input.

    file: name of the file, or a word for what was given ("request", "orchard").
    place: where in it ("blocks[0].trees", "line 12", "row 7, column temp_c").
    message: what is wrong, with the value that was found.
    mend: how to put it right.
    """

    file: str
    place: str
    message: str
    mend: str
    line: int | None = None
    value: str | None = None

    def __str__(self) -> str:
        where = ", ".join(part for part in (self.file, f"line {self.line}" if self.line else "", self.place) if part)
        found = f" (found: {self.value})" if self.value is not None and self.value not in self.message else ""
        stop = "" if self.message.endswith("?") and not found else "."
        return f"{where}: {self.message}{found}{stop} {self.mend}".rstrip()


class InputError(ValueError):
    """An input was refused; `problems` says what, where and how to mend it."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))
