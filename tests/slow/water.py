"""Water and moist air with the math module, step by step as on the calculation sheet of FAO-56."""

import itertools
import math


def saturation(temp):
    return 0.6108 * math.exp(17.27 * temp / (temp + 237.3))


def wet_bulb(temp, dew, elevation=0.0):
    """By halving the interval between dew point and temperature."""
    dew = min(dew, temp)
    cooling = 0.000662 * 101.3 * ((293 - 0.0065 * elevation) / 293) ** 5.26
    low, high = dew, temp
    for _ in range(80):
        middle = (low + high) / 2
        if saturation(middle) - cooling * (temp - middle) > saturation(dew):
            high = middle
        else:
            low = middle
    return (low + high) / 2


def sky_radiation(latitude, day):
    phi = latitude * math.pi / 180
    distance = 1 + 0.033 * math.cos(2 * math.pi * day / 365)
    tilt = 0.409 * math.sin(2 * math.pi * day / 365 - 1.39)
    sunset = math.acos(min(1.0, max(-1.0, -math.tan(phi) * math.tan(tilt))))
    return (
        24 * 60 / math.pi * 0.0820 * distance
        * (sunset * math.sin(phi) * math.sin(tilt) + math.cos(phi) * math.cos(tilt) * math.sin(sunset))
    )  # fmt: skip


def et0(low, high, vapour, wind, solar, latitude, day, elevation):
    mean = (low + high) / 2
    slope = 4098 * saturation(mean) / (mean + 237.3) ** 2
    gamma = 0.000665 * 101.3 * ((293 - 0.0065 * elevation) / 293) ** 5.26
    deficit = (saturation(low) + saturation(high)) / 2 - vapour
    clear = (0.75 + 2e-5 * elevation) * sky_radiation(latitude, day)
    long_wave = 4.903e-9 * ((low + 273.16) ** 4 + (high + 273.16) ** 4) / 2
    long_wave *= (0.34 - 0.14 * math.sqrt(vapour)) * (1.35 * min(1.0, max(0.3, solar / clear)) - 0.35)
    net = 0.77 * solar - long_wave
    return (0.408 * slope * net + gamma * 900 / (mean + 273) * wind * deficit) / (slope + gamma * (1 + 0.34 * wind))


def depletion(use, rain, given, available, start=0.0):
    missing, running = start, []
    for used, rained, watered in zip(use, rain, given, strict=True):
        left = available - missing
        stress = 1.0 if left >= available / 2 else left / (available / 2)
        missing = min(available, max(0.0, missing + stress * used - rained - watered))
        running.append(missing)
    return running


def bee_activity(temp, wind=0.0):
    points = [(10.6, 0.06), (12.2, 0.21), (17.2, 0.62), (18.3, 1.0)]
    if temp < points[0][0]:
        share = 0.0
    elif temp >= points[-1][0]:
        share = 1.0
    else:
        for (t0, s0), (t1, s1) in itertools.pairwise(points):
            if t0 <= temp <= t1:
                share = s0 + (s1 - s0) * (temp - t0) / (t1 - t0)
    if wind >= 6.7:
        return 0.0
    return share if wind <= 4.5 else share * (6.7 - wind) / 2.2
