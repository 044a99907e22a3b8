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

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import ArrayLike

from fencegrade.ground.cubics import (
    Cubics,
    crossing,
    cubic_at,
    cubics_under,
    monotone_parts,
    over_line,
)
from fencegrade.ground.profile import GroundLine
from fencegrade.units.arrays import Floats, Indices, as_one, some_of

CUBIC_FOOT = 1728.0
"""Cubic inches."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(4)


class Section(Struct, frozen=True, kw_only=True):
    """A fill or cut across the fence: `crest` level width (in), `side_slope` horizontal to vertical."""

    crest: float
    side_slope: float

    def volume(self, moments: "Moments") -> Floats:
        """Volume (cubic feet) of each stretch."""
        inches = self.crest * moments.first + self.side_slope * moments.second
        return np.asarray(inches / CUBIC_FOOT, dtype=float)


class Moments(Struct, frozen=True, kw_only=True, eq=False):
    """Integrals along the fence of the depth (in^2) and of its square (in^3), (n,) over stretches."""

    first: Floats
    second: Floats

    def raised(self, by: Floats, width: Floats) -> "Moments":
        """The same with the surface `by` (n,) inches higher over stretches of `width` (n,) inches."""
        return Moments(
            first=self.first + by * width,
            second=self.second + 2 * by * self.first + by * by * width,
        )


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
    pieces, owner = cubics_under(line, a, b)
    slope = np.divide(zb - za, b - a, out=np.zeros_like(za), where=b > a)
    depth = over_line(pieces.cubic, pieces.base, (za - slope * a)[owner], slope[owner])
    pieces = replace(pieces, cubic=depth)
    if clip:
        pieces, owner = _above_ground(pieces, owner)
    middle, half = (pieces.low + pieces.high) / 2, (pieces.high - pieces.low) / 2
    first, second = np.zeros(len(middle)), np.zeros(len(middle))
    for node, weight in zip(_NODES, _WEIGHTS, strict=True):
        d = cubic_at(pieces.cubic, middle + node * half)
        first += weight * d
        second += weight * d * d
    return Moments(
        first=np.asarray(np.bincount(owner, first * half, minlength=len(a)), dtype=float),
        second=np.asarray(np.bincount(owner, second * half, minlength=len(a)), dtype=float),
    )


def _above_ground(pieces: Cubics, owner: Indices) -> tuple[Cubics, Indices]:
    """The parts of the depths that are above zero, and the stretch each belongs to."""
    points = monotone_parts(pieces.cubic, pieces.low, pieces.high)
    values = np.stack([cubic_at(pieces.cubic, t) for t in points])
    whole, mixed = values.min(axis=0) >= 0, (values.min(axis=0) < 0) & (values.max(axis=0) > 0)
    c, points, values = pieces.cubic[mixed], points[:, mixed], values[:, mixed]
    turning, cuts = values[:-1] * values[1:] < 0, points[1:].copy()
    cubics = np.broadcast_to(c, (3, *c.shape))[turning]
    cuts[turning] = crossing(cubics, points[:-1][turning], points[1:][turning])
    edges = [points[0], *(edge for pair in zip(cuts, points[1:], strict=True) for edge in pair)]
    low, high = np.stack(edges[:-1]).ravel(), np.stack(edges[1:]).ravel()
    parts = Cubics(cubic=np.tile(c, (6, 1)), base=np.tile(pieces.base[mixed], 6), low=low, high=high)
    above = (high > low) & (cubic_at(parts.cubic, (low + high) / 2) > 0)
    owners = np.concatenate([owner[whole], np.tile(owner[mixed], 6)[above]])
    return as_one((some_of(pieces, whole), some_of(parts, above))), owners
