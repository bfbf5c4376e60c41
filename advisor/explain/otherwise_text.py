"""What-if, why-not and look-next as a grower reads them in a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from advisor.sentences import in_words

MOST_LOOKS = 10
MOST_CONDITIONS = 6  # of a rule, those that hold told in one line

_STATUS = {
    "advised": "is advised",
    "asked-and-answered": "was asked, and is not to be done now",
    "waiting-for-a-look": "waits for a look",
    "proposed-and-lost": "is proposed, and something outweighs it",
    "advised-against": "is advised against",
    "not-proposed": "is not proposed",
    "impossible": "is not proposed here",
}
_MARKS = {True: "+", False: "-", "unknown": "?"}
_WHAT = {"look": "see", "say": "tell", "have": "have", "work": "do first", "mean": "mean to do", "wait": "in time"}
_STANCE = {"do": "do", "wait": "wait with", "avoid": "leave", "look": "look at"}


def write_what_if(found: Mapping[str, Any]) -> str:
    """What appears, disappears and moves."""
    lines: list[str] = []
    for name, heading in (("appears", "Appears"), ("disappears", "Disappears"), ("moves", "Moves")):
        if found[name]:
            lines += ["", f"{heading} ({len(found[name])})"]
            for one in found[name]:
                lines += _changed(one)
    if not lines:
        lines = ["", "Nothing in the advice changes."]
    if found["plan"] is not None:
        lines += ["", *_plan(found["plan"])]
    return "\n".join([*lines[1:], *(f"Note: {note}" for note in found["notes"])])


def _plan(found: Mapping[str, Any]) -> Iterator[str]:
    """What fits into the hours now, and what no longer does."""
    if not any(found.values()):
        yield "Nothing in the plan changes."
        return
    yield "In the plan"
    for one in found["disappears"]:
        yield f"  no longer fits: {_job(one)}"
        if one["kept_out_by"]:
            relief = f"; would fit with {one['relief']}" if one["relief"] else ""
            yield f"      kept out by {one['kept_out_by']}{relief}"
    yield from (f"  fits now: {_job(one)}" for one in found["appears"])
    for one in found["moves"]:
        yield f"  moves: {_where(one)}: {one['name']}, {_when(one['before'])} before, {_when(one['now'])} now"


def _job(one: Mapping[str, Any]) -> str:
    return f"{_where(one)}: {one['name']}, {_when(one)}"


def _when(one: Mapping[str, Any]) -> str:
    days = one["days"]
    return f"{one['hours']:g} h {f'on {days[0]}' if len(days) == 1 else f'from {days[0]} to {days[-1]}'}"


def _changed(one: Mapping[str, Any]) -> Iterator[str]:
    yield f"  {_where(one)}: {one['summary']}"
    for name in one.get("changed", ()):
        if name == "because":
            yield from (f"      no longer: {text}" for text in one["before"][name])
        else:
            yield f"      {name}: {_said(one['before'][name])} before, {_said(one['now'][name])} now"
    yield from (f"      why: {text}" for text in one["why"])
    yield f"      {one['id']}"


def _said(value: Any) -> str:
    if isinstance(value, Mapping) and "opens" in value:
        return f"{value['opens'] or 'open'} to {value['closes'] or 'open'}"
    if isinstance(value, Mapping):
        return f"{value['value']:g} {value['unit']}"
    if isinstance(value, float):
        return f"{value:g}"
    return "not known" if value is None else str(value)


def write_why_not(found: Mapping[str, Any]) -> str:
    """Why something is not advised, what it lost to, and what would bring it about."""
    practice = in_words(str(found["practice"]))
    lines = [f"{practice[0].upper()}{practice[1:]} in {_where(found)} {_STATUS[found['status']]}.", found["reason"]]
    if found["lost_to"]:
        lines += ["", "What speaks against it"]
        for one in found["lost_to"]:
            lines += [f"  {one['text']}", f"      {one['id']}: {one['effect']}, decided by {one['by']}"]
    change = found["smallest_change"]
    if change is not None:
        lines += [
            "",
            f"The smallest change that brings it about ({_count(change['inputs'], 'input')}, run again and proven)",
        ]
        for one in change["changes"]:
            minutes = f" (about {one['minutes']} min)" if one["minutes"] else ""
            lines.append(f"  {_WHAT[one['what']]}: {one['text']}{minutes}")
        brings = change["brings"]
        lines.append(f"  then {brings['stance']}: {brings['summary']}")
    if found["rules"] and found["status"] != "advised":
        lines += ["", "The rules that come nearest (+ holds, - does not, ? not known)"]
        for rule in found["rules"]:
            lines += _rule(rule, "  ")
    return "\n".join(lines)


def _rule(rule: Mapping[str, Any], indent: str) -> Iterator[str]:
    yield f"{indent}{rule['id']}"
    holding = [one for one in rule["conditions"] if one["state"] is True]
    for one in rule["conditions"]:
        if one["state"] is not True:
            yield f"{indent}  {_MARKS[one['state']]} {one['text']}"
            for behind in one["from"]:
                yield from _rule(behind, indent + "      ")
    if holding:
        names = [_holding(one) for one in holding[:MOST_CONDITIONS]]
        more = f" and {len(holding) - MOST_CONDITIONS} more" if len(holding) > MOST_CONDITIONS else ""
        yield f"{indent}  + in order: {'; '.join(names)}{more}"


def _holding(one: Mapping[str, Any]) -> str:
    text = str(one["text"])
    return f"no {text.partition(': not so, which')[0]}" if one["negated"] else text


def write_look_next(found: Iterable[Mapping[str, Any]]) -> str:
    """The most decisive looks first."""
    looks = list(found)
    lines = []
    for one in looks[:MOST_LOOKS]:
        share = "not tried" if one["decisive"] is None else f"could change up to {round(one['decisive'] * 100):d} % of the advice"
        lines.append(f"{one['why']} About {one['minutes']} min; {share}.")
        for answer in one["answers"]:
            lines.append(f"    {answer['found']}: {_outcome(answer)}")
    if len(looks) > MOST_LOOKS:
        lines.append(f"… and {len(looks) - MOST_LOOKS} more (--json lists all).")
    return "\n".join(lines) if lines else "No look could change this advice."


def _outcome(answer: Mapping[str, Any]) -> str:
    parts = [f"then {_STANCE[one['stance']]} {_act(one)}" for one in answer["appears"]]
    parts += [f"no longer {_STANCE[one['stance']]} {_act(one)}" for one in answer["disappears"]]
    for one in answer["moves"]:
        same = one["before"] == one["stance"]
        turned = "gets other days or another strength" if same else f"{one['before']} becomes {one['stance']}"
        parts.append(f"{_act(one)} {turned}")
    return "; ".join(parts) or "nothing changes"


def _act(one: Mapping[str, Any]) -> str:
    target = f" ({in_words(one['target'])})" if one["target"] else ""
    return f"{in_words(one['practice'])}{target} in {_where(one)}"


def _where(one: Mapping[str, Any]) -> str:
    return one["block"] or one["habitat"] or "the orchard"


def _count(number: int, name: str) -> str:
    return f"{number} {name}{'' if number == 1 else 's'}"
