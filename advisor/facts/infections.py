"""Which wettings infect which trees: one list for each disease, read off the season's leaves by its published figures.

Only what is certain infects: hours that are known to have been wet. Where hours are missing and the certain ones do not
reach, the wetting is on the list with no severity: it may have infected, and never reads as dry.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from advisor.facts.leaves import Leaves, Spell
from advisor.science import (
    brown_rot,
    cherry_leaf_spot,
    leaf_curl,
    pear_scab,
    rust,
    scab,
    stone_fruit,
    summer_disease,
)

Verdict = tuple[str, str]  # severity ("" for none), what was found in words


@dataclass(frozen=True)
class Infection:
    """A wetting that infects, or may have.

    severity: light, moderate, severe; infects where the figures know one degree only; None where it is not known.
    first, end: hours of the record. hours: wet hours counted; at_least: there may have been more. mean_c: over them.
    """

    disease: str
    part: str
    first: int
    end: int
    severity: str | None
    hours: float | None
    at_least: bool
    mean_c: float | None
    rain_mm: float
    text: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Judge:
    """How one disease reads a wetting on one part of the tree, and the stages (BBCH) between which that part is open.

    verdict: severity and words for wet hours, mean temperature, low and rain. need: wet hours that infect at a mean
    temperature, None where none is published.
    """

    disease: str
    part: str
    fruits: frozenset[str]
    opens: int
    closes: int
    sources: tuple[str, ...]
    verdict: Callable[[str, Spell], Verdict]
    need: Callable[[str, float], float | None]


def _hours(spell: Spell) -> str:
    return f"{'at least ' if spell.at_least else ''}{spell.hours:.3g} h wet at {spell.mean_c:.1f} °C"


def _by_hours(spell: Spell, needed: float | None) -> Verdict:
    if needed is None:
        return "", f"{_hours(spell)}: no published figure"
    severity = "infects" if spell.hours >= needed - 1e-9 else ""
    return severity, f"{_hours(spell)}; {needed:.3g} h infect"


def _pear_scab(_: str, spell: Spell) -> Verdict:
    return _by_hours(spell, pear_scab.hours_to_infect(spell.mean_c))


def _rust(_: str, spell: Spell) -> Verdict:
    if not spell.rain_mm > 0:
        return "", f"{_hours(spell)} without rain: no spores fly"
    found = rust.severity(spell.mean_c, spell.hours)
    needed = rust.hours_to_infect(spell.mean_c)
    words = "no figure at this temperature" if needed is None else f"{needed:.3g} h infect"
    return found if found not in (None, "none") else "", f"{_hours(spell)}; {words}"


def _quince_rust(_: str, spell: Spell) -> Verdict:
    if not spell.rain_mm > 0:
        return "", f"{_hours(spell)} without rain: no spores fly"
    favoured = rust.quince_rust_favoured(spell.mean_c, spell.hours)
    return "infects" if favoured else "", (
        f"{_hours(spell)}; more than {rust.QUINCE_RUST_HOURS:g} h above {rust.QUINCE_RUST_ABOVE_C:g} °C make it likely"
    )


def _quince_need(_: str, mean_c: float) -> float | None:
    return rust.QUINCE_RUST_HOURS + 1 if mean_c > rust.QUINCE_RUST_ABOVE_C else None


def _leaf_spot(_: str, spell: Spell) -> Verdict:
    return _by_hours(spell, cherry_leaf_spot.hours_to_infect(spell.mean_c))


def _leaf_curl(_: str, spell: Spell) -> Verdict:
    infects = leaf_curl.infects(spell.rain_mm, spell.hours, spell.mean_c)
    return "infects" if infects else "", (
        f"{_hours(spell)}, {spell.rain_mm:.3g} mm of rain; {leaf_curl.WET_HOURS:g} h and {leaf_curl.RAIN_MM:g} mm "
        f"below {leaf_curl.BELOW_C:g} °C infect shoots"
    )


BLOSSOMS_WORTH_NAMING = 0.1  # share blighted (common practice, no source)


def _blossom_share(hours: float, mean_c: float) -> float | None:
    share = brown_rot.blossoms_blighted(mean_c, min(hours, 24.0))
    return None if share is None or np.isnan(share) else float(share)


def _blossom_rot(fruit: str, spell: Spell) -> Verdict:
    share = _blossom_share(spell.hours, spell.mean_c)
    if fruit == "plum" or share is None:
        infects = brown_rot.prune_blossom_open(spell.mean_c, spell.hours)
        return "infects" if infects else "", f"{_hours(spell)}; 4 h at 10 to 30 °C open plum blossom to it"
    severity = "severe" if share >= 0.5 else "infects" if share >= BLOSSOMS_WORTH_NAMING else ""
    return severity, f"{_hours(spell)}: {share:.0%} of tart cherry blossoms are blighted so"


def _blossom_need(fruit: str, mean_c: float) -> float | None:
    if fruit == "plum":
        return brown_rot.PRUNE_WET_HOURS if 10 <= mean_c <= 30 else None
    tried = np.arange(3.0, 24.5, 0.5)
    shares = np.nan_to_num(brown_rot.blossoms_blighted(np.full(tried.shape, mean_c), tried), nan=-1.0)
    enough = np.flatnonzero(shares >= BLOSSOMS_WORTH_NAMING)
    return float(tried[enough[0]]) if enough.size else None


def _ripe_rot_hours(fruit: str, mean_c: float) -> float | None:
    like = "sweet-cherry" if "cherry" in fruit else "peach"
    hours = brown_rot.ripe_fruit_hours(like, mean_c)
    return None if hours is None or np.isnan(hours) else float(hours)


def _ripe_rot(fruit: str, spell: Spell) -> Verdict:
    return _by_hours(spell, _ripe_rot_hours(fruit, spell.mean_c))


def _latent(_: str, spell: Spell) -> Verdict:
    return _by_hours(spell, brown_rot.latent_hours(spell.mean_c))


def _knot(_: str, spell: Spell) -> Verdict:
    flies = stone_fruit.knot_spores_fly(spell.rain_mm, spell.mean_c)
    return "infects" if flies else "", (
        f"{spell.rain_mm:.3g} mm of rain at {spell.mean_c:.1f} °C; {stone_fruit.KNOT_RAIN_MM:g} mm at "
        f"{stone_fruit.KNOT_FROM_C:g} °C or more set many spores free"
    )


SPOT_HOURS = 18.0  # over 18 h wet after the bacteria came, at 24 degrees C (Zehr et al. 1996)


def _spot(_: str, spell: Spell) -> Verdict:
    return _by_hours(spell, _spot_need("", spell.mean_c))


def _spot_need(_: str, mean_c: float) -> float | None:
    return SPOT_HOURS if stone_fruit.spot_favoured(mean_c, True) else None


def _canker(_: str, spell: Spell) -> Verdict:
    favoured = stone_fruit.canker_favoured(spell.low_c, spell.hours)
    return "infects" if favoured else "", f"wet down to {spell.low_c:.1f} °C; frost on wet green tissue favours it"


SHOT_HOLE_FROM_C, SHOT_HOLE_TO_C, SHOT_HOLE_HOURS = 14.0, 21.0, 12.0  # tried at 15 and 20 degrees C


def _shot_hole(_: str, spell: Spell) -> Verdict:
    severity, text = _by_hours(spell, _shot_hole_need("", spell.mean_c))
    lesions = stone_fruit.shot_hole_lesions(min(spell.hours, 24.0))
    return severity, f"{text}; as long at 15 °C makes {lesions:.2g} spots a cm2 of cherry leaf" if severity else text


def _shot_hole_need(_: str, mean_c: float) -> float | None:
    return SHOT_HOLE_HOURS if SHOT_HOLE_FROM_C <= mean_c <= SHOT_HOLE_TO_C else None


def _bitter_rot(_: str, spell: Spell) -> Verdict:
    infects = summer_disease.bitter_rot_infects(spell.mean_c, spell.hours)
    return "infects" if infects else "", f"{_hours(spell)}; 5 h at 26.7 to 30 °C can infect"


def _bitter_need(_: str, mean_c: float) -> float | None:
    return 5.0 if summer_disease.BITTER_ROT_FROM_C <= mean_c <= summer_disease.BITTER_ROT_TO_C else None


def _black_rot(_: str, spell: Spell) -> Verdict:
    return _by_hours(spell, summer_disease.black_rot_hours(spell.mean_c))


WHITE_ROT_WORTH_NAMING = 0.2  # share of fruit infected (common practice, no source)


def _white_rot(_: str, spell: Spell) -> Verdict:
    share = summer_disease.white_rot_share(spell.mean_c, min(spell.hours, 48.0))
    if share is None:
        return "", f"{_hours(spell)}: no published figure"
    return "infects" if share >= WHITE_ROT_WORTH_NAMING else "", f"{_hours(spell)}: {share:.0%} of apples infected so"


def _white_need(_: str, mean_c: float) -> float | None:
    tried = np.arange(6.0, 48.5, 0.5)
    shares = np.nan_to_num(summer_disease.white_rot_share(np.full(tried.shape, mean_c), tried), nan=-1.0)
    enough = np.flatnonzero(shares >= WHITE_ROT_WORTH_NAMING)
    return float(tried[enough[0]]) if enough.size else None


def _none(_: str, __: float) -> float | None:
    return None


_STONE = frozenset({"peach", "nectarine", "apricot", "plum", "sweet-cherry", "tart-cherry"})
_PEACHES = frozenset({"peach", "nectarine"})
_CHERRIES = frozenset({"sweet-cherry", "tart-cherry"})
_SUMMER_SPORES_END = 77  # black knot: about six weeks after petal fall (BBCH by memory)

# Stages at which each part is open, by BBCH (handbook knowledge, from memory, as in knowledge/diseases.yaml).
JUDGES: tuple[Judge, ...] = (
    Judge("pear-scab", "leaf", frozenset({"pear"}), 51, 81, ("villalta-2000-pear-scab",), _pear_scab,
          lambda _, mean: pear_scab.hours_to_infect(mean)),
    Judge("cedar-apple-rust", "leaf", frozenset({"apple"}), 57, 73, ("aldwinckle-1980-rust", "pearson-1980-discharge"),
          _rust, lambda _, mean: rust.hours_to_infect(mean)),
    Judge("quince-rust", "blossom", frozenset({"apple", "pear", "quince"}), 56, 69, ("cornell-quince-rust",),
          _quince_rust, _quince_need),
    Judge("peach-leaf-curl", "shoot", _PEACHES, 51, 69, ("rossi-2006-leaf-curl",), _leaf_curl,
          lambda _, mean: leaf_curl.WET_HOURS if mean < leaf_curl.BELOW_C else None),
    Judge("brown-rot", "blossom", _STONE, 57, 69, ("wilcox-1989-brown-rot", "luo-2001-prune-blossom"), _blossom_rot,
          _blossom_need),
    Judge("brown-rot", "green-fruit", _PEACHES, 71, 81, ("gell-2008-latent",), _latent,
          lambda _, mean: brown_rot.latent_hours(mean)),
    Judge("brown-rot", "ripe-fruit", _PEACHES | _CHERRIES, 81, 90, ("biggs-northover-1988",), _ripe_rot,
          _ripe_rot_hours),
    Judge("cherry-leaf-spot", "leaf", _CHERRIES, 60, 91, ("mapaq-2017-cherry-leaf-spot",), _leaf_spot,
          lambda _, mean: cherry_leaf_spot.hours_to_infect(mean)),
    Judge("black-knot", "shoot", frozenset({"plum"}) | _CHERRIES, 57, _SUMMER_SPORES_END,
          ("mcfadden-smith-2000-black-knot",), _knot, _none),
    Judge("bacterial-spot", "leaf", _PEACHES | {"apricot", "plum"}, 69, 79,
          ("zehr-1996-bacterial-spot", "psu-2011-bacterial-spot"), _spot, _spot_need),
    Judge("bacterial-canker", "blossom", _STONE, 53, 72, ("netreefruit-bacterial-canker",), _canker, _none),
    Judge("shot-hole", "leaf", _STONE - {"plum"}, 57, 81, ("grove-2002-shot-hole",), _shot_hole, _shot_hole_need),
    Judge("bitter-rot", "fruit", frozenset({"apple"}), 71, 90, ("iowa-2009-bitter-rot",), _bitter_rot, _bitter_need),
    Judge("black-rot", "fruit", frozenset({"apple"}), 69, 90, ("arauz-sutton-1989-black-rot",), _black_rot,
          lambda _, mean: summer_disease.black_rot_hours(mean)),
    Judge("white-rot", "fruit", frozenset({"apple"}), 75, 90, ("parker-sutton-1993-white-rot",), _white_rot,
          _white_need),
)
APPLE_SCAB = Judge("apple-scab", "leaf", frozenset({"apple"}), 53, 88, ("ontario-scab-table", "wvu-mills-table"),
                   lambda _, spell: ("", ""), lambda _, mean: scab.hours_to_infect(mean))


def judges_of(fruit: str) -> Iterator[Judge]:
    """Every disease whose infections can be read off the weather for a fruit."""
    for judge in (APPLE_SCAB, *JUDGES):
        if fruit in judge.fruits:
            yield judge


def infections(judge: Judge, fruit: str, leaves: Leaves, first: int, end: int) -> list[Infection]:
    """Wettings that begin in [first, end) and infect, or may have, in order."""
    found, certain = [], []
    for spell in leaves.spells:
        if not first <= spell.first < end or np.isnan(spell.mean_c):
            continue
        severity, text = judge.verdict(fruit, spell)
        if severity:
            certain.append((spell.first, spell.end))
            text = f"{text} ({leaves.rule})"
            found.append(Infection(judge.disease, judge.part, spell.first, spell.end, severity, spell.hours,
                                   spell.at_least, spell.mean_c, spell.rain_mm, text, judge.sources))
    found += _unknown(judge, fruit, leaves, leaves.gaps, certain, first, end)
    return sorted(found, key=lambda one: one.first)


def apple_scab(leaves: Leaves, first: int, end: int, scabby: bool, latitude: float,
               longitude: float | None) -> list[Infection]:
    """Scab infections that begin in [first, end): rain starts them, night rain counts from sunrise unless `scabby`."""
    rise, set_ = leaves.daylight(latitude, longitude)
    start = leaves.moment(0)
    found, certain = [], []
    rule = "from its start (scabby last year, or not counted)" if scabby else "from sunrise if it began at night"
    for event in scab.events(start, leaves.least, leaves.temp, rise, scabby, np.nan_to_num(leaves.rain, nan=0.0), set_):
        if not first <= event.first < end or event.severity is None or event.mean_c is None:
            continue
        certain.append((event.first, event.last + 1))
        rain = float(np.nansum(leaves.rain[event.first:event.last + 1]))
        needed, summer = scab.hours_to_infect(event.mean_c), scab.conidia_hours(event.mean_c)
        later = "" if summer is None else f", by summer spores of earlier spots {summer:.3g} h"
        text = (f"{event.hours:.3g} h wet at {event.mean_c:.1f} °C, counted {rule}; {needed:.3g} h infect lightly{later} "
                f"({leaves.rule})")
        at_least = bool(leaves.unknown[event.first:event.last + 8].any())
        found.append(Infection("apple-scab", "leaf", event.first, event.last + 1, event.severity, event.hours, at_least,
                               event.mean_c, rain, text, APPLE_SCAB.sources))
    lost = [(event.first, event.last + 1)
            for event in scab.events(start, leaves.share, leaves.temp, rise, scabby, leaves.rain, set_)
            if event.severity is None and np.isnan(event.hours)] if leaves.unknown.any() else []
    found += _unknown(APPLE_SCAB, "apple", leaves, lost, certain, first, end)
    return sorted(found, key=lambda one: one.first)


def _unknown(judge: Judge, fruit: str, leaves: Leaves, gaps: Iterable[tuple[int, int]],
             certain: list[tuple[int, int]], first: int, end: int) -> Iterator[Infection]:
    """Stretches with unknown hours that may have infected: no certain infection lies there, and the hours would do."""
    for begin, stop in gaps:
        begin, stop = max(begin, first), min(stop, end)
        if begin >= stop or any(a < stop and begin < b for a, b in certain):
            continue
        unknown = int(leaves.unknown[begin:stop].sum())
        if unknown and _could_infect(judge, fruit, leaves, begin, stop):
            text = f"{unknown} of {stop - begin} hours are not known to have been dry: it may have infected"
            yield Infection(judge.disease, judge.part, begin, stop, None, None, True, None,
                            float(np.nansum(leaves.rain[begin:stop])), text, judge.sources)


def _could_infect(judge: Judge, fruit: str, leaves: Leaves, begin: int, stop: int) -> bool:
    temps, rain = leaves.temp[begin:stop], leaves.rain[begin:stop]
    if np.isnan(temps).any():
        return True
    if judge.need is _none:  # hangs on rain and temperature, not on how long leaves were wet
        return bool(np.isnan(rain).any())
    may_be_wet = ~(leaves.share[begin:stop] == 0)
    needed = judge.need(fruit, float(np.mean(temps[may_be_wet])))
    return needed is not None and may_be_wet.sum() >= needed


def lesion_days(leaves: Leaves, first: int) -> float | None:
    """Days from the start of wetting to scab lesions, by the mean of its first five days; None if that is not known."""
    temps = leaves.temp[first:first + 120]
    known = temps[np.isfinite(temps)]
    if known.size < 24:
        return None
    return scab.lesion_days(float(np.mean(known)))  # type: ignore[no-any-return]


# Days from infection to what can be seen, where a source gives them (knowledge/figures/diseases.yaml).
SHOWS_AFTER = {"cedar-apple-rust": 10.0, "quince-rust": 21.0, "peach-leaf-curl": 23.0, "pear-scab": 8.0,
               "shot-hole": 3.0}  # fmt: skip


def shows_on(leaves: Leaves, one: Infection) -> dt.date | None:
    """The day from which an infection can be seen; None where nothing published tells it."""
    days = lesion_days(leaves, one.first) if one.disease == "apple-scab" else SHOWS_AFTER.get(one.disease)
    return None if days is None else leaves.date(one.first) + dt.timedelta(days=round(days))
