"""The ecosystem graph that comes with the program: complete, findable by the words people use, and held to sources."""

from __future__ import annotations

import pytest

from advisor.ecosystem import (
    Ally,
    Disease,
    Habitat,
    Knowledge,
    Material,
    Pest,
    Plant,
    Practice,
    Stage,
    check,
    knowledge,
    load_knowledge,
    shipped_folder,
)
from advisor.knowledge_schema import SIGN

FRUITS = "apple pear quince peach nectarine apricot plum sweet-cherry tart-cherry"
HABITATS = "hedge flower-strip meadow stem-bed tussock-bank wood-edge pond nest-boxes"
PRACTICES = """
first-mow mow-alleys mow-every-other-alley autumn-mow mow-bloom-before-spray clear-tree-ring shred-leaves gather-leaves
leave-stems shorten-stems leave-margin mow-margin leave-tall cut-to-ground keep-strip-bare wet-the-soil sow-clover
plant-understory plant-hedge sow-flower-strip remove-host-plant cut-back-hedge put-up-nest-boxes set-out-mason-bees
bring-hives shelter-for-earwigs plant-pollinizer graft-pollinizer plant-trees
spread-ramial-chips lay-hay-ring draw-mulch-back spread-compost spread-manure dig-in-chips mix-heap cultivate
hold-nitrogen feed-nitrogen lime gypsum test-soil test-leaves irrigate
dormant-prune summer-prune cut-out-blight cut-out-canker cut-out-knots cut-out-mildew cut-out-dead-wood remove-mummies
remove-rust-galls guard-trunks prop-limbs
thin-blossom hand-thin pick-up-drops bag-fruit sample-fruit pick store ripen-indoors chill-fruit count-buds count-bees
plant-tea calcium-spray biology-spray sulphur lime-sulphur copper oil kaolin bicarbonate soap microbial-spray
mating-disruption protect-bloom insecticide
scout hang-traps check-cankers apple-slice-check frost-watch frost-protect squash-colonies hose-off dig-out-borers
scrub-trunks spare-allies release-allies lay-dust
call-helpers remove-suckers train-limbs stake-trees whitewash-trunks net-fruit fence-out-deer trap-voles graze
"""
MATERIALS = """
ramial-chips wood-chips sawdust bark straw hay dry-leaves grass-clippings meadow-cut comfrey-leaf nettle-leaf compost
farmyard-manure poultry-manure horse-manure seaweed urea lawn-feed wettable-sulphur lime-sulphur copper dormant-oil
summer-oil neem fish-liquid kelp whey soap kaolin potassium-bicarbonate calcium-chloride table-salt vegetable-oil
spinosad pyrethrin bacillus-thuringiensis granulosis-virus biological-blossom-protectant soil-systemic trunk-drench
"""
DISEASES = """
apple-scab pear-scab fire-blight cedar-apple-rust quince-rust powdery-mildew sooty-blotch-flyspeck bitter-rot black-rot
brown-rot peach-leaf-curl cherry-leaf-spot black-knot apple-canker bacterial-canker silver-leaf eutypa pear-rust
bacterial-spot white-rot plum-pockets shot-hole cytospora-canker
"""
PESTS = """
cherry-fruit-fly codling-moth oriental-fruit-moth plum-curculio apple-maggot apple-sawfly tarnished-plant-bug
green-apple-aphid rosy-apple-aphid apple-grass-aphid woolly-apple-aphid european-red-mite pear-psylla san-jose-scale
leafroller peachtree-borer roundheaded-borer spotted-wing-drosophila stink-bug caterpillars voles
"""
ALLIES = """
earwig lacewing lady-beetle hover-fly predatory-mite aphelinus-wasp ground-beetle spider bumble-bee mason-bee honey-bee
"""
PLANTS = """
juniper eastern-redcedar bramble white-clover ribwort-plantain common-comfrey sterile-comfrey hazel elder chives
"""
STAGES = """
dormant silver-tip green-tip half-inch-green tight-cluster pink balloon king-bloom full-bloom petal-fall fruit-set
june-drop half-grown colouring harvest after-harvest leaf-fall leafless bud-swell bud-burst white-bud full-white
side-white side-green open-cluster tips-separate calyx-green calyx-red shuck-split pit-hardening
"""


