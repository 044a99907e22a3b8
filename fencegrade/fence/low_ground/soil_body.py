"""The body of a fill: depth of soil under a straight surface, its section, and exact volumes.

    across the fence                     along the fence
          crest                          surface ______________
         ________                               |::::::::::::::|
        /:::|::::\\    side slope          ______|::::.--.::::::|_____
    ___/::::|:::::\\___                          ground `--'

The section has `crest` at its top and falls off to both sides, so its area is crest d + side_slope d^2 on
ground that is level across the fence. Between readings the ground is a cubic and the surface is straight, so
d is a cubic and d^2 a polynomial of the sixth degree: four Gauss points integrate both exactly.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fencegrade.ground.profile import Floats, GroundLine

Indices = NDArray[np.intp]

CUBIC_FOOT = 1728.0
"""Cubic inches."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(4)

_HALVINGS = 60
"""Steps of a bisection: enough to reach the last bit of a station."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A fill or cut across the fence: `crest` level width (in), `side_slope` horizontal to vertical."""

    crest: float
    side_slope: float

    def area(self, depth: ArrayLike) -> Floats:
        """Area (in^2) of the section by its depth (in, any shape). Source: trapezoid, own derivation."""
        d = np.asarray(depth, dtype=float)
        return np.asarray(self.crest * d + self.side_slope * d * d, dtype=float)

    def volume(self, moments: "Moments") -> Floats:
        """Volume (cubic feet) of each stretch."""
        inches = self.crest * moments.first + self.side_slope * moments.second
        return np.asarray(inches / CUBIC_FOOT, dtype=float)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Moments:
    """Integrals along the fence of the depth (in^2) and of its square (in^3), (n,) over stretches."""

    first: Floats
    second: Floats

    def raised(self, by: Floats, width: Floats) -> "Moments":
        """The same with the surface `by` (n,) inches higher over stretches of `width` (n,) inches."""
        return Moments(
            first=self.first + by * width,
            second=self.second + 2 * by * self.first + by * by * width,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pieces:
    """Stretches split at the readings: (m,) owner of each piece, its local ends (in from the reading before
    it), and (m, 4) the cubic of surface less ground in that local station, highest power first."""

    owner: Indices
    low: Floats
    high: Floats
    depth: Floats


def depth_moments(
    line: GroundLine, a: ArrayLike, b: ArrayLike, za: ArrayLike, zb: ArrayLike, clip: bool = True
) -> Moments:
    """Exact integrals of the depth and its square under straight surfaces.

    `line`: the ground; `a`, `b`: (n,) ends of each stretch (in); `za`, `zb`: (n,) elevation of the surface
    there (in); `clip`: count only where the surface is above the ground, or, if not, take the depth with its
    sign. Errors: ValueError where a stretch lies outside the readings or runs backward. Source: own
    derivation; Gauss-Legendre quadrature of four points is exact up to the seventh degree.
    """
    a, b, za, zb = (np.atleast_1d(np.asarray(v, dtype=float)) for v in np.broadcast_arrays(a, b, za, zb))
    pieces = split_at_readings(line, a, b, za, zb)
    if clip:
        pieces = _above_ground(pieces)
    middle, half = (pieces.low + pieces.high) / 2, (pieces.high - pieces.low) / 2
    first, second = np.zeros(len(middle)), np.zeros(len(middle))
    for node, weight in zip(_NODES, _WEIGHTS, strict=True):
        d = cubic_at(pieces.depth, middle + node * half)
        first += weight * d
        second += weight * d * d
    return Moments(
        first=np.asarray(np.bincount(pieces.owner, first * half, minlength=len(a)), dtype=float),
        second=np.asarray(np.bincount(pieces.owner, second * half, minlength=len(a)), dtype=float),
    )


def split_at_readings(line: GroundLine, a: Floats, b: Floats, za: Floats, zb: Floats) -> Pieces:
    """Every stretch split at the readings inside it. Errors: ValueError as `depth_moments`."""
    if a.size and not (a.min() >= line.start and b.max() <= line.end and bool(np.all(a <= b))):
        raise ValueError(
            f"a stretch must lie within the readings, {line.start:g} to {line.end:g} in, and run forward"
        )
    most = len(line.stations) - 2
    first = np.clip(np.searchsorted(line.stations, a, side="right") - 1, 0, most)
    last = np.maximum(np.searchsorted(line.stations, b, side="left") - 1, first)
    counts = last - first + 1
    owner = np.repeat(np.arange(len(a)), counts)
    piece = np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts) + first[owner]
    base = line.stations[piece]
    slope = np.divide(zb - za, b - a, out=np.zeros_like(za), where=b > a)
    return Pieces(
        owner=owner,
        low=np.maximum(a[owner], base) - base,
        high=np.minimum(b[owner], line.stations[piece + 1]) - base,
        depth=depth_cubic(line, piece, (za - slope * a)[owner], slope[owner]),
    )


