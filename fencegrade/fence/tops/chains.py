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
from scipy.sparse import csr_array, hstack, vstack

from fencegrade.fence.tops.touch import Indices, highest_over_chords, pieces_between
from fencegrade.ground.profile import Floats, GroundLine

_CLEAR = 1e-6
_ROUNDS = 25
_SAMPLES = 4
_TOLERANCE = 1e-9


class Aim(StrEnum):
    """What a line of straight pieces is made least in."""

    TIMBER = "timber"
    BEND = "largest bend, then sum of bends"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chain:
    """One line of straight pieces between corners; (n,) each, inches.

    `x`: stations, ascending, a step as two equal ones; `lower`, `upper`: heights a corner may have;
    `weight`: how much an inch of each corner's height counts; `height`: least height over the ground.
    """

    line: GroundLine
    x: Floats
    lower: Floats
    upper: Floats
    weight: Floats
    height: float

    def __len__(self) -> int:
        return len(self.x)


Meeting = tuple[tuple[int, int], tuple[int, int]]
"""Two corners that must have one height: (chain, corner) twice; corner -1 is the last."""

_Cuts = tuple[Indices, Floats, Floats]


def solve_chains(
    chains: Sequence[Chain],
    aim: Aim,
    most_slope: float | None = None,
    most_bend: float | None = None,
    meetings: Sequence[Meeting] = (),
) -> list[Floats] | None:
    """Corner heights (in) of every chain that keep its ground and limits; None where no heights do.

    `most_slope`, `most_bend`: rise over run, over all pieces and corners; `meetings`: corners of one height.
    Result: the best line over ground up to 1e-6 in lower, lifted by so much that ground is nowhere pierced.
    Source: own derivation; solver HiGHS through scipy.optimize.linprog.
    """
    first = np.cumsum([0, *(len(c) for c in chains)])
    system = _System.of(chains, first, aim, most_slope, most_bend, meetings)
    cuts = [c for chain, k in zip(chains, first, strict=False) for c in _first_cuts(chain, int(k))]
    heights: list[Floats] = []
    for _ in range(_ROUNDS):
        found = system.solve(cuts)
        if found is None:
            return None
        heights = np.split(found, first[1:-1])
        new, worst = _pierced(chains, heights, first)
        if worst <= _CLEAR:
            break
        cuts += new
    _, worst = _pierced(chains, heights, first)
    return [z + max(worst, 0.0) for z in heights]


def _first_cuts(chain: Chain, offset: int) -> list[_Cuts]:
    """Heights to keep at readings between corners, on both sides of a face, and here and there on curves."""
    line = chain.line
    inside = (line.stations > chain.x[0]) & (line.stations < chain.x[-1])
    x, z = line.stations[inside], line.elevations[inside]
    piece = np.searchsorted(chain.x, x, side="right") - 1
    between = chain.x[piece] < x
    readings = piece[between] + offset, x[between], z[between] + chain.height
    return [readings, _on_curves(chain, offset)]


def _on_curves(chain: Chain, offset: int) -> _Cuts:
    """Heights to keep at a few stations of every curve that rises over the chord of its piece."""
    over, _ = highest_over_chords(chain.line, chain.x, chain.lower - chain.height)
    rises = np.flatnonzero(over > _CLEAR)
    if not len(rises):
        return rises, np.empty(0), np.empty(0)
    curves, owner, _ = pieces_between(chain.line, chain.x[rises], chain.x[rises + 1])
    share = np.arange(1, _SAMPLES + 1) / (_SAMPLES + 1)
    t = curves.low[:, None] + (curves.high - curves.low)[:, None] * share
    a, b, c, d = (curves.cubic[:, k, None] for k in range(4))
    z = ((a * t + b) * t + c) * t + d + chain.height
    bent = (np.abs(a) + np.abs(b) > 0).ravel()
    piece = np.repeat(rises[owner], _SAMPLES) + offset
    keep = np.repeat(bent, _SAMPLES)
    return piece[keep], (curves.base[:, None] + t).ravel()[keep], z.ravel()[keep]


