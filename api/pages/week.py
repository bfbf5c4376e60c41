"""What stands on the week page: the recommendations by place and stance, in a grower's words."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any
from urllib.parse import quote, urlencode

from advisor.answer import STANCES
from advisor.api.pages import saying
from advisor.journal.deciding import REASONS, standing
from advisor.journal.kept import Decision
from advisor.orchard import Block, Habitat, OrchardFile
from advisor.sentences import in_words

Shown = dict[str, Any]

MOST_PRESSING = 3
MOST_LOOKS, MOST_MORE_LOOKS = 5, 12
LONGEST_CARE = 160
DECIDED_WORDS = {"done": "Done", "refused": "Not to be done", "overridden": "Done all the same"}
REFUSE_WORDS = {"refused": "Not doing it", "overridden": "Doing it all the same"}
WHOLE = "whole-orchard"


def week(
    answer: Mapping[str, Any],
    file: OrchardFile,
    orchard: str,
    decisions: Iterable[Decision] = (),
    answer_of: Callable[[str], Mapping[str, Any]] = lambda _: {"recommendations": []},
) -> Shown:
    """The context of the week page. decisions: of this orchard, oldest first. answer_of: the answer of an advice id, for
    decisions on what is no longer advised."""
    on, units = str(answer["date"]), file.orchard.units
    day = dt.date.fromisoformat(on)
    lately, before = _decided(decisions, day)
    intents = {o.id: o for o in file.observations if o.kind == "intent"}
    shown = [_entry(r, on, units, orchard, intents, before.get(r["id"])) for r in answer["recommendations"]]
    open_ = [r for r in shown if r["id"] not in lately]
    advised = {r["id"]: r for r in shown}
    for id in [id for id in lately if id not in advised]:
        advised |= {r["id"]: r for r in answer_of(lately[id].advice)["recommendations"] if r["id"] == id}
    looks = [look(u, orchard) for u in answer["unknowns"]]
    return {
        "name": answer["orchard"],
        "orchard": orchard,
        "on": on,
        "before": (day - dt.timedelta(days=7)).isoformat(),
        "after": (day + dt.timedelta(days=7)).isoformat(),
        "first": _pressing(open_),
        "hours_words": hours_words(open_, file, day),
        "places": _places(open_, [(advised.get(id), d) for id, d in lately.items()], answer["conditions"], file),
        "cautions": list(dict.fromkeys(c for r in open_ if r["care"] for c in r["cautions"])),
        "looks": looks[:MOST_LOOKS],
        "more_looks": looks[MOST_LOOKS:MOST_MORE_LOOKS],
        "left_looks": len(looks[MOST_MORE_LOOKS:]),
        "notes": file.notes,
        "advice_id": answer["advice"],
        "edition": answer["edition"],
    }


def refusal_of(r: Mapping[str, Any]) -> str:
    """The decision against a recommendation: work is refused, a warning is overridden."""
    return "refused" if r["stance"] in ("do", "look") else "overridden"


def _decided(decisions: Iterable[Decision], day: dt.date) -> tuple[dict[str, Decision], dict[str, Decision]]:
    """The newest decision that stands on each recommendation: those of the last seven days, which settle it for this week,
    and those made before, of which it is only told that they were made. Decisions after the day are not seen."""
    newest: dict[str, Decision] = {}
    for one in standing(decisions):
        if one.on is not None and one.on <= day.isoformat():
            newest[one.recommendation] = one
    since = (day - dt.timedelta(days=6)).isoformat()
    lately = {id: one for id, one in newest.items() if (one.on or "") >= since}
    return lately, {id: one for id, one in newest.items() if id not in lately}


def _entry(
    r: Mapping[str, Any], on: str, units: str, orchard: str, intents: Mapping[str, Any], before: Decision | None
) -> Shown:
    words = saying.window(r["window"], r["stance"], on)
    meant = intents.get(r["answers"] or "")
    facts = [words]
    if r["hours"]:
        facts.append(f"about {saying.hours(r['hours'])}")
    if r["amount"]:
        facts.append(saying.amount(r["amount"], units))
    facts.append(f"{saying.STRENGTH_WORDS[r['strength']]}, {saying.EVIDENCE_WORDS[r['evidence']]}")
    return {
        **r,
        "where": r["block"] or r["habitat"] or "whole orchard",
        "place": _place(r),
        "window_words": words,
        "facts": [saying.sentence(facts[0]), *facts[1:]],
        "meant_day": f" on {saying.day(meant.day)}" if meant is not None and getattr(meant, "day", None) else "",
        "care": care(r["cautions"]) if r["stance"] in ("do", "look") else None,
        "before": _told(before) if before else "",
        "why_at": f"/at/{orchard}/why/{quote(r['id'], safe='')}?on={on}",
        "refuse_at": f"/at/{orchard}/refuse/{quote(r['id'], safe='')}?on={on}",
        "refuse_words": REFUSE_WORDS[refusal_of(r)],
    }


def _place(r: Mapping[str, Any]) -> str:
    return str(r["block"] or r["habitat"] or WHOLE)


def care(cautions: Sequence[str]) -> Shown | None:
    """The cautions of a job: short ones whole, long ones by their first words, with the whole text to open."""
    if not cautions:
        return None
    whole = " ".join(cautions)
    gist = " ".join(re.split(r"[,;:.]", one, maxsplit=1)[0].strip() + "." for one in cautions)
    return {"gist": gist, "whole": whole} if len(whole) > LONGEST_CARE else {"gist": whole, "whole": ""}


def _pressing(shown: Sequence[Shown]) -> list[Shown]:
    todo = [r for r in shown if r["stance"] in ("do", "look")]
    return sorted(todo, key=lambda r: (-r["urgency"], r["window"]["closes"] or "9999", r["id"]))[:MOST_PRESSING]


def hours_words(shown: Iterable[Shown], file: OrchardFile, day: dt.date) -> str:
    """The hours that this week's work takes, beside the hours that the grower has."""
    ends = (day + dt.timedelta(days=6)).isoformat()
    due = [r for r in shown if r["stance"] in ("do", "look") and (r["window"]["opens"] or "") <= ends]
    wanted = sum(r["hours"] or 0.0 for r in due)
    unsaid = sum(1 for r in due if not r["hours"])
    text = (
        f"Work that may begin this week: about {saying.hours(wanted)}" if wanted else "No hours are counted this week"
    )
    if unsaid and wanted:
        text += f", and {saying.count(unsaid, 'thing')} whose hours are not known"
    supply = (file.orchard.hours_per_week or {}).get(day.month)
    if supply is None:
        return f"{text}. Your hours a week are not given."
    return f"{text}. You have {saying.hours(supply)} a week in {day:%B}."


