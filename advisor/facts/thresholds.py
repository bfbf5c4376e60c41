"""Which count of which pest is compared with which figure, and when.

Like is only compared with like: moths a week in a trap, a total on white traps over the stages for which it was worked
out, mites a leaf, shares of shoots. What a figure is worth, by region and with its source, stands in the knowledge.
"""

from __future__ import annotations

from dataclasses import dataclass

ALWAYS = (0.0, 99.0)
SHOOTS = ("shoot", None)
CLUSTERS = ("cluster", "bud", None)
BAITED, BARE, WHITE, PYRAMID = ({"baited-red-sphere"}, {"red-sphere"}, {"white-sticky"}, {"pyramid"})


@dataclass(frozen=True)
class Measure:
    """One way to count a pest.

    read: weekly | season (total in traps) | count | infested | curled | over | damage. per: the unit that was counted,
    None where it may be left out. stages: BBCH at which the figure holds now (for totals: over which it is summed).
    weeks: from apple full bloom, where a figure holds by those. above: the figure itself is still borne.
    only: regions whose guidance this is; none: all.
    """

    pest: str
    figure: str
    read: str
    words: str
    per: tuple[str | None, ...] = ()
    traps: frozenset[str | None] = frozenset()
    stages: tuple[float, float] = ALWAYS
    weeks: tuple[float, float] | None = None
    above: bool = False
    level: float | None = None
    fresh: int | None = None
    only: tuple[str, ...] = ()
    after: str | None = None  # the window of the pest that must be open or over
    before: str | None = None  # the window that must not have opened
    sprayed: bool | None = None  # whether an insecticide was used before, for figures that differ by it
    restarts: bool = False  # a total that begins anew after a spray


def _mites(pest: str) -> tuple[Measure, ...]:
    red = "european-red-mite"
    by_weeks = (("early", (-3.0, 7.7)), ("mid", (7.7, 12.1)), ("late", (12.1, 16.6)))
    return (
        *(Measure(pest, f"{red}.per-leaf-{name}", "count", "moving mites a leaf", ("leaf",), stages=(56, 99),
                  weeks=weeks) for name, weeks in by_weeks),
        Measure(pest, f"{red}.leaves-over-four", "over", "of the leaves with four mites or more", level=4,
                only=("uk",)),
        Measure(pest, f"{red}.leaves-with-one", "over", "of the leaves with a mite or more", level=1,
                weeks=(7.7, 16.6), only=("new-england",)),
    )


