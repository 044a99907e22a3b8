"""Every picket's board, worked out once: low ground closed, lengths over it, stock shared."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencegrade.fence.low_ground.choice import LowGroundPlan, close_low_ground
from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.stock import Boards, StockChoice, boards_of, join_needs
from fencegrade.job.read import Job
from fencegrade.planning.families import Family, picket_names, share_boards


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PicketBoards:
    """The boards of all pickets of a job: what closes low ground, the stock of all runs in order, what is cut
    from which board, and run by run the lengths that every list, chart, drawing and page reads."""

    closing: LowGroundPlan
    stock: StockChoice
    family: Family
    runs: tuple[Boards, ...]


def board_pickets(job: Job, lows: Sequence[LowRun], compare: bool) -> PicketBoards:
    """The boards of the pickets of some runs.

    `job`: with the stock there is; `lows`: its runs, pickets at full length over the ground as surveyed;
    `compare`: whether every way of closing low ground is costed. Errors: ValueError without a picket stock.
    """
    closing = close_low_ground(lows, job.pickets, job.soil, job.job.tape, job.job.units, compare=compare)
    names = picket_names([(low.run.name, len(low.slots)) for low in lows])
    needs = join_needs([c.needs for c in closing.runs])
    stock, family = share_boards(job, needs, closing.stock, names)
    ends = np.cumsum([0, *(len(low.slots) for low in lows)]).tolist()
    runs = tuple(
        boards_of(c.full, c.needs, stock, slice(a, b))
        for c, a, b in zip(closing.runs, ends[:-1], ends[1:], strict=True)
    )
    return PicketBoards(closing=closing, stock=stock, family=family, runs=runs)
