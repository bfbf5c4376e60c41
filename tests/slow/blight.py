"""Fire blight heat by asking every flower in turn."""


def blossom_heat(temps, life=44.0):
    """For each hour's end the degree-hours above 18.3 that the oldest flower still alive has lived through."""
    running = []
    for end in range(len(temps)):
        oldest = end
        while oldest > 0 and sum(max(0.0, t - 4.4) for t in temps[oldest - 1 : end + 1]) / 24 <= life + 1e-9:
            oldest -= 1
        running.append(sum(max(0.0, t - 18.3) for t in temps[oldest : end + 1]))
    return running


def symptom_hour(temps):
    total = 0.0
    for hour, temp in enumerate(temps):
        total += max(0.0, temp - 12.7) / 24
        if total >= 57:
            return hour
    return None
