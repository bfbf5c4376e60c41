"""What may stand in the knowledge files: a class for each kind of node, for links, figures and sources.

Every class refuses unknown fields. Lists that may be "none" (`prey: none`, `eaten_by: none-known`) are read as an empty
tuple; None means that the file does not say, which is for the completeness check to name.
"""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal, get_args

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from advisor.science.hardiness import coldest_of

Evidence = Literal["published", "common-practice", "from-memory"]
LinkKind = Literal[
    "happens-at", "susceptible-at", "hosts", "alternate-host-of", "eats", "parasitises", "shelters", "feeds", "blooms",
    "gathers", "competes-with", "builds", "disturbs", "suppresses", "favours", "harms", "spreads", "needs",
    "conflicts-with",
]
Region = Literal[
    "any", "new-york", "new-england", "michigan", "ontario", "mid-atlantic", "washington", "california", "uk",
    "central-europe", "new-zealand", "australia",
]
REGIONS: tuple[str, ...] = get_args(Region)

SIGN: dict[str, int] = {
    **dict.fromkeys(("eats", "parasitises", "suppresses", "competes-with", "harms", "disturbs"), -1),
    **dict.fromkeys(("feeds", "shelters", "hosts", "builds", "favours", "spreads", "gathers"), +1),
}
"""Whether more of the one means more (+1) or less (-1) of the other; kinds without a sign are not walked."""

_HUNTERS, _TROUBLES = ("ally", "pest", "soil-life"), ("pest", "disease")
ENDS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    **dict.fromkeys(("eats", "parasitises"), (_HUNTERS, _HUNTERS)),
    **dict.fromkeys(("hosts", "alternate-host-of"), (("plant",), _TROUBLES)),
    "blooms": (("plant",), ("resource",)),
    "gathers": (("plant", "habitat", "soil-life"), ("resource",)),
}
"""What may stand at either end of a link, where its verb leaves no doubt: calcium eats nothing."""

MAY_SHARE_ID = (("practice", "material"), ("resource", "stage"))
"""Pairs of kinds that may have one id between them; the bare id is the first one's."""

NONE_WORDS = ("none", "none-known")
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def _plain_id(value: Any) -> Any:
    if not isinstance(value, str) or not _ID.fullmatch(value):
        raise ValueError("an id is written in lower case with hyphens, like `apple-scab`")
    return value


def _names_or_none(value: Any) -> Any:
    if value in NONE_WORDS or (isinstance(value, list) and len(value) == 1 and value[0] in NONE_WORDS):
        return ()
    return value


def _span(value: Any) -> Any:
    if isinstance(value, list) and [type(end) in (int, float) for end in value] == [True, True] and value[0] > value[1]:
        raise ValueError(f"the span [{value[0]}, {value[1]}] ends before it begins")
    return value


def _zone(value: Any) -> Any:
    """YAML reads `4` as a number, and `4b` as a word."""
    return str(value) if type(value) is int else value


Id = Annotated[str, BeforeValidator(_plain_id)]
Names = tuple[str, ...]
NamesOrNone = Annotated[tuple[str, ...] | None, BeforeValidator(_names_or_none)]
Bbch = Annotated[int, Field(ge=0, le=99)]
BbchSpan = Annotated[tuple[Bbch, Bbch], BeforeValidator(_span)]
Week = Annotated[float, Field(ge=-52, le=52)]
WeekSpan = Annotated[tuple[Week, Week], BeforeValidator(_span)]
PhSpan = Annotated[tuple[Annotated[float, Field(ge=3, le=10)], Annotated[float, Field(ge=3, le=10)]], BeforeValidator(_span)]
YearSpan = Annotated[tuple[Annotated[int, Field(ge=1, le=50)], Annotated[int, Field(ge=1, le=50)]], BeforeValidator(_span)]
Grade = Annotated[int, Field(ge=0, le=3)]
Percent = Annotated[float, Field(ge=0, le=100)]


class Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


class Season(Entry):
    """When a link acts: always, in winter, in a BBCH span of a named fruit, or in weeks from apple full bloom.

    A BBCH span that ends below its beginning, such as [93, 51], runs through the winter.
    """

    bbch: tuple[Bbch, Bbch] | None = None
    fruit: str | None = None
    weeks: WeekSpan | None = None
    winter: bool = False

    @model_validator(mode="after")
    def _one_form(self) -> Season:
        if (self.bbch is None) != (self.fruit is None):
            raise ValueError("a season by stage names both `bbch: [from, to]` and `fruit`")
        if self.bbch and self.weeks:
            raise ValueError("a season is given by stage or by weeks, not by both")
        return self

    @property
    def always(self) -> bool:
        return not (self.bbch or self.weeks or self.winter)

    def __str__(self) -> str:
        if self.bbch:
            return f"{self.fruit} BBCH {self.bbch[0]}-{self.bbch[1]}"
        if self.weeks:
            return f"weeks {self.weeks[0]:g} to {self.weeks[1]:g} from apple full bloom"
        return "winter" if self.winter else "always"


