"""Where a slanting straight line, lowered onto the ground, touches it: exact, piece by cubic piece.

     touch
 ____.o.____   line of a given slope, resting on the ground
.'''     ```.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fencegrade.ground.profile import Floats, GroundLine

Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pieces:
    """Cubic pieces of the ground: `cubic` (n, 4) in (station - `base`), from `low` to `high` past `base`."""

    cubic: Floats
    base: Floats
    low: Floats
    high: Floats

    def __len__(self) -> int:
        return len(self.base)

    def take(self, index: Indices) -> "Pieces":
        """The pieces at `index`."""
        return Pieces(
            cubic=self.cubic[index], base=self.base[index], low=self.low[index], high=self.high[index]
        )


def touch_pieces(pieces: Pieces, slope: Floats, origin: Floats | float) -> tuple[Floats, Floats]:
    """The greatest G(x) - slope (x - origin) over each piece, and the station x where it is.

    `slope`: (n,), or (m, 1) for every slope with every piece; `origin`: stations (in). Source: own
    derivation: it lies at an end of the piece or where the cubic's derivative equals the slope.
    """
    a, b, c, d = (pieces.cubic[:, k] for k in range(4))
    p, q, r = 3 * a, 2 * b, c - slope
    root = np.sqrt(np.maximum(q * q - 4 * p * r, 0.0))
    big = -0.5 * (q + np.where(q < 0, -root, root))
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        turns = (big / p, r / big)
    best = np.full(np.shape(r), -np.inf)
    at = np.zeros(np.shape(r))
    for t in (pieces.low, pieces.high, *turns):
        t = np.clip(np.where(np.isfinite(t), t, pieces.low), pieces.low, pieces.high)
        value = ((a * t + b) * t + c) * t + d - slope * (pieces.base + t - origin)
        better = value > best
        best, at = np.where(better, value, best), np.where(better, t, at)
    return best, pieces.base + at


def pieces_between(line: GroundLine, a: Floats, b: Floats) -> tuple[Pieces, Indices, Indices]:
    """The cubic pieces under each stretch [a, b] (n,) in inches, in order.

    Result: the pieces, the stretch each belongs to, and the first piece of each stretch. Errors: ValueError
    where a stretch lies outside the readings or has no length.
    """
    if a.size and not (a.min() >= line.start and b.max() <= line.end and np.all(a < b)):
        raise ValueError("a stretch lies outside the readings or has no length")
    first = np.searchsorted(line.stations, a, side="right") - 1
    last = np.searchsorted(line.stations, b, side="left") - 1
    counts = last - first + 1
    owner = np.repeat(np.arange(len(a)), counts)
    starts = np.cumsum(counts) - counts
    index = np.arange(len(owner)) - starts[owner] + first[owner]
    wide = np.diff(line.stations)[index] > 0
    owner, index = owner[wide], index[wide]
    base = line.stations[index]
    pieces = Pieces(
        cubic=line.coefficients[index],
        base=base,
        low=np.maximum(a[owner], base) - base,
        high=np.minimum(b[owner], line.stations[index + 1]) - base,
    )
    return pieces, owner, np.searchsorted(owner, np.arange(len(a)))


def touches(line: GroundLine, a: Floats, b: Floats, slope: Floats) -> tuple[Floats, Floats]:
    """The greatest G(x) - slope (x - a) over each stretch [a, b], and the station where it is.

    All (n,), inches and rise over run. Errors: ValueError as `pieces_between`. Source: own derivation.
    """
    if not len(a):
        return np.empty(0), np.empty(0)
    pieces, owner, starts = pieces_between(line, a, b)
    value, at = touch_pieces(pieces, slope[owner], a[owner])
    high = np.maximum.reduceat(value, starts)
    hit = np.flatnonzero(value == high[owner])
    chosen = hit[np.searchsorted(owner[hit], np.arange(len(a)))]
    return high, at[chosen]


def highest_over_chords(line: GroundLine, x: Floats, z: Floats) -> tuple[Floats, Floats]:
    """How far the ground rises over each chord between corners (x, z), and the station where.

    `x`, `z`: (n,) inches, x ascending; a pair of equal stations is a step and gives minus infinity.
    Result: (n - 1,) each; negative where the ground stays below the chord.
    """
    run = np.diff(x)
    chord = np.flatnonzero(run > 0)
    over, at = np.full(len(run), -np.inf), np.array(x[:-1])
    slope = np.diff(z)[chord] / run[chord]
    high, where = touches(line, x[:-1][chord], x[1:][chord], slope)
    over[chord], at[chord] = high - z[:-1][chord], where
    return over, at


def deepest_under_chords(line: GroundLine, x: Floats, z: Floats) -> tuple[Floats, Floats]:
    """How far the ground falls under each chord between corners (x, z), and the station where.

    As `highest_over_chords`; minus infinity at a step.
    """
    return highest_over_chords(_turned(line), x, -z)


def lowest_at(line: GroundLine, a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Lowest ground (in) over each stretch [a, b], and its station. Errors: as `pieces_between`."""
    high, at = touches(_turned(line), a, b, np.zeros(len(a)))
    return -high, at


def _turned(line: GroundLine) -> GroundLine:
    """The same ground upside down."""
    return replace(line, elevations=-line.elevations, coefficients=-line.coefficients)


def ground_sides(line: GroundLine, x: Floats) -> tuple[Floats, Floats]:
    """Ground (in) just before and just after each station (in), equal but at faces; one side at the ends."""
    after = line.elevation(np.minimum(x, line.end))
    before = line.elevation(np.maximum(x, line.start), before=True)
    return np.where(x <= line.start, after, before), np.where(x >= line.end, before, after)


def corner_ground(line: GroundLine, x: Floats) -> Floats:
    """Ground (in) under the corners `x` (n,) of a line, ascending, a step as two equal stations.

    The higher side at a face, but its own side where a corner stands on each, and the inner side at the ends.
    """
    before, after = ground_sides(line, x)
    ground = np.maximum(before, after)
    ground[0], ground[-1] = after[0], before[-1]
    pair = np.flatnonzero(np.diff(x) == 0)
    ground[pair], ground[pair + 1] = before[pair], after[pair + 1]
    return np.asarray(ground)
