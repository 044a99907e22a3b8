"""What a choice about low ground comes to: every fill, every board's cut over it, and the gap list."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.low_ground.cuts_over_fill import UnderTaper, cut_over_tapers, raise_cuts
from fencegrade.fence.low_ground.fill_places import FillRows, LowRun
from fencegrade.fence.low_ground.gaps import GapAction, GapStretch, gap_stretches
from fencegrade.fence.low_ground.search import Closed
from fencegrade.fence.pickets.cuts import Cuts
from fencegrade.fence.slots import Slots
from fencegrade.ground.profile import Floats
from fencegrade.job.records import BottomCut, Soil

Indices = NDArray[np.int64]

_HAIR = 1e-6

DAMMED = 0.5
"""Inches the ground must fall to a low point on both sides before it counts as one (own choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """Soil under neighbouring pickets of one stock length.

    `first` to `last` picket, counted from 1; `start`, `end`: stations (in) of the outer edges of those
    boards, over which the soil comes up to the clearance; `foot_start`, `foot_end`: where its tapers run out
    (the run's end where one goes on beyond it); `surface_start`, `surface_end`: elevation (in) of its top at
    `start` and `end`; `deepest` in inches; `compacted`, `loose` in cubic feet; `low_point`: station (in) of a
    low point of the ground that it closes, or None.
    """

    first: int
    last: int
    stock: int
    start: float
    end: float
    foot_start: float
    foot_end: float
    surface_start: float
    surface_end: float
    deepest: float
    compacted: float
    loose: float
    low_point: float | None


def fills_made(low: LowRun, rows: FillRows, closed: Closed, soil: Soil) -> tuple[Fill, ...]:
    """The fills of a run, in order."""
    if not closed.fills:
        return ()
    ends = np.array(closed.fills)
    feet = np.column_stack([rows.before.reach[ends[:, 0]], rows.after.reach[ends[:, 1]]])
    points = _low_points(low, feet)
    body = np.append(0.0, np.cumsum(rows.body + rows.link))
    return tuple(
        _fill(low, rows, soil, a, b, body, point) for (a, b), point in zip(closed.fills, points, strict=True)
    )


def _fill(low: LowRun, rows: FillRows, soil: Soil, a: int, b: int, body: Floats, point: float | None) -> Fill:
    inside = float(body[b + 1] - body[a] - rows.link[a])
    compacted = inside + float(rows.before.volume[a] + rows.after.volume[b])
    return Fill(
        first=int(rows.board[a]) + 1,
        last=int(rows.board[b]) + 1,
        stock=int(rows.stock[a]),
        start=float(low.slots.left[rows.board[a]]),
        end=float(low.slots.right[rows.board[b]]),
        foot_start=float(rows.before.reach[a]),
        foot_end=float(rows.after.reach[b]),
        surface_start=float(rows.left_surface[a]),
        surface_end=float(rows.right_surface[b]),
        deepest=float(rows.deepest[a : b + 1].max()),
        compacted=compacted,
        loose=compacted * soil.loose_factor,
        low_point=point,
    )


def _low_points(low: LowRun, feet: Floats) -> list[float | None]:
    """For each fill the station of the lowest ground beneath it, where the ground rises from it to both
    feet."""
    line = low.line
    lowest = line.lowest(feet[:, 0], feet[:, 1])
    sides = np.minimum(line.elevation(feet[:, 0]), line.elevation(feet[:, 1], before=True))
    result: list[float | None] = [None] * len(feet)
    for i in np.flatnonzero(sides - lowest >= DAMMED):
        inside = np.flatnonzero((line.stations > feet[i, 0]) & (line.stations < feet[i, 1]))
        if len(inside):
            result[i] = float(line.stations[inside[np.argmin(line.elevations[inside])]])
    return result


def finished_cuts(
    low: LowRun, rows: FillRows, closed: Closed, needs: Cuts, soil: Soil, bottom_cut: BottomCut, mark: float
) -> Cuts:
    """Full-length cuts over the finished ground: as `needs`, raised where a board stands over a taper."""
    spans = [_under(low.slots, rows, soil, a, b) for a, b in closed.fills]
    index = np.concatenate([np.zeros(0, dtype=np.int64), *(s[0] for s in spans)])
    if not len(index):
        return needs
    begin, end, z_begin, z_end = (np.concatenate([s[1][q] for s in spans]) for q in range(4))
    under = UnderTaper(
        left=low.slots.left[index],
        right=low.slots.right[index],
        begin=begin,
        end=end,
        z_begin=z_begin,
        z_end=z_end,
    )
    left, right, gap = cut_over_tapers(
        low.line, under, needs.top[index], low.zones.clearance[index], bottom_cut, mark
    )
    return raise_cuts(needs, index, left, right, gap, mark)


def _under(
    slots: Slots, rows: FillRows, soil: Soil, a: int, b: int
) -> tuple[Indices, tuple[Floats, Floats, Floats, Floats]]:
    """Boards over the two tapers of a fill; where each taper lies under them, and its elevation there."""
    run = max(soil.end_slope, 1e-6)
    back = np.arange(rows.before.board[a], rows.board[a])
    edge, reach, top = slots.left[rows.board[a]], rows.before.reach[a], rows.left_surface[a]
    begin_b, end_b = np.maximum(slots.left[back], reach), np.minimum(slots.right[back], edge)
    ahead = np.arange(rows.board[b] + 1, rows.after.board[b] + 1)
    edge_f, reach_f, top_f = slots.right[rows.board[b]], rows.after.reach[b], rows.right_surface[b]
    begin_f, end_f = np.maximum(slots.left[ahead], edge_f), np.minimum(slots.right[ahead], reach_f)
    index = np.concatenate([back, ahead])
    begin, end = np.concatenate([begin_b, begin_f]), np.concatenate([end_b, end_f])
    z_begin = np.concatenate([top - (edge - begin_b) / run, top_f - (begin_f - edge_f) / run])
    z_end = np.concatenate([top - (edge - end_b) / run, top_f - (end_f - edge_f) / run])
    real = end - begin > _HAIR
    return index[real], (begin[real], end[real], z_begin[real], z_end[real])


def gap_actions(
    low: LowRun,
    fills: tuple[Fill, ...],
    boarded: Indices,
    cuts: Cuts,
    unserved: NDArray[np.bool_],
    shortest: int,
    mark: float,
) -> tuple[NDArray[np.str_], Floats]:
    """What is done at each picket (`GapAction` texts, empty for nothing), and its gap (in) without that.

    `boarded`: pickets over kickboards; `cuts`: as made; `unserved`: pickets no stock serves; `shortest`: the
    shortest stock in tape marks, which is what a picket would be were nothing done.
    """
    undone = low.cuts.gap + np.maximum(low.cuts.kept - shortest, 0) * mark
    actions = np.full(len(undone), "", dtype="U12")
    actions[undone > low.zones.most_gap + _HAIR] = GapAction.LONGER_BOARD
    actions[boarded] = GapAction.KICKBOARD
    for fill in fills:
        actions[fill.first - 1 : fill.last] = GapAction.FILL
    actions[(cuts.gap > low.zones.most_gap + _HAIR) | unserved] = GapAction.NONE
    actions[low.zones.open] = GapAction.LEAVE_OPEN
    as_made = (actions == GapAction.NONE) | (actions == GapAction.LEAVE_OPEN)
    return actions, np.where(as_made, cuts.gap, undone)


def closing_gaps(
    slots: Slots, undone: Floats, actions: NDArray[np.str_], fills: tuple[Fill, ...]
) -> tuple[GapStretch, ...]:
    """The gap list, each stretch of fill with its compacted volume (cubic feet), tapers included."""
    stretches = gap_stretches(slots, undone, actions)
    firsts = np.array([s.first for s in stretches], dtype=np.int64)
    owner = np.searchsorted(firsts, [f.first for f in fills], side="right") - 1
    volumes = np.bincount(owner, [f.compacted for f in fills], minlength=len(stretches)) if fills else None
    if volumes is None:
        return stretches
    return tuple(
        replace(s, fill_volume=float(v)) if v else s for s, v in zip(stretches, volumes, strict=True)
    )
