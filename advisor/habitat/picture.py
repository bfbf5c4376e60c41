"""The bloom ribbon as a picture: a row a plant, a column a week, gaps marked by word and by ruled boxes.

Kinds are told apart by pattern and by words, not by colour: trees dotted, open flowers with a line along them, deep
flowers barred across, what feeds no bee hollow. The table of the same record stands beside it (`advisor.habitat.text`).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from advisor.drawing import Drawing
from advisor.habitat.text import short_day, short_whom

_NAMES, _WHOM, _WEEK, _ROW, _TOP = 250.0, 230.0, 16.0, 20.0, 74.0
_LETTER = 7.0  # about the width of a letter
_MOST_ROWS = 120
_KINDS = ("trees", "open flowers: all tongues", "deep flowers: long tongues", "pollen only", "nothing for bees")


def draw(found: Mapping[str, Any]) -> str:
    """The ribbon of a record from `bloom`, as SVG text."""
    rows = list(found["ribbon"])[:_MOST_ROWS]
    weeks = [row["week"] for row in found["weeks"]]
    first, last = weeks[0], weeks[-1]
    key = sum(60 + 6.2 * len(kind) for kind in _KINDS)
    width = max(key, _NAMES + (last - first + 1) * _WEEK + _WHOM)
    height = _TOP + len(rows) * _ROW + 74
    picture = Drawing(width, height, f"Bloom at {found['orchard']}, week by week", _description(found))
    _grid(picture, found, first, last, len(rows))
    for at, row in enumerate(rows):
        _bar(picture, row, _TOP + at * _ROW, first, width)
    bottom = _TOP + len(rows) * _ROW
    _gaps(picture, found, first, bottom)
    _key(picture, bottom + 40)
    return picture.svg()


def _x(week: float, first: int) -> float:
    return _NAMES + (week - first) * _WEEK


def _grid(picture: Drawing, found: Mapping[str, Any], first: int, last: int, rows: int) -> None:
    bottom = _TOP + rows * _ROW
    picture.text(10, 18, f"Bloom at {found['orchard']}", font_weight="bold")
    picture.text(10, 36, "Weeks from apple full bloom", paint="faint")
    start = found["full_bloom"]["date"]
    for week in range(first, last + 2):
        x = _x(week, first)
        picture.line(x, _TOP - 4, x, bottom, "faint", stroke_width=0.6 if week else 1.8, stroke_opacity=0.5)
        if week % 4 == 0 and week <= last:
            picture.text(x, _TOP - 10, f"{week:+d}" if week else "0", anchor="middle", paint="faint")
            if start:
                day = dt.date.fromisoformat(start) + dt.timedelta(days=7 * week)
                picture.text(x, _TOP - 26, short_day(day.isoformat()), anchor="middle", paint="faint")
    now = found["week_now"]
    if now is not None and first <= now <= last + 1:
        x = _x(now, first)
        picture.line(x, _TOP - 4, x, bottom, "ink", stroke_width=1.5, stroke_dasharray="4 3")
        picture.text(x + 3, _TOP - 42, f"{found['date']}", anchor="middle")


def _bar(picture: Drawing, row: Mapping[str, Any], top: float, first: int, width: float) -> None:
    x = _x(row["first_week"], first)
    wide = max(2.0, (row["last_week"] - row["first_week"]) * _WEEK)
    tip = f"{row['name']}, {row['place']}: weeks {row['first_week']:g} to {row['last_week']:g}, {row['for_whom']}"
    picture.text(_NAMES - 8, top + _ROW / 2 + 4, f"{row['name']} ({row['place']})", anchor="end")
    _pattern(picture, x, top + 4, wide, _pattern_of(row), tip)
    whom = short_whom(row["for_whom"])
    if x + wide + 5 + _LETTER * len(whom) <= width:
        picture.text(x + wide + 5, top + _ROW / 2 + 4, whom, paint="faint")
    else:  # late bloom: before the bar, where the row is empty
        picture.text(x - 5, top + _ROW / 2 + 4, whom, anchor="end", paint="faint")


def _pattern_of(row: Mapping[str, Any]) -> str:
    if not row["feeds_bees"]:
        return "nothing for bees"
    if row["role"] == "tree":
        return "trees"
    if row["short_tongues"]:
        return "open flowers: all tongues"
    return "deep flowers: long tongues" if row["long_tongues"] else "pollen only"


def _pattern(picture: Drawing, x: float, top: float, wide: float, kind: str, tip: str = "") -> None:
    """A bar that can be told from the others without its colour."""
    high = _ROW - 8
    if kind == "nothing for bees":
        picture.path(f"M{x:g} {top:g}h{wide:g}v{high:g}h{-wide:g}z", "faint", tip)
        return
    picture.rect(x, top, wide, high, "rose" if kind == "trees" else "grass", tip)
    if kind == "trees":
        for step in range(6, round(wide) - 2, 8):
            picture.circle(x + step, top + high / 2, 2, "paper")
    elif kind == "open flowers: all tongues":
        picture.line(x, top + high / 2, x + wide, top + high / 2, "paper", stroke_width=2)
    elif kind == "deep flowers: long tongues":
        for step in range(4, round(wide), 6):
            picture.line(x + step, top, x + step, top + high, "paper", stroke_width=2)


def _gaps(picture: Drawing, found: Mapping[str, Any], first: int, bottom: float) -> None:
    for gap in found["gaps"]:
        if gap["lacks"] != "nectar":
            continue
        x, wide = _x(gap["first_week"], first), (gap["last_week"] + 1 - gap["first_week"]) * _WEEK
        picture.path(f"M{x:g} {_TOP - 4:g}h{wide:g}V{bottom + 6:g}h{-wide:g}z", "rose", gap["text"], stroke_width=1.6,
                     stroke_dasharray="2 2")  # fmt: skip
        picture.text(x + wide / 2, bottom + 20, "no nectar" if gap["sure"] else "no nectar listed", anchor="middle",
                     paint="rose")  # fmt: skip


def _key(picture: Drawing, top: float) -> None:
    x = 10.0
    for kind in _KINDS:
        _pattern(picture, x, top, 32, kind)
        picture.text(x + 38, top + 10, kind)
        x += 60 + 6.2 * len(kind)


def _description(found: Mapping[str, Any]) -> str:
    rows: Sequence[Mapping[str, Any]] = found["ribbon"]
    bars = "; ".join(
        f"{row['name']} at {row['place']} weeks {row['first_week']:g} to {row['last_week']:g} ({row['for_whom']})"
        for row in rows[:_MOST_ROWS]
    )
    gaps = " ".join(gap["text"] for gap in found["gaps"] if gap["lacks"] in ("flowers", "nectar")) or "No week without."
    start = found["full_bloom"]["date"] or "an unknown day"
    return f"Weeks are counted from apple full bloom, {start}. In flower: {bars or 'nothing listed'}. Gaps: {gaps}"
