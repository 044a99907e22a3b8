"""The boards and the gap list of one run whose low ground was closed, one picket a board."""

from fencegrade.fence.low_ground.choice import LowGroundPlan
from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.low_ground.gaps import GapStretch, low_ground_gaps
from fencegrade.fence.stock import Boards, boards_of


def boards(found: LowGroundPlan, run: int = 0) -> Boards:
    """The boards of a run; the runs before it have as many pickets each as it has."""
    done = found.runs[run]
    count = len(done.full.kept)
    return boards_of(done.full, done.needs, found.stock, slice(run * count, (run + 1) * count))


def gaps(found: LowGroundPlan, low: LowRun) -> tuple[GapStretch, ...]:
    """The gap list of the first run."""
    done = found.runs[0]
    shortest = min(s.length for s in found.stock.offered)
    return low_ground_gaps(low, done.fills, done.kickboards, boards(found), shortest)