def _season(value: Any) -> Any:
    if value in ("always", "winter"):
        return Season(winter=value == "winter")
    if isinstance(value, dict) and value and not set(value) - {"bbch", "fruit", "weeks"}:
        return value
    if isinstance(value, Season):
        return value
    raise ValueError("a season is `always`, `winter`, {bbch: [from, to], fruit: apple} or {weeks: [from, to]}")


ALWAYS = Season()


class Node(Entry):
    kind: str
    id: Id
    name: str
    also: Names = ()
    latin: str | None = None
    note: str | None = None
    cautions: Names = ()
    evidence: Evidence = "from-memory"
    sources: Names = ()
    shares_id: bool = Field(default=False, exclude=True)

    @property
    def key(self) -> str:
        """The node's name in the graph: its id, or `material:copper` where the bare id is the practice's."""
        return f"{self.kind}:{self.id}" if self.shares_id else self.id


class Bloom(Entry):
    """Weeks from apple full bloom, negative before it; and how they are known."""

    begin: Annotated[float, Field(alias="from", ge=-26, le=52)]
    end: Annotated[float, Field(alias="to", ge=-26, le=52)]
    evidence: Evidence = "from-memory"
    source: str | None = None

    @model_validator(mode="after")
    def _forward(self) -> Bloom:
        if self.end < self.begin:
            raise ValueError("bloom ends before it begins")
        return self


class Height(Entry):
    """[cm]"""

    min: Annotated[float, Field(ge=0)]
    max: Annotated[float, Field(ge=0, le=5000)]


class Hardiness(Entry):
    """The coldest hardiness zone whose winters a plant lives through, and the mildest for which it is named."""

    zone: Annotated[str, BeforeValidator(_zone), Field(pattern=r"^([1-9]|1[0-3])[ab]?$")]
    mildest: Annotated[int, Field(ge=1, le=13)] | None = None
    evidence: Evidence = "from-memory"
    source: str | None = None

    @property
    def coldest(self) -> float:
        """The coldest night of a usual winter that it stands. [°C]"""
        return coldest_of(self.zone)


class Plant(Node):
    kind: Literal["plant"]
    family: str | None = None
    form: Literal["tree", "shrub", "climber", "herb", "grass", "bulb"] | None = None
    life: Literal["annual", "biennial", "perennial", "woody"] | None = None
    fruit: bool = False
    bloom: Annotated[Bloom | None, BeforeValidator(lambda value: None if value == "none" else value)] = None
    nectar: Grade | None = None
    pollen: Grade | None = None
    flower: Literal["open", "deep", "none"] | None = None
    root: Literal["tap", "fibrous", "rhizome", "stolon", "bulb", "woody"] | None = None
    root_depth: Literal["shallow", "medium", "deep"] | None = None
    stems: Literal["none", "standing", "hollow", "pithy", "woody"] | None = None
    height: Height | None = None
    hardiness: Hardiness | None = None
    years: YearSpan | None = None
    """How long one that dies early lives; left out where it lasts, or is not known."""
    fixes_nitrogen: bool = False
    permanent: bool = False
    spreads: Literal["no", "slowly", "aggressively"] | None = None
    toxic: Annotated[Names, BeforeValidator(_names_or_none)] = ()
    invasive_in: Annotated[Names, BeforeValidator(_names_or_none)] = ()
    light: tuple[Literal["sun", "part-shade", "shade"], ...] = ()
    moisture: tuple[Literal["dry", "moist", "wet"], ...] = ()
    ph: PhSpan | None = None
    not_on: tuple[Literal["light", "heavy"], ...] = ()
    """Sand or clay, where it does not thrive."""


class Habitat(Node):
    kind: Literal["habitat"]
    kind_of: Literal[
        "hedge", "flower-strip", "meadow", "stem-bed", "tussock-bank", "wood-edge", "pond", "nest-boxes", "element"
    ]


class Active(Entry):
    """Weeks from apple full bloom."""

    from_week: Week
    to_week: Week


