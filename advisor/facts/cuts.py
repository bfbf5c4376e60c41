"""What a cut sward would be: its carbon to nitrogen, what that does in the soil, and what the cut can serve as."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from advisor.ecosystem import Plant
from advisor.fact import Fact
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.observation import Work
from advisor.science import sward
from advisor.sentences import in_words, listed

CLOVER = "white-clover"  # what a floor of clover is read as, where no legume is named
LEAFY = "none"  # seed heads
STONE = frozenset({"peach", "nectarine", "apricot", "plum", "sweet-cherry", "tart-cherry"})
STOCK = frozenset({"livestock", "horses"})  # whom a plant may harm that is fed to them
WILTS_DAYS = 14  # for which cut branches lie about with leaves on (common practice, no source)


def feed_of_swards(now: Situation, make: Maker, facts: Iterable[Fact]) -> Iterator[Fact]:
    """What a cut of each block's sward would be as mulch: by its seed heads, leafy clover by its own analysis."""
    for fact in facts:
        heads, block = fact.fields.get("seed_heads"), fact.fields.get("block")
        if fact.kind != "sward" or heads is None or block is None:
            continue
        low, high = sward.cn_range(str(heads))
        middle = sward.cn(str(heads))
        text = f"a sward with seed heads {heads}: {low:g} to {high:g} parts carbon to one of nitrogen"
        legume = _legume(now, str(block)) if heads == LEAFY else None
        known = sward.crop_cn(legume, "vegetative") if legume else None
        if known is not None and legume is not None:
            middle = sum(known) / 2
            text = f"leafy {in_words(legume)}: {middle:g} parts carbon to one of nitrogen"
        effect = sward.nitrogen_effect(middle)
        values = {"block": block, "cn": middle, "effect": effect, "gives_nitrogen": effect == "release"}
        yield make("sward-feed", str(block), values, origin=(fact.id,), text=text)


def _legume(now: Situation, block: str) -> str | None:
    """The legume that a floor of clover is made of; None for other floors."""
    found = next(b for b in now.blocks if b.id == block)
    if found.floor != "clover":
        return None
    named = (plant for plant in found.understory or () if sward.crop_cn(plant, "vegetative") and "clover" in plant)
    return next(named, CLOVER)


def use_facts(now: Situation, make: Maker, facts: Mapping[str, Fact]) -> Iterator[Fact]:
    """What the cut of each sward that was looked at can serve as, and what keeps it from being fodder."""
    for fact in facts.values():
        heads = fact.fields.get("seed_heads")
        if fact.kind != "sward" or heads is None:
            continue
        block, habitat = fact.fields.get("block"), fact.fields.get("habitat")
        grows = _grows(now, block, habitat)
        uses = sward.uses(str(heads), [p.id for p in grows], [p.id for p in grows if STOCK.intersection(p.toxic)],
                          _copper_lies(now, block), _wilted(now, block), _ratio(facts, block))
        fodder = next(use for use in uses if use["use"] == "fodder")
        serves = [in_words(use["use"]) for use in uses if use["fit"]]
        values = {"block": block, "habitat": habitat, "heads": heads, "serves": listed(serves), "fodder": fodder["fit"]}
        if not fodder["fit"]:
            dangers = [*fodder["cautions"][:-1], *([fodder["why"]] if heads == "ripe" else [])]
            values["danger"] = " ".join(one[0].upper() + one[1:] for one in map(in_words, dangers))
        text = "; ".join(f"{in_words(use['use'])}: {str(use['why']).rstrip('.')}" for use in uses if use["fit"])
        yield make("cut-uses", str(block or habitat), values, origin=(fact.id, "orchard"), text=text)


def _ratio(facts: Mapping[str, Fact], block: object) -> float | None:
    """What the block's sward was found to be; None for a habitat, where its seed heads alone tell."""
    feed = facts.get(f"sward-feed:{block}")
    return None if feed is None else float(feed.fields["cn"])


def _grows(now: Situation, block: object, habitat: object) -> list[Plant]:
    """What is known to grow in a place, as the knowledge tells of it."""
    names = [p for b in now.blocks if b.id == block for p in b.understory or ()]
    names += [p for h in now.file.habitats if h.id == habitat for p in h.plants or ()]
    nodes = (now.knowledge.resolve(name, kind="plant") for name in names)
    return [node for node in nodes if isinstance(node, Plant)]


def _copper_lies(now: Situation, block: object) -> bool:
    """Whether copper was sprayed so lately that sheep are kept off."""
    days = float(now.knowledge.figure("copper.sheep-days").value(now.region).value)
    return any(w.material == "copper" and now.days_ago(w.date) < days and not w.habitat and w.block in (None, block)
               for w in now.observations if isinstance(w, Work))


def _wilted(now: Situation, block: object) -> bool:
    """Whether stone fruit was cut in leaf lately, so that wilted leaves may lie in the grass."""
    stone = any(b.id == block and b.fruit in STONE for b in now.blocks)
    return stone and any(w.practice in ("summer-prune", "hand-thin") and now.days_ago(w.date) <= WILTS_DAYS
                         and not w.habitat and w.block in (None, block)
                         for w in now.observations if isinstance(w, Work))

