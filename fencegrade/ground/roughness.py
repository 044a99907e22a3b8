"""A family of models of rough ground, each weighed by how well it explains the readings.

Heights are a level and a slope with flat priors, a rough part, and reading error. The rough part is one of
a grid: fractal ground whose height changes by c over a metre and by c d^H over d metres, or a Matern 3/2
field of length l, scaled so that c means the same. Every member is weighed by its restricted likelihood
and a wide prior; nothing is searched for. For one shape (H or l) all strengths c share one
eigendecomposition of the covariance of the readings' contrasts, so the whole grid costs a handful of them.

Sources: restricted likelihood, Patterson & Thompson, Biometrika 58 (1971); Matern and leave-one-out
formulas, Rasmussen & Williams, Gaussian Processes for Machine Learning (2006), eq. 4.17 and 5.12; grid and
priors, own measurements on ground profiles.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

METRE = 1000 / 25.4
HURST = np.array([0.5, 0.6, 0.7, 0.8, 0.9])
"""Exponents H of fractal ground."""
MATERN = np.array([0.8, 1.6, 3.0, 6.0, 15.0])
"""Lengths of the Matern fields, metres."""
STRENGTH = np.geomspace(2.0, 400.0, 14) / 25.4
"""Root mean square change of height over one metre, inches."""

SHAPES = len(HURST) + len(MATERN)


def matern32(r: Floats, length: float) -> Floats:
    """Matern 3/2 correlation at distance r (any unit, as `length`): (1 + sqrt(3) r/l) exp(-sqrt(3) r/l).

    Source: Rasmussen & Williams (2006), eq. 4.17.
    """
    scaled = np.sqrt(3.0) * r / length
    return np.asarray((1 + scaled) * np.exp(-scaled), dtype=float)


def rough_covariance(d: Floats) -> Floats:
    """Covariance of unit strength for every shape at distances d (metres): (SHAPES, *d.shape).

    Fractal members are generalised covariances -d^(2H) / 2, right for contrasts only.
    """
    result = np.empty((SHAPES, *d.shape))
    with np.errstate(divide="ignore"):
        log_d = np.log(d)
    for k, hurst in enumerate(HURST):
        result[k] = -0.5 * np.exp(2 * hurst * log_d)
    for k, length in enumerate(MATERN, start=len(HURST)):
        result[k] = matern32(d, length) / (2 * (1 - matern32(np.array(1.0), length)))
    return result


def log_prior() -> Floats:
    """Log prior of every member (SHAPES, strengths): wide lognormals about c = 30 mm and l = 3 m."""
    strength = -0.5 * (np.log(STRENGTH * 25.4 / 30.0) / 1.2) ** 2
    length = -0.5 * (np.log(MATERN / 3.0) / 1.0) ** 2
    shape = np.concatenate([np.zeros(len(HURST)), length])
    shape[: len(HURST)] -= np.log(len(HURST))
    shape[len(HURST) :] -= np.log(np.exp(length).sum())
    return np.asarray(shape[:, None] + strength[None, :], dtype=float)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoughFit:
    """Readings of a batch of windows seen through every member of the grid.

    Axes: B windows, S shapes, C strengths, m readings, m - 2 contrasts. `x` (B, m) metres about each
    window's middle; `root` (B, m) square root of the readings averaged; `y` (B, m) heights (in) times `root`;
    `noise` variance of one reading (in^2); `trend` (B, m, 2); `modes` (B, S, m, m-2); `values` (B, S, m-2);
    `scores` (B, S, m-2) modes' heights; `spread` (B, S, C, m-2) their variances.
    """

    x: Floats
    root: Floats
    y: Floats
    noise: float
    trend: Floats
    covariance: Floats
    modes: Floats
    values: Floats
    scores: Floats
    spread: Floats

    def log_likelihood(self) -> Floats:
        """Restricted log likelihood of every member, up to a constant: (B, S, C)."""
        misfit = self.scores[:, :, None, :] ** 2 / self.spread
        return np.asarray(-0.5 * (np.log(self.spread) + misfit).sum(axis=-1), dtype=float)

    def surprises(self) -> Floats:
        """Squared leave-one-out error over its variance, every member: (B, S, C, m). R&W eq. 5.12."""
        inverse = np.swapaxes(1 / self.spread, -1, -2)
        own = self.modes**2 @ inverse
        pull = (self.modes * self.scores[:, :, None, :]) @ inverse
        return np.swapaxes(pull**2 / own, -1, -2)

    def predict(self, window: int, x: Floats) -> tuple[Floats, Floats]:
        """Mean (in) and variance (in^2) of the ground at x (k,) metres, every member: (S, C, k)."""
        a, h, q = self._against(window, x)
        c2 = STRENGTH**2
        gain = c2[None, :, None] / self.spread[window]
        mean = (a @ self.y[window])[None, None, :] + gain * self.scores[window][:, None, :] @ np.swapaxes(
            h, 1, 2
        )
        explained = (gain * c2[None, :, None]) @ np.swapaxes(h**2, 1, 2)
        flat = self.noise * np.einsum("ki,ki->k", a, a)
        variance = c2[None, :, None] * q[:, None, :] + flat - explained
        return mean, np.maximum(variance, 0.0)

    def _against(self, window: int, x: Floats) -> tuple[Floats, Floats, Floats]:
        """Trend weights (k, m), covariance with the modes (S, k, m-2), own variance (S, k) at x."""
        trend, root = self.trend[window], self.root[window]
        basis = np.stack([np.ones_like(x), x], axis=-1)
        a = basis @ np.linalg.solve(trend.T @ trend, trend.T)
        r = rough_covariance(np.abs(x[:, None] - self.x[window][None, :])) * root
        ra = a @ self.covariance[window]
        h = (r - ra) @ self.modes[window]
        at_zero = rough_covariance(np.zeros(1))
        q = at_zero - 2 * np.einsum("ki,ski->sk", a, r) + np.einsum("ki,ski->sk", a, ra)
        return a, h, q


def fit_windows(x: Floats, y: Floats, count: Floats, noise: float) -> RoughFit:
    """See readings through the grid.

    `x` (B, m) metres, ascending; `y` (B, m) heights (in); `count` (B, m) readings averaged into each;
    `noise` variance of one reading (in^2). m is two or more.
    """
    root = np.sqrt(count)
    trend = np.stack([np.ones_like(x), x], axis=-1) * root[..., None]
    whole, _ = np.linalg.qr(trend, mode="complete")
    contrasts = whole[:, None, :, 2:]
    d = np.abs(x[:, :, None] - x[:, None, :])
    covariance = np.moveaxis(rough_covariance(d), 0, 1) * (root[:, :, None] * root[:, None, :])[:, None]
    values, vectors = np.linalg.eigh(np.swapaxes(contrasts, -1, -2) @ covariance @ contrasts)
    values = np.maximum(values, 0.0)
    modes = contrasts @ vectors
    weighted = y * root
    scores = np.einsum("bsmj,bm->bsj", modes, weighted)
    spread = STRENGTH[None, None, :, None] ** 2 * values[:, :, None, :] + noise
    return RoughFit(
        x=x,
        root=root,
        y=weighted,
        noise=noise,
        trend=trend,
        covariance=covariance,
        modes=modes,
        values=values,
        scores=scores,
        spread=spread,
    )
