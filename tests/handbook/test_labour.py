"""Hours of work against published totals and rates, and the year against the first guess of a fifth each."""

import math
from importlib.resources import files

import numpy as np
import pytest

from advisor.reading import parse_yaml
from advisor.science import labour

LB = 0.45359237
ACRE_HA = 0.40468564


@pytest.mark.parametrize(
    "system", ["small ecological orchard", "Hood River apples", "Hood River pears", "Hood River Bartlett pears"]
)
def test_tasks_add_up_to_the_published_total(system):
    # Common practice (small orchard); Blosser, Franklin and Mumford 1944, whose totals alone are sure.
    year = labour.PUBLISHED_YEARS[system]
    assert sum(low for low, _ in year.tasks.values()) == pytest.approx(year.total[0])
    assert sum(high for _, high in year.tasks.values()) == pytest.approx(year.total[1])


def test_meadow_orchard_degenbeck_2016():
    # 80 standard trees a hectare: 0.7 h pruning each, 25 to 60 h of hay, 0.5 to 2 h of harvest each: about 200 h.
    year = labour.PUBLISHED_YEARS["meadow orchard"]
    rates = {"labour.prune.hand.standard": (0.7, "h/tree")}
    pruning = labour.estimate(rates, "prune", {"trees": 80}, [], ["standard"]).hours
    assert (pruning, pruning) == pytest.approx(year.tasks["pruning"])
    assert year.tasks["harvest"] == (80 * 0.5, 80 * 2)
    middle = sum((low + high) / 2 for low, high in year.tasks.values())
    assert middle == pytest.approx(198.5)
    assert middle == pytest.approx(year.total[0], rel=0.01)
    low, high = (sum(task[end] for task in year.tasks.values()) for end in (0, 1))
    assert low < year.total[0] < year.total[1] < high * 1.05
    assert (year.tasks["harvest"][0] + year.tasks["harvest"][1]) / 2 / middle > 0.5


def test_small_orchard_in_hectares_and_shares():
    year = labour.PUBLISHED_YEARS["small ecological orchard"]
    per_ha = {task: low / ACRE_HA for task, (low, _) in year.tasks.items()}
    printed = {"pruning": 297, "floor": 148, "spray": 99, "thinning": 198, "harvest": 593}
    assert per_ha == pytest.approx(printed, abs=0.6)
    assert year.total[0] / ACRE_HA == pytest.approx(1334, abs=1)
    assert labour.shares({task: low for task, (low, _) in year.tasks.items()}) == pytest.approx(
        {"pruning": 0.222, "floor": 0.111, "spray": 0.074, "thinning": 0.148, "harvest": 0.444}, abs=0.001
    )


def test_swiss_dessert_apples():
    # Sichert and others 2006: 400 to 600 h/ha at 45 t/ha; Bravin and others 2016: shares.
    low, high = labour.PUBLISHED_YEARS["Swiss dessert apples"].total
    assert (low / 45, high / 45) == pytest.approx((8.9, 13.3), abs=0.04)
    assert labour.SWISS_SHARES == {"pruning": 0.11, "pests and disease": 0.04, "thinning": 0.20, "harvest": 0.52}
    assert sum(labour.SWISS_SHARES.values()) < 1


def test_volunteer_meadow_orchard():
    year = labour.PUBLISHED_YEARS["volunteer meadow orchard"]
    assert year.tasks["floor"] == (200 + 60 + 80, 200 + 60 + 80)  # mowing, disc mulch, renewing discs
    assert sum(low for low, _ in year.tasks.values()) < year.total[0]


@pytest.fixture(scope="module")
def rates():
    text = (files("advisor.knowledge") / "figures" / "labour.yaml").read_text(encoding="utf-8")
    return {
        figure["id"]: (figure["rows"][0]["value"], figure["unit"])
        for figure in parse_yaml(text, "labour.yaml").data
        if figure["unit"] in labour.UNITS
    }


# Published rates that the figures hold.
@pytest.mark.parametrize(
    ("rate", "value"),
    [
        ("labour.pick.ladder.apple", 1386 * LB / 8),  # Blosser 1944: 1,386 lb in 8 h
        ("labour.pick.ladder.pear", 1608 * LB / 8),
        ("labour.prune.hand.standard", 35 / 50),  # Degenbeck: 35 h in 50 years
        ("labour.shake.hand.standard", 20 / 60),
        ("labour.pick-drops.hand", (150 + 200) / 2),
        ("labour.mow.scythe", 8 / ACRE_HA),  # an acre a day
        ("labour.platform-pick-least", 0.59 * 3600),  # He and Weber: 0.59 to 0.73 fruit a second
        ("labour.platform-pick-most", 0.73 * 3600),
    ],
)
def test_published_rates(rates, rate, value):
    assert rates[rate][0] == pytest.approx(value, rel=0.012)


