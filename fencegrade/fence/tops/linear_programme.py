"""Top lines of straight pieces by linear programme: heights of their corners, over exact ground.

The ground rises between corners as a curve, so the programme is solved with the touches known so far,
the line found is laid on the ground, and every place where the ground still pierces it is added, until
none does.

    o-----o          corners; the ground touches a piece between them
     `.:'`  `-..o
"""

from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import Any

import highspy
import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.tops.chains import Chain, Meeting
from fencegrade.fence.tops.line_on_ground import (
    ground_alone,
    ground_sides,
    highest_over_chords,
    pieces_between,
)
from fencegrade.ground.cubics import cubic_at
from fencegrade.highs import set_options, silent
from fencegrade.units.arrays import Floats, Indices, Truths

_ROUNDS = 25
_SAMPLES = 4
_ABOUT = np.array([-0.5, -0.25, -0.1, -0.04, 0.04, 0.1, 0.25, 0.5])
_TOLERANCES = (1e-9, 1e-7)
"""Of the solver; the wider one only where the narrow one fails."""

_QUICK = {"presolve": "off", "simplex_dual_edge_weight_strategy": 1}
"""Options of HiGHS that take a quarter less time on long smooth lines; 1: devex."""

_FLAT = 1e-9
"""Bend (1/in) of the ground under which it counts as straight."""

_LARGEST = 10.0

_LOWEST = 1e-7
"""What an inch of height counts beside a change of slope of 1: of lines equally smooth the lowest is taken.

Without it many lines are the best, and the last bit of a number would choose among them.
"""


_FLATTER = 1e-6
"""What a corner over the highest ground counts more than one over the lowest, as a share of its timber: of
lines of one timber the flattest is taken, from whichever end the fence is walked."""


class Aim(StrEnum):
    """What a line of straight pieces is made least in."""

    TIMBER = "timber"
    BEND = "largest bend, then sum of bends, then height"


CLEAR = {Aim.TIMBER: 1e-5, Aim.BEND: 1e-3}
"""Inches the ground may still pierce a line before it is lifted whole; a lift changes no bend."""

_Cuts = tuple[Indices, Floats, Floats]


def solve_chains(
    chains: Sequence[Chain],
    aim: Aim,
    most_slope: float | None = None,
    meetings: Sequence[Meeting] = (),
    *,
    whole: bool = True,
) -> list[Floats] | None:
    """Corner heights (in) of every chain that clear what they must within limits; None where none are found.

    `most_slope`: rise over run, over all pieces; `meetings`: corners of one height; `whole`: False for a part
    of a long line, which is solved by what is quicker on those. Result: the best line over ground lower by up
    to `CLEAR`, lifted so that nothing is pierced. Source: own derivation; solver HiGHS.
    """
    first = np.cumsum([0, *(len(c) for c in chains)])
    programme = _Programme(chains, first, aim, most_slope, meetings, {} if whole else _QUICK)
    cuts = [
        c for chain, k in zip(chains, first, strict=False) for c in _first_cuts(chain, int(k), CLEAR[aim])
    ]
    for _ in range(_ROUNDS):
        programme.cut(cuts)
        found = programme.solve()
        if found is None:
            return None
        heights = np.split(found, first[1:-1])
        cuts, worst = _pierced(chains, heights, first, CLEAR[aim])
        if worst <= CLEAR[aim]:
            break
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
    t = curves.low + (curves.high - curves.low) * share[:, None]
    z = cubic_at(curves.cubic, t) + chain.height
    bent = np.abs(curves.cubic[:, 0]) + np.abs(curves.cubic[:, 1]) > 0
    piece = np.repeat(rises[owner], _SAMPLES) + offset
    keep = np.repeat(bent, _SAMPLES)
    return piece[keep], (curves.base + t).T.ravel()[keep], z.T.ravel()[keep]


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


class _Rows(Struct, frozen=True, kw_only=True, eq=False):
    """Rows of a programme: `low` (m,) <= sum of `value` (k,) times its `column`, by `row`, <= `high` (m,)."""

    row: Indices
    column: Indices
    value: Floats
    low: Floats
    high: Floats

    @staticmethod
    def of(
        values: Sequence[Floats], columns: Sequence[Indices], low: Floats | float, high: Floats | float
    ) -> "_Rows":
        """Rows with one value in each of the given columns; `low` and `high` one for all or each its own."""
        count = len(columns[0])
        return _Rows(
            row=np.tile(np.arange(count), len(columns)),
            column=np.concatenate(columns),
            value=np.concatenate(values),
            low=np.broadcast_to(np.asarray(low, dtype=float), count),
            high=np.broadcast_to(np.asarray(high, dtype=float), count),
        )

    def __len__(self) -> int:
        return len(self.low)

    def above(self, lower: Floats) -> "_Rows":
        """The same rows where the first columns are measured from `lower`."""
        known = self.column < len(lower)
        part = self.value[known] * lower[self.column[known]]
        there = np.bincount(self.row[known], part, minlength=len(self))
        return replace(self, low=self.low - there, high=self.high - there)

    def add_to(self, solver: highspy.Highs) -> None:
        """Hand the rows to a solver."""
        order = np.argsort(self.row, kind="stable")
        starts = np.searchsorted(self.row[order], np.arange(len(self)))
        solver.addRows(
            len(self),
            self.low,
            self.high,
            len(order),
            starts.astype(np.int32),
            self.column[order].astype(np.int32),
            self.value[order],
        )


