"""Quantities in and out, against the exact definitions of the units and against pint itself."""

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor import quantity
from advisor.quantity import KINDS, Unreadable, amount, read, show

# Expected values from the international yard and pound (1959), the US gallon of 231 cubic inches, the pound-force of
# standard gravity (9.80665 m/s2) and, for acres, 4,046.8564 m2 (the US survey acre, given up by NIST at the end of 2022, is
# 4 in a million larger, and some editions of pint still use it).
READ = [
    ("35 cm", "length", 0.35), ("14 in", "length", 0.3556), ("14in", "length", 0.3556), ("1 1/2 in", "length", 0.0381),
    ("6 ft", "length", 1.8288), ("250 m", "elevation", 250), ("-3 m", "elevation", -3),
    ("300 m2", "area", 300), ("300 m²", "area", 300), ("300 m^2", "area", 300), ("1.2 ha", "area", 12_000),
    ("2 acres", "area", 8_093.7128), ("500 sq ft", "area", 46.4515),
    ("3 gal", "volume", 0.011356235), ("3 L", "volume", 0.003), ("2 cubic yards", "volume", 1.529110),
    ("8 fl oz", "volume", 0.000236588),
    ("10 lb", "mass", 4.5359237), ("2 tons", "mass", 1_814.36948), ("2 t", "mass", 2_000),
    ("2.2 °C", "temperature", 2.2), ("36 °F", "temperature", 20 / 9), ("-4 F", "temperature", -20),
    ("28 degF", "temperature", -20 / 9), ("3/4 in", "rain", 19.05), ("25 mm", "rain", 25), ("25 L/m2", "rain", 25),
    ("10 mph", "speed", 4.4704), ("18 km/h", "speed", 5), ("3 h", "duration", 3), ("90 minutes", "duration", 1.5),
    (3, "hours", 3), ("3", "hours", 3), ("16 lbf", "force", 71.17155), ("7 kgf", "force", 68.64655),
    ("1.5 t/ha", "dose", 1_500), ("50 lb/acre", "dose", 56.0426), ("5 lb/1000 ft2", "dose", 244.1214),
    ("20 gal/acre", "liquid-dose", 187.0791), ("2 lb/100 gal", "strength", 2.396529), ("2.5 mm/h", "water-rate", 2.5),
    ("0.1 in/h", "water-rate", 2.54), (0.4, "share", 0.4), ("7 %", "share", 0.07), ("2.1 %", "percent", 2.1),
    ("12.5 Brix", "percent", 12.5), (0, "length", 0), ("0", "mass", 0), ("35 CM", "length", 0.35),
]  # fmt: skip


@pytest.mark.parametrize(("text", "kind", "inside"), READ, ids=[f"{kind} {text}" for text, kind, _ in READ])
def test_read(text: object, kind: str, inside: float) -> None:
    value = read(text, kind)
    assert type(value) is float
    assert value == pytest.approx(inside, rel=5e-6)


REFUSED = [
    (35, "length", "35 what?", "Write 35 cm or 14 in."),
    (5, "spacing", "5 what?", "Write 5 m or 16 ft."),
    ("20", "spacing", "20 what?", "Write 20 ft or 6.1 m."),  # nobody plants trees 20 m apart
    (60, "distance", "60 what?", "Write 60 m or 200 ft."),
    ("wide", "spacing", "does not begin with a number", "such as 6 m."),
    ("warm", "temperature", "does not begin with a number", "such as -3 °C."),
    ("35 kg", "spacing", "is not a spacing", "m or ft"),
    ("16", "force", "16 what?", "16 N or 3.6 lbf"),
    (0, "temperature", "0 what?", "0 °C or 32 °F"),
    ("16 lb", "force", "is not a force", "lbf"),
    ("35 kg", "length", "is not a length", "cm or in"),
    ("35 bananas", "length", "unit that nobody here knows", "cm or in"),
    ("35 cm", "share", "is not a share", "0 to 1"),
    (7, "share", "shares go from 0 to 1", "%"),
    ("150 %", "share", "shares go from 0 to 1", "0 to 1"),
    (-0.1, "share", "shares go from 0 to 1", "0 to 1"),
    ("2,5 cm", "length", "comma", "decimal point"),
    ("20-30 cm", "length", "range", "one number"),
    ("20 to 30 cm", "length", "range", "one number"),
    ("-3 cm", "length", "below zero", "sign"),
    ("400 °C", "temperature", "out of all measure", "-60"),
    ("1e999 m", "length", "not a number that can be measured", ""),
    ("nan cm", "length", "does not begin with a number", "35 cm"),
    (math.nan, "length", "not a number that can be measured", "Leave out"),
    (math.inf, "share", "not a number that can be measured", "Leave out"),
    (True, "length", "is not a quantity", "35 cm"),
    (None, "length", "is not a quantity", "35 cm"),
    (["35 cm"], "length", "is not a quantity", "35 cm"),
    ("1/0 in", "length", "divides by nothing", "decimal"),
    ("3 __import__('os')", "length", "is not a number with a unit", ""),
    ("9" * 400 + " m", "length", "not a number that can be measured", ""),
]


