"""The cubics of the ground under stretches of it: where they turn, cross a line and rise highest over it.

G ..   highest over the line
   .`:.-----  a line of some slope
  a       b
"""

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from fencegrade.ground.profile import GroundLine
from fencegrade.units.arrays import Floats, Indices
from fencegrade.units.tolerances import SAME_LENGTH

_STEPS, _NEAR = 150, 1e-15
"""Most steps to a root, eight being usual, and the step, as part of a station, after which there is none."""


class Cubics(Struct, frozen=True, kw_only=True, eq=False):
    """Cubics (n, 4), highest power first, in (station - `base`), each from `low` to `high` past it (in)."""

    cubic: Floats
    base: Floats
    low: Floats
    high: Floats

    def __len__(self) -> int:
        return len(self.base)


def points(stations: Floats, elevations: Floats) -> Cubics:
    """Points (n,) in inches as cubics of no width."""
    cubic = np.zeros((len(stations), 4))
    cubic[:, 3] = elevations
    none = np.zeros(len(stations))
    return Cubics(cubic=cubic, base=stations, low=none, high=none)


def cubics_under(line: GroundLine, a: Floats, b: Floats) -> tuple[Cubics, Indices]:
    """The ground under each stretch [a, b] (n,) in inches, divided at the readings; a face has no part.

    Result: the cubics, and the stretch each belongs to, ascending. Errors: ValueError where a stretch lies
    outside the readings by more than rounding, or runs backward.
    """
    first_in, last_in = line.start - SAME_LENGTH, line.end + SAME_LENGTH
    if a.size and not (a.min() >= first_in and b.max() <= last_in and bool(np.all(a <= b))):
        raise ValueError(
            f"a stretch must lie within the readings, {line.start:g} to {line.end:g} in, and run forward"
        )
    a, b = (np.clip(x, line.start, line.end) for x in (a, b))
    first = np.clip(np.searchsorted(line.stations, a, side="right") - 1, 0, len(line.stations) - 2)
    owner, index = spread(first, np.maximum(np.searchsorted(line.stations, b, side="left"), first + 1))
    wide = np.diff(line.stations)[index] > 0
    owner, index = owner[wide], index[wide]
    base = line.stations[index]
    cubics = Cubics(
        cubic=line.coefficients[index],
        base=base,
        low=np.maximum(a[owner], base) - base,
        high=np.minimum(b[owner], line.stations[index + 1]) - base,
    )
    return cubics, owner


def over_chord(line: GroundLine, gap: Indices, part: Floats, steps: int = 1) -> Floats:
    """How far the ground's curve stands over straight ground from reading to reading.

    Parameters
    ----------
    line : GroundLine
        The curve.
    gap : any shape
        Intervals between neighbouring readings, counted from 0.
    part : shape of gap, 0 to 1
        How far along each.
    steps : int
        Straight from reading to reading, or in so many even steps that stand on the curve.

    Returns
    -------
    shape of gap, in
        Nothing at the readings and along a face. Source: own derivation.
    """
    width = np.diff(line.stations)[gap]
    cubic, square = line.coefficients[gap, 0] * width**3, line.coefficients[gap, 1] * width**2

    def curve(at: Floats) -> Floats:
        return np.asarray((cubic * at + square) * at**2, dtype=float)

    first = np.minimum(np.floor(part * steps), steps - 1) / steps
    foot, head = curve(first), curve(first + 1 / steps)
    return np.asarray(curve(part) - foot - (head - foot) * (part - first) * steps, dtype=float)


def mean_square_over_chord(line: GroundLine) -> Floats:
    """Mean square (in^2) of what `over_chord` tells along each interval (n - 1,).

    Source: the integral from 0 to 1 of (a t(t^2 - 1) + b t(t - 1))^2 is 8 a^2 / 105 + a b / 10 + b^2 / 30.
    """
    width = np.diff(line.stations)
    cubic, square = line.coefficients[:, 0] * width**3, line.coefficients[:, 1] * width**2
    return np.asarray(8 * cubic**2 / 105 + cubic * square / 10 + square**2 / 30, dtype=float)


