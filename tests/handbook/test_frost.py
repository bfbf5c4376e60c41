"""The printed frost tables, row by row, and the use rules printed with them.

Washington State University EB0913, EB0978, EB1128, EB0914, EB1240, EB0419 and Michigan State Research Report 220, as
printed together by Penn State Extension (Orchard Frost), Michigan State University Extension (Longstroth) and Utah
State University Extension (IPM-012-11; tart cherry). Degrees F are printed, degrees C rounded to a tenth.
"""

import pytest

from advisor.science.frost import crop_left, evidence, kill_temperature

TABLES = {
    "apple": [
        ("silver-tip", 15, 2, -9.4, -16.7),
        ("green-tip", 18, 10, -7.8, -12.2),
        ("half-inch-green", 23, 15, -5.0, -9.4),
        ("tight-cluster", 27, 21, -2.8, -6.1),
        ("pink", 28, 24, -2.2, -4.4),
        ("balloon", 28, 25, -2.2, -3.9),
        ("king-bloom", 28, 25, -2.2, -3.9),
        ("full-bloom", 28, 25, -2.2, -3.9),
        ("petal-fall", 28, 25, -2.2, -3.9),
    ],
    "pear": [
        ("bud-swell", 15, 0, -9.4, -17.8),
        ("bud-burst", 20, 6, -6.7, -14.4),
        ("tight-cluster", 24, 15, -4.4, -9.4),
        ("white-bud", 25, 19, -3.9, -7.2),
        ("full-white", 26, 22, -3.3, -5.6),
        ("king-bloom", 27, 23, -2.8, -5.0),
        ("full-bloom", 28, 24, -2.2, -4.4),
        ("petal-fall", 28, 24, -2.2, -4.4),
    ],
    "peach": [
        ("bud-swell", 18, 1, -7.8, -17.2),
        ("calyx-green", 21, 5, -6.1, -15.0),
        ("calyx-red", 23, 9, -5.0, -12.8),
        ("pink", 25, 15, -3.9, -9.4),
        ("king-bloom", 26, 21, -3.3, -6.1),
        ("full-bloom", 27, 24, -2.8, -4.4),
        ("petal-fall", 28, 25, -2.2, -3.9),
    ],
    "sweet-cherry": [
        ("bud-swell", 17, 5, -8.3, -15.0),
        ("side-green", 22, 9, -5.6, -12.8),
        ("green-tip", 25, 14, -3.9, -10.0),
        ("tight-cluster", 26, 17, -3.3, -8.3),
        ("open-cluster", 27, 21, -2.8, -6.1),
        ("white-bud", 27, 24, -2.8, -4.4),
        ("king-bloom", 28, 25, -2.2, -3.9),
        ("full-bloom", 28, 25, -2.2, -3.9),
        ("petal-fall", 28, 25, -2.2, -3.9),
    ],
    "tart-cherry": [
        ("bud-swell", 15, 0, -9.4, -17.8),
        ("green-tip", 26, 22, -3.3, -5.6),
        ("tight-cluster", 26, 24, -3.3, -4.4),
        ("white-bud", 28, 24, -2.2, -4.4),
        ("king-bloom", 28, 24, -2.2, -4.4),
        ("full-bloom", 28, 25, -2.2, -3.9),
        ("petal-fall", 28, 25, -2.2, -3.9),
    ],
    "apricot": [
        ("bud-swell", 15, None, -9.4, None),
        ("tips-separate", 20, 0, -6.7, -17.8),
        ("calyx-red", 22, 9, -5.6, -12.8),
        ("white-bud", 24, 14, -4.4, -10.0),
        ("king-bloom", 25, 19, -3.9, -7.2),
        ("full-bloom", 27, 22, -2.8, -5.6),
        ("shuck-split", 27, 24, -2.8, -4.4),
        ("green-fruit", 28, 25, -2.2, -3.9),
    ],
    "plum": [
        ("bud-swell", 14, 0, -10.0, -17.8),
        ("side-white", 17, 3, -8.3, -16.1),
        ("green-tip", 20, 7, -6.7, -13.9),
        ("tight-cluster", 24, 16, -4.4, -8.9),
        ("white-bud", 26, 22, -3.3, -5.6),
        ("king-bloom", 27, 23, -2.8, -5.0),
        ("full-bloom", 28, 23, -2.2, -5.0),
        ("petal-fall", 28, 23, -2.2, -5.0),
    ],
}
ROWS = [(fruit, *row) for fruit, rows in TABLES.items() for row in rows]


@pytest.mark.parametrize(("fruit", "stage", "tenth_f", "most_f", "tenth_c", "most_c"), ROWS)
def test_every_printed_row(fruit, stage, tenth_f, most_f, tenth_c, most_c):
    tenth, most = kill_temperature(fruit, stage, 0.1), kill_temperature(fruit, stage, 0.9)
    assert tenth * 1.8 + 32 == pytest.approx(tenth_f)
    assert tenth == pytest.approx(tenth_c, abs=0.05)
    if most_f is None:
        assert most is None
    else:
        assert most * 1.8 + 32 == pytest.approx(most_f)
        assert most == pytest.approx(most_c, abs=0.05)
    assert evidence(fruit, stage) == "published"


@pytest.mark.parametrize(("stage", "tenth_f", "most_f"), [("side-green", 24, 10), ("open-cluster", 28, 24)])
def test_two_tart_cherry_rows_are_from_memory_and_say_so(stage, tenth_f, most_f):
    """From memory: Michigan State Research Report 220."""
    assert kill_temperature("tart-cherry", stage, 0.1) * 1.8 + 32 == pytest.approx(tenth_f)
    assert kill_temperature("tart-cherry", stage, 0.9) * 1.8 + 32 == pytest.approx(most_f)
    assert evidence("tart-cherry", stage) == "from-memory"


@pytest.mark.parametrize("stage", [row[0] for row in TABLES["apple"]])
@pytest.mark.parametrize(
    ("cultivar", "hardier_f"), [("Golden Delicious", 1), ("Winesap", 1), ("Rome Beauty", 2), ("Red Delicious", 0)]
)
def test_hardier_apples(stage, cultivar, hardier_f):
    """Penn State Extension, Orchard Frost: Golden Delicious and Winesap about 1 degree F hardier, Rome Beauty 2, which
    after petal fall is as tender as the rest."""
    if cultivar == "Rome Beauty" and stage == "petal-fall":
        hardier_f = 0
    for share in (0.1, 0.5, 0.9):
        difference = kill_temperature("apple", stage, share) - kill_temperature("apple", stage, share, cultivar)
        assert difference * 1.8 == pytest.approx(hardier_f)


@pytest.mark.parametrize(
    ("fruit", "alive", "full"),
    [("apple", 0.15, True), ("pear", 0.15, True), ("peach", 0.15, True), ("apple", 0.05, False),
     ("sweet-cherry", 0.4, False), ("tart-cherry", 0.4, False)],
)  # fmt: skip
def test_share_of_buds_that_makes_a_full_crop(fruit, alive, full):
    """Utah State University, IPM-012-11: apple, pear and peach may need only 10-15 %, cherry well over half."""
    assert (crop_left(fruit, alive) >= 1) == full
