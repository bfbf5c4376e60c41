"""The season as one long picture, a row a week, as wide as a phone: each row leads to the same week in the table.

From left to right: the date; the stages that blocks reached; the flowers (a dot a kind, a bar while trees blossom, a
ruled box where bees lack something); the sky (rain as a bar; infections, heat and frost in words); the work and its
hours (done filled, planned hollow, a line for the hours there are).
"""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from advisor.api.pages.season_weeks import Week
from advisor.drawing import Drawing
from advisor.sentences import in_words

WIDTH, LINE, TOP, FOOT = 360.0, 15.0, 62.0, 90.0
MONTH = 22.0
DATE, STAGES, FLOWERS, SKY, WORK = 2.0, 48.0, 142.0, 196.0, 280.0
LETTERS = {"stages": 15, "sky": 14, "work": 13}  # how many fit into a lane
MOST_DOTS = 7
GROUPS = {"floor": "floor", "soil": "soil", "planting": "planting", "trees": "trees", "crop": "crop",
          "sprays": "sprays", "watching": "looking", "hours": "helpers", "other": "other"}  # fmt: skip


@dataclass
class _Row:
    """The words of a week's lanes, wrapped."""

    week: Week
    stages: list[str]
    sky: list[str]
    work: list[str]

    @property
    def height(self) -> float:
        return 10 + LINE * max(1, len(self.stages), 1 + len(self.sky), 1 + len(self.work))


def season_picture(
    weeks: Sequence[Week], name: str, degrees: Callable[[float], str], tell: Callable[[Week], str]
) -> str:
    """SVG text. degrees: a temperature in the orchard's units; tell: a week in one line, shown when it is pointed at or pressed."""
    rows = [_row(week, degrees) for week in weeks]
    months = [n for n, week in enumerate(weeks) if n == 0 or week.start.month != weeks[n - 1].start.month]
    height = TOP + sum(row.height for row in rows) + MONTH * len(months) + FOOT
    drawing = Drawing(
        WIDTH, height, f"The season at {name}, week by week", f"{len(rows)} weeks, each leads to its row."
    )
    most_rain = max([1.0, *(w.sky.rain for w in weeks if w.sky and w.sky.rain)])
    most_hours = max([1.0, *(w.supply or 0.0 for w in weeks), *(w.done + (w.planned or 0.0) for w in weeks)])
    _head(drawing)
    y = TOP
    for n, row in enumerate(rows):
        if n in months:
            drawing.line(0, y + MONTH - 3, WIDTH, y + MONTH - 3, "ink")
            drawing.text(DATE, y + MONTH - 7, f"{row.week.start:%B %Y}", bold=True)
            y += MONTH
        told = tell(row.week)
        with drawing.link(f"#week-{row.week.start}", told):
            _draw(drawing, row, y, most_rain, most_hours)
            drawing.rect(0, y, WIDTH, row.height, "paper", told, fill_opacity=0)  # the whole row can be pressed
        y += row.height
        drawing.line(0, y, WIDTH, y, "faint", stroke_width=0.5)
    _key(drawing, y + 16)
    return drawing.svg()


def _row(week: Week, degrees: Callable[[float], str]) -> _Row:
    stages = [f"{block}: {name.removeprefix('about ')}" for block, name in week.stages]
    sky = [f"{name} {count}" for name, count in _diseases(week).items()]
    if week.sky and week.sky.heat:
        sky.append(f"heat {degrees(max(high for _, high in week.sky.heat))}")
    if week.sky and week.sky.frost:
        sky.append(f"frost {degrees(min(low for _, low in week.sky.frost))}")
    groups = Counter(GROUPS.get(job.group, job.group) for job in week.jobs)
    work = [f"{group} {count}" for group, count in groups.items()]
    taken = week.done + (week.planned or 0.0)
    if taken:
        work.insert(0, f"{taken:.1f} of {week.supply:.3g} h" if week.supply is not None else f"{taken:.1f} h")
    return _Row(week, _wrapped(stages, "stages"), _wrapped(sky, "sky"), _wrapped(work, "work"))


def _diseases(week: Week) -> dict[str, int]:
    """Infections of the week by disease; one that struck several blocks at once counts once."""
    hits = {(e["disease"], e["start"]) for e in week.events if e["severity"] not in (None, "near")}
    return dict(sorted(Counter(in_words(disease) for disease, _ in hits).items()))


