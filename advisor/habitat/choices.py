"""Which plants to add: several near-best sets, each with its reasons, and why a plant that was asked about is not in.

Prices and room are not in the knowledge, so the fewest kinds are sought; among equals those that bring least trouble.
Where the grower gives prices, the cheapest set is sought.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from advisor.ecosystem import Knowledge, Plant
from advisor.habitat.choose import Covering, Method, Need, can_be_exact, greedy, nearly, solve
from advisor.habitat.limits import SPOT_WORDS, carried, refusals, spots
from advisor.habitat.needs import Lack, filled_by, in_words
from advisor.habitat.ribbon import whom
from advisor.habitat.terms import Site, Terms
from advisor.quantity import show
from advisor.sentences import listed

ANSWERS = 3
# Other sets are shown that cost up to so much more than the cheapest (common practice, no source), or take one kind more.
DEARER = 1.5
_ANNUAL, _PERMANENT, _POISON, _SPREADS, _FAST, _CHOOSY, _SHORT = 5, 8, 4, 2, 8, 3, 2
# A winter that somebody measured once may be followed by one that is so much colder (°C; common practice, no source).
COLDER = 5.0


@dataclass(frozen=True)
class Choosing:
    """Everything that a choice rests on."""

    knowledge: Knowledge
    site: Site
    terms: Terms
    candidates: tuple[Plant, ...]
    lacks: tuple[Lack, ...]
    method: Method

    @staticmethod
    def of(
        knowledge: Knowledge, site: Site, terms: Terms, accepted: Sequence[Plant], lacks: Sequence[Lack], exact: bool
    ) -> Choosing:
        """accepted: plants that nothing rules out; those that fill no need are left aside."""
        useful = tuple(plant for plant in accepted if filled_by(plant, lacks))
        method: Method = "exact" if exact and can_be_exact() else "greedy"
        return Choosing(knowledge, site, terms, useful, tuple(lacks), method)

    def problem(self, must: Sequence[str] = ()) -> Covering:
        """The choice in numbers. A kind, or a cent, outweighs every drawback of every plant together."""
        at = {plant.id: position for position, plant in enumerate(self.candidates)}
        burdens = [sum(weight for weight, _ in self.drawbacks(plant)) for plant in self.candidates]
        outweighs = 1 + sum(burdens)
        prices = [self.terms.prices.get(plant.id) for plant in self.candidates]
        units = [1 if price is None else max(1, round(price * 100)) for price in prices]
        return Covering(
            costs=tuple(unit * outweighs + burden for unit, burden in zip(units, burdens, strict=True)),
            needs=tuple(Need(lack.least, frozenset(at[name] for name in lack.filled_by)) for lack in self.lacks),
            most=self.terms.most,
            must=frozenset(at[name] for name in must),
        )

    def drawbacks(self, plant: Plant) -> list[tuple[int, str]]:
        """What speaks against an accepted plant: (weight, words). The weights only choose between equal numbers."""
        found = []
        if plant.permanent:
            found.append((_PERMANENT, "stays for good once planted"))
        if plant.spreads == "aggressively":
            found.append((_FAST, "spreads hard"))
        elif plant.spreads == "slowly":
            found.append((_SPREADS, "spreads slowly"))
        if plant.toxic:
            found.append((_POISON, f"poisonous ({', '.join(plant.toxic)})"))
        if plant.life == "annual":
            found.append((_ANNUAL, "sown anew each year"))
        elif plant.years:
            found.append((_SHORT, f"lives {plant.years[0]} to {plant.years[1]} years"))
        found += self._winters(plant)
        if plant.ph and not self.site.ph:
            found.append((_CHOOSY, f"wants soil of pH {plant.ph[0]:g} to {plant.ph[1]:g}: test it first"))
        if plant.not_on and not self.site.textures:
            found.append((_CHOOSY, f"not on {' or '.join(plant.not_on)} soil"))
        for link, fruits in carried(plant, self.site, self.knowledge):
            on = " and ".join(self.knowledge.nodes[fruit].name for fruit in fruits)
            found.append((link.strength, f"hosts {self.knowledge.nodes[link.end].name} of {on}"))
        for link in self.knowledge.links_from(plant.key):
            end = self.knowledge.nodes[link.end]
            if link.link == "competes-with" and link.end in self.site.fruits:
                found.append((link.strength, f"competes with {end.name}: keep it off the tree rows"))
            elif link.link == "shelters" and end.kind == "pest":
                found.append((link.strength, f"shelters {end.name}: keep it away from trunks"))
        return found

    def _winters(self, plant: Plant) -> list[tuple[int, str]]:
        """What is doubtful of a plant's winters here, where nothing rules it out."""
        winter, hardy = self.site.winter, plant.hardiness
        if winter.coldest is None or (hardy is None and plant.life == "annual"):
            return []
        if hardy is None:
            return [(_CHOOSY, "nobody has noted whether it stands your winter")]
        stands = f"stands winters down to {show(hardy.coldest, 'degC', self.site.units)}"
        if winter.known_by == "weather" and winter.coldest < hardy.coldest + COLDER:
            return [(_CHOOSY, f"{stands}, and the coldest in your weather came near that")]
        number = int((winter.zone or "0").rstrip("ab"))
        if hardy.mildest is not None and number > hardy.mildest:
            return [(_CHOOSY, f"named for zones up to {hardy.mildest}, and your winters are milder: ask whether it does "
                     "well near you")]  # fmt: skip
        return []

    def plants(self, taken: frozenset[int]) -> list[Plant]:
        return sorted((self.candidates[at] for at in taken), key=lambda plant: _begin(plant))