def _places(
    open_: Sequence[Shown],
    decided: Sequence[tuple[Mapping[str, Any] | None, Decision]],
    conditions: Mapping[str, Any],
    file: OrchardFile,
) -> list[Shown]:
    """The whole orchard first where something concerns it, then the blocks and habitats in the order of the file."""
    found = []
    everywhere: list[Block | Habitat | None] = [None, *file.blocks, *file.habitats]
    for place in everywhere:
        id = WHOLE if place is None else place.id
        here = [r for r in open_ if r["place"] == id]
        past = [_decision(r, d) for r, d in decided if (_place(r) if r else _place_in(d, file)) == id]
        if not here and not past and not isinstance(place, Block):
            continue
        found.append({
            "id": id,
            "title": "Whole orchard" if place is None else saying.sentence(in_words(place.id)),
            "state": _state(place, conditions),
            "decided": past,
            "stances": [(s, chosen) for s in STANCES if (chosen := [r for r in here if r["stance"] == s])],
        })  # fmt: skip
    return found


def _place_in(decision: Decision, file: OrchardFile) -> str:
    """The place of a recommendation that is no longer made: one of the parts of its id, if it names one."""
    parts = decision.recommendation.split(".")
    ids = [*(block.id for block in file.blocks), *(habitat.id for habitat in file.habitats)]
    return next((id for id in ids if id in parts[1:]), WHOLE)


def _state(place: Block | Habitat | None, conditions: Mapping[str, Any]) -> str:
    if place is None:
        return ""
    if isinstance(place, Habitat):
        return in_words(place.kind)
    fruit = in_words(place.fruit)
    trees = f"{saying.count(place.trees, f'{fruit} tree')}" if place.trees else fruit
    return f"{trees}, {saying.stage(conditions[place.id]['stage'])}"


def _decision(r: Mapping[str, Any] | None, decision: Decision) -> Shown:
    what = r["summary"] if r else saying.sentence(saying.name_of(decision.recommendation.split(".")[0])) + "."
    told = {"word": DECIDED_WORDS[decision.state], "text": what, "told": _told(decision)}
    return {**told, "advice": decision.advice, "rid": decision.recommendation}


def _told(decision: Decision) -> str:
    """A decision in a sentence: noted as done Mon 18 May, 3 h."""
    word = DECIDED_WORDS[decision.state].lower()
    told = [f"You noted it as {word}{f' on {saying.day(decision.on)}' if decision.on else ''}"]
    if decision.hours:
        told.append(f"It took {saying.hours(decision.hours)}")
    for reason in (decision.reason, decision.note):
        if reason:
            told.append(REASONS[decision.state].get(reason, reason).rstrip("."))
    return ". ".join(told) + "."


def look(unknown: Mapping[str, Any], orchard: str) -> Shown:
    """Something that nobody has looked at, with the way to record it."""
    could = [saying.name_of(p) for p in unknown["could_change"][:3]]
    more = len(unknown["could_change"]) - len(could)
    where = {"kind": unknown["look_at"], "block": unknown["block"], "habitat": unknown["habitat"],
             "about": unknown["about"]}  # fmt: skip
    weather = unknown["look_at"] in ("weather", "forecast")
    return {
        **unknown,
        "could": ", ".join(could) + (f" and {more} more" if more > 0 else ""),
        "address": None if weather else f"/at/{orchard}/walk?{urlencode({k: v for k, v in where.items() if v})}",
    }
