"""What a lower or higher line changes, run by run, for every top."""

from collections.abc import Callable
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from heights import job_heights

from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.read import Job
from fencegrade.planning.heights import JobHeights
from fencegrade.planning.layout import lay_out, survey_grounds
from fencegrade.planning.plan import plan_fence
from fencegrade.problems import JobMistakesError

WriteJob = Callable[..., Job]

CHART_ALONE = "most_chance = 1"
"""Every board from the chart: none longer than its expected length needs, to be marked in place."""

SWALE = "station [ft],elevation [in]\n0,0\n8,-4\n16,-19\n24,-11\n32,-1\n"

HOLE = "station [ft],elevation [in]\n0,0\n8,0\n12,-50\n16,0\n24,0\n"

STEEP = "station [in],elevation [in]\n" + "".join(
    f"{72 * k},{z}\n"
    for k, z in enumerate((0, -9.25, -4, 4.75, 1, -11.75, -15.25, -6, -1.25, -11.25, -21.75, -19, -9.25))
)


@pytest.fixture(scope="module")
def swale(write_once: WriteJob) -> JobHeights:
    return job_heights(write_once(lane=SWALE))


@pytest.fixture(scope="module")
def charted(write_once: WriteJob) -> JobHeights:
    return job_heights(write_once(lane=SWALE, pickets=CHART_ALONE))


def test_every_style_run_by_run(write_job: WriteJob) -> None:
    found = job_heights(write_job(west=SWALE, north=SWALE))
    assert [(t.style, t.run) for t in found.tables] == list(product(TopStyle, ("west", "north")))


@pytest.mark.parametrize("widths", ["", f"widths = {['5-1/4 in'] * 10}"], ids=["as sold", "as measured"])
def test_the_present_line_is_the_plan(write_job: WriteJob, widths: str) -> None:
    job = write_job(lane=SWALE, pickets=f"{CHART_ALONE}\n{widths}")
    for entry in job_heights(job).tables:
        plan = plan_fence(job, entry.style)
        row = entry.table.row_at(0.0)
        assert entry.top.elevations == pytest.approx(plan.runs[0].top.elevations)
        assert entry.table.boards[row].tolist() == plan.stock.used.tolist()
        assert entry.table.unserved[row] == 0


def test_the_present_line_stands_on_the_bays_of_the_plan(write_job: WriteJob) -> None:
    """Rails that do not reach along the racked line have its bays laid anew, one post more."""
    rails = '[top]\nleast_height = "4 ft"\n[[rails.stock]]\nlength = "8 ft"\nprice = 7\n'
    keys = '[[run.existing_post]]\nstation = "154 in"\n[[run.gate]]\nstation = "348 in"\nwidth = "42 in"'
    job = write_job(rails, lane=(STEEP, keys), pickets=CHART_ALONE)
    entry = next(t for t in job_heights(job).tables if t.style == "racked")
    plan = plan_fence(job, "racked")
    assert len(lay_out(job, survey_grounds(job)[0], plan.styles)[0][0].bays.posts) == 12
    assert len(plan.runs[0].posts) == 13
    assert entry.top.stations == pytest.approx(plan.runs[0].top.stations)
    assert entry.top.elevations == pytest.approx(plan.runs[0].top.elevations)
    assert entry.table.boards[entry.table.row_at(0.0)].tolist() == plan.stock.used.tolist()


@pytest.mark.parametrize("row", [1, 4, 9])
def test_every_row_is_what_a_plan_at_that_height_buys(charted: JobHeights, row: int) -> None:
    """The level line lowered by a row's offset is the level line of a job with so much less height."""
    job, table = charted.job, charted.tables[0].table
    lower = replace(
        job, top=replace(job.top, least_height=job.top.least_height + float(table.offset[row]) - 1e-7)
    )
    plan = plan_fence(lower, "level")
    assert plan.runs[0].choice.least_height == pytest.approx(table.shortest[row])
    assert plan.stock.used.tolist() == table.boards[row].tolist()


THREE_LENGTHS = "".join(
    f'[[pickets.stock]]\nlength = "{feet} ft"\nprice = {price}\n'
    for feet, price in ((5, 3.2), (6, 4), (8, 6.5))
)


@pytest.mark.parametrize("stock", [{}, {"stock": THREE_LENGTHS}], ids=["two lengths", "three"])
def test_what_a_lower_line_saves_is_what_plan_buys_less_with_boards_taken_longer_in_doubt(
    write_job: WriteJob, stock: dict[str, str]
) -> None:
    """Picket by picket: one that goes from 8 ft to 6 ft counts, though another goes from 6 ft to 5 ft."""
    found = job_heights(write_job(lane=SWALE, **stock))
    job = found.job
    entry = next(t for t in found.tables if t.style == "level")
    drop, prices = entry.drop, np.array([s.price or 0.0 for s in job.pickets.stock])
    assert drop is not None
    lower = job.top.least_height + float(entry.table.offset[drop.row]) - 1e-7
    now, then = (
        plan_fence(replace(job, top=replace(job.top, least_height=height)), "level").stock
        for height in (job.top.least_height, lower)
    )
    assert drop.saved == pytest.approx(float((now.used - then.used) @ prices))
    assert drop.shorter == (then.stock < now.stock).sum()
    assert drop.saved < drop.drawn - 1


def test_a_picket_that_has_no_board_yet_saves_nothing_by_a_lower_line(write_job: WriteJob) -> None:
    """The line stands 24 in over the last row: what is bought for pickets over the hole then is not saved."""
    found = job_heights(write_job(lane=HOLE, stock=THREE_LENGTHS, pickets=CHART_ALONE))
    entry = next(t for t in found.tables if t.style == "level")
    drop, job = entry.drop, found.job
    assert drop is not None
    now, then = (
        plan_fence(replace(job, top=replace(job.top, least_height=job.top.least_height + by)), "level").stock
        for by in (0.0, float(entry.table.offset[drop.row]))
    )
    prices, had = np.array([3.2, 4.0, 6.5]), now.stock >= 0
    assert drop.served == (~had).sum() > 0
    assert drop.shorter == (then.stock < now.stock).sum()
    assert drop.saved == pytest.approx((prices[now.stock] - prices[then.stock])[had].sum())
    assert drop.saved > 0


def test_rows_climb_and_so_does_their_cost(swale: JobHeights) -> None:
    for entry in swale.tables:
        assert np.all(np.diff(entry.table.offset) > 0)
        assert np.all(np.diff(entry.table.cost) >= -1e-9)
        assert entry.table.shortest[0] >= 36 - 1e-6, "heights under half of the least height are left out"


def test_a_run_that_is_one_gate_has_the_heights_of_the_boards_beside_it(write_job: WriteJob) -> None:
    level = "station [ft],elevation [in]\n0,0\n2,0\n4,0\n"
    keys = '[[run.gate]]\nstation = "1.75 in"\nwidth = "44.5 in"'
    found = job_heights(write_job(west=(level, keys), north=SWALE))
    west = [t.table for t in found.tables if t.run == "west"]
    assert west
    assert all(table.boards.sum(axis=1).max() == 2 for table in west)


def test_mistakes_are_raised(write_job: WriteJob) -> None:
    with pytest.raises(JobMistakesError):
        job_heights(write_job(lane=(SWALE, 'end = "40 ft"')))
