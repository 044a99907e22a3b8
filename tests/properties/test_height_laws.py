"""Laws of the heights tables: a row is what a plan at that height buys."""

from dataclasses import replace

import numpy as np
from examples import few
from heights import job_heights
from hypothesis import example, given
from hypothesis import strategies as st
from yards import Yard, grounds

from fencegrade.job.choices import BottomCut
from fencegrade.job.read import Job
from fencegrade.job.records import Stock
from fencegrade.planning.heights import RunHeights
from fencegrade.planning.plan import FencePlan, plan_fence

BOARDS = tuple(
    Stock(length=length, price=price)
    for length, price in ((60, 2.3), (66, 2.9), (72, 3.1), (84, 4.4), (240, 9))
)


def charted(yard: Yard, cut: BottomCut) -> Job:
    """The job of a yard with one picket a board, none of them longer in doubt or from those on hand."""
    job = yard.job()
    return replace(job, pickets=replace(job.pickets, stock=BOARDS, bottom_cut=cut, most_chance=1.0))


def planned(entry: RunHeights, job: Job, row: int) -> FencePlan:
    """The plan with the line as it is at a row of the table."""
    least = job.top.least_height + float(entry.table.offset[row])
    return plan_fence(replace(job, top=replace(job.top, least_height=least)), entry.style)


@few(6)
@given(
    ground=grounds(),
    cut=st.sampled_from(BottomCut),
    style=st.sampled_from(["level", "stepped"]),
    at=st.lists(st.floats(0, 1), min_size=3, max_size=3),
)
@example(ground=((0, 48, 96, 144, 192), (0, 0, 0, 0, 0.125)), cut=BottomCut.SCRIBED, style="level", at=[0.75])
def test_boards_money_and_heights_of_a_row_are_those_of_a_plan_at_that_height(
    ground: tuple[tuple[float, ...], tuple[float, ...]], cut: BottomCut, style: str, at: list[float]
) -> None:
    job = charted(Yard(runs=(ground,)), cut)
    entry = next(t for t in job_heights(job).tables if t.style == style)
    table = entry.table
    for row in {int(share * (len(table) - 1)) for share in at}:
        plan = planned(entry, job, row)
        (run,) = plan.runs
        assert table.boards[row].tolist() == plan.stock.used.tolist()
        assert table.unserved[row] == run.boards.unserved.sum()
        assert np.isclose(table.cost[row], plan.stock.used @ [s.price for s in BOARDS])
        assert table.cuts[row] == (run.boards.trim > 0).sum()
        assert np.isclose(table.shortest[row], run.choice.least_height)
        assert np.isclose(table.tallest[row], run.cuts.tallest.max())
