"""Wishes that hold over stretches of a run: clearance, and open height where water must pass."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.slots import Slots
from fencegrade.ground.profile import Floats
from fencegrade.job.records import Pickets, Run


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Zones:
    """For each picket (n,): wanted clearance and largest gap (in), and whether water must pass under it."""

    clearance: Floats
    most_gap: Floats
    open: NDArray[np.bool_]


def picket_zones(slots: Slots, run: Run, pickets: Pickets) -> Zones:
    """The wishes that hold for each picket.

    A picket belongs to a clearance stretch that holds its middle, and to a stretch kept open if any part
    of it stands over that. The gap allowed keeps the job's margin over the clearance wanted there.
    """
    clearance = np.full(len(slots), pickets.clearance)
    for stretch in run.clearance:
        inside = (slots.centre >= stretch.start) & (slots.centre <= stretch.end)
        clearance[inside] = stretch.height
    kept_open = np.zeros(len(slots), dtype=bool)
    for water in run.keep_open:
        over = (slots.right > water.start) & (slots.left < water.end)
        clearance[over] = np.maximum(clearance[over], water.height)
        kept_open |= over
    most_gap = clearance + (pickets.most_gap - pickets.clearance)
    return Zones(clearance=clearance, most_gap=most_gap, open=kept_open)