def _wrapped(texts: Sequence[str], lane: str) -> list[str]:
    return [line for text in texts for line in textwrap.wrap(text, LETTERS[lane], subsequent_indent=" ")]


def _head(drawing: Drawing) -> None:
    lanes = ((DATE, "Week"), (STAGES, "Trees"), (FLOWERS, "Bloom"), (SKY, "Sky"), (WORK, "Work"))
    drawing.text(DATE, 16, "Tap a week for its figures.")
    for x, words in lanes:
        drawing.text(x, TOP - 12, words, bold=True)
    drawing.line(0, TOP - 4, WIDTH, TOP - 4, "ink", stroke_width=2)


def _draw(drawing: Drawing, row: _Row, y: float, most_rain: float, most_hours: float) -> None:
    week, base = row.week, y + LINE
    if week.now:
        drawing.rect(0, y + 1, 4, row.height - 2, "rose")
    drawing.text(DATE + 5, base, f"{week.start.day}\u2013{week.end.day}", bold=week.now)
    for n, line in enumerate(row.stages):
        drawing.text(STAGES, base + n * LINE, line)
    _flowers(drawing, week, y)
    sky = week.sky
    if sky is None:
        drawing.text(SKY, base, "not known" if week.past or week.now else "to come", paint="faint")
    elif sky.rain:
        drawing.rect(SKY, y + 5, max(1.5, sky.rain / most_rain * (WORK - SKY - 8)), 9, "rain")
    for n, line in enumerate(row.sky, 1):
        drawing.text(SKY, base + n * LINE, line, paint="plum")
    _hours(drawing, week, y, most_hours)
    for n, line in enumerate(row.work, 1):
        drawing.text(WORK, base + n * LINE, line)


def _flowers(drawing: Drawing, week: Week, y: float) -> None:
    if week.in_bloom:
        drawing.rect(FLOWERS, y + 5, SKY - FLOWERS - 8, 6, "rose")
    top = y + (19 if week.in_bloom else 10)
    for n in range(min(MOST_DOTS, len(week.flowers or ()))):
        drawing.circle(FLOWERS + 3 + n * 6, top, 2.5, "grass")
    if week.lacks:
        x, right, bottom = FLOWERS - 2, SKY - 7, y + 25
        drawing.path(f"M{x:g} {y + 3:g}H{right:g}V{bottom:g}H{x:g}z", "rose", stroke_dasharray="3 2", stroke_width=1.5)


def _hours(drawing: Drawing, week: Week, y: float, most: float) -> None:
    span = WIDTH - WORK - 6
    done, planned = week.done / most * span, (week.planned or 0.0) / most * span
    if done:
        drawing.rect(WORK, y + 5, max(1.5, done), 9, "bark")
    if planned:
        _hollow(drawing, WORK + done, y + 5.5, max(1.5, planned))
    if week.supply is not None:
        x = WORK + week.supply / most * span
        drawing.line(x, y + 3, x, y + 16, "ink", stroke_width=2)


def _key(drawing: Drawing, y: float) -> None:
    drawing.circle(6, y - 4, 2.5, "grass")
    drawing.text(14, y, "a kind in flower")
    drawing.rect(128, y - 8, 22, 6, "rose")
    drawing.text(156, y, "trees in blossom")
    drawing.path(f"M268 {y - 11:g}h18v12h-18z", "rose", stroke_dasharray="3 2", stroke_width=1.5)
    drawing.text(292, y, "bees lack")
    drawing.rect(2, y + 14, 22, 9, "bark")
    drawing.text(30, y + 22, "done")
    _hollow(drawing, 76, y + 14.5, 22)
    drawing.text(104, y + 22, "planned")
    drawing.line(170, y + 12, 170, y + 25, "ink", stroke_width=2)
    drawing.text(176, y + 22, "hours there are")
    drawing.rect(280, y + 14, 22, 9, "rain")
    drawing.text(308, y + 22, "rain")
    drawing.text(2, y + 44, "After a disease: how often it infected.")
    drawing.text(2, y + 60, "After a kind of work: how many jobs.")


def _hollow(drawing: Drawing, x: float, y: float, width: float) -> None:
    """A bar of what is only planned: told from what is done by its outline, not by its colour."""
    drawing.path(f"M{x:g} {y:g}h{width:g}v8h{-width:g}z", "bark", stroke_width=1.5)
