"""What the knowledge says of pests and allies is complete, and what it says twice agrees."""

from collections import Counter
from functools import cache

import pytest

from advisor.ecosystem import shipped_folder
from advisor.knowledge_files import Contents, read_folders
from advisor.knowledge_schema import Ally, Link, Pest

FRUITS = {"apple", "pear", "quince", "peach", "nectarine", "apricot", "plum", "sweet-cherry", "tart-cherry"}

# Words that other tools and saved orchards use.
PESTS = [
    "codling-moth", "oriental-fruit-moth", "plum-curculio", "apple-maggot", "apple-sawfly", "tarnished-plant-bug",
    "green-apple-aphid", "rosy-apple-aphid", "apple-grass-aphid", "woolly-apple-aphid", "european-red-mite",
    "pear-psylla", "san-jose-scale", "leafroller", "peachtree-borer", "roundheaded-borer",
    "spotted-wing-drosophila", "stink-bug", "caterpillars", "voles", "cherry-fruit-fly",
]
ALLIES = [
    "earwig", "lacewing", "lady-beetle", "hover-fly", "predatory-mite", "aphelinus-wasp", "ground-beetle",
    "spider", "bumble-bee", "mason-bee", "honey-bee",
]
OTHER_WORDS = {"ladybird": "lady-beetle", "ladybug": "lady-beetle", "hoverfly": "hover-fly", "syrphid": "hover-fly",
               "vole": "voles", "bumblebee": "bumble-bee", "brown-marmorated-stink-bug": "stink-bug"}


@cache
def known() -> Contents:
    return read_folders([shipped_folder()])


def pests() -> dict[str, Pest]:
    return {key: node for key, node in known().nodes.items() if isinstance(node, Pest)}


def allies() -> dict[str, Ally]:
    return {key: node for key, node in known().nodes.items() if isinstance(node, Ally)}


@cache
def links() -> tuple[Link, ...]:
    return tuple(known().all_links())


@cache
def pairs(*kinds: str) -> frozenset[tuple[str, str]]:
    return frozenset((link.start, link.end) for link in links() if link.link in kinds)


def own(place: str) -> bool:
    return any(f"/{name}" in place for name in ("pests/", "allies.yaml", "pests.yaml", "insects", "voles.yaml"))


def test_the_files_read_without_a_problem() -> None:
    assert [str(problem) for problem in known().problems if own(problem.file)] == []


def test_there_are_enough_of_them_and_the_promised_words_are_known() -> None:
    assert len(pests()) >= 35
    assert len(allies()) >= 30
    assert set(PESTS) <= set(pests())
    assert set(ALLIES) <= set(allies())


@pytest.mark.parametrize(("word", "means"), OTHER_WORDS.items())
def test_other_words_are_read_as_these(word: str, means: str) -> None:
    assert word in (allies() | pests())[means].also


def test_no_word_names_two_of_them() -> None:
    words = Counter(word for node in (*pests().values(), *allies().values()) for word in (node.id, *node.also))
    assert [word for word, times in words.items() if times > 1] == []


# --- pests -----------------------------------------------------------------------------------------------------------
def test_every_pest_says_what_it_lives_on_when_and_where_it_winters() -> None:
    for pest in pests().values():
        assert set(pest.fruits) <= FRUITS, pest.id
        assert pest.fruits, pest.id
        assert pest.hosts, pest.id
        assert set(pest.fruits) <= set(pest.hosts), pest.id
        assert pest.open_stages, pest.id
        assert {stage.fruit for stage in pest.open_stages} == set(pest.fruits), pest.id
        assert all(0 <= stage.bbch[0] < stage.bbch[1] <= 97 for stage in pest.open_stages), pest.id
        assert pest.winters_in, pest.id
        assert pest.eaten_by is not None, pest.id
        assert pest.kind_of, pest.id
        assert pest.note, pest.id


def test_every_enemy_named_by_a_pest_is_an_ally_that_has_the_link_and_the_other_way_round() -> None:
    hunts = pairs("eats", "parasitises")
    said = {(enemy, pest.id) for pest in pests().values() for enemy in pest.eaten_by or ()}
    linked = {(start, end) for start, end in hunts if start in allies() and end in pests()}
    assert said == linked
    assert linked == {(ally.id, prey) for ally in allies().values() for prey in ally.prey or ()}


def test_every_pest_harms_its_fruits_and_the_trees_host_it() -> None:
    harms, hosts = pairs("harms"), pairs("hosts")
    for pest in pests().values():
        if pest.id == "ants":  # they harm by what they favour
            assert any(start == "ants" for start, _ in pairs("favours"))
            continue
        assert {(pest.id, fruit) for fruit in pest.fruits} <= harms, pest.id
        if pest.kind_of not in ("rodent", "mammal", "bird", "wasp"):
            assert {(plant, pest.id) for plant in pest.hosts or ()} <= hosts, pest.id


