"""Exact extremes of the ground about slanting straight lines, for scribed cuts and supporting lines."""

import numpy as np
from numpy.typing import ArrayLike

from fencegrade.ground.profile import Floats, GroundLine


def extremes_about_line(
    line: GroundLine, a: ArrayLike, b: ArrayLike, slope: ArrayLike
) -> tuple[Floats, Floats]:
    """Highest and lowest of G(x) - slope (x - a) over each stretch [a, b].

    `line`: the ground; `a`, `b`: (n,) stations in inches; `slope`: (n,) rise over run. Result: two (n,)
    arrays of inches, both exact: within one cubic the extremes lie at its ends or where its derivative
    equals the slope. Errors: ValueError where a stretch lies outside the readings. Source: own
    derivation.

        G ..   highest touch
           .`:.-----  the line of that slope, raised until it clears
          a       b
    """
    a, b, slope = (np.atleast_1d(np.asarray(v, dtype=float)) for v in np.broadcast_arrays(a, b, slope))
    if not (np.all(a >= line.start) and np.all(b <= line.end)):
        raise ValueError("a stretch lies outside the readings")
    first = np.maximum(np.searchsorted(line.stations, a, side="right") - 1, 0)
    first = np.minimum(first, len(line.stations) - 2)
    last = np.maximum(np.searchsorted(line.stations, b, side="left") - 1, first)
    counts = last - first + 1
    owner = np.repeat(np.arange(len(a)), counts)
    offsets = np.cumsum(counts) - counts
    piece = np.arange(len(owner)) - np.repeat(offsets, counts) + first[owner]
    base = line.stations[piece]
    low_t = np.maximum(a[owner], base) - base
    high_t = np.minimum(b[owner], line.stations[piece + 1]) - base
    c = line.coefficients[piece]
    m = slope[owner]
    turns = _turning(c, m)
    t = np.clip(np.stack([low_t, high_t, *turns]), low_t, high_t)
    value = ((c[:, 0] * t + c[:, 1]) * t + c[:, 2]) * t + c[:, 3] - m * (base + t - a[owner])
    high = np.maximum.reduceat(value.max(axis=0), offsets)
    low = np.minimum.reduceat(value.min(axis=0), offsets)
    return high, low


def _turning(c: Floats, slope: Floats) -> tuple[Floats, Floats]:
    """Where each cubic's derivative equals the slope; 0 where it never does."""
    p, q, r = 3 * c[:, 0], 2 * c[:, 1], c[:, 2] - slope
    root = np.sqrt(np.maximum(q * q - 4 * p * r, 0.0))
    # the stable pair of roots of p t^2 + q t + r: one from the larger sum, the other from the product
    big = -0.5 * (q + np.where(q < 0, -root, root))
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.nan_to_num(big / p, posinf=0, neginf=0), np.nan_to_num(r / big, posinf=0, neginf=0)
