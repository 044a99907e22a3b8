"""The law of the ground written a second time, reading by reading and board by board, in plain Python."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy import integrate, stats
from scipy.interpolate import PchipInterpolator

from fencegrade.ground.advice import FROM_CHART
from fencegrade.ground.fit import fit_ground

RNG = np.random.default_rng(8)
X = np.cumsum(RNG.uniform(20, 130, 12))
Z = np.cumsum(RNG.normal(0, 2, 12))
BREAKS = X[[3, 7]]
SIGMA = 0.25


def law(x: list[float], z: list[float], breaks: list[float]) -> tuple[list[float], list[float]]:
    """Roughness of every gap, and scale of the ground half way along it."""
    n, unit = len(x), 96.0
    run, parts = 2.0, [(0.0, 0.0)] * n
    for round_ in range(3):
        for k in range(1, n - 1):
            hl, hr = (x[k] - x[k - 1]) / unit, (x[k + 1] - x[k]) / unit
            a, b = hr / (hl + hr), hl / (hl + hr)
            d = abs(z[k] - a * z[k - 1] - b * z[k + 1]) * (0.2 if x[k] in breaks else 1.0)
            g, e = hl * hr / (hl + hr), SIGMA**2 * (1 + a * a + b * b)
            parts[k] = g / (g + e / run**2), d / math.sqrt(g + e / run**2)
        if round_ < 2:
            run = (4 + sum(v * r for v, r in parts)) / (2 + sum(v for v, _ in parts))
    rough, middle = [], []
    for i in range(n - 1):
        (v, r), (w, q) = parts[i], parts[i + 1]
        c = (2.5 * run + v * r + w * q) / (2.5 + v + w)
        c *= (c / 2) ** -0.1
        rough.append(c)
        middle.append(0.36 * c * math.sqrt((x[i + 1] - x[i]) / unit) * (1.1 if i in (0, n - 2) else 1.0))
    return rough, middle


def bend(x: list[float], station: float) -> float:
    """Root 2 times what scipy's curve stands over the chord of two readings, one of them a break."""
    i = max(k for k in range(len(x) - 1) if x[k] <= station)
    if not {x[i], x[i + 1]} & set(BREAKS):
        return 0.0
    return math.sqrt(2) * float(PchipInterpolator(X, Z)(station) - np.interp(station, X, Z))


def at(x: list[float], middle: list[float], station: float) -> tuple[float, float]:
    """Scale and degrees of freedom at a station."""
    i = max(k for k in range(len(x) - 1) if x[k] <= station)
    t = (station - x[i]) / (x[i + 1] - x[i])
    rough = middle[i] ** 2 * (4 * t * (1 - t)) ** 1.5
    whole = rough + SIGMA**2 * ((1 - t) ** 2 + t * t) + bend(x, station) ** 2
    return math.sqrt(whole), min(200.0, 3 * (whole / rough) ** 2) if rough else 200.0


def test_the_band_by_hand() -> None:
    profile = fit_ground(X, Z, SIGMA, BREAKS)
    _, middle = law(list(X), list(Z), list(BREAKS))
    for station in RNG.uniform(X[0], X[-1], 40):
        scale, freedom = at(list(X), middle, station)
        spread = profile.spread.at(station)
        assert float(spread.scale) == pytest.approx(scale)
        assert float(spread.freedom) == pytest.approx(freedom)
        low, high = profile.band(station, 0.8)
        assert (float(high) - float(low)) / 2 == pytest.approx(stats.t.ppf(0.9, freedom) * scale)
        assert float(profile.chance_off(station, 0.5)) == pytest.approx(2 * stats.t.sf(0.5 / scale, freedom))