MEASURES: tuple[Measure, ...] = (
    Measure("codling-moth", "codling-moth.moths-per-trap", "weekly", "moths a trap a week",
            traps=frozenset({None, "pheromone"}), before="second-flight"),
    Measure("codling-moth", "codling-moth.moths-per-trap-second", "weekly", "moths a trap a week of the second flight",
            traps=frozenset({None, "pheromone"}), after="second-flight"),
    Measure("oriental-fruit-moth", "oriental-fruit-moth.moths-per-trap", "weekly", "moths a trap a week",
            traps=frozenset({None, "pheromone"})),
    Measure("oriental-fruit-moth", "oriental-fruit-moth.strikes-per-tree", "count", "shoot strikes a tree", ("tree",),
            above=True),
    Measure("peach-twig-borer", "peach-twig-borer.strikes-per-tree", "count", "shoot strikes a tree", ("tree",)),
    Measure("leafroller", "leafroller.shoots-infested", "infested", "of the shoots or clusters",
            ("shoot", "cluster", None)),
    Measure("leafroller", "leafroller.tortrix-moths-per-trap", "weekly", "moths a trap a week",
            traps=frozenset({None, "pheromone"}), only=("uk",)),
    Measure("caterpillars", "caterpillars.buds-infested", "infested", "of the buds or trusses", CLUSTERS,
            stages=(51, 60)),
    Measure("caterpillars", "caterpillars.trusses-late-bloom", "infested", "of the trusses", CLUSTERS, stages=(61, 72)),
    Measure("caterpillars", "caterpillars.per-tap", "count", "caterpillars a tap", ("tap",), stages=(60, 72)),
    Measure("winter-moth", "winter-moth.trusses-infested", "infested", "of the buds or trusses", CLUSTERS,
            stages=(51, 60)),
    Measure("winter-moth", "caterpillars.trusses-late-bloom", "infested", "of the trusses", CLUSTERS, stages=(61, 72)),
    Measure("apple-leafminer", "apple-leafminer.mines-per-leaf", "count", "mines a leaf", ("leaf",), weeks=(0, 8)),
    Measure("apple-leafminer", "apple-leafminer.mines-per-leaf-midsummer", "count", "mines a leaf", ("leaf",),
            weeks=(8, 13)),
    Measure("apple-leafminer", "apple-leafminer.mines-per-leaf-late", "count", "mines a leaf", ("leaf",),
            weeks=(13, 22)),
    Measure("plum-curculio", "plum-curculio.fresh-damage", "damage", "of the fruit with fresh scars", ("fruit", None)),
    Measure("apple-maggot", "apple-maggot.flies-per-baited-sphere", "season", "flies in all on a baited sphere",
            traps=frozenset(BAITED), restarts=True),
    Measure("apple-maggot", "apple-maggot.flies-per-bare-sphere", "season", "flies in all on a bare sphere",
            traps=frozenset(BARE), restarts=True),
    Measure("apple-blossom-weevil", "apple-blossom-weevil.per-tap", "count", "weevils a tap", ("tap",),
            stages=(51, 57)),
    Measure("apple-sawfly", "apple-sawfly.per-trap", "season", "sawflies in all on a white trap since pink",
            traps=frozenset(WHITE), stages=(57, 69), sprayed=False),
    Measure("apple-sawfly", "apple-sawfly.per-trap-after-insecticide", "season",
            "sawflies in all on a white trap since pink", traps=frozenset(WHITE), stages=(57, 69), sprayed=True),
    Measure("apple-sawfly", "apple-sawfly.scars", "infested", "of the trusses with an egg scar", ("cluster", None),
            stages=(60, 72)),
    Measure("tarnished-plant-bug", "tarnished-plant-bug.per-trap-to-tight-cluster", "season",
            "bugs in all on a white trap since silver tip", traps=frozenset(WHITE), stages=(51, 56)),
    Measure("tarnished-plant-bug", "tarnished-plant-bug.per-trap-to-pink", "season",
            "bugs in all on a white trap since silver tip", traps=frozenset(WHITE), stages=(51, 59)),
    Measure("mullein-bug", "mullein-bug.per-tap", "count", "nymphs a tap", ("tap",), stages=(60, 73)),
    Measure("stink-bug", "stink-bug.per-trap", "season", "bugs in all in a pyramid trap", traps=frozenset(PYRAMID),
            restarts=True),
    Measure("white-apple-leafhopper", "white-apple-leafhopper.per-leaf", "count", "leafhoppers a leaf", ("leaf",),
            weeks=(0, 7.7)),
    Measure("white-apple-leafhopper", "white-apple-leafhopper.per-leaf-summer", "count", "leafhoppers a leaf",
            ("leaf",), weeks=(7.7, 18)),
    Measure("potato-leafhopper", "potato-leafhopper.per-leaf", "count", "leafhoppers a leaf", ("leaf",)),
    Measure("green-apple-aphid", "green-apple-aphid.shoots-infested", "infested", "of the shoots", SHOOTS),
    Measure("green-apple-aphid", "green-apple-aphid.shoots-curled", "curled", "of the shoots curled", SHOOTS),
    Measure("rosy-apple-aphid", "rosy-apple-aphid.clusters-infested", "infested", "of the clusters", CLUSTERS),
    Measure("rosy-apple-aphid", "rosy-apple-aphid.trees-infested", "infested", "of the trees", ("tree",)),
    Measure("woolly-apple-aphid", "woolly-apple-aphid.sites-infested", "infested", "of the trees or shoots",
            ("tree", "shoot", "twig", None)),
    Measure("leaf-curling-plum-aphid", "leaf-curling-plum-aphid.shoots-infested", "curled", "of the shoots curled",
            SHOOTS),
    Measure("leaf-curling-plum-aphid", "leaf-curling-plum-aphid.shoots-infested", "infested", "of the shoots", SHOOTS),
    Measure("black-cherry-aphid", "black-cherry-aphid.shoots-infested", "infested", "of the shoots", SHOOTS),
    Measure("pear-psylla", "pear-psylla.adults-per-tap", "count", "adults a tap", ("tap",), stages=(0, 56), above=True),
    Measure("pear-psylla", "pear-psylla.nymphs-per-leaf", "count", "nymphs a leaf", ("leaf",)),
    *_mites("european-red-mite"),
    Measure("european-red-mite", "european-red-mite.winter-eggs-per-bud", "count", "winter eggs a fruit bud", ("bud",),
            stages=(0, 57), above=True, fresh=120),
    Measure("rust-mite", "rust-mite.per-bud", "count", "mites a bud", ("bud",), stages=(0, 53), fresh=60),
    Measure("rust-mite", "rust-mite.per-leaf", "count", "mites a rosette leaf", ("leaf",), stages=(54, 60)),
    Measure("peachtree-borer", "peachtree-borer.moths-per-trap", "weekly", "moths a trap a week",
            traps=frozenset({None, "pheromone"})),
    Measure("san-jose-scale", "san-jose-scale.fruit-spotted", "damage", "of last year's fruit with red spots",
            ("fruit", None), fresh=300),
)  # fmt: skip
