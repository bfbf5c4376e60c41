"""Every kind of observation, from records and from CSV, with units, ids, and refusals that say how to mend."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from advisor import observation, words
from advisor.observation import KINDS, read_observations, records_of_csv
from advisor.quantity import Amount
from advisor.reading import Document

NOWHERE = Document(None, "seen.yaml")
ZONE = ZoneInfo("America/New_York")


def read(*records: Any) -> tuple[list[Any], list[str]]:
    seen, problems = read_observations(records, NOWHERE, ("observations",), ZONE)
    return list(seen), [str(problem) for problem in problems]


def one(kind: str, **fields: Any) -> Any:
    seen, problems = read({"date": "2026-05-18", "kind": kind, "block": "upper", **fields})
    assert not problems
    return seen[0]


# Each kind with all its fields as people write them, and what they are inside.
FULL: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "tree-stage": ({"stage": "pink", "bbch": 57, "open": 0.1, "cultivar": "Liberty"}, {"bbch": 57}),
    "tree-sign": ({"sign": "sunburn", "share": 0.2}, {"share": 0.2}),
    "sward": ({"height": "18 in", "seed_heads": "none", "cover": 0.9, "in_flower": "20 %", "dominant": "grass"},
              {"height": 0.4572, "seed_heads": "none", "in_flower": 0.2}),
    "plant-bloom": ({"plant": "white-clover", "open": 0.4}, {"plant": "white-clover"}),
    "mulch": ({"material": "ramial-chips", "depth": "3 in", "trunk_gap": "20 cm", "union_covered": True},
              {"depth": 0.0762, "trunk_gap": 0.2, "union_covered": True}),
    "heap": ({"parts": [{"material": "hay", "mass": "100 lb", "carbon": "42 %", "nitrogen": "2 %",
                         "moisture": "12 %"}],
              "feel": "moist", "smell": "none", "goal_cn": 30}, {"smell": "none", "goal_cn": 30.0}),
    "stems": ({"standing": 0.5, "height": "40 cm", "first_cut": "never"}, {"first_cut": "never"}),
    "leaf-fall": ({"fallen": 0.9, "scab_on_leaves": 0.05, "reachable": 0.7, "state": "matted"}, {"state": "matted"}),
    "pest-count": ({"pest": "codling-moth", "count": 6, "per": "trap", "trap": "pheromone", "days": 7,
                    "trap_area": "1 ha", "sample": 4, "infested": 0.1, "curled": 0.1, "over": 0.2, "level": 5,
                    "winged": False, "at": "edge"},
                   {"trap_area": 10_000.0, "count": 6.0, "winged": False}),
    "pest-damage": ({"pest": "plum-curculio", "share": 0.02, "of": "fruit", "fresh": "yes", "sign": "scar",
                     "height": "60 cm"}, {"fresh": True, "height": 0.6}),
    "ally-count": ({"ally": "lady-beetle", "count": 3, "per": "shoot", "days": 1, "sample": 50, "share": 0.2,
                    "abundance": "few"}, {"abundance": "few"}),
    "disease-sign": ({"disease": "fire-blight", "share": 0.01, "strikes": 3, "per_tree": 0.2, "where": "shoot",
                      "sign": "gum", "height": "2 m", "horns": "dry"}, {"height": 2.0}),
    "mummies": ({"per_tree": 3, "at": "tree", "of": "rotted-fruit"}, {"per_tree": 3.0}),
    "fruit-set": ({"fruit_per_cluster": 2.5, "clusters_with_fruit": 0.6}, {"fruit_per_cluster": 2.5}),
    "crop-count": ({"fruit_per_tree": 220, "girth": "32 cm", "diameter": "4 in", "cultivar": "Gala",
                    "fruit_diameter": "25 mm", "spacing": "6 in", "touching": 0.3, "limbs": "bending"},
                   {"girth": 0.32, "diameter": 0.1016, "fruit_diameter": 0.025, "spacing": 0.1524}),
    "bud-kill": ({"dead": 0.3, "sample": 100, "live_per_lateral": 4, "wanted_per_lateral": 3}, {"dead": 0.3}),
    "shoot-growth": ({"length": "14 in", "terminal_set": "no"}, {"length": 0.3556, "terminal_set": False}),
    "leaf-test": ({"results": {"N": "2.1 %", "K": "1.3 %", "B": "24 ppm"}, "cultivar": "Empire"}, {}),
    "soil-test": ({"results": {"ph": 6.2, "organic_matter": "4 %", "CEC": "12 meq/100 g", "P": "40 lb/acre"}}, {}),
    "fruit-sample": ({"cultivar": "Empire", "starch": 4.5, "firmness": "16 lbf", "soluble_solids": "12.5 %",
                      "ground_colour": "light-green", "blush": 0.6, "parts_when_lifted": True, "fruit": 10},
                     {"firmness": pytest.approx(71.17, abs=0.01), "soluble_solids": 12.5}),
    "bees": ({"per_tree_minute": 2.5, "who": "bumble-bee", "at": "tree"}, {"who": "bumble-bee"}),
    "vole-sign": ({"runways": "none", "slices_eaten": 0, "gnawing": "false", "drops_chewed": True},
                  {"runways": "none", "slices_eaten": 0.0, "gnawing": False}),
    "wildlife-sign": ({"who": "ground-nesting-birds", "note": "a nest by the third row"}, {}),
    "snow": ({"depth": "2 ft"}, {"depth": 0.6096}),
    "soil-water": ({"depletion": "1 in", "feel": "cracked", "crust": True, "bears_mower": False}, {"depletion": 25.4}),
    "work": ({"practice": "copper", "hours": 3, "amount": "2 kg/ha", "area": "1 acre", "material": "copper",
              "content": "50 %", "target": "apple-scab", "by": "M."},
             {"hours": 3.0, "amount": Amount(2.0, "kg/ha"), "content": 0.5}),
    "forecast": ({"day": "2026-05-19", "low": "28 °F", "high": "12 °C", "rain": "0.1 in", "snow": "1 cm",
                  "wind": "5 mph", "dew_point": "-3 °C", "humidity": "85 %", "sky": "clear", "hours_at_low": 3,
                  "frost": "calm"},
                 {"low": pytest.approx(-20 / 9), "rain": 2.54, "humidity": 85.0, "day": dt.date(2026, 5, 19)}),
    "intent": ({"practice": "sulphur", "day": "2026-05-20", "at": "6:30", "material": "wettable-sulphur",
                "target": "apple-scab", "amount": "5 kg", "rate": "half", "with": ["kelp", "fish-liquid"],
                "nitrogen": "40 kg/ha", "depth": "5 cm", "height": "10 cm", "share": 0.5, "count": 3, "degree": "light",
                "thickness": "2 in", "plants": ["hazel"], "fresh": True,
                "cuts": "thinning", "until": "2026-06-01", "in": "cellar", "when": "soft"},
               {"at": "06:30", "with_": ("kelp", "fish-liquid"), "in_": "cellar", "rate": "half",
                "nitrogen": Amount(40.0, "kg/ha")}),
}  # fmt: skip


def test_every_kind_is_tried_with_every_field() -> None:
    assert set(FULL) == set(KINDS)
    for kind, (written, _) in FULL.items():
        fields = {info.alias or name for name, info in KINDS[kind].model_fields.items()}
        assert fields - {"id", "date", "kind", "moment", "block", "habitat", "note", "cultivar"} <= set(written), kind


@pytest.mark.parametrize("kind", FULL)
def test_every_field_of_each_kind(kind: str) -> None:
    written, inside = FULL[kind]
    seen = one(kind, **written)
    assert seen.kind == kind
    for name, value in inside.items():
        assert getattr(seen, name) == value, name
    for name in written:
        assert getattr(seen, {"with": "with_", "in": "in_"}.get(name, name)) is not None, name


def test_a_field_left_out_is_unknown() -> None:
    seen = one("sward", height="45 cm")
    assert (seen.seed_heads, seen.cover, seen.block, seen.habitat) == (None, None, "upper", None)


def test_results_carry_their_unit() -> None:
    leaf = one("leaf-test", results={"N": "2.1 %", "K": "13 g/kg", "boron": "24 mg/kg", "Ca": "13000 ppm"}).results
    assert (leaf["N"].value, leaf["N"].unit, leaf["N"].percent, leaf["N"].ppm) == (2.1, "%", 2.1, 21_000)
    assert leaf["K"].percent == pytest.approx(1.3)
    assert (leaf["B"].value, leaf["B"].unit) == (24, "ppm")
    assert leaf["Ca"].percent == pytest.approx(1.3)
    soil = one("soil-test", results={"ph": 6.2, "P": "40 lb/acre"}).results
    assert (soil["ph"].value, soil["ph"].unit, soil["ph"].percent) == (6.2, "", None)
    assert soil["P"].value == pytest.approx(44.83, abs=0.01)  # 1 lb/acre is 1.12085 kg/ha


def test_amounts_and_rates_keep_their_kind() -> None:
    assert one("intent", practice="sulphur", rate="10 lb/acre").rate.unit == "kg/ha"
    chips = one("intent", practice="spread-ramial-chips", amount="3 m3", nitrogen="2 %")
    assert (chips.amount, chips.nitrogen) == (Amount(3.0, "m3"), Amount(0.02, "share"))


def test_dates_and_times() -> None:
    plain = one("snow", depth="10 cm")
    assert (plain.date, plain.moment) == (dt.date(2026, 5, 18), None)
    local = one("snow", depth="10 cm", date="2026-05-18T22:30")
    assert local.moment == dt.datetime(2026, 5, 18, 22, 30, tzinfo=ZONE)
    abroad = one("snow", depth="10 cm", date="2026-05-19T02:30Z")  # still the evening before in New York
    assert abroad.date == dt.date(2026, 5, 18)


def test_ids_follow_from_content_alone() -> None:
    first = one("sward", height="35 cm")
    again = one("sward", height="0.35 m", seed_heads=None)
    other = one("sward", height="36 cm")
    assert first.id == again.id != other.id
    assert first.id.startswith("sward-2026-05-18-upper-")
    assert len(first.id.rsplit("-", 1)[1]) == 4
    assert int(first.id.rsplit("-", 1)[1], 16) >= 0
    assert one("sward", height="35 cm", id="mine").id == "mine"


def test_a_number_is_accepted_for_a_stage() -> None:
    seen = one("tree-stage", stage=69)
    assert (seen.stage, seen.bbch, seen.code("apple")) == (None, 69, 69)
    assert one("tree-stage", stage="green-tip").code("plum") == 54
    assert one("tree-stage", bbch=7).code("apple") == 53
    assert one("tree-stage", open=0.3).code("apple") == 63


@pytest.mark.parametrize("field", ["stage", "bbch"])
@pytest.mark.parametrize("written", [65.0, "65.0", " 65 ", "65."])
def test_a_code_as_a_spreadsheet_writes_it_is_read(field: str, written: object) -> None:
    assert one("tree-stage", **{field: written}).bbch == 65


@pytest.mark.parametrize("written", [2019, 2019.0, "2019", "2019.0"])
def test_the_year_of_a_first_cut_is_read_however_it_is_written(written: object) -> None:
    assert one("stems", first_cut=written).first_cut == 2019


def test_water_lacking_in_the_soil_is_in_millimetres_where_no_unit_is_written() -> None:
    assert one("soil-water", depletion=30).depletion == one("soil-water", depletion="30 mm").depletion == 30.0
    assert one("soil-water", depletion="30").depletion == 30.0


def test_people_write_names_their_own_way() -> None:
    assert one("ally-count", ally="ladybird", abundance="few").ally == "lady-beetle"
    assert one("ally-count", ally="hoverfly", abundance="few").ally == "hover-fly"
    assert one("plant-bloom", plant="White Clover", open=1).plant == "white-clover"
    assert one("plant-bloom", plant="other:Moon Flower", open=1).plant == "other:moon-flower"
    assert one("wildlife-sign", who="deer").who == "deer"


REFUSED: list[tuple[dict[str, Any], str, str]] = [
    ({"kind": "sward"}, "this sward says nothing", "height, seed_heads"),
    ({"kind": "sward", "height": 35}, "observations[0].height: 35 what?", "35 cm or 14 in"),
    ({"kind": "sward", "cover": 7}, "observations[0].cover: 7 is not a share", "0 to 1"),
    ({"kind": "sward", "hieght": "35 cm"}, "observations[0].hieght: the field 'hieght' is not known", "height?"),
    ({"kind": "sward", "seed_heads": "ripening"}, "is not a word that seed_heads knows", "none, emerging, set, ripe"),
    ({"kind": "swards", "height": "35 cm"}, "'swards' is not a kind of observation", "sward"),
    ({"height": "35 cm"}, "kind is missing", "kind: sward"),
    ({"kind": "pest-count", "count": 3}, "pest is missing", "Write pest"),
    ({"kind": "pest-count", "pest": "codling-moth"}, "says nothing", "count"),
    ({"kind": "pest-count", "pest": "codling-mouth", "count": 1}, "no pest that is known", "codling-moth"),
    ({"kind": "pest-count", "pest": "codling-moth", "count": -1}, "-1 is out of place", "at least 0"),
    ({"kind": "pest-count", "pest": "codling-moth", "count": True}, "True is not a number", "plain number"),
    ({"kind": "disease-sign", "disease": "aple-scab"}, "no disease that is known", "apple-scab"),
    ({"kind": "plant-bloom", "plant": "whit-clover", "open": 1}, "no plant that is known", "white-clover"),
    ({"kind": "tree-stage", "stage": "petalfall"}, "is not a stage", "petal-fall"),
    ({"kind": "tree-stage", "bbch": 31}, "how the shoots grow", "flower or fruit"),
    ({"kind": "tree-stage", "bbch": 140}, "is not a BBCH code", "0 to 99"),
    ({"kind": "tree-stage", "bbch": 65.5}, "is not a BBCH code", "0 to 99"),
    ({"kind": "soil-water", "depletion": "30 kg"}, "is not a depth of water", "mm or in"),
    ({"kind": "fruit-sample", "starch": 9}, "9 is out of place", "1 to 8"),
    ({"kind": "fruit-sample", "firmness": 16}, "16 what?", "lbf"),
    ({"kind": "leaf-test", "results": {"N": 2.1}}, "N: 2.1 what?", "2.1 %"),
    ({"kind": "leaf-test", "results": {"Nn": "2.1 %"}}, "not a figure of a test", ""),
    ({"kind": "soil-test", "results": {"ph": 62}}, "not a pH", "6.2"),
    ({"kind": "snow", "depth": "10 cm", "date": "18.5.2026"}, "neither a date nor a time", "2026-05-18"),
    ({"kind": "snow", "depth": "10 cm", "date": "2026-02-30"}, "is not a date", "2026-05-18"),
    ({"kind": "snow", "depth": "10 cm", "habitat": "hedge"}, "both a block and a habitat", "Keep one"),
    ({"kind": "intent", "practice": "first-mow", "at": "25:00"}, "not a time of day", "06:30"),
    ({"kind": "intent", "practice": "first-mow", "rate": "full"}, "does not begin with a number", "label, half"),
    ({"kind": "intent", "practice": "frist-mow"}, "no practice that is known", "first-mow"),
    ({"kind": "stems", "first_cut": "sometime"}, "neither a year nor never", "never"),
    ({"kind": "vole-sign", "gnawing": "maybe"}, "neither true nor false", "true or false"),
    ({"kind": "intent", "practice": "first-mow", "with": "kelp"}, "with must be a list", "[kelp]"),
]


@pytest.mark.parametrize(("record", "message", "mend"), REFUSED, ids=[str(r)[:60] for r, _, _ in REFUSED])
def test_refusals_say_what_and_how_to_mend(record: dict[str, Any], message: str, mend: str) -> None:
    _, problems = read({"date": "2026-05-18", "block": "upper", **record})
    assert len(problems) == 1
    assert message in problems[0]
    assert mend in problems[0]
    assert "pydantic" not in problems[0]
    assert "http" not in problems[0]


def test_every_bad_record_is_named_and_good_ones_are_read() -> None:
    seen, problems = read("text", {"date": "2026-05-18", "kind": "snow", "depth": "1 cm"},
                          {"date": "2026-05-18", "kind": "snow", "depth": "x", "block": "a b"})
    assert len(seen) == 1
    assert [problem.split(":")[0].rsplit(", ")[-1] for problem in problems] == [
        "observations[0]", "observations[2].block", "observations[2].depth",
    ]


def test_schema_knows_every_kind() -> None:
    schema = observation.adapter().json_schema()
    assert set(schema["discriminator"]["mapping"]) == set(KINDS)


# --- CSV --------------------------------------------------------------------------------------

CSV = """date,kind,block,height,seed_heads,cover,pest,count,per,results.N,results.B,practice,with
2026-05-17,sward,upper,45 cm,none,0.9,,,,,,,
2026-05-18,pest-count,upper,,,,codling-moth,3,trap,,,,
2026-08-01,leaf-test,upper,,,,,,,2.1 %,24 ppm,,
2026-05-19,intent,upper,,,,,,,,,sulphur,kelp; fish-liquid
2026-05-20,snow
"""


def test_csv_reads_like_records() -> None:
    rows, problems = records_of_csv(CSV.removesuffix("2026-05-20,snow\n"), "seen.csv")
    assert not problems
    seen, problems = read_observations(rows.records, Document(None, "seen.csv"), (), ZONE, rows.where)
    assert not problems
    sward, count, leaf, intent = seen
    by_record = one("sward", date="2026-05-17", height="45 cm", seed_heads="none", cover=0.9)
    assert sward == by_record
    assert sward.id == by_record.id
    assert count.count == 3  # type: ignore[attr-defined]
    assert leaf.results["B"].value == 24  # type: ignore[attr-defined]
    assert intent.with_ == ("kelp", "fish-liquid")  # type: ignore[attr-defined]


def test_lists_of_a_csv_are_parted_by_semicolons() -> None:
    text = "date,kind,practice,with,plants\n2026-05-18,intent,spread-ramial-chips,,hazel; apple\n"
    rows, problems = records_of_csv(text, "meant.csv")
    (meant,), wrong = read_observations(rows.records, Document(None, "meant.csv"), (), ZONE, rows.where)
    assert problems == wrong == []
    assert meant.plants == ("hazel", "apple")


def test_csv_problems_name_row_and_column() -> None:
    bad = CSV.replace("0.9", "7").replace("3,trap", "3,trop").replace("2.1 %", "2.1")
    rows, _ = records_of_csv(bad, "seen.csv")
    _, problems = read_observations(rows.records, Document(None, "seen.csv"), (), ZONE, rows.where)
    assert [(problem.file, problem.place) for problem in problems] == [
        ("seen.csv", "row 2, column cover"), ("seen.csv", "row 3, column per"), ("seen.csv", "row 4, column results"),
        ("seen.csv", "row 6, column depth"),
    ]


def test_csv_refuses_heaps_unknown_columns_and_shifted_rows() -> None:
    _, problems = records_of_csv("date,kind,hieght\n2026-05-17,heap,\n2026-05-17,sward,35 cm,x\n", "seen.csv")
    texts = [str(problem) for problem in problems]
    assert any("hieght" in text and "Did you mean height?" in text for text in texts)
    assert any("row 2" in text and "YAML or JSON" in text for text in texts)
    assert any("row 3" in text and "4 cells under 3 columns" in text for text in texts)
    assert "kind is missing" in str(records_of_csv("date\n2026-05-17\n", "seen.csv")[1][0])
    assert "empty" in str(records_of_csv("", "seen.csv")[1][0])


def test_a_csv_without_names_of_columns_gets_one_clear_error() -> None:
    for text in ("2026-05-17,sward,u,35 cm\n2026-05-18,sward,u,36 cm\n", "date;kind;height\n2026-05-17;sward;35 cm\n"):
        rows, problems = records_of_csv(text, "seen.csv")
        assert len(problems) == 1
        assert "header" in problems[0].place
        assert not rows.records


@pytest.mark.parametrize(("record", "says"), [
    ({"kind": "sward", "height": "45 cm", "moment": "2026-05-17T06:00"}, "Write the time with the date"),
    ({"kind": "forecast", "low": "20 °C", "high": "36 °F"}, "the low (20 °C) lies above the high"),
    ({"kind": "sward", "cover": True}, "Write a number from 0 to 1"),
    ({"kind": "sward", "cover": "lots"}, "Write a number from 0 to 1"),
])  # fmt: skip
def test_what_cannot_be_meant_is_refused_with_its_mend(record: dict[str, Any], says: str) -> None:
    seen, problems = read({"date": "2026-05-17", **record})
    assert not seen
    assert len(problems) == 1
    assert says in problems[0]


def test_a_column_of_another_kind_must_be_empty() -> None:
    rows, _ = records_of_csv("date,kind,depth,height\n2026-05-17,sward,3 cm,35 cm\n", "seen.csv")
    _, problems = read_observations(rows.records, Document(None, "seen.csv"), (), ZONE, rows.where)
    assert problems[0].place == "row 2, column depth"


# --- Known words ------------------------------------------------------------------------------


def test_words_without_knowledge_and_with_a_growers_own(tmp_path: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    own = "- id: moon-flower\n  also: [moonflower]\n- {id: sun-drop, also: [sundrop]}\n"
    (tmp_path / "plants.yaml").write_text(own)
    with words.with_folders([tmp_path]):
        assert words.resolve("plant", "moonflower") == "moon-flower"
        assert words.resolve("plant", "sundrop") == "sun-drop"
        assert words.resolve("plant", "white-clover") == "white-clover"
    assert "moon-flower" not in words.known("plant")
    monkeypatch.setattr(words, "known", lambda kind: frozenset())
    assert words.resolve("plant", "anything") == "anything"
