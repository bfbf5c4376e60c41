"""An answer as a grower reads it in a terminal: by stance, most urgent first, one line of why each."""

from __future__ import annotations

import re
from typing import Any, Literal

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from advisor import quantity
from advisor.answer import STANCES
from advisor.sentences import in_words, listed, place_of

_HEADINGS = {"do": "To do", "wait": "Wait with", "avoid": "Leave alone", "look": "Go and see"}
_STYLES = {"do": "bold green", "wait": "bold yellow", "avoid": "bold red", "look": "bold cyan"}
MOST_UNKNOWNS = 6
MOST_WORKINGS = 2  # of an amount
MOST_REASONS = 3  # for what somebody means to do: one alone may hide what speaks strongest after it


def write(answer: dict[str, Any], console: Console | None = None, units: Literal["metric", "us"] = "metric") -> None:
    """Print an answer, with amounts in the units of the orchard; colours only where the terminal has them."""
    out = console or Console(highlight=False)
    out.print(Text(f"{answer['orchard']}, {answer['date']}", style="bold"))
    for place, state in answer["conditions"].items():
        stage = state["stage"]
        known = "seen " + stage["seen"] if stage["seen"] and not stage["estimated"] else "estimated"
        name = f"{in_words(stage['name'])} ({known}{_doubt(stage)})" if stage["name"] else "stage unknown"
        out.print(f"  {place}: {name}")
    for stance in STANCES:
        chosen = [r for r in answer["recommendations"] if r["stance"] == stance]
        if chosen:
            out.print()
            out.print(Text(f"{_HEADINGS[stance]} ({len(chosen)})", style=_STYLES[stance]))
            for alike in _alike(chosen):
                _write_one(alike, out, units)
    if answer["unknowns"]:
        out.print()
        out.print(Text("Worth a look", style="bold"))
        looks = _looks_alike(answer["unknowns"])
        for unknowns in looks[:MOST_UNKNOWNS]:
            unknown, places = unknowns[0], listed([place_of(one) for one in unknowns])
            could = ", ".join(in_words(practice) for practice in unknown["could_change"][:4])
            why = unknown["why"] if len(unknowns) == 1 else _at(unknown["why"], place_of(unknown), places)
            told = f"{why} About {unknown['minutes']} min; could change: {could}." if could else why
            out.print(Padding(told, (0, 0, 0, 2)))
        rest = sum(len(unknowns) for unknowns in looks[MOST_UNKNOWNS:])
        if rest > 0:
            out.print(f"  … and {rest} more (--json lists all).")
    if answer.get("notes"):  # answers kept by an older edition have none
        out.print()
        out.print(Text("How it was read", style="bold"))
        for note in answer["notes"]:
            out.print(Padding(Text(note), (0, 0, 0, 2)))
    for override in answer["overrides"]:
        out.print(f"Own rules or knowledge: {override}")


def _doubt(stage: dict[str, Any]) -> str:
    if stage.get("wrong"):  # answers kept by an older edition do not say
        return ", which cannot be right: look again"
    return ", may be further on" if stage["at_least"] and stage["stale"] else ""


def _at(text: str, place: str, said: str = "each") -> str:
    """A sentence about one place, said of several."""
    return re.sub(rf"(?<![\w-]){re.escape(place)}(?![\w-])", said, text)


def _alike(chosen: list[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    """What is said of several places in the same words, together, in the order of the first."""
    groups: dict[object, list[dict[str, Any]]] = {}
    for r in chosen:
        told = (r["summary"], *r["because"][:1], r["trade_off"] or "", *r["cautions"][:2])
        own = r["id"] if r["amount"] or r["answers"] else None
        key = (r["practice"], r["target"], tuple(r["window"].values()), r["strength"], r["evidence"], own,
               tuple(_at(text, place_of(r)) for text in told))  # fmt: skip
        groups.setdefault(key, []).append(r)
    return list(groups.values())


def _looks_alike(unknowns: list[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    """Looks that are lacking in several places in the same words, together, in the order of the first."""
    groups: dict[object, list[dict[str, Any]]] = {}
    for one in unknowns:
        key = (one["look_at"], one["about"], _at(one["why"], place_of(one)), tuple(one["could_change"][:4]))
        groups.setdefault(key, []).append(one)
    return list(groups.values())


def _write_one(alike: list[dict[str, Any]], out: Console, units: Literal["metric", "us"]) -> None:
    r, several = alike[0], len(alike) > 1
    place = place_of(r)

    def said(text: str) -> str:
        return _at(text, place) if several else text

    head = Text(f"{', '.join(place_of(one) for one in alike)}: ", style="dim")
    head.append(said(r["summary"]), style="default")
    out.print(Padding(head, (0, 0, 0, 2)))
    facts = [_window(r["window"], r["stance"])]
    hours = [one["hours"] for one in alike if one["hours"] is not None]
    if hours:
        facts.append(f"{sum(hours):.3g} h in all" if several else f"{hours[0]:g} h")
    if r["amount"]:
        facts.append(quantity.spoken(r["amount"]["value"], r["amount"]["unit"], units))
    facts.append(f"{r['strength']}, {in_words(r['evidence'])}")
    for word, reason in zip(("why", "and", "and"), r["because"][: MOST_REASONS if r["answers"] else 1], strict=False):
        out.print(Padding(f"{word}: {said(reason)}", (0, 0, 0, 6)))
    out.print(Padding(Text("; ".join(f for f in facts if f), style="dim"), (0, 0, 0, 6)))
    if r["amount"]:
        for line in [w for w in r["workings"] if " = " in w][:MOST_WORKINGS]:
            out.print(Padding(f"reckoned: {line}", (0, 0, 0, 6)))
    if r["trade_off"]:
        out.print(Padding(f"pulls both ways: {said(r['trade_off'])}", (0, 0, 0, 6)))
    if r["cautions"] and r["stance"] in ("do", "look"):
        out.print(Padding(Text(f"take care: {' '.join(r['cautions'][:2])}", style="dim"), (0, 0, 0, 6)))
    rest = f", and the like for {len(alike) - 1} more" if several else ""
    out.print(Padding(Text(f"{r['id']}{rest}", style="dim"), (0, 0, 0, 6)))


def _window(window: dict[str, str | None], stance: str) -> str:
    opens, closes = window["opens"], window["closes"]
    if stance == "wait":
        return f"not before {opens}" if opens else "no date yet"
    if opens and closes:
        return f"{opens} to {closes}" if opens != closes else f"on {opens}"
    return f"from {opens}" if opens else (f"until {closes}" if closes else "")
