"""Settings shared by every test: the same cases each time, no failing on a slow machine."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "steady", derandomize=True, deadline=None, max_examples=20, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")
