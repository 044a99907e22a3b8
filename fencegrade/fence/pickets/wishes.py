"""Wishes that hold over stretches of a run: clearance, and open height where water must pass."""

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.slots import Slots
from fencegrade.ground.profile import GroundLine
from fencegrade.job.choices import Aim, BottomCut
from fencegrade.job.records import Pickets, Run
from fencegrade.units.arrays import Floats, Truths
from fencegrade.units.tolerances import SAME_LENGTH

LEAST_OF_CLEARANCE = 0.5
"""Least open height that is still all right, as a share of the clearance, where the job names none (common
practice, no source)."""


class Zones(Struct, frozen=True, kw_only=True, eq=False):
    """For each picket (n,): wanted and least clearance and largest gap (in), and whether water must pass."""

    clearance: Floats
    least: Floats
    most_gap: Floats
    open: Truths

    def too_open(self, gap: Floats) -> Truths:
        """Which gaps (n,) under the pickets (in) are larger than the largest."""
        return np.asarray(gap > self.most_gap + SAME_LENGTH)


def picket_zones(slots: Slots, run: Run, pickets: Pickets) -> Zones:
    """The wishes that hold for each picket.

    A picket astride the border of a clearance stretch keeps the larger clearance of the two sides; it belongs
    to a stretch kept open if any part of it stands over that. The gap allowed keeps the job's margin over the
    clearance wanted there, and the least is the same share of it everywhere; but what is open for water may
    fall short of its height by no more than the job lets its own clearance fall short.
    """
    if not run.clearance and not run.keep_open:
        return _everywhere(len(slots), pickets)
    clearance, outside = np.zeros(len(slots)), slots.width
    for stretch in run.clearance:
        over = np.minimum(slots.right, stretch.end) - np.maximum(slots.left, stretch.start)
        inside = over > SAME_LENGTH
        clearance[inside] = np.maximum(clearance[inside], stretch.height)
        outside = outside - np.maximum(over, 0.0)
    beyond = outside > SAME_LENGTH
    clearance[beyond] = np.maximum(clearance[beyond], pickets.clearance)
    kept_open, for_water = np.zeros(len(slots), dtype=bool), np.zeros(len(slots))
    for water in run.keep_open:
        over = (slots.right > water.start) & (slots.left < water.end)
        clearance[over] = np.maximum(clearance[over], water.height)
        for_water[over] = np.maximum(for_water[over], water.height)
        kept_open |= over
    share = _least_share(pickets)
    return Zones(
        clearance=clearance,
        least=np.maximum(clearance * share, for_water - pickets.clearance * (1 - share)),
        most_gap=clearance + (pickets.most_gap - pickets.clearance),
        open=kept_open,
    )


def _everywhere(count: int, pickets: Pickets) -> Zones:
    """The job's own wishes for every picket, held once."""
    least = pickets.clearance * _least_share(pickets)
    return Zones(
        clearance=np.broadcast_to(pickets.clearance, count),
        least=np.broadcast_to(least, count),
        most_gap=np.broadcast_to(pickets.most_gap, count),
        open=np.broadcast_to(False, count),
    )


def aimed(zones: Zones, pickets: Pickets, slots: Slots, line: GroundLine) -> Zones:
    """The same wishes, aimed at the middle of each picket's room where the job asks for that.

    Over ground `line` that falls across a square cut the clearance is lessened, so that as much is left to
    the least over the high side as to the most over the low side; never under the least, never over the wish,
    and not where water must pass. Source: own derivation.
    """
    if pickets.aim is not Aim.MIDDLE or pickets.bottom_cut is not BottomCut.SQUARE:
        return zones
    fall = line.highest(slots.left, slots.right) - line.lowest(slots.left, slots.right)
    middle = np.clip((zones.least + zones.most_gap - fall) / 2, zones.least, zones.clearance)
    return replace(zones, clearance=np.where(zones.open, zones.clearance, middle))


def _least_share(pickets: Pickets) -> float:
    """Share of the clearance wanted that must be left once a board stands."""
    if pickets.least_clearance is None or pickets.clearance <= 0:
        return LEAST_OF_CLEARANCE
    return pickets.least_clearance / pickets.clearance
