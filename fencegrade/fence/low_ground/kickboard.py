"""Kickboards: boards laid lengthwise under the pickets, from post to post, scribed to the ground.

 ||  |  |  |  |  |  |  ||
 ||  pickets of one    ||
 ||  stock length      ||
 ||====================||  top edge of the kickboard, at the pickets' bottoms
 ||   .-----._         ||
 ||--'        `-.______||  scribed to the ground
post                  post
"""

from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct

from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.low_ground.search import StripCosts
from fencegrade.fence.pickets.cuts import marks_down
from fencegrade.fence.stock import NO_STOCK, by_length, cheapest_serving, shortest_serving
from fencegrade.job.records import Stock
from fencegrade.units.arrays import Floats, Indices, Marks, some_of
from fencegrade.units.tolerances import SAME_LENGTH

MOST_BEND = 0.25
"""Inches the pickets' bottoms may stray from a straight line in a bay that takes a kickboard (own choice)."""

POST_COVER = 1.75
"""Inches past the centre of its end posts that a kickboard's reach counts: half of a 3-1/2 in post (own
choice)."""


class Kickboard(Struct, frozen=True, kw_only=True):
    """One kickboard, from post to post: `first` to `last` picket over it, counted from 1; stations and length
    in inches.

    `length`: along its slope, centre to centre; `stock`: index into the kickboard lengths sorted by length.
    """

    start: float
    end: float
    first: int
    last: int
    length: float
    stock: int


class StripRows(Struct, frozen=True, kw_only=True, eq=False):
    """Kickboards that could be laid, (s,) by last picket: bay, picket stock, first and last board, the strip
    before, and the length along the slope and stock of the kickboard itself."""

    bay: Indices
    stock: Indices
    first: Indices
    last: Indices
    before: Indices
    length: Floats
    board: Indices

    def __len__(self) -> int:
        return len(self.bay)


def strip_rows(
    low: LowRun, lengths: Marks, shortest: Indices, offered: Sequence[Stock], width: float, mark: float
) -> StripRows:
    """Every bay and picket stock for which a kickboard would close the ground.

    `lengths`: (k,) picket stock in tape marks, ascending; `shortest`: (n,) index of the shortest stock that
    serves each picket without it; `offered`: kickboard lengths; `width`: actual width of a kickboard (in);
    `mark`: tape mark (in). Not across a gate, a face or a stretch kept open for water; the pickets' bottoms
    lie within `MOST_BEND` of a straight line; one kickboard a bay.
    """
    bays = _served(low) if offered else {}
    order, pieces = by_length(offered, mark)
    cheapest = cheapest_serving(order)
    found: list[tuple[int, int, int, int, float, int]] = []
    bad = []
    for k, kept in enumerate(lengths.tolist()):
        short = low.cuts.kept > kept
        closes = _open_height(low, kept, mark) <= width + SAME_LENGTH
        fit = np.where(short, closes & ~low.zones.open & (kept > 0), shortest < len(lengths))
        bad.append(np.append(0, np.cumsum(~fit)))
        needs = np.append(0, np.cumsum(short & (shortest > k)))
        for m, (first, last) in bays.items():
            length = _length(low, m, first, last)
            piece = int(cheapest[shortest_serving(pieces, marks_down(np.array(length), mark))])
            unfit = bad[k][last + 1] > bad[k][first] or needs[last + 1] == needs[first]
            if piece != NO_STOCK and not unfit:
                found.append((last, m, k, first, length, piece))
    found.sort()
    last_, bay_, stock_, first_, length_, board_ = zip(*found, strict=True) if found else ((),) * 6
    return StripRows(
        bay=np.array(bay_, dtype=np.int64),
        stock=np.array(stock_, dtype=np.int64),
        first=np.array(first_, dtype=np.int64),
        last=np.array(last_, dtype=np.int64),
        before=_strips_before(low, bay_, stock_, last_, bad),
        length=np.array(length_, dtype=float),
        board=np.array(board_, dtype=np.int64),
    )


