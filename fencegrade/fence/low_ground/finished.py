"""The finished ground: the top of the soil as laid, the boards cut over it, and what it spares beside a fill.

 ___________ board over the fill
|           |__________
|:::::::::::|   board  |   its bottom rises with the taper
|:::::::::::|`-.______ |
|:::::::::::|:::::::::`-._____ ground
           edge            reach

Where two rows of boards overlap they share their soil: its top is the higher of the two.
"""

from itertools import pairwise

import numpy as np
from msgspec import Struct

from fencegrade.fence.low_ground.fill_places import FillRows, LowRun
from fencegrade.fence.low_ground.search import Closed
from fencegrade.fence.low_ground.soil_body import Section, depth_moments
from fencegrade.fence.low_ground.taper import UPRIGHT
from fencegrade.fence.pickets.cuts import Cuts, cut_again, cut_lengths, marks_down
from fencegrade.fence.pickets.ground_below import FinishedGround, soil_below
from fencegrade.fence.stock import shortest_serving
from fencegrade.ground.cubics import spread
from fencegrade.job.choices import BottomCut
from fencegrade.job.records import Soil
from fencegrade.units.arrays import Floats, Indices, Marks, Truths
from fencegrade.units.tolerances import SAME_LENGTH

_PAIRS_AT_ONCE = 200_000
"""Boards beside fills cut at a time, so that memory does not grow with the run."""


