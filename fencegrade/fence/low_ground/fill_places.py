"""Where a fill could go: one row for each board and each stock length that soil could make long enough.

A row says: this board is cut from that stock, and soil comes up to its clearance all across its width. Rows
of one stock at neighbouring boards join into one fill; at either end the fill tapers off (see `taper`).
"""

import math

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.low_ground.soil_body import Section, depth_moments
from fencegrade.fence.low_ground.taper import UPRIGHT, Tapers, backward_tapers, stops, tapers
from fencegrade.fence.pickets.cuts import Cuts
from fencegrade.fence.pickets.wishes import Zones
from fencegrade.fence.slots import Slots
from fencegrade.ground.profile import GroundLine
from fencegrade.job.choices import HingePost
from fencegrade.job.records import Run, Soil
from fencegrade.units.arrays import Floats, Indices, Marks, Truths
from fencegrade.units.tolerances import SAME_LENGTH


class LowRun(Struct, frozen=True, kw_only=True, eq=False):
    """A run with its pickets at full length, as the choice of what closes low ground sees it.

    `start`, `end`: stations of its ends (in); `cuts`: full-length cuts over the ground as surveyed; `bays`:
    stations (in) of the two posts of every bay, for kickboards; `no_soil`: stretches (in) that must stay free
    of soil beside gates and water, such as a trunk.
    """

    run: Run
    line: GroundLine
    start: float
    end: float
    slots: Slots
    zones: Zones
    cuts: Cuts
    bays: tuple[tuple[float, float], ...] = ()
    no_soil: tuple[tuple[float, float], ...] = ()


class End(Struct, frozen=True, kw_only=True, eq=False):
    """One end of a fill at every row (m,): whether it may end there, the soil in its taper (cubic feet,
    compacted), the station it reaches (in) and the last board it reaches under."""

    possible: Truths
    volume: Floats
    reach: Floats
    board: Indices


class FillRows(Struct, frozen=True, kw_only=True, eq=False):
    """Rows (m,) by stock and, within it, by board; volumes in cubic feet, compacted, elevations in inches.

    `left_surface`, `right_surface`: top of the soil at the board's edges; `deepest`: depth of soil (in) over
    the lowest ground under it; `body`: soil under the board; `joined`: whether the fill goes on from the row
    before, and `link` the soil between the two boards; `before`, `after`: the fill's ends there; `least`: row
    at which a fill that starts here first has the least length, or -1.
    """

    board: Indices
    stock: Indices
    left_surface: Floats
    right_surface: Floats
    deepest: Floats
    body: Floats
    joined: Truths
    link: Floats
    before: End
    after: End
    least: Indices

    def __len__(self) -> int:
        return len(self.board)


def gate_swing(run: Run) -> list[tuple[float, float]]:
    """Stretches (in) at gates that stay free of soil: the opening, and what a leaf that opens past a right
    angle sweeps beside it, at either post where the job names no hinge. Source: own derivation.
    """
    found = []
    for gate in run.gate:
        past = gate.width / gate.leaves * max(0.0, round(-math.cos(gate.opens), 12))
        both = gate.leaves > 1 or gate.hinge is None
        before, after = (past if both or gate.hinge is post else 0.0 for post in HingePost)
        found.append((gate.station - before, gate.end + after))
    return found


def soil_free(low: LowRun) -> tuple[Floats, Floats]:
    """Starts and ends (in), each in ascending order, of every stretch that must stay free of soil."""
    found = [s for kind in _kept_free(low).values() for s in kind]
    pairs = np.array(found, dtype=float).reshape(-1, 2)
    return np.sort(pairs[:, 0]), np.sort(pairs[:, 1])


def soil_barred(low: LowRun) -> Truths:
    """(n,) under which boards no soil may lie, however little: over water, at roots, where gates swing."""
    return np.asarray(low.zones.open | touches(low.slots.left, low.slots.right, *soil_free(low)))


