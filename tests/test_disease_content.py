"""What the knowledge says of diseases and spray materials: complete, in step with published sizes and the science."""

from pathlib import Path

import pytest

import advisor
from advisor.knowledge_files import read_folders
from advisor.knowledge_schema import Disease, Material
from advisor.science import copper, fire_blight, leaf_curl, mildew, rust, scab, stone_fruit, summer_disease, wet_spells

CONTENTS = read_folders([Path(advisor.__file__).parents[1] / "knowledge"])
DISEASES = {node.id: node for node in CONTENTS.nodes.values() if isinstance(node, Disease)}
LINKS = list(CONTENTS.all_links())
OF_DISEASE = [link for link in LINKS if link.end in DISEASES]

NAMED = {
    "apple-scab", "pear-scab", "fire-blight", "cedar-apple-rust", "quince-rust", "powdery-mildew",
    "sooty-blotch-flyspeck", "bitter-rot", "black-rot", "brown-rot", "peach-leaf-curl", "cherry-leaf-spot",
    "black-knot", "apple-canker", "bacterial-canker", "silver-leaf", "eutypa", "pear-rust", "bacterial-spot",
    "white-rot", "plum-pockets", "shot-hole", "cytospora-canker", "cherry-mildew", "collar-rot", "crown-gall",
    "peach-scab", "alternaria-blotch", "x-disease", "tomato-ringspot", "plum-pox", "apple-replant",
}  # fmt: skip


def ends(kind, disease):
    return {link.start for link in OF_DISEASE if link.link == kind and link.end == disease}


def figure(id, region=None):
    return CONTENTS.figures[id].value(region).value


def strength(start, kind, end):
    return max(link.strength for link in LINKS if (link.start, link.link, link.end) == (start, kind, end))


def test_no_problem_in_the_disease_and_material_files():
    ours = ("diseases.yaml", "materials.yaml")
    assert [str(problem) for problem in CONTENTS.problems if problem.file.endswith(ours)] == []


def test_every_named_disease_is_described():
    assert set(DISEASES) >= NAMED
    assert len(DISEASES) >= 25


@pytest.mark.parametrize("disease", DISEASES)
def test_a_disease_is_complete(disease):
    node = DISEASES[disease]
    assert node.pathogen
    assert node.favoured_by
    assert node.fruits
    assert set(node.fruits) == {stage.fruit for stage in node.open_stages}
    assert set(node.suppressed_by) == {start for start in ends("suppresses", disease) if is_practice(start)}
    assert set(node.hosts) == ends("hosts", disease)
    assert set(node.alternate_hosts) == ends("alternate-host-of", disease) <= ends("spreads", disease)
    assert set(node.winters_in) <= ends("shelters", disease)
    assert set(node.fruits) == {link.end for link in LINKS if link.start == disease and link.link == "harms"}


def is_practice(id):
    return CONTENTS.nodes[id].kind == "practice"


@pytest.mark.parametrize("link", OF_DISEASE, ids=lambda link: link.id)
def test_a_published_link_names_its_source(link):
    assert (link.source is not None) == (link.evidence == "published")


# Published falls of risk and the strength that follows: four fifths or more is 3, about half is 2, little is 1.
SIZES = [
    ("shred-leaves", "apple-scab", 0.80, "Sutton, MacHardy and Lord 2000, Plant Disease 84:1319: 80 to 90 %"),
    ("gather-leaves", "apple-scab", 0.95, "Gomez et al. 2007: swept and ploughed in, 95 % fewer spores"),
    ("autumn-mow", "apple-scab", 0.50, "NIAB: up to 90 %, 50 to 60 % where hedges hold leaves"),
    ("cut-out-blight", "fire-blight", 1.00, "Good Fruit Grower: in four trials every uncut tree died and no cut one"),
    ("summer-prune", "sooty-blotch-flyspeck", 0.50, "Cooley, Gamble and Autio 1997, Plant Disease 81:1123: half"),
    ("dormant-prune", "sooty-blotch-flyspeck", 0.09, "Ocamb-Basu, Sutton and Nelson 1988: sooty blotch 9 % less"),
]


@pytest.mark.parametrize(("practice", "disease", "fall", "source"), SIZES)
def test_strength_follows_the_published_size(practice, disease, fall, source):
    assert strength(practice, "suppresses", disease) == (3 if fall >= 0.8 else 2 if fall >= 0.4 else 1), source


def test_stone_fruit_cut_in_winter_is_a_cost_and_in_summer_a_gain():
    # Pacific Northwest handbook and Amateur Gardening 2023 (silver leaf), New England guide (bacterial canker).
    for disease in ("silver-leaf", "bacterial-canker", "eutypa"):
        assert "dormant-prune" in ends("favours", disease)
        assert "summer-prune" in ends("suppresses", disease)


def test_rusts_need_their_junipers_and_scab_does_not():
    assert "eastern-redcedar" in DISEASES["cedar-apple-rust"].alternate_hosts
    assert "juniper" in DISEASES["pear-rust"].alternate_hosts
    # Ontario Publication 310F: white cedar is no host.
    assert not [link for link in OF_DISEASE if link.start == "white-cedar" and link.end.endswith("-rust")]
    assert DISEASES["apple-scab"].alternate_hosts == ()