def _pierced(
    chains: Sequence[Chain], heights: Sequence[Floats], first: Indices
) -> tuple[list[_Cuts], float]:
    """Where the ground comes too near each line, as new cuts, and by how much at worst."""
    cuts, worst = [], -np.inf
    for chain, z, k in zip(chains, heights, first, strict=False):
        over, at = highest_over_chords(chain.line, chain.x, z)
        over = over + chain.height
        bad = np.flatnonzero(over > _CLEAR / 10)
        worst = max(worst, float(over.max()))
        share = (at[bad] - chain.x[bad]) / (chain.x[bad + 1] - chain.x[bad])
        cuts.append((bad + int(k), at[bad], z[bad] + share * (z[bad + 1] - z[bad]) + over[bad]))
    return cuts, worst


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _System:
    """The programme without its cuts, in heights over `lower`; columns: corners, then bends and their largest."""

    x: Floats
    lower: Floats
    room: Floats
    objective: Floats
    upper_rows: csr_array | None
    upper_sides: Floats
    equal_rows: csr_array | None
    equal_sides: Floats
    extra: int

    @staticmethod
    def of(
        chains: Sequence[Chain],
        first: Indices,
        aim: Aim,
        most_slope: float | None,
        most_bend: float | None,
        meetings: Sequence[Meeting],
    ) -> "_System":
        x, lower, upper, weight = (
            np.concatenate([getattr(c, name) for c in chains]) for name in ("x", "lower", "upper", "weight")
        )
        joined = np.ones(len(x) - 1, dtype=bool)
        joined[first[1:-1] - 1] = False
        joined &= np.diff(x) > 0
        slopes = _slope_rows(x, joined)
        bends = _bend_rows(x, joined)
        rows, sides = [], []
        for matrix, limit in ((slopes, most_slope), (bends, most_bend)):
            if limit is not None and matrix.shape[0]:
                rows += [matrix, -matrix]
                sides += [limit - matrix @ lower, limit + matrix @ lower]
        meet = _meeting_rows(meetings, first, len(x))
        equal, level = [meet], [-(meet @ lower)]
        extra, objective = 0, weight
        if aim is Aim.BEND and bends.shape[0]:
            count = bends.shape[0]
            extra = 2 * count + 1
            one = csr_array((np.ones(count), (np.arange(count), np.arange(count))), shape=(count, count))
            equal = [_wide(meet, extra), csr_array(hstack([bends, -one, one, csr_array((count, 1))]))]
            level.append(-(bends @ lower))
            rows = [_wide(r, extra) for r in rows]
            most = csr_array(-np.ones((count, 1)))
            rows.append(csr_array(hstack([csr_array((count, len(x))), one, one, most])))
            sides.append(np.zeros(count))
            objective = np.concatenate([0.0 * weight, np.ones(2 * count), [10.0 * count]])
        return _System(
            x=x,
            lower=lower,
            room=np.maximum(upper - lower, 0.0),
            objective=objective,
            upper_rows=csr_array(vstack(rows)) if rows else None,
            upper_sides=np.concatenate(sides) if sides else np.empty(0),
            equal_rows=csr_array(vstack(equal)) if sum(e.shape[0] for e in equal) else None,
            equal_sides=np.concatenate(level),
            extra=extra,
        )

    def solve(self, cuts: Sequence[_Cuts]) -> Floats | None:
        """Heights (n,) of the corners, or None where nothing fits."""
        piece, at, need = (np.concatenate([c[k] for c in cuts]) for k in range(3))
        share = (at - self.x[piece]) / (self.x[piece + 1] - self.x[piece])
        row = np.arange(len(piece))
        cut = csr_array(
            (
                np.concatenate([share - 1, -share]),
                (np.concatenate([row, row]), np.concatenate([piece, piece + 1])),
            ),
            shape=(len(piece), len(self.x)),
        )
        sides = -need - cut @ self.lower
        rows = _wide(cut, self.extra)
        if self.upper_rows is not None:
            rows, sides = csr_array(vstack([self.upper_rows, rows])), np.concatenate([self.upper_sides, sides])
        top = np.concatenate([self.room, np.full(self.extra, np.inf)])
        found = linprog(
            self.objective,
            A_ub=rows,
            b_ub=sides,
            A_eq=self.equal_rows,
            b_eq=self.equal_sides if self.equal_rows is not None else None,
            bounds=np.column_stack([np.zeros(len(top)), top]),
            method="highs-ds",
            options={"primal_feasibility_tolerance": _TOLERANCE, "dual_feasibility_tolerance": _TOLERANCE},
        )
        if found.status != 0:
            return None
        return np.asarray(found.x[: len(self.x)] + self.lower)


def _wide(matrix: csr_array, extra: int) -> csr_array:
    """The same rows with `extra` empty columns."""
    return csr_array((matrix.data, matrix.indices, matrix.indptr), shape=(matrix.shape[0], matrix.shape[1] + extra))


def _slope_rows(x: Floats, joined: np.ndarray) -> csr_array:
    """Slope of every piece from the corner heights."""
    k = np.flatnonzero(joined)
    rate = 1 / (x[k + 1] - x[k])
    row = np.arange(len(k))
    return csr_array(
        (np.concatenate([-rate, rate]), (np.concatenate([row, row]), np.concatenate([k, k + 1]))),
        shape=(len(k), len(x)),
    )


def _bend_rows(x: Floats, joined: np.ndarray) -> csr_array:
    """Change of slope at every corner between two pieces."""
    k = np.flatnonzero(joined[:-1] & joined[1:]) + 1
    left, right = 1 / (x[k] - x[k - 1]), 1 / (x[k + 1] - x[k])
    row = np.arange(len(k))
    return csr_array(
        (
            np.concatenate([left, -left - right, right]),
            (np.concatenate([row, row, row]), np.concatenate([k - 1, k, k + 1])),
        ),
        shape=(len(k), len(x)),
    )


def _meeting_rows(meetings: Sequence[Meeting], first: Indices, width: int) -> csr_array:
    ends = [[int(first[c]) + k if k >= 0 else int(first[c + 1]) + k for c, k in m] for m in meetings]
    pairs = np.array(ends, dtype=np.int64).reshape(-1, 2)
    row = np.arange(len(pairs))
    return csr_array(
        (
            np.repeat([1.0, -1.0], len(pairs)),
            (np.concatenate([row, row]), np.concatenate([pairs[:, 0], pairs[:, 1]])),
        ),
        shape=(len(pairs), width),
    )