def test_bartlett_pears_go_faster():
    assert pytest.approx(103, abs=0.6) == 1808 * LB / 8


def test_hours_by_amount(rates):
    assert labour.hours_for(0.7, "h/tree", {"trees": 40}) == pytest.approx(28)
    assert labour.hours_for(79, "kg/h", {"mass_kg": 790}) == pytest.approx(10)
    assert labour.hours_for(20, "h/ha", {"area_m2": 500}) == pytest.approx(1)
    assert labour.hours_for(2, "h", {}) == 2
    assert labour.hours_for(2, "h/m3", {"trees": 3}) is None
    assert math.isnan(labour.hours_for(2, "h/m3", {"volume_m3": float("nan")}))
    assert np.allclose(labour.hours_for(0.5, "h/tree", {"trees": np.array([2, 4])}), [1, 2])


@pytest.mark.parametrize(
    ("work", "amounts", "tools", "classes", "tool", "hours"),
    [
        ("pick", {"mass_kg": 790}, ["ladder"], ["apple", "semi-dwarf"], "ladder", 10),
        ("pick", {"mass_kg": 790}, ["ladder"], ["apple", "dwarf"], "hand", 7.9),
        ("pick", {"mass_kg": 790}, [], ["apple", "semi-dwarf"], "hand", 15.8),
        ("mow", {"area_m2": 10_000}, ["scythe"], [], "scythe", 20),
        ("mow", {"area_m2": 10_000}, ["scythe", "sickle-bar"], [], "sickle-bar", 2.7),
        ("prune", {"trees": 10}, None, ["dwarf"], "hand", 0.5),
    ],
)
def test_the_quickest_tool_at_hand(rates, work, amounts, tools, classes, tool, hours):
    found = labour.estimate(rates, work, amounts, tools, classes)
    assert found.tool == tool
    assert found.hours == pytest.approx(hours)
    assert f"{found.hours:.1f} h" in found.workings


def test_no_tool_no_amount_no_class_no_hours(rates):
    assert labour.estimate(rates, "mow", {"area_m2": 100}, ["chipper"]) is None
    assert labour.estimate(rates, "mow", {}, ["scythe"]) is None
    assert labour.estimate(rates, "prune", {"trees": 10}, []) is None
    assert labour.estimate(rates, "none", {"trees": 10}, []) is None


def test_every_work_has_a_rate(rates):
    works = {rate.split(".")[1] for rate in rates}
    assert set(labour.WORK_OF.values()) - {"none"} <= works


def test_platform_saving_miranda_sazo_2013():
    assert labour.PLATFORM_SAVES == {"prune": (0.37, 0.47), "thin": (0.45, 0.50)}


def test_own_rate_counts_from_the_third_record():
    assert labour.own_rate([(2, 10), (3, 10)]) is None
    assert labour.own_rate([(2, 10), (3, 10), (4, 10)]) == pytest.approx(0.3)
    with pytest.raises(ValueError, match="record"):
        labour.own_rate([(2, 0)] * 3)


def test_the_fifths_are_a_guess_beside_the_tasks():
    hours = {"pruning": 30.0, "mulching and soil": 20.0, "pests and disease": 10.0, "thinning": 20.0, "harvest": 120.0}
    answer = labour.against_fifths({**hours, labour.OTHER: 50.0})
    assert answer["harvest"] == pytest.approx({"hours": 120, "share": 120 / 250, "guess": 40, "more": 80})
    assert answer[labour.OTHER]["guess"] == 0
    assert sum(line["share"] for line in answer.values()) == pytest.approx(1)
    assert sum(line["guess"] for line in answer.values()) == pytest.approx(200)


@pytest.mark.parametrize(
    ("practice", "kind"),
    [
        ("dormant-prune", "pruning"),
        ("spread-ramial-chips", "mulching and soil"),
        ("first-mow", "mulching and soil"),
        ("shred-leaves", "pests and disease"),
        ("sulphur", "pests and disease"),
        ("hand-thin", "thinning"),
        ("pick", "harvest"),
        ("frost-watch", labour.OTHER),
        ("plant-hedge", labour.OTHER),
        ("irrigate", labour.OTHER),
    ],
)
def test_every_practice_has_its_line(practice, kind):
    assert labour.kind_of(practice) == kind


@pytest.mark.parametrize(
    "call",
    [
        lambda: labour.hours_for(1, "h/acre", {"area_m2": 1}),
        lambda: labour.hours_for(0, "kg/h", {"mass_kg": 1}),
        lambda: labour.hours_for(1, "h/tree", {"trees": -1}),
        lambda: labour.shares({"pruning": 0}),
    ],
)
def test_nonsense_is_refused(call):
    with pytest.raises(ValueError, match=r"\.$|known"):
        call()
