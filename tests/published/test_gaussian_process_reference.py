"""Rasmussen & Williams, Gaussian Processes for Machine Learning (MIT Press 2006): eq. 4.17 and 5.10-5.12.

The formulas are from memory; the six-point figures were computed by deleting each point and refitting, and
the kernel agreed with an independent library to 1e-12.
"""

import numpy as np
import pytest

from fencegrade.ground.roughness import left_out, matern32

X = np.array([0.0, 4.0, 8.0, 13.0, 20.0, 26.0])
Y = np.array([1.2, 1.9, 2.4, 2.1, 1.1, 0.7])
MEANS = [1.25303736936, 1.86092200503, 2.14933210867, 1.90768843995, 1.16802439427, 0.509593538745]
VARIANCES = [0.183641326615, 0.0806218248306, 0.0946759443182, 0.164780784841, 0.216804483022, 0.331361489708]


def test_matern_at_its_length_and_half_of_it() -> None:
    assert matern32(np.array([9.0, 4.5]), 9.0) == pytest.approx([0.483357724597, 0.784887653957], abs=1e-12)


def test_leave_one_out_means_variances_and_score() -> None:
    covariance = 0.8**2 * matern32(np.abs(X[:, None] - X[None, :]), 9.0) + 0.05**2 * np.eye(6)
    inverse = np.linalg.inv(covariance)
    error, variance = left_out(np.diag(inverse), inverse @ Y)
    assert Y - error == pytest.approx(MEANS, abs=1e-10)
    assert variance == pytest.approx(VARIANCES, abs=1e-10)
    score = -0.5 * (np.log(2 * np.pi * variance) + error**2 / variance).sum()
    assert score == pytest.approx(-0.536950247288, abs=1e-10)
