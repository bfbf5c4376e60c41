"""Weeks, runs and Shannon's index, against values worked out by hand and from a textbook example."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.science.bloom import bloom_weeks, even_kinds, open_weeks, runs, shannon


def test_a_week_is_open_where_it_shares_time_with_the_bloom() -> None:
    grid = open_weeks([-1, 0.5, 2], [1, 0.9, 2], -2, 3)
    assert grid.tolist() == [
        [False, True, True, False, False, False],
        [False, False, True, False, False, False],
        [False, False, False, False, True, False],
    ]


def test_runs_join_weeks_that_touch() -> None:
    assert runs([True, True, False, True], -5) == [(-5, -4), (-2, -2)]
    assert runs([]) == []


def test_bloom_weeks_are_cut_to_the_season() -> None:
    assert bloom_weeks([-9, 0, 30], [-4, 3, 40], -5, 23).tolist() == [1, 3, 0]


def test_shannon_of_equal_parts_is_the_logarithm_of_their_number() -> None:
    """A property of the index (Shannon 1948, from memory); Magurran's measures are the same (from memory)."""
    found = shannon([2.0] * 7)
    assert found is not None
    assert found == pytest.approx(math.log(7))
    assert even_kinds(found) == pytest.approx(7)


def test_shannon_of_a_half_and_two_quarters() -> None:
    """1.5 bits: the example of a half and two quarters in Shannon's paper (from memory); 1.5 ln 2 here."""
    assert shannon([4, 2, 2]) == pytest.approx(1.5 * math.log(2))


@given(st.lists(st.floats(0, 50), min_size=1, max_size=12))
def test_shannon_lies_between_none_and_even(amounts: list[float]) -> None:
    found = shannon(amounts)
    if found is None:
        assert sum(amounts) == 0
    else:
        assert 0 <= found <= math.log(len(amounts)) + 1e-9


def test_what_makes_no_sense_is_refused() -> None:
    with pytest.raises(ValueError, match="ends before"):
        open_weeks([2], [1], 0, 3)
    with pytest.raises(ValueError, match="last week"):
        open_weeks([0], [1], 3, 0)
    with pytest.raises(ValueError, match="both"):
        open_weeks([0, 1], [1], 0, 3)
    with pytest.raises(ValueError, match="0 or more"):
        shannon([1, -1])
    assert shannon([]) is None
    assert shannon([0, 0]) is None
