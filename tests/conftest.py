"""Settings shared by every test: the same cases each time, no failing on a slow machine, no idle waiting."""

import gc
import os
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


def pytest_collection_finish() -> None:
    """Tests and modules stay to the end: nobody looks through them again and again for unused objects."""
    gc.freeze()
    gc.set_threshold(200_000)


@pytest.fixture(scope="session", autouse=True)
def nobody_waits_for_the_disk() -> Iterator[None]:
    """Files are written as ever, but a test does not wait until they would outlast a power cut."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "fsync", lambda descriptor: None)
        yield