def test_litter_and_mummies_are_where_disease_winters():
    assert ends("shelters", "apple-scab") >= {"leaf-litter", "twigs"}
    assert {"brown-rot", "bitter-rot", "black-rot"} <= {
        link.end for link in LINKS if link.start == "mummies" and link.link == "shelters"
    }
    assert "earthworm" in ends("suppresses", "apple-scab")  # NIAB: chief removers of litter


# The same figure in the knowledge and in the science, so that advice and numbers never part.
PAIRS = [
    ("apple-scab.joined-dry-hours", wet_spells.DRY_HOURS_THAT_PART),
    ("apple-scab.joined-dry-hours", scab.DRY_HOURS_THAT_PART),
    ("apple-scab.release-rain", scab.RELEASING_RAIN_MM),
    ("fire-blight.heat", fire_blight.HEAT_FOR_INFECTION),
    ("fire-blight.mean-day", fire_blight.WARM_DAY_C),
    ("fire-blight.wetting-rain-same-day", fire_blight.WET_TODAY_MM),
    ("fire-blight.wetting-rain-day-before", fire_blight.WET_YESTERDAY_MM),
    ("fire-blight.flower-life-apple", fire_blight.FLOWER_LIFE["apple"]),
    ("fire-blight.flower-life-pear", fire_blight.FLOWER_LIFE["pear"]),
    ("cedar-apple-rust.humidity", rust.HUMID_ENOUGH_PCT),
    ("peach-leaf-curl.rain", leaf_curl.RAIN_MM),
    ("peach-leaf-curl.wet-hours", leaf_curl.WET_HOURS),
    ("peach-leaf-curl.below", leaf_curl.BELOW_C),
    ("powdery-mildew.infection-day", mildew.INFECTION_DAY_ABOVE_C),
    ("powdery-mildew.carry-over-likely-above", mildew.LIKELY_ABOVE_C),
    ("powdery-mildew.carry-over-reduced-below", mildew.REDUCED_BELOW_C),
    ("powdery-mildew.most-killed-below", mildew.MOSTLY_KILLED_BELOW_C),
    ("bitter-rot.wet-hours", summer_disease.BITTER_ROT_HOURS),
    ("bitter-rot.warm", summer_disease.BITTER_ROT_FROM_C),
    ("sooty-blotch-flyspeck.starts-after-petal-fall", summer_disease.DAYS_BEFORE_THE_COUNT),
    ("black-knot.rain", stone_fruit.KNOT_RAIN_MM),
    ("black-knot.warm", stone_fruit.KNOT_FROM_C),
    ("copper.limit", copper.LIMIT_KG_HA),
    ("copper.limit-years", copper.YEARS),
]


@pytest.mark.parametrize(("id", "value"), PAIRS)
def test_figure_and_science_agree(id, value):
    assert figure(id) == value


# Where sources part, both stand and the safer one is the default.
REGIONS = [
    # Brown and Sutton 1995 (south-eastern United States, 200 to 250 h), Yoder (Virginia), Clements (southern New
    # England); New York from memory.
    ("sooty-blotch-flyspeck.wet-hours", {"mid-atlantic": 250, "new-york": 190, "new-england": 250, None: 200}),
    # DuPont, WSU 2018 (30 to 45 cm); University of Maryland 2023 (20 to 30 cm).
    ("fire-blight.cut-below-strike", {"washington": 45, "mid-atlantic": 30, "uk": 45}),
    # Massachusetts 2003 (60 F); Holtz et al. 2002, California.
    ("fire-blight.mean-day", {"new-england": 15.6, "california": 15.5, None: 15.6}),
    # University of Massachusetts F-134 (30 m); Gomez et al. 2007 (20 m).
    ("apple-scab.spore-reach", {"new-england": 30, "central-europe": 20, None: 30}),
]


@pytest.mark.parametrize(("id", "rows"), REGIONS)
def test_regions(id, rows):
    assert {region: figure(id, region) for region in rows} == rows


def test_sulphur_oil_and_heat_are_held_to_the_stricter_rule():
    # Yoder 2011 (7 to 14 days), a home label (a month), 80 and 85 degrees F as limits for sulphur.
    assert figure("oil-sulphur.days-apart") == 14
    assert figure("oil-sulphur.days-apart-home-label") == 30
    assert figure("sulphur.heat-caution") == round((80 - 32) / 1.8) == 27
    assert figure("sulphur.heat-limit") == round((85 - 32) / 1.8) == 29
    assert figure("copper.latest-stage") == 53
    assert figure("sulphur.re-entry") == 24  # Caldwell et al. 2013
    assert figure("lime-sulphur.re-entry") == 48


def test_ranges_run_upwards():
    ids = set(CONTENTS.figures)
    for least in (id for id in ids if id.endswith("-least")):
        most = least.removesuffix("-least") + "-most"
        if most in ids and least.split(".")[0] in (*DISEASES, "leaf-litter", "oil", "lime-sulphur"):
            assert figure(least) <= figure(most), least


def test_materials_spoken_of_are_known():
    materials = {node.id for node in CONTENTS.nodes.values() if isinstance(node, Material)}
    assert {"copper", "lime-sulphur", "kaolin", "urea", "potassium-bicarbonate", "wettable-sulphur"} <= materials