def depth_cubic(line: GroundLine, piece: Indices, height: Floats, slope: Floats) -> Floats:
    """(m, 4) cubic of height + slope x less the ground, in the local station of each `piece` of the line."""
    result = -line.coefficients[piece]
    result[:, 2] += slope
    result[:, 3] += height + slope * line.stations[piece]
    return result


def cubic_at(c: Floats, t: Floats) -> Floats:
    """Value of each cubic (m, 4) at t (m,)."""
    return np.asarray(((c[:, 0] * t + c[:, 1]) * t + c[:, 2]) * t + c[:, 3], dtype=float)


def monotone_parts(c: Floats, low: Floats, high: Floats) -> Floats:
    """(4, m) ascending points of [low, high] between which each cubic is monotone."""
    p, q, r = 3 * c[:, 0], 2 * c[:, 1], c[:, 2]
    root = np.sqrt(np.maximum(q * q - 4 * p * r, 0.0))
    big = -0.5 * (q + np.where(q < 0, -root, root))
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        turns = np.nan_to_num(np.stack([big / p, r / big]), posinf=0.0, neginf=0.0)
    return np.sort(np.stack([low, *np.clip(turns, low, high), high]), axis=0)


def crossing(c: Floats, low: Floats, high: Floats) -> Floats:
    """Where each cubic changes sign within (low, high), by bisection; it must be monotone there."""
    rising = cubic_at(c, high) > cubic_at(c, low)
    low, high = low.copy(), high.copy()
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        beyond = (cubic_at(c, middle) > 0) == rising
        high = np.where(beyond, middle, high)
        low = np.where(beyond, low, middle)
    return high


def _above_ground(pieces: Pieces) -> Pieces:
    """The parts of the pieces over which the surface is above the ground."""
    points = monotone_parts(pieces.depth, pieces.low, pieces.high)
    values = np.stack([cubic_at(pieces.depth, t) for t in points])
    whole, mixed = values.min(axis=0) >= 0, (values.min(axis=0) < 0) & (values.max(axis=0) > 0)
    c, points, values = pieces.depth[mixed], points[:, mixed], values[:, mixed]
    edges = [points[0]]
    for k in range(3):
        turns = values[k] * values[k + 1] < 0
        cut = points[k + 1].copy()
        cut[turns] = crossing(c[turns], points[k][turns], points[k + 1][turns])
        edges += [cut, points[k + 1]]
    low, high = np.stack(edges[:-1]).ravel(), np.stack(edges[1:]).ravel()
    six, owner = np.tile(c, (6, 1)), np.tile(pieces.owner[mixed], 6)
    above = (high > low) & (cubic_at(six, (low + high) / 2) > 0)
    return Pieces(
        owner=np.concatenate([pieces.owner[whole], owner[above]]),
        low=np.concatenate([pieces.low[whole], low[above]]),
        high=np.concatenate([pieces.high[whole], high[above]]),
        depth=np.concatenate([pieces.depth[whole], six[above]]),
    )
