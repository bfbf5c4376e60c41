"""The tree of why, and the ecosystem around one recommendation, as pictures (SVG) that fit the width of a phone.

tree_picture        the tree from the top down, each node a note with its kind in words
ecosystem_picture   the practice, and the paths of its gains and costs through the knowledge graph, side by side
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from advisor.answer import Record
from advisor.drawing import Drawing
from advisor.ecosystem import Consequence, Knowledge
from advisor.explain.weighed import ledger_lines
from advisor.explain.why_text import MOST_PATHS
from advisor.explain.wording import more_or_less
from advisor.presenting import named

if TYPE_CHECKING:
    from advisor.advice import Answer

WIDTH = 360  # units: a phone held upright
LINE = 15
LETTER = 6.1  # width of a letter, on the wide side, so that no word leaves its note
STEP = 10  # in for each level
GAP = 6
MOST_ENDS = 6  # gains or costs in the ecosystem picture

# kind: (what it is called, paint of its bar)
KINDS = {
    "recommendation": ("Advice", "grass"), "rule": ("Because", "moss"), "weighing": ("Weighed", "plum"),
    "trade-off": ("Pulls both ways", "plum"), "ledger": ("In all", "straw"), "path": ("Path", "straw"),
    "fact": ("So it is", "ink"), "number": ("Worked out", "rain"), "figure": ("Figure", "bark"),
    "absence": ("Not so", "faint"), "unknown": ("Not known", "rose"), "silence": ("Kept silent", "rose"),
    "observation": ("Seen", "grass"), "orchard": ("Orchard file", "grass"), "weather": ("Weather", "rain"),
    "forecast": ("Forecast", "rain"), "knowledge": ("Known", "bark"), "proof": ("Proof", "moss"),
}  # fmt: skip


@dataclass
class _Note:
    """One note of a picture: where it hangs, what it says."""

    depth: int
    parent: int | None
    kind: str
    lines: list[str] = field(default_factory=list)

    @property
    def height(self) -> int:
        return LINE * (len(self.lines) + 1) + 6


def tree_picture(tree: Record) -> str:
    """The tree as SVG text, as wide as a phone and as long as it must be."""
    notes: list[_Note] = []
    told: set[tuple[str, str]] = set()

    def hang(one: Record, depth: int, parent: int | None) -> None:
        words = _words(one)
        if (one.kind, one.id) in told and not one["from"]:
            words = textwrap.shorten(words, 50, placeholder=" …") + " (as above)"
        told.add((one.kind, one.id))
        notes.append(_Note(depth, parent, one.kind, _wrapped(words, WIDTH - depth * STEP - 16)))
        here = len(notes) - 1
        for child in one["from"][: MOST_PATHS if one.kind == "ledger" else None]:
            hang(child, depth + 1, here)

    hang(tree, 0, None)
    total = sum(note.height + GAP for note in notes)
    drawing = Drawing(WIDTH, total, f"Why: {tree.text}", f"{len(notes)} notes, each below what follows from it.")
    drawing.rect(0, 0, WIDTH, total, "paper")
    tops: list[int] = []
    y = 0
    for note in notes:
        tops.append(y)
        x = note.depth * STEP
        if note.parent is not None:
            above = notes[note.parent].depth * STEP + 3
            drawing.line(above, tops[note.parent] + notes[note.parent].height, above, y + 10)
            drawing.line(above, y + 10, x, y + 10)
        name, paint = KINDS[note.kind]
        drawing.rect(x, y, 4, note.height, paint)
        drawing.text(x + 9, y + LINE - 2, name, paint=paint, bold=True)
        for number, line in enumerate(note.lines, 1):
            drawing.text(x + 9, y + LINE * (number + 1) - 2, line)
        y += note.height + GAP
    return drawing.svg()


def _words(one: Record) -> str:
    """What a note says, with its source."""
    source = f" ({one.source})" if one.source and one.kind in ("figure", "rule", "number", "knowledge") else ""
    spare = " (it comes back without this)" if one.needed is False else ""
    name, _ = KINDS[one.kind]
    return f"{one.text.removeprefix(name + ': ')}{source}{spare}"


def _wrapped(words: str, width: float) -> list[str]:
    return textwrap.wrap(words, max(8, int(width / LETTER))) or [""]


def ecosystem_picture(answer: Answer, id: str) -> str:
    """The practice of a recommendation, with its strongest gains and costs as paths, in two columns.

    Raises KeyError if the answer has no such recommendation.
    """
    one = named(answer.run.now, answer.run.outcomes)[id]
    known = answer.run.now.knowledge
    practice = known.node(one.practice, "practice").name
    half = WIDTH / 2
    columns = [
        _column(side, ledger_lines(one.ledger, side, one.target), practice, half - 12, known)
        for side in ("gains", "costs")
    ]
    head = _wrapped(practice, WIDTH - 20)
    top = LINE * len(head) + 2 * GAP
    total = top + max(column.height for column in columns) + 2 * GAP
    drawing = Drawing(WIDTH, total, f"What {practice} gives and costs", "; ".join(column.said for column in columns))
    drawing.rect(0, 0, WIDTH, total, "paper")
    for number, line in enumerate(head, 1):
        drawing.text(WIDTH / 2, LINE * number, line, "middle", bold=True)
    drawing.line(half, top, half, total)
    for x, column in zip((6, half + 6), columns, strict=True):
        _draw_column(drawing, column, x, top + LINE)
    return drawing.svg()


@dataclass
class _Column:
    """One side of the ledger: its heading, its steps (depth, wrapped words), how many ends are not shown."""

    heading: str
    paint: str
    steps: list[tuple[int, list[str]]]
    weaker: int
    said: str

    @property
    def height(self) -> int:
        return sum(LINE * len(words) + GAP for _, words in self.steps) + 3 * LINE


class _Twig(dict[str, "_Twig"]):
    """Steps that follow on a step, each with its own."""

    def read(self, depth: int = 0) -> Iterator[tuple[int, str]]:
        for step, more in self.items():
            yield depth, step
            yield from more.read(depth + 1)


def _column(side: str, lines: Sequence[Consequence], practice: str, width: float, known: Knowledge) -> _Column:
    """The strongest lines of a side; paths with a common beginning grow from one twig."""
    shown = lines[:MOST_ENDS]
    tree = _Twig()
    for line in shown:
        twig, before = tree, practice
        for place, sentence in enumerate(line.path):
            step = sentence.removeprefix(practice if place == 0 else _shared(before, sentence)).strip()
            if place and place == len(line.path) - 1:
                step += f", so {more_or_less(line, side, known)}"
            twig, before = twig.setdefault(step, _Twig()), sentence
    title, paint = ("Gains", "grass") if side == "gains" else ("Costs", "rose")
    total = sum(line.score for line in lines)
    return _Column(
        heading=f"{title}: {total:.3g} in all" if lines else f"{title}: none",
        paint=paint,
        steps=[(depth, _wrapped(words, width - depth * STEP)) for depth, words in tree.read()],
        weaker=len(lines) - len(shown),
        said=f"{title.lower()}: {', '.join(line.name for line in shown) or 'none'}",
    )


def _draw_column(drawing: Drawing, column: _Column, x: float, y: float) -> None:
    drawing.text(x, y, column.heading, paint=column.paint, bold=True)
    y += GAP
    for depth, words in column.steps:
        left = x + depth * STEP
        drawing.line(left, y + 3, left, y + LINE * len(words) + 3, column.paint, stroke_width=2)
        for line in words:
            y += LINE
            drawing.text(left + 5, y, line)
        y += GAP
    if column.weaker:
        drawing.text(x, y + LINE, f"and {column.weaker} weaker", paint="faint")


def _shared(before: str, sentence: str) -> str:
    """The longest beginning of a sentence with which the one before ends: the thing that both speak of."""
    ends = (sentence[:length] for length in range(len(sentence), 0, -1))
    return next((end for end in ends if before.endswith(" " + end)), "")
