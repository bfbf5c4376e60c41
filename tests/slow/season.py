"""A season of infections listed by walking through its hours: no arrays, one hour after the other.

Wetness by rain and humidity (90 %), wettings joined under 8 dry hours, and each disease by its published table.
"""

import datetime as dt
import itertools

from slow.scab import hours_to_infect

# Aldwinckle, Pearson and Seem 1980: degrees C, light, severe
RUST = [(2, 24, None), (4, 12, 24), (6, 8, 10), (8, 6, 7), (10, 5, 6), (12, 4, 5), (14, 3, 5), (16, 3, 5), (18, 3, 4),
        (20, 3, 4), (22, 2, 4), (24, 2, 4), (26, 2, 4)]  # fmt: skip
# Wilcox 1989: share of tart cherry blossoms blighted after 0, 3, 5, 10 and 24 wet hours at 8, 12, 16 and 20 degrees C
BLOSSOM = {8: (0, 0, 0.05, 0.21, 0.97), 12: (0, 0, 0.07, 0.78, 0.97), 16: (0, 0, 0.28, 0.90, 0.97),
           20: (0, 0, 0.72, 0.98, 0.97)}  # fmt: skip
BLOSSOM_HOURS = (0, 3, 5, 10, 24)
HOUR = dt.timedelta(hours=1)


def hours(records):
    """Each UTC hour from the first to the last: [temperature C, humidity, rain mm] or None; gaps up to 3 h filled."""
    table = {}
    for row in records:
        moment = dt.datetime.fromisoformat(row["time"].replace("Z", "+00:00"))
        table[moment] = [
            (float(row["temp_f"]) - 32) / 1.8 if "temp_f" in row else None,
            min(100.0, float(row["humidity_pct"])) if "humidity_pct" in row else None,
            float(row["rain_in"]) * 25.4 if "rain_in" in row else None,
        ]
    first, last = min(table), max(table)
    listed, moment = [], first
    while moment <= last:
        listed.append((moment, table.get(moment, [None, None, None])))
        moment += HOUR
    for column in (0, 1):
        fill(listed, column)
    return listed


def fill(listed, column):
    at = 0
    while at < len(listed):
        if listed[at][1][column] is not None:
            at += 1
            continue
        end = at
        while end < len(listed) and listed[end][1][column] is None:
            end += 1
        if at > 0 and end < len(listed) and end - at <= 3:
            before, after = listed[at - 1][1][column], listed[end][1][column]
            for step in range(at, end):
                listed[step][1][column] = before + (after - before) * (step - at + 1) / (end - at + 1)
        at = end


def wet(hour):
    """True or False; None where nothing tells."""
    _, humidity, rain = hour
    if rain is not None and rain > 0:
        return True
    if humidity is not None and humidity >= 90:
        return True
    return None if humidity is None or rain is None else False


def wettings(listed):
    """Certain wettings: lists of places in the record, joined where fewer than 8 hours part them."""
    found = []
    for at, (_, hour) in enumerate(listed):
        if wet(hour):
            if found and at - found[-1][-1] - 1 < 8:
                found[-1].append(at)
            else:
                found.append([at])
    return found


def line(table, value):
    """Straight between the rows of a table; None outside."""
    for (x0, y0), (x1, y1) in itertools.pairwise(table):
        if x0 <= value <= x1:
            return y0 + (y1 - y0) * (value - x0) / (x1 - x0)
    return None


def rust(mean, length, rain):
    if rain <= 0 or mean > 26:
        return None
    light = line([(t, h) for t, h, _ in RUST], mean)
    severe = line([(t, h) for t, _, h in RUST if h is not None], mean)
    if light is None or length < light:
        return None
    return "severe" if severe is not None and length >= severe else "light"


def quince_rust(mean, length, rain):
    return "infects" if rain > 0 and length > 48 and mean > 10 else None