def choices(choosing: Choosing) -> list[dict[str, Any]]:
    """The best set and up to two others that differ from it in a third of their plants or more."""
    if not choosing.lacks:
        return []
    problem = choosing.problem()
    found = nearly(problem, choosing.method, ANSWERS)
    least = _size(choosing, found[0]) if found else 0
    most = least * DEARER if choosing.terms.prices else least + 1
    kept = [taken for taken in found if _size(choosing, taken) <= most]
    return [_choice(choosing, problem, taken, rank) for rank, taken in enumerate(kept, 1)]


def against_greedy(choosing: Choosing) -> dict[str, Any]:
    """How the sets were found, and how far the greedy way falls behind the exact one where both ran."""
    if not choosing.lacks:
        return {"method": "none needed", "exact": None, "greedy": None, "gap": None}
    problem = choosing.problem()
    quick = greedy(problem)
    best = solve(problem, "exact") if choosing.method == "exact" else None
    counts = {name: None if taken is None else _size(choosing, taken) for name, taken in (("e", best), ("g", quick))}
    gap = None if counts["e"] is None or counts["g"] is None else round(counts["g"] - counts["e"], 2)
    unit = "price" if choosing.terms.prices else "kinds"
    return {"method": choosing.method, "counts": unit, "exact": counts["e"], "greedy": counts["g"], "gap": gap}


