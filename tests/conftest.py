"""What holds for every test: how long something takes is no test, on a machine that may be busy with other things."""

from hypothesis import HealthCheck, settings

settings.register_profile("patient", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("patient")
