"""Leaf and soil tests against published ranges, nitrogen, lime and gypsum, what a crop takes away, calcium on fruit.

Leaf figures in percent (N, P, K, Ca, Mg) or mg/kg (B, Zn, Mn, Cu, Fe) of dry leaf, from mid-shoot leaves in the last
two weeks of July (late January south of the equator). Areas in m2, masses in kg, rates in kg/ha or t/ha as named.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from advisor.science._numbers import Number, number, plain, where_known

Range = tuple[float, float]
T_HA_PER_SHORT_TON_ACRE = 2.2417
KG_HA_PER_LB_ACRE = 1.1209

# --- Leaf ranges ------------------------------------------------------------------------------------------------------
# Washington State University, Target Leaf Nutrient Ranges for Tree Fruit, table 4. Its sulphur row is left out: as
# printed (0.01 to 0.10 %) it lies far below what other tables give.
_WASHINGTON: dict[str, dict[str, Range]] = {
    "apple": {"N": (1.7, 2.5), "P": (0.15, 0.30), "K": (1.2, 1.9), "Ca": (1.5, 2.0), "Mg": (0.25, 0.35),
              "B": (20, 60), "Zn": (15, 200), "Mn": (25, 150), "Cu": (5, 12), "Fe": (60, 120)},
    "pear": {"N": (1.8, 2.6), "P": (0.12, 0.25), "K": (1.0, 2.0), "Ca": (1.0, 3.7), "Mg": (0.25, 0.90),
             "B": (20, 60), "Zn": (20, 60), "Mn": (20, 170), "Cu": (6, 20), "Fe": (100, 800)},
    "sweet-cherry": {"N": (2.00, 3.03)},
    "peach": {"N": (2.7, 3.5)},
    "apricot": {"N": (2.4, 3.3)},
}  # fmt: skip
# Ontario ministry of agriculture, apple nutrient sufficiency range: McIntosh and others, then Delicious and Crispin.
_ONTARIO: dict[str, Range] = {
    "N": (2.0, 2.5), "P": (0.15, 0.40), "K": (1.2, 2.0), "Ca": (0.8, 1.5), "Mg": (0.25, 0.40),
    "B": (20, 60), "Zn": (15, 100), "Mn": (20, 200), "Fe": (25, 200),
}  # fmt: skip
_ONTARIO_DELICIOUS: dict[str, Range] = {**_ONTARIO, "N": (2.2, 2.7), "K": (1.4, 2.2)}
# Michigan State University, leaf analysis sheet E-852; its lower nitrogen row is for McIntosh and Golden Delicious.
_MICHIGAN: dict[str, Range] = {
    "N": (1.9, 2.7), "P": (0.15, 0.30), "K": (1.3, 1.9), "Ca": (1.2, 2.0), "Mg": (0.3, 0.6),
    "B": (25, 50), "Zn": (20, 50), "Mn": (30, 100), "Cu": (10, 20), "Fe": (60, 250),
}  # fmt: skip
_MICHIGAN_LOW_N: Range = (1.7, 2.4)
# Nitrogen only: Maryland and Pennsylvania; British Columbia (British Columbia Tree Fruit Production Guide).
_N_ONLY: dict[str, Range] = {"mid-atlantic": (1.8, 2.8), "british-columbia": (1.9, 2.3)}
# Other Michigan nitrogen ranges that the British Columbia guide prints: kept, not used as the default.
MICHIGAN_N_ALSO: tuple[Range, Range] = ((2.0, 2.6), (1.8, 2.4))

LEAF_TABLES = ("washington", "ontario", "michigan", "mid-atlantic", "british-columbia")
# Which table serves where, nearest first; others read Washington, the only one for every fruit.
NEAREST_TABLE: dict[str, str] = {
    "new-york": "michigan", "new-england": "ontario", "michigan": "michigan", "ontario": "ontario",
    "mid-atlantic": "mid-atlantic",
}  # fmt: skip
WANTS_MORE_N = ("m9", "m26")


def leaf_range(
    fruit: str,
    nutrient: str,
    region: str = "washington",
    cultivar: str | None = None,
    rootstock: str | None = None,
    bearing: bool = True,
) -> Range | None:
    """Wanted range of a nutrient in the leaf, least and most, or None where none is published for the fruit.

    region: a leaf table (`LEAF_TABLES`) or a region of `NEAREST_TABLE`; a region without a row for this fruit and
    nutrient reads Washington's. Ontario asks 0.2 % more nitrogen of trees not yet bearing and on M.9 or M.26.
    """
    table = NEAREST_TABLE.get(region, region if region in LEAF_TABLES else "washington")
    name, stock = (cultivar or "").lower(), (rootstock or "").lower().replace(".", "").replace(" ", "")
    row: Range | None = None
    if fruit == "apple" and table == "ontario":
        delicious = name in ("delicious", "red delicious", "crispin", "mutsu")
        row = (_ONTARIO_DELICIOUS if delicious else _ONTARIO).get(nutrient)
        if row and nutrient == "N" and (not bearing or stock in WANTS_MORE_N):
            row = (round(row[0] + 0.2, 2), round(row[1] + 0.2, 2))
    elif fruit == "apple" and table == "michigan":
        low_n = nutrient == "N" and bearing and name in ("mcintosh", "golden delicious")
        row = _MICHIGAN_LOW_N if low_n else _MICHIGAN.get(nutrient)
    elif fruit == "apple" and nutrient == "N":
        row = _N_ONLY.get(table)
    return row or _WASHINGTON.get(fruit, {}).get(nutrient)


def leaf_table(fruit: str, nutrient: str, region: str) -> str:
    """The table that `leaf_range` reads for a region, for naming it beside the range."""
    table = NEAREST_TABLE.get(region, region if region in LEAF_TABLES else "washington")
    holds = {"ontario": nutrient in _ONTARIO, "michigan": nutrient in _MICHIGAN}.get(table, nutrient == "N")
    return table if fruit == "apple" and holds and table != "washington" else "washington"


def against(value: float, wanted: Range | None) -> str | None:
    """"low", "enough" or "high" (both ends count as enough); None where there is no range or the value is NaN."""
    found = float(number(value, "test result", 0))
    if wanted is None or np.isnan(found):
        return None
    return "low" if found < wanted[0] else "high" if found > wanted[1] else "enough"


def nitrogen_change(leaf_n_pct: Any, low: Any, high: Any) -> Number:
    """Change of the nitrogen rate as a share: 0.2 is raise by 20 %, -0.3 cut by 30 %, 0 within the range.

    Ten percent for each 0.1 % of leaf nitrogen under `low` or over `high` (Michigan State University, E-852), and
    never a cut of more than the whole rate. ValueError: `low` above `high`.
    """
    leaf = number(leaf_n_pct, "leaf nitrogen", 0, 100)
    least, most = number(low, "low end", 0, 100), number(high, "high end", 0, 100)
    if np.any(least > most):
        raise ValueError("The low end of the range lies above the high end.")
    change = np.where(leaf < least, least - leaf, np.where(leaf > most, most - leaf, 0.0 * leaf))
    return plain(np.round(np.maximum(change + 0.0 * (least + most), -1.0), 10))


# --- Shoots and trunk as gauges of nitrogen ---------------------------------------------------------------------------
# Wanted length of the season's shoots on apple, cm, by (source, tree).
SHOOTS_CM: dict[tuple[str, str], Range] = {
    ("tennessee", "non-bearing"): (38.1, 76.2),  # 15 to 30 in, University of Tennessee
    ("tennessee", "bearing"): (30.5, 35.6),  # 12 to 14 in, mature, not spur type
    ("tennessee", "spur"): (15.2, 25.4),  # 6 to 10 in, spur type
    ("michigan", "non-bearing"): (30.5, 61.0),  # 12 to 24 in, Michigan State University E-852
    ("michigan", "bearing"): (20.3, 30.5),  # 8 to 12 in
    ("home", "non-bearing"): (30.5, 66.0),  # 12 to 26 in, a home guide read second-hand
    ("home", "bearing"): (15.2, 45.7),  # 6 to 18 in
}
# Other fruit when bearing, from memory.
SHOOTS_MEMORY_CM: dict[str, Range] = {
    "pear": (30, 45), "quince": (25, 45), "peach": (45, 60), "nectarine": (45, 60), "apricot": (30, 60),
    "plum": (25, 45), "sweet-cherry": (25, 45), "tart-cherry": (25, 45),
}  # fmt: skip


def shoot_range(fruit: str, bearing: bool = True, spur: bool = False, source: str = "michigan") -> Range | None:
    """Wanted length of the season's shoots, cm. Apple published; other bearing fruit from memory; young ones None."""
    if fruit != "apple":
        return SHOOTS_MEMORY_CM.get(fruit) if bearing else None
    if bearing and spur:
        return SHOOTS_CM[("tennessee", "spur")]
    return SHOOTS_CM.get((source, "bearing" if bearing else "non-bearing"))


