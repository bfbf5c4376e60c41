"""A season on one sheet, to print or to lay beside another year's: warmth, rain, stages, infections and sprays.

A dotted line is the last day; what stands after it is forecast.

    draw(now, found, path)    writes the sheet; `found` is what `season_replay.told` gives of the situation

The ending of the path says what is written: pdf, png or svg. How bad an infection was is told by the shape of its mark
as well as by its paint, since a sheet may be printed grey. Needs matplotlib.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from advisor.drawing import PAINTS
from advisor.errors import InputError, Problem
from advisor.extras import need
from advisor.facts.situation import Situation
from advisor.facts.stage_dates import reached
from advisor.orchard import Block
from advisor.quantity import shown_unit
from advisor.season import season_start
from advisor.sentences import in_words
from advisor.spray_ledger import sprays_of
from advisor.stages import stage_name
from advisor.weather_table import Daily, Days, end_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ENDINGS = (".pdf", ".png", ".svg")
_UNDATED: Mapping[str, dict[str, Any]] = {
    "pdf": {"CreationDate": None},
    "png": {"Software": None},
    "svg": {"Date": None},
}
_SIZE = (11.7, 8.3)  # inches: A4 on its side
_INK = {name: on_light for name, (on_light, _) in PAINTS.items()}
# How bad: the mark and its paint. None: hours are missing, so it is not known.
_MARKS: Mapping[str | None, tuple[str, str]] = {
    "light": ("o", "straw"),
    "moderate": ("^", "bark"),
    "severe": ("s", "rose"),
    "infects": ("D", "plum"),
    "near": ("v", "moss"),
    None: ("x", "faint"),
}
_TOLD = {"near": "near infection", None: "hours are missing"}
_STAGES = (53, 65, 69, 87)  # green tip, full bloom, petal fall, harvest
_DAY = dt.timedelta(days=1)
_BEFORE, _MARGIN = 21 * _DAY, 10 * _DAY  # what is shown before the first stage, and after the last day


def ending_fits(path: Path) -> None:
    """InputError where nothing is written that ends like this."""
    if path.suffix.lower() not in ENDINGS:
        mend = "Let its name end in one of these."
        raise InputError(Problem("--sheet", "", "a sheet is written as .pdf, .png or .svg", mend, value=str(path)))


def draw(now: Situation, found: Mapping[str, Any], path: Path) -> None:
    """Write the sheet. InputError for an ending that is not written, a place that cannot be, or where matplotlib lacks."""
    ending_fits(path)
    need("matplotlib")
    from matplotlib import rc_context
    from matplotlib.dates import AutoDateLocator, ConciseDateFormatter
    from matplotlib.figure import Figure

    order = [block.id for block in now.blocks]
    rows = sorted(
        {(event["block"], event["disease"]) for event in found["events"]}, key=lambda row: (order.index(row[0]), row[1])
    )
    first = _first_day(now)
    daily = (
        None if now.measured is None else now.measured.since(end_of(first - _DAY, now.file.zone)).daily(now.file.zone)
    )
    figure = Figure(figsize=_SIZE, layout="constrained")
    figure.suptitle(f"{found['orchard']}, season {found['season']} up to {found['until']}", color=_INK["ink"])
    heights = [0.4 * len(now.blocks) + 0.6, 4, 2, 0.4 * len(rows) + 1]
    parts = figure.subplots(4, 1, sharex=True, height_ratios=heights)
    stages, warmth, rain, below = parts
    _stages(stages, now)
    _warmth(warmth, now, daily)
    _rain(rain, now, daily)
    _events(below, now, found["events"], rows)
    below.xaxis.set_major_locator(AutoDateLocator())  # type: ignore[no-untyped-call]
    below.xaxis.set_major_formatter(ConciseDateFormatter(below.xaxis.get_major_locator()))  # type: ignore[no-untyped-call]
    below.set_xlim(first, now.on + _MARGIN)
    for part in parts:
        part.tick_params(colors=_INK["ink"], labelsize=8)
        part.spines[["top", "right"]].set_visible(False)
        part.grid(axis="x", color=_INK["faint"], alpha=0.3)
        part.axvline(now.on, color=_INK["ink"], linewidth=0.8, linestyle=":")
    if rows:
        figure.legend(
            *below.get_legend_handles_labels(), loc="outside lower left", ncols=len(_MARKS), fontsize=8, frameon=False
        )
    kind = path.suffix.lower()[1:]
    try:
        with rc_context(
            {"svg.fonttype": "none", "svg.hashsalt": "season"}
        ):  # words stay words; the same sheet, the same bytes
            figure.savefig(path, format=kind, facecolor="white", metadata=_UNDATED[kind])
    except OSError as fault:
        raise InputError(
            Problem(str(path), "", f"the sheet cannot be written there: {fault.strerror}", "Name another place.")
        ) from fault


def _first_day(now: Situation) -> dt.date:
    """Where the sheet begins: before the first of the stages that are marked, or with the season where none is known."""
    days = [day for block in now.blocks for day, _ in _reached(now, block)]
    first = season_start(now.on, now.latitude)
    return max(first, min(days) - _BEFORE) if days else first


def _reached(now: Situation, block: Block) -> list[tuple[dt.date, str]]:
    """The days on which a block reached the stages that are marked, as well as they are known."""
    days = [(reached(now, block, code), in_words(stage_name(code, block.fruit))) for code in _STAGES]
    return [(day, name) for day, name in days if day is not None]


def _stages(part: Axes, now: Situation) -> None:
    """A row for each block, marked on the day on which it reached a stage."""
    blocks = list(reversed(now.blocks))
    part.set_yticks(range(len(blocks)), [block.id for block in blocks])
    part.set_ylim(-0.6, len(blocks) - 0.4)
    for place, block in enumerate(blocks):
        for day, name in _reached(now, block):
            part.plot(_days([day]), [place], "|", color=_INK["grass"], markersize=10)
            part.annotate(name, (day, place), xytext=(3, 0), textcoords="offset points", va="center", fontsize=7,
                          color=_INK["grass"], annotation_clip=True)  # fmt: skip


def _warmth(part: Axes, now: Situation, daily: Daily | None) -> None:
    """Each day from its low to its high, and the line of frost."""
    unit, factor, offset = shown_unit("degC", now.file.orchard.units)
    part.set_ylabel("°F" if unit == "°F" else "°C")
    if daily is None or not np.isfinite(daily.low).any():
        _nothing(part, "no hourly weather")
        return
    days, low, high = daily.dates, daily.low * factor + offset, daily.high * factor + offset
    part.fill_between(days, low, high, color=_INK["straw"], alpha=0.35, linewidth=0)
    part.plot(days, high, color=_INK["rose"], linewidth=0.9, label="high")
    part.plot(days, low, color=_INK["rain"], linewidth=0.9, label="low")
    part.axhline(offset, color=_INK["ink"], linewidth=0.8, linestyle="--", label="freezing")
    part.legend(fontsize=7, frameon=False, loc="upper left", ncols=3)


def _rain(part: Axes, now: Situation, daily: Daily | None) -> None:
    unit, factor, _ = shown_unit("mm", now.file.orchard.units)
    part.set_ylabel(f"rain, {unit}")
    if daily is None or not np.isfinite(daily.rain).any():
        _nothing(part, "rain is not known")
        return
    known = np.isfinite(daily.rain)
    part.bar(daily.dates[known], daily.rain[known] * factor, width=1.0, color=_INK["rain"])
    part.plot(daily.dates[~known], np.zeros((~known).sum()), "x", color=_INK["faint"], markersize=3)


def _events(part: Axes, now: Situation, events: Sequence[Mapping[str, Any]], rows: list[tuple[str, str]]) -> None:
    """A row for each disease of a block, and one for the sprays."""
    names = ["sprays", *[f"{block}: {in_words(disease)}" for block, disease in reversed(rows)]]
    places = {row: len(rows) - place for place, row in enumerate(rows)}
    part.set_yticks(range(len(names)), names)
    part.set_ylim(-0.6, len(names) - 0.4)
    for severity, (mark, paint) in _MARKS.items():
        told = [event for event in events if event["severity"] == severity]
        if told:
            part.plot(
                _days(dt.date.fromisoformat(event["start"][:10]) for event in told),
                [places[event["block"], event["disease"]] for event in told],
                mark,
                color=_INK[paint],
                markersize=6,
                label=_TOLD.get(severity, severity),
            )
    sprays = sprays_of(now)
    if sprays:
        part.plot(_days(work.date for work in sprays), [0] * len(sprays), "|", color=_INK["ink"], markersize=12)


def _days(dates: Iterable[dt.date]) -> Days:
    return np.array(list(dates), dtype="datetime64[D]")


def _nothing(part: Axes, why: str) -> None:
    part.text(0.5, 0.5, why, transform=part.transAxes, ha="center", va="center", color=_INK["faint"])
    part.set_yticks([])