class SoilTop(Struct, frozen=True, kw_only=True, eq=False):
    """The top of all soil of a run as straight pieces (p,) in order, none over another.

    `start`, `end`: stations, `z_start`, `z_end`: elevations there (in); `fill`: which fill a piece belongs
    to, from 0; `taper`: whether it is one of that fill's sloping ends.
    """

    start: Floats
    end: Floats
    z_start: Floats
    z_end: Floats
    fill: Indices
    taper: Truths

    def __len__(self) -> int:
        return len(self.start)

    @property
    def pieces(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Start, end, elevation at the start and at the end (p,), as `soil_below` takes them."""
        return self.start, self.end, self.z_start, self.z_end


def soil_top(low: LowRun, rows: FillRows, closed: Closed, soil: Soil) -> SoilTop:
    """The top of the soil of the fills chosen: level with every board's clearance, sloped off at the ends."""
    ends = np.array(closed.fills, dtype=np.int64).reshape(-1, 2)
    row = np.concatenate([np.arange(a, b + 1) for a, b in ends.tolist()] or [np.zeros(0, dtype=np.int64)])
    starts = np.isin(row, ends[:, 0])
    body = _bodies_top(low, rows, row.astype(np.int64), starts)
    firsts = low.slots.left[rows.board[ends[:, 0]]]
    fill = np.searchsorted(firsts, body[0] + SAME_LENGTH, side="right") - 1
    run = max(soil.end_slope, UPRIGHT)
    back = _back(low, rows, ends[:, 0], run)
    ahead = _ahead(low, rows, ends[:, 1], run)
    number = np.arange(len(ends))
    parts = [
        np.concatenate([b, d, a])
        for b, d, a in zip((*back, number), (*body, fill), (*ahead, number), strict=True)
    ]
    taper = np.repeat([True, False, True], [len(ends), len(fill), len(ends)])
    wide = np.flatnonzero(parts[1] - parts[0] > SAME_LENGTH)
    order = wide[np.argsort(parts[0][wide], kind="stable")]
    start, end, z_start, z_end, owner = (p[order] for p in parts)
    return SoilTop(
        start=start, end=end, z_start=z_start, z_end=z_end, fill=owner.astype(np.int64), taper=taper[order]
    )


def _back(low: LowRun, rows: FillRows, row: Indices, run: float) -> tuple[Floats, Floats, Floats, Floats]:
    """The taper before the board of each row."""
    edge, reach, top = low.slots.left[rows.board[row]], rows.before.reach[row], rows.left_surface[row]
    return reach, edge, top - (edge - reach) / run, top


def _ahead(low: LowRun, rows: FillRows, row: Indices, run: float) -> tuple[Floats, Floats, Floats, Floats]:
    """The taper after the board of each row."""
    edge, reach, top = low.slots.right[rows.board[row]], rows.after.reach[row], rows.right_surface[row]
    return edge, reach, top, top - (reach - edge) / run


def _bodies_top(
    low: LowRun, rows: FillRows, row: Indices, starts: Truths
) -> tuple[Floats, Floats, Floats, Floats]:
    """The top of the soil below and between the boards of filled rows, in order: the highest where boards
    overlap, straight across where they stand apart; `starts` (m,): rows that begin a fill."""
    board = rows.board[row]
    left, right = low.slots.left[board], low.slots.right[board]
    z_left, tilt = rows.left_surface[row], np.zeros(len(row))
    np.divide(rows.right_surface[row] - z_left, right - left, out=tilt, where=right > left)
    joined = np.flatnonzero(~starts[1:])
    apart = joined[left[joined + 1] - right[joined] > SAME_LENGTH]
    links = (right[apart], left[apart + 1], rows.right_surface[row[apart]], z_left[apart + 1])
    edges = np.unique(np.concatenate([left, right, _crossings(left, right, z_left, tilt)]))
    if len(edges) < 2:
        none = np.zeros(0)
        return none, none, none, none
    a, b = edges[:-1], edges[1:]
    middle = (a + b) / 2
    best, top = np.full(len(a), -1, dtype=np.int64), np.full(len(a), -np.inf)
    last = np.searchsorted(left, middle, side="right") - 1
    for back in range(3):
        k = np.maximum(last - back, 0)
        over = z_left[k] + tilt[k] * (middle - left[k])
        here = (last >= back) & (left[k] <= a + SAME_LENGTH) & (right[k] >= b - SAME_LENGTH) & (over > top)
        best, top = np.where(here, k, best), np.where(here, over, top)
    covered = best >= 0
    a, b, k = a[covered], b[covered], best[covered]
    cells = (a, b, z_left[k] + tilt[k] * (a - left[k]), z_left[k] + tilt[k] * (b - left[k]))
    return tuple(np.concatenate([c, x]) for c, x in zip(cells, links, strict=True))  # type: ignore[return-value]


def _crossings(left: Floats, right: Floats, z_left: Floats, tilt: Floats) -> Floats:
    """Stations at which the soil's tops of overlapping boards cross."""
    found = []
    for apart in (1, 2):
        i, j = np.arange(len(left) - apart), np.arange(apart, len(left))
        turn = tilt[i] - tilt[j]
        gap = z_left[j] - z_left[i] - tilt[i] * (left[j] - left[i])
        x = left[j] + np.divide(gap, turn, out=np.full(len(i), -1.0), where=turn != 0)
        found.append(x[(x > left[j]) & (x < np.minimum(right[i], right[j]))])
    return np.concatenate(found)


def fill_volumes(low: LowRun, rows: FillRows, closed: Closed, top: SoilTop, section: Section) -> Floats:
    """Compacted soil (f,) of each fill (ft3): what lies below its boards, counted once, and its ends."""
    inner = np.flatnonzero(~top.taper)
    moments = depth_moments(low.line, top.start[inner], top.end[inner], top.z_start[inner], top.z_end[inner])
    ends = np.array(closed.fills, dtype=np.int64).reshape(-1, 2)
    body = np.bincount(top.fill[inner], section.volume(moments), minlength=len(ends))
    return np.asarray(body + rows.before.volume[ends[:, 0]] + rows.after.volume[ends[:, 1]])


def finished_cuts(low: LowRun, top: SoilTop, bottom_cut: BottomCut, mark: float) -> Cuts:
    """Every board at its full length over the finished ground: `low.cuts` but where soil lies below."""
    if not len(top):
        return low.cuts
    left, right = low.slots.left, low.slots.right
    first = np.searchsorted(top.end, left + SAME_LENGTH, side="right")
    index = np.flatnonzero(np.searchsorted(top.start, right - SAME_LENGTH) > first)
    below = soil_below(low.line, left[index], right[index], top.pieces)
    return cut_again(low.cuts, index, below, low.zones.clearance[index], bottom_cut, mark)


class Spared(Struct, frozen=True, kw_only=True, eq=False):
    """Boards beside fills (p,) that a shorter stock serves, within their gap, once a fill's end lies below.

    `row`: the row the fill ends at; `bare`, `raised`: shortest stock that serves the board without the soil
    and over it (the number of stocks where none does).
    """

    row: Indices
    bare: Indices
    raised: Indices

    def worth(self, boards: Floats, per_board: float, rows: int) -> Floats:
        """What the boards beside a fill that ends at each row (r,) cost less.

        `boards` (k + 1,): cost of a picket by its shortest stock; `per_board`: what soil below it costs.
        """
        saved = np.maximum(boards[self.bare] - boards[self.raised] - per_board, 0.0)
        return np.asarray(np.bincount(self.row, saved, minlength=rows), dtype=float)


def spared(
    low: LowRun, rows: FillRows, shortest: Indices, lengths: Marks, soil: Soil, cut: BottomCut, mark: float
) -> tuple[Spared, Spared]:
    """What the sloping ends spare the boards beside a fill, before it and after it.

    `shortest` (n,): shortest stock that serves each board on bare ground; `lengths` (k,): of the stock, in
    tape marks. Source: own derivation.
    """
    run = max(soil.end_slope, UPRIGHT)
    left, right = low.slots.left, low.slots.right
    row = np.arange(len(rows), dtype=np.int64)
    first = np.searchsorted(np.maximum.accumulate(right), rows.before.reach + SAME_LENGTH, side="right")
    last = np.searchsorted(left, rows.after.reach - SAME_LENGTH)
    before = np.where(rows.before.possible, np.maximum(rows.board - first, 0), 0)
    after = np.where(rows.after.possible, np.maximum(last - rows.board - 1, 0), 0)
    return (
        _spared(
            low, rows, _back(low, rows, row, run), rows.board - before, before, shortest, lengths, cut, mark
        ),
        _spared(low, rows, _ahead(low, rows, row, run), rows.board + 1, after, shortest, lengths, cut, mark),
    )


def _spared(
    low: LowRun,
    rows: FillRows,
    taper: tuple[Floats, Floats, Floats, Floats],
    first: Indices,
    count: Indices,
    shortest: Indices,
    lengths: Marks,
    cut: BottomCut,
    mark: float,
) -> Spared:
    """The pairs of a row and a board beside it, `count` of them from `first` on, that soil helps."""
    found: list[tuple[Indices, Indices, Indices]] = []
    total = np.append(0, np.cumsum(count))
    splits = [*np.searchsorted(total, np.arange(0, int(total[-1]), _PAIRS_AT_ONCE)).tolist(), len(rows)]
    for a, b in pairwise(splits):
        own, board = spread(first[a:b], first[a:b] + count[a:b])
        row = own + a
        long = shortest[board] > 0
        row, board = row[long], board[long]
        below = _beside(low, rows, taper, row, board)
        kept, other, gap = cut_lengths(below, low.cuts.top[board], low.zones.clearance[board], cut, mark)
        full = np.maximum(kept, other)
        lost = np.maximum(marks_down(low.zones.most_gap[board] - gap, mark), 0)
        raised = shortest_serving(lengths, full - lost)
        less = (raised < shortest[board]) & (gap <= low.zones.most_gap[board] + SAME_LENGTH)
        found.append((row[less], shortest[board][less], raised[less]))
    none = np.zeros(0, dtype=np.int64)
    row, bare, raised = (np.concatenate([none, *(f[k] for f in found)]) for k in range(3))
    return Spared(row=row, bare=bare, raised=raised)


def _beside(
    low: LowRun, rows: FillRows, taper: tuple[Floats, Floats, Floats, Floats], row: Indices, board: Indices
) -> FinishedGround:
    """The ground below boards beside a fill: its taper, and the soil of its last board where rows overlap."""
    left, right = low.slots.left[board], low.slots.right[board]
    own = rows.board[row]
    body = (low.slots.left[own], low.slots.right[own], rows.left_surface[row], rows.right_surface[row])
    number = np.arange(len(board), dtype=np.int64)
    owner, columns = [], []
    for start, end, z_start, z_end in (tuple(t[row] for t in taper), body):
        tilt = np.divide(z_end - z_start, end - start, out=np.zeros(len(row)), where=end > start)
        a, b = np.maximum(start, left), np.minimum(end, right)
        real = b - a > SAME_LENGTH
        owner.append(number[real])
        columns.append([v[real] for v in (a, b, z_start + tilt * (a - start), z_start + tilt * (b - start))])
    a, b, za, zb = (np.concatenate([c[k] for c in columns]) for k in range(4))
    return FinishedGround(
        line=low.line,
        left=left,
        right=right,
        board=np.concatenate(owner),
        start=a,
        end=b,
        z_start=za,
        z_end=zb,
    )
