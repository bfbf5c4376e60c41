"""Ramial wood against Caron 2015, Westaway 2019 and French farm notes."""

import pytest

from advisor.science import ramial


@pytest.mark.parametrize(
    ("diameter", "size", "counts"),
    [(1, "twigs", True), (2.9, "twigs", True), (3, "branches", True), (6.9, "branches", True), (7, "stem wood", False),
     (20, "stem wood", False)],
)  # fmt: skip
def test_branches_under_seven_centimetres(diameter, size, counts):
    # Under 7 cm: Caron 2015, Westaway 2019. Twigs under 3 cm, branches 3 to 7 cm: farm hedge sheet.
    answer = ramial.is_ramial(diameter)
    assert answer["size"] == size
    assert answer["ramial"] is counts
    assert bool(answer["because"]) is not counts


@pytest.mark.parametrize(
    ("share", "counts", "said"), [(0.1, True, 0), (0.15, True, 1), (0.2, True, 1), (0.25, False, 1)]
)
def test_conifers_up_to_ten_or_twenty_percent(share, counts, said):
    # "Up to 10 to 20 %", encyclopaedia articles read second-hand: between the two it counts, with a remark.
    answer = ramial.is_ramial(4, share)
    assert answer["ramial"] is counts
    assert len(answer["because"]) == said


def test_ratios_caron_2015():
    assert ramial.CN == (30, 170)
    assert ramial.STEM_WOOD_CN == (400, 750)
    assert ramial.CN[1] < ramial.STEM_WOOD_CN[0]


@pytest.mark.parametrize(
    ("nutrient", "content"), [("nitrogen", 1.8), ("phosphate", 1.8), ("potash", 1.7), ("lime", 7.0)]
)
def test_poplar_twigs_noel(nutrient, content):
    # CTA (B. Noel), kg a m3, read second-hand.
    assert ramial.nutrients(10)[nutrient] == pytest.approx(10 * content)


def test_weight_at_half_moisture_french_farm_notes():
    assert ramial.weight(2.5) == pytest.approx(1000)


def test_first_dose_is_one_and_a_half_to_two_centimetres():
    # 150 to 200 m3/ha, from memory; the depth is arithmetic.
    low, high = ramial.first_dose(10_000)
    assert (low, high) == (150, 200)
    assert low / 10_000 == pytest.approx(0.015)
    assert high / 10_000 == pytest.approx(0.02)


def test_old_chips_conifers_and_unknowns():
    assert ramial.is_ramial(4, fresh=False)["ramial"] is False
    assert ramial.is_ramial(float("nan"))["ramial"] is None
    assert ramial.species_cautions("black-walnut")
    assert "onifers" in ramial.species_cautions("yew")[1]
    assert ramial.species_cautions("hazel") == []
    with pytest.raises(ValueError, match="number"):
        ramial.is_ramial(None)
    with pytest.raises(ValueError, match="at most 1"):
        ramial.is_ramial(4, 10)
