"""The plan as a grower reads it in a terminal."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from advisor.hours.trade import weather_words
from advisor.sentences import in_words, place_of


def write(plan: Mapping[str, Any], console: Console | None = None) -> None:
    """Print a plan: this week by day, the next weeks by job, what does not fit, and the year."""
    out = console or Console(highlight=False)
    out.print(Text(f"{plan['orchard']}, plan from {plan['date']} to {plan['until']}", style="bold"))
    _week(out, plan["this_week"], "This week", every_day=True)
    for week in plan["next_weeks"]:
        _week(out, week, "Week")
    if plan["unplaced"]:
        out.print()
        out.print(Text(f"Does not fit ({len(plan['unplaced'])})", style="bold yellow"))
        for one in plan["unplaced"]:
            part = "" if one["hours"] >= one["of_hours"] else f" of {one['of_hours']:g}"
            text = f"{place_of(one)}: {one['name']}, {one['hours']:g}{part} h; kept out by {one['kept_out_by']}"
            out.print(_indented(text))
            if one["relief"]:
                text = f"would fit with {one['relief']['text']} ({one['relief']['proof']})"
                out.print(Padding(Text(text, style="dim"), (0, 0, 0, 6)))
        costly = [s for s in plan["slips"] if s["lost"]][:5]
        for slip in costly:
            wait = "it can wait" if slip["can_wait"] else "it cannot be made up later"
            lost = ", ".join(slip["lost"][:3])
            out.print(_indented(f"if {slip['name']} slips: less for or against {lost}; {wait}"))
    if plan["held"]:
        out.print()
        out.print(Text("Not now", style="bold"))
        for one in plan["held"]:
            stance = "wait with" if one["stance"] != "avoid" else "leave out"
            out.print(_indented(f"{place_of(one)}: {stance} {in_words(one['practice'])}. {one['why']}"))
    if plan["without_hours"]:
        out.print()
        out.print(Text("Not in the plan", style="bold"))
        for one in plan["without_hours"]:
            out.print(_indented(f"{place_of(one)}: {in_words(one['practice'])}. {one['why']}"))
    _year(out, plan["budget"])
    gap = plan["gap"]
    if gap["gap"] is not None:
        than = "as good as" if gap["gain"] < 0.0005 else f"{gap['gain']:.1%} better than"
        text = f"The plan is {than} one by rule of thumb, and none can be more than {gap['gap']:.2%} better."
        out.print(Text(text, style="dim"))
    for note in plan["notes"]:
        out.print(Text(note, style="dim"))


def _indented(text: str) -> Padding:
    return Padding(Text(text), (0, 0, 0, 2))


def _week(out: Console, week: Mapping[str, Any], title: str, every_day: bool = False) -> None:
    out.print()
    hours = "" if week["hours"] is None else f" of {week['hours']:g}"
    helped = f", helpers {week['helper_planned']:g} of {week['helper_hours']:g} h" if week["helper_hours"] else ""
    rain = f", rain on {', '.join(map(_day, week['rain_days']))}" if week["rain_days"] else ""
    out.print(Text(f"{title} {week['from']}: {week['planned']:g}{hours} h{helped}{rain}", style="bold green"))
    if not week["jobs"]:
        out.print("  nothing is due that is known now")
        return
    table = Table(box=None, show_header=False, pad_edge=False, padding=(0, 1))
    table.add_column(no_wrap=True)
    table.add_column(justify="right", no_wrap=True)
    table.add_column()
    for job in week["jobs"]:
        days = [d["day"] for d in job["days"]]
        when = _day(days[0]) if len(days) == 1 else f"{_day(days[0])} to {_day(days[-1])}"
        text = f"{place_of(job)}: {job['name']}"
        if len(days) > 1:
            spans = [f"{_day(d['day'])} {d['hours']:g} h" for d in job["days"]]
            text += f" ({', '.join(spans)})"
        if every_day and job["wants"]:
            text += f"; wants it {weather_words(job['wants'])}"
        if every_day and job["origin"] == "usual":
            text += "; the year's usual work"
        if job["origin"] == "waits":
            text += "; its wait is over then: look again first"
        if any(d["helpers"] for d in job["days"]):
            text += f"; helpers {sum(d['helpers'] for d in job['days']):g} h"
        table.add_row(f"  {when}", f"{job['hours']:.3g} h", text)
    out.print(table)


def _year(out: Console, budget: Mapping[str, Any]) -> None:
    out.print()
    title = (
        f"The year {budget['year']}: {budget['planned']:g} h planned, {budget['done']:g} done, {budget['left']:g} left"
    )
    if budget["past"]:
        title += f", {budget['past']:g} past their time and not written as done"
    out.print(Text(title, style="bold"))
    table = Table(box=None, pad_edge=False, padding=(0, 2))
    for name in ("", "planned", "done", "left", "share", "a fifth", "published"):
        table.add_column(name, justify="left" if not name else "right")
    for line in budget["lines"]:
        published = ", ".join(f"{p['share']:.0%}" for p in line["published"])
        table.add_row(
            f"  {line['kind']}", f"{line['planned']:g} h", f"{line['done']:g} h", f"{line['left']:g} h",
            "" if line["share"] is None else f"{line['share']:.0%}",
            "" if line["guess"] is None else f"{line['guess']:g} h", published,
        )  # fmt: skip
    out.print(table)
    for line in budget["lines"]:
        if line["why"]:
            out.print(_indented(f"{line['kind']}: {line['why']}"))
    if budget["not_counted"]:
        names = ", ".join(f"{in_words(w['practice'])} in {w['place']}" for w in budget["not_counted"][:8])
        out.print(_indented(f"Not counted, for want of trees, spacing or tools: {names}."))
    if budget["works_without_hours"]:
        out.print(_indented(f"{budget['works_without_hours']} works are written without hours and not in done."))


def _day(day: str) -> str:
    date = dt.date.fromisoformat(day)
    return f"{('Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun')[date.weekday()]} {day[5:]}"