def nitrogen_by_trunk(diameter_cm: Any) -> Number:
    """Nitrogen for one apple tree, g: 0.1 lb an inch of trunk a foot up, 17.9 g/cm (University of Tennessee).

    Given 4 to 6 weeks before bud swell; the rate is held from year 8 to 10, so do not read it for older trunks.
    """
    return plain(number(diameter_cm, "trunk diameter", 0) * (0.1 * 453.592 / 2.54))


# --- Soil tests -------------------------------------------------------------------------------------------------------
# Low below, optimal from and to, excessive above (Washington State University EM119E, table 1). P Olsen, K, B, S, Zn
# (DTPA), Cu, Mn in ppm; Ca, Mg in meq/100 g.
SOIL: dict[str, tuple[float | None, float, float, float | None]] = {
    "ph": (5.0, 6.0, 7.5, 8.0),
    "P": (10, 15, 40, 50),
    "K": (120, 150, 250, 300),
    "Ca": (3.0, 4.1, 20, None),
    "Mg": (0.5, 0.5, 2.5, 2.5),
    "B": (1.0, 1.0, 1.5, 1.5),
    "S": (4, 9, 20, 20),
    "Zn": (0.25, 0.6, 1.0, None),
    "Cu": (0.1, 0.6, 1.0, 20),
    "Mn": (None, 1, 5, 50),
}
PH_EASY = (6.2, 7.0)  # Fruit Growers Victoria
PH_GOAL = 6.5  # Tree Fruit, July 2022
ORGANIC_MATTER_PCT = (3.0, 5.0)  # wanted on loams, from memory


