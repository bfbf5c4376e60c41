"""Hours of heaps, hay and picking, and a grower's own rate."""

import datetime as dt

import pytest

from advisor.ecosystem import knowledge
from advisor.facts import Situation
from advisor.orchard import load_orchard
from advisor.task_hours import crop_to_pick, hours_of
from scenarios.orchards import UPPER, orchard


def now(block=UPPER, seen=(), on=dt.date(2026, 9, 1), **about):
    return Situation.of(load_orchard(orchard([block], seen, **about)), on, None, None, knowledge())


def test_hay_given_in_kilograms_is_laid_by_the_cubic_metre():
    # 300 kg of loose hay at 60 kg/m3 (from memory) are 5 m3; 0.3 h/m3 (common practice)
    assert hours_of(now(), "lay-hay-ring", "upper", None, (300.0, "kg"))["upper"].hours == pytest.approx(5 * 0.3)


def test_the_whole_heap_is_turned():
    heap = {"date": "2026-08-20", "kind": "heap", "block": "upper",
            "parts": [{"material": "straw", "mass": "120 kg"}, {"material": "compost", "mass": "1200 kg"}]}  # fmt: skip
    # straw 120 kg/m3 and compost 600 kg/m3 (table of composting materials, G. L. Bertrand): 1 + 2 m3, 1 h/m3
    turned = hours_of(now(seen=[heap]), "mix-heap", "upper", None, (50.0, "L"))
    assert turned["upper"].hours == pytest.approx(3)
    more = hours_of(now(seen=[heap]), "mix-heap", "upper", None, (400.0, "kg"))
    assert more["upper"].hours == pytest.approx(4)  # 400 kg of stuff at 400 kg/m3 (common practice) go in as well
    assert hours_of(now(), "mix-heap", "upper") is None  # no heap was written down


def test_picking_goes_by_the_crop():
    block = {**UPPER, "rootstock": "MM.106", "trees": 40}
    crop, _ = crop_to_pick(now(block), block=load_orchard(orchard([block])).blocks[0])
    assert crop == pytest.approx(40 * 45)  # MM.106 bears 40 to 50 kg a tree (Gardeners' World 2017)
    found = hours_of(now(block, tools=["ladder"]), "pick", "upper")["upper"]
    assert found.hours == pytest.approx(1800 / 79, rel=0.01)  # 1,386 lb in 8 h (Blosser and others 1944)
    assert (found.amount, found.amount_unit, found.unit) == (1800, "kg", "kg/h")
    half = hours_of(now(block, tools=["ladder"]), "pick", "upper", None, (900.0, "kg"))["upper"]
    assert half.hours == pytest.approx(found.hours / 2)


def test_a_count_of_this_season_goes_before_a_usual_year():
    block = {**UPPER, "rootstock": "MM.106", "trees": 40}
    seen = {"kind": "crop-count", "date": "2026-08-20", "block": "upper", "fruit_per_tree": 100}
    found = hours_of(now(block, seen=[seen]), "pick", "upper")["upper"]
    assert found.amount == pytest.approx(40 * 100 * 18.7 / 104, rel=1e-3)  # 104 Gala weighed 18.7 kg (Cheng)


def test_young_trees_have_nothing_to_pick_and_uncounted_ones_are_not_known():
    young = {**UPPER, "planted": 2026}
    assert hours_of(now(young), "pick", "upper")["upper"].hours == 0
    assert hours_of(now({"id": "upper", "fruit": "apple"}), "pick", "upper") is None


def test_own_picking_rate_from_the_third_record():
    def records(kilos):
        return [{"date": f"2025-09-{n + 1:02}", "kind": "work", "block": "upper", "practice": "pick", "hours": 2,
                 "amount": f"{kg} kg"} for n, kg in enumerate(kilos)]  # fmt: skip

    two = hours_of(now(seen=records((100, 100)), tools=["ladder"]), "pick", "upper")["upper"]
    three = hours_of(now(seen=records((80, 100, 120)), tools=["ladder"]), "pick", "upper")["upper"]
    assert two.own is None
    assert three.own.records == 3
    assert three.value == pytest.approx(50)  # 300 kg in 6 h
    assert three.own.before == 79
    no_amount = [{**r, "amount": "1 %"} for r in records((1, 2, 3))]
    assert hours_of(now(seen=no_amount, tools=["ladder"]), "pick", "upper")["upper"].own is None


def test_own_pruning_rate_by_the_tree():
    works = [{"date": f"2026-02-{n + 1:02}", "kind": "work", "block": "upper", "practice": "dormant-prune", "hours": 3,
              "amount": "10 trees"} for n in range(3)]  # fmt: skip
    found = hours_of(now(seen=works), "dormant-prune", "upper")["upper"]
    assert found.value == pytest.approx(0.3)
    assert found.hours == pytest.approx(12)  # 40 trees
    assert found.own.before == 0.54  # 20 to 45 minutes (from memory)


def test_a_third_of_a_hedge_is_cut_at_a_time():
    # 300 m2 of hedge 2 m wide are 150 m; a third of them at 0.2 h/m (common practice)
    file = orchard(habitats=[{"id": "north", "kind": "hedge", "area": "300 m2"}])
    here = Situation.of(load_orchard(file), dt.date(2026, 2, 10), None, None, knowledge())
    assert hours_of(here, "cut-back-hedge", None, "north")["north"].hours == pytest.approx(10, rel=1e-3)
