"""Stretches of low ground under the pickets, and what is done about each."""

from collections.abc import Sequence
from enum import StrEnum

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.low_ground.fills import Fill
from fencegrade.fence.low_ground.kickboard import Kickboard
from fencegrade.fence.slots import Slots
from fencegrade.fence.stock import Boards
from fencegrade.ground.cubics import extremes_about_line
from fencegrade.ground.profile import GroundLine
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_LENGTH


class GapAction(StrEnum):
    """What is done where the ground falls away."""

    NONE = "none"
    FILL = "fill"
    LONGER_BOARD = "longer board"
    LEAVE_OPEN = "leave open"
    KICKBOARD = "kickboard"


class GapStretch(Struct, frozen=True, kw_only=True):
    """Neighbouring pickets over low ground with one action; stations, depth in inches, volume in cubic feet.

    `deepest` is the open height there if the action were not taken; as it stands where there is none;
    `fill_depth`: the deepest soil of a fill there, or of its sloping end (in).
    """

    start: float
    end: float
    first: int
    last: int
    deepest: float
    action: GapAction
    fill_volume: float = 0.0
    fill_depth: float = 0.0


def gap_stretches(
    slots: Slots, open_height: Floats, actions: NDArray[np.str_], begins: Sequence[int] = ()
) -> tuple[GapStretch, ...]:
    """Neighbouring pickets of one action joined into stretches.

    `open_height`: (n,) gap under each picket were its action not taken (in); `actions`: (n,) `GapAction`
    texts, empty where no action is called for; `begins`: pickets, from 0, at which another stretch begins
    even so. `first` and `last` count pickets of the run from 1.
    """
    if len(actions) == 0:
        return ()
    parted = actions[1:] != actions[:-1]
    parted[[k - 1 for k in begins if k > 0]] = True
    edges = np.flatnonzero(parted) + 1
    firsts, pasts = np.concatenate([[0], edges]), np.concatenate([edges, [len(actions)]])
    return tuple(
        GapStretch(
            start=float(slots.left[a]),
            end=float(slots.right[b - 1]),
            first=int(a) + 1,
            last=int(b),
            deepest=float(open_height[a:b].max()),
            action=GapAction(actions[a]),
        )
        for a, b in zip(firsts, pasts, strict=True)
        if actions[a]
    )


def low_ground_gaps(
    low: LowRun,
    fills: Sequence[Fill],
    kickboards: Sequence[Kickboard],
    boards: Boards,
    shortest: float,
) -> tuple[GapStretch, ...]:
    """The stretches of low ground of a run and what is done about each, from its boards as made.

    `low`: the run with its pickets at full length over bare ground; `shortest`: the shortest stock (in),
    which a picket would be were nothing done. What no longer board closes, nor a kickboard, the sloping end
    of a fill does. A kickboard is one stretch, from post to post. A fill's compacted volume (cubic feet), its
    sloping ends included, stands with the stretch that holds its first board.
    """
    bare, cuts, mark = low.cuts, boards.cuts, boards.needs.mark
    undone = bare.gap + np.maximum(bare.kept * mark - shortest, 0.0)
    actions = np.full(len(undone), "", dtype="U12")
    longer = cuts.kept * mark > shortest + SAME_LENGTH
    actions[low.zones.too_open(undone)] = GapAction.FILL
    actions[low.zones.too_open(undone) & longer] = GapAction.LONGER_BOARD
    for board in kickboards:
        actions[board.first - 1 : board.last] = GapAction.KICKBOARD
    for fill in fills:
        actions[fill.first - 1 : fill.last] = GapAction.FILL
    actions[low.zones.too_open(cuts.gap) | boards.unserved] = GapAction.NONE
    actions[low.zones.open] = GapAction.LEAVE_OPEN
    as_made = (actions == GapAction.NONE) | (actions == GapAction.LEAVE_OPEN)
    begins = [board.first - 1 for board in kickboards]
    stretches = gap_stretches(low.slots, np.where(as_made, cuts.gap, undone), actions, begins)
    firsts = np.array([s.first for s in stretches], dtype=np.int64)
    owner = np.searchsorted(firsts, [f.first for f in fills], side="right") - 1
    volumes = np.bincount(owner, [f.compacted for f in fills], minlength=len(stretches))
    depths = [_soil_over(s, fills, low.line) for s in stretches]
    return tuple(
        replace(s, fill_volume=float(v), fill_depth=d) if v or d else s
        for s, v, d in zip(stretches, volumes, depths, strict=True)
    )


def _soil_over(stretch: GapStretch, fills: Sequence[Fill], line: GroundLine) -> float:
    """The deepest soil (in) of the fills and their sloping ends under a stretch that is filled; 0 under any
    other."""
    if stretch.action is not GapAction.FILL:
        return 0.0
    own = [f.deepest for f in fills if f.first <= stretch.last and stretch.first <= f.last]
    return max([0.0, *own, *(_taper_over(stretch, f, line) for f in fills)])


def _taper_over(stretch: GapStretch, fill: Fill, line: GroundLine) -> float:
    """The deepest soil (in) of a fill's sloping ends under a stretch."""
    back = fill.surface_start - fill.fall * (fill.start - fill.foot_start)
    deepest = 0.0
    for start, end, top, slope in (
        (fill.foot_start, fill.start, back, fill.fall),
        (fill.end, fill.foot_end, fill.surface_end, -fill.fall),
    ):
        a, b = max(start, stretch.start), min(end, stretch.end)
        if b > a + SAME_LENGTH:
            lowest = extremes_about_line(line, a, b, slope)[1]
            deepest = max(deepest, top + slope * (a - start) - float(lowest[0]))
    return deepest