def soil_status(test: str, value: float) -> str | None:
    """"low", "below", "optimal", "above" or "excessive"; None for a test without a published row, or NaN."""
    row = SOIL.get(test)
    found = float(number(value, "test result", 0))
    if row is None or np.isnan(found):
        return None
    low, first, last, excessive = row
    if first <= found <= last:
        return "optimal"
    if found < first:
        return "low" if low is not None and found < low else "below"
    return "excessive" if excessive is not None and found > excessive else "above"


# --- Lime and gypsum --------------------------------------------------------------------------------------------------
def soil_acidity(buffer_ph: Any) -> Number:
    """Acidity from the buffer pH, meq/100 cm3: (6.6 - buffer pH) x 4 (North Carolina)."""
    return plain(np.maximum((6.6 - number(buffer_ph, "buffer pH", 0, 14)) * 4, 0))


def lime(ph: Any, target: Any, acidity: Any, credit: Any = 0) -> Number | None:
    """Lime, short tons an acre: acidity x (target - pH) / (6.6 - pH) - credit, 0 at least (North Carolina).

    The department's page works pH 5.0 to 6.0 at acidity 1.2 with the rounded factor 0.625 and prints 0.76; the exact
    product is 0.75. Soil of pH 6.6 or above lies outside the rule: None (NaN in arrays). For t/ha multiply by 2.2417.
    """
    now, goal = number(ph, "pH", 0, 14), number(target, "target pH", 0, 14)
    sour = now < 6.6
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = number(acidity, "acidity", 0) * (goal - now) / (6.6 - now) - number(credit, "credit", 0)
    return where_known(np.where(sour | np.isnan(now), np.maximum(rate, 0), 0.0), sour)


def lime_credit(tons_acre: Any, months: Any, organic: bool = False) -> Number:
    """What still counts of lime spread some months ago: 8 % less a month, 16 % on organic soils (North Carolina)."""
    left = 1 - (0.16 if organic else 0.08) * number(months, "months", 0)
    return plain(number(tons_acre, "lime", 0) * np.maximum(left, 0))


def lime_by_buffering(ph: Any, target: Any, buffering: Any) -> Number:
    """Lime, t/ha: (target - pH) x buffering number, 8 for heavy clay (a classroom rule); 0 where pH is high enough."""
    rise = number(target, "target pH", 0, 14) - number(ph, "pH", 0, 14)
    return plain(np.maximum(rise, 0) * number(buffering, "buffering number", 0))


def lime_as_sold(rate: Any, neutralising_pct: Any) -> Number:
    """A rate of pure lime as the product sold: rate / (neutralising value / 100), from memory."""
    value = number(neutralising_pct, "neutralising value")
    if np.any(value <= 0):
        raise ValueError("A lime needs a neutralising value above 0.")
    return plain(number(rate, "rate", 0) / (value / 100))


GYPSUM_T_HA = 3 * T_HA_PER_SHORT_TON_ACRE  # of band under the trees, orchards clearly low in Ca (Virginia Tech 2024)


