"""What a practice gains and costs: a walk through the ecosystem graph, kept as a ledger.

From the practice the walk follows outgoing links, at most four and no node twice. A link kind carries a sign (eats,
parasitises, suppresses, competes-with, harms and disturbs mean less; feeds, shelters, hosts, builds, favours, spreads
and gathers mean more); the sign of a path is the product of its links' signs. Its score is

    3 x product(strength / 3) x 0.5^(links - 1)

and each end node counts its strongest path of each sign once. More of an ally, a fruit tree, soil life or a resource
is gain; more of a pest or a disease is cost.

Not walked: links out of season; links into what is known not to be here (unless the link builds it); links into a pest
or disease that cannot be here now; links out of a fruit tree, for no pest is mastered by hurting its tree.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from advisor.knowledge_schema import Disease, Evidence, Link, Node, Pest, Plant, Practice, Season

if TYPE_CHECKING:
    from advisor.ecosystem import Knowledge

MOST_LINKS = 4
FADE = 0.5
STRONGEST = 3
HARVEST_OVER = 91  # BBCH: from here on what is left standing is what winter finds
BUD_SWELL = 51
WINTER_BEGINS, WINTER_ENDS = 22.0, -6.0  # weeks from apple full bloom
YEAR_WEEKS = 52.18

GOOD_KINDS = ("ally", "soil-life", "resource")
BAD_KINDS = ("pest", "disease")
WEAKEST_FIRST: tuple[Evidence, ...] = ("from-memory", "common-practice", "published")
ABOUT_LINK = {"plants": ("builds", +1), "removes": ("disturbs", -1), "spreads": ("spreads", +1)}


@dataclass(frozen=True, slots=True)
class Place:
    """Where a practice is done, as far as known.

    fruits: tree fruits that stand there; plants: other plants, None if not known; present: pests, diseases and allies
    seen; absent: whatever is known not to be there (small places such as tall-grass, plants, habitats, pests, allies).
    """

    fruits: frozenset[str]
    plants: frozenset[str] | None = None
    present: frozenset[str] = frozenset()
    absent: frozenset[str] = frozenset()

    def __init__(
        self,
        fruits: Iterable[str],
        plants: Iterable[str] | None = None,
        present: Iterable[str] = (),
        absent: Iterable[str] = (),
    ) -> None:
        object.__setattr__(self, "fruits", frozenset(fruits))
        object.__setattr__(self, "plants", None if plants is None else frozenset(plants))
        object.__setattr__(self, "present", frozenset(present))
        object.__setattr__(self, "absent", frozenset(absent))


@dataclass(frozen=True, slots=True)
class When:
    """The time of year: BBCH code of each fruit, weeks from apple full bloom, winter. None is unknown.

    winter: from the end of harvest (BBCH 91, or week 22) to bud swell (BBCH 51, or week -6); worked out if left out.
    """

    bbch: tuple[tuple[str, int], ...] = ()
    weeks: float | None = None
    winter: bool | None = None

    def __init__(
        self, bbch: Mapping[str, int] | None = None, weeks: float | None = None, winter: bool | None = None
    ) -> None:
        stages = tuple(sorted((bbch or {}).items()))
        if winter is None and stages:
            winter = all(code >= HARVEST_OVER or code < BUD_SWELL for _, code in stages)
        elif winter is None and weeks is not None:
            wrapped = (weeks + YEAR_WEEKS / 2) % YEAR_WEEKS - YEAR_WEEKS / 2
            winter = wrapped >= WINTER_BEGINS or wrapped <= WINTER_ENDS
        object.__setattr__(self, "bbch", stages)
        object.__setattr__(self, "weeks", weeks)
        object.__setattr__(self, "winter", winter)

    def stage(self, fruit: str) -> int | None:
        return dict(self.bbch).get(fruit)

    def within(self, season: Season) -> bool | None:
        """Whether a link of that season acts now; None if the stage or week is not known."""
        if season.winter:
            return self.winter
        if season.bbch is not None:
            stage = self.stage(season.fruit or "")
            low, high = season.bbch
            if stage is None:
                return None
            return low <= stage <= high if low <= high else stage >= low or stage <= high
        if season.weeks is not None:
            begin, end = season.weeks
            week = self.weeks
            return None if week is None else any(begin <= week + year <= end for year in (-YEAR_WEEKS, 0, YEAR_WEEKS))
        return True


@dataclass(frozen=True, slots=True)
class Consequence:
    """One line of a ledger: what there will be more or less of, and by which path."""

    what: str
    name: str
    kind: str
    path: tuple[str, ...]
    score: float
    evidence: str
    sources: tuple[str, ...] = ()
    unsure: bool = False


@dataclass(frozen=True, slots=True)
class Ledger:
    """Gains and costs, strongest first."""

    gains: tuple[Consequence, ...] = ()
    costs: tuple[Consequence, ...] = ()

    @property
    def gain(self) -> float:
        return round(sum(line.score for line in self.gains), 4)

    @property
    def cost(self) -> float:
        return round(sum(line.score for line in self.costs), 4)

    @property
    def total(self) -> float:
        return round(self.gain - self.cost, 4)


@dataclass(frozen=True, slots=True)
class _Path:
    ends: tuple[str, ...]
    links: tuple[Link, ...]
    sign: int
    weight: float
    unsure: bool

    @property
    def rank(self) -> tuple[float, bool, int, tuple[str, ...]]:
        """Strongest first; of equals the surer, the shorter, then by name."""
        return (-self.weight, self.unsure, len(self.links), self.ends)


@dataclass
class _Walk:
    knowledge: Knowledge
    place: Place
    when: When
    practice: Practice
    about: Node | None
    best: dict[tuple[str, int], _Path] = field(default_factory=dict)

    def run(self, start: _Path) -> None:
        """Follow every way on from a path, depth first, keeping the strongest path to each end."""
        if len(start.links) >= MOST_LINKS:
            return
        for path in self.steps(start):
            self.keep(path)
            self.run(path)

    def run_all(self) -> None:
        """Walk from the practice, and from the plant that is planted or taken out or the material that is spread."""
        start = self.practice.key
        self.run(_Path((start,), (), +1, 1.0, False))
        if self.about is None or self.about.kind not in ("plant", "material"):
            return
        usual = "spreads" if self.about.kind == "material" else "plants" if self.practice.lasts else "removes"
        kind, sign = ABOUT_LINK[self.practice.about or usual]
        given = {"from": start, "link": kind, "to": self.about.key, "strength": STRONGEST, "evidence": "published"}
        path = _Path((start, self.about.key), (Link.model_validate(given),), sign, 1.0, False)
        self.keep(path)
        self.run(path)

    def keep(self, path: _Path) -> None:
        key = (path.ends[-1], path.sign)
        if key not in self.best or path.rank < self.best[key].rank:
            self.best[key] = path

    def steps(self, path: _Path) -> Iterator[_Path]:
        here = path.ends[-1]
        node = self.knowledge.nodes[here]
        if path.links and node is not self.about and isinstance(node, Plant) and node.fruit:
            return
        for link, sign in self.knowledge.ways_on(here):
            if link.end in path.ends:
                continue
            if not path.links and self.concerns_another_plant(link):
                continue
            active = True if self.practice.lasts else self.when.within(link.season)
            if active is False:
                continue
            possible = self.can_be_here(self.knowledge.nodes[link.end], link)
            if possible is False:
                continue
            fade = FADE if path.links else 1.0
            weight = path.weight * link.strength / STRONGEST * fade
            unsure = path.unsure or active is None or possible is None
            yield _Path((*path.ends, link.end), (*path.links, link), path.sign * sign, weight, unsure)

    def concerns_another_plant(self, link: Link) -> bool:
        """Whether taking out the plant named would not touch this pest or disease, because it does not live on it."""
        if self.practice.about != "removes" or not isinstance(self.about, Plant) or link.link != "suppresses":
            return False
        return link.end not in {other.end for other in self.knowledge.links_from(self.about.key)}

    def can_be_here(self, node: Node, link: Link) -> bool | None:
        """Whether a node may be at the place now; None where that is not known."""
        if link.link == "builds":
            return True
        if node.id in self.place.absent:
            return False
        if isinstance(node, Plant) and node.fruit:
            return not self.place.fruits or node.id in self.place.fruits
        if isinstance(node, Pest | Disease) and node.id not in self.place.present:
            return self.possible(node, link)
        return True

    def possible(self, node: Pest | Disease, link: Link) -> bool | None:
        """Whether a pest or disease not seen could be here: a host, an alternate host if it needs one, its stage open.

        A link with a season of its own already says when it acts; otherwise the stage is wrong once the last open stage
        has passed, until harvest is over and next year's begins.
        """
        if node.fruits and self.place.fruits and not self.place.fruits & set(node.fruits):
            return False
        if node.alternate_hosts and (self.about is None or self.about.id not in node.alternate_hosts):
            if self.place.plants is None:
                return None
            if not self.place.plants & set(node.alternate_hosts):
                return False
        if self.practice.lasts or not link.season.always:
            return True
        spans = [stage for stage in node.open_stages or () if stage.fruit in self.place.fruits]
        past = [self.stage_passed(stage.fruit, stage.bbch[1]) for stage in spans]
        return not (past and all(past))

    def stage_passed(self, fruit: str, last: int) -> bool:
        stage = self.when.stage(fruit)
        return stage is not None and last < stage < HARVEST_OVER


def walk(practice: str, place: Place, when: When, about: str | None, knowledge: Knowledge) -> Ledger:
    """The ledger of a practice at a place and time; see the module for how it is reckoned.

    practice: id of a practice. about: id of the plant that is planted or taken out, or the material that is spread.
    From it the walk also goes on, after a first link of full strength (builds, disturbs or spreads, as it is done).
    Raises KeyError for an id that nobody knows.
    """
    node = knowledge.node(practice, "practice")
    assert isinstance(node, Practice)
    thing = None if about is None else knowledge.resolve(about, ("plant", "material")) or knowledge.node(about)
    walker = _Walk(knowledge, place, when, node, thing)
    walker.run_all()
    return _ledger(walker.best.values(), knowledge)


def _ledger(paths: Iterable[_Path], knowledge: Knowledge) -> Ledger:
    gains: list[Consequence] = []
    costs: list[Consequence] = []
    for path in paths:
        node = knowledge.nodes[path.ends[-1]]
        good = node.kind in GOOD_KINDS or (isinstance(node, Plant) and node.fruit)
        if not good and node.kind not in BAD_KINDS:
            continue
        side = gains if (path.sign > 0) == good else costs
        side.append(_line(path, node, knowledge))
    for side in (gains, costs):
        side.sort(key=lambda line: (-line.score, line.what))
    return Ledger(tuple(gains), tuple(costs))


def _line(path: _Path, node: Node, knowledge: Knowledge) -> Consequence:
    evidence = min((link.evidence for link in path.links), key=WEAKEST_FIRST.index)
    sources = tuple(dict.fromkeys(link.source for link in path.links if link.source))
    steps = tuple(sentence(link, knowledge) for link in path.links)
    score = round(STRONGEST * path.weight, 4)
    return Consequence(node.id, node.name, node.kind, steps, score, evidence, sources, path.unsure)


def sentence(link: Link, knowledge: Knowledge) -> str:
    """A link in plain words: "leaf litter shelters ground beetles"."""
    start, end = knowledge.nodes[link.start], knowledge.nodes[link.end]
    verb, *rest = link.link.split("-")
    if several(start):
        verb = verb[:-2] if verb.endswith("sses") else verb[:-1]
    return " ".join((start.name, verb, *rest, end.name))


def several(node: Node) -> bool:
    """Whether the name of a node stands in the plural."""
    head = _TAIL.split(node.name)[0]
    return node.kind != "practice" and head.endswith(_PLURAL) and not head.endswith(_SINGULAR)


_TAIL = re.compile(r",? (?:of|in|at|on|for|and|or|before|while|nearby|\()")
_PLURAL = ("s", "fungi", "bacteria", "men")
_SINGULAR = ("ss", "us", "is", "os")
