"""Reading the frost tables by word and by code, at the edges."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.science.frost import FRUITS, TABLES, crop_left, evidence, kill_temperature, share_killed

CODES = st.integers(0, 99)
FRUIT = st.sampled_from(FRUITS)


def fahrenheit(value):
    return round(value * 1.8 + 32, 6)


@pytest.mark.parametrize(
    ("fruit", "code", "tenth_f", "most_f"),
    [
        pytest.param("apple", 65, 28, 25, id="a row's own code"),
        pytest.param("apple", 62, 28, 25, id="between king bloom and full bloom"),
        pytest.param("apple", 57, 28, 25, id="pink and full pink both claim 57: the tenderer"),
        pytest.param("apple", 7, 18, 10, id="green tip by its leaf-bud code"),
        pytest.param("apple", 10, 23, 15, id="half-inch green by its leaf-bud code"),
        pytest.param("pear", 54, 24, 15, id="between bud burst and tight cluster"),
        pytest.param("sweet-cherry", 53, 25, 14, id="side green and green tip both claim 53"),
        pytest.param("sweet-cherry", 56, 27, 21, id="tight and open cluster both claim 56"),
        pytest.param("peach", 54, 23, 9, id="calyx green and red both claim 54"),
        pytest.param("apricot", 69, 27, 24, id="apricot after bloom: full bloom or shuck, the tenderer"),
        pytest.param("plum", 56, 24, 16, id="plum has one cluster row"),
        pytest.param("apple", 55.0, 27, 21, id="a code as a float"),
        pytest.param("apple", np.int64(65), 28, 25, id="a code from an array"),
    ],
)
def test_by_code_the_tenderer_row_counts(fruit, code, tenth_f, most_f):
    assert fahrenheit(kill_temperature(fruit, code, 0.1)) == tenth_f
    assert fahrenheit(kill_temperature(fruit, code, 0.9)) == most_f


@pytest.mark.parametrize(
    ("fruit", "stage"),
    [("apple", "dormant"), ("apple", 0), ("apple", 50), ("apple", "fruit-set"), ("apple", 71), ("apple", "harvest"),
     ("peach", "leafless"), ("peach", 10), ("pear", 7), ("apricot", 81), ("quince", "full-bloom"), ("quince", 65)],
)  # fmt: skip
def test_outside_the_tables_there_is_no_figure(fruit, stage):
    assert kill_temperature(fruit, stage) is None
    assert share_killed(fruit, stage, -3) is None
    assert np.isnan(kill_temperature(fruit, stage, np.array([0.1, 0.9]))).all()


def test_a_word_is_read_from_its_own_row_and_otherwise_by_its_code():
    assert fahrenheit(kill_temperature("apple", "pink", 0.9)) == 24
    assert fahrenheit(kill_temperature("sweet-cherry", "side-green")) == 22
    assert kill_temperature("sweet-cherry", "bud-burst") == kill_temperature("sweet-cherry", "green-tip")
    assert kill_temperature("peach", "white-bud") == kill_temperature("peach", "pink")
    assert fahrenheit(kill_temperature("apricot", "petal-fall", 0.9)) == 24
    assert fahrenheit(kill_temperature("plum", "side-green")) == 20
    assert evidence("apricot", "petal-fall") is None


def test_nectarine_reads_peach():
    for row in TABLES["peach"]:
        assert kill_temperature("nectarine", row.words[0], 0.3) == kill_temperature("peach", row.words[0], 0.3)


def test_shares_between_are_linear_and_outside_unknown():
    assert fahrenheit(kill_temperature("apple", "half-inch-green", 0.5)) == 19
    assert kill_temperature("apple", "pink", 0.05) is None
    assert kill_temperature("apple", "pink", 0.91) is None
    np.testing.assert_allclose(
        kill_temperature("apple", "half-inch-green", np.array([0.1, 0.5, 0.95, np.nan])) * 1.8 + 32,
        [23, 19, np.nan, np.nan],
    )
    assert math.isnan(kill_temperature("apple", "pink", float("nan")))
    assert math.isnan(kill_temperature("apple", float("nan")))


def test_an_unpublished_share_leaves_the_rest_unknown():
    assert fahrenheit(kill_temperature("apricot", "bud-swell", 0.1)) == 15
    for share in (0.11, 0.5, 0.9):
        assert kill_temperature("apricot", "bud-swell", share) is None
    assert share_killed("apricot", "bud-swell", -12) is None


def test_cultivars_of_other_fruits_and_unknown_ones_read_the_table():
    assert kill_temperature("apple", "pink", cultivar="Liberty") == kill_temperature("apple", "pink")
    assert kill_temperature("pear", "full-bloom", cultivar="Winesap") == kill_temperature("pear", "full-bloom")
    assert kill_temperature("apple", "pink", cultivar="golden delicious ") < kill_temperature("apple", "pink")
    assert kill_temperature("apple", 68, 0.1, "Rome Beauty") == kill_temperature("apple", 68, 0.1)


@pytest.mark.parametrize(
    ("fruit", "stage"),
    [("banana", "pink"), ("apple", "tight clusters"), ("apple", 120), ("apple", -1), ("apple", None)],
)
def test_meaningless_arguments_are_refused(fruit, stage):
    with pytest.raises(ValueError, match=r"\.$"):
        kill_temperature(fruit, stage)


@given(FRUIT, CODES, st.floats(0.1, 0.9))
def test_more_dead_buds_need_more_cold_and_the_share_can_be_read_back(fruit, code, share):
    tenth, low = kill_temperature(fruit, code, 0.1), kill_temperature(fruit, code, share)
    if low is None:
        return
    assert low <= tenth
    if kill_temperature(fruit, code, 0.9) < tenth:
        assert share_killed(fruit, code, low) == pytest.approx(share, abs=1e-6)


@given(st.sampled_from([fruit for fruit in FRUITS if fruit in TABLES]), st.integers(51, 69))
def test_buds_grow_tenderer_from_swelling_to_bloom(fruit, code):
    now, later = kill_temperature(fruit, code), kill_temperature(fruit, code + 1)
    if now is not None and later is not None:
        assert later >= now - 1e-9


def test_crop_left():
    assert crop_left("apple", 0.03) == pytest.approx(0.2)
    assert crop_left("apple", 0.6) == 1
    assert crop_left("plum", 0.6) is None
    np.testing.assert_allclose(crop_left("sweet-cherry", np.array([0.25, np.nan])), [0.5, np.nan])
    with pytest.raises(ValueError, match="between 0 and 1"):
        crop_left("apple", 1.2)
    with pytest.raises(ValueError, match="No fruit"):
        crop_left("banana", 0.5)
