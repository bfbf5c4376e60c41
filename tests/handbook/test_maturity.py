"""Maturity against Michigan State University's table, DeLong 1999 and the pear pages of Washington and Penn State."""

import numpy as np
import pytest

from advisor.science import maturity

# Checking apple maturity, Michigan State University: firmness short, mid, long; starch mature, over-mature.
MICHIGAN = [
    ("Braeburn", 16, 17, 18, 3, 7),
    ("Cortland", 14, 15, 16, 4, 6),
    ("Empire", 14, 15, 16, 3.5, 6),
    ("Fuji", 16, 17, 18, 3, 7),
    ("Gala", 16, 17, 18, 3, 6),
    ("Golden Delicious", 15, 16, 17, 3, 6.5),
    ("Honeycrisp", 15, 16, 17, 3.5, 7),
    ("Idared", 14, 15, 16, 3.5, 6),
    ("Jonagold", 15, 16, 17, 3.5, 5.5),
    ("Jonathan", 14, 15, 16, 3.5, 5.5),
    ("McIntosh", 14, 15, 16, 5, 7),
    ("Mutsu", 16, 17, 18, 3, 6),
    ("Northern Spy", 16, 17, 18, 3, 6),
    ("Red Delicious", 16, 17, 18, 2.5, 5),
    ("Rome", 15, 16, 18, 3, 5.5),
    ("Spartan", 17, 18, 19, 4, 6),
    ("Winesap", 17, 18, 19, 2.5, 6),
]


@pytest.mark.parametrize(("cultivar", "short", "mid", "long", "mature", "over"), MICHIGAN)
def test_michigan_table(cultivar, short, mid, long, mature, over):
    assert maturity.apple(cultivar) == maturity.Maturity(short, mid, long, mature, over)
    assert maturity.storage_class(cultivar, long, mature) == "long"
    assert maturity.storage_class(cultivar, mid, mature) == "mid"
    assert maturity.storage_class(cultivar, short, mature) == "short"
    assert maturity.storage_class(cultivar, short - 1, mature) == "sell"
    assert maturity.storage_class(cultivar, long, over) == "short"
    assert maturity.apple_readiness(cultivar, starch=mature - 0.5)["verdict"] == "unripe"
    assert maturity.apple_readiness(cultivar, starch=mature)["verdict"] == "store"
    assert maturity.apple_readiness(cultivar, starch=over)["verdict"] == "eat"


def test_empire_for_export():
    assert maturity.EMPIRE_EXPORT_LBF == 18


@pytest.mark.parametrize(("starch", "kept"), [(3, "long"), (4, "long"), (5, "mid"), (6, "short"), (8, "short")])
def test_starch_bands_cowgill_and_clements_2012(starch, kept):
    # Rutgers and Massachusetts: 3 to 4 for late, 4 to 6 for early storage, 6 and more cold store or sale.
    assert maturity.storage_class("Gala", 19, starch) == kept


@pytest.mark.parametrize("cultivar", [row[0] for row in MICHIGAN])
def test_nothing_under_sixteen_pounds_keeps_long(cultivar):
    # Cowgill and Clements 2012.
    assert maturity.storage_class(cultivar, 15.9, 2.5) != "long"


# DeLong and others 1999, newtons, North American starch scale.
@pytest.mark.parametrize(
    ("strain", "low", "high"),
    [
        ("Redmax McIntosh", 4.18, 5.34),
        ("Marshall McIntosh", 4.12, 5.46),
        ("Summerland McIntosh", 4.51, 5.68),
        ("Redcort Cortland", 5.23, 5.99),
        ("Wilmuta Jonagold", 1.38, 2.34),
    ],
)
def test_streif_windows_delong_1999(strain, low, high):
    assert maturity.streif_stage(strain, high + 0.01) == "early"
    assert maturity.streif_stage(strain, high) == maturity.streif_stage(strain, low) == "ready"
    assert maturity.streif_stage(strain, low - 0.01) == "late"


