"""Insects by heat and by count: when a flight begins, when eggs hatch, whether a catch or a sample calls for action.

Heat comes in as degree-days of each day (`degree_days.degree_days`, in °C or °F, as the sums it is compared with) along
the last axis; leading axes are blocks. Catches are one number a check, in the order of the checks. NaN stands for a day
or a check that nobody knows; nothing that needs it is called reached. Thresholds are arguments: their figures, regions
and sources stand in the knowledge, except where a published rule is a small table of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np

from advisor.science.tables import Array, as_numbers, give, truth

BIOFIX_RULES = ("michigan", "purdue", "california")
ROUNDING = 1e-6  # degree-days by which a running sum may fall short of a sum that it has truly reached


# --- heat --------------------------------------------------------------------------------------------------------
def heat_sum(daily: object, start: object = 0) -> Array:
    """Running degree-days at the end of each day, counted from day `start` (its own heat included).

    daily: degree-days of each day, last axis days. start: index of the first day that counts, one number or one for
    each leading block; NaN where a block has no start yet. Days before the start are 0, from an unknown day on NaN.
    """
    heat = np.atleast_1d(as_numbers(daily, "The heat of a day"))
    if np.any(heat < 0):
        raise ValueError("Degree-days cannot be negative.")
    first = as_numbers(start, "The start")[..., np.newaxis]
    counted = np.where(np.arange(heat.shape[-1]) >= first, heat, 0.0)
    return np.where(np.isnan(first), np.nan, np.cumsum(counted, axis=-1))


def reached(daily: object, sums: object, start: object = 0) -> Any:
    """Index of the day on which the heat from `start` reaches each of `sums`; None or NaN where it does not.

    One series and one sum give a number or None. Otherwise an array: leading blocks of `daily`, then the sums.
    A sum that may have been reached on or after a day whose heat is unknown counts as not reached.
    """
    wanted = as_numbers(sums, "The sum")
    running = heat_sum(daily, start)
    there = running[..., np.newaxis, :] >= np.atleast_1d(wanted)[:, np.newaxis] - ROUNDING
    days = np.where(there.any(axis=-1), there.argmax(axis=-1), np.nan)
    days = days if wanted.ndim else days[..., 0]
    return give(days, np.isnan(days))


def event_dates(
    dates: Sequence[date], daily: object, sums: Mapping[str, float], start: int | None
) -> dict[str, date | None]:
    """The date of each named event of one series, None where it has not come, is unknown, or heat has no start yet."""
    heat = as_numbers(daily, "The heat of a day")
    if heat.shape != (len(dates),):
        raise ValueError("One number of degree-days is needed for each date.")
    if start is None or not sums:
        return dict.fromkeys(sums)
    days = reached(heat, list(sums.values()), start)
    return {name: None if np.isnan(day) else dates[int(day)] for name, day in zip(sums, days, strict=True)}


def long_days_from(day_length_h: object, hours: float = 13.5) -> int | None:
    """Index of the first day of lengthening days with at least `hours` of daylight; None if there is none.

    The start of heat for brown marmorated stink bug (Michigan State University, 26 August 2016: 13.5 h). The first day
    of the series must be shorter than that, otherwise the turn is not in it.
    """
    length = np.atleast_1d(as_numbers(day_length_h, "The day length"))
    turned = (length[1:] >= hours) & (length[:-1] < hours)
    return int(turned.argmax()) + 1 if turned.any() else None


# --- when a flight begins ----------------------------------------------------------------------------------------
def biofix(
    catches: object,
    rule: str = "michigan",
    day: object = None,
    sunset_c: object = None,
    checks: int | None = None,
    moths: float = 3,
    least_sunset_c: float = 16.7,
) -> int | None:
    """Index of the check from which codling moth heat is counted; None while no flight is proven.

    michigan: the first of two successive checks with moths (Michigan State University model notes).
    purdue: the first check of an unbroken run of catches that together hold at least `moths` moths (Purdue
    University, Facts for Fancy Fruit: first sustained flight, three to five moths).
    california: the first of three consecutive days with moths on which the temperature at sunset was at least
    16.7 °C (62 °F; University of California, pear traps). `day` numbers the day of each check, `sunset_c` is its
    temperature; both are needed.
    A check that was not read (NaN), a catch of none, or a cool or unknown sunset breaks the run.
    """
    caught = np.atleast_1d(as_numbers(catches, "The catch"))
    if np.any(caught < 0):
        raise ValueError("A catch cannot be negative.")
    with_moths = caught > 0  # NaN is no catch
    joined = np.ones(caught.size, dtype=bool)
    if rule == "california":
        if day is None or sunset_c is None:
            raise ValueError("The California rule needs the day and the temperature at sunset of each check.")
        days, warm = as_numbers(day, "The day"), as_numbers(sunset_c, "The temperature at sunset")
        if days.shape != caught.shape or warm.shape != caught.shape:
            raise ValueError("A day and a temperature at sunset are needed for each check.")
        with_moths = with_moths & (warm >= least_sunset_c)
        joined[1:] = np.diff(days) == 1
    elif rule not in BIOFIX_RULES:
        raise ValueError(f"No biofix rule is called {rule!r}; there are {', '.join(BIOFIX_RULES)}.")
    needed = checks or {"michigan": 2, "purdue": 1, "california": 3}[rule]
    total_needed = moths if rule == "purdue" else 0.0
    first, total = 0, 0.0
    for place in range(caught.size):
        if not with_moths[place]:
            first, total = place + 1, 0.0
            continue
        if not joined[place]:
            first, total = place, 0.0
        total += float(caught[place])
        if place - first + 1 >= needed and total >= total_needed:
            return first
    return None


# --- counts ------------------------------------------------------------------------------------------------------
def per_week(count: object, days: object) -> Any:
    """A catch over `days` days as a catch a week; None or NaN for no days."""
    out = as_numbers(days, "The days")
    return give(as_numbers(count, "The count") * 7 / np.where(out > 0, out, np.nan), ~(out > 0) & ~np.isnan(out))


def weeks_over(weekly: object, threshold: float, running: int = 2) -> bool | None:
    """Whether the newest `running` weekly catches all reach the threshold.

    Washington State University's simple rule for codling moth asks for two weeks (Brunner 2018). False as soon as one
    of them is known to be lower; None while one is missing.
    """
    if running < 1:
        raise ValueError("At least one week must be looked at.")
    newest = np.atleast_1d(as_numbers(weekly, "The weekly catch"))[-running:]
    if np.any(newest < threshold):
        return False
    return None if newest.size < running or np.isnan(newest).any() else True


def catch_at_density(catch: object, area_m2: object, standard_m2: float) -> Any:
    """The catch as a trap would have it that serves `standard_m2`, the area for which a threshold was worked out.

    In proportion to the area, from half to twice the standard; beyond, None or NaN, for no figure is published. That
    a threshold belongs to its trap density is published (Riedl and Croft 1974, Canadian Entomologist 106:525-537: the
    number of trees to a trap is critical; Washington: 1.0 ha). The proportion is common practice, no source; it agrees
    with Washington's 2 moths to 1.0 ha and Virginia's 5 to 2.0 ha.
    """
    area = as_numbers(area_m2, "The area of a trap")
    if np.any(area <= 0) or standard_m2 <= 0:
        raise ValueError("The area that a trap serves must be above 0.")
    share = standard_m2 / area
    return give(as_numbers(catch, "The catch") * share, (share < 0.5) | (share > 2))


def share_range(found: object, looked_at: object, z: float = 1.645) -> tuple[Any, Any]:
    """Lowest and highest share infested that a sample allows (Wilson 1927, J. Am. Stat. Assoc. 22:209-212).

    found of looked_at; z 1.645 leaves one chance in twenty on each side. Two numbers or arrays, NaN for NaN; None for a
    sample of nothing.
    """
    hits, sample = as_numbers(found, "The number found"), as_numbers(looked_at, "The sample")
    if np.any(hits < 0) or np.any(hits > sample):
        raise ValueError("The number found must lie between 0 and the sample.")
    none = sample == 0
    size = np.where(none, np.nan, sample)
    share = hits / size
    middle = (share + z**2 / (2 * size)) / (1 + z**2 / size)
    half = z / (1 + z**2 / size) * np.sqrt(share * (1 - share) / size + z**2 / (4 * size**2))
    low, high = np.where(hits == 0, 0.0, middle - half), np.where(hits == sample, 1.0, middle + half)
    return give(low, none), give(high, none)


MITE_STEPS = ((-3.0, 2.5), (7.7, 5.0), (12.1, 7.5))  # from week, moving mites a leaf
MITE_WEEKS_END = 16.6


def mites_borne(weeks_from_bloom: object) -> Any:
    """Moving European red mites a leaf that cause no loss, by weeks from apple full bloom.

    2.5 before July, 5 in July, 7.5 in August (Cornell IPM Publication 215, 1998), the months turned into weeks for 42 N
    with full bloom on 8 May, so that the rule holds in either hemisphere. From tight cluster (week -3) to week 16.6;
    outside None or NaN.
    """
    weeks = as_numbers(weeks_from_bloom, "The weeks")
    starts, limits = (np.array(column) for column in zip(*MITE_STEPS, strict=True))
    row = np.clip(np.searchsorted(starts, weeks, side="right") - 1, 0, len(starts) - 1)
    borne = np.where(np.isnan(weeks), np.nan, limits[row])
    return give(borne, (weeks < starts[0]) | (weeks > MITE_WEEKS_END))


LEAFROLLER_STOPS = ((60, 1, 4), (90, 2, 4), (100, 3, 4))  # looked at, few at or under, many at or above


def leafroller_sample(looked_at: int, infested: int) -> str:
    """What a sample of shoots or clusters says of leafroller larvae: few, many, or go-on.

    University of Maine, key apple pest thresholds: after 60, 90 and 100 shoots or clusters stop with few at 1, 2 and 3
    infested, with many at 4 (the printed columns are garbled in the copy read; this reading is the only one that ends).
    """
    if not 0 <= infested <= looked_at:
        raise ValueError("The number infested must lie between 0 and the number looked at.")
    if infested >= LEAFROLLER_STOPS[0][2]:
        return "many"
    few = [low for size, low, _ in LEAFROLLER_STOPS if looked_at >= size]
    return "few" if few and infested <= few[-1] else "go-on"


def cover_holds(days_before_end: float, surely: float = 10, at_most: float = 14) -> bool | None:
    """Whether the last cover against plum curculio lasts to the end of the danger (308 degree-days F from petal fall).

    Sources allow 10 to 14 days between them (University of Vermont 2008, University of Maine): up to 10 True, beyond
    14 False, between None, where rain and new growth decide. A cover after the end holds.
    """
    if np.isnan(days_before_end):
        return None
    if days_before_end <= surely:
        return True
    return None if days_before_end <= at_most else False


# --- natural enemies ---------------------------------------------------------------------------------------------
def enemies_hold(pests: object, enemies: object, prey_per_enemy: float = 10) -> Any:
    """Whether enemies suffice: at most `prey_per_enemy` pests to each enemy, both counted on the same leaves or shoots.

    Ten red mites to one predatory mite (from memory for Typhlodromus pyri; read for the western predatory mite in a
    page that repeats a pest note). No pest at all needs no enemy. None for unknown counts.
    """
    prey, hunters = as_numbers(pests, "The pests"), as_numbers(enemies, "The enemies")
    if np.any(prey < 0) or np.any(hunters < 0):
        raise ValueError("Counts cannot be negative.")
    return truth((prey == 0) | (prey <= hunters * prey_per_enemy), np.isnan(prey) | (np.isnan(hunters) & (prey != 0)))


def woolly_aphid_held(
    earwigs_per_trap_week: float, wasps_per_tree: float, earwigs: float = 14, wasps: float = 0.5
) -> bool | None:
    """Whether earwigs, or failing them Aphelinus mali, keep woolly apple aphid low.

    University of Tasmania: more than 14 earwigs a trunk trap a week in the first seven weeks after bloom; under that,
    more than 0.5 wasps of the first generation a tree. NaN is unknown; None where the unknown decides.
    """
    many, enough = (None if np.isnan(value) else value > bound
                    for value, bound in ((earwigs_per_trap_week, earwigs), (wasps_per_tree, wasps)))
    if many or enough:
        return True
    return None if many is None or enough is None else False