@pytest.mark.parametrize("slope", [0.0, 0.08])
def test_a_board_by_hand(slope: float) -> None:
    """The open height of a board by its highest and lowest point on a fine grid, tilt by tilt."""
    profile = fit_ground(X, Z, SIGMA, BREAKS)
    rough, middle = law(list(X), list(Z), list(BREAKS))
    for a in RNG.uniform(X[0], X[-1] - 5.5, 20):
        b, fine = a + 5.5, np.linspace(a, a + 5.5, 2001)
        ground = profile.elevation(fine) - slope * (fine - a)
        foot = float(ground.max()) + RNG.uniform(1, 3)
        scale, freedom = at(list(X), middle, (a + b) / 2)
        i = max(k for k in range(len(X) - 1) if X[k] <= (a + b) / 2)
        chance = 0.0
        for tilt, weight in ((-1.73, 1 / 6), (0.0, 2 / 3), (1.73, 1 / 6)):
            turn = bend(list(X), b) - bend(list(X), a)
            d = tilt * math.hypot(0.36 * rough[i] * math.sqrt(5.5 / 96), turn)
            edges = (ground[0] - d / 2, ground[-1] + d / 2)
            high, low = (max(edges), min(edges)) if tilt else (ground.max(), ground.min())
            chance += weight * stats.t.sf((foot - 1 + 1 / 16 - high) / scale, freedom)
            chance += weight * stats.t.cdf((foot - 3 - 1 / 16 - low) / scale, freedom)
        told = profile.chance_outside([a], [b], [foot], 1.0, 3.0, slope)
        assert told[0] == pytest.approx(min(chance, 1.0), abs=1e-5)


def test_mean_variance_by_quadrature() -> None:
    profile = fit_ground(X, Z, SIGMA, BREAKS)
    told = profile.spread.mean_variance()
    for i, (a, b) in enumerate(pairwise(X)):
        whole, _ = integrate.quad(lambda x: float(profile.spread.at(x).scale) ** 2, a, b)
        assert told[i] == pytest.approx(whole / (b - a), rel=1e-5)


def test_draws_have_the_law_of_the_band() -> None:
    """At every station, by the share of draws beyond each quantile of the band."""
    profile = fit_ground(X, Z, SIGMA, BREAKS)
    stations = np.linspace(X[0], X[-1], 41)
    draws = profile.draws(stations, 6000, seed=3)
    for level in (0.025, 0.25, 0.5, 0.9, 0.99):
        share = (draws < profile.quantile(stations, level)).mean(axis=0)
        assert np.abs(share - level).max() < 4.5 * math.sqrt(level * (1 - level) / 6000)


def test_draws_tilt_as_boards_do() -> None:
    """Across a board near the middle of a wide gap, the middle half of differences of draws."""
    x = np.arange(6) * 96.0
    profile = fit_ground(x, [0, 3, -2, 5, 1, 2.0], 1e-3)
    edges = np.array([190.0 + 48 - 2.75 + 2, 190.0 + 48 + 2.75 + 2])
    draws = profile.draws(edges, 20_000) - profile.elevation(edges)
    half = np.quantile(np.abs(draws[:, 1] - draws[:, 0]), 0.5)
    tilt = float(profile.spread.tilt(edges[:1], edges[1:])[0])
    assert half == pytest.approx(stats.t.ppf(0.75, 3) * tilt, rel=0.06)


def test_boards_cut_from_the_chart_over_ditches_with_straight_sides_stand_within_their_limits() -> None:
    """Sixty ditches in simulation, their corners read and named; 2 in wanted, 1 in least, square boards."""
    rng = np.random.default_rng(5)
    chart = np.zeros(2)
    for _ in range(60):
        depth, side, floor = rng.uniform([8, 16, 16], [28, 48, 40])
        corners = 80 + np.cumsum([0, side, floor, side])
        x = np.array([0, 40, *corners, corners[-1] + 40, corners[-1] + 80])
        z = -depth * np.array([0, 0, 0, 1, 1, 0, 0, 0])
        profile = fit_ground(x, z + rng.normal(0, 3 / 16, 8), breaks=corners)
        left = np.arange(corners[0] - 10, corners[-1] + 6, 4.1)
        foot = profile.highest(left, left + 3.75) + 2
        most = np.maximum(3, foot - profile.lowest(left, left + 3.75))
        under = np.interp(left[:, None] + np.linspace(0, 3.75, 12), x, z)
        gaps = foot - under.max(axis=1), foot - under.min(axis=1)
        outside = (gaps[0] < 1 - 1 / 16) | (gaps[1] > most + 1 / 16)
        sure = profile.chance_outside(left, left + 3.75, foot, 1.0, most) <= FROM_CHART
        chart += (outside & sure).sum(), sure.sum()
    assert chart[1] > 400
    assert chart[0] / chart[1] < 0.05