def gypsum(band_m2: Any) -> Number:
    """Gypsum for the band under the trees, kg: 6.7 t/ha of band where calcium is clearly low; may take two years."""
    return plain(number(band_m2, "band", 0) / 10_000 * GYPSUM_T_HA * 1000)


# --- What a crop takes away -------------------------------------------------------------------------------------------
# kg of nutrient in a tonne of fruit, least and most (Washington State University EM119E, table 2, lb a short ton
# halved); one printed value stands for both ends.
REMOVAL_KG_T: dict[str, dict[str, Range]] = {
    "apple": {"N": (0.45, 1.05), "P": (0.10, 0.20), "K": (1.00, 1.95), "Ca": (0.05, 0.15), "Mg": (0.05, 0.10)},
    "green-apple": {"N": (1.55, 1.55), "P": (0.20, 0.20), "K": (1.70, 1.70)},
    "pear": {"N": (0.65, 1.35), "P": (0.30, 0.30), "K": (1.50, 1.50)},
    "cherry": {"N": (0.95, 2.50), "P": (0.25, 0.45), "K": (1.45, 3.15), "Ca": (0.15, 0.20), "Mg": (0.10, 0.20)},
    "peach": {"N": (2.25, 6.0), "P": (0.60, 0.60), "K": (4.05, 4.05)},
    "apricot": {"N": (4.15, 5.5), "P": (0.65, 0.65), "K": (3.30, 3.30)},
}
_REMOVAL_ROW = {"sweet-cherry": "cherry", "tart-cherry": "cherry", "nectarine": "peach"}
# A whole season of close-planted Gala on M.26 bearing 51.8 t/ha, lb an acre (Cheng).
GALA_NEED_LB_ACRE = {
    "N": 50, "P": 8.5, "K": 90, "Ca": 36, "Mg": 11, "S": 4.0, "B": 0.23, "Zn": 0.15, "Cu": 0.12, "Mn": 0.46, "Fe": 0.37,
}  # fmt: skip


def removal(fruit: str, nutrient: str, crop_t: Any) -> tuple[Number, Number] | None:
    """What a crop takes away, kg, least and most, or None where none is published for the fruit."""
    row = REMOVAL_KG_T.get(_REMOVAL_ROW.get(fruit, fruit), {}).get(nutrient)
    if row is None:
        return None
    crop = number(crop_t, "crop", 0)
    return plain(crop * row[0]), plain(crop * row[1])


COMPOST_RELEASE = (0.05, 0.1)  # share of compost nitrogen freed in the first year (University of California, after Hartz)


def compost_nitrogen(wet_kg: Any, nitrogen_pct: Any, moisture_pct: Any) -> tuple[Number, Number]:
    """Nitrogen that compost frees in its first year, kg, least and most (5 to 10 % of what it holds, after Hartz)."""
    dry = number(wet_kg, "compost", 0) * (1 - number(moisture_pct, "moisture", 0, 100) / 100)
    held = dry * number(nitrogen_pct, "nitrogen", 0, 100) / 100
    return plain(held * COMPOST_RELEASE[0]), plain(held * COMPOST_RELEASE[1])


# Part of the organic nitrogen of manure that comes free in the year of spreading: by animal, of manure with less than
# 18 % dry matter, and of drier manure; then in the two years after (Cornell University, manure nitrogen, release rates).
MANURE_RELEASE: Mapping[str, tuple[float, float]] = {
    "cow": (0.35, 0.25), "poultry": (0.55, 0.55), "horse": (0.30, 0.25), "sheep": (0.35, 0.25), "swine": (0.35, 0.25),
}
MANURE_DRY_FROM_PCT = 18.0
MANURE_LATER = (0.12, 0.05)


def manure_nitrogen(wet_kg: Any, nitrogen_pct: Any, moisture_pct: Any, animal: str, years_ago: int = 0) -> Number:
    """Nitrogen that manure frees in the year of spreading or in the first or second year after it, kg; later 0.

    nitrogen_pct of the dry matter, all of it counted as organic: what is ammonia is lost from the surface for the most
    part. Raises ValueError for an animal that the table does not hold.
    """
    if animal not in MANURE_RELEASE:
        raise ValueError(f"No release rate is held for {animal!r}; there are {', '.join(MANURE_RELEASE)}.")
    moisture = number(moisture_pct, "moisture", 0, 100)
    held = number(wet_kg, "manure", 0) * (1 - moisture / 100) * number(nitrogen_pct, "nitrogen", 0, 100) / 100
    if years_ago > len(MANURE_LATER):
        return plain(held * 0.0)
    wetter, drier = MANURE_RELEASE[animal]
    now = np.where(100 - moisture < MANURE_DRY_FROM_PCT, wetter, drier)
    return plain(held * (now if years_ago == 0 else MANURE_LATER[years_ago - 1]))


