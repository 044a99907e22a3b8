"""Settings shared by every test: the same cases each time, no failing on a slow machine."""

from collections.abc import Iterator

import pytest
from examples import load_profile

load_profile()


@pytest.fixture(scope="module")
def soil_by_volume() -> Iterator[None]:
    """Soil sold by any volume, as the search weighs it, so that its best is the best bill."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("fencegrade.fence.low_ground.bill.SOLD_BY", 1e-9)
        yield
