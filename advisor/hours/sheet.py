"""The week as a sheet to print and hang in the shed: a box to tick for each job, room to write the hours it took."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from html import escape
from typing import Any

from advisor.hours.trade import weather_words
from advisor.sentences import place_of

_STYLE = (
    "body{font:11pt/1.35 serif;margin:1.5cm;color:#000;background:#fff}h1{font-size:16pt;margin:0}"
    "h2{font-size:12pt;margin:1em 0 .2em;border-bottom:1px solid #000}table{border-collapse:collapse;width:100%}"
    "th,td{text-align:left;vertical-align:top;padding:.2em .5em;border-bottom:1px dotted #666}"
    "th{font-weight:normal;font-style:italic}td.box{width:1.4em;font-size:14pt;line-height:1}"
    "td.hours{width:5em;white-space:nowrap}td.took{width:7em}small{color:#333}"
    "@page{size:A4;margin:1.2cm}@media print{body{margin:0}h2,tr{break-inside:avoid;break-after:auto}}"
)


def sheet(plan: Mapping[str, Any]) -> str:
    """A whole HTML page that needs nothing else; prints on A4 or letter paper."""
    week = plan["this_week"]
    hours = "hours a week not given" if week["hours"] is None else f"{week['planned']:g} of {week['hours']:g} h planned"
    parts = [
        f"<p>{escape(week['from'])} to {escape(week['to'])}; {hours}"
        + (f"; days off: {', '.join(map(_weekday, week['days_off']))}" if week["days_off"] else "") + ".</p>"
    ]  # fmt: skip
    by_day: dict[str, list[tuple[Mapping[str, Any], Mapping[str, Any]]]] = {}
    for job in week["jobs"]:
        for day in job["days"]:
            by_day.setdefault(day["day"], []).append((job, day))
    for day, work in sorted(by_day.items()):
        parts.append(_day(day, work, plan))
    if not by_day:
        parts.append("<p>No job is planned for this week.</p>")
    parts += _left_out(plan)
    title = escape(f"{plan['orchard']}: the week of {week['from']}")
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title><style>{_STYLE}</style>'
        f"</head><body><h1>{title}</h1>{''.join(parts)}</body></html>\n"
    )


def _day(day: str, work: list[tuple[Mapping[str, Any], Mapping[str, Any]]], plan: Mapping[str, Any]) -> str:
    rows = "".join(_row(job, entry) for job, entry in work)
    total = sum(entry["hours"] for _, entry in work)
    who = [h for h in plan["this_week"]["helpers"] if h["day"] == day]
    guests = "".join(f"; {escape(h['who'] or 'helpers')}: {h['people']} for {h['hours']:g} h" for h in who)
    return (
        f"<h2>{_weekday(day)}, {total:.3g} h{guests}</h2><table><tr><th></th><th>where and what</th><th>hours</th>"
        f"<th>it took</th></tr>{rows}</table>"
    )


def _row(job: Mapping[str, Any], entry: Mapping[str, Any]) -> str:
    notes = [job["why"]]
    if job["wants"]:
        doubt = "; look at the forecast first" if entry["weather"] != "fits" else ""
        notes.append(f"Wants it {weather_words(job['wants'])}{doubt}.")
    if job["amount"]:
        notes.append(f"{job['amount']}{'' if job['tool'] == 'hand' else ', ' + job['tool']}.")
    if job["closes"]:
        notes.append(f"By {job['closes']}.")
    notes += [f"Take care: {line}" for line in job["cautions"][:3]]
    return (
        f'<tr><td class="box">☐</td><td><b>{escape(place_of(job))}: {escape(job["name"])}</b><br><small>'
        f'{escape(" ".join(notes))}</small></td><td class="hours">{entry["hours"]:g} h</td><td class="took"></td></tr>'
    )


def _left_out(plan: Mapping[str, Any]) -> list[str]:
    soon = [u for u in plan["unplaced"] if u["closes"] is None or u["closes"] <= plan["next_weeks"][0]["to"]] if (
        plan["next_weeks"]) else list(plan["unplaced"])  # fmt: skip
    parts = []
    if soon:
        rows = "".join(
            f"<tr><td>{escape(place_of(u))}: {escape(u['name'])}, {u['hours']:g} h</td>"
            f"<td>kept out by {escape(u['kept_out_by'])}"
            + (f"; would fit with {escape(u['relief']['text'])}" if u["relief"] else "") + ".</td></tr>"
            for u in soon
        )  # fmt: skip
        parts.append(f"<h2>Does not fit</h2><table>{rows}</table>")
    if plan["held"]:
        rows = "".join(
            f"<tr><td>{escape(place_of(h))}: {escape(h['practice'])}</td>"
            f"<td>{escape(h['stance'])}: {escape(h['why'])}</td></tr>"
            for h in plan["held"]
        )
        parts.append(f"<h2>Not now</h2><table>{rows}</table>")
    return parts


def _weekday(day: str) -> str:
    date = dt.date.fromisoformat(day)
    return f"{('Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday')[date.weekday()]} {day}"
