"""How many cases a law is tried on: few in the ordinary suite, FENCEGRADE_LAWS or more where that is set."""

import os

from hypothesis import HealthCheck, settings

LEAST = int(os.environ.get("FENCEGRADE_LAWS", "0"))


def few(count: int, many: int = 0) -> settings:
    """Settings of a law that is dear: `count` cases in the ordinary suite, `many` where all laws try many."""
    return settings(max_examples=max(count, LEAST, many if LEAST else 0))


def load_profile() -> None:
    """The same cases each time in the ordinary suite, others by `--hypothesis-seed` where many are wanted."""
    settings.register_profile(
        "steady",
        derandomize=not LEAST,
        database=None,
        deadline=None,
        max_examples=max(15, LEAST),
        suppress_health_check=[HealthCheck.too_slow],
        print_blob=bool(LEAST),
    )
    settings.load_profile("steady")