@pytest.fixture(scope="module")
def known() -> Knowledge:
    return knowledge()


@pytest.mark.parametrize(
    ("kind", "words"),
    [("plant", FRUITS), ("plant", PLANTS), ("habitat", HABITATS), ("practice", PRACTICES), ("material", MATERIALS),
     ("disease", DISEASES), ("pest", PESTS), ("ally", ALLIES), ("stage", STAGES)],
)  # fmt: skip
def test_every_word_of_the_orchard_file_and_the_answer_is_an_id(known, kind, words):
    ids = {node.id for node in known.nodes.values() if node.kind == kind}
    assert sorted(set(words.split()) - ids) == []


def test_other_names_are_read_as_the_id(known):
    for word, kind, id in (
        ("ladybird", "ally", "lady-beetle"), ("hoverfly", "ally", "hover-fly"), ("pyrethrins", "material", "pyrethrin"),
        ("Ladybird", None, "lady-beetle"), ("lucerne", "plant", "alfalfa"), ("chickadee", "ally", "tit"),
    ):  # fmt: skip
        assert known.resolve(word, kind).id == id
    assert known.resolve("ladybird", "plant") is None
    assert known.resolve("no such thing") is None


def test_a_word_for_a_practice_and_a_material_is_told_apart_by_its_kind(known):
    for word in ("copper", "lime-sulphur", "kaolin", "soap", "lime", "gypsum"):
        assert known.resolve(word).kind == "practice"
        assert known.resolve(word, "material").key == f"material:{word}"
        assert known.resolve(word, ("material", "plant")).kind == "material"
        assert known.resolve(f"material:{word}").kind == "material"
        assert known.node(f"material:{word}", "material").id == word


@pytest.mark.parametrize(
    ("word", "kind", "near"),
    [("codlin-moth", "pest", "codling-moth"), ("ribwort", "plant", "ribwort-plantain"), ("hazle", "plant", "hazel"),
     ("apple scabb", "disease", "apple-scab"), ("ramial chip", "material", "ramial-chips"),
     ("rosy aphid", "pest", "rosy-apple-aphid")],
)  # fmt: skip
def test_the_nearest_known_names_are_offered(known, word, kind, near):
    assert near in known.nearest(word, kind)
    assert all(known.node(id, kind) for id in known.nearest(word, kind))


def test_a_name_like_nothing_known_gets_no_guess(known):
    assert known.nearest("xqzzy", "plant") == []


def test_there_is_enough_of_each(known):
    assert len(known.of_kind(Plant)) >= 85
    assert len(known.of_kind(Ally)) >= 30
    assert len(known.of_kind(Pest)) >= 35
    assert len(known.of_kind(Disease)) >= 25
    assert {plant.id for plant in known.of_kind(Plant).values() if plant.fruit} == set(FRUITS.split())
    assert {habitat.kind_of for habitat in known.of_kind(Habitat).values()} == {*HABITATS.split(), "element"}


def test_nothing_is_missing(known):
    assert [str(problem) for problem in check(known)] == []


def test_every_link_is_walked_or_is_one_of_the_six_that_only_say_something(known):
    unwalked = {link.link for link in known.links} - set(SIGN)
    assert unwalked <= {"happens-at", "susceptible-at", "alternate-host-of", "blooms", "needs", "conflicts-with"}
    assert known.graph.number_of_edges() == len(known.links)
    assert known.graph.number_of_nodes() == len(known.nodes)


def test_every_spray_and_every_cutting_tool_shows_a_caution(known):
    for practice in known.of_kind(Practice).values():
        if practice.group == "sprays" or set(practice.tools or ()) & {"ladder", "scythe", "chainsaw", "chipper"}:
            assert practice.cautions, practice.id
    sprays = [practice for practice in known.of_kind(Practice).values() if practice.group == "sprays"]
    silent = [spray.id for spray in sprays if not any("label" in caution.lower() for caution in spray.cautions)]
    assert silent == ["mating-disruption"], "dispensers are hung, not sprayed; every spray names its label"


def test_poisons_on_bloom_are_marked_as_harm_to_bees(known):
    for id in ("insecticide", "lime-sulphur", "sulphur", "copper", "oil", "soap", "kaolin", "thin-blossom"):
        assert known.node(id, "practice").hurts_bees_in_bloom is True, id
    for id in ("plant-tea", "calcium-spray", "bicarbonate", "microbial-spray", "mating-disruption"):
        assert known.node(id, "practice").hurts_bees_in_bloom is False, id