def soil_bars(low: LowRun, cuts: Cuts, soil: Soil) -> dict[str, Truths]:
    """(n,) under which boards each cause, in words, keeps soil from lying up to the clearance and, under each
    alone, running out before any stretch that must stay free of it. A slope it would slide on is none.

    `cuts`: the boards as made; `soil`: the job's table.
    """
    clear, every = low.zones.clearance, np.arange(len(low.slots))
    left, right = cuts.bottom_left - clear, cuts.bottom_right - clear
    section, free = Section(crest=soil.crest, side_slope=soil.side_slope), soil_free(low)
    before, after = _ends(low, every, left, right, soil, section, free)
    far = soil.most_depth * max(soil.end_slope, UPRIGHT)
    slots, found = low.slots, {_TOO_DEEP: cuts.gap - clear > soil.most_depth + SAME_LENGTH}
    for cause, stretches in _kept_free(low).items():
        starts, ends = np.sort(np.array(stretches, dtype=float).reshape(-1, 2), axis=0).T
        near = touches(slots.left - far, slots.left, starts, ends) & ~before.possible
        near |= touches(slots.right, slots.right + far, starts, ends) & ~after.possible
        found[cause] = np.asarray(near | touches(slots.left, slots.right, starts, ends))
    found[_WATER] |= low.zones.open
    return found


_TOO_DEEP = "most_depth under [soil] in the job file"
_WATER = "a stretch kept open"


def _kept_free(low: LowRun) -> dict[str, list[tuple[float, float]]]:
    """The stretches (in) that must stay free of soil, by what keeps them so."""
    roots = [(s.start, s.end) for s in low.run.root]
    return {
        _WATER: [(s.start, s.end) for s in low.run.keep_open],
        "a root": roots,
        "a gate": gate_swing(low.run),
        "a stretch kept free of soil": [s for s in low.no_soil if s not in roots],
    }


def fill_rows(low: LowRun, lengths: Marks, soil: Soil, mark: float) -> FillRows:
    """Every row of a run.

    `lengths`: (k,) stock lengths in tape marks, ascending; `soil`: the job's table; `mark`: tape mark (in). A
    board that its stock serves at full length has no row. Errors: ValueError where a slot lies outside the
    readings. Source: own derivation.
    """
    starts, ends = soil_free(low)
    loss = np.maximum(low.cuts.kept - lengths[:, None], 0)
    depth = low.cuts.gap + loss * mark - low.zones.clearance
    shallow = depth <= soil.most_depth + SAME_LENGTH
    fits = (loss > 0) & (lengths[:, None] > 0) & shallow & ~soil_barred(low)
    stock, board = (v.astype(np.int64) for v in np.nonzero(fits))
    raised = loss[stock, board] * mark
    clear = low.zones.clearance[board]
    left = low.cuts.bottom_left[board] + raised - clear
    right = low.cuts.bottom_right[board] + raised - clear
    section = Section(crest=soil.crest, side_slope=soil.side_slope)
    joined = _joined(low, board, stock, left, right, soil, (starts, ends))
    before, after = _ends(low, board, left, right, soil, section, (starts, ends))
    return FillRows(
        board=board,
        stock=stock,
        left_surface=left,
        right_surface=right,
        deepest=depth[stock, board],
        body=_bodies(low, board, raised, section),
        joined=joined,
        link=_links(low, board, left, right, joined, section),
        before=before,
        after=after,
        least=_least_rows(low.slots, board, joined, soil.least_length),
    )


def touches(left: Floats, right: Floats, starts: Floats, ends: Floats) -> Truths:
    """Whether each [left, right] overlaps one of the stretches; `starts`, `ends` each ascending."""
    return np.asarray(
        np.searchsorted(starts, right - SAME_LENGTH) > np.searchsorted(ends, left + SAME_LENGTH, side="right")
    )


def _bodies(low: LowRun, board: Indices, raised: Floats, section: Section) -> Floats:
    """Soil under each row's board; one integration a board serves all its stock lengths."""
    asked, back = np.unique(board, return_inverse=True)
    a, b = low.slots.left[asked], low.slots.right[asked]
    clear = low.zones.clearance[asked]
    at_full = depth_moments(
        low.line, a, b, low.cuts.bottom_left[asked] - clear, low.cuts.bottom_right[asked] - clear, clip=False
    )
    width = (b - a)[back]
    every = type(at_full)(first=at_full.first[back], second=at_full.second[back])
    return section.volume(every.raised(raised, width))


def _joined(
    low: LowRun,
    board: Indices,
    stock: Indices,
    left: Floats,
    right: Floats,
    soil: Soil,
    free: tuple[Floats, Floats],
) -> Truths:
    """Whether each row's fill can go on from the row before it: next board, same stock, no face or soil-free
    stretch between, and a surface that climbs no more steeply than the fill's sides."""
    joined = np.zeros(len(board), dtype=bool)
    if len(board) < 2:
        return joined
    near, far = low.slots.right[board[:-1]], low.slots.left[board[1:]]
    apart = low.slots.centre[board[1:]] - low.slots.centre[board[:-1]]
    steep = np.abs(left[1:] - right[:-1]) * soil.side_slope > apart + SAME_LENGTH
    faces = low.line.faces
    split = np.searchsorted(faces, near - SAME_LENGTH) < np.searchsorted(
        faces, far + SAME_LENGTH, side="right"
    )
    neighbours = (board[1:] == board[:-1] + 1) & (stock[1:] == stock[:-1])
    joined[1:] = neighbours & ~steep & ~split & ~touches(near, far, *free)
    return joined


