"""The shelter ledger: where each ally could winter here, what is known to stand, and what planned work would take.

A winter place is present (seen, or what such a habitat is made of), likely (such places usually have it), absent
(looked for, or not possible here) or unknown (nobody has looked). Unknown is not absent.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Literal

from advisor.ecosystem import Ally, Knowledge, Link, Plant, When
from advisor.facts.situation import SHORT_SWARD, Situation
from advisor.habitat.plans import Plan
from advisor.habitat.ribbon import SiteBloom
from advisor.observation import LeafFall, Stems, Sward, TreeSign

State = Literal["present", "likely", "unknown", "absent"]
_BEST: tuple[State, ...] = ("present", "likely", "unknown", "absent")
ELSEWHERE = "elsewhere"
# Allies that do not live in a region, or were brought there and do harm: no winter place is told of (from memory).
_AMERICAN = ("new-york", "new-england", "michigan", "ontario", "mid-atlantic", "washington", "california")
NOT_HERE: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(_AMERICAN, ("hedgehog",)),
    "australia": ("fox", "weasel", "hedgehog", "woodpecker", "shrew", "tit"),
    "new-zealand": ("fox", "weasel", "hedgehog", "woodpecker", "shrew", "tit", "wren", "snake"),
}
# Bark of apple and pear is smooth at first; cracks that shelter anything take about ten years (common practice).
ROUGH_BARK_YEARS = 10


@dataclass(frozen=True)
class Found:
    """What is known of one winter place at one spot."""

    site: str
    place: str
    state: State
    why: str


def sites(now: Situation) -> list[Found]:
    """Every winter place that anything is known of, and where; of several looks at one spot the latest counts."""
    found = {(one.site, one.place): one for one in (*_of_blocks(now), *_of_habitats(now))}
    for one in _of_looks(now):
        found[(one.site, one.place)] = one
    return sorted(found.values(), key=lambda one: (one.site, one.place))


def ledger(now: Situation, known: Iterable[Found]) -> list[dict[str, Any]]:
    """For each ally its winter places, the best known first; `state` is that of the best."""
    by_site: dict[str, list[Found]] = {}
    for one in known:
        by_site.setdefault(one.site, []).append(one)
    rows = []
    for ally in now.knowledge.of_kind(Ally).values():
        winters = [site for site in ally.winters_in or () if site != ELSEWHERE]
        if not winters or ally.id in NOT_HERE.get(now.region, ()):
            continue
        places = [_site(site, by_site.get(site, []), now.knowledge) for site in winters]
        places.sort(key=lambda row: _BEST.index(row["state"]))
        rows.append({"ally": ally.id, "name": ally.name, "state": places[0]["state"], "sites": places})
    return sorted(rows, key=lambda row: (-_BEST.index(row["state"]), row["ally"]))


def _site(site: str, found: list[Found], knowledge: Knowledge) -> dict[str, Any]:
    best = min(found, key=lambda one: _BEST.index(one.state), default=None)
    standing = [one for one in found if best is not None and one.state == best.state]
    return {
        "site": site,
        "name": knowledge.nodes[site].name,
        "state": best.state if best else "unknown",
        "places": sorted({one.place for one in standing}),
        "why": best.why if best else "nobody has looked",
    }


def taken(now: Situation, known: Iterable[Found], plans: Iterable[Plan], site: SiteBloom) -> list[dict[str, Any]]:
    """What each planned practice would take away of winter places that stand or may stand there, and from whom."""
    at = {(one.site, one.place): one.state for one in known}
    rows = []
    for plan in plans:
        when = When(weeks=None if site.date is None else (plan.opens - site.date).days / 7)
        for link in now.knowledge.links_from(plan.practice.key):
            if link.link != "disturbs" or when.within(link.season) is False:
                continue
            allies = _sheltered(link.end, now.knowledge)
            state = _state(at, link.end, plan)
            if not allies or state == "absent":
                continue
            rows.append(_row(now, plan, link, allies, state, when))
    return rows


def _row(
    now: Situation, plan: Plan, link: Link, allies: list[tuple[Ally, Link]], state: State, when: When
) -> dict[str, Any]:
    inside = [ally for ally, shelter in allies if when.within(shelter.season) is True]
    said = {"present": "stands there", "likely": "probably stands there", "unknown": "may stand there: go and look"}
    winter = "while they are in it" if inside else "before winter, when they would need it"
    names = [ally.name for ally in inside] or [ally.name for ally, _ in allies]
    stance = f"; the advice on it is: {plan.stance}" if plan.how == "intended" and plan.stance else ""
    name = plan.practice.name
    return {
        **plan.told(),
        "takes": link.end,
        "state": state,
        "share": {1: "some", 2: "much", 3: "nearly all"}[link.strength],
        "allies": sorted(ally.id for ally, _ in allies),
        "inside": sorted(ally.id for ally in inside),
        "text": f"{name[0].upper()}{name[1:]} in {plan.place} {plan.when} takes "
        f"{ {1: 'some', 2: 'much', 3: 'nearly all'}[link.strength] } of the {now.knowledge.nodes[link.end].name} "
        f"({said[state]}) from {', '.join(names)} {winter}{stance}.",
        "evidence": link.evidence,
        "sources": [link.source] if link.source else [],
    }


def _sheltered(site: str, knowledge: Knowledge) -> list[tuple[Ally, Link]]:
    found = []
    for link in knowledge.links_from(site):
        ally = knowledge.nodes[link.end]
        if link.link == "shelters" and isinstance(ally, Ally) and site in (ally.winters_in or ()):
            found.append((ally, link))
    return found


def _state(at: dict[tuple[str, str], State], site: str, plan: Plan) -> State:
    place = plan.block or plan.habitat
    states = [state for (name, spot), state in at.items() if name == site and place in (None, spot)]
    return min(states, key=_BEST.index, default="unknown")


# --- what is known of each place --------------------------------------------------------------


def _of_blocks(now: Situation) -> Iterator[Found]:
    for block in now.blocks:
        yield Found("twigs", block.id, "present", "the trees have them")
        if block.planted is None:
            yield Found("bark-crevices", block.id, "likely", "grown trees have rough bark")
        else:
            old = now.on.year - block.planted >= ROUGH_BARK_YEARS
            yield Found(
                "bark-crevices",
                block.id,
                "present" if old else "absent",
                f"planted {block.planted}: bark is {'rough' if old else 'smooth still'}",
            )
        if block.floor == "bare":
            yield Found("bare-ground", block.id, "present", "the floor is bare")
            yield Found("tall-grass", block.id, "absent", "the floor is bare")
        elif block.floor is not None:
            yield Found("soil", block.id, "present", f"the floor is {block.floor} and is not dug")
        if block.guards is not None and block.guards.packed_with:
            yield Found("trunk-cover", block.id, "present", "the guards are packed")
        yield from _of_plants(now, block.id, block.understory or ())


def _of_habitats(now: Situation) -> Iterator[Found]:
    for habitat in now.file.habitats:
        yield Found(habitat.kind, habitat.id, "present", f"it is a {now.knowledge.nodes[habitat.kind].name}")
        if habitat.kind == "nest-boxes":
            yield Found("nest-holes", habitat.id, "likely", "boxes for bees have them")
        yield from _of_plants(now, habitat.id, habitat.plants or ())
        for link in now.knowledge.links_from(habitat.kind):
            if link.link == "builds" and now.knowledge.nodes[link.end].kind == "habitat":
                state: State = "present" if link.strength >= 2 else "likely"
                name = now.knowledge.nodes[habitat.kind].name
                yield Found(link.end, habitat.id, state, f"a {name} {'has' if state == 'present' else 'may have'} it")


def _of_plants(now: Situation, place: str, names: Iterable[str]) -> Iterator[Found]:
    for name in names:
        plant = now.knowledge.resolve(name, kind="plant")
        if isinstance(plant, Plant) and plant.stems in ("standing", "hollow", "pithy") and plant.form != "grass":
            yield Found("standing-stems", place, "likely", f"{plant.name} leaves stems unless they are cut")


def _of_looks(now: Situation) -> Iterator[Found]:
    """What was seen this season, in the order of its dates, so that a later look overrules."""
    for look in now.observations:
        if not now.this_season(look.date):
            continue
        said: list[tuple[str, bool]] = []
        match look:
            case Sward() if look.height is not None:
                said = [("tall-grass", look.height > SHORT_SWARD), ("short-grass", look.height <= SHORT_SWARD)]
            case Stems() if look.standing is not None:
                said = [("standing-stems", look.standing > 0)]
                if isinstance(look.first_cut, int):
                    said.append(("stem-stubble", look.standing > 0))
                elif look.first_cut == "never":
                    said.append(("stem-stubble", False))
            case LeafFall() if look.fallen is not None:
                said = [("leaf-litter", look.fallen > 0)]
            case TreeSign() if look.sign == "dead-wood":
                said = [("dead-wood", look.share is None or look.share > 0)]
            case _:
                continue
        places = [look.block or look.habitat] if look.block or look.habitat else [b.id for b in now.blocks]
        for site, there in said:
            for place in places:
                seen = f"seen on {look.date}" if there else f"looked for on {look.date}"
                yield Found(site, str(place), "present" if there else "absent", seen)


def stems(now: Situation) -> list[dict[str, Any]]:
    """The stems that were looked at, by age: whether bees may be nesting in them."""
    latest: dict[str, Stems] = {}
    for look in now.observations:
        if isinstance(look, Stems) and look.first_cut is not None:
            latest[str(look.habitat or look.block or "orchard")] = look
    row = now.knowledge.figure("stems.nests-from-year").value(now.region)
    found = []
    for place, look in latest.items():
        if look.first_cut == "never":
            text = f"{place}: never cut, so no bee nests in them yet; cut to 20-60 cm in winter they open for nests."
        else:
            text = (
                f"{place}: first cut in {look.first_cut}; bees nest in a stalk from its year {row.value:g} on and "
                "their young stay to the next summer: leave it until it falls."
            )
        found.append({"place": place, "first_cut": look.first_cut, "seen": _iso(look.date), "text": text,
                      "sources": [row.source] if row.source else []})  # fmt: skip
    return found


def _iso(day: dt.date) -> str:
    return day.isoformat()
