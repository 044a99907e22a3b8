"""Settings shared by every test: the same cases each time, no failing on a slow machine."""

import pytest
from hypothesis import HealthCheck, settings

from fencegrade.planning import families

settings.register_profile(
    "steady", derandomize=True, deadline=None, max_examples=20, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")


@pytest.fixture(autouse=True, scope="session")
def _time_enough() -> None:
    """A proven plan is the same on a machine of any speed: here the search may take what time it needs."""
    families.SECONDS = 60.0
