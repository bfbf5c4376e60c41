"""What a heap is mixed from, against published tables of composting materials."""

from importlib.resources import files

import pytest

from advisor.reading import parse_yaml
from advisor.science import mulch, sward

MATERIALS = {
    node["id"]: node
    for node in parse_yaml((files("advisor.knowledge") / "materials.yaml").read_text(encoding="utf-8"), "").data
}


# Bertrand (Missouri; averages that agree with NRAES-54): nitrogen %, carbon to nitrogen, moisture %, kg/m3 loose.
@pytest.mark.parametrize(
    ("material", "nitrogen", "ratio", "moisture", "density"),
    [
        ("sawdust", 0.2, 440, 39, 240),
        ("straw", 0.7, 80, 12, 120),
        ("dry-leaves", 0.9, 54, 38, 120),
        ("leaf-mould", 0.4, 60, 40, 359),
        ("grass-clippings", 4, 17, 82, 204),
        ("garden-waste", 3.2, 12, 65, 359),
        ("farmyard-manure", 2.4, 19, 81, 863),
        ("horse-manure", 1.6, 30, 72, 815),
        ("poultry-manure", 8, 6, 69, 875),
        ("poultry-litter", 2.7, 14, 37, 515),
        ("coffee-grounds", 2, 20, 80, 839),
        ("kitchen-waste", 2.4, 15, 70, 419),
        ("newspaper", 0.1, 625, 5, 30),
        ("cardboard", 0.1, 563, 8, 154),
    ],
)
def test_averages_of_the_missouri_table(material, nitrogen, ratio, moisture, density):
    node = MATERIALS[material]
    assert node["nitrogen_pct"] == pytest.approx(nitrogen, abs=0.041)
    assert node["cn"] == pytest.approx(ratio, rel=0.01)
    assert node["moisture_pct"] == pytest.approx(moisture)
    assert node["density_kg_m3"] == pytest.approx(density, rel=0.02)


# Ranges of carbon to nitrogen that different tables print: a single figure must lie within what they span.
@pytest.mark.parametrize(
    ("material", "low", "high"),
    [
        ("sawdust", 200, 750),  # manure composting manual
        ("wood-chips", 100, 1313),  # Rosales and others; manure composting manual
        ("ramial-chips", 30, 170),  # Caron 2015
        ("straw", 48, 150),  # oat 48 to 98, wheat 80 to 150: sources differ, any is right for some straw
        ("dry-leaves", 40, 80),
        ("legume-hay", 13, 25),  # alfalfa young to mature, USDA NRCS 2011
        ("pea-straw", 29, 29),  # USDA NRCS 2011
        ("grass-clippings", 12, 20),  # Golueke 1972 with the Missouri table
        ("farmyard-manure", 18, 20),  # Missouri table; rotted barnyard manure, USDA NRCS 2011
        ("horse-manure", 22, 65),
        ("sheep-manure", 13, 20),
        ("comfrey-leaf", 8, 20),  # 9.8 from memory, about 18 from the only analysis read
        ("seaweed", 17, 17),  # Richard and Trautmann 1996: 32.3 % carbon, 1.9 % nitrogen
        ("hay", 21, 40),  # grass hay by protein 8 to 12 % (Kentucky); average 32 from memory
        ("compost", 10, 20),  # from memory
    ],
)
def test_ratio_lies_within_the_published_span(material, low, high):
    assert low <= MATERIALS[material]["cn"] <= high


def test_seaweed_is_its_own_carbon_and_nitrogen():
    node = MATERIALS["seaweed"]
    part = {"mass": 1, **{key: node[key] for key in ("carbon_pct", "nitrogen_pct", "moisture_pct")}}
    assert mulch.blend([part])["cn"] == pytest.approx(17)


@pytest.mark.parametrize(
    ("material", "does"),
    [
        ("poultry-manure", "release"),  # Moore-Kucera (Oregon State): rapid release
        ("grass-clippings", "release"),
        ("comfrey-leaf", "release"),
        ("straw", "tie-up"),
        ("sawdust", "tie-up"),
        ("wood-chips", "tie-up"),
    ],
)
def test_release_or_tie_up_by_material(material, does):
    assert sward.nitrogen_effect(MATERIALS[material]["cn"]) == does