@pytest.mark.parametrize(("found", "kind", "message", "mend"), REFUSED, ids=[f"{k} {g!s:.20}" for g, k, *_ in REFUSED])
def test_refused(found: object, kind: str, message: str, mend: str) -> None:
    with pytest.raises(Unreadable) as refused:
        read(found, kind)
    assert message in refused.value.message
    assert mend in refused.value.mend


def test_amounts_keep_their_kind() -> None:
    assert amount("300 kg") == quantity.Amount(300.0, "kg")
    assert amount("40 kg/ha") == quantity.Amount(40.0, "kg/ha")
    assert amount("2 gal").unit == "m3"
    assert amount("25 mm") == quantity.Amount(0.025, "m")
    assert amount("50 %") == quantity.Amount(0.5, "share")
    assert amount("2 lb/100 gal").unit == "kg/m3"
    with pytest.raises(Unreadable, match="40 what"):
        amount(40)
    with pytest.raises(Unreadable, match="no job of an orchard"):
        amount("5 volts")


SHOWN = [
    (0.35, "m", "35 cm", "14 in"), (1.2, "m", "1.2 m", "3.94 ft"), (45, "cm", "45 cm", "18 in"),
    (300, "m2", "300 m2", "3229 ft2"), (12_000, "m2", "1.2 ha", "2.97 acres"), (1.2, "ha", "1.2 ha", "2.97 acres"),
    (0.0114, "m3", "11.4 L", "0.403 ft3"), (11.4, "L", "11.4 L", "3.01 gal"), (4000, "L", "4 m3", "1057 gal"),
    (3, "m3", "3 m3", "3.92 yd3"), (4.54, "kg", "4.54 kg", "10 lb"),
    (-2.2, "degC", "-2.2 °C", "28 °F"), (25.4, "mm", "25.4 mm", "1 in"), (4.4704, "m/s", "4.47 m/s", "10 mph"),
    (71.17, "N", "71.2 N", "16 lbf"), (56, "kg/ha", "56 kg/ha", "50 lb/acre"), (0.07, "share", "7 %", "7 %"),
    (2.4, "kg/m3", "2.4 g/L", "2 lb/100 gal"), (2.54, "mm/h", "2.54 mm/h", "0.1 in/h"),
    (10, "days", "10 days", "10 days"), (100, "degC-days", "100 °C days", "180 °F days"), (0, "m", "0 cm", "0 in"),
    (math.nan, "m", "unknown", "unknown"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "unit", "metric", "us"), SHOWN, ids=[f"{v} {u}" for v, u, _, _ in SHOWN])
def test_show(value: float, unit: str, metric: str, us: str) -> None:
    assert show(value, unit) == metric
    assert show(value, unit, "us") == us


SPOKEN = [
    (-2.2, "degC", "-2.2 °C", "28 °F"), (29, "degC", "29 °C", "84 °F"), (-3, "degC", "-3 °C", "26.6 °F"),
    (2.5, "mm", "2.5 mm", "0.1 in"),
    (8, "cm", "8 cm", "3.1 in"), (30, "m", "30 m", "98 ft"), (3, "m", "3 m", "9.8 ft"), (0, "m", "0 cm", "0 in"),
    (4, "kg/ha", "4 kg/ha", "3.57 lb/acre"), (1095, "days", "3 years", "3 years"), (300, "days", "300 days", "300 days"),
    (40.764, "kg", "40.8 kg", "90 lb"), (10.4, "m3", "10.4 m3", "14 yd3"), (0.5, "kg", "500 g", "1.1 lb"),
    (6300, "L", "6.3 m3", "1700 gal"),
    (7.71, "weeks", "8 weeks", "8 weeks"), (1.5, "weeks", "1.5 weeks", "1.5 weeks"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "unit", "metric", "us"), SPOKEN, ids=[f"{v} {u}" for v, u, _, _ in SPOKEN])
def test_what_is_spoken_is_no_finer_than_anyone_measures(value: float, unit: str, metric: str, us: str) -> None:
    assert quantity.spoken(value, unit) == metric
    assert quantity.spoken(value, unit, "us") == us


