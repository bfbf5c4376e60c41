"""Apple scab, walking through the hours one by one with a clock on the wall."""

import math
from datetime import UTC, timedelta

# Ontario table, ascospores: from, to, light, moderate, severe; printed ranges as ranges.
TABLE = [
    (1, 1, 40, 69, 93), (2, 2, 34, 69, 93), (3, 3, 30, 52, 65), (4, 4, 27, 42, 57), (5, 5, 21, 34, 50),
    (6, 6, 18, 27, 44), (7, 7, 15, 23, 37), (8, 8, 13, 21, 34), (9, 9, 12, 17, 27), (10, 10, 11, 16, 26),
    (11, 11, 9, 14, 22), (12, 13, 8, 12, 20), (14, 15, 7, 11, 19), (15.5, 15.5, 6.5, 10, 17), (16, 24, 6, 9, 16),
    (24, 25, 6.5, 9, 16), (25, 25, 8, 11, 18), (25.5, 25.5, 10, 14, 23),
]  # fmt: skip
COLUMN = {"light": 2, "moderate": 3, "severe": 4}


def hours_to_infect(temp, severity="light"):
    column = COLUMN[severity]
    inside = [row[column] for row in TABLE if row[0] <= temp <= row[1]]
    if inside:
        return min(inside)
    below = [row for row in TABLE if row[1] < temp]
    above = [row for row in TABLE if row[0] > temp]
    if below and above:
        left, right = max(below, key=lambda row: row[1]), min(above, key=lambda row: row[0])
        from_temp, from_hours = left[1], min(row[column] for row in TABLE if row[0] <= left[1] <= row[1])
        return from_hours + (right[column] - from_hours) * (temp - from_temp) / (right[0] - from_temp)
    if severity == "light" and 25.5 < temp <= 26.112:
        return min(11.0, 10 + (temp - 25.5) / 0.6)
    return None


def infection(start, wet, temps, sunrise=7, scabby=False, rain=None, sunset=19):
    """Strongest event, for series without missing hours."""
    events, event, dry = [], None, 0
    for hour, (share, temp) in enumerate(zip(wet, temps, strict=True)):
        raining = share > 0 if rain is None else rain[hour] >= 0.2
        active = share > 0 or (rain is not None and raining)
        dry = 0 if active else dry + 1
        if event is not None and dry >= 8:
            events.append(event)
            event = None
        if event is None and active and raining:
            event = {"from": counted_from(start, hour, sunrise, scabby, sunset), "wet": [], "last": hour}
        if event is not None and share > 0:
            begin = max(moment(start, hour), event["from"])
            part = (moment(start, hour + 1) - begin) / timedelta(hours=1)
            if part > 0:
                event["wet"].append((share * part, temp))
    if event is not None:
        events.append(event)
    best = None
    for event in events:
        hours = sum(part for part, _ in event["wet"])
        if hours == 0:
            continue
        mean = sum(part * temp for part, temp in event["wet"]) / hours
        rank, severity = 0, None
        for number, name in enumerate(COLUMN, start=1):
            needed = hours_to_infect(mean, name)
            if needed is not None and hours >= needed - 1e-9:
                rank, severity = number, name
        if best is None or (rank, hours) > best[0]:
            best = (rank, hours), mean, severity
    if best is None:
        return {"hours": 0.0, "mean_c": None, "severity": None}
    return {"hours": best[0][1], "mean_c": best[1], "severity": best[2]}


def moment(start, hour):
    """The clock-proof moment at which an hour of the series begins."""
    return start + timedelta(hours=hour) if start.tzinfo is None else start.astimezone(UTC) + timedelta(hours=hour)


def counted_from(start, hour, sunrise, scabby, sunset):
    begin = moment(start, hour)
    local = begin if start.tzinfo is None else begin.astimezone(start.tzinfo)
    clock = local.hour + local.minute / 60
    if scabby or sunrise <= clock < sunset:
        return begin
    day = local.date() + timedelta(days=1 if clock >= sunset else 0)
    minutes = round(sunrise * 60)
    dawn = local.replace(
        year=day.year, month=day.month, day=day.day, hour=minutes // 60, minute=minutes % 60, second=0, microsecond=0,
        fold=0,
    )  # fmt: skip
    return dawn if start.tzinfo is None else dawn.astimezone(UTC)


def maturity(means, rains):
    total, dry, running = 0.0, 0, []
    for mean, rain in zip(means, rains, strict=True):
        dry = 0 if rain >= 0.2 else dry + 1
        if dry <= 7:
            total += max(0.0, mean)
        running.append(total)
    return running


def spores_mature(heat):
    return 1 / (1 + math.exp(5.486 - 0.0202 * heat))
