"""What the grower accepts of new plants, and what the site allows: the two sides that every choice must keep to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from advisor.errors import InputError, Problem
from advisor.facts.climate import Winter, dry_summers, winter_of
from advisor.facts.growth import REGIONS, TALL_UNDER_TREES
from advisor.facts.situation import Situation
from advisor.observation import Intent, SoilTest, TreeSign, VoleSign, Work
from advisor.orchard import Block
from advisor.science.rootstock import STOCKS

Spot = Literal["under-trees", "alley", "margin", "hedge"]
SPOTS: tuple[Spot, ...] = ("under-trees", "alley", "margin", "hedge")

# Under big trees the limbs begin higher (cm; common practice, no source).
TALL_UNDER_BIG_TREES = 150


class Terms(BaseModel):
    """What the grower accepts. Prices are in any one currency, or hours of work; with them the cheapest set is sought,
    not the fewest."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    permanent: bool = False
    """Plants that are hard to be rid of again, or that spread hard."""
    toxic: bool = True
    """Plants poisonous to people or stock; they say so."""
    annuals: bool = True
    """Plants that are sown anew each year."""
    grazed: bool | None = None
    """Animals graze among the plants; None: as the orchard file tells."""
    nitrogen: bool = False
    """A plant that fixes nitrogen is wanted."""
    spots: tuple[Spot, ...] = SPOTS
    """Where there is room."""
    region: tuple[str, ...] = ()
    """More words for where the orchard stands, as plants use them: eastern-us, pacific-coast, ..."""
    most: Annotated[int, Field(ge=1, le=40)] | None = None
    """Kinds to add at the most."""
    prices: dict[str, Annotated[float, Field(gt=0, le=1e6)]] = {}
    """What enough of a plant costs, by its id."""

    @staticmethod
    def of(given: Terms | Mapping[str, Any] | None) -> Terms:
        """Terms as given; InputError names the field that cannot be read."""
        if isinstance(given, Terms):
            return given
        try:
            return Terms.model_validate(dict(given or {}))
        except ValidationError as fault:
            raise InputError(
                [
                    Problem(
                        "request",
                        "terms." + ".".join(str(part) for part in one["loc"]),
                        one["msg"],
                        f"Terms are: {', '.join(Terms.model_fields)}.",
                        value=str(one["input"])[:60],
                    )
                    for one in fault.errors()
                ]
            ) from None


def read_prices(given: Iterable[str], asked: str, lead: str) -> dict[str, str]:
    """Prices by plant, each written as PLANT=PRICE; numbers are read where all terms are.

    asked, lead: what was asked and how prices are led in there, such as "--price ", for whoever must mend them.
    """
    found: dict[str, str] = {}
    place = lead.strip(" =")
    for one in given:
        plant, equals, value = (part.strip() for part in one.partition("="))
        if not equals:
            raise InputError(Problem(asked, place, "no price is given", f"Write {lead}aster=12.", value=one[:60]))
        if plant in found:
            raise InputError(Problem(asked, place, f"{plant} has two prices", "Give one.", value=one[:60]))
        found[plant] = value
    return found


@dataclass(frozen=True)
class Site:
    """What the orchard is like, as far as plants must fit it. None or empty: not known."""

    fruits: tuple[str, ...]
    here: frozenset[str]
    region: str
    regions: frozenset[str]
    moisture: frozenset[str]
    dry_by_sky: bool
    textures: frozenset[str]
    ph: tuple[float, ...]
    troubles: frozenset[str]
    grazed: bool
    voles: bool
    tallest: float
    dense: bool
    winter: Winter
    units: str

    @staticmethod
    def of(now: Situation, terms: Terms, seen: frozenset[str] = frozenset()) -> Site:
        """seen: plants that stand here without being listed."""
        blocks, habitats = now.blocks, now.file.habitats
        listed = {p for b in blocks for p in b.understory or ()} | {p for h in habitats for p in h.plants or ()}
        wet = {"wet"} if any(h.kind == "pond" for h in habitats) else set()
        place = now.place()
        parched = dry_summers(now)

        def by_sky(block: Block) -> str | None:
            """Dry summers dry the ground, unless it is watered."""
            watered = block.irrigation is not None and block.irrigation.kind != "none"
            return "dry" if parched and not watered else None

        grazing = any(isinstance(o, Work | Intent) and o.practice == "graze" for o in now.observations)
        return Site(
            fruits=tuple(sorted({b.fruit for b in blocks})),
            here=frozenset(listed | seen | {b.fruit for b in blocks}),
            region=now.region,
            regions=frozenset(REGIONS.get(now.region, set()) | set(terms.region)),
            moisture=frozenset({site for b in blocks if (site := b.site or _by_soil(b.soil) or by_sky(b))} | wet),
            dry_by_sky=any(b.site is None and _by_soil(b.soil) is None and by_sky(b) for b in blocks),
            textures=frozenset({_texture(b.soil) for b in blocks if b.soil}),
            ph=_ph(now),
            troubles=frozenset(place.present),
            grazed=grazing if terms.grazed is None else terms.grazed,
            voles=any(isinstance(o, VoleSign) and o.gnawing for o in now.observations),
            tallest=_tallest([b.rootstock for b in blocks]),
            dense=any(isinstance(o, TreeSign) and o.sign == "dense-canopy" for o in now.observations),
            winter=winter_of(now),
            units=now.file.orchard.units,
        )


def _by_soil(soil: str | None) -> str | None:
    """Sand dries out (common practice); any other soil says nothing of how moist a site is."""
    return "dry" if soil in ("sand", "loamy-sand") else None


def _texture(soil: str) -> str:
    """Light, heavy or between, as growers sort the classes of texture (common practice)."""
    if soil in ("sand", "loamy-sand"):
        return "light"
    return "heavy" if soil in ("clay", "silty-clay", "sandy-clay") else "medium"


def _ph(now: Situation) -> tuple[float, ...]:
    """The last soil pH measured in each place; empty where nobody has tested."""
    last: dict[str | None, float] = {}
    for look in now.observations:
        if isinstance(look, SoilTest) and (found := look.results.get("ph")) is not None:
            last[look.block or look.habitat] = found.value
    return tuple(sorted(last.values()))


def _tallest(stocks: list[str | None]) -> float:
    """How tall a plant may stand under the trees [cm]; the smaller where a tree is small or its stock unknown."""
    sizes = {STOCKS[stock].size if stock in STOCKS else None for stock in stocks}
    return TALL_UNDER_BIG_TREES if sizes and sizes <= {"semi-dwarf", "standard"} else TALL_UNDER_TREES
