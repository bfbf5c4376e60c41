"""Random orchards to plan for, and a checker that reads a whole plan as a grower would, knowing nothing of how it came.

The checker's own tables of order and weather are written out again here (common practice, no source), so that a slip in
the program's shows.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import math
import random
from collections.abc import Mapping
from typing import Any

FRUITS = ("apple", "pear", "quince", "peach", "apricot", "plum", "sweet-cherry", "tart-cherry")
STAGES = ("dormant", "green-tip", "pink", "full-bloom", "petal-fall", "fruit-set", "june-drop", "half-grown", "colouring",
          "harvest", "after-harvest")  # fmt: skip
TOOLS = ("scythe", "flail-mower", "lawn-mower", "chipper", "wheelbarrow", "backpack-sprayer", "ladder", "pruning-saw")
PRACTICES = ("mow-alleys", "insecticide", "sulphur", "calcium-spray", "dormant-prune", "hand-thin", "pick", "oil",
             "spread-ramial-chips", "autumn-mow", "copper", "lime", "cut-to-ground")  # fmt: skip
MATERIALS = {"insecticide": ("pyrethrin", "spinosad"), "sulphur": ("wettable-sulphur",), "copper": ("copper",)}
SPRAYS = {"plant-tea", "calcium-spray", "biology-spray", "sulphur", "lime-sulphur", "copper", "oil", "kaolin", "bicarbonate",
          "soap", "microbial-spray", "protect-bloom", "insecticide"} - {"plant-tea"}  # fmt: skip
BEFORE = (  # in one block: first, then, least days between
    ("mow-bloom-before-spray", SPRAYS, 1), ("hang-traps", {"insecticide", "microbial-spray"}, 1),
    ("hand-thin", {"calcium-spray"}, 0), ("dormant-prune", {"oil", "copper", "lime-sulphur"}, 0),
    ("test-soil", {"lime", "gypsum"}, 14), ("sample-fruit", {"pick"}, 0),
)  # fmt: skip


def orchard(rnd: random.Random) -> tuple[dict[str, Any], str, str | None]:
    """An orchard file, the day of the plan, and a forecast or none."""
    south = rnd.random() < 0.35
    day = dt.date(2026, 1, 1) + dt.timedelta(days=rnd.randrange(365))
    head: dict[str, Any] = {
        "name": "Larkfield", "latitude": rnd.choice((-41.2, -34.0)) if south else rnd.choice((42.4, 51.0, 36.5)),
        "longitude": rnd.choice((-76.5, 8.0, 172.0)), "units": rnd.choice(("metric", "us")),
    }  # fmt: skip
    if rnd.random() < 0.8:
        head["hours_per_week"] = rnd.choice((4, 9, 22, {"march": 30, "may": 12, "june": 18, "october": 10, "november": 9}))
    if rnd.random() < 0.7:
        head["tools"] = rnd.sample(TOOLS, rnd.randrange(1, len(TOOLS)))
    if rnd.random() < 0.5:
        off = (day + dt.timedelta(days=rnd.randrange(20))).isoformat()
        head["days_off"] = rnd.choice((["sunday"], ["saturday", "sundays"], [off], [f"{off} to {off}"]))
    if rnd.random() < 0.5:
        head["helpers"] = [
            {"day": (day + dt.timedelta(days=rnd.randrange(30))).isoformat(), "hours": 3, "people": rnd.choice((1, 3)),
             **rnd.choice(({}, {"practice": "hand-thin", "fruit_per_hour": 250}, {"practice": ["pick", "mow-alleys"]}))}
            for _ in range(rnd.randrange(1, 3))
        ]  # fmt: skip
    blocks = [_block(rnd, n) for n in range(rnd.randrange(1, 5))]
    seen: list[dict[str, Any]] = []
    for block in blocks:
        where = {"block": block["id"], "date": (day - dt.timedelta(days=rnd.randrange(9))).isoformat()}
        if rnd.random() < 0.8:
            seen.append({**where, "kind": "tree-stage", "stage": rnd.choice(STAGES)})
        if rnd.random() < 0.5:
            seen.append({**where, "kind": "sward", "height": f"{rnd.randrange(8, 60)} cm", "in_flower": rnd.random()})
        if rnd.random() < 0.4:
            seen.append({**where, "kind": "vole-sign", "runways": "fresh"})
        if rnd.random() < 0.3:
            seen.append({**where, "kind": "crop-count", "fruit_per_tree": 300, "girth": "40 cm"})
        if rnd.random() < 0.6:
            practice = rnd.choice(PRACTICES)
            meant = {**where, "kind": "intent", "practice": practice, "date": day.isoformat(),
                     "day": (day + dt.timedelta(days=rnd.randrange(12))).isoformat()}  # fmt: skip
            if practice in MATERIALS:
                meant["material"] = rnd.choice(MATERIALS[practice])
            seen.append(meant)
        if rnd.random() < 0.4:
            seen.append({**where, "kind": "work", "practice": "insecticide", "material": "pyrethrin", "hours": 2})
    habitats = [{"id": "hedge", "kind": "hedge", "area": "200 m2"}] if rnd.random() < 0.3 else []
    file = {"orchard": head, "blocks": blocks, "habitats": habitats, "observations": seen}
    return file, day.isoformat(), _forecast(rnd, day) if rnd.random() < 0.7 else None


def _block(rnd: random.Random, n: int) -> dict[str, Any]:
    block: dict[str, Any] = {"id": f"b{n}", "fruit": rnd.choice(FRUITS)}
    if rnd.random() < 0.85:
        block |= {"trees": rnd.choice((4, 20, 60, 150)), "spacing": rnd.choice(("6 m x 5 m", "20 ft x 16 ft", "4 m x 2 m"))}
    for name, choices in (("floor", ("meadow", "turf", "bare")), ("planted", (2008, 2015, 2025)), ("use", ("cider", "home")),
                          ("history", (["apple-scab"], ["voles"]))):  # fmt: skip
        if rnd.random() < 0.5:
            block[name] = rnd.choice(choices)
    if block["fruit"] == "apple" and rnd.random() < 0.6:
        block["rootstock"] = rnd.choice(("M.9", "MM.106", "M.25"))
    return block


def _forecast(rnd: random.Random, day: dt.date) -> str:
    """Hours from the day of the plan on, in UTC, with gaps."""
    lines = ["time,temp_c,humidity_pct,rain_mm,wind_ms"]
    wet, windy = rnd.random() * 0.4, rnd.choice((2.0, 5.0))
    for hour in range(24 * rnd.randrange(2, 8)):
        moment = dt.datetime.combine(day, dt.time(), dt.UTC) + dt.timedelta(hours=hour)
        cells = [f"{12 + 8 * math.sin(moment.hour / 24 * 6.28) + rnd.uniform(-2, 9):.1f}", f"{rnd.randrange(50, 100)}",
                 "1.2" if rnd.random() < wet else "0", f"{rnd.uniform(0, windy * 1.5):.1f}"]  # fmt: skip
        lines.append(f"{moment.isoformat()}," + ",".join("" if rnd.random() < 0.03 else cell for cell in cells))
    return "\n".join(lines)


def broken(plan: Mapping[str, Any], answer: Mapping[str, Any], file: Mapping[str, Any], zone: dt.tzinfo,
           forecast: str | None, re_entry: Mapping[str, float]) -> list[str]:  # fmt: skip
    """Everything in a plan that breaks a window, a tool, an order, an hour, a day off, an interval or the weather.

    re_entry: usual hours to entry after a material or spray.
    """
    found: list[str] = []
    advice = {r["id"]: r for r in answer["recommendations"]}
    weeks = [plan["this_week"], *plan["next_weeks"]]
    done = [(job, day) for week in weeks for job in week["jobs"] for day in job["days"]]
    start = dt.date.fromisoformat(plan["date"])
    for week, number in zip(weeks, range(len(weeks)), strict=True):
        if week["from"] != (start + dt.timedelta(days=7 * number)).isoformat():
            found.append("weeks do not follow one another")
        for job in week["jobs"]:
            found += [f"{job['job']} on {d['day']} outside its week" for d in job["days"]
                      if not week["from"] <= d["day"] <= week["to"]]  # fmt: skip
    for job, day in done:
        found += _window(job, day["day"], advice, answer)
    found += _hours(done, weeks, file["orchard"], start)
    found += _tools(done, file["orchard"])
    found += _order(done, advice, re_entry, {o["id"]: o for o in file.get("seen", [])}, answer, start)
    found += _weather(done, zone, forecast)
    return found


def _window(job: Mapping[str, Any], day: str, advice: Mapping[str, Any], answer: Mapping[str, Any]) -> list[str]:
    found = []
    for name in job["recommendations"]:
        r = advice[name]
        opens, closes = r["window"]["opens"], r["window"]["closes"]
        if r["stance"] == "avoid":
            found.append(f"{name} is to be avoided")
        elif r["stance"] == "wait":
            if opens is None or day < opens:
                found.append(f"{name} done on {day}, inside its wait")
        elif (opens and day < opens) or (closes and day > closes):
            found.append(f"{name} done on {day}, outside its window")
    if not job["recommendations"]:  # the year's usual work gives way to any no in its place
        for r in answer["recommendations"]:
            here = (r["habitat"] == job["habitat"]) if job["habitat"] else r["habitat"] is None and (
                r["block"] in (None, job["block"]))  # fmt: skip
            if not here or r["practice"] != job["practice"]:
                continue
            opens, closes = r["window"]["opens"], r["window"]["closes"]
            if r["stance"] == "avoid" and (opens or "") <= day and (closes is None or day <= closes):
                found.append(f"usual {job['practice']} on {day} although it is to be avoided")
            if r["stance"] == "wait" and (opens is None or day < opens):
                found.append(f"usual {job['practice']} on {day}, inside a wait")
    return found


def _hours(done: list[Any], weeks: list[Any], head: Mapping[str, Any], start: dt.date) -> list[str]:
    found = []
    own: dict[str, float] = {}
    helped: dict[str, float] = {}
    for _, day in done:
        own[day["day"]] = own.get(day["day"], 0) + day["own"]
        helped[day["day"]] = helped.get(day["day"], 0) + day["helpers"]
    names = [str(word).rstrip("s") for word in head.get("days_off", ())]
    for day, hours in own.items():
        date = dt.date.fromisoformat(day)
        off = f"{date:%A}".lower() in names or any(w[:10] <= day <= w[-10:] for w in names if w[:1] == "2")
        if hours > (0 if off else 8) + 0.05:
            found.append(f"{hours} h of one's own on {day}")
    for day, hours in helped.items():
        most = sum(h["people"] * h["hours"] for h in head.get("helpers", ()) if h["day"] == day)
        if hours > most + 0.05:
            found.append(f"{hours} h of helpers on {day}, and {most} come")
    given = head.get("hours_per_week")
    for week in weeks:
        days = [dt.date.fromisoformat(week["from"]) + dt.timedelta(days=n) for n in range(7)]
        if given is None or (isinstance(given, dict) and not all(f"{d:%B}".lower() in given for d in days)):
            continue
        most = sum((given[f"{d:%B}".lower()] if isinstance(given, dict) else given) / 7 for d in days)
        used = sum(own.get(d.isoformat(), 0) for d in days)
        if used > most + 0.1:
            found.append(f"{used} h in the week of {week['from']}, and there are {most}")
    return found


def _tools(done: list[Any], head: Mapping[str, Any]) -> list[str]:
    found, used = [], {}
    for job, day in done:
        if job["tool"] != "hand":
            if "tools" in head and job["tool"] not in head["tools"]:
                found.append(f"{job['job']} with a {job['tool']} that is not there")
            key = (job["tool"], day["day"])
            used[key] = used.get(key, 0) + day["own"] + day["helpers"]
    if "tools" in head:
        found += [f"{tool} used {h} h on {day}" for (tool, day), h in used.items() if h > 8.05]
    return found


def _order(done: list[Any], advice: Mapping[str, Any], re_entry: Mapping[str, float], seen: Mapping[str, Any],
           answer: Mapping[str, Any], start: dt.date) -> list[str]:  # fmt: skip
    found = []
    for a, day_a in done:
        date_a = dt.date.fromisoformat(day_a["day"])
        for b, day_b in done:
            ground = a["habitat"] is None and b["habitat"] is None and (
                a["block"] == b["block"] or a["block"] is None or b["block"] is None)  # fmt: skip
            if a["job"] == b["job"] or not ground:
                continue
            apart = (dt.date.fromisoformat(day_b["day"]) - date_a).days
            for first, then, least in BEFORE:
                if a["practice"] == first and b["practice"] in then and apart < least:
                    found.append(f"{b['job']} {apart} days after {a['job']}")
            closed = _closed(a, advice, re_entry, seen) if a["practice"] in SPRAYS and a["practice"] != b["practice"] else 0
            if 0 <= apart < closed:
                found.append(f"{b['job']} in the block {apart} days after {a['job']}")
    for block in {job["block"] for job, _ in done}:  # nothing is stored before the first is picked
        picked, stored = (sorted(d["day"] for j, d in done if j["block"] == block and j["practice"] == practice)
                          for practice in ("pick", "store"))  # fmt: skip
        if picked and stored and stored[0] < picked[0]:
            found.append(f"stored from {stored[0]} and picked from {picked[0]} in {block}")
    for job, day in done:  # sprays that were on before the plan
        for entry in answer["conditions"].get(job["block"] or "", {}).get("label-interval", []):
            away = (dt.date.fromisoformat(day["day"]) - start).days
            if away < entry["entry"] or (job["practice"] == "pick" and away < entry["picking"]):
                found.append(f"{job['job']} {away} days on, inside a label's interval")
    return found


def _closed(job: Mapping[str, Any], advice: Mapping[str, Any], re_entry: Mapping[str, float], seen: Mapping[str, Any]) -> int:
    """Days that a block is closed after a spray, the day of it included."""
    intents = [seen.get(advice[name]["answers"] or "", {}) for name in job["recommendations"]]
    for name in [*(i.get("material") for i in intents), job["practice"]]:
        if name in re_entry:
            return math.ceil(re_entry[name] / 24)
    return 1


def _weather(done: list[Any], zone: dt.tzinfo, forecast: str | None) -> list[str]:
    """Jobs that want it dry or calm get hours enough of that, where the forecast tells every hour of the day."""
    if forecast is None:
        return []
    hours: dict[str, list[tuple[float | None, float | None]]] = {}
    for row in csv.DictReader(io.StringIO(forecast)):
        local = dt.datetime.fromisoformat(row["time"]).astimezone(zone)
        if 6 <= local.hour < 20:
            cell = tuple(float(row[name]) if row[name] else None for name in ("rain_mm", "wind_ms"))
            hours.setdefault(local.date().isoformat(), []).append(cell)  # type: ignore[arg-type]
    found = []
    for job, day in done:
        of_day = hours.get(day["day"], [])
        if day["weather"] != "fits" or len(of_day) < 14 or not job["wants"]:
            continue
        dry = [r is not None and r < 0.2 for r, _ in of_day]
        calm = [w is not None and w <= 4.5 for _, w in of_day]
        fit = sum(d and (c or "calm" not in job["wants"]) for d, c in zip(dry, calm, strict=True))
        least = min(day["hours"], 0.5)  # a day may hold several sittings at once with helpers
        if "dry" in job["wants"] and fit < least:
            found.append(f"{job['job']} on {day['day']} with {fit} fit hours")
    return found