def _strips_before(
    low: LowRun, bays: Sequence[int], stocks: Sequence[int], lasts: Sequence[int], bad: Sequence[Indices]
) -> Indices:
    """For each strip, that of the bay before with the same stock, where the pickets between can be closed
    too."""
    at = {(m, k): s for s, (m, k) in enumerate(zip(bays, stocks, strict=True))}
    before = np.full(len(bays), -1, dtype=np.int64)
    for (m, k), s in at.items():
        p = at.get((m - 1, k))
        if p is None or abs(low.bays[m - 1][1] - low.bays[m][0]) > SAME_LENGTH:
            continue
        if lasts[p] < lasts[s] and bad[k][lasts[s] + 1] == bad[k][lasts[p] + 1]:
            before[s] = p
    return before


def strip_costs(
    low: LowRun,
    rows: StripRows,
    lengths: Marks,
    pickets: Floats,
    unclosed: Floats,
    kickboards: Floats,
) -> StripCosts:
    """What each strip costs over the pickets without it.

    `pickets`: (k,) cost of a picket of each stock; `unclosed`: (n,) cost of each picket with nothing done;
    `kickboards`: cost of one kickboard of each length.
    """
    alone, on = np.zeros(len(rows)), np.zeros(len(rows))
    for k in np.unique(rows.stock):
        short = low.cuts.kept > lengths[k]
        total = np.append(0.0, np.cumsum(np.where(short, pickets[k] - unclosed, 0.0)))
        mine = np.flatnonzero(rows.stock == k)
        last, piece = rows.last[mine] + 1, kickboards[rows.board[mine]]
        alone[mine] = total[last] - total[rows.first[mine]] + piece
        since = np.where(rows.before[mine] >= 0, rows.last[rows.before[mine]] + 1, last)
        on[mine] = total[last] - total[since] + piece
    return StripCosts(first=rows.first, last=rows.last, before=rows.before, alone=alone, on=on)


def laid(low: LowRun, rows: StripRows, strips: Sequence[tuple[int, int]]) -> tuple[Kickboard, ...]:
    """The kickboards of the strips chosen, each with the first picket (from 0) that it serves."""
    ends = ((s, first, low.bays[rows.bay[s]]) for s, first in strips)
    return tuple(
        Kickboard(
            start=start,
            end=end,
            first=first + 1,
            last=int(rows.last[s]) + 1,
            length=float(rows.length[s]),
            stock=int(rows.board[s]),
        )
        for s, first, (start, end) in ends
    )


def _edge(low: LowRun, first: int, last: int) -> tuple[float, Callable[[Floats | float], Floats | float]]:
    """Slope of the tops over the boards, and the straight line along them: elevation (in) by station."""
    x, z = some_of(low.slots, np.array([first, last])).centre, low.cuts.top[[first, last]]
    slope = float((z[1] - z[0]) / (x[1] - x[0])) if last > first else 0.0
    return slope, lambda station: float(z[0]) + slope * (station - float(x[0]))


def _served(low: LowRun) -> dict[int, tuple[int, int]]:
    """First and last board that a kickboard would serve, for every bay that may have one."""
    faces = low.line.faces
    found = {m: _bay(low, faces, start, end) for m, (start, end) in enumerate(low.bays)}
    return {m: bay for m, bay in found.items() if bay is not None}


def _bay(low: LowRun, faces: Floats, start: float, end: float) -> tuple[int, int] | None:
    """First and last board a kickboard of a bay would serve, where it may have one."""
    water = [(s.start, s.end) for s in low.run.keep_open]
    gates = [(g.station, g.end) for g in low.run.gate]
    if any(a < end - SAME_LENGTH and b > start + SAME_LENGTH for a, b in water + gates):
        return None
    if np.any((faces > start + SAME_LENGTH) & (faces < end - SAME_LENGTH)):
        return None
    first = int(np.searchsorted(low.slots.left, start - POST_COVER - SAME_LENGTH))
    last = int(np.searchsorted(low.slots.right, end + POST_COVER + SAME_LENGTH, side="right")) - 1
    if last < first:
        return None
    _, height = _edge(low, first, last)
    inside = slice(first, last + 1)
    off = low.cuts.top[inside] - height(some_of(low.slots, inside).centre)
    return (first, last) if float(np.abs(off).max()) <= MOST_BEND else None


def _open_height(low: LowRun, kept: int, mark: float) -> Floats:
    """Open height under each picket (n,) cut to so many tape marks."""
    return np.asarray(low.cuts.gap + (low.cuts.kept - kept) * mark)


def _length(low: LowRun, m: int, first: int, last: int) -> float:
    start, end = low.bays[m]
    slope, _ = _edge(low, first, last)
    return float((end - start) * np.hypot(1.0, slope))
