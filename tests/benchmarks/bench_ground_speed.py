"""Speed of the ground floor, as ratios to a plain computation of like size on the same machine.

Run with `pytest -m benchmark -s tests/benchmarks/bench_ground_speed.py`.
"""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from fencegrade.ground.advice import Boards, advise
from fencegrade.ground.fit import fit_ground

pytestmark = pytest.mark.benchmark


def quickest(call: Callable[[], object], times: int = 5) -> float:
    best = np.inf
    for _ in range(times):
        start = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - start)
    return best


def walk(n: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(1)
    return np.cumsum(rng.uniform(10, 60, n)), np.cumsum(rng.normal(0, 1, n))


def test_a_million_pickets_over_a_hundred_thousand_readings() -> None:
    x, z = walk(100_000)
    profile = fit_ground(x, z)
    edges = np.linspace(x[0], x[-1], 1_000_001)
    a, b = edges[:-1], edges[1:] - 1e-3
    plain, points = PchipInterpolator(x, z), np.sort(np.concatenate([a, b]))
    ratio = quickest(lambda: profile.under(a, b)) / quickest(lambda: plain(points))
    tracemalloc.start()
    profile.under(a, b)
    peak = tracemalloc.get_traced_memory()[1] / 1e9
    tracemalloc.stop()
    print(f"\n{ratio:.2f} x one PCHIP evaluation at 2,000,000 points; {peak:.2f} GB")
    assert ratio < 3
    assert peak < 1.5


def test_25_readings_and_300_boards() -> None:
    """The line, the band at every board, the chance of every board and the advice."""
    x, z = np.arange(25) * 48.0, walk(25)[1]
    left = np.linspace(0, x[-1] - 6, 300)
    even = np.ones(300)

    def whole() -> None:
        profile = fit_ground(x, z)
        profile.band(left + 3)
        foot = profile.highest(left, left + 5.5) + 2
        boards = Boards(left=left, right=left + 5.5, foot=foot, slope=0 * even, least=1 * even, most=3 * even)
        advise(profile, boards)

    k = np.exp(-np.abs(x[:, None] - x) / 100) + np.eye(25)
    seconds = quickest(whole, 9)
    ratio = seconds / quickest(lambda: np.linalg.cholesky(k), 50)
    print(f"\n{1000 * seconds:.1f} ms, {ratio:.0f} x one Cholesky factorisation of 25 readings")
    assert seconds < 0.02


def test_band_of_a_hundred_thousand_readings_grows_in_proportion() -> None:
    used = {}
    for n in (2_000, 8_000, 100_000):
        x, z = walk(n)
        at = (x[1:] + x[:-1]) / 2
        profile = fit_ground(x, z)
        start = time.process_time()
        profile.band(at)
        used[n] = time.process_time() - start
    print("\n" + ", ".join(f"{n} readings {s:.1f} s of processor time" for n, s in used.items()))
    assert used[8_000] < 8 * used[2_000]
    assert used[100_000] < 1
