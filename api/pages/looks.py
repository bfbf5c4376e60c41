"""The looks that people can record on a walk: for each kind of observation the fields that matter, in plain words.

What a field is (a word of a list, a length, a share) is read from the observation's own class, so that a form and the
reader cannot part. Here stands only what to ask first, and how to say it.
"""

from __future__ import annotations

from dataclasses import dataclass

BLOCKS, HABITATS, PLACES, ANYWHERE = "blocks", "habitats", "places", "anywhere"


@dataclass(frozen=True)
class Look:
    """A kind of look. first: fields asked at once; more: those that fewer people write down. where: which places can be
    named. bbch: stages of the trees between which it is likely to be made (common practice, no source)."""

    kind: str
    title: str
    first: tuple[str, ...]
    more: tuple[str, ...] = ()
    where: str = BLOCKS
    bbch: tuple[int, int] = (0, 99)
    group: str = "trees"


GROUPS = {
    "trees": "Trees and fruit",
    "floor": "The floor and habitats",
    "creatures": "Insects, disease, animals",
    "work": "Work and weather",
    "tests": "Tests and heaps",
}

# What a heap is made of: so many stuffs are asked for, the rest can be told in a file.
PARTS = tuple(f"parts.{number}.{field}" for number in range(4) for field in ("material", "mass", "moisture"))

LOOKS: dict[str, Look] = {
    look.kind: look
    for look in (
        Look("tree-stage", "Stage of the trees", ("stage",), ("open", "cultivar")),
        Look("tree-sign", "How the trees look", ("sign", "share")),
        Look("fruit-set", "Fruit set", ("fruit_per_cluster", "clusters_with_fruit"), bbch=(67, 77)),
        Look("crop-count", "Count of the crop", ("fruit_per_tree", "girth", "limbs"),
             ("diameter", "fruit_diameter", "spacing", "touching", "cultivar"), bbch=(71, 92)),
        Look("fruit-sample", "Ripeness of fruit", ("parts_when_lifted", "ground_colour", "starch", "soluble_solids"),
             ("firmness", "blush", "fruit", "cultivar"), bbch=(77, 99)),
        Look("shoot-growth", "Growth of shoots", ("length", "terminal_set"), bbch=(60, 97)),
        Look("bud-kill", "Frost in the buds", ("dead", "sample"), ("live_per_lateral", "wanted_per_lateral"),
             bbch=(0, 71)),
        Look("bees", "Bees at the trees", ("per_tree_minute", "who", "at"), bbch=(57, 69)),
        Look("mummies", "Mummies", ("per_tree", "at", "of")),
        Look("sward", "Grass and flowers below", ("height", "seed_heads", "in_flower"), ("cover", "dominant"), PLACES,
             group="floor"),
        Look("plant-bloom", "A plant in flower", ("plant", "open"), (), ANYWHERE, (51, 95), "floor"),
        Look("mulch", "Mulch", ("depth", "trunk_gap", "material"), ("union_covered",), group="floor"),
        Look("stems", "Standing stems", ("standing", "height"), ("first_cut",), HABITATS, group="floor"),
        Look("leaf-fall", "Fallen leaves", ("fallen", "state", "scab_on_leaves"), ("reachable",), bbch=(91, 69),
             group="floor"),
        Look("soil-water", "Wetness of the soil", ("feel", "bears_mower"), ("crust", "depletion"), group="floor"),
        Look("pest-count", "Count of a pest", ("pest", "count", "per"),
             ("trap", "days", "sample", "infested", "curled", "over", "winged", "at"), group="creatures"),
        Look("pest-damage", "Damage by a pest", ("pest", "share", "of", "fresh"), ("sign", "height"), ANYWHERE,
             group="creatures"),
        Look("ally-count", "Helpful creatures", ("ally", "abundance"), ("share", "count", "per", "days", "sample"),
             ANYWHERE, (51, 95), "creatures"),
        Look("disease-sign", "Signs of a disease", ("disease", "share", "where"),
             ("strikes", "per_tree", "horns", "sign", "height"), ANYWHERE, group="creatures"),
        Look("vole-sign", "Signs of voles", ("runways", "gnawing"), ("slices_eaten", "drops_chewed"),
             group="creatures"),
        Look("wildlife-sign", "Birds and other animals", ("who",), (), ANYWHERE, group="creatures"),
        Look("work", "Work that is done", ("practice", "hours"), ("amount", "material", "target"), ANYWHERE,
             group="work"),
        Look("intent", "Work that you mean to do", ("practice", "day"),
             ("material", "target", "amount", "depth", "plants", "thickness", "fresh"), ANYWHERE, group="work"),
        Look("forecast", "The forecast", ("day", "low", "high", "rain"), ("frost", "sky", "wind"), "orchard",
             group="work"),
        Look("snow", "Snow", ("depth",), (), ANYWHERE, (97, 52), "work"),
        Look("leaf-test", "Leaf test", ("results.N", "results.K", "results.Ca", "results.Mg", "results.B"),
             ("cultivar",), group="tests"),
        Look("soil-test", "Soil test", ("results.ph", "results.organic_matter", "results.P", "results.K"), (),
             group="tests"),
        Look("heap", "Heap of compost or chips", ("feel", "smell"), (*PARTS, "goal_cn"), "orchard", group="tests"),
    )
}  # fmt: skip

