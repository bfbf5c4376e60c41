"""Growth stages: the trade's names and their BBCH codes, for each fruit.

The codes are those of the BBCH scale (Meier ed., 2001, Growth stages of mono- and dicotyledonous plants). Which trade
name goes with which code is a working map of the frost bulletins' names, from memory where they give none.
"""

from __future__ import annotations

STAGES: dict[str, int] = {
    "dormant": 0, "silver-tip": 51, "green-tip": 53, "half-inch-green": 54, "tight-cluster": 56, "pink": 57,
    "balloon": 59, "king-bloom": 60, "full-bloom": 65, "petal-fall": 69, "fruit-set": 71, "june-drop": 73,
    "half-grown": 75, "colouring": 81, "harvest": 87, "after-harvest": 91, "leaf-fall": 93, "leafless": 97,
}  # fmt: skip
_PEAR = {"bud-swell": 51, "bud-burst": 53, "white-bud": 57, "full-white": 59}
_STONE = {"bud-swell": 51, "shuck-split": 72, "pit-hardening": 74}
_CHERRY = {**_STONE, "side-green": 53, "bud-burst": 54, "green-tip": 54, "tight-cluster": 55, "open-cluster": 56,
           "white-bud": 57}
_PEACH = {**_STONE, "calyx-green": 54, "calyx-red": 55, "pink": 57, "white-bud": 57}
_OWN: dict[str, dict[str, int]] = {
    "pear": _PEAR, "quince": _PEAR, "sweet-cherry": _CHERRY, "tart-cherry": _CHERRY,
    "plum": {**_CHERRY, "side-white": 52}, "peach": _PEACH, "nectarine": _PEACH,
    "apricot": {**_PEACH, "tips-separate": 53},
}  # fmt: skip

NAMES = frozenset(STAGES).union(*_OWN.values())

# Leaf-bud codes run beside the flower codes; each is read as the flower stage that goes with it (from memory).
_LEAF_CODES = {1: 51, 2: 51, 3: 51, 7: 53, 8: 53, 9: 53, **dict.fromkeys(range(10, 15), 54),
               **dict.fromkeys(range(15, 20), 55), 50: 0}

FULL_BLOOM_SHARE = 0.5  # BBCH 65: at least half of the flowers open (Meier 2001)


def bbch_of(name: str, fruit: str | None = None) -> int | None:
    """The code of a stage's name for a fruit; a name that the fruit does not use is read as other fruits use it."""
    if fruit is not None and name in _OWN.get(fruit, {}):
        return _OWN[fruit][name]
    if name in STAGES:
        return STAGES[name]
    return next((own[name] for own in _OWN.values() if name in own), None)


def stage_name(bbch: int, fruit: str | None = None) -> str:
    """The last named stage that a code has reached: 67 is full-bloom, 70 petal-fall."""
    table = dict(STAGES)
    own = _OWN.get(fruit or "", {})
    if own:  # where a fruit has its own word for a code, or no use for the apple's, its own word is taken
        table = {name: code for name, code in STAGES.items() if code in (0, 59) or code >= 60}
        table = {**table, **own}
    reached = max(code for code in table.values() if code <= max(flower_code(bbch), 0))
    return next(name for name in (*own, *table) if table.get(name) == reached)


def flower_code(bbch: int) -> int:
    """The code on the scale of flower and fruit; leaf-bud codes are read as the flower stage that goes with them."""
    return _LEAF_CODES.get(bbch, bbch)


def code_of_open(share: float) -> int | None:
    """The code for a share of open blossom (Meier 2001: 61 about 10 %, ... 64 about 40 %, 65 half); None for none."""
    if share <= 0:
        return None
    if share >= FULL_BLOOM_SHARE:
        return 65
    return 60 + min(4, int(share * 10 + 1e-9))
