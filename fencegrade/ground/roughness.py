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

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

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

NEGLIGIBLE = 2e-3
"""A shape that weighs less than this is left out of predictions."""


def matern32(r: Floats, length: float) -> Floats:
    """Matern 3/2 correlation at distance r (any unit, as `length`): (1 + sqrt(3) r/l) exp(-sqrt(3) r/l).

    Source: Rasmussen & Williams (2006), eq. 4.17.
    """
    scaled = np.sqrt(3.0) * r / length
    return np.asarray((1 + scaled) * np.exp(-scaled), dtype=float)


def left_out(own: Floats, pull: Floats) -> tuple[Floats, Floats]:
    """Leave-one-out error y - mean and its variance, reading by reading.

    `own` the diagonal of the inverse covariance of the readings, `pull` that inverse times the readings.
    Source: Rasmussen & Williams (2006), eq. 5.12.
    """
    return pull / own, 1 / own


def rough_covariance(d: Floats, shapes: Sequence[int] | NDArray[np.intp] = range(SHAPES)) -> Floats:
    """Covariance of unit strength for the shapes named, at distances d (metres): (len(shapes), *d.shape).

    Fractal members are generalised covariances -d^(2H) / 2, right for contrasts only.
    """
    result = np.empty((len(shapes), *d.shape))
    with np.errstate(divide="ignore"):
        log_d = np.log(d)
    for row, k in enumerate(shapes):
        if k < len(HURST):
            result[row] = -0.5 * np.exp(2 * HURST[k] * log_d)
        else:
            length = MATERN[k - len(HURST)]
            result[row] = matern32(d, length) / (2 * (1 - matern32(np.array(1.0), length)))
    return result


@cache
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
        """Squared leave-one-out error over its variance, every member: (B, S, C, m); 1 with no contrast.

        Source: Rasmussen & Williams (2006), eq. 5.12, in the readings' contrasts.
        """
        if self.values.shape[-1] == 0:
            return np.ones((*self.spread.shape[:3], self.x.shape[-1]))
        inverse = np.swapaxes(1 / self.spread, -1, -2)
        own = self.modes**2 @ inverse
        pull = (self.modes * self.scores[:, :, None, :]) @ inverse
        error, variance = left_out(np.maximum(own, 1e-300), pull)
        return np.swapaxes(error**2 / variance, -1, -2)

    def one(self, window: int) -> "WindowFit":
        """One window of the batch."""
        return WindowFit(
            x=self.x[window],
            root=self.root[window],
            y=self.y[window],
            noise=self.noise,
            trend=self.trend[window],
            covariance=self.covariance[window],
            modes=self.modes[window],
            scores=self.scores[window],
            spread=self.spread[window],
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WindowFit:
    """The readings of one window seen through every member; axes as in `RoughFit` without the first."""

    x: Floats
    root: Floats
    y: Floats
    noise: float
    trend: Floats
    covariance: Floats
    modes: Floats
    scores: Floats
    spread: Floats

    def predict(self, x: Floats, weights: Floats) -> tuple[Floats, Floats]:
        """Mean (in) and mean variance (in^2) of the ground at x (k,) metres over the members.

        `weights` (S, C) of the members, summing to one; shapes that hardly matter are left out.
        """
        by_shape = weights.sum(axis=1)
        shapes = np.flatnonzero(by_shape > NEGLIGIBLE)
        weights = weights[shapes] / by_shape[shapes].sum()
        c2 = STRENGTH**2
        pull = np.einsum("sc,scj->sj", weights * c2, 1 / self.spread[shapes]) * self.scores[shapes]
        loss = np.einsum("sc,scj->sj", weights * c2**2, 1 / self.spread[shapes])
        a, h, r = self._against(x, shapes)
        mean = a @ self.y + np.einsum("skj,sj->k", h, pull)
        own = rough_covariance(np.zeros(1), shapes) - 2 * np.einsum("ki,ski->sk", a, r)
        own += np.einsum("ki,ski->sk", a, a @ self.covariance[shapes])
        variance = (weights @ c2) @ own - np.einsum("skj,sj->k", h**2, loss)
        return mean, np.maximum(variance + self.noise * np.einsum("ki,ki->k", a, a), 0.0)

    def joint(self, x: Floats, shape: int, strength: int) -> tuple[Floats, Floats]:
        """Mean (k,) (in) and covariance (k, k) (in^2) of the ground at x (k,) metres by one member."""
        shapes = np.array([shape])
        a, h, r = (part if part.ndim == 2 else part[0] for part in self._against(x, shapes))
        c2 = float(STRENGTH[strength] ** 2)
        spread = self.spread[shape, strength]
        cross = a @ r.T
        own = rough_covariance(np.abs(x[:, None] - x[None, :]), shapes)[0] - cross - cross.T
        own += a @ self.covariance[shape] @ a.T
        mean = a @ self.y + h @ (c2 * self.scores[shape] / spread)
        return mean, c2 * own + self.noise * a @ a.T - c2**2 * (h / spread) @ h.T

    def _against(self, x: Floats, shapes: NDArray[np.intp]) -> tuple[Floats, Floats, Floats]:
        """At x: trend weights (k, m), covariance with the modes (s, k, m-2), with the readings (s, k, m)."""
        basis = np.stack([np.ones_like(x), x], axis=-1)
        a = basis @ np.linalg.solve(self.trend.T @ self.trend, self.trend.T)
        d = np.abs(x[:, None] - self.x[None, :])
        r = rough_covariance(d, shapes) * self.root
        return a, (r - a @ self.covariance[shapes]) @ self.modes[shapes], r


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
