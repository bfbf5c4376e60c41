"""The whole orchard file: every field, metric and US, YAML and JSON and the files it names; what is assumed is said."""

import copy
import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest
import yaml

from advisor import load_orchard, words
from advisor.blocks import nearest_region
from advisor.errors import InputError
from advisor.quantity import Unreadable
from advisor.reading import read_document

FULL: dict[str, Any] = {
    "orchard": {
        "name": "Larkfield", "latitude": 42.4, "longitude": -76.5, "timezone": "America/New_York", "elevation": "250 m",
        "standard": "organic", "units": "metric", "hours_per_week": {"march": 30, "Apr": 22}, "usual_snow": "60 cm",
        "tools": ["scythe", "chipper", "backpack-sprayer"], "guidance": "new-york",
    },
    "blocks": [{
        "id": "upper", "fruit": "apple", "trees": 40, "cultivars": ["Liberty", "Northern Spy"], "rootstock": "MM.111",
        "planted": 2014, "first_leaf": 2014, "spacing": "6 m x 5 m", "floor": "meadow",
        "understory": ["sterile-comfrey", "chives"], "rows": 10, "site": "moist", "lie": "slope", "use": "cider",
        "mulch": {"material": "ramial-chips", "depth": "8 cm", "trunk_gap": "20 cm"}, "soil": "loam",
        "guards": {"kind": "mesh", "height": "45 cm", "packed_with": "leaves"}, "root_depth": "90 cm",
        "irrigation": {"kind": "drip", "efficiency": 0.75, "weekly": "25 mm"}, "neglected_trees": "60 m",
        "frost_gear": {"kind": "sprinkler", "rate": "2.5 mm/h"}, "history": ["apple-scab", "voles"],
        "pollen_partner": {"cultivar": "Gala", "distance": "45 m"},
    }],
    "habitats": [{"id": "north-hedge", "kind": "hedge", "plants": ["hazel", "elder"], "area": "300 m2",
                  "distance": "20 m"}],
    "observations": [
        {"date": "2026-05-18", "kind": "sward", "block": "upper", "height": "45 cm", "seed_heads": "none"},
        {"date": "2026-05-17", "kind": "tree-stage", "block": "upper", "stage": "petal-fall"},
    ],
    "weather": [{"time": "2026-05-17T06:00", "temp_c": 12.5, "rain_mm": 0}],
    "forecast": [{"time": "2026-05-19T06:00", "temp_f": 50}],
}  # fmt: skip
LEAST = {"orchard": {"name": "Small", "latitude": 42.4}, "blocks": [{"id": "b", "fruit": "pear"}]}


def full(**changes: Any) -> dict[str, Any]:
    """The full file with changes by dotted place: full(**{"orchard.latitude": 200})."""
    data: dict[str, Any] = copy.deepcopy(FULL)
    for place, value in changes.items():
        *way, last = [int(part) if part.isdigit() else part for part in place.split(".")]
        at: Any = data
        for part in way:
            at = at[part]
        at[last] = value
    return data


def test_every_field_is_kept_in_inside_units() -> None:
    file = load_orchard(FULL)
    assert (file.orchard.elevation, file.orchard.usual_snow) == (250.0, 0.6)
    assert file.orchard.hours_per_week == {3: 30.0, 4: 22.0}
    block = file.blocks[0]
    assert block.spacing is not None
    assert (block.spacing.row, block.spacing.tree, block.ground_area) == (6.0, 5.0, 1200.0)
    assert block.mulch is not None
    assert (block.mulch.depth, block.mulch.trunk_gap) == (0.08, 0.2)
    assert block.guards is not None
    assert (block.guards.kind, block.guards.height, block.guards.packed_with) == ("mesh", 0.45, "leaves")
    assert block.irrigation is not None
    assert (block.irrigation.kind, block.irrigation.weekly) == ("drip", 25.0)
    assert block.frost_gear is not None
    assert block.frost_gear.rate == 2.5
    assert block.pollen_partner is not None
    assert (block.pollen_partner.distance, block.neglected_trees, block.root_depth) == (45.0, 60.0, 0.9)
    assert all(value is not None for name, value in block if name not in ("area", "note"))
    assert (file.habitats[0].area, file.habitats[0].distance) == (300.0, 20.0)
    assert [seen.kind for seen in file.observations] == ["tree-stage", "sward"]  # by date
    assert file.weather is not None
    assert file.forecast is not None
    assert file.weather.temp_c.tolist() == [12.5]
    assert file.forecast.temp_c[0] == pytest.approx(10)
    assert (file.block("upper"), file.place("north-hedge"), file.block("nowhere")) == (block, file.habitats[0], None)


