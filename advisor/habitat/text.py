"""The record of bloom and habitat as a grower reads it in a terminal."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from advisor.sentences import in_words
from advisor.words import MONTHS


def write(found: Mapping[str, Any], console: Console | None = None) -> None:
    """Print a record from `bloom`; colours only where the terminal has them."""
    out = console or Console(highlight=False)
    out.print(Text(f"{found['orchard']}, bloom and habitat on {found['date']}", style="bold"))
    _say(out, found["full_bloom"]["text"])
    out.print(_ribbon(found))
    _section(out, "Lacking", gap_lines(found), "Nothing: every week of the season has nectar, and no part is thin.")
    _section(out, "Sward and trees in bloom together", [one["text"] for one in found["competition"]])
    _section(out, "Sprays that would meet open flowers", [one["text"] for one in found["spray_meetings"]])
    _section(out, "Distances and room", distance_lines(found))
    _section(out, "Winter shelter", shelter_lines(found))
    _section(out, "What planned work would take away", [one["text"] for one in found["shelter"]["taken"]])
    _section(out, "How varied", variety_lines(found["diversity"]))
    _choices(out, found)
    _section(out, "Asked about", [f"{one['status']}: {' '.join(one['reasons'])}" for one in found["left_out"]])
    _section(out, "Keep in mind", list(found["notes"]))


def _ribbon(found: Mapping[str, Any]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), title_justify="left")
    for name in ("in flower", "where", "weeks", "dates", "for whom"):
        table.add_column(name, overflow="fold")
    for row in found["ribbon"]:
        weeks = f"{round(row['first_week'], 1):g} to {round(row['last_week'], 1):g}"
        dates = f"{short_day(row['from'])} to {short_day(row['to'])}" if row["from"] else "not known"
        name = row["name"] + (" (seen)" if row["seen"] else "")
        table.add_row(name, row["place"], weeks, dates, short_whom(row["for_whom"]))
    return table


def short_day(iso: str) -> str:
    """A day as people say it, without its year: 8 May."""
    day = dt.date.fromisoformat(iso)
    return f"{day.day} {MONTHS[day.month - 1][:3].capitalize()}"


def short_whom(words: str) -> str:
    """For whom a plant blooms, as short as a narrow column wants it."""
    return words.replace("nectar for ", "").replace(" and ", ", ")


def gap_lines(found: Mapping[str, Any]) -> list[str]:
    """A gap that is told already for a wider lack is not told again."""
    lines, told = [], set()
    for gap in found["gaps"]:
        span = (gap["first_week"], gap["last_week"])
        if span not in told:
            told.add(span)
            lines.append(gap["text"] if gap["sure"] else f"{gap['text'].rstrip('.')}, of what is listed.")
    for part in found["seasons"]:
        if part["thin"]:
            have = f"only {len(part['kinds'])}" if part["kinds"] else "none"
            lines.append(f"The {part['part']} season is thin: {have} of {part['wanted']} kinds wanted "
                         f"({', '.join(part['kinds']) or 'nothing listed'}).")  # fmt: skip
    missing = [row["name"] for row in found["diversity"]["functions"] if not row["filled_by"]]
    if missing:
        lines.append(f"Nothing listed gives {', '.join(missing)}.")
    return lines


def distance_lines(found: Mapping[str, Any]) -> list[str]:
    """How far flowers and nests stand apart, and how much room is kept for them."""
    return [one["text"] for kind in ("nests", "trees") for one in found["distances"][kind]] + [found["room"]["text"]]


def shelter_lines(found: Mapping[str, Any]) -> list[str]:
    """Who finds a winter place, who does not, and of whom nobody knows."""
    allies = found["shelter"]["allies"]
    lines = []
    for state, words in (("absent", "No winter place left for"), ("unknown", "Nobody has looked for a winter place of"),
                         ("likely", "Probably sheltered")):  # fmt: skip
        names = [
            f"{row['name']} ({', '.join(site['name'] for site in row['sites'] if site['state'] == state)})"
            for row in allies
            if row["state"] == state
        ]
        if names:
            lines.append(f"{words}: {'; '.join(names)}.")
    safe = [row["name"] for row in allies if row["state"] == "present"]
    if safe:
        lines.append(f"Sheltered: {', '.join(safe)}.")
    return lines + [one["text"] for one in found["shelter"]["stems"]]


def variety_lines(said: Mapping[str, Any]) -> list[str]:
    """How varied the bloom is, and what one kind more would add."""
    lines = [
        f"{said['functions_filled']} of {said['functions_wanted']} functions filled; nectar in "
        f"{said['weeks_with_nectar']} of {said['weeks']} weeks; {said['kinds']} kinds that feed bees"
        + (f", as varied as {said['even_kinds']:g} kinds of equal bloom (Shannon {said['shannon']:g})."
           if said["shannon"] is not None else ".")
    ]  # fmt: skip
    for one in said["one_more"][:3]:
        adds = [f"{one['weeks']} week{'s' if one['weeks'] != 1 else ''} of nectar"] if one["weeks"] else []
        adds += [in_words(name) for name in one["functions"]]
        if one["shannon"] is not None and one["shannon"] >= 0.005:
            adds.append(f"Shannon {one['shannon']:+.2f}")
        lines.append(f"One more: {one['name']} would add {', '.join(adds) or 'nothing'}.")
    return lines


def _choices(out: Console, found: Mapping[str, Any]) -> None:
    if not found["choices"]:
        return
    how = found["choosing"]
    gap = (
        f"; the quick way would {'cost' if how['counts'] == 'price' else 'take'} {how['gap']:g} more"
        if how["gap"]
        else ""
    )
    least = "cheapest" if how["counts"] == "price" else "fewest"
    method = f"proven {least}" if how["method"] == "exact" else f"the quick way, maybe not the {least}"
    out.print()
    out.print(Text(f"What to plant, to fill: {', '.join(found['lacks'])} ({method}{gap})", style="bold"))
    for choice in found["choices"]:
        price = "" if choice["price"] is None else f" It costs {choice['price']:g}."
        _say(out, f"{choice['rank']}. {choice['text']}{price}")
        for warning in choice["first_know"]:
            out.print(Padding(Text(f"First know: {warning}", style="bold"), (0, 0, 0, 5)))
        for plant in choice["plants"]:
            reasons = f"{', '.join(plant['because'])}" + (
                f" (alone for {', '.join(plant['only_it'])})" if plant["only_it"] and choice["kinds"] > 1 else ""
            )
            out.print(Padding(f"{plant['name']}, {' or '.join(plant['where'])}: {reasons}.", (0, 0, 0, 5)))
            if plant["hardy"]["text"]:
                out.print(Padding(Text(f"{plant['hardy']['text']}.", style="dim"), (0, 0, 0, 7)))
            if plant["drawbacks"]:
                out.print(Padding(Text(f"against it: {'; '.join(plant['drawbacks'])}.", style="dim"), (0, 0, 0, 7)))
            if plant["cautions"]:
                out.print(Padding(Text(f"take care: {' '.join(plant['cautions'])}", style="dim"), (0, 0, 0, 7)))
    for line in found["beyond"]:
        _say(out, line)


def _section(out: Console, heading: str, lines: list[str], otherwise: str | None = None) -> None:
    if not lines and otherwise is None:
        return
    out.print()
    out.print(Text(heading, style="bold"))
    for line in lines or [str(otherwise)]:
        _say(out, line)


def _say(out: Console, line: str) -> None:
    out.print(Padding(Text(line), (0, 0, 0, 2)))
