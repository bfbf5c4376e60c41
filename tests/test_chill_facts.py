"""Chill of the winter as a fact, north and south, with gaps; and bloom that overlaps or does not."""

import datetime as dt

import pytest

from advisor.advice import default_rules
from advisor.ecosystem import knowledge
from advisor.facts import Situation, chilling
from advisor.facts.making import Maker
from advisor.orchard import load_orchard
from advisor.science import chill
from advisor.science.bloom_overlap import overlaps, takes
from advisor.science.chill_needs import portions_needed
from advisor.weather import read_weather

MAKE = Maker(default_rules().kinds)
NORTH = {"name": "Larkfield", "latitude": 36.0, "longitude": -79.0, "timezone": "America/New_York"}
SOUTH = {"name": "Larkfield", "latitude": -34.0, "longitude": 19.0, "timezone": "Africa/Johannesburg"}


def winter(on, temp_c, head=NORTH, begin="2025-10-20", cultivars=("Golden Delicious",), gap=(), fruit="apple"):
    block = {"id": "b", "fruit": fruit, "cultivars": list(cultivars)}
    file = load_orchard({"orchard": head, "blocks": [block]})
    first, last = dt.date.fromisoformat(begin), dt.date.fromisoformat(on)
    days = [first + dt.timedelta(days=n) for n in range((last - first).days + 1)]
    rows = [{"time": f"{day}T{hour:02d}:00", "temp_c": temp_c} for day in days for hour in range(24)
            if day.isoformat() not in gap]  # fmt: skip
    now = Situation.of(file, last, read_weather(rows, file.zone), None, knowledge())
    found = list(chilling.facts(now, MAKE))
    return found[0] if found else None


def test_steady_cold_counts_as_the_functions_do():
    fact = winter("2025-12-01", 6.0)
    hours = 31 * 24 + 1  # November and the first of December; the clocks go back on the second of November
    assert fact.fields["hours"] == hours
    assert fact.fields["portions"] == pytest.approx(chill.chill_portions([6.0] * hours), abs=1e-3)
    assert fact.fields["at_least"] is False
    assert "met" not in fact.fields  # the winter is not told, and it is not enough yet
    assert fact.fields["needs"] == 50


def test_a_cold_winter_is_enough_and_a_mild_one_is_told_in_march():
    assert winter("2026-03-20", 6.0).fields["met"] is True
    mild = winter("2026-03-20", 14.0)
    assert mild.fields["met"] is False
    assert mild.fields["told"] is True
    assert "met" not in winter("2026-03-01", 14.0).fields


def test_warmth_after_the_winter_changes_nothing():
    assert winter("2026-03-20", 6.0).fields["portions"] == winter("2026-06-20", 6.0).fields["portions"]


def test_with_hours_missing_a_winter_is_never_called_too_mild():
    gap = [f"2026-01-{day:02d}" for day in range(5, 15)]
    late = winter("2026-03-20", 14.0, begin="2026-01-01")
    holed = winter("2026-03-20", 14.0, gap=gap)
    for fact in (late, holed):
        assert fact.fields["at_least"] is True
        assert "met" not in fact.fields
        assert "at least" in fact.text
    assert winter("2026-03-20", 6.0, gap=gap).fields["met"] is True


def test_in_the_south_the_winter_is_june():
    fact = winter("2026-09-20", 14.0, SOUTH, begin="2026-04-20")
    assert fact.fields["met"] is False
    assert winter("2026-06-30", 6.0, SOUTH, begin="2026-04-20").fields["hours"] == 61 * 24


def test_without_a_published_figure_nothing_is_concluded():
    fact = winter("2026-03-20", 14.0, cultivars=("Larkfield Seedling",))
    assert "needs" not in fact.fields
    assert "met" not in fact.fields
    assert "no published figure" in fact.text


def test_the_most_demanding_cultivar_counts():
    fact = winter("2026-03-20", 6.0, cultivars=("Lapins", "Sam"), fruit="sweet-cherry")
    assert (fact.fields["needs"], fact.fields["cultivar"]) == (70, "Sam")