def test_us_units_come_to_the_same() -> None:
    file = load_orchard(full(**{
        "orchard.units": "us", "orchard.usual_snow": "23.622 in", "blocks.0.spacing": "20 x 16 ft",
        "blocks.0.mulch.depth": "3 in", "habitats.0.area": "0.25 acres", "blocks.0.frost_gear.rate": "0.1 in/h",
    }))
    block = file.blocks[0]
    assert block.spacing is not None
    assert block.mulch is not None
    assert block.frost_gear is not None
    assert file.orchard.usual_snow == pytest.approx(0.6, rel=1e-4)
    assert (block.spacing.row, block.spacing.tree) == pytest.approx((6.096, 4.8768))
    assert block.mulch.depth == pytest.approx(0.0762)
    assert file.habitats[0].area == pytest.approx(1011.7, abs=0.1)
    assert block.frost_gear.rate == pytest.approx(2.54)


def test_the_least_that_will_do_leaves_everything_else_unknown() -> None:
    file = load_orchard(LEAST)
    assert all(value is None for name, value in file.blocks[0] if name not in ("id", "fruit"))
    assert (file.weather, file.forecast, file.observations, file.habitats) == (None, None, (), ())
    assert file.orchard.units == "metric"
    assert any("UTC" in note for note in file.notes)
    assert any("guidance" in note for note in file.notes)
    assert file.guidance is None


def test_short_forms() -> None:
    file = load_orchard(full(**{"blocks.0.guards": "none", "blocks.0.irrigation": "none", "blocks.0.frost_gear": "none",
                                "orchard.hours_per_week": 22}))
    block = file.blocks[0]
    assert block.guards is not None
    assert block.irrigation is not None
    assert (block.guards.kind, block.irrigation.kind) == ("none", "none")
    assert file.orchard.hours_per_week == dict.fromkeys(range(1, 13), 22.0)


@pytest.mark.parametrize(("latitude", "longitude", "region"), [
    (42.4, -76.5, "new-york"), (44.5, -73.2, "new-england"), (47.4, -120.3, "washington"), (51.3, 0.5, "uk"),
    (47.7, 9.4, "central-europe"), (-39.6, 176.8, "new-zealand"), (-37.0, 145.0, "australia"), (43.0, -81.0, "ontario"),
    (42.3, -86.0, "michigan"), (39.0, -78.0, "mid-atlantic"), (38.4, -122.8, "california"),
])  # fmt: skip
def test_the_nearest_guidance_is_taken_and_named(latitude: float, longitude: float, region: str) -> None:
    data = full(**{"orchard.latitude": latitude, "orchard.longitude": longitude})
    del data["orchard"]["guidance"]
    file = load_orchard(data)
    assert file.guidance == region
    assert any(region in note and "nearest" in note for note in file.notes)


def test_a_far_guidance_says_so() -> None:
    assert nearest_region(-33.0, -70.6)[1] > 1500  # Santiago de Chile is far from all of them
    data = full(**{"orchard.latitude": -33.0, "orchard.longitude": -70.6, "orchard.timezone": "America/Santiago"})
    del data["orchard"]["guidance"]
    assert any("far" in note for note in load_orchard(data).notes)


def test_time_zone_from_longitude_is_said() -> None:
    data = full()
    del data["orchard"]["timezone"]
    file = load_orchard(data)
    assert file.zone.utcoffset(None) == dt.timedelta(hours=-5)
    assert any("UTC-5" in note for note in file.notes)


def test_other_names_pass_and_are_listed() -> None:
    file = load_orchard(full(**{"blocks.0.history": ["other:moss rot"], "blocks.0.mulch.material": "other:cork"}))
    assert file.unknown_words == ("other:cork", "other:moss-rot")
    assert any("other:cork" in note for note in file.notes)


def test_the_same_observation_twice_counts_once() -> None:
    data = full()
    data["observations"].append(dict(data["observations"][0]))
    file = load_orchard(data)
    assert len(file.observations) == 2
    assert any("twice" in note for note in file.notes)


# --- Files ------------------------------------------------------------------------------------