# Carbon to nitrogen by other tables than the one most of our values come from: characteristics of common composting
# materials, table 3, as copied in 2008 (sawdust, straw, leaves, poultry litter, horse and sheep manure); the Natural
# Resources Conservation Service, carbon to nitrogen ratios in cropping systems, 2011 (barnyard manure 20, legume hay
# 17, alfalfa 13-25); Golueke 1972 (grass clippings 12-25, seaweed from memory); Rosales, Saunders and Sucik (wood chips
# 100-500); Caron 2015 (ramial chips 30-170).
SECOND_TABLE = {
    "sawdust": (200, 750), "straw": (48, 150), "dry-leaves": (40, 80), "poultry-litter": (12, 18),
    "farmyard-manure": (15, 25), "horse-manure": (22, 50), "sheep-manure": (13, 20), "legume-hay": (13, 25),
    "wood-chips": (100, 500), "ramial-chips": (30, 170), "grass-clippings": (12, 25), "seaweed": (15, 27),
}  # fmt: skip


@pytest.mark.parametrize("id", SECOND_TABLE)
def test_carbon_to_nitrogen_agrees_with_a_second_table(known, id):
    material = known.node(id, "material")
    assert isinstance(material, Material)
    low, high = SECOND_TABLE[id]
    assert low <= material.cn <= high


def test_carbon_where_given_is_nitrogen_times_the_ratio(known):
    for material in known.of_kind(Material).values():
        if material.carbon_pct and material.nitrogen_pct and material.cn:
            assert material.carbon_pct / material.nitrogen_pct == pytest.approx(material.cn, abs=0.6), material.id


# BBCH codes of the trade's words: Meier (ed.), Growth stages of mono- and dicotyledonous plants, pome and stone fruit.
@pytest.mark.parametrize(
    ("stage", "bbch"), [("dormant", 0), ("green-tip", 53), ("pink", 57), ("full-bloom", 65), ("petal-fall", 69),
                        ("fruit-set", 71), ("half-grown", 75), ("harvest", 87), ("leaf-fall", 93)],
)  # fmt: skip
def test_stages_carry_their_code(known, stage, bbch):
    node = known.node(stage, "stage")
    assert isinstance(node, Stage)
    assert node.bbch == bbch


def test_known_facts_of_the_trade_are_in_the_graph(known):
    """Common practice and the handbooks agree on these; a graph without them would be wrong."""

    def links(start: str, kind: str) -> set[str]:
        return {link.end for link in known.links_from(start) if link.link == kind}

    assert {"cedar-apple-rust", "quince-rust"} <= links("eastern-redcedar", "spreads")
    assert "rosy-apple-aphid" in links("ribwort-plantain", "hosts"), "Cockfield and others 2011"
    assert "apple-scab" in links("leaf-litter", "shelters")
    assert "voles" in links("tall-grass", "shelters")
    assert "predatory-mite" in links("sulphur", "harms"), "Beers and others 2009"
    assert "earthworm" in links("copper", "harms")
    assert {"parasitic-wasp", "spider"} <= links("kaolin", "harms"), "Knight and others 2001"
    assert "rosy-apple-aphid" in links("kaolin", "favours"), "Knight and others 2001"
    assert "tit" in links("nest-boxes", "shelters"), "Garcia, Minarro and Martinez-Sastre 2021"
    assert "nitrogen" in links("white-clover", "gathers")


def test_sources_seen_are_told_from_those_remembered(known):
    assert {source.seen for source in known.sources.values()} <= {"seen", "second-hand", "memory"}
    used = {source for node in known.nodes.values() for source in node.sources}
    used |= {link.source for link in known.links if link.source}
    used |= {row.source for figure in known.figures.values() for row in figure.rows if row.source}
    assert used <= set(known.sources)


def test_it_is_read_once_and_the_same_each_time(known):
    assert knowledge() is known
    assert load_knowledge(shipped_folder()).edition == known.edition
    with pytest.raises(KeyError):
        known.node("no-such-thing")
    with pytest.raises(KeyError):
        known.figure("no.such-figure")
