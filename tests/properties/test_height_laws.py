"""Laws of the heights tables: a row is what a plan at that height buys, and so is what the advice counts."""

from dataclasses import replace

import numpy as np
from examples import few
from heights import job_heights
from hypothesis import example, given
from hypothesis import strategies as st
from yards import Yard, grounds

from fencegrade.job.choices import BottomCut, StopSettings
from fencegrade.job.read import Job
from fencegrade.job.records import Stock
from fencegrade.planning.heights import RunHeights
from fencegrade.planning.plan import FencePlan, plan_fence

PRICES = {60: 2.3, 66: 2.9, 72: 3.1, 84: 4.4, 240: 9.0}
BOARDS = tuple(Stock(length=length, price=price) for length, price in PRICES.items())


def charted(yard: Yard, cut: BottomCut) -> Job:
    """The job of a yard with one picket a board, none on hand, longer in doubt or cut to a stop of others."""
    job, every = yard.job(), StopSettings.EVERY_LENGTH
    asked = replace(job.pickets, stock=BOARDS, bottom_cut=cut, most_chance=1.0, stop_settings=every)
    return replace(job, pickets=asked)


def planned(entry: RunHeights, job: Job, by: float) -> FencePlan:
    """The plan of a job whose line is raised `by` (in)."""
    higher = replace(job.top, least_height=job.top.least_height + by)
    return plan_fence(replace(job, top=higher), entry.style)


@few(6)
@given(
    ground=grounds(),
    cut=st.sampled_from(BottomCut),
    style=st.sampled_from(["level", "stepped"]),
    at=st.lists(st.floats(0, 1), min_size=2, max_size=2),
)
@example(ground=((0, 48, 96, 144, 192), (0, 0, 0, 0, 0.125)), cut=BottomCut.SCRIBED, style="level", at=[0.75])
def test_boards_money_and_heights_of_a_row_are_those_of_a_plan_at_that_height(
    ground: tuple[tuple[float, ...], tuple[float, ...]], cut: BottomCut, style: str, at: list[float]
) -> None:
    job = charted(Yard(runs=(ground,)), cut)
    entry = next(t for t in job_heights(job).tables if t.style == style)
    table = entry.table
    for row in {int(share * (len(table) - 1)) for share in at}:
        plan = planned(entry, job, float(table.offset[row]))
        (run,) = plan.runs
        assert table.boards[row].tolist() == plan.stock.used.tolist()
        assert table.unserved[row] == run.boards.unserved.sum()
        assert np.isclose(table.cost[row], plan.stock.used @ list(PRICES.values()))
        assert table.cuts[row] == (run.boards.trim > 0).sum()
        assert np.isclose(table.shortest[row], run.choice.least_height)
        assert np.isclose(table.tallest[row], run.cuts.tallest.max())
    drop = entry.drop
    if drop is not None:
        now, then = (planned(entry, job, by).stock for by in (0.0, float(table.offset[drop.row])))
        assert drop.shorter == (then.stock < now.stock).sum()
        assert np.isclose(drop.drawn, (now.used - then.used) @ list(PRICES.values()))
        assert np.isclose(drop.drawn, table.cost[table.row_at(0.0)] - table.cost[drop.row])
        assert drop.saved == drop.drawn, "no board is longer in doubt"
