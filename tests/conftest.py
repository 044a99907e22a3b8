"""Settings shared by every test: the same cases each time, no failing on a slow machine, no idle waiting."""

import gc
import os
from collections.abc import Generator, Iterator
from itertools import groupby
from pathlib import Path

import pytest
from examples import load_profile

load_profile()


class ReadByHalves:
    """Every second process that shares the tests reads the files from the end; all run them in one order.

    On a fresh copy no test file is compiled yet: so each compiles half of them, and reads the other half.
    """

    @pytest.hookimpl(wrapper=True)
    def pytest_make_collect_report(
        self, collector: pytest.Collector
    ) -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
        found = yield
        if isinstance(collector, pytest.Dir):
            found.result = list(reversed(found.result or []))
        return found

    @pytest.hookimpl(tryfirst=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        files = [list(tests) for _, tests in groupby(items, key=lambda item: item.path)]
        items[:] = [item for tests in reversed(files) for item in tests]


def pytest_configure(config: pytest.Config) -> None:
    """Divide the reading of test files among the processes of pytest-xdist."""
    if os.environ.get("PYTEST_XDIST_WORKER", "gw0")[-1] in "13579":
        config.pluginmanager.register(ReadByHalves())


@pytest.fixture(scope="module")
def soil_by_volume() -> Iterator[None]:
    """Soil sold by any volume, as the search weighs it, so that its best is the best bill."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("fencegrade.fence.low_ground.bill.SOLD_BY", 1e-9)
        yield


@pytest.fixture
def no_paper(monkeypatch: pytest.MonkeyPatch) -> None:
    """Field sheets are not set: for tests of whether files are there, kept or renewed, whatever they hold."""
    monkeypatch.setattr("fencegrade.sheets.folder.field_sheets", lambda plan: b"")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Measurements and the browser's tests are not even read where their marks are left out."""
    mark = {"benchmarks": "benchmark", "browser": "browser"}.get(collection_path.name)
    unasked = mark is not None and f"not {mark}" in config.option.markexpr
    return True if unasked and collection_path.parent == Path(__file__).parent else None


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
