"""Measures the cutting solver; run with `-m benchmark -s`.

Classical lists need the folder named by FENCEGRADE_CUTTING.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

pytestmark = pytest.mark.benchmark


def _bench() -> ModuleType:
    path = Path(__file__).with_name("bench_cutting.py")
    spec = importlib.util.spec_from_file_location("bench_cutting", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


BENCH = _bench()


@pytest.mark.parametrize("name", BENCH.classes() or ["absent"])
def test_classical_lists(name: str) -> None:
    if name == "absent":
        pytest.skip("FENCEGRADE_CUTTING names no folder of instances")
    best = [case.best for case in BENCH.cases(name)]
    for measured, known in zip(BENCH.report(name, 60.0), best, strict=True):
        assert measured.bound <= measured.cost
        assert known is None or measured.bound <= known <= measured.cost


@pytest.mark.parametrize("prices", ["realistic", "per_foot", "long_cheap"])
def test_fence_lists(prices: str) -> None:
    for measured in BENCH.report(f"fence:{prices}", 5.0):
        assert measured.cost - measured.bound <= 0.01 * measured.cost
