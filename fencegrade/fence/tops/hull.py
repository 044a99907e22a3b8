"""Supporting lines: for every slope the lowest straight line over the ground, exact along its upper hull.

slope m   ___---o     the line of slope m touches the hull at one station;
 ___---'''       `.   as m grows the touch moves back towards the start
"""

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.tops.line_on_ground import (
    ToClear,
    ground_alone,
    pieces_between,
    touch_pieces,
)
from fencegrade.ground.cubics import Cubics, cubic_at, points, spread
from fencegrade.units.arrays import Floats, Indices, as_one, some_of
from fencegrade.units.tolerances import SAME_LENGTH

_ROUNDS = 60
_SAME = 1e-12
_STILL = 1e-14


class Support(Struct, frozen=True, kw_only=True, eq=False):
    """The supporting lines of the ground over [start, end], stations in inches.

    `breaks` (k - 1,): slopes, ascending, at which the touch passes from one of the `pieces` (k,) to the
    next; slopes below the first break touch `pieces[0]`.
    """

    start: float
    end: float
    breaks: Floats
    pieces: Cubics

    def at(self, slope: Floats) -> tuple[Floats, Floats]:
        """Greatest G(x) - slope (x - start), inches, and the station of the touch, for each slope (n,)."""
        index = np.searchsorted(self.breaks, slope)
        return touch_pieces(some_of(self.pieces, index), slope, self.start)

    def ends(self) -> tuple[float, float]:
        """Ground (in) at the start and at the end of the stretch."""
        first = float(np.polyval(self.pieces.cubic[-1], self.pieces.low[-1]))
        return first, float(np.polyval(self.pieces.cubic[0], self.pieces.high[0]))

    def lowest_over(self, station: float) -> float:
        """Slope of the supporting line that is lowest over a station (in) within the stretch.

        Source: own derivation: the line touches at the station, or on both sides of it.
        """
        index = np.arange(len(self.breaks))
        _, before = touch_pieces(some_of(self.pieces, index), self.breaks, self.start)
        _, after = touch_pieces(some_of(self.pieces, index + 1), self.breaks, self.start)
        k = int(np.searchsorted(-before, -station))
        if k and station > after[k - 1]:
            return float(self.breaks[k - 1])
        a, b, c, _ = self.pieces.cubic[k]
        t = float(np.clip(station - self.pieces.base[k], self.pieces.low[k], self.pieces.high[k]))
        bounds = np.concatenate([[-np.inf], self.breaks, [np.inf]])
        return float(np.clip((3 * a * t + 2 * b) * t + c, bounds[k], bounds[k + 1]))


def support(under: ToClear, start: float, end: float) -> Support:
    """The supporting lines of what is to be cleared over [start, end], inches.

    Errors: ValueError where the stretch lies outside the readings or has no length. Source: own
    derivation; pieces are found by crossing slopes between neighbours until none lies higher between: as
    the touch moves one way along the run, only those that lie between the two can. Exact to rounding.
    """
    pieces = _cut_at_points(under, start, end)
    bound = np.abs(_end_slopes(pieces)).max() + np.abs(_knot_slopes(pieces)).max() + 1.0
    slopes, every = np.array([-bound, bound]), np.zeros(2, dtype=np.int64)
    owner = _best(pieces, slopes, every, every + len(pieces) - 1, start)[0]
    while len(open_ := np.flatnonzero((owner[1:] != owner[:-1]) & (slopes[1:] > slopes[:-1]))):
        a, b = owner[open_], owner[open_ + 1]
        cross, level = _crossing(pieces, a, b, slopes[open_], slopes[open_ + 1], start)
        found, value = _best(pieces, cross, np.minimum(a, b), np.maximum(a, b), start)
        done = (value <= level + _SAME * (1 + np.abs(level))) | (found == a) | (found == b)
        # a settled crossing stands twice, once with each neighbour; else the piece found there comes between
        at = np.concatenate([open_[done], open_[done], open_[~done]]) + 1
        slopes = np.insert(slopes, at, np.concatenate([cross[done], cross[done], cross[~done]]))
        owner = np.insert(owner, at, np.concatenate([a[done], b[done], found[~done]]))
    return _compress(start, end, pieces, slopes, owner)