@pytest.mark.parametrize(
    ("fruit", "cultivar", "portions"),
    [
        ("apple", "Golden Delicious", 50), ("apricot", "Currot", 39.6), ("apricot", "Rojo Pasion", 51.2),
        ("apricot", "Búlida", 53.8), ("apricot", "San Castrese", 55.25), ("apricot", "Murciana", 55.9),
        ("apricot", "Dorada", 56.2), ("apricot", "Selene", 57.4), ("apricot", "Orange Red", 69.1),
        ("apricot", "Goldrich", 61.9), ("apricot", "Bergeron", 64.8), ("sweet-cherry", "Cristobalina", 30.4),
        ("sweet-cherry", "Lapins", 35), ("sweet-cherry", "Brooks", 36.7), ("sweet-cherry", "Rainier", 45),
        ("sweet-cherry", "Ruby", 48), ("sweet-cherry", "Somerset", 48), ("sweet-cherry", "Burlat", 48),
        ("sweet-cherry", "New Star", 53.5), ("sweet-cherry", "Marvin", 57.6), ("sweet-cherry", "Sam", 70),
        ("nectarine", "Aprilglo", 12), ("nectarine", "Mayglo", 18), ("nectarine", "Sunlite", 33.2),
        ("nectarine", "Flavortop", 41.4), ("nectarine", "Fantasia", 41.7), ("peach", "Flordaprince", 8),
        ("peach", "Earligrande", 12), ("peach", "Maravilha", 12), ("peach", "Redhaven", 75),
        ("pear", "Bartlett", None), ("apple", "Liberty", None),
    ],
)  # fmt: skip
def test_chill_needs_are_the_published_ones(fruit, cultivar, portions):
    """University of California, Davis, tree phenology, table 1; of two studies of one cultivar the larger mean."""
    assert portions_needed(fruit, cultivar) == portions


@pytest.mark.parametrize(
    ("first", "second", "together"),
    [
        ("Gala", "Empire", True), ("Paulared", "Fuji", False),  # the leaflet's own two examples
        ("Golden Delicious", "Stayman", True), ("Golden Delicious", "Winesap", True),  # its "mid-season varieties"
        ("Arkansas Black", "Rome Beauty", True), ("Arkansas Black", "Lodi", True),  # blooms early through late
        ("Lodi", "York", False), ("Crispin", "Cortland", True), ("Gala", "Northern Spy", None),
    ],
)  # fmt: skip
def test_bloom_overlaps_as_published(first, second, together):
    """North Carolina Cooperative Extension, HIL-302."""
    assert overlaps("apple", first, second) is together
    assert overlaps("apple", second, first) is together


def test_kin_do_not_serve_each_other():
    """HIL-302: Golden Delicious does not pollinate Jonagold or Mutsu. The cherries and pears: from memory."""
    assert not takes("apple", "Mutsu", "Golden Delicious")
    assert not takes("apple", "Jonagold", "golden delicious")
    assert takes("apple", "Stayman", "Golden Delicious")
    assert not takes("sweet-cherry", "Bing", "Royal Ann")
    assert not takes("pear", "Seckel", "Williams")
    assert takes("pear", "Bosc", "Bartlett")


@pytest.mark.parametrize("cultivar", ["Mutsu", "Stayman", "Jonagold", "Winesap"])
def test_sterile_pollen_as_published(cultivar):
    """North Carolina Cooperative Extension, HIL-302: four cultivars unsuitable as a pollen source."""
    from advisor.science.pollination import gives_pollen

    assert gives_pollen(cultivar) is False


@pytest.mark.parametrize(("winter_c", "stance"), [(6.0, "do"), (14.0, "wait")])
def test_blossom_is_left_after_a_mild_winter(winter_c, stance):
    """Too little chill draws the bloom out and makes crops light (van den Ende, Critical input: chilling hours)."""
    from advisor import advise

    days = [dt.date(2025, 10, 25) + dt.timedelta(days=n) for n in range(170)]
    rows = [{"time": f"{day}T{hour:02d}:00", "temp_c": winter_c} for day in days for hour in range(24)]
    file = {
        "orchard": NORTH,
        "blocks": [{"id": "b", "fruit": "apple", "cultivars": ["Golden Delicious"], "planted": 2010}],
        "observations": [
            {"date": "2026-04-12", "kind": "tree-stage", "stage": "full-bloom"},
            {"id": "meant", "date": "2026-04-12", "kind": "intent", "practice": "thin-blossom", "block": "b"},
        ],
    }
    answer = advise(file, on="2026-04-12", weather=rows)
    [found] = [r for r in answer["recommendations"] if r["answers"] == "meant" or "meant" in (r["answers"] or [])]
    assert found["stance"] == stance
    assert answer["conditions"]["b"]["chill"][0]["met"] is (stance == "do")
    looks = [r for r in answer["recommendations"] if r["practice"] == "scout" and "leaf and flower come" in r["summary"]]
    assert bool(looks) is (stance == "wait")


def test_utah_units_are_told_of_a_winter_without_gaps_alone() -> None:
    """At 6 °C every hour is a whole unit of the Utah model (Richardson, Seeley and Walker 1974)."""
    whole = winter("2025-12-01", 6.0)
    assert whole.fields["utah"] == whole.fields["hours"]
    assert "Utah units" in whole.text
    late = winter("2025-12-01", 6.0, begin="2025-11-20")
    assert "utah" not in late.fields
