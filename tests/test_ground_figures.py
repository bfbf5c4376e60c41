"""Figures that rules compare with say the same as the tables that the science computes with."""

from importlib.resources import files

import pytest

from advisor.reading import parse_yaml
from advisor.science import labour, maturity, mulch, nutrition, plant_tea, pruning, ramial, sward, thinning

NAMES = ("ground", "labour", "nutrition", "thinning", "harvest", "pruning")


def _figures():
    found = {}
    for name in NAMES:
        text = (files("advisor.knowledge") / "figures" / f"{name}.yaml").read_text(encoding="utf-8")
        for figure in parse_yaml(text, name).data:
            assert figure["id"] not in found, figure["id"]
            found[figure["id"]] = figure
    return found


FIGURES = _figures()


@pytest.mark.parametrize(
    ("figure", "table"),
    [
        ("cn.sward-leafy-least", sward.SEED_HEAD_CN["none"][0]),
        ("cn.sward-leafy-most", sward.SEED_HEAD_CN["none"][2]),
        ("cn.sward-headed", sward.SEED_HEAD_CN["emerging"][1]),
        ("cn.sward-set", sward.SEED_HEAD_CN["set"][1]),
        ("cn.sward-ripe", sward.SEED_HEAD_CN["ripe"][1]),
        ("cn.release-below", sward.RELEASE_BELOW),
        ("cn.tie-up-above", sward.TIE_UP_ABOVE),
        ("hay.meadow-yield-least", sward.HAY_YIELD["meadow-grazed"][0]),
        ("hay.meadow-yield-most", sward.HAY_YIELD["meadow"][1]),
        ("hay.sward-per-mulch-least", 40 / 5),  # loose hay of 40 to 80 kg/m3 (from memory), a sward of 5 t/ha
        ("hay.sward-per-mulch-most", 80 / 5),
        ("ramial.diameter-most", ramial.DIAMETER_MOST_CM),
        ("ramial.conifer-share-most", ramial.CONIFER_SHARE[0]),
        ("ramial.conifer-share-limit", ramial.CONIFER_SHARE[1]),
        ("ramial.cn-least", ramial.CN[0]),
        ("ramial.cn-most", ramial.CN[1]),
        ("ramial.first-dose-least", ramial.FIRST_DOSE_M3_HA[0]),
        ("ramial.first-dose-most", ramial.FIRST_DOSE_M3_HA[1]),
        ("ramial.density", ramial.DENSITY_KG_M3),
        ("ramial.prunings-least", mulch.PRUNINGS_M3_HA[0]),
        ("ramial.prunings-most", mulch.PRUNINGS_M3_HA[1]),
        ("ramial.hedge-least", mulch.HEDGE_M3_KM[0]),
        ("ramial.hedge-most", mulch.HEDGE_M3_KM[1]),
        ("plant-tea.parts-water", plant_tea.RECIPES["comfrey"].water_parts),
        ("plant-tea.parts-water-leaf", plant_tea.LEAF_WATER_PARTS[0]),
        ("soil.ph-low", nutrition.SOIL["ph"][1]),
        ("soil.ph-very-low", nutrition.SOIL["ph"][0]),
        ("soil.ph-high", nutrition.SOIL["ph"][2]),
        ("soil.ph-goal", nutrition.PH_GOAL),
        ("soil.phosphorus-low", nutrition.SOIL["P"][0]),
        ("soil.potassium-low", nutrition.SOIL["K"][0]),
        ("soil.calcium-low", nutrition.SOIL["Ca"][0]),
        ("soil.magnesium-low", nutrition.SOIL["Mg"][0]),
        ("soil.boron-low", nutrition.SOIL["B"][0]),
        ("soil.organic-matter-least", nutrition.ORGANIC_MATTER_PCT[0]),
        ("gypsum.band-rate", nutrition.GYPSUM_T_HA),
        ("shoots.bearing-least", nutrition.SHOOTS_CM["michigan", "bearing"][0]),
        ("shoots.bearing-most", nutrition.SHOOTS_CM["michigan", "bearing"][1]),
        ("shoots.young-least", nutrition.SHOOTS_CM["michigan", "non-bearing"][0]),
        ("shoots.young-most", nutrition.SHOOTS_CM["michigan", "non-bearing"][1]),
        ("nitrogen.by-trunk", nutrition.nitrogen_by_trunk(1)),
        ("nitrogen.change-per-tenth", nutrition.nitrogen_change(1.9, 2.0, 2.5)),
        ("compost.release-least", nutrition.COMPOST_RELEASE[0]),
        ("compost.release-most", nutrition.COMPOST_RELEASE[1]),
        ("calcium-spray.hottest", nutrition.CALCIUM_HOTTEST_C),
        ("calcium-spray.season-least", nutrition.CALCIUM_SEASON_LB_ACRE[0] * nutrition.KG_HA_PER_LB_ACRE),
        ("calcium-spray.season-most", nutrition.CALCIUM_SEASON_LB_ACRE[1] * nutrition.KG_HA_PER_LB_ACRE),
        ("thinning.load-biennial", thinning.LOAD["biennial"]),
        ("thinning.load-annual", thinning.LOAD["annual"]),
        ("thinning.load-last-leaf", thinning.LOAD_LEAVES[1]),
        ("thinning.apple-spacing", thinning.SPACING["apple"].low_cm),
        ("thinning.pear-spacing", thinning.SPACING["pear"].low_cm),
        ("thinning.peach-spacing", thinning.SPACING["peach"].low_cm),
        ("thinning.plum-spacing", thinning.SPACING["plum"].low_cm),
        ("thinning.japanese-plum-spacing", thinning.SPACING["japanese-plum"].low_cm),
        ("thinning.apricot-spacing", thinning.SPACING["apricot"].low_cm),
        ("thinning.return-bloom-sure-days", thinning.RETURN_BLOOM_DAYS[0]),
        ("thinning.return-bloom-days", thinning.RETURN_BLOOM_DAYS[1]),
        ("thinning.closes-days", thinning.SIZE_DAYS),
        ("june-drop.opens-weeks", thinning.JUNE_DROP_WEEKS[0]),
        ("june-drop.closes-weeks", thinning.JUNE_DROP_WEEKS[1]),
        ("harvest.firmness-long", maturity.LONG_STORE_LEAST_LBF),
        ("harvest.sample-fruit", maturity.SAMPLE_FRUIT),
        ("harvest.soluble-solids-red-delicious", maturity.RED_DELICIOUS_KEEPS_SOLIDS),
        ("harvest.pear-bartlett-least", maturity.PEARS["bartlett"][0][0]),
        ("harvest.pear-bartlett-most", maturity.PEARS["bartlett"][0][1]),
        ("harvest.pear-anjou-least", maturity.PEARS["anjou"][0][0]),
        ("harvest.pear-anjou-most", maturity.PEARS["anjou"][0][1]),
        ("harvest.pear-bosc-least", maturity.PEARS["bosc"][0][0]),
        ("harvest.pear-bosc-most", maturity.PEARS["bosc"][0][1]),
        ("harvest.pear-asian-least", maturity.PEARS["asian"][0][0]),
        ("harvest.pear-asian-most", maturity.PEARS["asian"][0][1]),
        ("pruning.share-most", pruning.SHARE_MOST),
        ("pruning.share-old", pruning.SHARE_OLD[1]),
        ("dormant-prune.opens", 97),  # leaf fall to bud burst (Royal Horticultural Society)
        ("dormant-prune.closes", 53),
        ("stone-prune.opens", 75),  # in summer, against silver leaf (Royal Horticultural Society)
        ("stone-prune.closes", 91),
        ("peach-prune.opens", 54),  # near bloom, when live buds show (common practice, no source)
        ("peach-prune.closes", 69),
        ("cut-out-blight.below-least", 25),  # cm in growth, 25 to 30; dormant from 15 (Upham, Kansas State; Illinois)
        ("cut-out-blight.below-most", 30),
        ("cut-out-blight.below-winter", 15),
        ("labour.fifth", labour.FIFTH_SHARE),
        ("labour.brush-share", 1 / 3),  # of pruning time (Woodworth and Potter 1931)
        ("labour.own-rate-records", labour.OWN_RECORDS),
        ("labour.harvest-share-most", labour.SWISS_SHARES["harvest"]),
        ("labour.spray-share-least", labour.SWISS_SHARES["pests and disease"]),
    ],
)
def test_figure_and_table_agree(figure, table):
    (row,) = (row for row in FIGURES[figure]["rows"] if row["region"] == FIGURES[figure]["default"])
    assert row["value"] == pytest.approx(table, rel=0.03)


def test_ranges_run_upwards():
    for name, figure in FIGURES.items():
        if name.endswith("-least") and (upper := FIGURES.get(name.removesuffix("least") + "most")):
            assert figure["rows"][0]["value"] < upper["rows"][0]["value"], name
            assert figure["unit"] == upper["unit"], name


def test_published_rows_name_a_source_and_others_do_not_pretend():
    for name, figure in FIGURES.items():
        for row in figure["rows"]:
            assert row["evidence"] in ("published", "common-practice", "from-memory"), name
            assert ("source" in row) or row["evidence"] != "published", name