# --- Calcium on fruit -------------------------------------------------------------------------------------------------
CA_IN_CACL2 = 40.078 / 110.98
FLAKE_PURITY = 0.78  # "78 percent calcium" is printed; the same page's arithmetic shows that 78 % CaCl2 is meant
# What a season's calcium does, lb Ca an acre from which each begins (Crassweller; Penn State).
CALCIUM_SCALE_LB_ACRE: tuple[tuple[float, str], ...] = (
    (4, "lowest, some control"),
    (6, "good"),
    (9, "excellent, for pit-prone kinds"),
    (12, "highest, may help storage"),
)
CALCIUM_SEASON_LB_ACRE = (4.0, 14.0)  # 15 to 50 lb of calcium chloride (Virginia Tech; Washington State)
CALCIUM_HOTTEST_C = 29.4  # not above 85 F (Virginia Tech)
# Spray programmes: sprays least and most, days between, first spray in days after petal fall (None: a date of its own).
CALCIUM_PROGRAMMES: Mapping[str, dict[str, Any]] = {
    "washington": {"sprays": (6, 12), "first_day": None, "when": "early June to late August",
                   "lb_acre": (2.0, 4.0)},
    "eastern": {"sprays": (5, 6), "first_day": (7, 10), "every_days": 14,
                "when": "3 or 4 from 7 to 10 days after petal fall, then four and two weeks before harvest",
                "lb_100_gal": ((1.0, 2.0), (3.0, 4.0)), "gal_acre": 300},
    "new-england": {"sprays": (6, 12), "first_day": (21, 21), "every_days": 14,
                    "when": "from 3 weeks after petal fall, every 2 weeks", "lb_100_gal": ((2.0, 2.7), (2.7, 3.3))},
}  # fmt: skip
CALCIUM_CAUTIONS = (
    "Follow the label: it burns leaves in heat, and above 29 C or in slow drying it is not sprayed.",
    "No calcium nitrate on Delicious or York Imperial.",
    "Short of boron, calcium moves slowly: look at the leaf test first.",
    "Rinse sprayer and metal well; calcium chloride rusts them.",
)


def calcium_in(chloride: Any, purity: Any = FLAKE_PURITY) -> Number:
    """Calcium in a mass of calcium chloride, in the unit of the mass; purity of the flake as a share."""
    return plain(number(chloride, "calcium chloride", 0) * number(purity, "purity", 0, 1) * CA_IN_CACL2)


def chloride_for(calcium: Any, purity: Any = FLAKE_PURITY) -> Number:
    """Calcium chloride that holds a mass of calcium, in the unit of the mass."""
    pure = number(purity, "purity", 0, 1)
    if np.any(pure <= 0):
        raise ValueError("Calcium chloride needs a purity above 0.")
    return plain(number(calcium, "calcium", 0) / (pure * CA_IN_CACL2))


def calcium_worth(calcium_kg_ha: float) -> str | None:
    """What a season's calcium on fruit does; None below 4.5 kg/ha, above 15.7 kg/ha (beyond the scale), or for NaN."""
    pounds = float(number(calcium_kg_ha, "calcium", 0)) / KG_HA_PER_LB_ACRE
    low, high = CALCIUM_SEASON_LB_ACRE
    # Half a percent of give, so that a rate converted from whole pounds keeps its class.
    if np.isnan(pounds) or pounds < low * 0.995 or pounds > high * 1.005:
        return None
    return [words for start, words in CALCIUM_SCALE_LB_ACRE if pounds >= start * 0.995][-1]


def calcium_programme(goal_kg_ha: float, area_m2: float, sprays: int, purity: float = FLAKE_PURITY) -> dict[str, float]:
    """A season's calcium split evenly: calcium chloride `total_kg`, `each_kg`, and `each_kg_ha` of each spray.

    Never more than the label allows: the caller shows the label's rate beside `each_kg_ha`.
    """
    if sprays < 1:
        raise ValueError("A programme needs at least one spray.")
    per_hectare = float(np.asarray(chloride_for(goal_kg_ha, purity)))
    total = per_hectare * float(number(area_m2, "area", 0)) / 10_000
    return {"total_kg": total, "each_kg": total / sprays, "each_kg_ha": per_hectare / sprays}
