"""Degree-days by adding up small steps of the day's curve; chill and heat hour by hour."""

import math


def degree_days(low, high, base, upper=None, method="sine", cutoff="horizontal", steps=4000):
    mean, half = (low + high) / 2, (high - low) / 2
    if method == "average":
        return max(0.0, mean - base)
    if method == "clipped":
        top = math.inf if upper is None else upper
        return (min(max(low, base), top) + min(max(high, base), top)) / 2 - base
    total = 0.0
    for step in range(steps):
        moment = (step + 0.5) / steps  # the rising half of the day; the falling half mirrors it
        rise = math.sin(math.pi * (moment - 0.5)) if method == "sine" else 2 * moment - 1
        temp = mean + half * rise
        over = 0.0 if upper is None else max(0.0, temp - upper)
        if over and cutoff == "vertical":
            continue
        total += max(0.0, temp - base) - over * (2 if cutoff == "intermediate" else 1)
    return max(0.0, total / steps)


def hourly(temps, base, upper=None):
    total, running = 0.0, []
    for temp in temps:
        total += max(0.0, (temp if upper is None else min(temp, upper)) - base) / 24
        running.append(total)
    return running


def chill_hours(temps):
    return sum(1 for temp in temps if 0 <= temp <= 7.2)


def utah_units(temps):
    total = 0.0
    for temp in temps:
        if temp <= 1.4:
            unit = 0.0
        elif temp <= 2.4:
            unit = 0.5
        elif temp <= 9.1:
            unit = 1.0
        elif temp <= 12.4:
            unit = 0.5
        elif temp <= 15.9:
            unit = 0.0
        elif temp <= 18:
            unit = -0.5
        else:
            unit = -1.0
        total += unit
    return total


def chill_portions(temps):
    """The published list of steps, one after the other."""
    e0, e1, a0, a1, slope, tf = 4153.5, 12888.8, 139500.0, 2.567e18, 1.6, 277.0
    portions, end, previous_xi = 0.0, None, 0.0
    for temp in temps:
        tk = temp + 273
        sr = math.exp(slope * tf * (tk - tf) / tk)
        xi = sr / (1 + sr)
        xs = a0 / a1 * math.exp((e1 - e0) / tk)
        ak1 = a1 * math.exp(-e1 / tk)
        if end is None:
            start = 0.0
        elif end < 1:
            start = end
        else:
            start = end - end * previous_xi
        end = xs - (xs - start) * math.exp(-ak1)
        if end >= 1:
            portions += end * xi
        previous_xi = xi
    return portions


def growing_degree_hours(temps):
    total = 0.0
    for temp in temps:
        if 4 <= temp <= 25:
            total += 21 / 2 * (1 + math.cos(math.pi + math.pi * (temp - 4) / 21))
        elif 25 < temp <= 36:
            total += 21 * (1 + math.cos(math.pi / 2 + math.pi / 2 * (temp - 25) / 11))
    return total
