"""Plant teas and leaf minerals against published recipes and analyses."""

import pytest

from advisor.science import plant_tea, sward


def test_comfrey_recipe_of_a_magazine_trial():
    # Which? Gardening: 1 part leaf to 2 of water, four weeks with a lid on, then 1 to 10.
    way = plant_tea.recipe("common-comfrey")
    assert way.water_l == (2, 2)
    assert way.days == (28, 28)
    assert way.water_parts == 10
    assert plant_tea.batch("sterile-comfrey", 5) == {"water_least_l": 10, "water_most_l": 10, "thinned_l": 110}


def test_leaf_tea_berkelaar():
    # 1 to 2 kg in 20 litres, four weeks cool or two weeks hot, then 1 to 10.
    way = plant_tea.recipe("dandelion")
    assert 1 / 20 <= way.leaf_kg / 20 <= 2 / 20
    batch = plant_tea.batch("dandelion", 1.5)
    assert batch["water_least_l"] <= 20 <= batch["water_most_l"]
    assert plant_tea.steep_days("dandelion") == (14, 28)
    assert plant_tea.steep_days("dandelion", 12) == (28, 28)
    assert plant_tea.steep_days("dandelion", 26) == (14, 14)
    assert plant_tea.steep_days("dandelion", float("nan")) == (14, 28)


def test_dilutions():
    # One part in ten of water on soil is published; 1 to 20 up to 1 to 50 on leaves is from memory.
    assert plant_tea.tea_needed(11) == pytest.approx(1)
    assert plant_tea.tea_needed(21, on_leaf=True) == pytest.approx(1)
    assert plant_tea.LEAF_WATER_PARTS == (20, 50)


# Agroscope 2001, over 500 samples: g/kg dry matter, mean and spread of Ca, P, Mg, K.
@pytest.mark.parametrize(
    ("group", "ca", "p", "mg", "k"),
    [
        ("grasses", (3.7, 1.1), (3.6, 0.8), (1.7, 0.5), (31.8, 6.4)),
        ("legumes", (15.1, 2.5), (3.4, 0.6), (2.3, 0.5), (31.1, 5.2)),
        ("herbs", (13.7, 4.0), (4.9, 0.9), (3.2, 1.0), (45.8, 6.8)),
    ],
)
def test_leaf_minerals_by_group(group, ca, p, mg, k):
    assert sward.GROUP_MINERALS[group] == {"Ca": ca, "P": p, "Mg": mg, "K": k}
    assert sward.minerals_in_cut(1000, "K", group) == pytest.approx(k[0])


@pytest.mark.parametrize(("nutrient", "percent"), [("N", 2.2), ("P2O5", 0.9), ("K2O", 6.1), ("Ca", 2.2)])
def test_comfrey_analysis_of_2014(nutrient, percent):
    # 100 kg of fresh leaf are 12 kg dry (from memory).
    assert plant_tea.comfrey_holds(100)[nutrient] == pytest.approx(0.12 * percent)


@pytest.mark.parametrize(
    ("plant", "element", "evidence"),
    [
        ("chicory", "Zn", "published"),  # Pirhofer-Walzl 2011
        ("caraway", "B", "published"),
        ("salad-burnet", "S", "published"),
        ("ribwort-plantain", "Ca", "published"),  # with the Aberystwyth forbs
        ("dandelion", "K", "published"),  # Aberystwyth
        ("dandelion", "Zn", "published"),  # Harrington 2006
        ("broad-dock", "Mg", "published"),
        ("thistle", "Cu", "published"),
        ("buttercup", "Mn", "published"),
        ("chickweed", "P", "published"),
        ("nettle", "Ca", "from-memory"),
        ("field-horsetail", "Si", "from-memory"),
        ("yarrow", "K", "from-memory"),
    ],
)
def test_what_plants_are_rich_in(plant, element, evidence):
    found = plant_tea.minerals(plant)
    assert element in found.rich_in
    assert found.evidence == evidence
    assert (found.source is None) is (evidence != "published")


def test_a_plant_without_analysis_is_not_called_rich():
    assert plant_tea.minerals("oxeye-daisy") is None


@pytest.mark.parametrize("plant", ["nettle", "common-comfrey", "field-horsetail"])
def test_cautions(plant):
    said = plant_tea.own_caution(plant) or ""
    assert ("liver" in said) is ("comfrey" in plant)
    assert ("horses" in said) is ("horsetail" in plant)
