"""How much chill a cultivar needs before its buds open evenly, where that is published.

Chill portions (dynamic model) by the University of California, Davis, tree phenology table 1; of a mean with its
standard deviation the mean, of two studies the larger. The nursery lists of chill hours by fruit are too wide to judge
a winter by (apple 300 to 1,200) and are not used: a cultivar that is not listed has no published figure here.
"""

from __future__ import annotations

NEEDS = {
    "apple": {"golden delicious": 50.0},
    "apricot": {
        "currot": 39.6, "rojo pasion": 51.2, "bulida": 53.8, "san castrese": 55.25, "murciana": 55.9, "dorada": 56.2,
        "selene": 57.4, "goldrich": 61.9, "bergeron": 64.8, "orange red": 69.1,
    },
    "sweet-cherry": {
        "cristobalina": 30.4, "lapins": 35.0, "brooks": 36.7, "rainier": 45.0, "ruby": 48.0, "somerset": 48.0,
        "burlat": 48.0, "new star": 53.5, "marvin": 57.6, "sam": 70.0,
    },
    "nectarine": {"aprilglo": 12.0, "mayglo": 18.0, "sunlite": 33.2, "flavortop": 41.4, "fantasia": 41.7},
    "peach": {"flordaprince": 8.0, "earligrande": 12.0, "maravilha": 12.0, "redhaven": 75.0},
}  # fmt: skip
_ALSO = {"red haven": "redhaven", "búlida": "bulida", "rojo pasión": "rojo pasion", "early burlat": "burlat"}


def portions_needed(fruit: str, cultivar: str) -> float | None:
    """Chill portions that a cultivar needs; None where no figure is published."""
    name = " ".join(cultivar.lower().split())
    return NEEDS.get(fruit, {}).get(_ALSO.get(name, name))