class Ally(Node):
    kind: Literal["ally"]
    group: Literal["predator", "parasitoid", "pollinator", "bird", "mammal", "decomposer"] | None = None
    prey: NamesOrNone = None
    adult_food: NamesOrNone = None
    winters_in: NamesOrNone = None
    active: Active | None = None


class OpenStage(Entry):
    fruit: str
    bbch: BbchSpan


class Pest(Node):
    kind: Literal["pest"]
    kind_of: str | None = None
    fruits: Names = ()
    hosts: NamesOrNone = None
    open_stages: tuple[OpenStage, ...] | None = None
    winters_in: NamesOrNone = None
    eaten_by: NamesOrNone = None
    alternate_hosts: NamesOrNone = ()


class Disease(Node):
    kind: Literal["disease"]
    pathogen: str | None = None
    fruits: Names = ()
    hosts: NamesOrNone = None
    open_stages: tuple[OpenStage, ...] | None = None
    winters_in: NamesOrNone = None
    alternate_hosts: NamesOrNone = ()
    suppressed_by: NamesOrNone = None
    favoured_by: str | Names | None = None


class Practice(Node):
    kind: Literal["practice"]
    group: Literal["floor", "planting", "soil", "trees", "crop", "sprays", "watching", "hours", "other"]
    does: str
    tools: NamesOrNone = None
    disturbs: NamesOrNone = None
    favours: NamesOrNone = None
    material: Names = ()
    hurts_bees_in_bloom: bool | None = None
    about: Literal["plants", "removes", "spreads"] | None = None
    """What happens to the plant or material named with it: planted, taken out, or spread; see `consequences`."""
    lasts: bool = False
    """Its works stand through the year (a hedge, a nest box), so links of every season count."""


class Material(Node):
    kind: Literal["material"]
    group: Literal["mulch", "manure", "feed", "spray", "household", "microbe"]
    carbon_pct: Percent | None = None
    nitrogen_pct: Percent | None = None
    moisture_pct: Percent | None = None
    cn: Annotated[float, Field(gt=0, le=2000)] | None = None
    density_kg_m3: Annotated[float, Field(gt=0, le=3000)] | None = None
    source: str | None = None


class Stage(Node):
    kind: Literal["stage"]
    bbch: Bbch | BbchSpan
    fruits: Names = ()


class Resource(Node):
    kind: Literal["resource"]


class SoilLife(Node):
    kind: Literal["soil-life"]


NODE_CLASSES: dict[str, type[Node]] = {
    "plant": Plant, "habitat": Habitat, "ally": Ally, "pest": Pest, "disease": Disease, "practice": Practice,
    "material": Material, "stage": Stage, "resource": Resource, "soil-life": SoilLife,
}


class Link(Entry):
    start: str = Field(alias="from")
    link: LinkKind
    end: str = Field(alias="to")
    strength: Annotated[int, Field(ge=1, le=3)]
    season: Annotated[Season, BeforeValidator(_season)] = ALWAYS
    evidence: Evidence
    source: str | None = None
    note: str | None = None

    @property
    def id(self) -> str:
        """The sentence that a link is; a later folder that says it again replaces it, in every season."""
        return f"{self.start} {self.link} {self.end}"


class FigureRow(Entry):
    region: Region
    value: float | str
    evidence: Evidence
    source: str | None = None
    note: str | None = None


class Figure(Entry):
    """A threshold or rate; what it is worth may differ with whose guidance an orchard follows."""

    id: Annotated[str, Field(pattern=r"^[a-z0-9-]+(\.[a-z0-9-]+)+$")]
    unit: str
    what: str
    rows: Annotated[tuple[FigureRow, ...], Field(min_length=1)]
    default: Region | None = None
    note: str | None = None

    @model_validator(mode="after")
    def _has_default(self) -> Figure:
        regions = [row.region for row in self.rows]
        if len(set(regions)) < len(regions):
            raise ValueError("two rows of a figure speak for the same region; keep the one that counts")
        if self.default is None and len(regions) > 1:
            raise ValueError("a figure with several rows names the `default`, the safer one")
        if self.default is not None and self.default not in regions:
            raise ValueError(f"the default {self.default} has no row")
        return self

    def value(self, region: str | None = None) -> FigureRow:
        """The row of a region, or the default row where the region has none."""
        rows = {row.region: row for row in self.rows}
        wanted: Any = region if region in rows else self.default
        return rows[wanted] if wanted else self.rows[0]


class Source(Entry):
    id: Id
    title: str
    authors: str | Names | None = None
    year: int | str | None = None
    where: str
    url: str | None = None
    seen: Literal["seen", "second-hand", "memory"]
    note: str | None = None