def spread(first: Indices, past: Indices) -> tuple[Indices, Indices]:
    """For stretches that each hold the indices `first` to `past` - 1: the stretch of each index, and it."""
    counts = np.maximum(past - first, 0)
    owner = np.repeat(np.arange(len(first)), counts)
    return owner, np.arange(len(owner)) - (np.cumsum(counts) - counts)[owner] + first[owner]


def over_line(cubic: Floats, base: Floats, height: Floats, slope: Floats) -> Floats:
    """(n, 4) cubics of height + slope x less each of the ground's, x the station (in)."""
    result = -cubic
    result[:, 2] += slope
    result[:, 3] += height + slope * base
    return result


def cubic_at(c: Floats, t: Floats) -> Floats:
    """Value of each cubic (n, 4) at t (n,) or (m, n)."""
    return np.asarray(((c[:, 0] * t + c[:, 1]) * t + c[:, 2]) * t + c[:, 3], dtype=float)


def turns(c: Floats, slope: Floats | float = 0.0) -> tuple[Floats, Floats]:
    """Places where the derivative of each cubic equals `slope`, (n,) or (m, 1); 0 where there is none.

    Source: the stable pair of roots of p t^2 + q t + r: one from the larger sum, the other from the product
    (Press et al., Numerical Recipes, 3rd edition, section 5.6).
    """
    p, q, r = 3 * c[:, 0], 2 * c[:, 1], c[:, 2] - slope
    root = np.sqrt(np.maximum(q * q - 4 * p * r, 0.0))
    big = -0.5 * (q + np.where(q < 0, -root, root))
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return np.nan_to_num(big / p, posinf=0, neginf=0), np.nan_to_num(r / big, posinf=0, neginf=0)


def monotone_parts(c: Floats, low: Floats, high: Floats) -> Floats:
    """(4, n) ascending points of [low, high] between which each cubic is monotone."""
    return np.sort(np.stack([low, *np.clip(np.stack(turns(c)), low, high), high]), axis=0)


def crossing(c: Floats, low: Floats, high: Floats) -> Floats:
    """Where each cubic changes sign within (low, high); it must be monotone there.

    Newton's steps, halved where one would leave what still holds the root, and at every third. Source: Press
    et al., Numerical Recipes, 3rd edition, section 9.4.
    """
    rising = cubic_at(c, high) > cubic_at(c, low)
    low, high = low.copy(), high.copy()
    at = (low + high) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        for step in range(_STEPS):
            value = cubic_at(c, at)
            beyond = (value > 0) == rising
            high, low = np.where(beyond, at, high), np.where(beyond, low, at)
            before, half = at, (low + high) / 2
            at = before - value / ((3 * c[:, 0] * before + 2 * c[:, 1]) * before + c[:, 2])
            at = np.where((at >= low) & (at <= high) & (step % 3 < 2), at, half)
            if bool(np.all(np.abs(at - before) <= _NEAR * (high + 1))):
                break
    return at


def extremes_about_line(
    line: GroundLine, a: ArrayLike, b: ArrayLike, slope: ArrayLike
) -> tuple[Floats, Floats]:
    """Highest and lowest of G(x) - slope (x - a) over each stretch [a, b].

    `line`: the ground; `a`, `b`: (n,) stations in inches; `slope`: (n,) rise over run. Result: two (n,)
    arrays of inches, both exact: within one cubic the extremes lie at its ends or where its derivative
    equals the slope. Errors: ValueError as `cubics_under`. Source: own derivation.
    """
    a, b, slope = (np.atleast_1d(np.asarray(v, dtype=float)) for v in np.broadcast_arrays(a, b, slope))
    under, owner = cubics_under(line, a, b)
    m = slope[owner]
    t = np.clip(np.stack([under.low, under.high, *turns(under.cubic, m)]), under.low, under.high)
    value = cubic_at(under.cubic, t) - m * (under.base + t - a[owner])
    starts = np.searchsorted(owner, np.arange(len(a)))
    return np.maximum.reduceat(value.max(axis=0), starts), np.minimum.reduceat(value.min(axis=0), starts)