def left_out(choosing: Choosing, asked: Sequence[Plant], found: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """For each plant that was asked about: whether it is chosen, and if not, why not."""
    return [_asked(choosing, plant, found) for plant in asked]


def _asked(choosing: Choosing, plant: Plant, found: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    def said(status: str, reasons: list[str]) -> dict[str, Any]:
        return {"plant": plant.id, "name": plant.name, "status": status, "reasons": reasons}

    against = refusals(plant, choosing.site, choosing.terms, choosing.knowledge)
    if against:
        status = "here already" if "here" in {one.why for one in against} else "left out"
        return said(status, [one.text for one in against])
    ranks = [one["rank"] for one in found if plant.id in {p["plant"] for p in one["plants"]}]
    if ranks:
        return said("chosen", [f"It is in choice {' and '.join(str(rank) for rank in ranks)}."])
    fills = filled_by(plant, choosing.lacks)
    if not fills:
        return said("not needed", [f"{plant.name} may be planted, but fills nothing that is lacking."])
    forced = solve(choosing.problem([plant.id]), choosing.method)
    best = solve(choosing.problem(), choosing.method)
    names = "; ".join(in_words(fills))
    if forced is None or best is None:
        return said("left out", [f"{plant.name} would fill {names}, but no set with it keeps to what is asked."])
    more = round(_size(choosing, forced) - _size(choosing, best), 2)
    unit = "the price" if choosing.terms.prices else "kinds"
    if more > 0:
        how = f"a set with it costs {more:g} more" if choosing.terms.prices else f"a set with it takes {more:g} more"
        return said("not needed", [f"{plant.name} would fill {names}, but {how}."])
    drawbacks = [words for _, words in choosing.drawbacks(plant)]
    why = f" It {listed(drawbacks)}." if drawbacks else ""
    return said("not needed", [f"{plant.name} would fill {names}; a set with it is no worse in {unit}, but others of "
                               f"the same size bring less trouble or came first.{why}"])  # fmt: skip


def _choice(choosing: Choosing, problem: Covering, taken: frozenset[int], rank: int) -> dict[str, Any]:
    plants = choosing.plants(taken)
    warnings = [text for plant in plants for text in warnings_of(plant)]
    said = [_plant(choosing, plant, [p for p in plants if p is not plant]) for plant in plants]
    price = sum(choosing.terms.prices.get(plant.id, 0) for plant in plants) if choosing.terms.prices else None
    return {
        "rank": rank,
        "first_know": warnings,
        "plants": said,
        "kinds": len(plants),
        "price": price,
        "cost": problem.cost(taken),
        "fills": in_words(choosing.lacks),
        "text": f"{len(plants)} kind{'s' if len(plants) != 1 else ''}: {listed([plant.name for plant in plants])}.",
    }


def _plant(choosing: Choosing, plant: Plant, others: Sequence[Plant]) -> dict[str, Any]:
    fills = filled_by(plant, choosing.lacks)
    alone = [lack for lack in fills if lack.least == 1 and not any(p.id in lack.filled_by for p in others)]
    return {
        "plant": plant.id,
        "name": plant.name,
        "latin": plant.latin,
        "where": [SPOT_WORDS[spot] for spot in spots(plant, choosing.site, choosing.terms.spots)],
        "for_whom": whom(plant),
        "weeks": None if plant.bloom is None else [plant.bloom.begin, plant.bloom.end],
        "hardy": _hardy(choosing, plant),
        "because": in_words(fills, each=True),
        "only_it": in_words(alone),
        "drawbacks": [words for _, words in choosing.drawbacks(plant)],
        "cautions": list(plant.cautions),
        "evidence": plant.bloom.evidence if plant.bloom else plant.evidence,
        "sources": [plant.bloom.source] if plant.bloom and plant.bloom.source else list(plant.sources),
    }


def _hardy(choosing: Choosing, plant: Plant) -> dict[str, Any]:
    """What winter a plant stands, said beside every plant that is chosen."""
    hardy, units = plant.hardiness, choosing.site.units
    if hardy is None:
        text = "" if plant.life == "annual" else "what winter it stands is not known"
        return {"zone": None, "coldest_c": None, "evidence": None, "source": None, "text": text}
    text = f"stands winters down to {show(hardy.coldest, 'degC', units)} (zone {hardy.zone})"
    return {"zone": hardy.zone, "coldest_c": round(hardy.coldest, 1), "evidence": hardy.evidence,
            "source": hardy.source, "text": text}  # fmt: skip


def warnings_of(plant: Plant) -> list[str]:
    """What must be known of a plant before it is planted."""
    found = []
    name = plant.name[0].upper() + plant.name[1:]
    if plant.id == "sterile-comfrey":
        found.append(f"{name} stays for good: it comes back from every piece of root. Make sure that it is the sterile "
                     "kind; common comfrey seeds itself about as well.")  # fmt: skip
    elif plant.permanent:
        found.append(f"{name} stays for good once planted.")
    if plant.spreads == "aggressively":
        found.append(f"{name} spreads hard.")
    if plant.toxic:
        found.append(f"{name} is poisonous: {', '.join(plant.toxic)}.")
    return found


def _size(choosing: Choosing, taken: frozenset[int]) -> float:
    if choosing.terms.prices:
        return sum(choosing.terms.prices[choosing.candidates[at].id] for at in taken)
    return len(taken)


def _begin(plant: Plant) -> tuple[float, str]:
    return (plant.bloom.begin if plant.bloom else 99.0, plant.id)
