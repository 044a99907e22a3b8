"""Where a slanting straight line, lowered onto the ground, touches it: exact, piece by cubic piece.

     touch
 ____.o.____   line of a given slope, resting on the ground
.'''     ```.

A board's top is square, as high all across as the line is over its middle. So a line that clears the ground
itself may still stand too low over the uphill edge of a board: what it has to clear is the ground, and over
the middle of each board the highest ground under that board.
"""

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.slots import Slots
from fencegrade.ground.cubics import Cubics, cubic_at, cubics_under, points, spread, turns
from fencegrade.ground.profile import GroundLine
from fencegrade.units.arrays import Floats, Indices, as_one, some_of


class ToClear(Struct, frozen=True, kw_only=True, eq=False):
    """What a line has to clear: the ground `line`, and points at `stations` with `elevations` (k,), inches,
    in order of station."""

    line: GroundLine
    stations: Floats
    elevations: Floats


def ground_alone(line: GroundLine) -> ToClear:
    """The ground, and no boards on it."""
    return ToClear(line=line, stations=np.empty(0), elevations=np.empty(0))


def ground_and_boards(line: GroundLine, slots: Slots, corners: Floats) -> ToClear:
    """The ground, and over the middle of each board the highest ground under it.

    `corners`: stations (in), ascending, between which the line is straight. Left out is a board that both
    its neighbours on one straight piece rise over: a line that clears them clears it. Errors: ValueError
    where a slot lies outside the readings. Source: own derivation.
    """
    order = np.argsort(slots.centre, kind="stable")
    x, z = slots.centre[order], line.highest(slots.left, slots.right)[order]
    first = np.flatnonzero(np.append(True, np.diff(x) > 0))
    x, z = x[first], np.maximum.reduceat(z, first)
    kept = np.ones(len(x), dtype=bool)
    if len(x) > 2:
        piece = np.searchsorted(corners, x, side="right")
        run, rise = np.diff(x), np.diff(z)
        sags = rise[:-1] * run[1:] <= rise[1:] * run[:-1]
        together = (piece[:-2] == piece[1:-1]) & (piece[1:-1] == piece[2:])
        kept[1:-1] = ~(sags & together) | np.isin(x[1:-1], corners)
    return ToClear(line=line, stations=x[kept], elevations=z[kept])


def touch_pieces(pieces: Cubics, slope: Floats, origin: Floats | float) -> tuple[Floats, Floats]:
    """The greatest G(x) - slope (x - origin) over each piece, and the station x where it is.

    `slope`: (n,), or (m, 1) for every slope with every piece; `origin`: stations (in). Source: own
    derivation: it lies at an end of the piece or where the cubic's derivative equals the slope.
    """
    shape = np.broadcast_shapes(np.shape(slope), (len(pieces),))
    best, at = np.full(shape, -np.inf), np.zeros(shape)
    for t in (pieces.low, pieces.high, *turns(pieces.cubic, slope)):
        t = np.clip(t, pieces.low, pieces.high)
        value = cubic_at(pieces.cubic, t) - slope * (pieces.base + t - origin)
        better = value > best
        best, at = np.where(better, value, best), np.where(better, t, at)
    return best, pieces.base + at


def pieces_between(under: ToClear, a: Floats, b: Floats) -> tuple[Cubics, Indices, Indices]:
    """The cubic pieces under each stretch [a, b] (n,) in inches; points within it are pieces of no width.

    Result: the pieces, the stretch each belongs to (ascending), and the first piece of each stretch. Points
    at its very ends are left out: they belong to the corners. Errors: ValueError where a stretch lies outside
    the readings or has no length.
    """
    if not np.all(a < b):
        raise ValueError("a stretch has no length")
    pieces, owner = cubics_under(under.line, a, b)
    if len(under.stations):
        first = np.searchsorted(under.stations, a, side="right")
        whose, index = spread(first, np.searchsorted(under.stations, b, side="left"))
        pieces = as_one((pieces, points(under.stations[index], under.elevations[index])))
        owner = np.concatenate([owner, whose])
        order = np.argsort(owner, kind="stable")
        pieces, owner = some_of(pieces, order), owner[order]
    return pieces, owner, np.searchsorted(owner, np.arange(len(a)))


def touches(under: ToClear, a: Floats, b: Floats, slope: Floats) -> tuple[Floats, Floats]:
    """The greatest height over a line of `slope` from the stretch's start, and the station where it is.

    For each stretch [a, b] the greatest G(x) - slope (x - a); all (n,), inches and rise over run. Errors:
    ValueError as `pieces_between`. Source: own derivation.
    """
    if not len(a):
        return np.empty(0), np.empty(0)
    pieces, owner, starts = pieces_between(under, a, b)
    value, at = touch_pieces(pieces, slope[owner], a[owner])
    high = np.maximum.reduceat(value, starts)
    hit = np.flatnonzero(value == high[owner])
    chosen = hit[np.searchsorted(owner[hit], np.arange(len(a)))]
    return high, at[chosen]


def highest_over_chords(under: ToClear, x: Floats, z: Floats) -> tuple[Floats, Floats]:
    """How far what is to be cleared rises over each chord between corners (x, z), and the station where.

    `x`, `z`: (n,) inches, x ascending; a pair of equal stations is a step and gives minus infinity.
    Result: (n - 1,) each; negative where all of it stays below the chord.
    """
    run = np.diff(x)
    chord = np.flatnonzero(run > 0)
    over, at = np.full(len(run), -np.inf), np.array(x[:-1])
    slope = np.diff(z)[chord] / run[chord]
    high, where = touches(under, x[:-1][chord], x[1:][chord], slope)
    over[chord], at[chord] = high - z[:-1][chord], where
    return over, at


def deepest_under_chords(line: GroundLine, x: Floats, z: Floats) -> tuple[Floats, Floats]:
    """How far the ground falls under each chord between corners (x, z), and the station where.

    As `highest_over_chords`; minus infinity at a step.
    """
    return highest_over_chords(ground_alone(_turned(line)), x, -z)


def lowest_at(line: GroundLine, a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Lowest ground (in) over each stretch [a, b], and its station. Errors: as `pieces_between`."""
    high, at = touches(ground_alone(_turned(line)), a, b, np.zeros(len(a)))
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


def corner_need(under: ToClear, x: Floats) -> Floats:
    """As `corner_ground`, and as high as the points that stand at the very corners."""
    ground = corner_ground(under.line, x)
    if not len(under.stations):
        return ground
    k = np.minimum(np.searchsorted(under.stations, x), len(under.stations) - 1)
    return np.where(under.stations[k] == x, np.maximum(ground, under.elevations[k]), ground)
