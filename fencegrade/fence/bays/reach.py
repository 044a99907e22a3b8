"""What one rail can span: from post to post along the slope, with its bearing on both.

post            post
 ||   ________ ||        length = (bay - post + bearing left + bearing right) sqrt(1 + m^2)
 ||---         ||        m = slope of the rail in the bay
 |<---- bay --->|

The ends are plumb, off square to the rail, and its board is longer than the rail by what they slant:

 board  ____________________________
       |    /                  /    |   taken = length + height m
       |__ /__________________/_____|
           |<---- length ---->|
"""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from fencegrade.ground.profile import GroundLine
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_LENGTH

SlopeOf = Callable[[Floats, Floats], ArrayLike]
"""Slope (rise over run) of a rail between two posts, by their stations (in), arrays of one shape."""

_ROUNDS = 12
"""Rounds of slope and bay before the bay is bracketed instead."""


class Span(Struct, frozen=True, kw_only=True):
    """Limits of a bay: the longest `rail` (in), the largest `spacing` of post centres (in), rail slopes.

    `height` of a rail (in); `slope_of` takes arrays; `slope_at` the same for two plain stations.
    """

    rail: float
    height: float
    spacing: float
    slope_of: SlopeOf
    slope_at: Callable[[float, float], float]

    def lengths(self, a: Floats, b: Floats, extra: Floats | float) -> Floats:
        """Rail lengths (in) for bays from `a` to `b` whose rail covers `extra` more than the bay."""
        return np.asarray((b - a + extra) * np.sqrt(1 + self.slopes(a, b) ** 2))

    def taken(self, a: Floats, b: Floats, extra: Floats | float) -> Floats:
        """What such rails take of their boards (in)."""
        return self.lengths(a, b, extra) + slanted_ends(self.height, self.slopes(a, b))

    def longest(self, slope: Floats) -> Floats:
        """The longest level stretch (in) that the longest stock covers at a slope."""
        return np.asarray((self.rail - slanted_ends(self.height, slope)) / np.sqrt(1 + slope**2))

    def slopes(self, a: Floats, b: Floats) -> Floats:
        """Rail slopes for bays from `a` to `b` (in)."""
        return np.asarray(np.broadcast_to(np.asarray(self.slope_of(a, b), dtype=float), np.shape(a)))

    def fits(self, a: float, b: float, extra: float) -> bool:
        """Whether a bay from `a` to `b` is within the spacing and a rail reaches."""
        return b - a <= self.spacing + SAME_LENGTH and self._taken(a, b, extra) <= self.rail + SAME_LENGTH

    def shortfalls(self, a: float, b: float, extra: float) -> tuple[float, float]:
        """Inches by which spacing and rail fall short of a bay from `a` to `b`; below zero if they serve."""
        return b - a - self.spacing, self._taken(a, b, extra) - self.rail

    def farthest(self, a: float, extra: float, bound: float) -> float:
        """The farthest next post (in) from a post at `a`, not past `bound`; `a` itself if no rail serves."""
        far = min(bound, a + self.spacing, a + self.rail - extra)
        if far <= a or self.fits(a, far, extra):
            return max(far, a)
        return a + self._longest_bay(lambda bay: self.slope_at(a, a + bay), extra, far - a)

    def nearest(self, b: float, extra: float, bound: float) -> float:
        """The farthest post (in) before a post at `b` that a rail reaches it from, not before `bound`."""
        near = max(bound, b - self.spacing, b - self.rail + extra)
        if near >= b or self.fits(near, b, extra):
            return min(near, b)
        return b - self._longest_bay(lambda bay: self.slope_at(b - bay, b), extra, b - near)

    def _taken(self, a: float, b: float, extra: float) -> float:
        return self._of_board(b - a + extra, self.slope_at(a, b) if b > a else 0.0)

    def _of_board(self, level: float, slope: float) -> float:
        """What a rail over a level stretch takes of its board (in)."""
        return level * math.hypot(1, slope) + self.height * abs(slope)

    def _longest_bay(self, slope: Callable[[float], float], extra: float, most: float) -> float:
        """The bay, under `most`, whose rail is just as long as the longest stock; 0 if none is."""
        bay = most
        for _ in range(_ROUNDS):
            m = slope(bay)
            before, bay = bay, (self.rail - self.height * abs(m)) / math.hypot(1, m) - extra
            if not 0 < bay <= most:
                break
            if abs(bay - before) < SAME_LENGTH / 1000:
                return bay
        if self.rail <= extra:
            return 0.0
        if self._over(slope, most, extra) <= 0:  # by rounding it stands a hair past a face, on other ground
            most -= SAME_LENGTH
        if self._over(slope, most, extra) <= 0:
            return most
        from scipy.optimize import brentq

        return float(brentq(lambda w: self._over(slope, w, extra), 0.0, most, xtol=SAME_LENGTH / 100))

    def _over(self, slope: Callable[[float], float], bay: float, extra: float) -> float:
        """Inches by which the rail of a bay passes the longest stock."""
        return self._of_board(bay + extra, slope(bay) if bay > 0 else 0.0) - self.rail


def slanted_ends(height: float, slope: Floats) -> Floats:
    """What both slanted ends of a rail take of its board besides its length (in).

    `height` of the rail (in); `slope`: rise over run, of either sign. Source: own derivation, see above: the
    tangent of the angle between a plumb end and a square one is the slope.
    """
    return height * np.abs(slope)


def chord_slopes(line: GroundLine) -> SlopeOf:
    """Slope of the ground's chord between two posts; a post at a face takes the ground on the bay's side."""

    def slope_of(a: Floats, b: Floats) -> Floats:
        shape = np.broadcast_shapes(np.shape(a), np.shape(b))
        rise = line.elevation(b, before=True) - line.elevation(a)
        run = np.asarray(b, dtype=float) - a
        return np.divide(rise, run, out=np.zeros(shape), where=run > 0)

    return slope_of


def chord_slope_at(line: GroundLine) -> Callable[[float, float], float]:
    """`chord_slopes` for two plain stations, quick enough to be called bay by bay."""
    stations, cubics = line.stations.tolist(), line.coefficients.tolist()

    def height(x: float, piece: int) -> float:
        t = x - stations[piece]
        p, q, r, s = cubics[piece]
        return float(((p * t + q) * t + r) * t + s)

    def slope_at(a: float, b: float) -> float:
        after = min(bisect_right(stations, a) - 1, len(cubics) - 1)
        before = max(bisect_left(stations, b) - 1, 0)
        return (height(b, before) - height(a, after)) / (b - a)

    return slope_at
