"""Why a plant may not be added here: what the site, its fruit, its animals and its grower rule out.

refusals   every reason against a plant, in words; empty where it may be planted
spots      where it could stand
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from advisor.ecosystem import Disease, Knowledge, Link, Pest, Plant
from advisor.facts.climate import freezes
from advisor.habitat.terms import SPOTS, Site, Spot, Terms
from advisor.quantity import show

# Never advised, whatever a grower accepts: nobody gets rid of them again, and ragwort poisons stock, in hay as well.
NEVER = ("tansy-ragwort", "goutweed", "bindweed", "field-horsetail", "couch", "thistle")
VOLES = "voles"
# Taller woody plants take the light of the trees beside them (cm; common practice, no source).
HEDGE_TALLEST = 800
CARRIED = ("virus", "phytoplasma")
SPOT_WORDS = {
    "under-trees": "under the trees",
    "alley": "in the alleys and at the edge of the canopies",
    "margin": "in a margin or flower strip",
    "hedge": "in a hedge",
}


@dataclass(frozen=True)
class Refusal:
    """One reason against a plant: a word for it, and a sentence."""

    why: str
    text: str


def refusals(plant: Plant, site: Site, terms: Terms, knowledge: Knowledge) -> list[Refusal]:
    """Every reason why a plant may not be added here."""
    return [
        *_nature(plant, site, terms),
        *_region(plant, site),
        *_cold(plant, site),
        *_ground(plant, site, terms),
        *_troubles(plant, site, knowledge),
        *_animals(plant, site, terms, knowledge),
    ]


def _nature(plant: Plant, site: Site, terms: Terms) -> Iterator[Refusal]:
    name = plant.name
    if plant.fruit:
        yield Refusal("fruit", f"{name} is a fruit tree, not a plant of the understory or hedge.")
    if plant.id in site.here:
        yield Refusal("here", f"{name} stands here already.")
    if plant.id in NEVER:
        stock = " It poisons the liver of horses and cattle, dried in hay as well." if "ragwort" in plant.id else ""
        yield Refusal("never", f"Never plant {name}: nobody gets rid of it again.{stock}")
        return
    if plant.id == "common-comfrey":
        yield Refusal(
            "seeds-itself",
            "common comfrey sets fertile seed and comes back from every piece of root; of the comfreys plant only the "
            "sterile one, and that too stays for good.",
        )
    elif plant.permanent and not terms.permanent:
        yield Refusal("permanent", f"{name} is hard to be rid of once planted; accept permanent plants to allow it.")
    elif plant.spreads == "aggressively" and not terms.permanent:
        yield Refusal("spreads", f"{name} spreads hard; accept permanent plants to allow it.")
    if plant.toxic and not terms.toxic:
        yield Refusal(
            "toxic", f"{name} is poisonous ({', '.join(plant.toxic)}), and poisonous plants are not accepted."
        )
    if plant.life == "annual" and not terms.annuals:
        yield Refusal("annual", f"{name} must be sown anew each year, and annuals are not accepted.")
    if terms.prices and plant.id not in terms.prices:
        yield Refusal("no-price", f"No price is given for {name}, and the cheapest set is asked for.")


def _region(plant: Plant, site: Site) -> Iterator[Refusal]:
    if not plant.invasive_in:
        return
    if not site.regions:
        places = ", ".join(plant.invasive_in)
        yield Refusal("region-unknown", f"{plant.name} is invasive in some regions ({places}), and the region of this "
                      "orchard is not known.")  # fmt: skip
    elif site.regions & set(plant.invasive_in):
        places = ", ".join(sorted(site.regions & set(plant.invasive_in)))
        yield Refusal("invasive", f"{plant.name} is invasive here ({places}).")


def _cold(plant: Plant, site: Site) -> Iterator[Refusal]:
    """What nobody knows of a plant's winters, or of the site's, rules nothing out."""
    hardy, coldest = plant.hardiness, site.winter.coldest
    if hardy is not None and coldest is not None and freezes(hardy, site.winter):
        yield Refusal(
            "winter",
            f"{plant.name} stands winters down to {show(hardy.coldest, 'degC', site.units)} (hardiness zone {hardy.zone}); "
            f"here they go to {show(coldest, 'degC', site.units)}.",
        )


def _ground(plant: Plant, site: Site, terms: Terms) -> Iterator[Refusal]:
    if plant.moisture and site.moisture and not site.moisture & set(plant.moisture):
        wants, has = " or ".join(plant.moisture), " or ".join(sorted(site.moisture))
        yield Refusal("moisture", f"{plant.name} wants {wants} ground; here it is {has}.")
    if plant.ph and site.ph and not any(plant.ph[0] <= ph <= plant.ph[1] for ph in site.ph):
        tested = " and ".join(f"{ph:g}" for ph in site.ph)
        yield Refusal("ph", f"{plant.name} wants soil of pH {plant.ph[0]:g} to {plant.ph[1]:g}; tested here: {tested}.")
    if plant.not_on and site.textures and site.textures <= set(plant.not_on):
        yield Refusal("texture", f"{plant.name} does not thrive on {' or '.join(sorted(site.textures))} soil.")
    if not spots(plant, site, SPOTS):
        tall = plant.height.max / 100 if plant.height else None
        grows = f" grows to about {tall:g} m and" if tall else ""
        yield Refusal("too-tall", f"{plant.name}{grows} would shade the trees.")
    elif not spots(plant, site, terms.spots):
        fits = " or ".join(SPOT_WORDS[spot] for spot in spots(plant, site, SPOTS))
        allowed = " or ".join(SPOT_WORDS[spot] for spot in terms.spots)
        yield Refusal("no-room", f"{plant.name} would stand {fits}; the room here is only {allowed}.")


def spots(plant: Plant, site: Site, room: tuple[Spot, ...]) -> list[Spot]:
    """Where a plant could stand, by its height, form and the light it needs."""
    tall = plant.height.max if plant.height else None
    woody = plant.form in ("tree", "shrub", "climber")
    low = tall is not None and tall <= site.tallest and not woody
    shade = not plant.light or bool({"part-shade", "shade"} & set(plant.light))
    sun = not plant.light or "sun" in plant.light
    if site.dense:
        shade = "shade" in plant.light
    fits: dict[Spot, bool] = {
        "under-trees": low and shade,
        "alley": low and sun,
        "margin": (not woody or (tall is not None and tall <= site.tallest)) and (sun or "part-shade" in plant.light),
        "hedge": woody and tall is not None and tall <= HEDGE_TALLEST,
    }
    return [spot for spot in SPOTS if fits[spot] and spot in room]


def _troubles(plant: Plant, site: Site, knowledge: Knowledge) -> Iterator[Refusal]:
    done: set[str] = set()
    for link, fruits in carried(plant, site, knowledge):
        trouble = knowledge.nodes[link.end]
        on = _fruit_names(fruits, knowledge)
        if link.end in done:
            continue
        pathogen = getattr(trouble, "pathogen", None) or ""
        if link.link == "alternate-host-of":
            yield Refusal("alternate-host", f"{plant.name} is the other host of {trouble.name} of {on}.")
        elif any(word in pathogen.lower() for word in CARRIED):
            yield Refusal("reservoir", f"{plant.name} is a reservoir of {trouble.name} ({pathogen}) of {on}.")
        elif link.end in site.troubles:
            yield Refusal("trouble-here", f"{plant.name} hosts {trouble.name}, noted or seen here.")
        elif link.strength == 3:
            yield Refusal("host", f"{plant.name} is a chief host of {trouble.name} of {on}.")
        else:
            continue
        done.add(link.end)
    for link in knowledge.links_from(plant.key):
        if link.link == "harms" and link.end in site.fruits:
            note = f" ({link.note})" if link.note else ""
            yield Refusal("harms", f"{plant.name} harms {knowledge.nodes[link.end].name}{note}.")


def carried(plant: Plant, site: Site, knowledge: Knowledge) -> list[tuple[Link, list[str]]]:
    """Links from a plant to pests and diseases of the fruit here, the gravest first, with the fruit they trouble."""
    found = []
    for link in knowledge.links_from(plant.key):
        trouble = knowledge.nodes[link.end]
        if link.link in ("hosts", "alternate-host-of") and isinstance(trouble, Pest | Disease):
            fruits = [fruit for fruit in site.fruits if fruit in trouble.fruits]
            if fruits:
                found.append((link, fruits))
    return sorted(found, key=lambda pair: (pair[0].link != "alternate-host-of", -pair[0].strength, pair[0].end))


def _fruit_names(fruits: list[str], knowledge: Knowledge) -> str:
    return " and ".join(knowledge.nodes[fruit].name for fruit in fruits)


def _animals(plant: Plant, site: Site, terms: Terms, knowledge: Knowledge) -> Iterator[Refusal]:
    stock = sorted({"horses", "livestock"} & set(plant.toxic))
    if site.grazed and stock:
        yield Refusal("grazed", f"{plant.name} is poisonous to {' and '.join(stock)}, and animals graze here.")
    for link in knowledge.links_from(plant.key):
        if site.voles and link.end == VOLES and link.link in ("hosts", "shelters"):
            does = "is food for" if link.link == "hosts" else "shelters"
            yield Refusal("voles", f"{plant.name} {does} voles, and they are gnawing bark here.")