def _part_up(lower: Floats) -> Floats:
    """How far up each corner (n,) must be, from 0 for the lowest to 1 for the highest."""
    span = float(np.ptp(lower))
    return (lower - lower.min()) / span if span > 0 else np.zeros(len(lower))


class _Programme:
    """The programme in heights over `lower`, with cuts as found; columns: corners, bends, the largest."""

    def __init__(
        self,
        chains: Sequence[Chain],
        first: Indices,
        aim: Aim,
        most_slope: float | None,
        meetings: Sequence[Meeting],
        options: Mapping[str, Any],
    ) -> None:
        x, lower, upper, weight = (
            np.concatenate([getattr(c, name) for c in chains]) for name in ("x", "lower", "upper", "weight")
        )
        joined = np.diff(x) > 0
        joined[first[1:-1] - 1] = False
        bends = np.flatnonzero(joined[:-1] & joined[1:]) + 1
        room, objective = np.maximum(upper - lower, 0.0), weight * (1 + _FLATTER * _part_up(lower))
        rows = [_meeting_rows(meetings, first), *_slope_rows(x, joined, most_slope)]
        if aim is Aim.BEND and len(bends):
            count = len(bends)
            rows += [_bend_rows(x, bends), _largest_rows(len(x), count)]
            room = np.concatenate([room, np.full(2 * count + 1, np.inf)])
            objective = np.concatenate([np.full(len(x), _LOWEST), np.ones(2 * count), [_LARGEST * count]])
        self._x, self._lower = x, lower
        self._solver = _solver_with(objective, room, options)
        for some in rows:
            self.add(some)

    def add(self, rows: _Rows) -> None:
        """Add rows in heights."""
        rows.above(self._lower).add_to(self._solver)

    def cut(self, cuts: Sequence[_Cuts]) -> None:
        """Hold pieces over what they must clear."""
        piece, at, need = (np.concatenate([c[k] for c in cuts]) for k in range(3))
        share = (at - self._x[piece]) / (self._x[piece + 1] - self._x[piece])
        self.add(_Rows.of([1 - share, share], [piece, piece + 1], need, np.inf))

    def solve(self) -> Floats | None:
        """Heights (n,) of the corners, or None where nothing fits."""
        for tolerance in _TOLERANCES:
            set_options(
                self._solver, primal_feasibility_tolerance=tolerance, dual_feasibility_tolerance=tolerance
            )
            self._solver.run()
            if self._solver.getModelStatus() == highspy.HighsModelStatus.kOptimal:
                found = np.array(self._solver.getSolution().col_value)
                return np.asarray(found[: len(self._x)] + self._lower)
        return None


def _solver_with(objective: Floats, room: Floats, options: Mapping[str, Any]) -> highspy.Highs:
    """A solver whose columns go from 0 to `room`, with what each counts."""
    solver = silent(solver="simplex", **options)
    none = np.zeros(0, dtype=np.int32)
    starts = np.zeros(len(room), dtype=np.int32)
    solver.addCols(len(room), objective, np.zeros(len(room)), room, 0, starts, none, np.zeros(0))
    return solver


def _slope_rows(x: Floats, joined: Truths, limit: float | None) -> list[_Rows]:
    """The slope of every piece from the corner heights, within a limit up and down; none without one."""
    if limit is None or not np.isfinite(limit):
        return []
    k = np.flatnonzero(joined)
    rate = 1 / (x[k + 1] - x[k])
    return [_Rows.of([-rate, rate], [k, k + 1], -limit, limit)]


def _bend_rows(x: Floats, k: Indices) -> _Rows:
    """The change of slope at corners between two pieces, as one column less another."""
    left, right = 1 / (x[k] - x[k - 1]), 1 / (x[k + 1] - x[k])
    one, up = np.ones(len(k)), len(x) + np.arange(len(k))
    values = [left, -left - right, right, -one, one]
    return _Rows.of(values, [k - 1, k, k + 1, up, up + len(k)], 0.0, 0.0)


def _largest_rows(width: int, count: int) -> _Rows:
    """Both columns of each bend together no more than the last column."""
    one, up = np.ones(count), width + np.arange(count)
    last = np.full(count, width + 2 * count)
    return _Rows.of([one, one, -one], [up, up + count, last], -np.inf, 0.0)


def _meeting_rows(meetings: Sequence[Meeting], first: Indices) -> _Rows:
    """One height of corners that meet, less the other."""
    ends = [[int(first[c]) + k if k >= 0 else int(first[c + 1]) + k for c, k in m] for m in meetings]
    pairs = np.array(ends, dtype=np.intp).reshape(-1, 2)
    one = np.ones(len(pairs))
    return _Rows.of([one, -one], [pairs[:, 0], pairs[:, 1]], 0.0, 0.0)