def scab_event(listed, places):
    """An event of joined wet hours from the first rain of at least 0.2 mm on."""
    start = next((at for at in places if (listed[at][1][2] or 0) >= 0.2), None)
    if start is None:
        return None
    counted = [at for at in places if at >= start]
    mean = sum(listed[at][1][0] for at in counted) / len(counted)
    severity = None
    for name in ("light", "moderate", "severe"):
        needed = hours_to_infect(mean, name)
        if needed is not None and len(counted) >= needed - 1e-9:
            severity = name
    return None if severity is None else (start, len(counted), mean, severity)


def curl(mean, length, rain):
    return "infects" if rain >= 3 and length >= 12.5 and mean < 16 else None


def blossom_rot(mean, length):
    if not 8 <= mean <= 20:
        return "infects" if 10 <= mean <= 30 and length >= 4 else None
    length = min(length, 24)
    at = {temp: line(list(zip(BLOSSOM_HOURS, shares, strict=True)), length) for temp, shares in BLOSSOM.items()}
    share = line(sorted(at.items()), mean)
    return "severe" if share >= 0.5 else "infects" if share >= 0.1 else None


def black_rot(mean, length):
    if not 12 <= mean <= 28:
        return None
    needed = 14.8 - 265.2 / mean + 2988.4 / mean**2
    return "infects" if length >= needed - 1e-9 else None


def bitter_rot(mean, length):
    return "infects" if 26.7 <= mean <= 30 and length >= 5 else None


def events(listed, zone, spans):
    """(disease, local start, hours, mean, severity) of every certain infection that begins within a disease's dates."""
    found = []
    for places in wettings(listed):
        temps = [listed[at][1][0] for at in places]
        if None in temps:
            continue
        mean, length = sum(temps) / len(temps), len(places)
        rain = sum(listed[at][1][2] or 0.0 for at in range(places[0], places[-1] + 1))
        verdicts = {
            "cedar-apple-rust": rust(mean, length, rain),
            "quince-rust": quince_rust(mean, length, rain),
            "peach-leaf-curl": curl(mean, length, rain),
            "brown-rot": blossom_rot(mean, length),
            "black-rot": black_rot(mean, length),
            "bitter-rot": bitter_rot(mean, length),
        }
        rows = [(disease, places[0], length, mean, severity) for disease, severity in verdicts.items() if severity]
        scab = scab_event(listed, places)
        if scab is not None:
            rows.append(("apple-scab", *scab))
        for disease, start, counted, warmth, severity in rows:
            local = listed[start][0].astimezone(zone)
            if disease in spans and spans[disease][0] <= local.date() < spans[disease][1]:
                found.append((disease, local.strftime("%Y-%m-%dT%H:%M"), counted, warmth, severity))
    return sorted(found, key=lambda row: (row[1], row[0]))


def blight_days(listed, zone, opened, fallen, life=44.0):
    """(day, degree-hours, mean, conditions met) of every day of bloom on which three or four of the conditions meet."""
    inside = [(m.astimezone(zone).date(), hour) for m, hour in listed]
    open_hours = [(day, hour) for day, hour in inside if opened <= day < fallen]
    heat = []
    for end in range(len(open_hours)):
        aged = lived = 0.0
        for at in range(end, -1, -1):
            aged += max(0.0, open_hours[at][1][0] - 4.4) / 24
            if at < end and aged > life + 1e-9:
                break
            lived += max(0.0, open_hours[at][1][0] - 18.3)
        heat.append(lived)
    found, day = [], opened
    while day < fallen:
        here = [at for at, (date, _) in enumerate(open_hours) if date == day]
        rain = sum(open_hours[at][1][2] or 0.0 for at in here)
        before = sum(hour[2] or 0.0 for date, hour in open_hours if date == day - dt.timedelta(days=1))
        moist = any(wet(open_hours[at][1]) for at in here) or rain >= 0.2 or before >= 2.5
        mean = sum(open_hours[at][1][0] for at in here) / len(here)
        most = max(heat[at] for at in here)
        met = 1 + moist + (most >= 110) + (mean >= 15.6)
        if met >= 3:
            found.append((day.isoformat(), most, mean, met))
        day += dt.timedelta(days=1)
    return found
