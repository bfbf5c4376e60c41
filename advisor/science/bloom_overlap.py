"""Whether two cultivars bloom together, and whether the pollen of one takes on the other.

Apple, by the part of the apple bloom in which a cultivar flowers: North Carolina Cooperative Extension, HIL-302, whose
note says that cultivars of one part, or of parts that touch within their range, overlap ('Gala' and 'Empire') and that
early and mid do not ('Paulared' and 'Fuji'). The same leaflet: 'Golden Delicious' does not pollinate 'Jonagold' or
'Mutsu', its children. Pears and cherries that refuse each other: from memory. Any other pair: not known here.
"""

from __future__ import annotations

# From and to: 0 very early, 1 early, 2 mid, 3 late.
_EARLY, _MID, _LATE = (1, 1), (2, 2), (3, 3)
_EARLY_MID = (1, 2)
APPLE_BLOOM = {
    "lodi": _EARLY, "tydeman's red": _EARLY, "paulared": _EARLY, "ginger gold": _MID, "gala": _EARLY_MID,
    "liberty": _EARLY, "mcintosh": _EARLY_MID, "cortland": _MID, "spartan": _EARLY, "empire": _EARLY,
    "red delicious": _EARLY_MID, "jonagold": _EARLY, "idared": _EARLY, "golden delicious": _MID, "york": _LATE,
    "mutsu": _MID, "stayman": _MID, "winesap": _MID, "rome beauty": _LATE, "arkansas black": (1, 3),
    "granny smith": (0, 1), "fuji": _MID,
}  # fmt: skip
_ALSO = {
    "crispin": "mutsu", "delicious": "red delicious", "rome": "rome beauty", "paula red": "paulared",
    "tydeman": "tydeman's red", "york imperial": "york", "royal ann": "napoleon", "royal anne": "napoleon",
    "williams": "bartlett", "williams' bon chretien": "bartlett",
}  # fmt: skip

# Pairs that do not serve each other though they bloom together.
_KIN = {"apple": (frozenset({"golden delicious", "jonagold"}), frozenset({"golden delicious", "mutsu"}))}
_REFUSING = {
    "sweet-cherry": (frozenset({"bing", "lambert", "napoleon", "emperor francis"}),),
    "pear": (frozenset({"bartlett", "seckel"}),),
}


def known_as(cultivar: str) -> str:
    """The name by which a cultivar stands in the lists."""
    name = " ".join(cultivar.lower().split())
    return _ALSO.get(name, name)


def overlaps(fruit: str, first: str, second: str) -> bool | None:
    """Whether two cultivars bloom together; None where the lists do not hold both."""
    if fruit != "apple":
        return None
    spans = [APPLE_BLOOM.get(known_as(name)) for name in (first, second)]
    if spans[0] is None or spans[1] is None:
        return None
    return spans[0][0] <= spans[1][1] and spans[1][0] <= spans[0][1]


def takes(fruit: str, cultivar: str, pollen_of: str) -> bool:
    """False for a pair that is known not to serve each other, or for one cultivar under two names."""
    pair = frozenset({known_as(cultivar), known_as(pollen_of)})
    if len(pair) == 1:
        return False
    refused = any(pair <= group for group in _REFUSING.get(fruit, ()))
    return not refused and pair not in _KIN.get(fruit, ())
