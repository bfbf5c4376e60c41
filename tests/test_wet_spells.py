"""Wet spells, and a slow second telling of the same rules in plain Python that must agree."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.science import wet_spells
from advisor.science.wet_spells import spells, wetness
from counts import count

NAN = float("nan")


def rules(found):
    return [wet_spells.RULES[code] for code in found.rule]


# --- one hour's wetness ---------------------------------------------------------------------------------------------
def test_measured_wetness_goes_before_everything():
    found = wetness(wet=[0.0, 0.4, NAN], rain_mm=[5, 0, 5], humidity_pct=[99, 99, 50])
    assert found.share.tolist() == [0.0, 0.4, 1.0]
    assert rules(found) == ["measured", "measured", "rain"]


def test_humidity_of_ninety_wets():
    # Ontario ministry of agriculture, scab table: wetting lasts until humidity falls below 90 %.
    found = wetness(rain_mm=[0, 0, 0], humidity_pct=[90, 89.9, NAN])
    assert found.share[:2].tolist() == [1.0, 0.0]
    assert np.isnan(found.share[2])
    assert rules(found) == ["humidity", "humidity", "unknown"]


def test_dew_point_stands_in_for_humidity_and_says_so():
    found = wetness(rain_mm=[0, 0], dew_point_c=[9, 2], temp_c=[10, 10])
    assert found.share.tolist() == [1.0, 0.0]
    assert rules(found) == ["dew point", "dew point"]
    assert found.rules_used() == ("dew point",)


def test_missing_weather_is_never_dry():
    assert np.isnan(wetness(rain_mm=[0]).share[0])  # leaves stay wet after rain; nothing says when they dried
    assert np.isnan(wetness(humidity_pct=[50]).share[0])  # a shower may have fallen
    assert np.isnan(wetness(rain_mm=[NAN], humidity_pct=[50]).share[0])
    assert wetness(rain_mm=[NAN], humidity_pct=[95]).share[0] == 1
    assert np.isnan(wetness(rain_mm=[0], dew_point_c=[5]).share[0])  # no temperature, no humidity


@pytest.mark.parametrize(
    "wrong",
    [
        {}, {"temp_c": [10]}, {"wet": [1.5]}, {"rain_mm": [-1]}, {"humidity_pct": [120]}, {"rain_mm": None},
        {"rain_mm": [0, 0], "humidity_pct": [50]}, {"wet": ["wet"]},
    ],
)  # fmt: skip
def test_refused_series(wrong):
    with pytest.raises(ValueError, match=r"\w+ .*\."):
        wetness(**wrong)


# --- spells ---------------------------------------------------------------------------------------------------------
def series(text):
    """An hour a sign: w wet, . dry, ? unknown, digit that many tenths."""
    return [{"w": 1.0, ".": 0.0, "?": NAN}.get(sign, 0.0 if not sign.isdigit() else int(sign) / 10) for sign in text]


@pytest.mark.parametrize(
    ("record", "expected"),
    [
        ("", []),
        ("....", []),
        ("ww.ww", [(0, 5, 4)]),
        # West Virginia University: wet hours are added unless the dry interval is 8 h or longer.
        ("www.......ww", [(0, 12, 5)]),
        ("www........ww", [(0, 3, 3), (11, 13, 2)]),
        ("w" + "." * 7 + "w" + "." * 7 + "w", [(0, 17, 3)]),
        (".5w5.", [(1, 4, 2)]),
        ("w?w", [(0, 3, NAN)]),
        ("??", [(0, 2, NAN)]),
        ("w" + "." * 8 + "?" + "." * 8 + "w", [(0, 1, 1), (9, 10, NAN), (18, 19, 1)]),
        ("w....?....w", [(0, 11, NAN)]),
    ],
)
def test_spells_of_a_record(record, expected):
    found = spells(series(record))
    assert len(found) == len(expected)
    assert list(zip(found.first.tolist(), found.end.tolist(), strict=True)) == [row[:2] for row in expected]
    assert found.wet_hours == pytest.approx([row[2] for row in expected], nan_ok=True)


def test_published_joined_wettings():
    # Virginia Tech 2012: a split wetting, 18 h in all at 12.2 falling to 10 degrees C, was the season's most serious.
    # University of Rhode Island 1998: 36 h in two joined wettings at 5 degrees C.
    virginia = spells(series("w" * 10 + "." * 5 + "w" * 8), temp_c=np.linspace(12.2, 10, 23))
    assert virginia.wet_hours.tolist() == [18]
    assert 10 < virginia.mean_c[0] < 12.2
    assert spells(series("w" * 20 + "." * 7 + "w" * 16)).wet_hours.tolist() == [36]


def test_known_hours_stand_beside_the_unknown():
    found = spells(series("ww?w"), temp_c=[10, 10, 10, 10], rain_mm=[1, 2, 0, 3])
    assert np.isnan(found.wet_hours[0])
    assert found.known_hours.tolist() == [3]
    assert found.unknown_hours.tolist() == [1]
    assert np.isnan(found.mean_c[0])
    assert found.rain_mm.tolist() == [6]


def test_mean_is_over_the_wet_time_only():
    found = spells(series("w..w"), temp_c=[10, 30, NAN, 14])
    assert found.mean_c.tolist() == [12]
    assert np.isnan(spells(series("w..w"), temp_c=[10, 30, 30, NAN]).mean_c[0])
    assert spells(series("w5"), temp_c=[10, 16]).mean_c[0] == pytest.approx(12)


def test_another_rule_for_parting():
    # Regional bulletin of Nord-Pas-de-Calais 2015: a period ends after 4 h of dry air.
    assert len(spells(series("w...w"), dry_hours=4)) == 1
    assert len(spells(series("w....w"), dry_hours=4)) == 2


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: spells([2.0]), lambda: spells([[1.0]]), lambda: spells([1.0], dry_hours=0), lambda: spells(None),
        lambda: spells([1.0], temp_c=[1.0, 2.0]), lambda: spells([1.0], dry_hours=NAN),
    ],
)  # fmt: skip
def test_refused_records(wrong):
    with pytest.raises(ValueError, match=r"\w+ .*\."):
        wrong()


# --- the slow telling -----------------------------------------------------------------------------------------------
def slow_hour(wet, rain, humidity, dew_point, temp):
    if not math.isnan(wet):
        return wet, "measured"
    if rain > 0:
        return 1.0, "rain"
    rule = "humidity"
    if math.isnan(humidity) and not math.isnan(dew_point) and not math.isnan(temp):
        def pressure(t):
            return 0.6108 * math.exp(17.27 * t / (t + 237.3))

        humidity, rule = min(100.0, 100 * pressure(dew_point) / pressure(temp)), "dew point"
    if humidity >= 90:
        return 1.0, rule
    if math.isnan(humidity) or math.isnan(rain):
        return NAN, "unknown"
    return 0.0, rule


def slow_spells(shares, temps, rains, dry_hours):
    found = []
    open_spell, dry = None, 0
    for hour, share in enumerate(shares):
        if share == 0:
            dry += 1
            continue
        if open_spell is None or dry >= dry_hours:
            open_spell = [hour, hour + 1]
            found.append(open_spell)
        open_spell[1], dry = hour + 1, 0
    answers = []
    for first, end in found:
        hours = range(first, end)
        known = sum(shares[h] for h in hours if not math.isnan(shares[h]))
        missing = sum(math.isnan(shares[h]) for h in hours)
        wet = NAN if missing else known
        mean = NAN if missing else sum(shares[h] * temps[h] for h in hours if shares[h] > 0) / known
        answers.append((first, end, wet, known, missing, mean, sum(rains[h] for h in hours)))
    return answers


def maybe(values):
    return st.one_of(st.just(NAN), values)


SHARE = st.one_of(st.just(0.0), st.just(0.0), st.just(1.0), st.just(NAN), st.floats(0.01, 1))
HOUR = st.tuples(
    maybe(st.sampled_from([0.0, 0.5, 1.0])), maybe(st.sampled_from([0.0, 0.2, 4.0])),
    maybe(st.floats(0, 100)), maybe(st.floats(-10, 25)), maybe(st.floats(-10, 35)),
)  # fmt: skip
RECORD = st.lists(st.tuples(SHARE, maybe(st.floats(-20, 40)), maybe(st.floats(0, 30))), max_size=80)


@settings(max_examples=count("wet spells against plain Python"), deadline=None)
@given(st.lists(HOUR, min_size=1, max_size=60))
def test_wetness_agrees_with_the_slow_telling(hours):
    found = wetness(*np.array(hours).T)
    slow = [slow_hour(*hour) for hour in hours]
    assert rules(found) == [rule for _, rule in slow]
    assert found.share == pytest.approx([share for share, _ in slow], nan_ok=True)


@settings(max_examples=count("wet spells against plain Python"), deadline=None)
@given(RECORD, st.integers(1, 12))
def test_spells_agree_with_the_slow_telling(record, dry_hours):
    shares, temps, rains = ([row[part] for row in record] for part in range(3))
    found = spells(shares, temps, rains, dry_hours) if record else spells([])
    slow = slow_spells(shares, temps, rains, dry_hours)
    columns = (
        found.first, found.end, found.wet_hours, found.known_hours, found.unknown_hours, found.mean_c, found.rain_mm
    )
    assert len(found) == len(slow)
    for part, column in enumerate(columns):
        assert column == pytest.approx([row[part] for row in slow], nan_ok=True, rel=1e-9, abs=1e-9)
