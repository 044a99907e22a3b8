"""The fills of a run as they are to be built."""

import numpy as np
from msgspec import Struct

from fencegrade.fence.low_ground.fill_places import FillRows, LowRun
from fencegrade.fence.low_ground.search import Closed
from fencegrade.fence.low_ground.taper import UPRIGHT
from fencegrade.job.records import Soil
from fencegrade.units.arrays import Floats

DAMMED = 0.5
"""Inches the ground must fall to a low point on both sides before it counts as one (own choice)."""


class Fill(Struct, frozen=True, kw_only=True):
    """Soil under neighbouring pickets of one stock length.

    `first` to `last` picket, counted from 1; `start`, `end`: stations (in) of the outer edges of those
    boards, over which the soil comes up to the clearance; `foot_start`, `foot_end`: where its tapers run out
    (the run's end where one goes on beyond it); `surface_start`, `surface_end`: elevation (in) of its top at
    `start` and `end`; `fall` of its tapers from there, rise over run; `deepest` under its boards in inches;
    `compacted` in cubic feet; `low_point`: station (in) of a low point of the ground it closes, or None.
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
    fall: float
    deepest: float
    compacted: float
    low_point: float | None


def fills_made(low: LowRun, rows: FillRows, closed: Closed, volumes: Floats, soil: Soil) -> tuple[Fill, ...]:
    """The fills of a run, in order; `volumes` (f,): compacted soil of each (cubic feet)."""
    if not closed.fills:
        return ()
    ends = np.array(closed.fills)
    feet = np.column_stack([rows.before.reach[ends[:, 0]], rows.after.reach[ends[:, 1]]])
    points = _low_points(low, feet)
    return tuple(
        _fill(low, rows, (a, b), volume, point, soil)
        for (a, b), volume, point in zip(closed.fills, volumes.tolist(), points, strict=True)
    )


def _fill(
    low: LowRun, rows: FillRows, ends: tuple[int, int], volume: float, point: float | None, soil: Soil
) -> Fill:
    a, b = ends
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
        fall=1 / max(soil.end_slope, UPRIGHT),
        deepest=float(rows.deepest[a : b + 1].max()),
        compacted=volume,
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