def test_yaml_and_json_are_one(tmp_path: Path) -> None:
    (tmp_path / "o.yaml").write_text(yaml.safe_dump(FULL))
    (tmp_path / "o.json").write_text(json.dumps(FULL))
    by_yaml, by_json = load_orchard(tmp_path / "o.yaml"), load_orchard(str(tmp_path / "o.json"))
    by_mapping = load_orchard(FULL)
    assert by_yaml.orchard == by_json.orchard == by_mapping.orchard
    assert by_yaml.blocks == by_json.blocks == by_mapping.blocks
    assert by_yaml.observations == by_json.observations == by_mapping.observations
    assert by_yaml.given == by_json.given == by_mapping.given


OBSERVED = "date,kind,block,height,seed_heads,stage\n2026-05-18,sward,upper,45 cm,none,\n" \
           "2026-05-17,tree-stage,upper,,,petal-fall\n"


def test_observations_and_weather_from_files_beside(tmp_path: Path) -> None:
    (tmp_path / "seen.csv").write_text(OBSERVED)
    (tmp_path / "seen.yaml").write_text(yaml.safe_dump(FULL["observations"]))
    (tmp_path / "seen.json").write_text(json.dumps({"observations": FULL["observations"]}))
    (tmp_path / "weather.csv").write_text("time,temp_c\n2026-05-17T06:00,12.5\n")
    found = []
    for name in ("seen.csv", "seen.yaml", "seen.json"):
        (tmp_path / "o.yaml").write_text(yaml.safe_dump(full(observations=name, weather="weather.csv")))
        file = load_orchard(tmp_path / "o.yaml")
        assert file.weather is not None
        assert file.weather.temp_c.tolist() == [12.5]
        assert file.given["weather"].startswith("time,temp_c")
        found.append(file.observations)
    assert found[0] == found[1] == found[2] == load_orchard(FULL).observations


@pytest.mark.parametrize("name", ["/etc/passwd.csv", "../weather.csv", "sub/../../weather.csv"])
def test_files_outside_the_folder_are_not_read(tmp_path: Path, name: str) -> None:
    (tmp_path / "weather.csv").write_text("time,temp_c\n2026-05-17T06:00,12.5\n")
    (tmp_path / "inner").mkdir()
    (tmp_path / "inner" / "o.yaml").write_text(yaml.safe_dump(full(weather=name)))
    with pytest.raises(InputError, match="outside the orchard file's folder"):
        load_orchard(tmp_path / "inner" / "o.yaml")


def test_from_afar_no_file_name_is_read(tmp_path: Path) -> None:
    (tmp_path / "weather.csv").write_text("time,temp_c\n2026-05-17T06:00,12.5\n")
    data = full(weather="weather.csv")
    assert load_orchard(data, base=tmp_path).weather is not None
    with pytest.raises(InputError, match="a file name is not read here"):
        load_orchard(data, base=tmp_path, files=False)
    with pytest.raises(InputError, match="a file name is not read here"):
        load_orchard(data)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "o.yaml").write_text(yaml.safe_dump(full(weather="no.csv", observations="no.yaml")))
    with pytest.raises(InputError) as refused:
        load_orchard(tmp_path / "o.yaml")
    assert len(refused.value.problems) == 2
    assert all("no." in problem.file for problem in refused.value.problems)


# --- Known words ------------------------------------------------------------------------------


def test_ids_are_found_as_the_strict_reader_finds_them() -> None:
    root = Path(__file__).parent.parent / "knowledge"
    for kind, name in words._FILES.items():
        single = root / f"{name}.yaml"
        paths = [*([single] if single.exists() else []), *sorted((root / name).glob("*.yaml"))]
        entries = [entry for path in paths for entry in read_document(path).data or []]
        assert words.known(kind) == {entry["id"] for entry in entries}, kind
        spelled = {str(other).lower().replace(" ", "-").replace("_", "-"): entry["id"] for entry in entries
                   for other in ([entry["also"]] if isinstance(entry.get("also"), str) else entry.get("also") or [])}
        assert set(words.aliases(kind)) == set(spelled) - words.known(kind), kind


def test_every_tool_that_a_practice_needs_may_be_owned() -> None:
    root = Path(__file__).parent.parent / "knowledge"
    paths = [*root.glob("practices.yaml"), *root.glob("practices/*.yaml")]
    needed = {tool for path in paths for entry in read_document(path).data for tool in entry.get("tools") or []}
    assert "scythe" in needed
    assert needed - words.known("tool") == set()


