"""An answer as a grower reads it in a terminal: by stance, most urgent first, one line of why each."""

from __future__ import annotations

from typing import Any, Literal

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from advisor import quantity
from advisor.answer import STANCES
from advisor.sentences import in_words, place_of

_HEADINGS = {"do": "To do", "wait": "Wait with", "avoid": "Leave alone", "look": "Go and see"}
_STYLES = {"do": "bold green", "wait": "bold yellow", "avoid": "bold red", "look": "bold cyan"}
MOST_UNKNOWNS = 6
MOST_WORKINGS = 2  # of an amount


def write(answer: dict[str, Any], console: Console | None = None, units: Literal["metric", "us"] = "metric") -> None:
    """Print an answer, with amounts in the units of the orchard; colours only where the terminal has them."""
    out = console or Console(highlight=False)
    out.print(Text(f"{answer['orchard']}, {answer['date']}", style="bold"))
    for place, state in answer["conditions"].items():
        stage = state["stage"]
        known = "seen " + stage["seen"] if stage["seen"] and not stage["estimated"] else "estimated"
        name = (
            f"{stage['name']} ({known}{', may be further on' if stage['at_least'] and stage['stale'] else ''})"
            if stage["name"]
            else "stage unknown"
        )
        out.print(f"  {place}: {name}")
    for stance in STANCES:
        chosen = [r for r in answer["recommendations"] if r["stance"] == stance]
        if chosen:
            out.print()
            out.print(Text(f"{_HEADINGS[stance]} ({len(chosen)})", style=_STYLES[stance]))
            for recommendation in chosen:
                _write_one(recommendation, out, units)
    if answer["unknowns"]:
        out.print()
        out.print(Text("Worth a look", style="bold"))
        for unknown in answer["unknowns"][:MOST_UNKNOWNS]:
            could = ", ".join(unknown["could_change"][:4])
            told = f"{unknown['why']} About {unknown['minutes']} min; could change: {could}." if could else unknown["why"]
            out.print(Padding(told, (0, 0, 0, 2)))
        rest = len(answer["unknowns"]) - MOST_UNKNOWNS
        if rest > 0:
            out.print(f"  … and {rest} more (--json lists all).")
    for override in answer["overrides"]:
        out.print(f"Own rules or knowledge: {override}")


def _write_one(r: dict[str, Any], out: Console, units: Literal["metric", "us"]) -> None:
    place = place_of(r)
    head = Text(f"{place}: ", style="dim")
    head.append(r["summary"], style="default")
    out.print(Padding(head, (0, 0, 0, 2)))
    facts = [_window(r["window"], r["stance"])]
    if r["hours"] is not None:
        facts.append(f"{r['hours']:g} h")
    if r["amount"]:
        facts.append(quantity.spoken(r["amount"]["value"], r["amount"]["unit"], units))
    facts.append(f"{r['strength']}, {in_words(r['evidence'])}")
    if r["because"]:
        out.print(Padding(f"why: {r['because'][0]}", (0, 0, 0, 6)))
    out.print(Padding(Text("; ".join(f for f in facts if f), style="dim"), (0, 0, 0, 6)))
    if r["amount"]:
        for line in [w for w in r["workings"] if " = " in w][:MOST_WORKINGS]:
            out.print(Padding(f"reckoned: {line}", (0, 0, 0, 6)))
    if r["trade_off"]:
        out.print(Padding(f"pulls both ways: {r['trade_off']}", (0, 0, 0, 6)))
    if r["cautions"] and r["stance"] in ("do", "look"):
        out.print(Padding(Text(f"take care: {' '.join(r['cautions'][:2])}", style="dim"), (0, 0, 0, 6)))
    out.print(Padding(Text(r["id"], style="dim"), (0, 0, 0, 6)))


def _window(window: dict[str, str | None], stance: str) -> str:
    opens, closes = window["opens"], window["closes"]
    if stance == "wait":
        return f"not before {opens}" if opens else "no date yet"
    if opens and closes:
        return f"{opens} to {closes}" if opens != closes else f"on {opens}"
    return f"from {opens}" if opens else (f"until {closes}" if closes else "")