# What a field asks, where its name alone does not say it. Kind and field first, then the field anywhere.
ASKS: dict[str, str] = {
    "stage": "Stage", "open": "Share of flowers open", "cultivar": "Cultivar", "sign": "What you see",
    "share": "Share of those looked at", "tree-sign.share": "Share of the trees",
    "fruit_per_cluster": "Fruit in a cluster", "clusters_with_fruit": "Share of clusters with fruit",
    "fruit_per_tree": "Fruit on a tree", "girth": "Girth of the trunk", "diameter": "Diameter of the trunk",
    "fruit_diameter": "Diameter of a fruit", "spacing": "From fruit to fruit", "touching": "Share that touch",
    "parts_when_lifted": "Parts when lifted", "starch": "Starch index, 1 to 8", "soluble_solids": "Sugar (Brix)",
    "fruit": "Fruit in the sample", "length": "Length of new shoots", "terminal_set": "End buds are set",
    "dead": "Share of buds dead", "sample": "How many looked at", "live_per_lateral": "Live buds on a lateral",
    "wanted_per_lateral": "Wanted on a lateral", "per_tree_minute": "Bees on a tree in a minute", "who": "Who",
    "per_tree": "On a tree", "at": "Where", "of": "Of what", "in_flower": "Share in flower",
    "cover": "Share of ground covered", "dominant": "Mostly", "seed_heads": "Seed heads",
    "trunk_gap": "Gap to the bark", "union_covered": "Covers the graft union", "standing": "Share left standing",
    "first_cut": "Year of the first cut, or never", "fallen": "Share fallen", "state": "The leaves are",
    "scab_on_leaves": "Share with scab", "reachable": "Share you can reach", "feel": "It feels",
    "bears_mower": "Bears a mower", "crust": "A crust on top", "depletion": "Water lacking", "count": "How many",
    "per": "On each", "ally-count.per": "On each (tree, shoot ...)", "days": "Over how many days",
    "infested": "Share infested", "curled": "Share curled", "over": "Share over the limit", "winged": "Winged ones seen",
    "pest-count.at": "Where in the block", "fresh": "Is it fresh", "disease-sign.sign": "What you see, in your words",
    "disease-sign.where": "On what", "strikes": "Strikes in all", "disease-sign.per_tree": "Strikes on a tree",
    "horns": "Horns on juniper", "runways": "Runways", "gnawing": "Bark gnawed", "slices_eaten": "Share of slices eaten",
    "drops_chewed": "Dropped fruit chewed", "practice": "What work", "hours": "Hours it took",
    "amount": "How much, with unit", "day": "On which day", "low": "Lowest", "high": "Highest", "forecast.rain": "Rain",
    "frost": "If frost comes, it is", "sky": "Sky at night", "smell": "It smells of", "results.N": "Nitrogen",
    "results.P": "Phosphorus", "results.K": "Potassium", "results.Ca": "Calcium", "results.Mg": "Magnesium",
    "results.B": "Boron", "results.ph": "pH", "results.organic_matter": "Organic matter", "abundance": "How many",
    "target": "For or against what", "mummies.at": "They hang or lie on", "bees.at": "Where",
    "limbs": "The limbs are", "note": "Note",
    "goal_cn": "Carbon to one of nitrogen, as you want it", "intent.depth": "How deep", "thickness": "Thickest branch in the chips",
    "plants": "Chips of which trees, parted by commas", "intent.fresh": "Chips used fresh",
}  # fmt: skip

# Units of results of tests, which their names alone do not say (leaf tests tell trace elements in ppm).
RESULT_UNITS = {"results.B": "ppm", "results.ph": "", "soil-test.results.P": "ppm", "soil-test.results.K": "ppm"}


def asks(kind: str, field: str) -> str:
    """What a form asks for a field."""
    if field in PARTS:
        _, number, part = field.split(".")
        ask = {"material": "Stuff {}", "mass": "How much of stuff {}", "moisture": "Water in stuff {}, by weight"}[part]
        return ask.format(int(number) + 1)
    return ASKS.get(f"{kind}.{field}") or ASKS.get(field) or field.replace("_", " ").capitalize()