PRACTICES = """
first-mow mow-alleys mow-every-other-alley autumn-mow mow-bloom-before-spray clear-tree-ring shred-leaves
gather-leaves leave-stems shorten-stems leave-margin mow-margin leave-tall cut-to-ground keep-strip-bare wet-the-soil
sow-clover plant-understory plant-hedge sow-flower-strip remove-host-plant cut-back-hedge put-up-nest-boxes
set-out-mason-bees bring-hives shelter-for-earwigs plant-pollinizer graft-pollinizer plant-trees spread-ramial-chips
lay-hay-ring draw-mulch-back spread-compost spread-manure dig-in-chips mix-heap cultivate hold-nitrogen feed-nitrogen
lime gypsum test-soil test-leaves irrigate dormant-prune summer-prune cut-out-blight cut-out-canker cut-out-knots
cut-out-mildew cut-out-dead-wood remove-mummies remove-rust-galls guard-trunks prop-limbs thin-blossom hand-thin
pick-up-drops bag-fruit sample-fruit pick store ripen-indoors chill-fruit count-buds count-bees plant-tea
calcium-spray biology-spray sulphur lime-sulphur copper oil kaolin bicarbonate soap microbial-spray mating-disruption
protect-bloom insecticide scout hang-traps check-cankers apple-slice-check frost-watch frost-protect squash-colonies
hose-off dig-out-borers scrub-trunks spare-allies release-allies lay-dust call-helpers remove-suckers train-limbs
stake-trees whitewash-trunks net-fruit fence-out-deer trap-voles graze
"""
MATERIALS = """
ramial-chips wood-chips sawdust bark straw hay dry-leaves grass-clippings meadow-cut comfrey-leaf nettle-leaf compost
farmyard-manure poultry-manure horse-manure seaweed urea lawn-feed wettable-sulphur lime-sulphur copper dormant-oil
summer-oil neem fish-liquid kelp whey soap kaolin potassium-bicarbonate calcium-chloride table-salt vegetable-oil
spinosad pyrethrin bacillus-thuringiensis granulosis-virus biological-blossom-protectant soil-systemic trunk-drench
"""
TROUBLES = """
apple-scab pear-scab fire-blight cedar-apple-rust quince-rust powdery-mildew sooty-blotch-flyspeck bitter-rot
black-rot brown-rot peach-leaf-curl cherry-leaf-spot black-knot apple-canker bacterial-canker silver-leaf eutypa
pear-rust bacterial-spot white-rot plum-pockets shot-hole cherry-fruit-fly codling-moth oriental-fruit-moth
plum-curculio apple-maggot apple-sawfly tarnished-plant-bug green-apple-aphid rosy-apple-aphid apple-grass-aphid
woolly-apple-aphid european-red-mite pear-psylla san-jose-scale leafroller peachtree-borer roundheaded-borer
cytospora-canker spotted-wing-drosophila stink-bug caterpillars voles
"""
ALLIES = """
earwig lacewing lady-beetle hover-fly predatory-mite aphelinus-wasp ground-beetle spider bumble-bee mason-bee
honey-bee
"""
PLANTS = """
juniper eastern-redcedar bramble white-clover ribwort-plantain common-comfrey sterile-comfrey chives hazel elder apple
pear quince peach nectarine apricot plum sweet-cherry tart-cherry
"""
HABITATS = "hedge flower-strip meadow stem-bed tussock-bank wood-edge pond nest-boxes"


@pytest.mark.parametrize(("kind", "listed"), [
    ("practice", PRACTICES), ("material", MATERIALS), ("trouble", TROUBLES), ("ally", ALLIES), ("plant", PLANTS),
    ("habitat", HABITATS),
])  # fmt: skip
def test_the_words_that_growers_use_are_known(kind: str, listed: str) -> None:
    assert set(listed.split()) - words.known(kind) == set()


def test_of_two_names_for_one_thing_only_one_is_offered() -> None:
    for kind, word, offered in (("ally", "ladybrid", "ladybird"), ("plant", "junipr", "juniper")):
        with pytest.raises(Unreadable) as refused:
            words.resolve(kind, word)
        names = refused.value.mend.partition("Did you mean ")[2].partition("?")[0].split(" or ")
        assert names[0] == offered
        assert len({words.resolve(kind, name) for name in names}) == len(names)


def test_other_names_that_growers_use() -> None:
    assert words.resolve("ally", "ladybird") == "lady-beetle"
    assert words.resolve("ally", "hoverfly") == "hover-fly"
    assert words.resolve("material", "pyrethrins") == "pyrethrin"