def test_every_winter_place_of_a_pest_has_its_link() -> None:
    shelters = pairs("shelters")
    assert [(place, pest.id) for pest in pests().values() for place in pest.winters_in or ()
            if place != "elsewhere" and (place, pest.id) not in shelters] == []


def test_a_pest_is_harmful_only_while_its_fruit_is_open_to_it() -> None:
    """The season of `harms` is the open stage of that fruit, the whole year, or winter (voles)."""
    for link in links():
        pest = pests().get(link.start)
        if link.link == "harms" and pest and link.end in FRUITS and link.season.bbch:
            spans = {stage.fruit: stage.bbch for stage in pest.open_stages or ()}
            assert link.season.fruit == link.end
            assert tuple(link.season.bbch) == tuple(spans[link.end]), pest.id


# --- allies ----------------------------------------------------------------------------------------------------------
def test_every_ally_says_what_it_eats_and_where_it_winters() -> None:
    for ally in allies().values():
        assert ally.group, ally.id
        assert ally.prey is not None, ally.id
        assert (ally.group == "pollinator") == (not ally.prey), ally.id
        assert ally.adult_food, ally.id
        assert ally.winters_in, ally.id
        assert ally.note, ally.id


def test_every_winter_place_of_an_ally_has_its_link() -> None:
    shelters = pairs("shelters")
    assert [(place, ally.id) for ally in allies().values() for place in ally.winters_in or ()
            if place != "elsewhere" and (place, ally.id) not in shelters] == []


def test_an_ally_hunts_only_while_it_is_about() -> None:
    for link in links():
        ally = allies().get(link.start)
        if ally and ally.active and link.link in ("eats", "parasitises") and link.season.weeks:
            first, last = link.season.weeks
            assert ally.active.from_week <= first < last <= ally.active.to_week, f"{link.start} {link.end}"


def test_allies_that_need_flowers_are_fed_by_some() -> None:
    fed = {end for _, end in pairs("feeds")}
    flower_eaters = {ally.id for ally in allies().values() if {"nectar", "pollen"} & set(ally.adult_food or ())}
    assert flower_eaters <= fed


def test_bees_serve_the_crop_and_stem_bees_keep_their_stubs() -> None:
    assert {("honey-bee", "fruit-set"), ("bumble-bee", "fruit-set"), ("mason-bee", "fruit-set")} <= pairs("favours")
    stubs = [link for link in links() if (link.start, link.end, link.link) == ("stem-stubble", "stem-bee", "shelters")]
    assert [str(link.season) for link in stubs] == ["always"]  # two generations overlap: no month is safe


def test_winter_hunters_of_codling_moth_hunt_in_winter() -> None:
    hunts = [link for link in links() if (link.link, link.end) == ("eats", "codling-moth")]
    winter = {link.start for link in hunts if link.season.winter}
    assert {"tit", "woodpecker"} <= winter


def test_tall_grass_shelters_both_sides() -> None:
    """Spiders and ladybirds, but voles too: the advice has to weigh them."""
    assert {("tall-grass", "spider"), ("tall-grass", "lady-beetle"), ("tall-grass", "voles")} <= pairs("shelters")


# --- evidence --------------------------------------------------------------------------------------------------------
def test_what_is_called_published_names_a_source_that_was_not_quoted_from_memory() -> None:
    sources = known().sources
    for node in (*pests().values(), *allies().values()):
        if node.evidence == "published":
            assert node.sources, node.id
            assert any(sources[name].seen != "memory" for name in node.sources), node.id
    for link in links():
        if (link.start in allies() or link.start in pests() or link.end in pests()) and link.evidence == "published":
            assert link.source, f"{link.start} {link.link} {link.end}"
            assert sources[link.source].seen != "memory", f"{link.start} {link.link} {link.end}"


def test_beasts_that_sting_bite_or_are_protected_come_with_a_caution() -> None:
    for name in ("honey-bee", "bumble-bee", "bat", "snake"):
        assert allies()[name].cautions, name
    for name in ("wasps", "birds", "spongy-moth"):
        assert pests()[name].cautions, name


def test_the_figures_of_insects_allies_and_voles_are_sound() -> None:
    figures = [figure for figure in known().figures.values() if own(known().at(figure).file)]
    assert len(figures) >= 300
    for figure in figures:
        regions = [row.region for row in figure.rows]
        assert len(set(regions)) == len(regions), figure.id
        assert figure.default is None or figure.default in regions, figure.id
        for row in figure.rows:
            assert (row.evidence == "published") == bool(row.source), figure.id
            if figure.unit == "share":
                assert 0 < row.value <= 1, figure.id


def test_figures_of_a_pest_or_ally_name_one_that_is_known() -> None:
    others = {"guards", "pollination", "bees", "enemies", "mcintosh"}
    figures = [figure for figure in known().figures.values() if own(known().at(figure).file)]
    assert {figure.id.split(".")[0] for figure in figures} <= set(pests()) | set(allies()) | others
