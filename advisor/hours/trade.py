"""What the trade knows about jobs: the weather each wants, what comes before what, and the work of every year.

Every row carries its mark: `common-practice` (no source) or `from-memory`. The rates, in hours, are figures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.science import labour
from advisor.sentences import listed

# Weather that a kind of work wants (common practice, no source). dry: no rain in the hour; calm: wind that the labels
# of sprays allow; cool: not so hot that leaves burn; after-dew: leaves no longer wet with dew.
NEEDS: dict[str, tuple[str, ...]] = {
    "mow": ("dry", "after-dew"), "mow-ring": ("dry", "after-dew"), "shred-leaves": ("dry", "after-dew"),
    "rake-leaves": ("dry",), "lay-hay": ("dry",), "cultivate": ("dry",), "sow": ("dry", "calm"),
    "spread-lime": ("dry", "calm"), "spread-feed": ("dry",),
    "prune": ("dry",), "summer-prune": ("dry",), "cut-out": ("dry",), "graft": ("dry",), "whitewash": ("dry",),
    "thin": ("dry",), "thin-blossom": ("dry",), "bag": ("dry", "after-dew"), "pick": ("dry", "after-dew"),
    "spray": ("dry", "calm", "cool", "after-dew"),
    "count": ("dry",), "net": ("dry", "calm"), "take-sample": ("dry",), "cut-hedge": ("dry",),
}  # fmt: skip

_NEED_WORDS = {"dry": "dry", "calm": "calm", "cool": "cool", "after-dew": "free of dew"}
MOWN = frozenset({"mow", "mow-ring"})  # a no to one kind of mowing holds for the year's usual mowing as well


def needs_of(practice: str, tool: str) -> tuple[str, ...]:
    """The weather that a job wants; a scythe cuts as well in the dew, and better."""
    needs = NEEDS.get(labour.WORK_OF.get(practice, ""), ())
    return tuple(need for need in needs if not (tool == "scythe" and need == "after-dew"))


def weather_words(needs: Sequence[str]) -> str:
    """The weather that a job wants, as it is said: dry, calm and cool."""
    return listed([_NEED_WORDS[need] for need in needs])


def is_spray(practice: str) -> bool:
    return labour.WORK_OF.get(practice) == "spray"


@dataclass(frozen=True)
class Before:
    """In one block, any of `first` is done at least `gap` days before any of `then`; `must`: or `then` is left out.

    along: long work of the second kind goes along with the first, part after part.
    """

    first: frozenset[str]
    then: frozenset[str]
    gap: int
    must: bool
    why: str
    along: bool = False
    evidence: str = "common-practice"


SPRAYS = frozenset(p for p, work in labour.WORK_OF.items() if work == "spray")
_DORMANT = frozenset({"oil", "lime-sulphur", "copper"})

ORDERS = (
    Before(frozenset({"mow-bloom-before-spray"}), SPRAYS, 1, True,
           "The bloom below is mown the day before a spray, so that no bee is on it."),
    Before(frozenset({"hang-traps"}), frozenset({"insecticide", "microbial-spray", "mating-disruption"}), 1, False,
           "Traps hang before the flight and before any spray, so that the catch can decide."),
    Before(frozenset({"scout"}), frozenset({"insecticide"}), 0, False, "Look first, then decide on a spray."),
    Before(frozenset({"hand-thin"}), frozenset({"calcium-spray", "bag-fruit", "prop-limbs"}), 0, False,
           "Thin first: nothing is spent on fruit that comes off."),
    Before(frozenset({"dormant-prune"}), _DORMANT, 0, False, "Prune first: no spray goes on wood that comes off."),
    Before(frozenset({"clear-tree-ring", "first-mow"}), frozenset({"spread-ramial-chips", "lay-hay-ring"}), 0, False,
           "Clear and cut first, then mulch on top."),
    Before(frozenset({"draw-mulch-back"}), frozenset({"guard-trunks"}), 0, False,
           "Free the trunk first, then set the guard."),
    Before(frozenset({"test-soil"}), frozenset({"lime", "gypsum"}), 14, False,
           "The soil test comes back from the laboratory before anything is spread by it."),
    Before(frozenset({"sample-fruit"}), frozenset({"pick"}), 0, False, "Test the fruit, then pick."),
    Before(frozenset({"pick"}), frozenset({"store", "ripen-indoors", "chill-fruit"}), 0, False, "Pick, then store.",
           along=True),
)  # fmt: skip


@dataclass(frozen=True)
class Standing:
    """Work of every year: between which weeks from the full bloom of apple, how often, how much it matters.

    planned: False for what is only set aside in the year's budget and done when the advice asks for it.
    """

    practice: str
    weeks: tuple[float, float]
    times: int
    urgency: float
    why: str
    planned: bool = True
    evidence: str = "common-practice"


# Weeks from apple full bloom in which each fruit is picked, first cultivars to last (from memory).
PICKED = {
    "apple": (14, 24), "pear": (14, 21), "quince": (22, 25), "peach": (10, 18), "nectarine": (10, 18),
    "apricot": (8, 12), "plum": (11, 18), "sweet-cherry": (6, 9), "tart-cherry": (8, 10),
}  # fmt: skip
THINNED = frozenset({"apple", "pear", "peach", "nectarine", "apricot", "plum"})  # the others are not, as a rule
# Usual full bloom of apple by region, month and day (from memory); for plans in years when nothing tells it yet.
USUAL_BLOOM = {
    "new-york": (5, 10), "new-england": (5, 12), "michigan": (5, 8), "ontario": (5, 14), "mid-atlantic": (4, 25),
    "washington": (4, 25), "california": (4, 5), "uk": (5, 1), "central-europe": (4, 28), "new-zealand": (10, 5),
    "australia": (10, 5),
}  # fmt: skip
USUAL_BLOOM_NORTH, USUAL_BLOOM_SOUTH = (5, 5), (10, 5)

TREES = (
    Standing("dormant-prune", (-16, -3), 1, 0.4, "pruning while the trees rest"),
    Standing("remove-suckers", (6, 11), 1, 0.2, "suckers while they are soft"),
)
FLOOR = (
    Standing("first-mow", (0.5, 4), 1, 0.4, "the cut at petal fall"),
    Standing("mow-alleys", (8, 17), 2, 0.25, "summer cuts of the alleys"),
    Standing("autumn-mow", (22, 27), 1, 0.3, "the last cut, before leaf fall and snow"),
)
NO_MULCH = Standing("clear-tree-ring", (-1, 3), 1, 0.3, "a clear ring at the trunk")
MULCH = {
    "hay": Standing("lay-hay-ring", (1, 6), 1, 0.3, "renewing the mulch of hay"),
    "chips": Standing("spread-ramial-chips", (23, 30), 1, 0.3, "renewing the mulch of chips"),
}
RENEWED_DEPTH = 0.03  # m of mulch that rot away in a year and are renewed (from memory)
LITTER = Standing("shred-leaves", (24, 29), 1, 0.35, "shredding leaves against scab")  # apple and pear
WATCH = (
    Standing("hang-traps", (-2, 0), 1, 0.35, "traps out before the flights"),
    Standing("scout", (-3, 18), 8, 0.35, "a walk with the lens every two or three weeks, more in spring"),
)
SET_ASIDE = (
    Standing("biology-spray", (-4, 14), 6, 0.0, "about six rounds of sprays, if the advice asks for them", False),
)
WATER = Standing("irrigate", (2, 16), 6, 0.0, "water in dry weeks, if the advice asks for it", False)
FROST = Standing("frost-watch", (-4, 3), 3, 0.0, "three nights of watching in a hollow", False)
THIN = Standing("hand-thin", (4, 8), 1, 0.5, "thinning after June drop")
HABITAT = {
    "hedge": Standing("cut-back-hedge", (-14, -8), 1, 0.15, "a third of the hedge cut back in winter"),
    "stem-bed": Standing("shorten-stems", (-6, -2), 1, 0.15, "stems shortened for the bees that nest in them"),
    "flower-strip": Standing("mow-margin", (22, 27), 1, 0.15, "a third of the strip cut, after seed"),
    "meadow": Standing("mow-margin", (22, 27), 1, 0.15, "a third of the margin cut, after seed"),
    "nest-boxes": Standing("put-up-nest-boxes", (-14, -4), 1, 0.15, "boxes cleaned and mended"),
}
