"""Second opinion on a set of plants to add: reads the knowledge files itself, and shares no code with the choice.

faults    everything that is wrong with one choice of a record; empty where it is sound
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

import yaml

SEASON = range(-5, 23)  # weeks from apple full bloom: April to mid October at 42 degrees (Minnesota guidance)
PARTS = {"early": range(-5, 5), "mid": range(5, 14), "late": range(14, 23)}
KINDS_WANTED = 3  # Minnesota and Maryland guidance, in each part
PLACES = {
    "new-york": {"north-america", "eastern-us"},
    "washington": {"north-america", "pacific-coast"},
    "california": {"north-america", "pacific-coast"},
    "uk": {"europe", "uk"},
    "central-europe": {"europe"},
    "new-zealand": {"new-zealand"},
    "australia": {"australia"},
}
CARRIED_BY_VECTORS = {"tomato-ringspot", "x-disease", "plum-pox"}


@cache
def plants() -> dict[str, dict[str, Any]]:
    folder = files("advisor.knowledge") / "plants"
    rows = [row for path in folder.iterdir() if path.name.endswith(".yaml") for row in _read(path)]
    return {row["id"]: row for row in rows}


@cache
def links() -> list[dict[str, Any]]:
    folder = files("advisor.knowledge") / "links"
    return [row for path in folder.iterdir() if path.name.endswith(".yaml") for row in _read(path)]


@cache
def fruits_of() -> dict[str, set[str]]:
    """Troubles, each with the fruits that it troubles."""
    root = files("advisor.knowledge")
    paths = [root / "diseases.yaml", *(p for p in (root / "pests").iterdir() if p.name.endswith(".yaml"))]
    return {row["id"]: set(row.get("fruits", ())) for path in paths for row in _read(path)}


def _read(path: Any) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = yaml.safe_load(path.read_text(encoding="utf-8")) or []
    return rows


def span(name: str) -> tuple[float, float] | None:
    bloom = plants()[name].get("bloom")
    return None if bloom in (None, "none") else (bloom["from"], bloom["to"])


def is_open(begin: float, end: float, week: int) -> bool:
    return (begin < week + 1 and end > week) or (begin == end and week <= begin < week + 1)


def faults(
    found: Mapping[str, Any], choice: Mapping[str, Any], file: Mapping[str, Any], terms: Mapping[str, Any] | None = None
) -> list[str]:
    """What is wrong with a choice: needs left open, and plants that may not stand here."""
    names = [plant["plant"] for plant in choice["plants"]]
    return [*_needs(found, names, file, terms or {}), *_plants(names, file, terms or {})]


def _needs(
    found: Mapping[str, Any], names: list[str], file: Mapping[str, Any], terms: Mapping[str, Any]
) -> Iterable[str]:
    here = [(row["plant"], row["first_week"], row["last_week"]) for row in found["ribbon"]]
    new = [(name, *weeks) for name in names if (weeks := span(name)) is not None]
    beyond = " ".join(found["beyond"])
    for week in SEASON:
        fed = any(_nectar(name) >= 1 and is_open(b, e, week) for name, b, e in here)
        fed = fed or any(_nectar(name) >= 2 and is_open(b, e, week) for name, b, e in new)
        if (
            not fed
            and f"in week {week}." not in beyond
            and f"pollen in week {week}" not in " ".join(choice_text(found))
        ):
            yield f"no nectar in week {week}"
    for part, weeks in PARTS.items():
        kinds = {n for n, b, e in here if _feeds(n, 1) and any(is_open(b, e, w) for w in weeks)}
        kinds |= {n for n, b, e in new if _feeds(n, 2) and any(is_open(b, e, w) for w in weeks)}
        if len(kinds) < KINDS_WANTED and "can be had" not in beyond:
            yield f"only {len(kinds)} kinds in the {part} season"
    standing = [plants()[name] for name, _, _ in here] + [plants()[name] for name in names]
    kinds_of_place = {habitat["kind"] for habitat in file.get("habitats", ())}
    for function in ("early-nectar", "late-nectar", "taproot", "stems", "shelter"):
        if function == "shelter" and kinds_of_place & {"hedge", "tussock-bank", "wood-edge"}:
            continue
        if not any(_gives(function, plant) for plant in standing) and "gives" not in beyond:
            yield f"nothing gives {function}"
    if terms.get("nitrogen") and not any(plant.get("fixes_nitrogen") for plant in standing):
        yield "nothing fixes nitrogen"


def choice_text(found: Mapping[str, Any]) -> list[str]:
    return list(found["lacks"])


def _nectar(name: str) -> int:
    return int(plants()[name].get("nectar") or 0)


def _feeds(name: str, least: int) -> bool:
    pollen = int(plants()[name].get("pollen") or 0)
    return _nectar(name) >= least or pollen >= 2


def _gives(function: str, plant: Mapping[str, Any]) -> bool:
    own = [link for link in links() if link["from"] == plant["id"]]
    if function in ("early-nectar", "late-nectar"):
        return any(k["link"] == "blooms" and k["to"] == function and k["strength"] >= 2 for k in own)
    if function == "taproot":
        return plant.get("root") == "tap" and plant["life"] in ("perennial", "biennial")
    if function == "stems":
        return plant.get("stems") in ("pithy", "hollow") and plant["life"] in ("perennial", "woody")
    winter = ("winter", "always", None)
    return any(
        k["link"] == "shelters" and k["to"] != "voles" and k["strength"] >= 2 and k.get("season") in winter
        for k in own
        if not isinstance(k.get("season"), dict)
    )


def winter(given: str) -> float:
    """The coldest night of a usual winter [°C], read by a second reader: -26 °C, -15 °F or zone 5b."""
    if given.startswith("zone "):
        number = given.removeprefix("zone ")
        fahrenheit = -60 + 10 * (int(number.rstrip("ab")) - 1) + 5 * number.endswith("b")
    elif given.endswith("°F"):
        fahrenheit = float(given.removesuffix("°F"))
    else:
        return float(given.removesuffix("°C"))
    return (fahrenheit - 32) * 5 / 9


def _plants(names: list[str], file: Mapping[str, Any], terms: Mapping[str, Any]) -> Iterable[str]:
    orchard, blocks = file["orchard"], file["blocks"]
    fruits = {block["fruit"] for block in blocks}
    sites = {block["site"] for block in blocks if "site" in block}
    here = {
        name
        for place in (*blocks, *file.get("habitats", ()))
        for name in place.get("understory", place.get("plants", ()))
    }
    region = PLACES.get(orchard.get("guidance", ""), set())
    for name in names:
        plant = plants()[name]
        if name in here or plant.get("fruit"):
            yield f"{name} is here already, or a fruit tree"
        if region & set(plant.get("invasive_in") or ()):
            yield f"{name} is invasive here"
        if not terms.get("permanent") and (plant.get("permanent") or plant.get("spreads") == "aggressively"):
            yield f"{name} stays or spreads"
        if name in ("tansy-ragwort", "common-comfrey"):
            yield f"{name} is never planted"
        if terms.get("toxic") is False and plant.get("toxic"):
            yield f"{name} is poisonous"
        if terms.get("grazed") and {"horses", "livestock"} & set(plant.get("toxic") or ()):
            yield f"{name} poisons stock"
        freezes_at = winter(f"zone {plant['hardiness']['zone']}") - 1 if "hardiness" in plant else None
        if "coldest" in orchard and freezes_at is not None and winter(orchard["coldest"]) < freezes_at:
            yield f"{name} freezes here"
        if terms.get("prices") and name not in terms["prices"]:
            yield f"{name} has no price"
        if terms.get("annuals") is False and plant["life"] == "annual":
            yield f"{name} is an annual"
        if sites and plant.get("moisture") and not sites & set(plant["moisture"]):
            yield f"{name} does not suit {sites} ground"
        if plant["form"] in ("tree", "shrub") and plant["height"]["max"] > 800:
            yield f"{name} grows too tall"
        for link in links():
            if link["from"] != name or not fruits & fruits_of().get(link["to"], set()):
                continue
            if link["link"] == "alternate-host-of" or (link["link"] == "hosts" and link["to"] in CARRIED_BY_VECTORS):
                yield f"{name} carries {link['to']}"
            if link["link"] == "hosts" and link["strength"] == 3:
                yield f"{name} is a chief host of {link['to']}"