def _cut_at_points(under: ToClear, start: float, end: float) -> Cubics:
    """The pieces between two stations in order, those of the ground ending where points stand over them.

    So each piece is touched over one range of slopes, whichever pieces it lies between.
    """
    ground, _, _ = pieces_between(ground_alone(under.line), np.array([start]), np.array([end]))
    inside = (under.stations > start) & (under.stations < end)
    x, z = under.stations[inside], under.elevations[inside]
    first = ground.base + ground.low
    owner = np.searchsorted(first, x, side="right") - 1
    within = x > first[owner]
    index = np.concatenate([np.arange(len(ground)), owner[within]])
    low = np.concatenate([ground.low, x[within] - ground.base[owner[within]]])
    order = np.lexsort([low, index])
    index, low = index[order], low[order]
    last = np.append(index[1:] != index[:-1], True)
    high = np.where(last, ground.high[index], np.append(low[1:], 0.0))
    pieces = as_one((replace(some_of(ground, index), low=low, high=high), points(x, z)))
    return some_of(pieces, np.lexsort([pieces.base + pieces.high, pieces.base + pieces.low]))


def _compress(start: float, end: float, pieces: Cubics, slopes: Floats, owner: Indices) -> Support:
    change = np.flatnonzero(owner[1:] != owner[:-1])
    kept = np.append(owner[change], owner[-1])
    return Support(start=start, end=end, breaks=slopes[change], pieces=some_of(pieces, kept))


def _end_slopes(pieces: Cubics) -> Floats:
    """Slopes of the pieces at their two ends and, where they bend both ways, in between."""
    a, b, c = (pieces.cubic[:, k] for k in range(3))
    turn = np.divide(-b, 3 * a, out=np.array(pieces.low), where=a != 0)
    ends = np.stack([pieces.low, pieces.high, np.clip(turn, pieces.low, pieces.high)])
    return np.asarray((3 * a * ends + 2 * b) * ends + c)


def _knot_slopes(pieces: Cubics) -> Floats:
    """Slopes between neighbours among all ends of pieces and points, the highest at each station taken."""
    ends = (pieces.low, pieces.high)
    x = np.concatenate([pieces.base + t for t in ends])
    z = np.concatenate([cubic_at(pieces.cubic, t) for t in ends])
    order = np.argsort(x, kind="stable")
    x, z = x[order], z[order]
    first = np.flatnonzero(np.append(True, np.diff(x) > SAME_LENGTH))
    return np.asarray(np.diff(np.maximum.reduceat(z, first)) / np.diff(x[first]))


def _best(
    pieces: Cubics, slopes: Floats, first: Indices, last: Indices, start: float
) -> tuple[Indices, Floats]:
    """For each slope (m,) the piece its supporting line touches, and the line's height at the start.

    `first`, `last` (m,): the pieces it lies between, themselves among them.
    """
    whose, index = spread(first, last + 1)
    value, _ = touch_pieces(some_of(pieces, index), slopes[whose], start)
    high = np.maximum.reduceat(value, np.searchsorted(whose, np.arange(len(slopes))))
    hit = np.flatnonzero(value == high[whose])
    return index[hit[np.searchsorted(whose[hit], np.arange(len(slopes)))]], high


def _crossing(
    pieces: Cubics, a: Indices, b: Indices, low: Floats, high: Floats, start: float
) -> tuple[Floats, Floats]:
    """The slope in [low, high] at which pieces a and b are touched at once, and the height at the start.

    The difference of the two heights falls as the slope grows; Newton's method kept within the bracket.
    """
    left, right = some_of(pieces, a), some_of(pieces, b)
    m = (low + high) / 2
    for _ in range(_ROUNDS):
        za, xa = touch_pieces(left, m, start)
        zb, xb = touch_pieces(right, m, start)
        apart = za - zb
        low, high = np.where(apart >= 0, m, low), np.where(apart <= 0, m, high)
        with np.errstate(divide="ignore", invalid="ignore"):
            step = m + apart / (xa - xb)
        inside = (step > low) & (step < high)
        new = np.where(inside, step, (low + high) / 2)
        if np.all(np.abs(new - m) <= _STILL * (1 + np.abs(m))):
            break
        m = new
    za, _ = touch_pieces(left, m, start)
    zb, _ = touch_pieces(right, m, start)
    return m, np.maximum(za, zb)