# Round metric measures of rules, as they are and as a US grower would write them: common practice, no source.
NEAT = [
    (15, "cm", "5.9 in", "6 in"), (20, "cm", "7.9 in", "8 in"), (50, "cm", "20 in", "20 in"), (8, "cm", "3.1 in", "3.25 in"),
    (7, "cm", "2.8 in", "2.75 in"), (90, "cm", "35 in", "36 in"), (25, "mm", "0.98 in", "1 in"), (30, "m", "98 ft", "100 ft"),
    (300, "m", "984 ft", "1000 ft"), (2, "ha", "4.94 acres", "5 acres"), (4.5, "m/s", "10.1 mph", "10 mph"),
    (30, "m3", "39 yd3", "40 yd3"), (10, "L", "2.64 gal", "2.6 gal"),
    (45.72, "cm", "18 in", "18 in"), (15.1, "cm", "5.9 in", "5.9 in"),  # not round: stays as it is
    (1.7, "degC", "35.1 °F", "35.1 °F"), (29, "degC", "84 °F", "84 °F"), (28, "kg/ha", "25 lb/acre", "25 lb/acre"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "unit", "exact", "neat"), NEAT, ids=[f"{v} {u}" for v, u, _, _ in NEAT])
def test_round_metric_measures_of_rules_are_round_for_us_readers(value: float, unit: str, exact: str, neat: str) -> None:
    assert quantity.spoken(value, unit, "us") == exact
    assert quantity.neatly(value, unit, "us") == neat
    assert quantity.neatly(value, unit) == quantity.spoken(value, unit)


@given(st.integers(1, 99), st.sampled_from([("cm", 0.01), ("m", 1.0)]))
def test_a_distance_kept_for_safety_is_never_told_smaller(number: int, unit: tuple[str, float]) -> None:
    told = quantity.neatly(number, unit[0], "us", at_least=True)
    assert number * unit[1] * (1 - 1e-9) <= read(told, "length") <= number * unit[1] * 1.04


def test_what_is_no_length_is_not_rounded_in_a_caution() -> None:
    assert quantity.neatly(2, "ha", "us", at_least=True) == "4.94 acres"
    assert quantity.neatly(10, "L", "us", at_least=True) == "2.64 gal"


@given(st.integers(30, 990).map(lambda tenths: float(f"{tenths / 10:.2g}")))
def test_a_wind_is_never_told_stronger_than_in_three_figures(speed: float) -> None:
    neat, exact = (read(tell(speed, "m/s", "us"), "speed") for tell in (quantity.neatly, quantity.spoken))
    assert neat <= exact + 1e-9


WRITTEN = {"length": "m", "area": "m2", "volume": "m3", "mass": "kg", "temperature": "degC", "rain": "mm",
           "speed": "m/s", "force": "N", "dose": "kg/ha", "liquid-dose": "L/ha", "strength": "kg/m3",
           "water-rate": "mm/h", "share": "share"}


@given(st.sampled_from(sorted(WRITTEN)), st.sampled_from(["metric", "us"]), st.floats(0.01, 55))
def test_what_is_shown_reads_back_as_the_same(kind: str, system: str, value: float) -> None:
    if kind == "share":
        value /= 100
    shown = show(value, WRITTEN[kind], system)
    rough = 0.05 if shown.endswith((" in", " ft")) else 0.006  # whole inches and feet from 10 up, else three figures
    back = read(shown, kind)
    assert back == pytest.approx(value, rel=rough, abs=0.06 if kind == "temperature" else 0)


@given(st.floats(1e-3, 1e4), st.sampled_from([("cm", 0.01), ("mm", 0.001), ("m", 1.0), ("in", 0.0254), ("ft", 0.3048)]))
def test_lengths_are_their_number_times_their_unit(number: float, unit: tuple[str, float]) -> None:
    assert read(f"{number!r} {unit[0]}", "length") == pytest.approx(number * unit[1], rel=1e-9)


@pytest.mark.parametrize("kind", sorted(name for name, kind in KINDS.items() if not kind.bare))
def test_a_bare_number_is_refused_with_the_units_to_write(kind: str) -> None:
    with pytest.raises(Unreadable) as refused:
        read("35", kind)
    assert KINDS[kind].first in refused.value.mend


@given(st.text(max_size=30), st.sampled_from(sorted(KINDS)))
def test_any_text_is_read_or_refused(text: str, kind: str) -> None:
    try:
        value = read(text, kind)
    except Unreadable:
        return
    assert math.isfinite(value)


def test_pint_is_not_loaded_before_a_quantity_is_read() -> None:
    code = "import sys, advisor.quantity, advisor.orchard, advisor.season; print('pint' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
