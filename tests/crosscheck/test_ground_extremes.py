"""Exact extremes of the ground line against looking at every thousandth of an inch, and against SciPy's own
curve."""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from fencegrade.ground.fit import fit_ground


@pytest.mark.parametrize("seed", range(6))
def test_extremes_by_brute_force(seed: int) -> None:
    rng = np.random.default_rng(seed)
    x = np.cumsum(rng.uniform(2, 40, 14))
    z = rng.normal(0, 6, 14)
    profile = fit_ground(x, z)
    a = np.round(rng.uniform(x[0], x[-1] - 30, 25), 3)
    b = np.round(a + rng.uniform(0, 30, 25), 3)
    high, low = profile.extremes(a, b)
    for k in range(25):
        fine = profile.elevation(np.clip(np.arange(a[k], b[k] + 5e-4, 0.001), a[k], b[k]))
        steepest = np.abs(np.diff(fine)).max() if len(fine) > 1 else 0.0
        assert fine.max() <= high[k] + 1e-12
        assert high[k] <= fine.max() + steepest + 1e-12
        assert fine.min() >= low[k] - 1e-12
        assert low[k] >= fine.min() - steepest - 1e-12


def test_the_line_is_scipys_between_faces() -> None:
    rng = np.random.default_rng(7)
    x = np.cumsum(rng.uniform(20, 60, 30))
    z = rng.normal(0, 3, 30)
    both = fit_ground(np.concatenate([x[:12], x[11:]]), np.concatenate([z[:12], z[11:] - 9]))
    left, right = np.linspace(x[0], x[11] - 1e-9, 500), np.linspace(x[11], x[-1], 500)
    assert both.elevation(left) == pytest.approx(PchipInterpolator(x[:12], z[:12])(left), abs=1e-10)
    assert both.elevation(right) == pytest.approx(PchipInterpolator(x[11:], z[11:] - 9)(right), abs=1e-10)
