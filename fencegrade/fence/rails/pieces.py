"""Rails as they are cut: one bay long, or two where stock and line allow, with joints staggered."""

import math

import numpy as np
from msgspec import Struct

from fencegrade.fence.bays.bays import Bays
from fencegrade.fence.bays.reach import slanted_ends
from fencegrade.fence.pickets.cuts import marks_down
from fencegrade.fence.rails.rails import BayTops, RailRows, bay_tops
from fencegrade.fence.tops.line import TopLine
from fencegrade.units.arrays import Floats, Indices, Truths
from fencegrade.units.tolerances import SAME_LENGTH

SQUARE = math.radians(0.5)
"""Radians off square up to which an end is cut square and takes nothing: own choice, half a degree, 1/32 in
over the face of a rail of 3-1/2 in, less than a saw is set to; no longer board is bought for it."""


class RailPieces(Struct, frozen=True, kw_only=True, eq=False):
    """Rails as they are cut, (p,) each: row, first and last bay they run over (from 0), length (in), and what
    their two slanted ends take of a board besides (in); whether they fit between the reveals.
    """

    row: Indices
    first_bay: Indices
    last_bay: Indices
    length: Floats
    ends: Floats
    fits: Truths

    def __len__(self) -> int:
        return len(self.row)

    @property
    def on_posts(self) -> Indices:
        """(p,) how many posts each piece is fixed to: those at its ends, and those it runs over."""
        return self.last_bay - self.first_bay + 2

    def cut(self, mark: float) -> Floats:
        """(p,) lengths (in) as they are sawn, down to the mark of the tape (in)."""
        return np.asarray(marks_down(self.length, mark) * mark)


def long_pieces(rows: RailRows, bays: Bays, top: TopLine) -> RailPieces:
    """Rails that run over two bays where the longest stock and the line allow, joints staggered.

    Two bays share a rail that runs straight on over the post between them: same slope, no step. Odd rows
    begin with one bay alone, so no post takes the joints of all rows. Staggering is common practice, no
    source; lengths as `RailRows`.
    """
    joined = _joined(rows, bays, bay_tops(top, bays))
    found: list[tuple[int, int]] = []
    for row in range(int(rows.row.max()) + 1 if len(rows) else 0):
        found += _pair_up(np.flatnonzero(rows.row == row), joined, alone=row % 2 == 1)
    first, last = (
        (np.array(v, dtype=np.int64) for v in zip(*found, strict=True)) if found else (rows.bay, rows.bay)
    )
    return RailPieces(
        row=rows.row[first],
        first_bay=rows.bay[first],
        last_bay=rows.bay[last],
        length=np.where(first == last, rows.length[first], _over_two(rows, bays, first, last)),
        ends=_ends(rows, bays)[first],
        fits=rows.fits[first] & rows.fits[last],
    )


def _ends(rows: RailRows, bays: Bays) -> Floats:
    """What the slanted ends of every rail take of its board (in)."""
    ends = slanted_ends(bays.rail_height, np.tan(rows.angle))
    return np.where(rows.angle >= SQUARE, ends, 0.0)


def _over_two(rows: RailRows, bays: Bays, first: Indices, last: Indices) -> Floats:
    """Length (in) of a rail over the bays of two rails in line."""
    a, b = rows.bay[first], rows.bay[last]
    level = bays.width[a] + bays.width[b] + bays.extra[a] + bays.extra[b] - bays.overlap
    return np.asarray(level / np.cos(rows.angle[first]))


def _joined(rows: RailRows, bays: Bays, tops: BayTops) -> dict[int, int]:
    """For each rail that could be one piece with the rail after it, that rail."""
    at = {(int(b), int(r)): i for i, (b, r) in enumerate(zip(rows.bay, rows.row, strict=True))}
    slope = tops.slope(bays)
    straight = (bays.first[1:] == bays.first[:-1] + 1) & (np.abs(np.diff(slope)) < SAME_LENGTH)
    pairs = [(i, at[bay + 1, row]) for (bay, row), i in at.items() if (bay + 1, row) in at and straight[bay]]
    if not pairs:
        return {}
    first, last = np.array(pairs, dtype=np.int64).T
    step = (tops.right[rows.bay[first]] - rows.drop[first]) - (tops.left[rows.bay[last]] - rows.drop[last])
    fits = _over_two(rows, bays, first, last) + _ends(rows, bays)[first] <= bays.reach + SAME_LENGTH
    return dict(pair for pair, one in zip(pairs, (np.abs(step) < SAME_LENGTH) & fits, strict=True) if one)


def _pair_up(own: Indices, joined: dict[int, int], alone: bool) -> list[tuple[int, int]]:
    """The rails of one row by twos where they can be joined; the first of each line alone where asked."""
    pairs: list[tuple[int, int]] = []
    taken, single = -1, alone
    for i in own.tolist():
        if i == taken:
            continue
        after = joined.get(i)
        if after is None or single:
            pairs.append((i, i))
            single = alone and after is None
        else:
            pairs.append((i, after))
            taken = after
            single = alone and after not in joined
    return pairs
