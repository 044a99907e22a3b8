"""Top lines of straight pieces by linear programme: heights of their corners, over exact ground.

The ground rises between corners as a curve, so the programme is solved with the touches known so far,
the line found is laid on the ground, and every place where the ground still pierces it is added, until
none does.

    o-----o          corners; the ground touches a piece between them
     `.:'`  `-..o
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_array, vstack

from fencegrade.fence.tops.chains import Chain, Meeting
from fencegrade.fence.tops.line_on_ground import (
    ground_alone,
    ground_sides,
    highest_over_chords,
    pieces_between,
)
from fencegrade.units.arrays import Floats, Indices, Truths

_ROUNDS = 25
_SAMPLES = 4
_ABOUT = np.array([-0.5, -0.25, -0.1, -0.04, 0.04, 0.1, 0.25, 0.5])
_TOLERANCES = (1e-9, 1e-7)
"""Of the solver; the wider one only where the narrow one fails."""

_FLAT = 1e-9
"""Bend (1/in) of the ground under which it counts as straight."""

_LARGEST = 10.0


class Aim(StrEnum):
    """What a line of straight pieces is made least in."""

    TIMBER = "timber"
    BEND = "largest bend, then sum of bends"


CLEAR = {Aim.TIMBER: 1e-5, Aim.BEND: 1e-3}
"""Inches the ground may still pierce a line before it is lifted whole; a lift changes no bend."""

_Cuts = tuple[Indices, Floats, Floats]


def solve_chains(
    chains: Sequence[Chain],
    aim: Aim,
    most_slope: float | None = None,
    meetings: Sequence[Meeting] = (),
) -> list[Floats] | None:
    """Corner heights (in) of every chain that clear what they must within limits; None where none are found.

    `most_slope`: rise over run, over all pieces; `meetings`: corners of one height. Result: the best line
    over ground lower by up to `CLEAR`, lifted so that nothing is pierced. Source: own derivation; solver
    HiGHS through scipy.optimize.linprog.
    """
    first = np.cumsum([0, *(len(c) for c in chains)])
    system = _System.of(chains, first, aim, most_slope, meetings)
    cuts = [
        c for chain, k in zip(chains, first, strict=False) for c in _first_cuts(chain, int(k), CLEAR[aim])
    ]
    heights: list[Floats] = []
    for _ in range(_ROUNDS):
        found = system.solve(cuts)
        if found is None:
            return None
        heights = np.split(found, first[1:-1])
        new, worst = _pierced(chains, heights, first, CLEAR[aim])
        if worst <= CLEAR[aim]:
            break
        cuts += new
    _, worst = _pierced(chains, heights, first, CLEAR[aim])
    return [z + max(worst, 0.0) for z in heights]


def _first_cuts(chain: Chain, offset: int, clear: float) -> list[_Cuts]:
    """Heights to keep at readings between corners, on both sides of a face, here and there on curves, and at
    the first and the last board of each piece."""
    line = chain.under.line
    inside = (line.stations > chain.x[0]) & (line.stations < chain.x[-1])
    readings = _between(chain, line.stations[inside], line.elevations[inside], offset)
    x, z = chain.under.stations, chain.under.elevations
    piece = np.searchsorted(chain.x, x, side="right")
    changes = np.append(piece[1:] != piece[:-1], True) if len(x) else np.zeros(0, dtype=bool)
    outer = changes | np.append(True, changes)[: len(x)]
    return [readings, _on_curves(chain, offset, clear), _between(chain, x[outer], z[outer], offset)]


def _between(chain: Chain, x: Floats, z: Floats, offset: int) -> _Cuts:
    """Heights to keep over those of the points (x, z) that stand between two corners."""
    piece = np.searchsorted(chain.x, x, side="right") - 1
    between = (piece >= 0) & (piece < len(chain) - 1)
    between[between] = chain.x[piece[between]] < x[between]
    return piece[between] + offset, x[between], z[between] + chain.height


def _on_curves(chain: Chain, offset: int, clear: float) -> _Cuts:
    """Heights to keep at a few stations of every curve that rises over the chord of its piece."""
    ground = ground_alone(chain.under.line)
    over, _ = highest_over_chords(ground, chain.x, chain.lower - chain.height)
    rises = np.flatnonzero(over > clear)
    if not len(rises):
        return rises, np.empty(0), np.empty(0)
    curves, owner, _ = pieces_between(ground, chain.x[rises], chain.x[rises + 1])
    share = np.arange(1, _SAMPLES + 1) / (_SAMPLES + 1)
    t = curves.low[:, None] + (curves.high - curves.low)[:, None] * share
    a, b, c, d = (curves.cubic[:, k, None] for k in range(4))
    z = ((a * t + b) * t + c) * t + d + chain.height
    bent = (np.abs(a) + np.abs(b) > 0).ravel()
    piece = np.repeat(rises[owner], _SAMPLES) + offset
    keep = np.repeat(bent, _SAMPLES)
    return piece[keep], (curves.base[:, None] + t).ravel()[keep], z.ravel()[keep]


def _pierced(
    chains: Sequence[Chain], heights: Sequence[Floats], first: Indices, clear: float
) -> tuple[list[_Cuts], float]:
    """Where each line comes too near what it must clear, as new cuts, and by how much at worst."""
    cuts, worst = [], -np.inf
    for chain, z, k in zip(chains, heights, first, strict=False):
        over, at = highest_over_chords(chain.under, chain.x, z)
        over = over + chain.height
        bad = np.flatnonzero(over > clear / 10)
        worst = max(worst, float(over.max()))
        cuts += _about(chain, bad, at[bad], over[bad], int(k))
        slope = (z[bad + 1] - z[bad]) / (chain.x[bad + 1] - chain.x[bad])
        cuts.append((bad + int(k), at[bad], z[bad] + slope * (at[bad] - chain.x[bad]) + over[bad]))
    return cuts, worst


def _about(chain: Chain, piece: Indices, at: Floats, over: Floats, offset: int) -> list[_Cuts]:
    """Heights to keep over the ground about a touch, as far apart as its curvature asks."""
    line = chain.under.line
    curve = np.clip(np.searchsorted(line.stations, at, side="right") - 1, 0, len(line.stations) - 2)
    a, b = line.coefficients[curve, 0], line.coefficients[curve, 1]
    bend = np.abs(6 * a * (at - line.stations[curve]) + 2 * b)
    spread = np.sqrt(8 * over / np.maximum(bend, _FLAT))
    x = at[:, None] + spread[:, None] * _ABOUT
    x = np.clip(x, chain.x[piece, None], chain.x[piece + 1, None])
    before, after = ground_sides(line, x)
    z = np.maximum(before, after)
    # a piece that ends at a face keeps to its own side of it
    z = np.where(x == chain.x[piece, None], after, np.where(x == chain.x[piece + 1, None], before, z))
    return [(np.repeat(piece, len(_ABOUT)) + offset, x.ravel(), z.ravel() + chain.height)]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Rows:
    """Rows of a programme with their right-hand sides."""

    matrix: csr_array
    sides: Floats

    @staticmethod
    def stacked(rows: Sequence["_Rows"], width: int) -> "_Rows":
        """Several sets of rows as one, each widened by empty columns to `width`."""
        if not rows:
            return _Rows(matrix=csr_array((0, width)), sides=np.empty(0))
        matrix = csr_array(vstack([_wide(r.matrix, width) for r in rows]))
        return _Rows(matrix=matrix, sides=np.concatenate([r.sides for r in rows]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _System:
    """The programme without its cuts, in heights over `lower`; columns: corners, bends, the largest."""

    x: Floats
    lower: Floats
    room: Floats
    objective: Floats
    most: _Rows
    equal: _Rows

    @staticmethod
    def of(
        chains: Sequence[Chain],
        first: Indices,
        aim: Aim,
        most_slope: float | None,
        meetings: Sequence[Meeting],
    ) -> "_System":
        x, lower, upper, weight = (
            np.concatenate([getattr(c, name) for c in chains]) for name in ("x", "lower", "upper", "weight")
        )
        joined = np.diff(x) > 0
        joined[first[1:-1] - 1] = False
        bends = _bend_rows(x, joined)
        most = _limit_rows(_slope_rows(x, joined), most_slope, lower)
        meet = _meeting_rows(meetings, first, len(x))
        equal = [_Rows(matrix=meet, sides=-(meet @ lower))]
        room, objective = np.maximum(upper - lower, 0.0), weight
        if aim is Aim.BEND and bends.shape[0]:
            count = bends.shape[0]
            split, largest = _bend_columns(bends, lower)
            equal.append(split)
            most.append(largest)
            room = np.concatenate([room, np.full(2 * count + 1, np.inf)])
            objective = np.concatenate([0.0 * weight, np.ones(2 * count), [_LARGEST * count]])
        return _System(
            x=x,
            lower=lower,
            room=room,
            objective=objective,
            most=_Rows.stacked(most, len(room)),
            equal=_Rows.stacked(equal, len(room)),
        )

    def solve(self, cuts: Sequence[_Cuts]) -> Floats | None:
        """Heights (n,) of the corners, or None where nothing fits."""
        rows = _Rows.stacked([self.most, self._cut_rows(cuts)], len(self.room))
        for tolerance in _TOLERANCES:
            found = linprog(  # type: ignore[call-overload]  # the stubs know of no sparse matrices
                self.objective,
                A_ub=rows.matrix,
                b_ub=rows.sides,
                A_eq=self.equal.matrix,
                b_eq=self.equal.sides,
                bounds=np.column_stack([np.zeros(len(self.room)), self.room]),
                method="highs-ds",
                options={
                    "primal_feasibility_tolerance": tolerance,
                    "dual_feasibility_tolerance": tolerance,
                },
            )
            if found.status == 0:
                return np.asarray(found.x[: len(self.x)] + self.lower)
        return None

    def _cut_rows(self, cuts: Sequence[_Cuts]) -> _Rows:
        piece, at, need = (np.concatenate([c[k] for c in cuts]) for k in range(3))
        share = (at - self.x[piece]) / (self.x[piece + 1] - self.x[piece])
        matrix = _sparse([share - 1, -share], [piece, piece + 1], len(self.x))
        return _Rows(matrix=matrix, sides=-need - matrix @ self.lower)


def _limit_rows(matrix: csr_array, limit: float | None, lower: Floats) -> list[_Rows]:
    """Rows that hold a matrix within a limit, up and down; none without one."""
    if limit is None or not np.isfinite(limit) or not matrix.shape[0]:
        return []
    return [
        _Rows(matrix=matrix, sides=limit - matrix @ lower),
        _Rows(matrix=-matrix, sides=limit + matrix @ lower),
    ]


def _bend_columns(bends: csr_array, lower: Floats) -> tuple[_Rows, _Rows]:
    """Each bend as one column less another, and both together no more than the last column."""
    count, width = bends.shape
    k = np.arange(count)
    one = np.ones(count)
    parts = _sparse([-one, one], [width + k, width + count + k], width + 2 * count + 1)
    split = _wide(bends, width + 2 * count + 1) + parts
    largest = _sparse(
        [one, one, -one], [width + k, width + count + k, 0 * k + width + 2 * count], parts.shape[1]
    )
    return _Rows(matrix=csr_array(split), sides=-(bends @ lower)), _Rows(
        matrix=largest, sides=np.zeros(count)
    )


def _sparse(values: Sequence[Floats], columns: Sequence[Indices], width: int) -> csr_array:
    """Rows with one value in each of the given columns."""
    row = np.tile(np.arange(len(columns[0])), len(columns))
    return csr_array((np.concatenate(values), (row, np.concatenate(columns))), shape=(len(columns[0]), width))


def _wide(matrix: csr_array, width: int) -> csr_array:
    """The same rows with empty columns up to `width`."""
    return csr_array((matrix.data, matrix.indices, matrix.indptr), shape=(matrix.shape[0], width))


def _slope_rows(x: Floats, joined: Truths) -> csr_array:
    """Slope of every piece from the corner heights."""
    k = np.flatnonzero(joined)
    rate = 1 / (x[k + 1] - x[k])
    return _sparse([-rate, rate], [k, k + 1], len(x))


def _bend_rows(x: Floats, joined: Truths) -> csr_array:
    """Change of slope at every corner between two pieces."""
    k = np.flatnonzero(joined[:-1] & joined[1:]) + 1
    left, right = 1 / (x[k] - x[k - 1]), 1 / (x[k + 1] - x[k])
    return _sparse([left, -left - right, right], [k - 1, k, k + 1], len(x))


def _meeting_rows(meetings: Sequence[Meeting], first: Indices, width: int) -> csr_array:
    """One height of corners that meet, less the other."""
    ends = [[int(first[c]) + k if k >= 0 else int(first[c + 1]) + k for c, k in m] for m in meetings]
    pairs = np.array(ends, dtype=np.intp).reshape(-1, 2)
    one = np.ones(len(pairs))
    return _sparse([one, -one], [pairs[:, 0], pairs[:, 1]], width)
