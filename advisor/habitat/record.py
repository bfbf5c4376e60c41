"""Everything about the bloom and habitat of an orchard on a day, in one record: see `bloom_for`."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from advisor import words
from advisor.advice import Answer, WeatherGiven, advise
from advisor.answer import Record
from advisor.ecosystem import Knowledge, Plant
from advisor.errors import InputError, Problem
from advisor.facts.climate import Winter
from advisor.facts.situation import Situation
from advisor.habitat import diversity as measures
from advisor.habitat import shelter
from advisor.habitat.choices import Choosing, against_greedy, choices, left_out
from advisor.habitat.distances import distances, room
from advisor.habitat.limits import refusals
from advisor.habitat.needs import in_words, lacks
from advisor.habitat.plans import meetings, plans
from advisor.habitat.ribbon import InBloom, SiteBloom, day_of_week, ribbon, site_bloom, unlisted
from advisor.habitat.terms import Site, Terms
from advisor.habitat.weeks import Parts, competition, gaps, seasons, table
from advisor.observation import Sward
from advisor.orchard import OrchardFile
from advisor.quantity import Unreadable, show
from advisor.rulebook import Rulebook

# The weeks of bloom were worked out where apples are in full bloom on this day (month, day), and half a year on in the
# south; from so many weeks' difference on, late flowers are told to stray.
BLOOM_NORTH, BLOOM_SOUTH, LATE_FROM = (5, 8), (11, 8), 2


def bloom(
    orchard: OrchardFile | str | Path | Mapping[str, Any],
    on: dt.date | dt.datetime | str | None = None,
    weather: WeatherGiven = None,
    forecast: WeatherGiven = None,
    *,
    wanted: Iterable[str] | str | None = None,
    terms: Terms | Mapping[str, Any] | None = None,
    knowledge: Knowledge | None = None,
    rules: Rulebook | None = None,
    exact: bool = True,
) -> Record:
    """The bloom of an orchard on a day: takes what `advise` takes, and what `bloom_for` does."""
    answer = advise(orchard, on=on, weather=weather, forecast=forecast, rules=rules, knowledge=knowledge)
    return bloom_for(answer, wanted=wanted, terms=terms, exact=exact)


def bloom_for(
    answer: Answer,
    *,
    wanted: Iterable[str] | str | None = None,
    terms: Terms | Mapping[str, Any] | None = None,
    exact: bool = True,
) -> Record:
    """The succession of bloom of an orchard, what it lacks, and which plants to add.

    wanted: plants asked about; for each the record says why it is or is not chosen. terms: what is accepted of new
    plants (see `Terms`). exact: False for the greedy way alone.

    The record is ready for JSON: `weeks` (from this site's apple full bloom, with dates where that is known), `ribbon`,
    `gaps`, `seasons`, `competition`, `spray_meetings`, `distances`, `shelter`, `diversity`, `lacks`, `choices`,
    `left_out` and `notes`. Raises InputError for anything given that cannot be read.
    """
    now = answer.run.now
    known = now.knowledge
    accepts = _by_id(Terms.of(terms), known)
    asked = _asked(wanted, known)
    site = site_bloom(now)
    flowers = ribbon(now, site)
    parts = Parts.of(known, now.region)
    blank = unlisted(now)
    seen = frozenset(one.plant.id for one in flowers)
    ground = Site.of(now, accepts, seen)
    accepted = [plant for plant in known.of_kind(Plant).values() if not refusals(plant, ground, accepts, known)]
    lacking, beyond = lacks(now, flowers, parts, accepted, accepts.nitrogen)
    choosing = Choosing.of(known, ground, accepts, accepted, lacking, exact)
    chosen = choices(choosing)
    planned = plans(now, answer)
    winter = shelter.sites(now)
    found = {
        "orchard": now.file.orchard.name,
        "date": now.on.isoformat(),
        "units": now.file.orchard.units,
        "hemisphere": "south" if now.latitude < 0 else "north",
        "full_bloom": {"date": _iso(site.date), "seen": site.seen, "text": site.why},
        "week_now": None if site.date is None else round((now.on - site.date).days / 7, 1),
        "season": {"first_week": parts.early, "last_week": parts.ends - 1, "sources": list(parts.sources)},
        "ribbon": [_row(one, site) for one in flowers],
        "weeks": table(flowers, site, parts),
        "gaps": gaps(flowers, site, parts, not blank),
        "seasons": seasons(flowers, parts, not blank),
        "competition": competition(flowers, site, now),
        "spray_meetings": meetings(planned, flowers, site, now),
        "distances": distances(now, flowers),
        "shelter": {
            "allies": shelter.ledger(now, winter),
            "taken": shelter.taken(now, winter, planned, site),
            "stems": shelter.stems(now),
        },
        "room": room(now),
        "diversity": measures.diversity(now, flowers, parts, accepted, accepts.nitrogen),
        "winter": {
            "coldest_c": None if ground.winter.coldest is None else round(ground.winter.coldest, 1),
            "zone": ground.winter.zone,
            "known_by": ground.winter.known_by,
            "text": ground.winter.text,
        },
        "lacks": in_words(lacking),
        "beyond": beyond,
        "terms": accepts.model_dump(mode="json"),
        "choices": chosen,
        "choosing": against_greedy(choosing),
        "left_out": left_out(choosing, asked, chosen),
        "notes": _notes(now, site, flowers, blank, accepts, ground, chosen, lacking, choosing),
    }
    return Record(Record.of(found))


def _row(one: InBloom, site: SiteBloom) -> dict[str, Any]:
    begins, ends = day_of_week(site, one.begin), day_of_week(site, one.end)
    return {
        "plant": one.plant.id,
        "name": one.plant.name,
        "latin": one.plant.latin,
        "place": one.place,
        "role": one.role,
        "first_week": round(one.begin, 2),
        "last_week": round(one.end, 2),
        "from": _iso(begins),
        "to": _iso(ends),
        "seen": one.seen,
        "for_whom": one.whom,
        "nectar": one.plant.nectar,
        "pollen": one.plant.pollen,
        "long_tongues": one.nectar,
        "short_tongues": one.short_tongues,
        "feeds_bees": one.feeds,
        "why": one.why or None,
        "evidence": one.plant.bloom.evidence if one.plant.bloom else one.plant.evidence,
        "sources": [one.plant.bloom.source] if one.plant.bloom and one.plant.bloom.source else list(one.plant.sources),
    }


def _notes(
    now: Situation,
    site: SiteBloom,
    flowers: Sequence[InBloom],
    blank: Sequence[str],
    terms: Terms,
    ground: Site,
    chosen: Sequence[Mapping[str, Any]],
    lacking: Sequence[object],
    choosing: Choosing,
) -> list[str]:
    """What is not known, what was taken for granted, and what comes before this advice."""
    notes = []
    if blank:
        notes.append(f"What grows in {', '.join(blank)} is not listed: its bloom is unknown, not nothing, so a gap found "
                     "here may be none. List the plants to know.")  # fmt: skip
    for look in now.observations:
        if isinstance(look, Sward) and look.in_flower and look.block in blank and now.this_season(look.date):
            notes.append(
                f"On {look.date} {show(look.in_flower, 'share')} of the sward of {look.block} was in flower; name the plants."
            )
    if site.date is None:
        notes.append(
            "Weeks are counted from apple full bloom and carry no dates, since its day is not known this season."
        )
    elif not site.seen:
        notes.append("Dates rest on an estimated day of apple full bloom; write down the day you see it.")
    silent = [one.plant.name for one in flowers if not one.feeds]
    if silent:
        notes.append(f"Of no use to bees, so not counted: {', '.join(dict.fromkeys(silent))}.")
    if now.file.unknown_words:
        notes.append(f"Not known here, and so not counted: {', '.join(now.file.unknown_words)}.")
    notes.append(_bloom_note(flowers))
    if site.date is not None and (late := _late_note(site.date, now.latitude)):
        notes.append(late)
    if lacking:
        if terms.prices:
            notes.append("The cheapest set is sought, and only plants with a price are in it; room is yours to judge.")
        else:
            notes.append("The fewest kinds are sought. Give what enough of each costs, in money or hours (--price aster=12), "
                         "and the cheapest set is sought; how many of each is yours to say.")  # fmt: skip
        if ground.dry_by_sky:
            notes.append("How moist the ground is, is not given (site: dry, moist or wet); every whole summer month in the "
                         "weather was dry, so it is taken as dry.")  # fmt: skip
        elif not ground.moisture:
            notes.append(
                "How moist the ground is, is not given (site: dry, moist or wet), so no plant was left out for it."
            )
        notes.append(_winter_note(ground.winter))
        unknown = [words for words, given in (("texture (soil)", ground.textures), ("pH (a soil test)", ground.ph))
                   if not given]  # fmt: skip
        if unknown:
            verb = "is" if len(unknown) == 1 else "are"
            notes.append(f"The soil's {' and '.join(unknown)} {verb} not known, so choosy plants were not held to it.")
        if terms.grazed is None and not ground.grazed:
            notes.append("No grazing is noted; if animals come in, say so, and plants poisonous to them are left out.")
        if not ground.regions:
            notes.append("The region is not known, so plants that are invasive anywhere were left out.")
        notes.append("Before planting, look at your own region's list of invasive plants: it comes before this advice.")
        if not chosen:
            limit = f" with at most {terms.most} kinds" if terms.most else ""
            notes.append(f"No set of plants that are accepted here fills all that is lacking{limit}.")
        if choosing.method == "greedy":
            notes.append("Chosen the quick way, which may take more kinds than needed; the exact way needs highspy "
                         "(pip install 'underbough[scale]').")  # fmt: skip
    return notes


def _bloom_note(flowers: Sequence[InBloom]) -> str:
    plants = {one.plant.id: one.plant for one in flowers}
    recalled = [p.name for p in plants.values() if p.bloom is None or p.bloom.evidence != "published"]
    of_them = f"; those of {', '.join(recalled)} are from memory" if recalled else ""
    return f"Bloom weeks shift with kind, site and year{of_them}. What you see in flower counts: write it down."


def _late_note(full_bloom: dt.date, latitude: float) -> str | None:
    """Late flowers go by the length of day more than by spring's warmth (common practice, no source)."""
    usual = dt.date(full_bloom.year, *(BLOOM_SOUTH if latitude < 0 else BLOOM_NORTH))
    weeks = round((full_bloom - usual).days / 7)
    if abs(weeks) < LATE_FROM:
        return None
    side, moved = ("later", "sooner") if weeks > 0 else ("earlier", "later")
    return (f"Apples bloom about {abs(weeks)} weeks {side} here than where these weeks were worked out. Flowers of late "
            f"summer and autumn keep nearer to their date: look for them {moved} than told, and not after hard frost.")  # fmt: skip


def _winter_note(winter: Winter) -> str:
    if winter.coldest is None:
        return (f"{winter.text} So no plant was left out for its winters: each says what it stands. Write coldest, such "
                "as -26 °C, -15 °F or zone 5b.")  # fmt: skip
    if winter.known_by == "weather":
        return f"{winter.text} Plants that would not stand it were left out; write coldest to be sure."
    return f"{winter.text} Plants that would not stand it were left out."


def _by_id(terms: Terms, knowledge: Knowledge) -> Terms:
    """The terms with prices by the ids of plants, whatever names people wrote."""
    prices: dict[str, float] = {}
    for name, price in terms.prices.items():
        plant = _plant(name, knowledge, "terms.prices")
        if plant.id in prices:
            raise InputError(
                Problem("request", "terms.prices", f"{plant.name} has two prices", "Give one.", value=name[:60])
            )
        prices[plant.id] = price
    return terms.model_copy(update={"prices": prices})


def _asked(wanted: Iterable[str] | str | None, knowledge: Knowledge) -> list[Plant]:
    names = [wanted] if isinstance(wanted, str) else list(wanted or ())
    plants = [_plant(name, knowledge, "wanted") for name in names]
    return list({plant.id: plant for plant in plants}.values())


def _plant(name: str, knowledge: Knowledge, place: str) -> Plant:
    node = knowledge.resolve(name, kind="plant")
    if isinstance(node, Plant):
        return node
    try:
        found = knowledge.resolve(words.resolve("plant", name), kind="plant")
    except Unreadable as fault:
        raise InputError(Problem("request", place, fault.message, fault.mend, value=name[:60])) from None
    if isinstance(found, Plant):
        return found
    raise InputError(Problem("request", place, "nothing is known of this plant", "Ask about a plant of the knowledge.",
                             value=name[:60]))  # fmt: skip


def _iso(day: dt.date | None) -> str | None:
    return None if day is None else day.isoformat()
