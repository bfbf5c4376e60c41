"""What an orchard gives and takes in a year: chips of its prunings and hay of its sward against what the trees' mulch
takes, and what a crop carries off; and what follows from it for chips, cuts, teas and pruning."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor.fact import Fact
from advisor.facts import chips, cuts, pruning, teas
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.orchard import Block
from advisor.science import mulch, nutrition, ramial, sward

# Which published sward a floor is like; a mown turf or clover gives less, and no figure is published for it.
SWARDS = {"meadow": "meadow"}


def supply_facts(now: Situation, make: Maker, facts: Mapping[str, Fact]) -> Iterator[Fact]:
    """All of them; `facts` holds what is known already (rings, swards, crop expected)."""
    yield from _hedges(now, make)
    for block in now.blocks:
        ring = facts.get(f"ring-volume:{block.id}")
        if ring is not None and block.ground_area:
            yield _mulch(block, block.ground_area, ring, facts.get(f"sward-feed:{block.id}"), make)
        crop = facts.get(f"crop-expected:{block.id}")
        if crop is not None and isinstance(crop.fields.get("crop"), float | int):
            yield from _removal(block, float(crop.fields["crop"]), make)
    yield from chips.chip_facts(now, make, facts)
    yield from cuts.use_facts(now, make, facts)
    yield from teas.tea_facts(now, make)
    yield from pruning.pruning_facts(now, make, facts)


def _mulch(block: Block, ground: float, ring: Fact, cut: Fact | None, make: Maker) -> Fact:
    """Chips of a year's prunings and hay of a year's sward, at the least and at the most, against the trees' mulch."""
    least, most = (float(v) for v in mulch.prunings_volume(ground))
    first = [float(v) for v in ramial.first_dose(ground)]
    values: dict[str, object] = {"block": block.id, "chips_least": least, "chips_most": most, "first_least": first[0],
                                 "first_most": first[1]}
    text = f"{ground:g} m2 of fruit trees give {least:.1f} to {most:.1f} m3 of chips a year when pruned"
    if "chips" in ring.fields:
        short = float(mulch.shortfall(ring.fields["chips"], most))
        values["chips_short"] = short
        text += f"; the {ring.fields['shape']} take {ring.fields['chips']:.1f} m3"
        if short:
            hedge = [float(v) for v in mulch.hedge_length(short)]
            values |= {"hedge_least": hedge[0], "hedge_most": hedge[1]}
            text += f", {short:.1f} m3 more, as {hedge[0]:.0f} to {hedge[1]:.0f} m of field hedge give in a year"
    text += f"; a first dose for the whole floor would be {first[0]:.0f} to {first[1]:.0f} m3, from memory"
    hay, origin = _hay(block, ground, ring, cut, values)
    return make("mulch-supply", block.id, values, origin=("orchard", *origin), text=f"{text}{hay}",
                sources=("brf-method-notes", *(["younger-smith-1994"] if hay else [])))  # fmt: skip


def _hedges(now: Situation, make: Maker) -> Iterator[Fact]:
    """Chips that a hedge of the orchard gives in a year, by its length: its ground over the usual width of a hedge."""
    width = float(now.knowledge.figure("labour.hedge-width").value(now.region).value)
    for hedge in now.file.habitats:
        if hedge.kind == "hedge" and hedge.area:
            length = hedge.area / width
            least, most = (float(v) for v in mulch.hedge_volume(length))
            text = (f"{hedge.area:.0f} m2 / {width:g} m wide = {length:.0f} m of hedge, which give {least:.1f} to {most:.1f} m3 "
                    "of chips a year")
            yield make("hedge-chips", hedge.id, {"habitat": hedge.id, "length": length, "least": least, "most": most},
                       origin=("orchard",), text=text, sources=("brf-method-notes",))


def _hay(block: Block, ground: float, ring: Fact, cut: Fact | None,
         values: dict[str, object]) -> tuple[str, tuple[str, ...]]:
    """Fill in what the sward gives of hay; how it was found, and what the nitrogen in it was read from."""
    kind = SWARDS.get(block.floor or "")
    hay = sward.hay_mass(ground, kind) if kind else None
    if kind is None or hay is None:
        return "", ()
    least, most = (float(v) for v in hay)
    values |= {"hay_least": least, "hay_most": most}
    text = f"; as much meadow gives about {least:.0f} kg of hay a year, less what grows under the crowns"
    if "hay" in ring.fields:
        wanted = float(ring.fields["hay"])
        values["hay_short"] = float(mulch.shortfall(wanted, most))
        area = sward.area_for_hay(wanted, kind)
        assert area is not None
        values["hay_ground"] = float(area[1])
        text += f"; the {ring.fields['shape']} take {wanted:.0f} kg, the year's hay of {float(area[1]):.0f} m2"
    if cut is None:
        return text, ()
    nitrogen = float(sward.nitrogen_in_cut(least, cut.fields["cn"]))
    values["hay_nitrogen"] = nitrogen
    text += f"; cut as it stands, at {cut.fields['cn']:g} parts carbon to one, it holds {nitrogen:.1f} kg of nitrogen"
    return text, (cut.id,)


def _removal(block: Block, crop_kg: float, make: Maker) -> Iterator[Fact]:
    """What the expected crop takes away of each nutrient, kg."""
    for nutrient in ("N", "P", "K", "Ca", "Mg"):
        taken = nutrition.removal(block.fruit, nutrient, crop_kg / 1000)
        if taken is not None:
            low, high = (float(end) for end in taken)
            text = f"{crop_kg / 1000:.3g} t of fruit carry off {low:.2g} to {high:.2g} kg of {nutrient}"
            yield make("crop-removal", f"{block.id}:{nutrient}",
                       {"block": block.id, "nutrient": nutrient, "least": low, "most": high},
                       origin=(f"crop-expected:{block.id}",), text=text, sources=("wsu-em119e",))  # fmt: skip
