"""The rough-ground models against dense universal kriging, written a second time from the textbook.

Kriging with a trend by the full bordered system [[K, F], [F', 0]] (Cressie, Statistics for Spatial Data,
1993, section 3.4; from memory), restricted likelihood by determinants (Patterson & Thompson 1971),
leave-one-out by deleting readings.
"""

import numpy as np
import pytest

from fencegrade.ground.fit import fit_ground
from fencegrade.ground.roughness import (
    HURST,
    MATERN,
    METRE,
    STRENGTH,
    fit_windows,
    log_prior,
    rough_covariance,
)

RNG = np.random.default_rng(8)
X = np.sort(RNG.uniform(0, 9, 11))
Y = np.cumsum(RNG.normal(0, 1, 11)) + 3 * X
COUNT = np.array([1, 1, 2, 1, 1, 3, 1, 1, 1, 1, 2.0])
NOISE = 0.04
AT = np.array([0.3, 2.2, 5.05, 8.7])
FIT = fit_windows(X[None], Y[None], COUNT[None], NOISE)
MEMBERS = [(0, 3), (3, 8), (4, 12), (5, 5), (7, 9), (9, 6)]


def covariance(shape: int, strength: int, d: np.ndarray) -> np.ndarray:
    """The member's covariance from its definition; fractal members with a constant that contrasts cannot
    see."""
    c2 = STRENGTH[strength] ** 2
    if shape < len(HURST):
        return 300.0 - 0.5 * c2 * d ** (2 * HURST[shape])
    s3 = np.sqrt(3) / MATERN[shape - len(HURST)]
    drop = 1 - (1 + s3) * np.exp(-s3)
    return c2 * (1 + s3 * d) * np.exp(-s3 * d) / (2 * drop)


def dense(shape: int, strength: int, x: np.ndarray, y: np.ndarray, count: np.ndarray, at: np.ndarray):
    k = covariance(shape, strength, np.abs(x[:, None] - x)) + NOISE * np.diag(1 / count)
    f = np.stack([np.ones_like(x), x], axis=1)
    border = np.block([[k, f], [f.T, np.zeros((2, 2))]])
    right = np.vstack([covariance(shape, strength, np.abs(x[:, None] - at)), np.ones_like(at), at])
    weights = np.linalg.solve(border, right)
    whole = covariance(shape, strength, np.abs(at[:, None] - at)) - weights.T @ right
    return weights[: len(x)].T @ y, whole


def one_hot(shape: int, strength: int) -> np.ndarray:
    weights = np.zeros((len(HURST) + len(MATERN), len(STRENGTH)))
    weights[shape, strength] = 1.0
    return weights


def test_strength_is_the_change_of_height_over_a_metre() -> None:
    d = np.array([0.0, 1.0])
    for unit in rough_covariance(d):
        assert 2 * (unit[0] - unit[1]) == pytest.approx(1.0)


@pytest.mark.parametrize(("shape", "strength"), MEMBERS)
def test_mean_and_variance(shape: int, strength: int) -> None:
    mean, variance = FIT.one(0).predict(AT, one_hot(shape, strength))
    expected, whole = dense(shape, strength, X, Y, COUNT, AT)
    assert mean == pytest.approx(expected, abs=1e-7)
    assert variance == pytest.approx(np.diag(whole), rel=1e-6, abs=1e-9)


@pytest.mark.parametrize(("shape", "strength"), MEMBERS)
def test_joint_covariance(shape: int, strength: int) -> None:
    mean, joint = FIT.one(0).joint(AT, shape, strength)
    expected, whole = dense(shape, strength, X, Y, COUNT, AT)
    assert mean == pytest.approx(expected, abs=1e-7)
    assert joint == pytest.approx(whole, rel=1e-6, abs=1e-7)