@pytest.mark.parametrize(
    ("firmness", "solids", "starch", "index"), [(72, 11, 1.5, 4.36), (70, 12, 3, 1.94), (7.5, 12, 6, 0.104)]
)
def test_streif_worked(firmness, solids, starch, index):
    # Streif's formula worked by hand; the first two in newtons, the last in kg/cm2.
    assert maturity.streif(firmness, solids, starch) == pytest.approx(index, abs=0.005)


def test_streif_worked_examples_fall_in_their_windows():
    assert maturity.streif_stage("Redmax McIntosh", maturity.streif(72, 11, 1.5)) == "ready"
    assert maturity.streif_stage("Wilmuta Jonagold", maturity.streif(70, 12, 3)) == "ready"


def test_streif_keeps_the_unit_of_firmness():
    assert maturity.streif(9.80665 * 7.5, 12, 6) == pytest.approx(9.80665 * maturity.streif(7.5, 12, 6))


# Washington State and Penn State pear pages: firmness lbf and days from full bloom.
@pytest.mark.parametrize(
    ("pear", "firmness", "days"),
    [
        ("Anjou", (13, 15), (120, 150)),
        ("Bartlett", (15, 17), (110, 133)),
        ("Bosc", (14, 16), (130, 145)),
        ("Asian", (8, 12), (112, 150)),
    ],
)
def test_pears(pear, firmness, days):
    low, high = firmness
    assert maturity.pear_readiness(pear, high + 0.5) == "wait"
    assert maturity.pear_readiness(pear, high) == maturity.pear_readiness(pear, low) == "pick"
    assert maturity.pear_readiness(pear, low - 0.5) == "late"
    assert maturity.days_from_bloom(pear) == days


def test_red_delicious_days_and_solids():
    # Virginia Tech 2013: mean 143 days. Ingle 1972: 10.5 % soluble solids show that it keeps.
    assert maturity.days_from_bloom("Red Delicious") == (143, 143)
    assert any("will keep" in said for said in maturity.apple_readiness("Red Delicious", 3, 18, 10.5)["because"])
    assert any("not yet" in said for said in maturity.apple_readiness("Red Delicious", 3, 18, 10.4)["because"])


# --- edges ------------------------------------------------------------------------------------------------------------
def test_readiness_with_little_to_go_by():
    assert maturity.apple_readiness("Gala")["verdict"] is None
    assert maturity.apple_readiness("Unheard Of", ground_colour="yellow")["verdict"] == "eat"
    assert maturity.apple_readiness("Unheard Of", starch=2)["verdict"] == "unripe"
    assert maturity.apple_readiness("Gala", days_after_bloom=90)["verdict"] == "unripe"
    assert maturity.apple_readiness("Gala", starch=6, firmness_lbf=12)["verdict"] == "over"
    early = maturity.apple_readiness("Gala", starch=1, firmness_lbf=20)
    assert (early["verdict"], early["store"]) == ("unripe", None)


def test_signs_that_were_not_measured_are_not_spoken_of():
    assert len(maturity.apple_readiness("Gala", starch=4)["because"]) == 1
    assert len(maturity.apple_readiness("Gala", 4, 17, 12, "light-green", 115)["because"]) == 4


def test_arrays_and_unknowns():
    assert maturity.streif(np.array([72, np.nan]), 11, 1.5)[0] == pytest.approx(4.36, abs=0.005)
    assert np.isnan(maturity.streif(float("nan"), 11, 1.5))
    assert maturity.storage_class("Unheard Of", 18) is None
    assert maturity.storage_class("Gala", float("nan")) is None
    assert maturity.pear_readiness("Comice", 14) is None
    assert maturity.streif_stage("Gala", 4) is None
    assert maturity.days_from_bloom("Unheard Of") is None


@pytest.mark.parametrize("args", [(70, 12, 0), (70, 0, 3), (70, -1, 3), (-1, 12, 3), (None, 12, 3), (70, 12, None)])
def test_streif_refuses_nonsense(args):
    with pytest.raises(ValueError, match=r"\.$"):
        maturity.streif(*args)


def test_other_words_and_scales_are_refused():
    with pytest.raises(ValueError, match="Ground colour"):
        maturity.apple_readiness("Gala", ground_colour="blue")
    with pytest.raises(ValueError, match="at most 8"):
        maturity.apple_readiness("Gala", starch=9)