def _links(
    low: LowRun, board: Indices, left: Floats, right: Floats, joined: Truths, section: Section
) -> Floats:
    """Soil between each joined row's board and the one before it; what the two share, taken off, where they
    overlap."""
    link = np.zeros(len(board))
    at = np.flatnonzero(joined)
    ends, starts = low.slots.right[board[at - 1]], low.slots.left[board[at]]
    apart = starts > ends
    gap, near, far = at[apart], ends[apart], starts[apart]
    link[gap] = section.volume(depth_moments(low.line, near, far, right[gap - 1], left[gap]))
    over = at[starts < ends - SAME_LENGTH]
    link[over] = -_shared(low, board, left, right, over, section)
    return link


def _shared(
    low: LowRun, board: Indices, left: Floats, right: Floats, over: Indices, section: Section
) -> Floats:
    """Soil under the lower of two tops where the boards of rows `over` overlap those before them."""
    slots, one, two = low.slots, board[over - 1], board[over]
    a, b = slots.left[two], np.minimum(slots.right[one], slots.right[two])
    z = []
    for row, k in ((over - 1, one), (over, two)):
        tilt = (right[row] - left[row]) / slots.width[k]
        z.append((left[row] + tilt * (a - slots.left[k]), left[row] + tilt * (b - slots.left[k])))
    at_a, at_b = z[0][0] - z[1][0], z[0][1] - z[1][1]
    cross = at_a * at_b < 0
    share = np.divide(at_a, at_a - at_b, out=np.ones(len(over)), where=cross)
    x, low_a, low_b = a + share * (b - a), np.minimum(z[0][0], z[1][0]), np.minimum(z[0][1], z[1][1])
    middle = np.where(cross, z[0][0] + share * (z[0][1] - z[0][0]), low_b)
    first = section.volume(depth_moments(low.line, a, x, low_a, middle))
    return first + section.volume(depth_moments(low.line, x, b, middle, low_b))


def _ends(
    low: LowRun,
    board: Indices,
    left: Floats,
    right: Floats,
    soil: Soil,
    section: Section,
    free: tuple[Floats, Floats],
) -> tuple[End, End]:
    halts = stops(free[0], low.line.faces, low.line.end)
    slots, last = low.slots, len(low.slots) - 1
    ahead = tapers(low.line, slots.right[board], right, halts, soil.end_slope, soil.most_depth)
    back = backward_tapers(low.line, slots.left[board], left, free[1], soil.end_slope, soil.most_depth)
    ahead = replace(ahead, reach=np.minimum(ahead.reach, low.end))
    back = replace(back, reach=np.maximum(back.reach, low.start))
    under_back = np.minimum(
        np.searchsorted(slots.left, back.reach + SAME_LENGTH, side="right") - 1,
        np.searchsorted(np.maximum.accumulate(slots.right), back.reach + SAME_LENGTH, side="right"),
    )
    under_ahead = np.maximum(
        np.searchsorted(slots.right, ahead.reach - SAME_LENGTH),
        np.searchsorted(slots.left, ahead.reach - SAME_LENGTH) - 1,
    )
    return (
        _end(back, section, np.clip(under_back, 0, board)),
        _end(ahead, section, np.clip(under_ahead, board, last)),
    )


def _end(found: Tapers, section: Section, board: Indices) -> End:
    return End(
        possible=found.possible,
        volume=section.volume(found.moments),
        reach=found.reach,
        board=board.astype(np.int64),
    )


def _least_rows(slots: Slots, board: Indices, joined: Truths, least: float) -> Indices:
    """The row at which a fill from each row reaches the least length, never one board alone; -1 where
    none."""
    far = np.searchsorted(slots.right, slots.left[board] + least - SAME_LENGTH)
    row = np.arange(len(board)) + np.maximum(far - board, 1)
    chain = np.cumsum(~joined)
    inside = row < len(board)
    same = inside & (chain[np.where(inside, row, 0)] == chain)
    return np.where(same, row, -1).astype(np.int64)