def test_mixture_is_the_weighted_mean_of_members() -> None:
    weights = np.exp(log_prior())
    weights /= weights.sum()
    mean, variance = FIT.one(0).predict(AT, weights)
    parts = [
        (weights[s, c], *dense(s, c, X, Y, COUNT, AT))
        for s in range(len(weights))
        for c in range(len(STRENGTH))
    ]
    assert mean == pytest.approx(sum(w * m for w, m, _ in parts), abs=1e-6)
    assert variance == pytest.approx(sum(w * np.diag(v) for w, _, v in parts), rel=1e-5)


def test_restricted_likelihood_up_to_a_constant() -> None:
    found, expected = [], []
    f = np.stack([np.ones_like(X), X], axis=1)
    for shape, strength in MEMBERS:
        k = covariance(shape, strength, np.abs(X[:, None] - X)) + NOISE * np.diag(1 / COUNT)
        inverse = np.linalg.inv(k)
        middle = f.T @ inverse @ f
        projector = inverse - inverse @ f @ np.linalg.solve(middle, f.T @ inverse)
        misfit = Y @ projector @ Y
        expected.append(-0.5 * (np.linalg.slogdet(k)[1] + np.linalg.slogdet(middle)[1] + misfit))
        found.append(FIT.log_likelihood()[0, shape, strength])
    assert np.diff(found) == pytest.approx(np.diff(expected), abs=1e-6)


@pytest.mark.parametrize(("shape", "strength"), MEMBERS)
def test_leave_one_out_by_leaving_out(shape: int, strength: int) -> None:
    surprises = FIT.surprises()[0, shape, strength]
    for i in range(len(X)):
        keep = np.arange(len(X)) != i
        mean, whole = dense(shape, strength, X[keep], Y[keep], COUNT[keep], X[i : i + 1])
        variance = whole[0, 0] + NOISE / COUNT[i]
        assert surprises[i] == pytest.approx((Y[i] - mean[0]) ** 2 / variance, rel=1e-5)


def test_the_band_of_a_small_survey_rebuilt_densely() -> None:
    """Weights, mixture, departure of the line, surprises and Student t, all from the full covariance."""
    x, y = X * METRE, Y
    profile = fit_ground(x, y, np.sqrt(NOISE), breaks=None)
    middle = (x[0] + x[-1]) / 2
    own, at = (x - middle) / METRE, np.array([1.0, 4.4, 7.9]) * METRE
    at = at[(at > x[0]) & (at < x[-1])]
    ones = np.ones(len(x))
    f = np.stack([ones, own], axis=1)
    merit, parts, surprise = np.empty(log_prior().shape), {}, {}
    for s, c in np.ndindex(*merit.shape):
        k = covariance(s, c, np.abs(own[:, None] - own)) + NOISE * np.eye(len(x))
        inverse = np.linalg.inv(k)
        core = f.T @ inverse @ f
        p = inverse - inverse @ f @ np.linalg.solve(core, f.T @ inverse)
        merit[s, c] = -0.5 * (np.linalg.slogdet(k)[1] + np.linalg.slogdet(core)[1] + y @ p @ y)
        mean, whole = dense(s, c, own, y, ones, (at - middle) / METRE)
        parts[s, c] = mean, np.diag(whole)
        surprise[s, c] = (p @ y) ** 2 / np.diag(p)
    weights = np.exp(merit + log_prior() - (merit + log_prior()).max())
    weights /= weights.sum()
    mean = sum(weights[m] * parts[m][0] for m in parts)
    variance = sum(weights[m] * parts[m][1] for m in parts) + (mean - profile.elevation(at)) ** 2
    told = sum(weights[m] * surprise[m] for m in parts)
    near = np.exp(-0.5 * ((at[:, None] - x) / (0.7 * np.quantile(np.diff(x), 0.8))) ** 2)
    expected = np.sqrt(variance * (4 + near @ told) / (4 + near.sum(axis=1)))
    assert profile.spread.deviation(at) == pytest.approx(expected, rel=2e-3)  # negligible shapes are left out
