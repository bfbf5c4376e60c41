"""Insects by count: when a flight begins, what a catch or a sample amounts to, whether natural enemies hold them.

Catches are one number a check, in the order of the checks. NaN stands for a check that nobody knows. Thresholds are
arguments: their figures, regions and sources stand in the knowledge.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.science.tables import as_numbers, give, truth

BIOFIX_RULES = ("michigan", "purdue", "california")


# --- day length --------------------------------------------------------------------------------------------------
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
