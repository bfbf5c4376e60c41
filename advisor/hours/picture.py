"""A picture of the plan: hours by week against the hours there are, and the year's five kinds against a fifth each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.drawing import Drawing

WIDTH, LEFT, TOP, BARS, ROW = 640.0, 50.0, 44.0, 170.0, 24.0
LABEL = 95.0  # room for "114 h, 100%" behind the longest bar
LETTERS = 16.0  # height that a number takes


def picture(plan: Mapping[str, Any]) -> str:
    """An SVG; every number in it also stands in the plan."""
    weeks = [plan["this_week"], *plan["next_weeks"]]
    lines = plan["budget"]["lines"]
    height = TOP + BARS + 80 + ROW * len(lines) + 30
    said = "; ".join(
        f"week of {w['from']}: {w['planned']:g} h planned" + (f" of {w['hours']:g}" if w["hours"] is not None else "")
        for w in weeks
    )
    drawing = Drawing(WIDTH, height, f"{plan['orchard']}: hours by week and the year's five kinds", said)
    _weeks(drawing, weeks)
    _year(drawing, plan["budget"], TOP + BARS + 64)
    return drawing.svg()


def _weeks(drawing: Drawing, weeks: list[Mapping[str, Any]]) -> None:
    most = max([1.0, *(w["planned"] + w["helper_planned"] for w in weeks), *(w["hours"] or 0.0 for w in weeks)])
    step = (WIDTH - LEFT - 10) / len(weeks)
    base = TOP + BARS
    drawing.text(LEFT, 16, "Hours by week: bar planned, pale part helpers, line the hours there are")
    drawing.line(LEFT, base, WIDTH - 10, base, "ink")
    for n, week in enumerate(weeks):
        x, wide = LEFT + n * step + step * 0.15, step * 0.7
        own, helped = week["planned"] / most * BARS, week["helper_planned"] / most * BARS
        drawing.rect(x, base - own, wide, own, "grass", f"{week['from']}: {week['planned']:g} h of your own")
        if helped:
            drawing.rect(x, base - own - helped, wide, helped, "straw", f"{week['helper_planned']:g} h of helpers")
        top = base - own - helped
        if week["hours"] is not None:
            level = base - week["hours"] / most * BARS
            drawing.line(x - step * 0.1, level, x + wide + step * 0.1, level, "ink", stroke_width=2)
            if 0 <= top - level < LETTERS:  # no line through the number
                top = level
        drawing.text(x + wide / 2, top - 4, f"{week['planned'] + week['helper_planned']:.3g}", "middle")
        drawing.text(x + wide / 2, base + 15, week["from"][5:], "middle", "faint")


def _year(drawing: Drawing, budget: Mapping[str, Any], top: float) -> None:
    lines = budget["lines"]
    most = max([1.0, *(line["planned"] for line in lines), *(line["guess"] or 0.0 for line in lines)])
    left, wide = 250.0, WIDTH - 250.0 - LABEL
    drawing.text(LEFT - 40, top - 10, f"The year {budget['year']}: bar planned, dark part done, line a fifth of the five")
    for n, line in enumerate(lines):
        y = top + n * ROW
        drawing.text(left - 8, y + 14, line["kind"], "end")
        drawing.rect(left, y, line["planned"] / most * wide, ROW - 8, "straw", f"{line['planned']:g} h planned")
        done = min(line["done"], line["planned"])
        if done:
            drawing.rect(left, y, done / most * wide, ROW - 8, "bark", f"{line['done']:g} h done")
        if line["guess"] is not None:
            x = left + line["guess"] / most * wide
            drawing.line(x, y - 2, x, y + ROW - 6, "ink", stroke_width=2)
        share = "" if line["share"] is None else f", {line['share']:.0%}"
        drawing.text(left + max(line["planned"], line["guess"] or 0) / most * wide + 6, y + 14,
                     f"{line['planned']:.3g} h{share}")  # fmt: skip
